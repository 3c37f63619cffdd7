package run

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"heelcohort/codebook/document"
)

// A missingFile says that a file of the study folder is not there.
type missingFile struct{ text string }

func (e *missingFile) Error() string { return e.text }

// Is makes it fs.ErrNotExist.
func (e *missingFile) Is(target error) bool { return target == fs.ErrNotExist }

// readNamed reads a file that a study folder has by a fixed name.
func readNamed(dir, name, what string) ([]byte, error) {
	data, err := ReadText(dir, name)
	if !errors.Is(err, fs.ErrNotExist) {
		return data, err
	}
	if _, statErr := os.Stat(dir); errors.Is(statErr, fs.ErrNotExist) {
		return nil, fmt.Errorf("the study folder %s does not exist", dir)
	}
	nearest := document.NearestFile(dir, name)
	if nearest != "" {
		nearest = fmt.Sprintf("; did you mean %q?", nearest)
	}
	return nil, &missingFile{fmt.Sprintf("%s: %s is missing, expected it in the study folder%s", name, what, nearest)}
}

// ReadText reads a plan or a codebook, and never more than a document may have.
// A link may lead to another place in the study folder and nowhere else; what
// is no file, such as a pipe that would keep the program waiting, is refused.
// Errors name the file and not the folder's place on this machine.
func ReadText(dir, name string) ([]byte, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, plainError(name, err)
	}
	defer root.Close()
	local := filepath.FromSlash(name)
	info, err := root.Stat(local)
	switch {
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		if _, outside := os.Stat(filepath.Join(dir, local)); outside == nil {
			return nil, fmt.Errorf("%s: a link that leads outside of the study folder", shortName(name))
		}
		return nil, plainError(name, err)
	case err != nil:
		return nil, plainError(name, err)
	case info.IsDir():
		return nil, fmt.Errorf("%s: a folder, expected a file", shortName(name))
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: not a file but a %s", shortName(name), sortOf(info.Mode()))
	}
	f, err := root.Open(local)
	if err != nil {
		return nil, plainError(name, err)
	}
	defer f.Close()
	// One byte more than is read, so that Decode refuses the document for it.
	data, err := io.ReadAll(io.LimitReader(f, document.MaxSize+1))
	if err != nil {
		return nil, plainError(name, err)
	}
	return data, nil
}

// sortOf says what stands in the place of a file.
func sortOf(mode fs.FileMode) string {
	switch {
	case mode&fs.ModeNamedPipe != 0:
		return "pipe"
	case mode&fs.ModeSocket != 0:
		return "socket"
	}
	return "device"
}

// plainError says what failed without the folder's place on this machine.
func plainError(name string, err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		err = path.Err
	}
	return fmt.Errorf("%s: %w", shortName(name), err)
}

// shortName is a file's name in a message, cut where it is too long for one.
func shortName(name string) string {
	const longest = 200
	if runes := []rune(name); len(runes) > longest {
		return string(runes[:longest]) + "…"
	}
	return name
}

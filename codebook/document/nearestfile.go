package document

import (
	"os"
	"strings"
)

// NearestFile is the file of a folder whose name is nearest to name, or "" where
// none is near enough to be meant or the folder cannot be read. Hidden files are
// not meant.
func NearestFile(dir, name string) string {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return ""
	}
	var names []string
	for _, e := range entries {
		if !e.IsDir() && !strings.HasPrefix(e.Name(), ".") {
			names = append(names, e.Name())
		}
	}
	return Nearest(name, names)
}

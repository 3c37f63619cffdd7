package dataset

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestFileState(t *testing.T) {
	data := []byte("id,age,limp,seen\na,1,,\n")
	d, _ := read(t, small("data.csv"), map[string][]byte{"data.csv": data})
	// From the program sha256sum, given the same bytes.
	const sum = "db4127d9c444d600185950ab5558f419807deb8d1244589b3705fe12d3d212f1"
	if got := d.Files[0]; got.Path != "data.csv" || got.SHA256 != sum || got.Bytes != 23 {
		t.Errorf("file %+v", got)
	}
	with := func(lines string) string {
		return strings.Replace(small("data.csv"), "    schema:", lines+"    schema:", 1)
	}
	files := map[string][]byte{"data.csv": data}
	read(t, with("    bytes: 23\n    hash: sha256:"+sum+"\n"), files)
	readErr(t, with("    bytes: 24\n"), files, "data.csv", "23 bytes, expected 24")
	readErr(t, with("    hash: sha256:"+strings.Repeat("0", 64)+"\n"), files, "data.csv", "another state of the file")
}

func TestFileRefusals(t *testing.T) {
	dir := t.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "a.csv"), 0o755); err != nil {
		t.Fatal(err)
	}
	for name, words := range map[string]string{
		"a.csv": "a folder", "../x.csv": "out of the study folder", "b.csv": "no such file", "/x.csv": "out of the study folder",
	} {
		if _, _, err := readFile(dir, name); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%s: error %v, want it to hold %q", name, err, words)
		}
	}
}

// Links, pipes and devices are refused without being opened; a link within the
// folder is followed.
func TestSpecialFiles(t *testing.T) {
	outside := t.TempDir()
	dir := t.TempDir()
	for _, name := range []string{filepath.Join(outside, "x.csv"), filepath.Join(dir, "real.csv")} {
		if err := os.WriteFile(name, []byte("id\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for link, target := range map[string]string{
		"out.csv": filepath.Join(outside, "x.csv"), "relative.csv": "../" + filepath.Base(outside) + "/x.csv", "folder": outside,
		"in.csv": "real.csv", "dangling.csv": "nowhere.csv", "loop.csv": "loop.csv", "null.csv": os.DevNull,
	} {
		if err := os.Symlink(target, filepath.Join(dir, link)); err != nil {
			t.Skip(err)
		}
	}
	for name, words := range map[string]string{
		"out.csv": "leads out of the study folder; put the file itself there", "folder/x.csv": "leads out of the study folder",
		"dangling.csv": "a symbolic link to a file that does not exist", "loop.csv": "loop.csv: ", "null.csv": "a device, expected a file",
		"folder": "a folder, expected a file", "relative.csv": "relative.csv: ", "real.csv/x": "real.csv/x: ",
	} {
		if _, _, err := readFile(dir, name); err == nil || !strings.Contains(err.Error(), words) {
			t.Errorf("%s: error %v, want it to hold %q", name, err, words)
		}
	}
	if _, f, err := readFile(dir, "in.csv"); err != nil || f.Bytes != 3 {
		t.Errorf("a link in the folder: %v", err)
	}
	if err := os.Symlink(dir, filepath.Join(outside, "study")); err != nil {
		t.Fatal(err)
	}
	if _, _, err := readFile(filepath.Join(outside, "study"), "in.csv"); err != nil {
		t.Errorf("a link to the folder: %v", err)
	}
}

func TestFileSize(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"one.csv", "one.xlsx"} {
		f, err := os.Create(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if err := f.Truncate(maxFileBytes + 1); err != nil {
			t.Fatal(err)
		}
		if _, _, err := readFile(dir, name); err == nil || !strings.Contains(err.Error(), "bytes, more than the") {
			t.Errorf("%s: error %v", name, err)
		}
	}
}

func TestFilePermission(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "x.csv"), []byte("id\n"), 0); err != nil {
		t.Fatal(err)
	}
	if _, err := os.ReadFile(filepath.Join(dir, "x.csv")); err == nil {
		t.Skip("this user may read everything")
	}
	if _, _, err := readFile(dir, "x.csv"); err == nil || !strings.Contains(err.Error(), "you may not read this file") {
		t.Errorf("error %v", err)
	}
}

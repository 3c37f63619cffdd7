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

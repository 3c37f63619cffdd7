package document

import (
	"os"
	"path/filepath"
	"testing"
)

func TestNearestFile(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"codebook.yaml", ".study.yaml", "notes.txt"} {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Mkdir(filepath.Join(dir, "data.csv"), 0o755); err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{"codebok.yaml": "codebook.yaml", "study.yaml": "", "dat.csv": "", "x": ""} {
		if got := NearestFile(dir, name); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
	if got := NearestFile(filepath.Join(dir, "nowhere"), "a"); got != "" {
		t.Errorf("no folder: %q", got)
	}
}

//go:build unix

package dataset

import (
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// A pipe without a writer would be waited for for ever.
func TestPipe(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mkfifo(filepath.Join(dir, "x.csv"), 0o644); err != nil {
		t.Skip(err)
	}
	if _, _, err := readFile(dir, "x.csv"); err == nil || !strings.Contains(err.Error(), "a pipe, expected a file") {
		t.Errorf("error %v", err)
	}
}

package delimited

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Files that Python wrote are read as Python reads them
// (testdata/python/write.py), without pins where the bytes tell enough.
func TestPythonFiles(t *testing.T) {
	folder := filepath.Join("testdata", "python")
	data, err := os.ReadFile(filepath.Join(folder, "want.json"))
	if err != nil {
		t.Fatal(err)
	}
	var want map[string]struct {
		Encoding, Delimiter string
		Lines               []int
		Cells               [][]string
	}
	if err := json.Unmarshal(data, &want); err != nil || len(want) < 18 {
		t.Fatalf("%d files (%v)", len(want), err)
	}
	for name, w := range want {
		data, err := os.ReadFile(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		d := Dialect{Encoding: w.Encoding}
		if w.Delimiter != "" {
			d.Delimiter = w.Delimiter[0]
		}
		got, found, err := readAll(data, d, Header{Names: []string{"participant_id", "height_cm"}})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var all []row
		for i, cells := range w.Cells {
			all = append(all, row{w.Lines[i], cells})
		}
		// Python keeps the line ends within cells as they are; the table has LF.
		if diff := cmp.Diff(all, got); diff != "" {
			t.Errorf("%s (%v):\n%s", name, found, diff)
		}
	}
}

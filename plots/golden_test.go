package plots

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the golden files anew")

// goldens lists the figures whose SVG is kept, by file name. Among them are
// labels with ö, – and ≤, a rate of 0, a gap, an unbounded and a far-out
// limit, withheld counts, and a figure of a single point.
func goldens() map[string]drawer {
	all := drawers()
	list := map[string]drawer{}
	for _, name := range []string{"rates", "rates-one-point", "forest-84", "forest-huge", "survival", "heatmap", "heatmap-84", "dots", "dots-84", "dots-linear", "curves-smooth", "curves-steps", "curves-season", "curves-count", "counts", "agreement", "agreement-cells", "distribution-84", "occupancy", "occupancy-many", "visits", "visits-84"} {
		list[name] = all[name]
	}
	return list
}

// The figures look as they did when a person last looked at them. After a
// change, run the test with -update and look at the files.
func TestGolden(t *testing.T) {
	for name, d := range goldens() {
		file := filepath.Join("testdata", "golden", name+".svg")
		got := save(t, draw(t, d), "svg")
		if *update {
			if err := os.WriteFile(file, got, 0o666); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(lines(want), lines(got)); diff != "" {
			t.Errorf("%s differs (-want +got):\n%s", file, short(diff))
		}
	}
}

// Every golden file belongs to a figure, and none is large.
func TestGoldenFiles(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("testdata", "golden", "*"))
	if err != nil {
		t.Fatal(err)
	}
	list := goldens()
	for _, file := range files {
		if list[strings.TrimSuffix(filepath.Base(file), ".svg")] == nil {
			t.Errorf("%s belongs to no figure", file)
		}
		if info, err := os.Stat(file); err != nil || info.Size() > 200<<10 {
			t.Errorf("%s: %v, or larger than 200 KiB", file, err)
		}
	}
	if len(files) != len(list) {
		t.Errorf("%d files for %d figures", len(files), len(list))
	}
}

// lines lists the lines of a file, with or without carriage returns.
func lines(data []byte) []string {
	return strings.Split(string(bytes.ReplaceAll(data, []byte("\r\n"), []byte("\n"))), "\n")
}

// short keeps the outlines of letters from filling the screen.
func short(diff string) string {
	if len(diff) > 4000 {
		return diff[:4000] + "\n…"
	}
	return diff
}

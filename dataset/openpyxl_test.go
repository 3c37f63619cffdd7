package dataset

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// python runs a script of testdata with openpyxl, an implementation of the
// workbook format that shares nothing with the one used here. Where it is not
// installed the test is skipped, and says so.
func python(t *testing.T, script string, args ...string) string {
	t.Helper()
	const interpreter = "/usr/bin/python3"
	if err := exec.Command(interpreter, "-c", "import openpyxl").Run(); err != nil {
		t.Skipf("SKIPPED: %s with openpyxl is not installed, so workbooks were not checked against it", interpreter)
	}
	out, err := exec.Command(interpreter, append([]string{filepath.Join("testdata", script)}, args...)...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", script, err, out)
	}
	return string(out)
}

func TestOpenpyxl(t *testing.T) {
	for _, mode := range []string{"plain", "comment"} {
		t.Run(mode, func(t *testing.T) {
			made := filepath.Join(t.TempDir(), "data.xlsx")
			python(t, "make.py", made, mode)
			data, err := os.ReadFile(made)
			if err != nil {
				t.Fatal(err)
			}
			d, found, _, out := marked(t, strings.Replace(markYAML(), "data/data.xlsx", "data.xlsx", 1), map[string][]byte{"data.xlsx": data})
			wantLocated(t, found,
				"type @ B3: ten", "date @ D3: 44621.5", "formula without value @ B4: =5+6", "error cell @ B5: #N/A", "type @ C5: perhaps")
			// openpyxl itself writes 16 digits of the 17 that this sum has.
			wantValues(t, d.Table("children"), "age", "0.3 ! ! !")
			wantValues(t, d.Table("children"), "seen", "2022-03-01 ! [] 2022-03-02")

			before := strings.Split(strings.TrimSpace(python(t, "show.py", made)), "\n")
			after := strings.Split(strings.TrimSpace(python(t, "show.py", filepath.Join(out, "data.xlsx"))), "\n")
			fills := map[string]bool{"B3": true, "D3": true, "B4": true, "B5": true, "C5": true}
			// openpyxl numbers a sheet's comments in its own way, in which
			// nothing can be added; the copy then has fills and says why.
			noted := mode == "plain"
			for i, line := range before {
				a, b := strings.Split(line, "|"), strings.Split(after[i], "|")
				if a[0] == "data" && fills[a[1]] {
					if b[5] != "FF"+errorFill && b[5] != "00"+errorFill {
						t.Errorf("%s is filled with %q", a[1], b[5])
					}
					if noted != strings.Contains(b[6], "found: ") {
						t.Errorf("%s has the comment %q", a[1], b[6])
					}
					a[5], b[5], a[6], b[6] = "", "", "", ""
				}
				if x, y := strings.Join(a, "|"), strings.Join(b, "|"); x != y {
					t.Errorf("cell was %s, is %s", x, y)
				}
			}
			rest := strings.Join(after[len(before):], "\n")
			if !strings.Contains(rest, "Findings|") || !noted != strings.Contains(rest, "without comments") {
				t.Errorf("list of findings:\n%s", rest)
			}
		})
	}
}

func TestOpenpyxlReadsWorkbook(t *testing.T) {
	name := filepath.Join(t.TempDir(), "out.xlsx")
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := WriteWorkbook(f, demoSheets()); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	got := python(t, "show.py", name)
	for _, want := range []string{"Table 1|C3|0.30000000000000004|", "Table 1|B3|'=1+1'|", "table 1 (2)|A1|'x'|"} {
		if !strings.Contains(got, want) {
			t.Errorf("openpyxl shows\n%s\nwant %q", got, want)
		}
	}
}

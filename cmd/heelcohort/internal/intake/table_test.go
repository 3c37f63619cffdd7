package intake

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// folder is testdata/intake.
var folder = filepath.Join("..", "..", "..", "..", "testdata", "intake")

// An entry is a line of a table of testdata/intake.
type entry struct {
	File     string // below testdata/intake, or a name that the test makes
	Codebook string // "base" with changes; "codebook" or "plan" where the file itself is one
	MadeBy   string
	Special  string
	Want     string // loads; findings: rule@cell; …; refused: part of the sentence
	Where    string // part of the refusal's place; sheet of the findings
}

// made reports whether the file is made when the test runs.
func (e entry) made() bool { return e.MadeBy == "the test" }

// key names an entry in the list of pending ones.
func (e entry) key() string { return e.File + ": " + e.Special }

// readTable reads a table of testdata/intake whose files lie in folders below
// it, and wants it to list all of them and no others.
func readTable(t testing.TB, name string, folders ...string) []entry {
	t.Helper()
	f, err := os.Open(filepath.Join(folder, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if got, want := strings.Join(rows[0], ","), "file,codebook,made by,special,want,where"; got != want {
		t.Fatalf("%s has the columns %s, want %s", name, got, want)
	}
	var entries []entry
	listed := map[string]bool{}
	for _, row := range rows[1:] {
		e := entry{row[0], row[1], row[2], row[3], row[4], row[5]}
		if e.Codebook == "" || e.MadeBy == "" || e.Special == "" || e.Want == "" {
			t.Errorf("%s: %s has an empty cell", name, e.File)
		}
		if listed[e.File+"\x00"+e.Codebook] {
			t.Errorf("%s: %s stands twice with one codebook", name, e.File)
		}
		listed[e.File+"\x00"+e.Codebook], listed[e.File] = true, true
		if !e.made() {
			if _, err := os.Stat(filepath.Join(folder, filepath.FromSlash(e.File))); err != nil {
				t.Errorf("%s lists %s, which is not there", name, e.File)
			}
		}
		entries = append(entries, e)
	}
	for _, sub := range folders {
		files, err := os.ReadDir(filepath.Join(folder, sub))
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			if !listed[sub+"/"+f.Name()] {
				t.Errorf("%s/%s is not in %s", sub, f.Name(), name)
			}
		}
	}
	return entries
}

// wantedFindings splits "findings: a@B2; b@C3" into its findings.
func wantedFindings(want string) []string {
	list := strings.Split(strings.TrimPrefix(want, "findings: "), "; ")
	slices.Sort(list)
	return list
}

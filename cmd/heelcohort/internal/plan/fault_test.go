package plan

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"heelcohort/codebook/document"
	"heelcohort/codebook/document/documenttest"
)

// files reads testdata/FOLDER by name.
func files(t testing.TB, folder string) map[string]string {
	t.Helper()
	paths, err := filepath.Glob(filepath.Join("testdata", folder, "*"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("no files in testdata/%s: %v", folder, err)
	}
	texts := map[string]string{}
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		texts[filepath.Base(path)] = string(data)
	}
	return texts
}

// names lists the keys of a map in order.
func names[T any](m map[string]T) []string {
	var list []string
	for name := range m {
		list = append(list, name)
	}
	slices.Sort(list)
	return list
}

func inOrder(text string, parts []string) bool {
	for _, p := range parts {
		_, after, found := strings.Cut(text, p)
		if !found {
			return false
		}
		text = after
	}
	return true
}

// TestFaults wants each faulty plan refused at its marks, and only there, with
// the line shown.
func TestFaults(t *testing.T) {
	bad := files(t, "bad")
	for _, name := range names(bad) {
		text, want := documenttest.Unmark(t, bad[name])
		_, err := Decode(name, []byte(text))
		got := document.Faults(err)
		if len(got) != len(want) {
			t.Errorf("%s: %d faults, want %d: %v", name, len(got), len(want), err)
			continue
		}
		for i, w := range want {
			at := got[i].Position
			if at.Line != w.Line || at.Column != w.Column || !inOrder(got[i].Error(), w.Parts) {
				t.Errorf("%s: %v, want %d:%d %q", name, got[i], w.Line, w.Column, w.Parts)
			}
			if !strings.HasPrefix(got[i].Error(), name+":") || !strings.Contains(got[i].Excerpt, "^") {
				t.Errorf("%s: %v without file or excerpt %q", name, got[i], got[i].Excerpt)
			}
		}
	}
}

// TestSeveralFaults wants independent faults told at once, in order.
func TestSeveralFaults(t *testing.T) {
	text, want := documenttest.Unmark(t, `title: T
codebook: c.yaml
level: ¦2 # want: 2
analyses:
  - {id: one, kind: ¦descibe} # want: did you mean "describe"?
  - {id: two, kind: describe, ¦tabel: x, variables: [age]} # want: did you mean "table"?
`)
	_, err := Decode("study.yaml", []byte(text))
	got := document.Faults(err)
	if len(got) != len(want) {
		t.Fatalf("%v", err)
	}
	for i, w := range want {
		if got[i].Position.Line != w.Line || got[i].Position.Column != w.Column || !inOrder(got[i].Error(), w.Parts) {
			t.Errorf("%v, want %+v", got[i], w)
		}
	}
}

func FuzzDecode(f *testing.F) {
	for _, text := range files(f, "good") {
		f.Add("study.yaml", []byte(text))
		f.Add("study.json", []byte(text))
	}
	for _, text := range files(f, "bad") {
		text, _ := documenttest.Unmark(f, text)
		f.Add("study.yaml", []byte(text))
	}
	hostile, err := filepath.Glob("../../../../testdata/intake/documents/plan-*")
	if err != nil || len(hostile) == 0 {
		f.Fatalf("no hostile plans (%v)", err)
	}
	for _, name := range hostile {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add("study.yaml", data)
	}
	f.Fuzz(func(t *testing.T, file string, data []byte) {
		p, err := Decode(file, data)
		if (p == nil) == (err == nil) {
			t.Fatalf("plan %v, error %v", p, err)
		}
		if err != nil {
			for _, fault := range document.Faults(err) {
				if fault.Message == "" {
					t.Errorf("a fault without message: %v", err)
				}
			}
			return
		}
		if level, _ := p.Confidence(); !(level > 0 && level < 1) {
			t.Errorf("level %v", level)
		}
		for _, a := range p.Analyses {
			if !idPattern.MatchString(a.Common().ID.Value) {
				t.Errorf("id %q", a.Common().ID.Value)
			}
		}
	})
}

package plan

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"heelcohort/codebook/document"
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

// A wanted is a fault that a marked plan must have.
type wanted struct {
	line, column int
	parts        []string // of the message, in order
}

// unmark takes the marks out of a plan: ¦ stands before the faulty character
// and "# want: message" ends its line, … standing for any words.
func unmark(t testing.TB, text string) (string, []wanted) {
	t.Helper()
	var want []wanted
	lines := strings.Split(text, "\n")
	for i, line := range lines {
		line, message, faulty := strings.Cut(line, "# want: ")
		before, after, marked := strings.Cut(line, "¦")
		if faulty != marked || strings.Contains(after, "¦") {
			t.Fatalf("line %d does not have one mark and one wanted message: %s", i+1, lines[i])
		}
		if faulty {
			lines[i] = strings.TrimRight(before+after, " ")
			want = append(want, wanted{i + 1, len([]rune(before)) + 1, strings.Split(message, "…")})
		}
	}
	return strings.Join(lines, "\n"), want
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
		text, want := unmark(t, bad[name])
		_, err := Decode(name, []byte(text))
		got := document.Faults(err)
		if len(got) != len(want) {
			t.Errorf("%s: %d faults, want %d: %v", name, len(got), len(want), err)
			continue
		}
		for i, w := range want {
			at := got[i].Position
			if at.Line != w.line || at.Column != w.column || !inOrder(got[i].Error(), w.parts) {
				t.Errorf("%s: %v, want %d:%d %q", name, got[i], w.line, w.column, w.parts)
			}
			if !strings.HasPrefix(got[i].Error(), name+":") || !strings.Contains(got[i].Excerpt, "^") {
				t.Errorf("%s: %v without file or excerpt %q", name, got[i], got[i].Excerpt)
			}
		}
	}
}

// TestSeveralFaults wants independent faults told at once, in order.
func TestSeveralFaults(t *testing.T) {
	text, want := unmark(t, `title: T
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
		if got[i].Position.Line != w.line || got[i].Position.Column != w.column || !inOrder(got[i].Error(), w.parts) {
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
		text, _ := unmark(f, text)
		f.Add("study.yaml", []byte(text))
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

package output

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// tree lists the files below dir with their texts; nil when there is no dir.
func tree(t testing.TB, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, _ := filepath.Rel(dir, path)
		if !d.Type().IsRegular() {
			files[filepath.ToSlash(name)] = "a " + d.Type().String()
			return nil
		}
		data, err := os.ReadFile(path)
		files[filepath.ToSlash(name)] = string(data)
		return err
	})
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// names lists what stands in dir.
func names(t testing.TB, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	list := []string{}
	for _, e := range entries {
		list = append(list, e.Name())
	}
	return list
}

// begin begins or fails the test.
func begin(t testing.TB, dir string) *Stage {
	t.Helper()
	s, err := Begin(dir)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// write runs a whole run that leaves one table.
func write(t testing.TB, dir, text string) {
	t.Helper()
	s := begin(t, dir)
	if err := errors.Join(
		s.WriteFile("tables/table-1.csv", []byte(text)),
		s.Manifest(Manifest{Program: "heelcohort test", Plan: "study.yaml"}),
		s.Commit(),
	); err != nil {
		t.Fatal(err)
	}
}

func TestCommitReplacesWhole(t *testing.T) {
	study := t.TempDir()
	dir := filepath.Join(study, "results")
	write(t, dir, "first")
	if err := os.WriteFile(filepath.Join(dir, "notes.txt"), []byte("added by hand"), 0o666); err != nil {
		t.Fatal(err)
	}
	write(t, dir, "second")
	got := tree(t, dir)
	if got["tables/table-1.csv"] != "second" || len(got) != 2 {
		t.Errorf("results hold %v, want the second table and the manifest", got)
	}
	if left := names(t, study); !slices.Equal(left, []string{"results"}) {
		t.Errorf("the study holds %v, want results alone", left)
	}
}

func TestAbortLeavesResults(t *testing.T) {
	study := t.TempDir()
	dir := filepath.Join(study, "results")
	write(t, dir, "first")
	before := tree(t, dir)
	s := begin(t, dir)
	if err := errors.Join(s.WriteFile("tables/table-1.csv", []byte("half")), s.Abort(), s.Abort()); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(before, tree(t, dir)); diff != "" {
		t.Errorf("results changed:\n%s", diff)
	}
	if left := names(t, study); !slices.Equal(left, []string{"results"}) {
		t.Errorf("the study holds %v, want results alone", left)
	}
	if err := s.Commit(); err == nil {
		t.Error("committed after Abort")
	}
	if err := s.WriteFile("late.txt", nil); err == nil {
		t.Error("wrote after Abort")
	}
}

func TestBeginRefuses(t *testing.T) {
	study := t.TempDir()
	dir := filepath.Join(study, "results")
	for _, test := range []struct {
		name string
		make func() error
		want string
	}{
		{"a folder of another hand", func() error {
			return errors.Join(os.MkdirAll(dir, 0o777), os.WriteFile(filepath.Join(dir, "thesis.docx"), nil, 0o666))
		}, "results was not written by this program: it has no manifest.json"},
		{"a manifest that is a folder", func() error {
			return os.MkdirAll(filepath.Join(dir, "manifest.json"), 0o777)
		}, "not written by this program"},
		{"a file", func() error { return os.WriteFile(dir, []byte("x"), 0o666) }, "results is not a folder"},
		{"a link", func() error { return os.Symlink(t.TempDir(), dir) }, "results is not a folder"},
		{"a folder in the place aside", func() error {
			aside := filepath.Join(study, ".results-new")
			return errors.Join(os.MkdirAll(aside, 0o777), os.WriteFile(filepath.Join(aside, "thesis.docx"), nil, 0o666))
		}, ".results-new was not written by this program"},
		{"a folder in the old place", func() error {
			old := filepath.Join(study, ".results-old")
			return errors.Join(os.MkdirAll(old, 0o777), os.WriteFile(filepath.Join(old, "thesis.docx"), nil, 0o666))
		}, ".results-old was not written by this program"},
	} {
		if err := test.make(); err != nil {
			t.Fatal(err)
		}
		before := tree(t, study)
		if _, err := Begin(dir); err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: error %v, want %q", test.name, err, test.want)
		}
		if diff := cmp.Diff(before, tree(t, study)); diff != "" {
			t.Errorf("%s: the study changed:\n%s", test.name, diff)
		}
		for _, name := range []string{"results", ".results-new", ".results-old"} {
			if err := os.RemoveAll(filepath.Join(study, name)); err != nil {
				t.Fatal(err)
			}
		}
	}
	if _, err := Begin(filepath.Join(study, "absent", "results")); err == nil {
		t.Error("began without a parent folder")
	}
	if _, err := Begin("/"); err == nil {
		t.Error("began in the root")
	}
}

func TestCommitRefuses(t *testing.T) {
	study := t.TempDir()
	dir := filepath.Join(study, "results")
	s := begin(t, dir)
	if err := s.Commit(); err == nil || !strings.Contains(err.Error(), "manifest is not written") {
		t.Errorf("commit without manifest: %v", err)
	}
	if err := s.Manifest(Manifest{}); err != nil {
		t.Fatal(err)
	}
	// Something else takes the place while the run is at work.
	if err := errors.Join(os.Mkdir(dir, 0o777), os.WriteFile(filepath.Join(dir, "thesis.docx"), nil, 0o666)); err != nil {
		t.Fatal(err)
	}
	if err := s.Commit(); err == nil || !strings.Contains(err.Error(), "not written by this program") {
		t.Errorf("commit over a folder of another hand: %v", err)
	}
	if left := names(t, study); !slices.Equal(left, []string{"results"}) {
		t.Errorf("the study holds %v, want results alone", left)
	}
}

func TestNames(t *testing.T) {
	s := begin(t, filepath.Join(t.TempDir(), "results"))
	defer func() { _ = s.Abort() }()
	for _, name := range []string{
		"", ".", "..", "../x", "a/../b", "/x", "a//b", "a/", "./a", `a\b`, "c:x", "a\x00", "manifest.json", "Manifest.JSON",
		"manifest.json/x", markName,
	} {
		if err := s.WriteFile(name, nil); err == nil {
			t.Errorf("name %q: accepted", name)
		}
	}
	if err := s.WriteFile("tables/a b – ö.csv", nil); err != nil {
		t.Error(err)
	}
	for _, name := range []string{"tables/a b – ö.csv", "Tables/A b – ö.csv"} {
		if err := s.WriteFile(name, nil); err == nil || !strings.Contains(err.Error(), "written twice") {
			t.Errorf("name %q a second time: error %v", name, err)
		}
	}
}

func TestTwoRunsAtOnce(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "results")
	s := begin(t, dir)
	if err := s.WriteFile("a.txt", []byte("a")); err != nil {
		t.Fatal(err)
	}
	if _, err := Begin(dir); err == nil || !strings.Contains(err.Error(), "another run is writing results") {
		t.Errorf("a second run: error %v", err)
	}
	if err := errors.Join(s.Manifest(Manifest{}), s.Commit()); err != nil {
		t.Fatal(err)
	}
	write(t, dir, "after")
}

package output

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The digests are those of the empty text and of "abc" in FIPS 180-2.
const (
	digestEmpty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
	digestABC   = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
)

func TestManifest(t *testing.T) {
	study := t.TempDir()
	for name, text := range map[string]string{"study.yaml": "abc", "data/registry.csv": ""} {
		path := filepath.Join(study, filepath.FromSlash(name))
		if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o777), os.WriteFile(path, []byte(text), 0o666)); err != nil {
			t.Fatal(err)
		}
	}
	var inputs []File
	for _, name := range []string{"study.yaml", "data/registry.csv"} {
		f, err := InputFile(study, name)
		if err != nil {
			t.Fatal(err)
		}
		inputs = append(inputs, f)
	}
	dir := filepath.Join(study, "results")
	run := func() string {
		s := begin(t, dir)
		f, err := s.Create("tables/b.csv")
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Manifest(Manifest{}); err == nil {
			t.Error("a manifest while a file is open")
		}
		if _, err := io.Copy(f, strings.NewReader("abc")); err != nil {
			t.Fatal(err)
		}
		err = errors.Join(f.Close(), f.Close(), s.WriteFile("a <&>.txt", nil), s.Manifest(Manifest{
			Program: "heelcohort test", Go: "go1", Plan: "study.yaml", Seed: 1<<64 - 1, Inputs: inputs,
			Modules: []Module{{"example.org/m", "v1.0.0", "h1:x"}}, Options: []Option{{"small cells", "5"}},
		}))
		if err != nil {
			t.Fatal(err)
		}
		if err := s.WriteFile("late.txt", nil); err == nil {
			t.Error("a file after the manifest")
		}
		if err := s.Manifest(Manifest{}); err == nil {
			t.Error("a second manifest")
		}
		if err := s.Commit(); err != nil {
			t.Fatal(err)
		}
		return tree(t, dir)["manifest.json"]
	}
	first := run()
	const want = `{
 "program": "heelcohort test",
 "go": "go1",
 "modules": [
  {
   "path": "example.org/m",
   "version": "v1.0.0",
   "sum": "h1:x"
  }
 ],
 "plan": "study.yaml",
 "options": [
  {
   "key": "small cells",
   "value": "5"
  }
 ],
 "seed": 18446744073709551615,
 "inputs": [
  {
   "name": "data/registry.csv",
   "size": 0,
   "sha256": "` + digestEmpty + `"
  },
  {
   "name": "study.yaml",
   "size": 3,
   "sha256": "` + digestABC + `"
  }
 ],
 "outputs": [
  {
   "name": "a <&>.txt",
   "size": 0,
   "sha256": "` + digestEmpty + `"
  },
  {
   "name": "tables/b.csv",
   "size": 3,
   "sha256": "` + digestABC + `"
  }
 ]
}
`
	if diff := cmp.Diff(want, first); diff != "" {
		t.Errorf("manifest (-want +got):\n%s", diff)
	}
	if second := run(); second != first {
		t.Errorf("a second run gives another manifest:\n%s", cmp.Diff(first, second))
	}
	m, err := ReadManifest(strings.NewReader(first))
	if err != nil {
		t.Fatal(err)
	}
	again, err := m.encode()
	if err != nil || !bytes.Equal(again, []byte(first)) {
		t.Errorf("read and written again: %v\n%s", err, cmp.Diff(first, string(again)))
	}
}

// TestManifestOfThisBuild: nothing in it names this machine.
func TestManifestOfThisBuild(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "results")
	s := begin(t, dir)
	if err := errors.Join(s.Manifest(Manifest{Program: "heelcohort test"}), s.Commit()); err != nil {
		t.Fatal(err)
	}
	text := tree(t, dir)["manifest.json"]
	host, err := os.Hostname()
	if err == nil && strings.Contains(text, `"`+host) {
		t.Error("the manifest names the host")
	}
	if strings.Contains(text, filepath.ToSlash(filepath.Dir(dir))) {
		t.Error("the manifest holds a path of this machine")
	}
	if !strings.Contains(text, `"go": "`+runtime.Version()+`"`) {
		t.Errorf("the manifest lacks the Go version:\n%s", text)
	}
}

func TestModules(t *testing.T) {
	got := modulesOf(&debug.BuildInfo{Deps: []*debug.Module{
		{Path: "example.org/z", Version: "v1.2.0", Sum: "h1:z"},
		{Path: "example.org/a", Version: "v1.0.0", Sum: "h1:a", Replace: &debug.Module{Path: "/home/someone/a"}},
	}})
	want := []Module{{"example.org/a", "replaced", ""}, {"example.org/z", "v1.2.0", "h1:z"}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("modules (-want +got):\n%s", diff)
	}
}

func TestManifestRefusesPaths(t *testing.T) {
	s := begin(t, filepath.Join(t.TempDir(), "results"))
	defer func() { _ = s.Abort() }()
	for _, name := range []string{"/etc/passwd", "../study.yaml", `c:\study.yaml`} {
		if err := s.Manifest(Manifest{Plan: name}); err == nil {
			t.Errorf("plan %q: accepted", name)
		}
		if err := s.Manifest(Manifest{Inputs: []File{{Name: name}}}); err == nil {
			t.Errorf("input %q: accepted", name)
		}
		if _, err := InputFile(t.TempDir(), name); err == nil {
			t.Errorf("input file %q: accepted", name)
		}
	}
}

// TestHalfWritten: a file whose writing failed keeps the manifest away.
func TestHalfWritten(t *testing.T) {
	s := begin(t, filepath.Join(t.TempDir(), "results"))
	defer func() { _ = s.Abort() }()
	f, err := s.Create("a.txt")
	if err != nil {
		t.Fatal(err)
	}
	if err := f.(*writer).file.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := f.Write([]byte("x")); err == nil {
		t.Error("wrote to a closed file")
	}
	if err := f.Close(); err == nil {
		t.Error("closed without the error of writing")
	}
	if err := s.Manifest(Manifest{}); err == nil {
		t.Error("a manifest over a half written file")
	}
}

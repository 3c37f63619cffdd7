package intake

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"heelcohort/cmd/heelcohort/internal/run"
)

// in makes a maker of steps in the study's folder. Outside of it lies a folder
// with the plain study.
func in(steps func(t testing.TB, dir, outside string)) maker {
	return func(t testing.TB, dir string) {
		t.Helper()
		outside := t.TempDir()
		copyFile(t, filepath.Join(folder, "files", "plain.csv"), filepath.Join(outside, "plain.csv"))
		copyFile(t, filepath.Join(folder, "files", "plain.csv"), filepath.Join(dir, "plain.csv"))
		steps(t, dir, outside)
	}
}

func link(t testing.TB, to, name string) {
	t.Helper()
	if err := os.Symlink(to, name); err != nil {
		t.Fatal(err)
	}
}

func pipe(t testing.TB, name string) {
	t.Helper()
	if err := syscall.Mkfifo(name, 0o644); err != nil {
		t.Fatal(err)
	}
}

func makeFolder(t testing.TB, name string) {
	t.Helper()
	if err := os.Mkdir(name, 0o755); err != nil {
		t.Fatal(err)
	}
}

// study makes plan and codebook, which the steps then exchange.
func study(steps func(t testing.TB, dir, outside string)) maker {
	return in(func(t testing.TB, dir, outside string) {
		for _, d := range []string{dir, outside} {
			writeFile(t, filepath.Join(d, "codebook.json"), baseBook)
			writeFile(t, filepath.Join(d, run.PlanFile), "title: T\ncodebook: codebook.json\nanalyses: [{id: table-1, kind: describe, variables: [pain]}]\n")
		}
		steps(t, dir, outside)
	})
}

// instead removes a file of the study and puts something else in its place.
func instead(name string, put func(t testing.TB, name, outside string)) maker {
	return study(func(t testing.TB, dir, outside string) {
		full := filepath.Join(dir, name)
		if err := os.Remove(full); err != nil {
			t.Fatal(err)
		}
		put(t, full, outside)
	})
}

// names makes a plan that names another codebook.
func names(book string) maker {
	return study(func(t testing.TB, dir, outside string) {
		book = strings.ReplaceAll(book, "OUTSIDE", outside)
		writeFile(t, filepath.Join(dir, run.PlanFile), "title: T\ncodebook: '"+book+"'\nanalyses: [{id: table-1, kind: describe, variables: [pain]}]\n")
	})
}

func nothing(testing.TB, string, string) {}

var hostilePaths = map[string]maker{
	"path:../plain.csv":                             in(nothing),
	"path:/etc/hostname.csv":                        in(nothing),
	"path:C:/plain.csv":                             in(nothing),
	"path:a/../plain.csv":                           in(nothing),
	"path:plain.csv/x.csv":                          in(nothing),
	"path:" + strings.Repeat("long", 2000) + ".csv": in(nothing),
	"path:linked-inside.csv": in(func(t testing.TB, dir, _ string) {
		link(t, "plain.csv", filepath.Join(dir, "linked-inside.csv"))
	}),
	"path:linked-outside.csv": in(func(t testing.TB, dir, outside string) {
		link(t, filepath.Join(outside, "plain.csv"), filepath.Join(dir, "linked-outside.csv"))
	}),
	"path:linked-folder/plain.csv": in(func(t testing.TB, dir, outside string) {
		link(t, outside, filepath.Join(dir, "linked-folder"))
	}),
	"path:linked-to-itself.csv": in(func(t testing.TB, dir, _ string) {
		link(t, "linked-to-itself.csv", filepath.Join(dir, "linked-to-itself.csv"))
	}),
	"path:zero.csv": in(func(t testing.TB, dir, _ string) { link(t, "/dev/zero", filepath.Join(dir, "zero.csv")) }),
	"path:pipe.csv": in(func(t testing.TB, dir, _ string) { pipe(t, filepath.Join(dir, "pipe.csv")) }),
	"path:folder.csv": in(func(t testing.TB, dir, _ string) {
		makeFolder(t, filepath.Join(dir, "folder.csv"))
	}),
	"path:unreadable.csv": in(func(t testing.TB, dir, _ string) {
		name := filepath.Join(dir, "unreadable.csv")
		copyFile(t, filepath.Join(dir, "plain.csv"), name)
		if err := os.Chmod(name, 0); err != nil {
			t.Fatal(err)
		}
		if os.Geteuid() == 0 {
			t.Skip("nothing is unreadable to root")
		}
	}),

	"study:as-it-is":       study(nothing),
	"study:plan-pipe":      instead(run.PlanFile, func(t testing.TB, name, _ string) { pipe(t, name) }),
	"study:plan-zero":      instead(run.PlanFile, func(t testing.TB, name, _ string) { link(t, "/dev/zero", name) }),
	"study:plan-folder":    instead(run.PlanFile, func(t testing.TB, name, _ string) { makeFolder(t, name) }),
	"study:plan-outside":   instead(run.PlanFile, func(t testing.TB, name, outside string) { link(t, filepath.Join(outside, run.PlanFile), name) }),
	"study:plan-to-itself": instead(run.PlanFile, func(t testing.TB, name, _ string) { link(t, name, name) }),
	"study:book-pipe":      instead("codebook.json", func(t testing.TB, name, _ string) { pipe(t, name) }),
	"study:book-zero":      instead("codebook.json", func(t testing.TB, name, _ string) { link(t, "/dev/zero", name) }),
	"study:book-folder":    instead("codebook.json", func(t testing.TB, name, _ string) { makeFolder(t, name) }),
	"study:book-outside":   instead("codebook.json", func(t testing.TB, name, outside string) { link(t, filepath.Join(outside, "codebook.json"), name) }),
	"study:book-linked": instead("codebook.json", func(t testing.TB, name, _ string) {
		writeFile(t, name+".txt", baseBook)
		link(t, filepath.Base(name)+".txt", name)
	}),
	"study:book-above":       names("../codebook.json"),
	"study:book-absolute":    names("OUTSIDE/codebook.json"),
	"study:book-device":      names("/dev/zero"),
	"study:book-null":        names("codebook\\x00.json"),
	"study:book-is-the-plan": names(run.PlanFile),
	"study:book-long-name":   names(strings.Repeat("long", 2000) + ".json"),
}

package output

import (
	"bufio"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// crashFolder names, in the environment, the results folder of a run that is
// to be killed.
const crashFolder = "HEELCOHORT_TEST_CRASH"

func TestMain(m *testing.M) {
	if dir := os.Getenv(crashFolder); dir != "" {
		s, err := Begin(dir)
		if err == nil {
			err = s.WriteFile("tables/table-1.csv", []byte("half"))
		}
		if err != nil {
			os.Stdout.WriteString(err.Error() + "\n")
			os.Exit(2)
		}
		os.Stdout.WriteString("writing\n")
		time.Sleep(time.Hour) // a goroutine without a timer would be a deadlock, and end the process
		runtime.KeepAlive(s)  // and its lock
	}
	os.Exit(m.Run())
}

// TestKilledRun: a run that is killed leaves the results as they were, keeps
// no lock, and its leavings go with the next run.
func TestKilledRun(t *testing.T) {
	study := t.TempDir()
	dir := filepath.Join(study, "results")
	write(t, dir, "first")
	before := tree(t, dir)

	cmd := exec.Command(os.Args[0], "-test.run=none")
	cmd.Env = append(os.Environ(), crashFolder+"="+dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if _, second := Begin(dir); second == nil {
		t.Error("a second run began while the first was writing")
	}
	if err := errors.Join(err, cmd.Process.Kill()); err != nil || line != "writing\n" {
		t.Fatalf("the run to be killed said %q, %v", line, err)
	}
	_ = cmd.Wait() // killed

	if diff := cmp.Diff(before, tree(t, dir)); diff != "" {
		t.Errorf("results changed:\n%s", diff)
	}
	write(t, dir, "second")
	if left := names(t, study); !slices.Equal(left, []string{"results"}) {
		t.Errorf("the study holds %v, want results alone", left)
	}
}

// TestInterruptedSwap: whatever state a swap was killed in, the next run finds
// whole results and clears the rest.
func TestInterruptedSwap(t *testing.T) {
	type state struct {
		name                string
		results, old, aside string // text of the table, "" when the folder is not there
		mark                bool   // in the folder aside
		want                string // of the results once the next run has begun
	}
	for _, test := range []state{
		{"before the swap", "old", "", "new", true, "old"},
		{"mark removed", "old", "", "new", false, "old"},
		{"old moved away", "", "old", "new", false, "old"},
		{"new moved in", "new", "old", "", false, "new"},
	} {
		study := t.TempDir()
		dir := filepath.Join(study, "results")
		put := func(folder, text string, mark bool) {
			if text == "" {
				return
			}
			made := filepath.Join(t.TempDir(), "made")
			write(t, made, text)
			if mark {
				if err := os.WriteFile(filepath.Join(made, markName), nil, 0o666); err != nil {
					t.Fatal(err)
				}
			}
			if err := os.Rename(made, filepath.Join(study, folder)); err != nil {
				t.Fatal(err)
			}
		}
		put("results", test.results, false)
		put(".results-old", test.old, false)
		put(".results-new", test.aside, test.mark)

		s := begin(t, dir)
		if got := tree(t, dir)["tables/table-1.csv"]; got != test.want {
			t.Errorf("%s: results hold %q, want %q", test.name, got, test.want)
		}
		if err := s.Abort(); err != nil {
			t.Fatal(err)
		}
		if left := names(t, study); !slices.Equal(left, []string{"results"}) {
			t.Errorf("%s: the study holds %v, want results alone", test.name, left)
		}
	}
}

// TestFailedSwap: when the new folder cannot be moved in, the old one is back.
func TestFailedSwap(t *testing.T) {
	study := t.TempDir()
	dir := filepath.Join(study, "results")
	write(t, dir, "first")
	before := tree(t, dir)
	s := begin(t, dir)
	if err := errors.Join(s.WriteFile("a.txt", nil), s.Manifest(Manifest{})); err != nil {
		t.Fatal(err)
	}
	// The folder aside disappears.
	if err := os.RemoveAll(s.aside); err != nil {
		t.Fatal(err)
	}
	if err := s.Commit(); err == nil {
		t.Error("committed without a folder")
	}
	if diff := cmp.Diff(before, tree(t, dir)); diff != "" {
		t.Errorf("results changed:\n%s", diff)
	}
	write(t, dir, "second")

	// Renaming fails after the old folder was moved: a name that ends in a dot
	// holds a mark that can be removed, and cannot be renamed.
	s = begin(t, dir)
	if err := s.Manifest(Manifest{}); err != nil {
		t.Fatal(err)
	}
	old := tree(t, dir)
	s.aside += string(filepath.Separator) + "."
	if err := s.Commit(); err == nil {
		t.Error("committed a folder that cannot be moved")
	}
	if diff := cmp.Diff(old, tree(t, dir)); diff != "" {
		t.Errorf("results are not back:\n%s", diff)
	}
}

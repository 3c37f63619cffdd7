package intake

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"heelcohort/cmd/heelcohort/internal/run"
)

// Bounds of a hostile file: seconds of the processor, bytes in memory,
// characters of the refusal. A reader that waits is ended by the clock.
const (
	mostTime    = 5 * time.Second
	maxMemory   = 500 << 20
	maxSentence = 10_000 // of up to 20 faults
	patience    = 20 * time.Second
)

// childTask is the environment variable that makes TestChild do its work.
const childTask = "HEELCOHORT_INTAKE_TASK"

// tryPending is the environment variable that makes TestHostile try pending
// entries too, most of which run out of time or memory.
const tryPending = "HEELCOHORT_PENDING"

// A task is an entry to be read in a process of its own.
type task struct {
	Dir   string
	Entry entry
	Out   string // the outcome is written there
}

// TestHostile reads every file of hostile.csv in a process of its own, and
// wants its outcome within the bounds.
func TestHostile(t *testing.T) {
	if testing.Short() {
		t.Skip("hostile files take a minute")
	}
	entries := readTable(t, "hostile.csv", "documents")
	listed := map[string]bool{}
	for _, e := range entries {
		listed[e.File] = true
	}
	for name := range hostileFiles {
		if !listed[name] {
			t.Errorf("%s is made and not in hostile.csv", name)
		}
	}
	for _, e := range entries {
		t.Run(shortName(e.File), func(t *testing.T) {
			if reason, waits := pending[e.key()]; waits && os.Getenv(tryPending) == "" {
				t.Skipf("PENDING (%s): not tried without %s=1", reason, tryPending)
			}
			dir := t.TempDir()
			if e.made() {
				make, ok := hostileFiles[e.File]
				if !ok {
					t.Fatalf("nothing makes %s", e.File)
				}
				make(t, dir)
			} else {
				copyFile(t, filepath.Join(folder, filepath.FromSlash(e.File)), filepath.Join(dir, path.Base(e.File)))
			}
			judge(t, e, inChild(t, dir, e))
		})
	}
}

// inChild gives the outcome of an entry in another process.
func inChild(t *testing.T, dir string, e entry) outcome {
	t.Helper()
	out := filepath.Join(t.TempDir(), "outcome.json")
	text, err := json.Marshal(task{Dir: dir, Entry: e, Out: out})
	if err != nil {
		t.Fatal(err)
	}
	c := exec.Command(os.Args[0], "-test.run=^TestChild$", "-test.count=1")
	c.Env = append(os.Environ(), childTask+"="+string(text), "GOMAXPROCS=2", "GOCOVERDIR="+t.TempDir())
	var said bytes.Buffer
	c.Stdout, c.Stderr = &said, &said
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- c.Wait() }()
	select {
	case err = <-done:
	case <-time.After(patience):
		_ = c.Process.Kill()
		<-done
		return outcome{Wrong: "no outcome after " + patience.String()}
	}
	var o outcome
	data, readErr := os.ReadFile(out)
	if readErr != nil || json.Unmarshal(data, &o) != nil {
		return outcome{Wrong: "the process ended without an outcome: " + errors.Join(err, readErr).Error() + "\n" + said.String()[:min(said.Len(), 2000)]}
	}
	seconds := c.ProcessState.UserTime() + c.ProcessState.SystemTime()
	t.Logf("%.2f s, %d MB", seconds.Seconds(), o.Memory>>20)
	switch {
	case seconds > mostTime:
		o.Wrong = "took " + seconds.String()
	case o.Memory > maxMemory:
		o.Wrong = fmt.Sprintf("took %d MB", o.Memory>>20)
	case len(o.Refused) > maxSentence:
		o.Wrong = fmt.Sprintf("the refusal has %d characters", len(o.Refused))
	}
	return o
}

// TestChild reads one entry, in a process that TestHostile starts.
func TestChild(t *testing.T) {
	text := os.Getenv(childTask)
	if text == "" {
		t.Skip("a process of TestHostile")
	}
	var w task
	if err := json.Unmarshal([]byte(text), &w); err != nil {
		t.Fatal(err)
	}
	var o outcome
	switch w.Entry.Codebook {
	case "codebook", "plan", "study":
		o = readStudy(t, w.Dir, w.Entry)
	default:
		o, _ = read(t, w.Dir, w.Entry)
	}
	if len(o.Findings) > 1000 {
		o.Findings = o.Findings[:1000]
	}
	o.Memory = mostMemory(t)
	data, err := json.Marshal(o)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(w.Out, data, 0o644); err != nil {
		t.Fatal(err)
	}
}

// mostMemory is the most memory that this process has held, in bytes. What the
// system counts of an ended process would include its parent's.
func mostMemory(t *testing.T) int64 {
	t.Helper()
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Fatal(err)
	}
	_, after, ok := strings.Cut(string(status), "VmHWM:")
	fields := strings.Fields(after)
	if !ok || len(fields) < 2 || fields[1] != "kB" {
		t.Fatal("the system does not tell the memory of a process")
	}
	kb, err := strconv.ParseInt(fields[0], 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	return kb << 10
}

// readStudy reads plan and codebook of a study, one of which is the entry's
// file; "study" takes the folder as it is.
func readStudy(t *testing.T, dir string, e entry) outcome {
	t.Helper()
	const plan = "title: T\ncodebook: NAME\nanalyses: [{id: table-1, kind: describe, variables: [pain]}]\n"
	name := path.Base(e.File)
	switch e.Codebook {
	case "codebook":
		writeFile(t, filepath.Join(dir, run.PlanFile), strings.Replace(plan, "NAME", name, 1))
	case "plan":
		if err := os.Rename(filepath.Join(dir, name), filepath.Join(dir, run.PlanFile)); err != nil {
			t.Fatal(err)
		}
		writeFile(t, filepath.Join(dir, "codebook.json"), baseBook)
	}
	if _, err := run.Read(dir); err != nil {
		return outcome{Refused: err.Error()}
	}
	return outcome{}
}

func writeFile(t testing.TB, name, text string) {
	t.Helper()
	if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func copyFile(t testing.TB, from, to string) {
	t.Helper()
	data, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	writeFile(t, to, string(data))
}

// shortName is an entry's file as the name of a test.
func shortName(file string) string {
	return strings.ReplaceAll(file[:min(len(file), 60)], "/", " ")
}

package intake

import (
	"path"
	"path/filepath"
	"slices"
	"testing"
)

// TestFiles opens every file of files.csv and wants its outcome. Values of
// cells without a finding are those of the plain study.
func TestFiles(t *testing.T) {
	_, plain := read(t, filepath.Join(folder, "files"), entry{File: "plain.csv", Codebook: "base"})
	if plain == nil {
		t.Fatal("the plain study was refused")
	}
	entries := readTable(t, "files.csv", "files")
	if len(entries) < 90 {
		t.Errorf("%d files, want 90", len(entries))
	}
	for _, e := range entries {
		t.Run(path.Base(e.File), func(t *testing.T) {
			o, d := read(t, studyDir(e), e)
			if d != nil {
				o.Wrong = differs(d, plain.Tables[0], o.Findings, e.Want == "loads")
			}
			judge(t, e, o)
		})
	}
}

// TestPending says how many entries wait, and wants each to be in a table.
func TestPending(t *testing.T) {
	waits := map[string]bool{}
	for _, e := range slices.Concat(readTable(t, "files.csv", "files"), readTable(t, "same.csv", "same"), readTable(t, "hostile.csv", "documents")) {
		waits[e.key()] = true
	}
	for key := range pending {
		if !waits[key] {
			t.Errorf("pending lists %q, which is in no table", key)
		}
	}
	t.Logf("%d entries are pending", len(pending))
}

// judge fails the test where an outcome is not the one wanted. What the
// readers cannot do yet is passed over loudly.
func judge(t *testing.T, e entry, o outcome) {
	t.Helper()
	fault := check(e, o)
	if reason, waits := pending[e.key()]; waits {
		if fault == "" {
			t.Errorf("%s is pending (%s) and has its outcome: take it off the list", e.key(), reason)
			return
		}
		t.Skipf("PENDING (%s): %.600s", reason, fault)
	}
	if fault != "" {
		t.Errorf("%.60s: %s\n%.600s", e.File, e.Special, fault)
	}
}

package main

import (
	"bytes"
	"context"
	"maps"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
)

// A stopping context ends at the nth time that it is asked.
type stopping struct {
	context.Context
	left atomic.Int64
}

func (s *stopping) Err() error {
	if s.left.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

// An interrupt at any moment leaves the archive that was there and nothing
// beside it, in the temporary folder neither.
func TestBundleInterrupted(t *testing.T) {
	temporary := t.TempDir()
	t.Setenv("TMPDIR", temporary)
	dir := smallStudy(t)
	heelcohort(t, exitDone, "run", dir)
	out := filepath.Join(t.TempDir(), "b.zip")
	put(t, filepath.Dir(out), "b.zip", "the old one")
	done, stopped := false, 0
	for n := int64(1); !done; n += 7 {
		ctx := &stopping{Context: context.Background()}
		ctx.left.Store(n)
		var stdout, stderr bytes.Buffer
		switch code := command(ctx, []string{"bundle", "--out", out, dir}, &stdout, &stderr); {
		case code == exitDone:
			done = true
		case code != exitNotDone || !strings.Contains(stderr.String(), "interrupted"):
			t.Fatalf("exit status %d: %s", code, stderr.String())
		default:
			stopped++
			if got := readTree(t, filepath.Dir(out)); len(got) != 1 || got["b.zip"] != "the old one" {
				t.Fatalf("stopped at %d: %q", n, keysOf(got))
			}
		}
		if left := readTree(t, temporary); len(left) > 0 {
			t.Fatalf("stopped at %d: left in the temporary folder %q", n, keysOf(left))
		}
	}
	if stopped < 5 {
		t.Errorf("%d interrupts, want several", stopped)
	}
	if get(t, filepath.Dir(out), "b.zip") == "the old one" {
		t.Error("the archive was not replaced")
	}
}

// An interrupted rerun leaves nothing in the temporary folder, and the bundle
// as it was.
func TestRerunInterrupted(t *testing.T) {
	temporary := t.TempDir()
	t.Setenv("TMPDIR", temporary)
	dir := smallStudy(t)
	heelcohort(t, exitDone, "run", dir)
	replace(t, dir, "study.yaml", "seed: 3", "seed: 4")
	replace(t, dir, "data/children.csv", "k05,c5,normal,no,11", "k05,c5,normal,no,12")
	before := readTree(t, dir)
	done, stopped := false, 0
	for n := int64(1); !done; n += n/4 + 9 {
		ctx := &stopping{Context: context.Background()}
		ctx.left.Store(n)
		var stdout, stderr bytes.Buffer
		switch code := command(ctx, []string{"rerun", dir}, &stdout, &stderr); {
		case code == exitReport:
			done = true
		case code != exitNotDone || !strings.Contains(stderr.String(), "interrupted"):
			t.Fatalf("stopped at %d: exit status %d: %s", n, code, stderr.String())
		default:
			stopped++
		}
		if left := readTree(t, temporary); len(left) > 0 {
			t.Fatalf("stopped at %d: left in the temporary folder %q", n, keysOf(left))
		}
	}
	if stopped < 5 {
		t.Errorf("%d interrupts, want several", stopped)
	}
	if after := readTree(t, dir); !maps.Equal(before, after) {
		t.Error("the study changed")
	}
}

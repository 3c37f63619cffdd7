package run

import (
	"slices"
	"testing"
)

// What changed after a version is told, and nothing of one that is not known.
func TestMethodChanges(t *testing.T) {
	methodChanges["burden"] = append(methodChanges["burden"], "days of an unfinished episode end at the last contact", "limits by child")
	defer func() { methodChanges["burden"] = methodChanges["burden"][:1] }()
	if got := methodVersion("burden"); got != "burden 3" {
		t.Errorf("version %q", got)
	}
	want := []string{"version 2: days of an unfinished episode end at the last contact", "version 3: limits by child"}
	if got := MethodChanges("burden", "burden 1"); !slices.Equal(got, want) {
		t.Errorf("changes %q", got)
	}
	for _, version := range []string{"burden 3", "burden 9", ""} {
		if got := MethodChanges("burden", version); len(got) > 0 {
			t.Errorf("after %q: %q", version, got)
		}
	}
}

package result

import "testing"

func TestLevelOf(t *testing.T) {
	a := Analysis{
		Variables: []Variable{{Name: "arch", Levels: []Level{{"normal", "Normal"}, {"pronated", ""}}}},
		Settings:  []Setting{{Key: "reference.arch", Value: "normal"}},
	}
	for _, c := range []struct {
		row              Row
		level, reference string
		ok               bool
	}{
		{Row{Variable: "arch", Term: "pronated"}, "pronated", "", true},
		{Row{Term: "arch=pronated"}, "pronated", "", true},
		{Row{Variable: "arch", Term: "pronated vs normal"}, "pronated", "normal", true},
		{Row{Variable: "arch", Term: "flat"}, "", "", false},
		{Row{Variable: "arch", Term: "pronated vs flat"}, "", "", false},
		{Row{Variable: "sex", Term: "pronated"}, "", "", false},
	} {
		if level, reference, ok := a.LevelOf(&c.row, "arch"); level != c.level || reference != c.reference || ok != c.ok {
			t.Errorf("%q of %q: %q, %q, %v", c.row.Term, c.row.Variable, level, reference, ok)
		}
	}
	if got := a.LevelLabel("arch", "normal"); got != "Normal" {
		t.Errorf("label %q, want Normal", got)
	}
	if got := a.LevelLabel("pain", "true"); got != "Yes" {
		t.Errorf("label %q, want Yes", got)
	}
}

// The reference is named by a term, then by a setting, then by being the only
// level without a row; otherwise it is not known.
func TestReference(t *testing.T) {
	a := Analysis{Variables: []Variable{{Name: "arch", Levels: []Level{{Value: "a"}, {Value: "b"}, {Value: "c"}}}}}
	only := func(levels string) func(string) bool {
		return func(level string) bool {
			for _, l := range levels {
				if string(l) == level {
					return true
				}
			}
			return false
		}
	}
	if got := a.Reference("arch", "b", only("c")); got != "b" {
		t.Errorf("named: %q, want b", got)
	}
	if got := a.Reference("arch", "", only("bc")); got != "a" {
		t.Errorf("left over: %q, want a", got)
	}
	if got := a.Reference("arch", "", only("c")); got != "" {
		t.Errorf("two left over: %q, want none", got)
	}
	a.Settings = []Setting{{Key: "reference.arch", Value: "b"}}
	if got := a.Reference("arch", "", only("c")); got != "b" {
		t.Errorf("by setting: %q, want b", got)
	}
}

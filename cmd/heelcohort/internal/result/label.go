package result

import (
	"slices"
	"strings"
)

// Described is the analysis's variable with the given name; one that it does
// not list is known by its name alone.
func (a *Analysis) Described(name string) Variable {
	v, ok := a.Variable(name)
	if !ok || v.Label == "" {
		v.Name, v.Label = name, name
	}
	return v
}

// LevelLabel is the label of a level of a variable, or the level itself; true
// and false without a label read Yes and No.
func (a *Analysis) LevelLabel(variable, level string) string {
	return a.Described(variable).LevelLabel(level)
}

// LevelLabel is the label of a level, or the level itself; true and false
// without a label read Yes and No.
func (v Variable) LevelLabel(level string) string {
	for _, l := range v.Levels {
		if l.Value == level && l.Label != "" {
			return l.Label
		}
	}
	switch level {
	case "true":
		return "Yes"
	case "false":
		return "No"
	case "":
		return "(empty)"
	}
	return level
}

// Setting is the value of a setting of the analysis, or "".
func (a *Analysis) Setting(key string) string {
	for _, s := range a.Settings {
		if s.Key == key {
			return s.Value
		}
	}
	return ""
}

// LevelOf is the level of variable that the row's term names: "pronated",
// "arch=pronated" or "pronated vs normal", the last with its reference.
func (a *Analysis) LevelOf(r *Row, variable string) (level, reference string, ok bool) {
	term, named := strings.CutPrefix(r.Term, variable+"=")
	if r.Variable != variable && r.Variable != "" && !named {
		return "", "", false
	}
	levels := a.Described(variable).Levels
	for _, l := range levels {
		if l.Value == term {
			return term, "", true
		}
		rest, found := strings.CutPrefix(term, l.Value+" vs ")
		if found && slices.ContainsFunc(levels, func(other Level) bool { return other.Value == rest }) {
			return l.Value, rest, true
		}
	}
	return "", "", false
}

// Reference is the level of variable that rows compare others with, by is what
// they are about: the one that a term names, else the one that the settings
// name, else the only level without a row; "" when it is not known.
func (a *Analysis) Reference(variable string, named string, by func(level string) bool) string {
	if named != "" {
		return named
	}
	var without []string
	for _, l := range a.Described(variable).Levels {
		if !by(l.Value) {
			without = append(without, l.Value)
		}
	}
	for _, key := range []string{"reference." + variable, "reference"} {
		if v := a.Setting(key); slices.Contains(without, v) {
			return v
		}
	}
	if len(without) == 1 {
		return without[0]
	}
	return ""
}

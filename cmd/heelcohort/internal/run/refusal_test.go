package run

import (
	"strings"
	"testing"

	"heelcohort/codebook/document"
)

// unmark takes the mark ¦ out of a plan and gives its line and column.
func unmark(t *testing.T, text string) (plain string, line, column int) {
	t.Helper()
	before, after, found := strings.Cut(text, "¦")
	if !found || strings.Contains(after, "¦") {
		t.Fatalf("not one mark: %s", text)
	}
	lines := strings.Split(before, "\n")
	return before + after, len(lines), len([]rune(lines[len(lines)-1])) + 1
}

// TestRefusals wants analyses that do not fit the codebook refused at their
// place before any data are read: the folders have none.
func TestRefusals(t *testing.T) {
	const (
		incidence = "id: x, kind: incidence, events: {table: episodes, day: day}, at_risk: {table: exposures, from: from_day, to: to_day}"
		spells    = "id: x, kind: recurrence, events: {table: heels, day: day, end: {day: last, when: back}}, gap: 7"
		burden    = "id: x, kind: burden, at_risk: {table: hours, amount: hours, from: from_day, to: to_day}"
		losses    = ", events: {table: heels, day: day, lost: lost, finished: back}"
		survival  = "id: x, kind: time-to-event, table: heels, event: {day: left, when: back}"
	)
	for _, c := range []struct{ book, analysis, want string }{
		{smallBook, "id: x, kind: describe, table: ¦childen, variables: [age]", `did you mean "children"?`},
		{smallBook, "id: x, kind: describe, by: [arch, ¦pain], variables: [age]", `a second grouping variable "pain"`},
		{smallBook, "id: x, kind: describe, by: ¦age, variables: [pain]", `"age" is a number without categories`},
		{smallBook, "id: x, kind: describe, variables: [¦club]", `"club" is a text without categories`},
		{smallBook, "id: x, kind: describe, variables: [age, ¦age]", `"age" stands twice`},
		{smallBook, "id: x, kind: association, outcome: ¦arch, exposure: pain", `outcome "arch" is a text, expected a boolean`},
		{smallBook, "id: x, kind: association, outcome: pain, exposure: ¦pain", `"pain" is the outcome`},
		{smallBook, "id: x, kind: association, outcome: pain, exposure: arch, reference: ¦norml", `did you mean "normal"?`},
		{smallBook, "id: x, kind: association, outcome: pain, exposure: age, reference: ¦normal", `is a number and has no reference level`},
		{smallBook, "id: x, kind: association, outcome: pain, exposure: arch, adjust: [age, ¦arch]", `"arch" is in the model already`},
		{smallBook, "id: x, kind: association, outcome: pain, exposure: arch, cluster: ¦clubs", `did you mean "club"?`},
		{heelBook, strings.Replace(survival, "left", "¦lefft", 1), `did you mean "left"?`},
		{heelBook, strings.Replace(survival, "back", "¦left", 1), `"left" is a number, expected a boolean`},
		{heelBook, survival + ", reference: ¦normal", "a reference without by"},
		{heelBook, survival + ", by: arch, reference: ¦norml", `did you mean "normal"?`},
		{heelBook, survival + ", model: {terms: [arch, ¦arch]}", `"arch" is in the model already`},
		{heelBook, survival + ", model: ¦{terms: []}", "a model without terms"},
		{heelBook, survival + ", model: {terms: [arch], reference: {¦age: \"9\"}}", `reference for "age", expected one of arch`},
		{heelBook, "¦" + survival + ", at: [28, 28]", "expected ascending times from 0 on"},
		{walkBook, incidence + ", by: [sport, sport, ¦sport]", "a third grouping"},
		{walkBook, incidence + ", by: [sport, ¦sport]", `"sport" stands twice in by`},
		{walkBook, incidence + ", by: [¦sports]", `did you mean "sport"?`},
		{walkBook, incidence + ", by: sport, reference: {¦sprt: judo}", `did you mean "sport"?`},
		{walkBook, incidence + ", by: sport, reference: {sport: ¦jodo}", `did you mean "judo"?`},
		{walkBook, incidence + ", current_age: ¦{at_zero: age, bands: [6, 8]}", "which by does not use"},
		{walkBook, incidence + ", by: current_age, current_age: ¦{at_zero: age, bands: [8, 6]}", "expected ascending ages"},
		{walkBook, incidence + ", by: current_age, current_age: ¦{at_zero: age, bands: [8]}", "at least two"},
		{walkBook, incidence + ", by: sport, model: {terms: [¦age]}", `model term "age" is not in by`},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], cluster: ¦child}", `expected the key of table "children"`},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], dispersion: pearson, cluster: ¦id}", "cluster beside dispersion"},
		{walkBook, "id: x, kind: incidence, events: ¦{table: episodes}, at_risk: {table: exposures, from: from_day, to: to_day}", "no day and no count"},
		{walkBook, "id: x, kind: incidence, events: {table: episodes, day: day}, at_risk: ¦{table: exposures, amount: hours}", "expected from and to"},
		{walkBook, "id: x, kind: incidence, events: ¦{table: episodes, count: 1, day: day}, at_risk: {table: episodes, amount: 1}", "expected count alone"},
		{walkBook, "id: x, kind: incidence, events: ¦{table: episodes, count: 1}, at_risk: {table: exposures, amount: hours}", "expected one table for counts"},
		{countBook, "¦id: x, kind: incidence, events: {table: seasons, count: events}, at_risk: {table: seasons, amount: hours}, episodes: all", "episodes goes with events that have days"},
		{spellBook, "¦" + spells, "has no at_risk and no exit"},
		{spellBook, spells + ", at_risk: {table: hours, from: from_day, to: to_day}, exit: ¦left", "exit beside at_risk"},
		{spellBook, spells + ", at_risk: {table: hours, from: from_day, to: to_day}, entry: ¦0", "entry beside at_risk"},
		{spellBook, spells + ", exit: ¦lefft", `did you mean "left"?`},
		{spellBook, spells + ", exit: left, by: ¦sexx", `did you mean "sex"?`},
		{spellBook, spells + ", exit: left, by: ¦left", "without categories"},
		{spellBook, spells + ", exit: left, ends: {when: ¦stoped}", `did you mean "stopped"?`},
		{spellBook, spells + ", exit: left, ends: {when: ¦left}", "expected a boolean"},
		{spellBook, "¦" + spells + ", exit: left, at: [5, 5]", "expected ascending times from 0 on"},
		{spellBook, strings.Replace(spells, "last", "¦lst", 1) + ", exit: left", `did you mean "last"?`},
		{spellBook, strings.Replace(spells, "heels", "¦heals", 1) + ", exit: left", `did you mean "heels"?`},
		{spellBook, burden + ", events: ¦{table: heels, day: day}", "events have lost and until, or neither"},
		{spellBook, burden + ", events: ¦{table: heels, day: day, lost: lost, until: last}", "events have lost and until, or neither"},
		{spellBook, burden + ", events: {table: heels, day: day, lost: ¦los}", `did you mean "lost"?`},
		{spellBook, "¦" + burden + losses + ", unfinished: restricted-mean", "without a horizon"},
		{spellBook, "¦" + burden + losses + ", horizon: 5", "expected it beside unfinished: restricted-mean only"},
		{spellBook, burden + ", events: ¦{table: heels, day: day, lost: lost}, unfinished: restricted-mean, horizon: 9", "events have no finished"},
		{spellBook, burden + losses + ", by: [sex, sex, ¦sex]", "a third grouping"},
		{spellBook, burden + losses + ", by: ¦sx", `table "hours" has no variable "sx"`},
	} {
		analysis := c.analysis
		if strings.HasPrefix(analysis, "¦") {
			analysis = "¦{" + strings.TrimPrefix(analysis, "¦") + "}"
		} else {
			analysis = "{" + analysis + "}"
		}
		text, line, column := unmark(t, "title: T\ncodebook: codebook.yaml\nanalyses:\n  - "+analysis+"\n")
		_, err := Read(folder{"study.yaml": text, "codebook.yaml": c.book}.write(t))
		got := document.Faults(err)
		if len(got) != 1 || got[0].Position.Line != line || got[0].Position.Column != column || !strings.Contains(got[0].Error(), c.want) {
			t.Errorf("%s: %v, want %d:%d %q", c.analysis, err, line, column, c.want)
		}
	}
}

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
		counted   = "id: x, kind: incidence, events: {table: seasons, count: events}, at_risk: {table: seasons, amount: hours}"
		aged      = incidence + ", by: current_age, current_age: {at_zero: age, bands: [8, 10, 12]}"
		counts    = "id: x, kind: incidence, events: {table: seasons, count: events}, at_risk: {table: seasons, amount: hours}"
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
		{smallBook, "id: x, kind: association, outcome: ¦arch, exposure: pain, model: {family: logistic}", "expected a boolean, or family proportional-odds"},
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
		{heelBook, survival + ", model: {terms: [age], spline: {¦agg: {knots: 3}}}", `did you mean "age"?`},
		{heelBook, survival + ", model: {terms: [arch], spline: {¦arch: {knots: 3}}}", `spline of "arch", which has levels`},
		{heelBook, survival + ", model: {terms: [age], spline: {age: ¦{knots: 3, at: [8, 9, 10]}}}", "expected either knots or at"},
		{heelBook, survival + ", model: ¦{terms: [arch], adjusted: true}", "adjusted without by"},
		{heelBook, survival + ", by: arch, model: ¦{terms: [age], adjusted: true}", `"arch" of by is no term of the model`},
		{heelBook, survival + ", by: arch, model: ¦{terms: [arch], ties: exact, adjusted: true}", "adjusted beside exact ties"},
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
		{walkBook, incidence + ", by: sport, model: {terms: [sport], family: ¦quasi-poisson, dispersion: none}", "family quasi-poisson beside dispersion none"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], family: ¦negative-binomial, dispersion: pearson}", "beside dispersion pearson"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], family: ¦poisson, dispersion: pearson}", "beside dispersion pearson"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], family: ¦poison}", `did you mean "poisson"?`},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], family: ¦negative-binomial}", "expected episodes: all"},
		{walkBook, incidence + ", by: sport, model: ¦{terms: [sport], overdispersion_test: true}", "expected episodes: all"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], family: quasi-poisson, cluster: ¦id}", "cluster beside dispersion"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], errors: ¦CR2}", "errors CR2 without cluster"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], errors: ¦CR4, cluster: id}", "expected one of model, CR0"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], errors: ¦model, cluster: id}", "beside cluster, expected one of them"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], limits: ¦clusters}", "limits clusters without cluster"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], marginal: ¦sprt}", `did you mean "sport"?`},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], marginal: [sport, ¦sport]}", "stands twice in marginal"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], spline: {¦sport: {knots: 3}}}", "only current age can have a spline"},
		{walkBook, incidence + ", by: sport, model: ¦{terms: [sport], cut_age: 0.5}", "cut_age without a spline of current age"},
		{walkBook, aged + ", model: ¦{terms: [current_age], spline: {current_age: {knots: 3}}, cut_age: 0.001}", "expected at most 1000"},
		{walkBook, aged + ", model: {terms: [current_age], spline: {current_age: {knots: 3}}, reference: {current_age: ¦8 to <10}}", "is a number in the model"},
		{walkBook, aged + ", model: {terms: [current_age], season: {¦current_age: {period: 1}}}", "only current age can have a spline"},
		{walkBook, incidence + ", by: sport, model: {terms: [¦sport], season: {sport: {at_zero: age}}}", "is in by too"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport, week], season: {week: {at_zero: ¦aeg}}}", `did you mean "age"?`},
		{walkBook, incidence + ", by: sport, model: {terms: [sport, week], season: {week: ¦{at_zero: age, cut: 0.1}}}", "expected at most 1000"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport, week], season: {week: ¦{at_zero: age, cut: 60, pairs: 2}}}", "expected at least 8"},
		{walkBook, incidence + ", by: sport, model: {terms: [week, ¦year], season: {week: {at_zero: age}, year: {at_zero: age}}}", "a second season"},
		{weekBook, counts + ", model: {terms: [sport, week], season: {week: ¦{at_zero: 1}}}", "go with events that have days"},
		{walkBook, incidence + ", by: sport, model: {terms: [sport], season: {¦week: {at_zero: age}}}", "expected a term of the model"},
		{weekBook, counts + ", model: {terms: [sport], spline: {¦sport: {knots: 3}}}", "which has levels, expected a number"},
		{weekBook, counts + ", model: {terms: [sport, week], spline: {¦weak: {knots: 3}}}", `did you mean "week"?`},
		{weekBook, counts + ", model: {terms: [sport, week], spline: {week: ¦{reference: 3}}}", "expected either knots or at"},
		{weekBook, counts + ", model: {terms: [sport, week], spline: {week: ¦{at: [3, 2, 9]}}}", "not finite and ascending"},
		{weekBook, counts + ", model: {terms: [sport, week], spline: {week: {knots: ¦2}}}", "above 2"},
		{weekBook, counts + ", model: {terms: [sport, week], spline: {week: {knots: 3}}, season: {¦week: {period: 52}}}", "has a spline already"},
		{weekBook, counts + ", model: {terms: [sport, week], marginal: ¦week}", "which is a number, expected a term with levels"},
		{walkBook, "id: x, kind: incidence, events: ¦{table: episodes}, at_risk: {table: exposures, from: from_day, to: to_day}", "no day and no count"},
		{walkBook, "id: x, kind: incidence, events: {table: episodes, day: day}, at_risk: ¦{table: exposures, amount: hours}", "expected from and to"},
		{walkBook, "id: x, kind: incidence, events: ¦{table: episodes, count: 1, day: day}, at_risk: {table: episodes, amount: 1}", "expected count alone"},
		{walkBook, "id: x, kind: incidence, events: ¦{table: episodes, count: 1}, at_risk: {table: exposures, amount: hours}", "expected one table for counts"},
		{walkBook, incidence + ", by: sport, figure: ¦heat-map", "a heat map shows rates by two variables, and by has 1"},
		{walkBook, incidence + ", figure: ¦dots", "dots shows rates by group, and by has no variable"},
		{walkBook, incidence + ", by: sport, figure: ¦{draw: none, width: 84}", "width goes with a figure"},
		{walkBook, incidence + ", by: sport, figure: ¦curve", "no variable of by has them"},
		{walkBook, incidence + ", by: sport, figure: ¦{draw: dots, few: 3}", "few goes with a heat map, expected none beside dots"},
		{walkBook, incidence + ", by: sport, figure: ¦{draw: rates, axis: log}", "axis goes with dots, expected none beside rates"},
		{countBook, "¦id: x, kind: incidence, events: {table: seasons, count: events}, at_risk: {table: seasons, amount: hours}, episodes: all", "episodes goes with events that have days"},
		{strataBook, "¦" + counted + ", by: sport, differences: true", "differences compare with a reference level"},
		{strataBook, counted + ", by: sport, limits: ¦{ratio: log}", "nothing is compared"},
		{strataBook, counted + ", by: sport, reference: {sport: judo}, limits: ¦{difference: score}", "expected differences: true"},
		{strataBook, counted + ", tests: ¦trend", "by names no variable"},
		{strataBook, "¦" + counted + ", by: sport, tests: trend", "sport has none in the codebook, expected scores"},
		{strataBook, counted + ", by: age, scores: {¦age: {young: 1}}", "expected trend among tests"},
		{strataBook, counted + ", by: age, tests: trend, scores: {¦age: {young: 1, old: 3}}", `no score for level "middle"`},
		{strataBook, counted + ", by: age, tests: trend, scores: {age: {young: 1, middle: 2, ¦odl: 3}}", `did you mean "old"?`},
		{strataBook, counted + ", by: age, tests: trend, scores: {¦agee: {young: 1}}", `did you mean "age"?`},
		{strataBook, counted + ", by: age, stratify: ¦age", "expected a second variable in by"},
		{strataBook, counted + ", by: [age, sport], stratify: ¦agee", `did you mean "age"?`},
		{strataBook, counted + ", by: [age, sport], stratify: ¦age", `pools ratios of "sport", which has no reference level`},
		{strataBook, counted + ", standardise: {over: ¦age, to: study}", "by names no variable"},
		{strataBook, counted + ", by: [age, sport], standardise: {over: ¦hours, to: study}", `standardise over "hours" is not in by`},
		{strataBook, counted + ", by: [age, sport], standardise: ¦{over: age}", "neither to nor indirect"},
		{strataBook, counted + ", by: age, standardise: {over: age, to: ¦study}", "is the crude rate"},
		{strataBook, counted + ", by: age, standardise: {over: age, to: {group: ¦judo}}", "by has no other variable"},
		{strataBook, counted + ", by: [age, sport], standardise: {over: age, to: {group: ¦jodo}}", `did you mean "judo"?`},
		{strataBook, counted + ", by: age, standardise: {over: age, to: ¦{weights: {young: 1, old: 3}}}", `no weight for level "middle"`},
		{strataBook, counted + ", by: age, standardise: {over: age, to: ¦{weights: {young: 0, middle: 0, old: 0}}}", "all weights are 0"},
		{strataBook, counted + ", by: age, standardise: {over: age, to: {weights: {¦yuong: 1}}}", `did you mean "young"?`},
		{strataBook, counted + ", by: [age, sport], standardise: ¦{over: age, indirect: true}", "expected it under reference"},
		{strataBook, counted + ", by: [age, sport], reference: {sport: judo}, standardise: ¦{over: age, indirect: true, limits: gamma}", "no standard: expected to"},
		{smallBook, "id: x, kind: proportion, conditions: ¦arch", `condition "arch" is a text, expected a boolean`},
		{smallBook, "id: x, kind: proportion, conditions: [pain, ¦pian]", `did you mean "pain"?`},
		{smallBook, "id: x, kind: proportion, conditions: [pain, ¦pain]", `"pain" stands twice`},
		{smallBook, "id: x, kind: proportion, conditions: pain, by: ¦pain", `"pain" stands twice`},
		{smallBook, "id: x, kind: proportion, conditions: [{name: ¦age, when: pain}]", "expected another name"},
		{smallBook, "id: x, kind: proportion, conditions: [{name: a, when: ¦age}]", "expected a boolean"},
		{smallBook, "¦id: x, kind: proportion, conditions: []", "no conditions"},
		{smallBook, "id: x, kind: proportion, among: ¦age, conditions: pain", "expected a boolean"},
		{smallBook, "id: x, kind: proportion, conditions: pain, by: ¦age", "without categories"},
		{smallBook, "id: x, kind: proportion, conditions: pain, by: arch, reference: {arch: ¦norml}", `did you mean "normal"?`},
		{smallBook, "id: x, kind: proportion, conditions: pain, by: arch, limits: ¦{ratio: log}", "nothing is compared"},
		{smallBook, "id: x, kind: association, outcome: pain, exposure: age, limits: ¦{ratio: log}", "is a number and has no risks"},
		{walkBook, incidence + ", spells: {end: ¦dya, gap: 7}", `did you mean "day"?`},
		{walkBook, incidence + ", spells: {end: day, gap: 7, within: ¦sprt}", `did you mean "sport"?`},
		{walkBook, incidence + ", spells: {end: day, gap: 7, within: ¦day}", `"day" is a number without categories`},
		{walkBook, incidence + ", window: ¦{from: 3, to: 3}", "window from day 3 to day 3, expected days in order"},
		{walkBook, incidence + ", window: ¦{}", "expected from, to or both"},
		{walkBook, incidence + ", by: season, calendar: ¦{name: season, starts: [5, 5]}", "expected ascending days"},
		{walkBook, incidence + ", by: season, calendar: ¦{name: season, starts: [5], until: 3}", "expected ascending days"},
		{walkBook, incidence + ", by: season, calendar: ¦{name: season, starts: [0, 5], labels: [one]}", "1 labels for 2 bands"},
		{walkBook, incidence + ", by: season, calendar: ¦{name: season, starts: [0, 5], labels: [one, one]}", "expected a different one for each band"},
		{walkBook, incidence + ", by: season, calendar: ¦{name: season, starts: []}", "expected at least one day"},
		{walkBook, incidence + ", by: sport, calendar: ¦{name: season, starts: [0]}", "which by does not use"},
		{walkBook, incidence + ", by: [¦seeson], calendar: {name: season, starts: [0]}", `did you mean "season"?`},
		{walkBook, incidence + ", by: now, current_age: {name: now, at_zero: age, bands: [6, 8]}, calendar: {name: ¦now, starts: [0]}", `"now" is current_age already`},
		{countBook, "id: x, kind: incidence, events: {table: seasons, count: events}, at_risk: {table: seasons, amount: hours}, spells: ¦{end: 3, gap: 0}", "spells goes with events that have days"},
		{countBook, "id: x, kind: incidence, events: {table: seasons, count: events}, at_risk: {table: seasons, amount: hours}, window: ¦{from: 3}", "window goes with events that have days"},
		{countBook, "id: x, kind: incidence, events: {table: seasons, count: events}, at_risk: {table: seasons, amount: hours}, calendar: ¦{name: a, starts: [3]}", "calendar goes with events that have days"},
		{recurrenceBook, "¦" + spells, "has no at_risk and no exit"},
		{recurrenceBook, spells + ", at_risk: {table: hours, from: from_day, to: to_day}, exit: ¦left", "exit beside at_risk"},
		{recurrenceBook, spells + ", at_risk: {table: hours, from: from_day, to: to_day}, entry: ¦0", "entry beside at_risk"},
		{recurrenceBook, spells + ", exit: ¦lefft", `did you mean "left"?`},
		{recurrenceBook, spells + ", exit: left, by: ¦sexx", `did you mean "sex"?`},
		{recurrenceBook, spells + ", exit: left, by: ¦left", "without categories"},
		{recurrenceBook, spells + ", exit: left, ends: {when: ¦stoped}", `did you mean "stopped"?`},
		{recurrenceBook, spells + ", exit: left, ends: {when: ¦left}", "expected a boolean"},
		{recurrenceBook, "¦" + spells + ", exit: left, at: [5, 5]", "expected ascending times from 0 on"},
		{recurrenceBook, strings.Replace(spells, "last", "¦lst", 1) + ", exit: left", `did you mean "last"?`},
		{recurrenceBook, strings.Replace(spells, "heels", "¦heals", 1) + ", exit: left", `did you mean "heels"?`},
		{recurrenceBook, spells + ", exit: left, model: ¦{terms: []}", "a model without terms"},
		{recurrenceBook, spells + ", exit: left, model: {terms: [¦sexx]}", `did you mean "sex"?`},
		{recurrenceBook, spells + ", exit: left, model: {terms: [sex, ¦sex]}", `"sex" is in the model already`},
		{recurrenceBook, spells + ", exit: left, model: {terms: [¦id]}", "is a text without categories"},
		{recurrenceBook, spells + ", exit: left, model: {terms: [sex], reference: {¦left: \"3\"}}", `reference for "left", expected one of sex`},
		{recurrenceBook, spells + ", exit: left, model: {terms: [sex], reference: {sex: ¦mal}}", `did you mean "male"?`},
		{recurrenceBook, spells + ", exit: left, model: {terms: [sex], layout: ¦andersen}", "expected one of andersen-gill"},
		{recurrenceBook, spells + ", exit: left, model: {terms: [sex], layout: ¦andersen-gill, largest: 2}", "which has no numbers of spells"},
		{recurrenceBook, spells + ", exit: left, model: ¦{terms: [sex], largest: 2}", "which has no numbers of spells"},
		{recurrenceBook, spells + ", exit: left, model: {terms: [sex], layout: gap-time, largest: ¦0}", "expected an integer at least 1"},
		{recurrenceBook, spells + ", exit: left, model: {terms: [sex], layout: ¦marginal}", "without largest"},
		{recurrenceBook, spells + ", exit: left, model: {terms: [sex], layout: ¦marginal, largest: 2, frailty: true}", "frailty beside the layout marginal"},
		{recurrenceBook, spells + ", exit: left, model: {terms: [sex], cluster: ¦idd}", `did you mean "id"?`},
		{recurrenceBook, strings.Replace(spells, ", end: {day: last, when: back}", "", 1) + ", exit: left, states: ¦{at: [5]}", "states without the end of a spell"},
		{recurrenceBook, spells + ", exit: left, states: ¦{at: [5, 5]}", "expected ascending days from 0 on"},
		{recurrenceBook, spells + ", exit: left, states: {clock: ¦enrolment}", "expected one of onset, start"},
		{recurrenceBook, spells + ", exit: left, states: {unobserved: ¦1}", "expected a number at least 0 and below 1"},
		{recurrenceBook, spells + ", exit: left, states: {cluster: ¦idd}", `did you mean "id"?`},
		{recurrenceBook, burden + ", events: ¦{table: heels, day: day}", "events have lost and until, or neither"},
		{recurrenceBook, burden + ", events: ¦{table: heels, day: day, lost: lost, until: last}", "events have lost and until, or neither"},
		{recurrenceBook, burden + ", events: {table: heels, day: day, lost: ¦los}", `did you mean "lost"?`},
		{recurrenceBook, "¦" + burden + losses + ", unfinished: restricted-mean", "without a horizon"},
		{recurrenceBook, "¦" + burden + losses + ", horizon: 5", "expected it beside unfinished: restricted-mean only"},
		{recurrenceBook, burden + ", events: ¦{table: heels, day: day, lost: lost}, unfinished: restricted-mean, horizon: 9", "events have no finished"},
		{recurrenceBook, burden + losses + ", by: [sex, sex, ¦sex]", "a third grouping"},
		{recurrenceBook, burden + losses + ", by: ¦sx", `table "hours" has no variable "sx"`},
	} {
		refused(t, c.book, c.analysis, c.want)
	}
}

// refused wants an analysis refused at its mark, with words of the message. A
// mark at the beginning is the analysis itself.
func refused(t *testing.T, book, marked, want string) {
	t.Helper()
	analysis := "{" + marked + "}"
	if strings.HasPrefix(marked, "¦") {
		analysis = "¦{" + strings.TrimPrefix(marked, "¦") + "}"
	}
	text, line, column := unmark(t, "title: T\ncodebook: codebook.yaml\nanalyses:\n  - "+analysis+"\n")
	_, err := Read(folder{"study.yaml": text, "codebook.yaml": book}.write(t))
	got := document.Faults(err)
	if len(got) != 1 || got[0].Position.Line != line || got[0].Position.Column != column || !strings.Contains(got[0].Error(), want) {
		t.Errorf("%s: %v, want %d:%d %q", marked, err, line, column, want)
	}
}

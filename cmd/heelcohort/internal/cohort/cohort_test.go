package cohort

import (
	"slices"
	"strings"
	"testing"
)

// TestDerived works three-valued gathering out by hand. P1 has an onset of -5
// and an unknown one, P2 7 and 20 with an unknown loss at 7, P3 30, P4 40, P5
// -1.
func TestDerived(t *testing.T) {
	c := plain(`
derive:
  participants:
    - {name: ratio, value: "sitting / height"}
    - {name: any_late, any: {table: episodes, when: "onset >= 0"}}
    - {name: any_early, any: {table: episodes, when: "onset < 0"}}
    - {name: how_many, count: {table: episodes}}
    - {name: n_late, count: {table: episodes, when: "onset >= 0"}}
    - {name: lost, sum: {table: episodes, of: lost}}
    - {name: lost_late, sum: {table: episodes, of: lost, when: "onset >= 10"}}
    - {name: girl, value: "sex == 'female'"}
    - {name: twice, value: "how_many * 2"}
  episodes:
    - {name: sex, label: Sex of the child, value: "participants.sex"}
    - {name: of_many, value: "participants.how_many > 1"}
    - {name: visits_n, count: {table: visits}}
`).build(t)
	for _, want := range []struct{ table, name, values string }{
		{"participants", "ratio", "0.5 0.5 0.5 0.5 (NM)"},
		{"participants", "any_late", "(DK) true true true false"},
		{"participants", "any_early", "true false false false true"},
		{"participants", "how_many", "2 2 1 1 1"},
		{"participants", "n_late", "(DK) 2 1 1 0"},
		{"participants", "lost", "7 (DK) 6 7 2"},
		{"participants", "lost_late", "(DK) 5 6 7 0"},
		{"participants", "girl", "true false false true (NM)"},
		{"participants", "twice", "4 4 2 2 2"},
		{"episodes", "sex", "female female male male male female (NM)"},
		{"episodes", "of_many", "true true true true false false false"},
		{"episodes", "visits_n", "0 0 1 0 2 1 0"},
	} {
		if got := shown(c, want.table, want.name); got != want.values {
			t.Errorf("%s.%s is %s, want %s", want.table, want.name, got, want.values)
		}
	}
	v, _ := c.Model.find("episodes", "sex")
	if v.Label != "Sex of the child" || !slices.Equal(v.LevelLabels(), []string{"Girls", "Boys"}) || len(v.Codes) != 2 {
		t.Errorf("derived sex is %+v", v)
	}
	if v, _ := c.Model.find("participants", "girl"); v.Label != "girl" || !slices.Equal(v.LevelLabels(), []string{"no", "yes"}) {
		t.Errorf("girl is %+v", v)
	}
}

// TestPopulation follows the removal of rows through the tables.
func TestPopulation(t *testing.T) {
	c := plain(`
population:
  - {keep: consent, otherwise: no consent}
  - {table: episodes, keep: "onset >= 0", otherwise: before enrolment}
  - {keep: "age < 11", otherwise: too old}
`).build(t)
	for table, want := range map[string][]string{
		"participants": {"rows in the data 0 0 5", "no consent 1 1 3", "too old 1 1 1", "analysed 0 0 1"},
		"episodes": {
			"rows in the data 0 0 7", "linked to a removed row 2 0 5", "before enrolment 2 1 2",
			"linked to a removed row 2 0 0", "analysed 0 0 0",
		},
		"visits": {"rows in the data 0 0 5", "linked to a removed row 4 0 1", "analysed 0 0 1"},
	} {
		if got := boxes(c, table); !slices.Equal(got, want) {
			t.Errorf("flow of %s is %q, want %q", table, got, want)
		}
	}
	if got := shown(c, "visits", "day"); got != "50" {
		t.Errorf("visits left: %s; want the one that links to nothing", got)
	}
}

// TestBuildLeavesData wants the data read as they were.
func TestBuildLeavesData(t *testing.T) {
	s := plain("faults: set-missing\npopulation: [{keep: consent, otherwise: no consent}]\nderive: {participants: [{name: x, value: age}]}")
	c := s.build(t)
	if c.Data.Table("participants").Len() != 3 {
		t.Fatalf("%d participants", c.Data.Table("participants").Len())
	}
	again := s.build(t)
	if shown(c, "participants", "x") != shown(again, "participants", "x") || len(c.Flow) != len(again.Flow) {
		t.Error("a second build differs")
	}
}

// TestSetMissing sets faults missing: P1 is too young, P2 sits higher than it
// stands, "Q9" is no child's name, E4 stands twice with different days, E5
// twice the same, E6 links to nobody, E7 to what cannot be read.
func TestSetMissing(t *testing.T) {
	s := study{
		"faults: set-missing\nderive: {participants: [{name: how_many, count: {table: episodes}}, {name: any, any: {table: episodes}}]}",
		`id,consent,sex,age,height,sitting
P1,yes,female,4,140,70
P2,yes,male,11,150,155
Q9,no,male,12,150,75
P4,yes,femal,9,130,65
`,
		`episode,child,onset,lost
E1,P1,-5,3
E4,P2,7,5
E4,P2,20,5
E5,P4,30,6
E5,P4,30,6
E6,P8,40,7
E7,Q9,40,7
E8,P4,1.5,7
`, "episode,day\nE4,8\nE5,31\n",
	}
	c := s.build(t)
	for _, want := range []struct{ table, name, values string }{
		{"participants", "id", "P1 P2 P4"},
		{"participants", "age", "(fault) 11 9"},
		{"participants", "sex", "female male (fault)"},
		{"participants", "height", "140 (fault) 130"},
		{"participants", "sitting", "70 (fault) 65"},
		{"participants", "how_many", "1 (fault) 2"},
		{"participants", "any", "true (fault) true"},
		{"episodes", "episode", "E1 E5 E8"},
		{"episodes", "onset", "-5 30 (fault)"},
		{"visits", "day", "8 31"},
	} {
		if got := shown(c, want.table, want.name); got != want.values {
			t.Errorf("%s.%s is %s, want %s", want.table, want.name, got, want.values)
		}
	}
	if got := boxes(c, "episodes"); !slices.Equal(got, []string{"rows in the data 0 0 8", "set aside: faulty key 5 0 3", "analysed 0 0 3"}) {
		t.Errorf("flow of episodes is %q", got)
	}
}

// TestRefusals wants each fault at its place with the nearest word.
func TestRefusals(t *testing.T) {
	for _, c := range []struct{ name, plan, want string }{
		{"participants", "participants: partcipants", `3:15: unknown table "partcipants", expected one of participants, episodes, visits; did you mean "participants"?`},
		{"derive's table", "derive: {episods: [{name: x, value: 1}]}", `unknown table "episods", expected one of participants, episodes, visits; did you mean "episodes"?`},
		{"gathered table", "derive: {participants: [{name: x, any: {table: vists}}]}", `3:48: unknown table "vists"`},
		{"unlinked table", "derive: {participants: [{name: x, any: {table: visits}}]}", `3:48: table "visits" has no foreign key to one row of "participants"`},
		{"variable", "derive: {participants: [{name: x, value: agee + 1}]}", `3:42: `},
		{"nearest variable", "derive: {participants: [{name: x, value: agee + 1}]}", `did you mean "age"?`},
		{"later variable", "derive:\n  participants: [{name: x, value: later}, {name: later, value: age}]", `4:35: `},
		{"linked variable", "derive: {episodes: [{name: x, value: participants.agee}]}", `did you mean "participants.age"?`},
		{"two steps away", "derive: {visits: [{name: x, value: participants.age}]}", `3:36: `},
		{"taken name", "derive: {participants: [{name: age, value: 1}]}", `3:32: table "participants" already has a variable "age"`},
		{"kind of keep", "population: [{keep: age + 1, otherwise: x}]", `3:21: "age + 1" is a number, expected a boolean`},
		{"kind of when", "derive: {participants: [{name: x, any: {table: episodes, when: onset}}]}", `"onset" is a number, expected a boolean`},
		{"kind of sum", "derive: {participants: [{name: x, sum: {table: episodes, of: onset > 1}}]}", `"onset > 1" is a boolean, expected a number`},
		{"step's table", "population: [{table: episode, keep: true, otherwise: x}]", `did you mean "episodes"?`},
		{"category", "population: [{keep: \"sex == 'femal'\", otherwise: x}]", `did you mean "female"?`},
	} {
		_, err := plain(c.plan).compile(t)
		got := faults(err)
		if len(got) != 1 || !strings.Contains(got[0], c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestLevel wants levels found and refused with the nearest one.
func TestLevel(t *testing.T) {
	m, err := plain("derive: {participants: [{name: group, value: \"band(age, 6, 10, 17)\"}]}").compile(t)
	if err != nil {
		t.Fatal(err)
	}
	v, ok := m.find("participants", "group")
	if !ok || !slices.Equal(v.Levels(), []string{"6 to <10", "10 to <17"}) || !v.Ordered {
		t.Errorf("group is %+v", v)
	}
	name := m.Plan.Analyses[0].Common().ID
	name.Value = "6 to <1"
	if _, err := m.Level(v, name); err == nil || !strings.Contains(err.Error(), `did you mean "6 to <10"?`) {
		t.Errorf("unknown level: %v", err)
	}
	name.Value = "10 to <17"
	if at, err := m.Level(v, name); at != 1 || err != nil {
		t.Errorf("level %d, %v", at, err)
	}
}

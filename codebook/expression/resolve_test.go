package expression

import (
	"strings"
	"testing"

	"heelcohort/codebook/value"
)

func TestNameRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"¦agee > 3", "found agee, expected a variable of this table", "age"},
		{"limp and\n  ¦agee > 3", "found agee, expected a variable of this table", "age"},
		{"'ä' == note and ¦agee > 3", "found agee", "age"},
		{"¦site == 'S1'", "found site, expected a variable of this table; site is a variable of participants", "participants.site"},
		{"participants.¦sit == 'S1'", "found sit, expected a variable of participants", "participants.site"},
		{"participants.¦age > 3", "age is a variable of this table", "age"},
		{"¦participant.site == 'S1'", "found participant before the point, expected a linked table", "participants.site"},
		{"¦episodes.age > 3", "found episodes before the point, expected a linked table; age is a variable of this table", "age"},
		{"¦participants == 'S1'", "found the table participants, expected participants.variable", ""},
		{"participants.site.¦x", "found .x after a value, expected table.variable", ""},
		{"¦odd == 3", "found odd, whose values have no known kind", ""},
		{"¦True", "found True", "true"},
		{"limp == ¦FALSE", "found FALSE", "false"},
		{"¦NA", "is_missing(x) asks whether x is missing", ""},
		{"age == ¦null", "is_missing(x) asks whether x is missing", ""},
		{"age == ¦nil", "is_missing(x) to ask whether x is missing", ""},
	})
	_, err := Compile("visits.mode == 'phone'", child[:3])
	if e, ok := err.(*Error); !ok || !strings.Contains(e.Message, "this table links to no other") {
		t.Errorf("got %v", err)
	}
}

// A variable may have the name of a function, or after a point a reserved one.
func TestNamesLikeWords(t *testing.T) {
	scope := study{
		{"", "date", 0, value.Number, nil},
		{"", "sum", 1, value.Number, nil},
		{"", "größe_cm", 2, value.Number, nil},
		{"weeks", "matches", 3, value.Number, nil},
		{"weeks", "in", 4, value.Number, nil},
	}
	row := values{num(1), num(2), num(3), num(4), num(5)}
	for source, want := range map[string]float64{
		"date": 1, "sum(sum, date)": 3, "größe_cm + 1": 4, "weeks.matches": 4, "weeks.in * 2": 10,
	} {
		p, err := Compile(source, scope)
		if err != nil {
			t.Errorf("%s: %v", source, err)
			continue
		}
		if got := p.Eval(row); got != num(want) {
			t.Errorf("%s: got %+v, want %v", source, got, want)
		}
	}
}

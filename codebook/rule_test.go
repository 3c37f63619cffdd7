package codebook

import (
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"heelcohort/codebook/document"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

func TestDecodeKinds(t *testing.T) {
	p := decodeFile(t, "testdata/good/kinds.yaml")
	text := func(s string) document.String { return document.String{Value: s} }
	own := func(name string, k value.Kind) expression.Variable { return expression.Variable{Name: name, Kind: k} }
	last := expression.Variable{Table: "children", Name: "last", Kind: value.Number}
	from, to := own("from", value.Number), own("to", value.Number)
	children := []Rule{
		{Kind: KindTotal, Name: "posture total", Total: &Total{Of: "fpi_total", Parts: []string{"fpi_1", "fpi_2"}}},
		{
			Kind: KindTotal, Name: "posture total, any", Where: text("born > date('2000-01-01')"),
			Message: "The total differs from its items.", Severity: "warning", Fields: []string{"fpi_total"},
			Total: &Total{Of: "fpi_total", Parts: []string{"fpi_1", "fpi_2"}, Tolerance: 0.5, SkipMissing: true},
		},
		{Kind: KindTotal, Name: "weeks", Total: &Total{Of: "weeks_n", How: "count", Table: "weeks", When: text("hours > 0")}},
		{Kind: KindTotal, Name: "sports", Total: &Total{Of: "sports_n", How: "distinct", Table: "weeks", What: text("sport")}},
		{Kind: KindTotal, Name: "hours", Total: &Total{Of: "hours", How: "sum", Table: "weeks", What: text("hours * 1"), When: text("sport == 'football'")}},
	}
	born := expression.Variable{Table: "children", Name: "born", Kind: value.Date}
	enrolled := expression.Variable{Table: "children", Name: "enrolled", Kind: value.Date}
	weeks := []Rule{
		{Kind: KindUnique, Name: "one row a week", Unique: []string{"child", "sport", "from"}},
		{Kind: KindNoOverlap, Name: "no overlap", NoOverlap: &NoOverlap{From: "from", To: "to", Within: []string{"child", "sport"}, StillRunning: of("")}},
		{Kind: KindNoOverlap, Name: "no overlap in all", NoOverlap: &NoOverlap{From: "from", To: "ended", Closed: true, StillRunning: of("ongoing")}},
		{Kind: KindOrder, Name: "order", Order: &Order{Of: []expression.Variable{from, to, last}, Strict: true}},
		{Kind: KindOrder, Name: "born, enrolled, seen", Order: &Order{Of: []expression.Variable{born, enrolled, own("seen", value.Date)}}},
		{Kind: KindWithin, Name: "follow-up", Within: &Within{Days: []expression.Variable{from}, From: &Limit{Value: value.Num(0)}, To: &Limit{Variable: &last}}},
		{Kind: KindWithin, Name: "several days", Within: &Within{Days: []expression.Variable{from, to}, To: &Limit{Value: value.Num(1460)}}},
		// 2021-09-01 is 51 years and 13 leap days and 243 days after 1970-01-01.
		{Kind: KindWithin, Name: "dates", Within: &Within{Days: []expression.Variable{own("seen", value.Date)}, From: &Limit{Value: value.Day(51*365 + 13 + 243)}, To: &Limit{Value: value.Day(55*365 + 14 + 180)}}},
		{Kind: KindGroup, Name: "hours a week", By: []string{"child", "from"}, Check: text("sum(hours) <= 168")},
	}
	for table, want := range map[string][]Rule{"children": children, "weeks": weeks} {
		for i := range want {
			if want[i].Severity == "" {
				want[i].Severity = "error"
			}
		}
		got := p.Resource(table).Schema.Rules
		if diff := cmp.Diff(want, got, exported, cmpopts.IgnoreFields(expression.Variable{}, "Slot", "Words")); diff != "" {
			t.Errorf("%s (-want +got)\n%s", table, diff)
		}
	}
}

// One and the same text is a value in one variable and a missing code in
// another: foot posture has a total of -9, and a day may be the 999th.
func TestCodesOfOneVariableAreValuesOfAnother(t *testing.T) {
	p, err := Decode("codebook.yaml", []byte(withFields(`
- {name: fpi_total, type: integer, constraints: {minimum: -12, maximum: 12}, missingValues: ["NM"]}
- {name: navicular_drop, type: number, constraints: {minimum: -3, maximum: 25}, missingValues: ["-9"]}
- {name: day, type: integer, constraints: {minimum: 0, maximum: 1460}, missingValues: ["NM"]}
- {name: height, type: number, constraints: {minimum: 95, maximum: 200}, missingValues: ["999"]}
- {name: vas, type: integer, constraints: {minimum: 0, maximum: 100}, missingValues: ["-99"]}
- {name: nrs, type: integer, constraints: {minimum: 0, maximum: 10}, missingValues: ["99"]}`)))
	if err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		field, cell string
		want        value.Value
	}{
		{"fpi_total", "-9", value.Num(-9)},
		{"navicular_drop", "-9", value.None(value.Number, "-9")},
		{"day", "999", value.Num(999)},
		{"height", "999", value.None(value.Number, "999")},
		{"vas", "99", value.Num(99)},
		{"nrs", "99", value.None(value.Number, "99")},
	} {
		got, fault := p.Resources[0].Schema.Field(test.field).Parse(test.cell)
		if fault != nil || got != test.want {
			t.Errorf("%s %s: got %+v, %+v, want %+v", test.field, test.cell, got, fault, test.want)
		}
	}
	// In a check, each knows its own codes.
	r := p.Resources[0]
	for source, ok := range map[string]bool{
		"missing_code(navicular_drop) == '-9'": true, "missing_code(fpi_total) == '-9'": false,
		"missing_code(height) == '999'": true, "missing_code(day) == '999'": false,
	} {
		if _, err := expression.Compile(source, p.Scope(r)); (err == nil) != ok {
			t.Errorf("%s: error %v", source, err)
		}
	}
}

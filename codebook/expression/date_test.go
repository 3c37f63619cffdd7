package expression

import (
	"testing"

	"heelcohort/codebook/value"
)

func TestDates(t *testing.T) {
	undefined := none(value.Date, value.CodeUndefined)
	checkResults(t, []result{
		{"date('1970-01-01')", value.Day(0)},
		{"date('1969-12-31')", value.Day(-1)},
		{"date('2024-05-01')", value.Day(19844)}, // 54 years with 14 leap days, then 31+29+31+30 days
		{"seen == date('2024-05-01')", yes()},
		{"seen < date('2024-05-02')", yes()},
		{"seen - date('2024-02-28')", num(63)}, // 1 + 1 + 30 + 30 + 1 days over the leap day
		{"date('2024-03-01') - date('2024-02-28')", num(2)},
		{"date('2023-03-01') - date('2023-02-28')", num(1)},
		{"difference(seen, date('2024-04-30'))", num(1)},
		{"seen + 7", value.Day(19851)},
		{"7 + seen", value.Day(19851)},
		{"seen - 7", value.Day(19837)},
		{"seen + 0.5", undefined},
		{"seen + 1e9", undefined},
		{"seen - 1e9", undefined},
		{"born - seen", none(value.Number, "")},
		{"seen > born", none(value.Bool, "")},
		{"born + 1", none(value.Date, "")},
		{"min(seen, date('2024-04-30'))", value.Day(19843)},
		{"max(seen, date('2024-04-30'))", value.Day(19844)},
		{"coalesce(born, seen)", value.Day(19844)},
		{"between(seen, date('2024-05-01'), date('2024-06-01'))", yes()},
		{"seen in [date('2024-05-01'), date('2024-05-02')]", yes()},
		{"swelling ? born : seen", value.Day(19844)},
		{"date('0001-01-01') - 1", undefined},
		{"date('9999-12-31') + 1", undefined},
	})
	p, err := Compile("seen + 31", child)
	if err != nil {
		t.Fatal(err)
	}
	if got := p.Eval(childRow).String(); got != "2024-06-01" {
		t.Errorf("seen + 31: got %s, want 2024-06-01", got)
	}
}

func TestDateRefusals(t *testing.T) {
	checkRefusals(t, []refusal{
		{"seen ¦== '2024-05-01'", `write a date as date("2024-05-01")`, ""},
		{"'2024-05-01' ¦< seen", `write a date as date("2024-05-01")`, ""},
		{"seen ¦== 5", "expected the same kind on both sides", ""},
		{"seen == date(¦'2024-02-30')", `found "2024-02-30" in date, expected a day of the calendar`, ""},
		{"date(¦'1.5.2024')", "as year-month-day", ""},
		{"date(¦'0000-01-01')", "expected a day of the calendar", ""},
		{"date(¦20240501)", "expected a text in quotes", ""},
		{"date(¦note)", "expected a text in quotes", ""},
		{"¦date()", "found date with 0 arguments, expected date(", ""},
		{"difference(seen, ¦'2024-05-01')", `expected a date; write a date as date("2024-05-01")`, ""},
		{"sum(¦seen, 1)", "expected a number", ""},
		{"sum(¦seen, seen)", "expected a number", ""},
	})
}

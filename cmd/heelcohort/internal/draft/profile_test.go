package draft

import (
	"fmt"
	"strings"
	"testing"

	"heelcohort/dataset"
)

// A column is guessed as its type with its marks; in what is told, the words
// that must be there.
func TestType(t *testing.T) {
	day := dataset.GridCell{Text: "45292", Stored: dataset.StoredNumber, Shown: dataset.ShownDate, Day: "2024-01-01"}
	noon := dataset.GridCell{Text: "45292.5", Stored: dataset.StoredNumber, Shown: dataset.ShownDate}
	truth := dataset.GridCell{Text: "TRUE", Stored: dataset.StoredBoolean}
	formula := dataset.GridCell{Text: "=A1", Stored: dataset.StoredFormula}
	for _, c := range []struct {
		name  string
		cells []dataset.GridCell
		want  string // type, format, decimal, group, loose
		tells string // of reasons and notes
	}{
		{"integers", cellsOf("1", "2", "-3", ""), "integer", "integer in all 3 cells"},
		{"numbers", cellsOf("1.5", "2", "3e2"), "number", "number in all 3 cells"},
		{"nine in ten", cellsOf("1", "2", "3", "4", "5", "6", "7", "8", "9", "ca. 12"), "integer", "integer in 9 of 10 cells"},
		{"eight in ten", cellsOf("1", "2", "3", "4", "5", "6", "7", "8", "ca. 9", "ca. 10"), "string", "no other type reads nine in ten of 10 cells"},
		{"one fraction", cellsOf("1", "2", "3", "4", "5", "6", "7", "8", "9", "1.5"), "number", "number in all 10 cells"},
		{"stored numbers", stored("1", "2.5"), "number", ""},
		{"decimal comma", cellsOf("1,5", "12,25", "3"), "number dec=,", "a decimal comma"},
		{"groups", cellsOf("1,234.5", "12"), "number group=,", "commas between thousands"},
		{"European groups", cellsOf("1.234,5", "12"), "number dec=, group=.", "a decimal comma with points between thousands"},
		{"spaces between thousands", cellsOf("1 234", "12 345"), "integer group= ", "spaces between thousands"},
		{"comma before three digits", cellsOf("1,234", "2,500"), "string", "the marks can be read in two ways: a decimal comma, or a decimal point with commas between thousands"},
		{"point before three digits", cellsOf("1.234", "2.500"), "string", "the marks can be read in two ways: a decimal point, or a decimal comma with points"},
		{"point before three digits once", cellsOf("1.234", "2.5"), "number", ""},
		{"zero point three digits", cellsOf("0.234", "0.512"), "number", ""},
		{"both marks", append(times(5, cellsOf("1,5")...), times(5, cellsOf("1.5")...)...), "string", "5 cells have a decimal point and 5 cells a decimal comma"},
		{"percent", cellsOf("45 %", "5%", "100 %"), "integer loose", `"%" stands behind numbers`},
		{"unit", cellsOf("120 cm", "131.5 cm", "140"), "number loose", `"cm" stands behind numbers`},
		{"two units", cellsOf("120 cm", "1310 mm"), "string", "different units stand behind them: cm mm"},
		{"codes of sites", cellsOf("S1", "S2", "S3"), "string", ""},
		{"leading zeros", cellsOf("007", "012", "120"), "string", "begin with zeros"},
		{"sixteen digits", cellsOf("1234567890123456", "1234567890123457"), "string", "more digits than a number keeps"},
		{"days", cellsOf("2024-03-31", "2024-01-02"), "date", "date in all 2 cells"},
		{"day first", cellsOf("31/03/2024", "02/03/2024"), "date %d/%m/%Y", "day before month, as 1 cell has a number above 12 as the first number; 1 cell could be read both ways"},
		{"month first", cellsOf("03.31.2024", "02.03.2024", "3.3.2024"), "date %m.%d.%Y", "month before day, as 1 cell has a number above 12 as the second number; 1 cell could"},
		{"either first", cellsOf("02/03/2024", "04/05/2024"), "string", "order no cell decides: day before month (%d/%m/%Y) or month before day (%m/%d/%Y)"},
		{"both orders", cellsOf("31/03/2024", "03/31/2024", "02/03/2024"), "string", "dates in both orders"},
		{"same day and month", cellsOf("03/03/2024", "04/04/2024"), "string", "order no cell decides"},
		{"named months", cellsOf("2 Mar 2024", "14 May 2023"), "date %d %b %Y", ""},
		{"days of a workbook", []dataset.GridCell{day, day}, "date", ""},
		{"days of a workbook and texts", []dataset.GridCell{day, {Text: "31.03.2024"}}, "date %d.%m.%Y", ""},
		{"times of a workbook", times(3, noon), "string", "3 cells look like days with a time of day"},
		{"short years", cellsOf("02/03/24", "04/05/24"), "string", "2 cells look like dates whose year has two digits"},
		{"times", cellsOf("2024-03-31 10:20", "2024-03-31T11:00:00"), "string", "2 cells look like days with a time of day"},
		{"eight digits", cellsOf("20240331", "20240401"), "string", "eight digits that are also days"},
		{"eight digits that are no days", cellsOf("20241331", "20240499"), "integer", ""},
		{"booleans", times(2, truth), "boolean", "boolean in all 2 cells"},
		{"words of booleans", cellsOf("true", "FALSE"), "boolean", ""},
		{"yes and no", cellsOf("yes", "no", "No"), "boolean yes/No,no", ""},
		{"yes alone", cellsOf("yes", "yes"), "string", ""},
		{"0 and 1", cellsOf("0", "1", "1"), "integer", "0 and 1 alone"},
		{"formulas", append(times(9, stored("1")...), formula), "integer", "integer in 9 of 10 cells"},
		{"nothing", cellsOf("", " "), "string", "no cell has a value"},
		{"codes alone", cellsOf("NA", "NA"), "string", "no cell has a value"},
	} {
		g := guessOf("x", c.cells...)
		if got := typeText(g); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		if told := fmt.Sprint(g.why, g.notes); !strings.Contains(told, c.tells) {
			t.Errorf("%s tells %s, want %q", c.name, told, c.tells)
		}
		if g.typ == "string" && g.categories != nil {
			t.Errorf("%s has categories %q", c.name, g.categories)
		}
	}
}

// typeText writes what a codebook would say of a guess.
func typeText(g guess) string {
	text := g.typ
	if g.format != "" {
		text += " " + g.format
	}
	if g.decimal != "" {
		text += " dec=" + g.decimal
	}
	if g.groupMark != "" {
		text += " group=" + g.groupMark
	}
	if g.loose {
		text += " loose"
	}
	if g.trues != nil {
		text += " " + strings.Join(g.trues, ",") + "/" + strings.Join(g.falses, ",")
	}
	return text
}

func TestMissingCodes(t *testing.T) {
	tens := cellsOf("0", "1", "2", "3", "4", "5", "6", "7", "8", "9", "10")
	for _, c := range []struct {
		name  string
		cells []dataset.GridCell
		want  string
	}{
		{"words among numbers", append(cellsOf("NA", "n/a", "-", "?", "NM", "NM"), tens...), "-:1 ?:1 NA:1 NM:2 n/a:1"},
		{"a word again and again", append(cellsOf("lost", "lost", "lost"), tens...), "lost:3"},
		{"a word once is a fault", append(cellsOf("lost"), tens...), ""},
		{"not words", append(cellsOf(">10", ">10", ">10"), tens...), ""},
		{"99 far from ten", append(cellsOf("99"), tens...), "99:1"},
		{"9 among ten", tens, ""},
		{"9 beside five", cellsOf("1", "2", "3", "4", "5", "5", "9", "9"), ""}, // 4 away, range 4
		{"9 beside two", cellsOf("-2", "-1", "0", "1", "2", "2", "9", "9"), "9:2"},
		{"-9 where none is below zero", append(cellsOf("-9", "-9"), tens...), "-9:2"},
		{"-9 where others are", append(cellsOf("-9", "-12"), tens...), ""},
		{"-1 beside zero", append(cellsOf("-1"), tens...), ""},
		{"88 and 99", append(cellsOf("88", "99"), tens...), "88:1 99:1"},
		{"99 among hundreds", append(cellsOf("99", "85", "120"), tens...), ""},
		{"999 of heights", cellsOf("120.5", "130", "141", "150.2", "135", "999", "999"), "999:2"},
		{"too few to suspect", cellsOf("1", "2", "3", "99"), ""},
		{"of texts", append(times(3, cellsOf("left", "right")...), cellsOf("unknown", "NA")...), "NA:1 unknown:1"},
		{"of days", append(times(3, cellsOf("2024-01-31", "2024-02-28")...), cellsOf("NA")...), "NA:1"},
	} {
		g := guessOf("x", c.cells...)
		var got []string
		for _, m := range g.missing {
			got = append(got, fmt.Sprintf("%s:%d", m.text, m.count))
		}
		if text := strings.Join(got, " "); text != c.want {
			t.Errorf("%s: %q, want %q", c.name, text, c.want)
		}
		if (c.want != "") != strings.HasPrefix(g.reason("missingValues"), "suspected: ") {
			t.Errorf("%s: the reason is %q", c.name, g.reason("missingValues"))
		}
	}
}

// A percentage of a workbook is not guessed to be 45 or 0.45.
func TestPercentShown(t *testing.T) {
	shown := dataset.GridCell{Text: "0.45", Stored: dataset.StoredNumber, Shown: dataset.ShownPercent}
	g := guessOf("Adherence (%)", shown, shown)
	if g.typ != "number" || g.unit != "" || !strings.Contains(fmt.Sprint(g.notes), "2 cells show a percentage, as 45% for a stored 0.45; which of the two is meant is not chosen") {
		t.Errorf("%+v", g)
	}
	if g := guessOf("Adherence (%)", stored("45")...); g.unit != "%" {
		t.Errorf("unit %q", g.unit)
	}
}

// Words are listed only where each stands in three cells and more and the title
// does not speak of a person or a place.
func TestCategories(t *testing.T) {
	sides := times(5, cellsOf("right", "left")...)
	for _, c := range []struct {
		name, title string
		cells       []dataset.GridCell
		want        string
		tells       string
	}{
		{"sides", "side", sides, "left right", "2 texts, each in at least 3 cells"},
		{"a slip", "side", append(cellsOf("lefft"), sides...), "left right", "1 cell hold other texts"},
		{"in order of numbers", "site", times(3, cellsOf("R10", "R9", "R1")...), "R1 R9 R10", ""},
		{"twice is too few", "side", times(2, cellsOf("right", "left")...), "", ""},
		{"many slips", "side", append(cellsOf("lefft", "rigth"), sides...), "", ""},
		{"of a person", "Child's first name", sides, "", ""},
		{"of a place", "School", sides, "", ""},
		{"of identifiers", "code", times(5, cellsOf("SM-0001", "SM-0002")...), "", ""},
		{"of sentences", "answer", times(5, cellsOf("he ran too much", "she jumped a lot")...), "", ""},
		{"of blanks", "side", times(5, cellsOf("left ", "right")...), "", ""},
	} {
		g := guessOf(c.title, c.cells...)
		if got := strings.Join(g.categories, " "); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		if told := fmt.Sprint(g.why, g.notes); !strings.Contains(told, c.tells) {
			t.Errorf("%s tells %s, want %q", c.name, told, c.tells)
		}
	}
}

func TestRole(t *testing.T) {
	for _, c := range []struct {
		title string
		cells []dataset.GridCell
		want  string
	}{
		{"participant_id", cellsOf("a", "b"), identifierRole},
		{"ParticipantID", cellsOf("1", "2"), identifierRole},
		{"Name of child", cellsOf("a", "b"), identifierRole},
		{"code", cellsOf("SM-0001", "SM-0002"), identifierRole},
		{"season", cellsOf("2021/22", "2022/23"), quasiRole},
		{"Date of birth", cellsOf("2012-01-13", "2012-01-14"), quasiRole},
		{"Age (years)", cellsOf("9", "10"), quasiRole},
		{"Comments", cellsOf("x", "y"), freeTextRole},
		{"answer", cellsOf("it hurts when running", "no"), freeTextRole},
		{"height_cm", cellsOf("120", "130"), ""},
		{"patient height", cellsOf("120", "130"), ""},
	} {
		if g := guessOf(c.title, c.cells...); g.role != c.want {
			t.Errorf("%s: role %q, want %q", c.title, g.role, c.want)
		}
	}
}

// Fewer than twenty values, identifiers and days of birth have no range; other
// days have their years.
func TestExtremes(t *testing.T) {
	var ages, days []dataset.GridCell
	for i := range 20 {
		ages = append(ages, cellsOf(fmt.Sprint(7+i%5))...)
		days = append(days, cellsOf(fmt.Sprintf("20%d-01-%02d", 21+i%2, i+1))...)
	}
	for _, c := range []struct {
		title string
		cells []dataset.GridCell
		want  string
	}{
		{"age", ages, "7 11"},
		{"age", ages[1:], " "},
		{"patient id", ages, " "},
		{"visit", days, "2021 2022"},
		{"birth", days, " "},
		{"x", append(cellsOf("999"), ages...), "7 11"},
	} {
		if g := guessOf(c.title, c.cells...); g.low+" "+g.high != c.want {
			t.Errorf("%s: %q to %q, want %q", c.title, g.low, g.high, c.want)
		}
	}
}

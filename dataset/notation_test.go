package dataset

import (
	"context"
	"fmt"
	"io"
	"math/big"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A madeSource gives rows that a test made.
type madeSource struct {
	rows  []rawRow
	at    int
	areas []area
}

func (s *madeSource) next() (rawRow, error) {
	if s.at == len(s.rows) {
		return rawRow{}, io.EOF
	}
	s.at++
	return s.rows[s.at-1], nil
}

func (s *madeSource) done() (n, total int64)       { return int64(s.at), int64(len(s.rows)) }
func (s *madeSource) merged() []area               { return s.areas }
func (s *madeSource) mergedAhead() ([]area, error) { return s.areas, nil }
func (s *madeSource) close() error                 { return nil }

// cells are rows of cells below each other, from row 1.
func cells(rows ...[]rawCell) *madeSource {
	s := &madeSource{}
	for i, row := range rows {
		s.rows = append(s.rows, rawRow{number: i + 1, cells: row})
	}
	return s
}

func words(texts ...string) []rawCell {
	var out []rawCell
	for _, t := range texts {
		out = append(out, rawCell{text: t})
	}
	return out
}

func num(text string, format ...cellFormat) rawCell {
	c := rawCell{text: text, sort: numberCell}
	if len(format) > 0 {
		c.format = format[0]
	}
	return c
}

// fieldBook is a codebook of one table, "t", with the given fields and
// properties of the table, one a line.
func fieldBook(fields string, properties ...string) string {
	yaml := "name: notation\nresources:\n  - name: t\n    path: t.xlsx\n"
	for _, p := range properties {
		yaml += "    " + p + "\n"
	}
	yaml += "    schema:\n      fields:\n"
	for _, line := range strings.Split(strings.TrimSpace(fields), "\n") {
		yaml += "        - " + strings.TrimSpace(line) + "\n"
	}
	return yaml
}

// readMade reads rows as the sheet "t" of a workbook.
func readMade(t testing.TB, yaml string, s rowSource, date1904 bool) (*Table, []Finding, error) {
	t.Helper()
	r := decode(t, yaml).Resources[0]
	return readTable(context.Background(), s, Origin{File: "t.xlsx", Sheet: "t"}, r, date1904, &progress{})
}

// TestCellMeaning reads one cell into one field. 45382 is 2024-03-31 and
// 43920 the same day counted from 1904.
func TestCellMeaning(t *testing.T) {
	const (
		number  = `{name: a, type: number}`
		open    = `{name: a, type: string}`
		date    = `{name: a, type: date}`
		stamp   = `{name: a, type: datetime}`
		digits  = `{name: a, type: date, format: "%Y%m%d"}`
		german  = `{name: a, type: date, format: "%d%m%Y"}`
		stored  = `{name: a, type: number, heelcohort: {percent: stored}}`
		shown   = `{name: a, type: number, constraints: {maximum: 100}, heelcohort: {percent: shown}}`
		boolean = `{name: a, type: boolean, trueValues: ["ja"], falseValues: ["nein"]}`
		coded   = `{name: a, type: integer, categories: [1, 2]}`
	)
	iso := func(text string) rawCell { return rawCell{text: text, sort: isoDateCell} }
	for _, c := range []struct {
		field string
		cell  rawCell
		want  string // the value, or ! and the rule
		words string // of the message
	}{
		// Numbers shown as something else.
		{number, num("45"), "45", ""},
		{number, num("45382", dateFormat), "!date cell", "the sheet shows the day 2024-03-31 and stores 45382, expected a number"},
		{number, num("0.0625", dateFormat), "!date cell", "shows a date or a time and stores 0.0625"},
		{number, num("0.45", percentFormat), "!percent cell", "the sheet stores 0.45 (shown as 45 %), expected a number; heelcohort.percent of the variable says"},
		{number, num("7", paddedFormat), "7", ""},
		{stored, num("0.45", percentFormat), "0.45", ""},
		{stored, num("0.45"), "0.45", ""},
		{stored, rawCell{text: "45 %"}, "0.45", ""},
		{shown, num("0.45", percentFormat), "45", ""},
		{shown, num("0.07", percentFormat), "7", ""}, // 0.07 * 100 is 7.000000000000001
		{shown, num("0.57", percentFormat), "57", ""},
		{shown, num("1e-05", percentFormat), "0.001", ""},
		{shown, num("45"), "45", ""},
		{shown, rawCell{text: "45%"}, "45", ""},
		{shown, num("45", percentFormat), "!maximum", `found "45" (shown as 4500 %), expected`},
		{`{name: a, type: number, decimalChar: ",", heelcohort: {percent: shown}}`, num("0.125", percentFormat), "12.5", ""},
		{`{name: a, type: integer, heelcohort: {percent: shown}}`, num("0.45", percentFormat), "45", ""},
		{`{name: a, type: number, missingValues: ["999"], heelcohort: {percent: shown}}`, num("9.99", percentFormat), "[999]", ""},
		{`{name: a, type: number, missingValues: ["999"]}`, num("999", dateFormat), "!date cell", ""},
		// In place of texts.
		{open, num("7"), "7", ""},
		{open, num("7", paddedFormat), "!padded number", "shows zeros before the number 7 that are not stored"},
		{open, num("45355", dateFormat), "!date cell", "the sheet shows the day 2024-03-04 and stores 45355, expected a text; spreadsheet programs turn entries such as 3-4 into days"},
		{open, iso("2024-03-04"), "!date cell", "shows the day and stores 2024-03-04"},
		{open, num("0.5", percentFormat), "!percent cell", "(shown as 50 %), expected a text; type the entry anew"},
		{open, num("999999999999999"), "999999999999999", ""},
		{open, num("1234567890123460"), "!long number", "more than the 15 digits that a sheet keeps"},
		{open, num("1e+21"), "!long number", ""},
		{open, rawCell{text: "1234567890123456"}, "1234567890123456", ""},
		{open, rawCell{text: "TRUE", sort: booleanCell}, "TRUE", ""},
		{`{name: a, type: string, categories: ["01", "1"]}`, num("1", paddedFormat), "!padded number", "expected one of 01, 1"},
		{`{name: a, type: string, categories: ["3-4", "5-6"]}`, num("45355", dateFormat), "!date cell", "expected one of 3-4, 5-6"},
		{coded, num("1", paddedFormat), "1", ""},
		{coded, num("1", dateFormat), "!date cell", ""},
		{coded, num("1", percentFormat), "!percent cell", ""},
		{open, rawCell{text: " SM-0001\u00a0"}, "SM-0001", ""},
		// Errors that a text file took along.
		{number, rawCell{text: "#DIV/0!"}, "!error cell", "a: the cell shows the error #DIV/0!"},
		{open, rawCell{text: "#N/A "}, "!error cell", "the cell shows the error"},
		{open, rawCell{text: "#N/A?"}, "#N/A?", ""},
		{`{name: a, type: string, missingValues: ["#N/A"]}`, rawCell{text: "#N/A"}, "[#N/A]", ""},
		{`{name: a, type: string, constraints: {enum: ["#N/A", x]}}`, rawCell{text: "#N/A"}, "#N/A", ""},
		{`{name: a, type: string, categories: [x]}`, rawCell{text: "#N/A"}, "!error cell", ""},
		// Days.
		{date, num("45382"), "2024-03-31", ""},
		{date, num("45382", dateFormat), "2024-03-31", ""},
		{date, num("45382", paddedFormat), "2024-03-31", ""},
		{date, num("45382.0000000001", dateFormat), "2024-03-31", ""},
		{date, num("45382.5", dateFormat), "!date", "expected a date without a time of day; the type datetime allows it"},
		{date, num("0.45", percentFormat), "!percent cell", ""},
		{date, num("60", dateFormat), "!date", "on or after 1900-03-01"},
		{date, num("99999"), "2173-10-13", ""},
		{date, num("240331"), "!date", "a number above 99999 may be the digits of a date unless the sheet shows it as a date"},
		{date, num("1032024"), "!date", "may be the digits of a date"},
		{date, num("2958465", dateFormat), "9999-12-31", ""},
		{date, num("20240331"), "!type", "written as %Y%m%d where the codebook declares default (%Y-%m-%d)"},
		{date, num("31032024"), "!type", "written as %d%m%Y where"},
		{date, rawCell{text: "45382"}, "!type", "looks like the day number of a spreadsheet"},
		{date, iso("2024-03-31T00:00:00Z"), "2024-03-31", ""},
		{date, iso("2024-03-31T13:45:00"), "!type", "the time of day 13:45:00 has no place in a date"},
		{`{name: a, type: date, format: "%d.%m.%Y"}`, num("45382"), "2024-03-31", ""},
		{`{name: a, type: date, format: "%d.%m.%Y"}`, iso("2024-03-31"), "2024-03-31", ""},
		{`{name: a, type: date, format: "%d.%m.%Y"}`, rawCell{text: "2024-03-31"}, "!type", "expected a date such as 31.03.2024; written as %Y-%m-%d where the codebook declares %d.%m.%Y"},
		{`{name: a, type: date, missingValues: ["999"]}`, num("999", dateFormat), "[999]", ""},
		// Days whose format is digits alone.
		{digits, num("20240331"), "2024-03-31", ""},
		{digits, rawCell{text: "20240331"}, "2024-03-31", ""},
		{digits, num("20240231"), "!type", ""},
		{digits, num("45382"), "!date", "a number that is not shown as a date is read by this format"},
		{digits, num("45382", dateFormat), "2024-03-31", ""},
		{digits, num("20240331", dateFormat), "2024-03-31", ""}, // too long to be a day number
		{german, num("31032024"), "2024-03-31", ""},
		{german, num("1032024"), "!date", "a zero before the number may be lost"}, // or 10.3.2024
		{german, num("1032024", paddedFormat), "2024-03-01", ""},
		{`{name: a, type: datetime, format: "%Y%m%d%H%M"}`, num("202403311345"), "2024-03-31", ""},
		// Days with a time of day.
		{stamp, num("45382.573", dateFormat), "2024-03-31", ""},
		{stamp, num("45382", dateFormat), "2024-03-31", ""},
		{stamp, num("45382.999999999", dateFormat), "2024-04-01", ""}, // midnight to the millisecond
		{stamp, num("45382.99998", dateFormat), "2024-03-31", ""},
		{stamp, num("0.573", dateFormat), "!date", "on or after 1900-03-01"},
		{stamp, iso("2024-03-31T13:45:00"), "2024-03-31", ""},
		{stamp, rawCell{text: "2024-03-31T13:45:00"}, "2024-03-31", ""},
		{`{name: a, type: datetime, format: "%d.%m.%Y %H:%M"}`, num("45382.573", dateFormat), "2024-03-31", ""},
		// Booleans.
		{boolean, rawCell{text: "FALSE", sort: booleanCell}, "false", ""},
		{boolean, rawCell{text: "'ja"}, "true", ""},
		{boolean, num("1"), "!type", "expected one of ja, nein"},
		{`{name: a, type: boolean}`, num("1"), "true", ""},
		{`{name: a, type: boolean}`, num("0"), "false", ""},
		{`{name: a, type: boolean}`, num("2"), "!type", ""},
		{`{name: a, type: boolean}`, num("1", dateFormat), "!date cell", ""},
		// Numbers as texts.
		{`{name: a, type: integer}`, num("12"), "12", ""},
		{`{name: a, type: integer}`, rawCell{text: "12.0"}, "!type", "written without decimals it is 12"},
		{number, rawCell{text: "12,5"}, "!type", `to read such marks the codebook declares decimalChar ","`},
		{`{name: a, type: number, groupChar: " "}`, rawCell{text: "\u22121\u202f234.5"}, "-1234.5", ""},
	} {
		table, found, err := readMade(t, fieldBook(c.field), cells(words("a"), []rawCell{c.cell}), false)
		name := fmt.Sprintf("%s with %+v", c.field, c.cell)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		got, message := values(table.Columns[0]), ""
		if len(found) > 0 {
			got, message = got+found[0].Rule, found[0].Message
		}
		if len(found) > 1 || got != c.want || !strings.Contains(message, c.words) {
			t.Errorf("%s gives %s: %s\nwant %s: %s", name, got, message, c.want, c.words)
		}
		if len(found) > 0 && (found[0].Severity != Error || found[0].Found != c.cell.text || found[0].Where.Cell() != "A2") {
			t.Errorf("%s: finding %+v", name, found[0])
		}
		if table.Columns[0].Source(0) != c.cell.text {
			t.Errorf("%s: source %q", name, table.Columns[0].Source(0))
		}
	}
	table, found, err := readMade(t, fieldBook(stamp), cells(words("a"), []rawCell{num("43920.5", dateFormat)}), true)
	if err != nil || len(found) > 0 || values(table.Columns[0]) != "2024-03-31" {
		t.Errorf("1904 system: %v, %v, %v", values(table.Columns[0]), found, err)
	}
}

// TestPercentExact wants what a percentage shows, for any number with few
// digits, to be the nearest number to the exact hundredfold.
func TestPercentExact(t *testing.T) {
	shown := fieldBook(`{name: a, type: number, heelcohort: {percent: shown}}`)
	rapid.Check(t, func(rt *rapid.T) {
		text := rapid.StringMatching(`-?(0|[1-9][0-9]{0,5})(\.[0-9]{0,8}[1-9])?`).Draw(rt, "number")
		exact, ok := new(big.Rat).SetString(text)
		if !ok {
			rt.Fatal(text)
		}
		want, _ := exact.Mul(exact, big.NewRat(100, 1)).Float64()
		table, found, err := readMade(t, shown, cells(words("a"), []rawCell{num(text, percentFormat)}), false)
		if err != nil || len(found) > 0 || table.Columns[0].Number[0] != want {
			rt.Fatalf("%s gives %v, %v, %v, want %s", text, table.Columns[0].Number, found, err, strconv.FormatFloat(want, 'g', -1, 64))
		}
	})
}

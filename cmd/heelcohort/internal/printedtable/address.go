package printedtable

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"heelcohort/codebook/document"
	"heelcohort/dataset"
	"heelcohort/dataset/harmless"
)

// Columns of an addressing file, in the order in which they are written.
var addressColumns = []string{"sheet", "row", "column", "number", "printed", "address", "part", "times", "confirmed", "because"}

// Parts of a result row that a printed number can be.
var Parts = []string{"value", "lower", "upper", "se", "p", "statistic", "df", "n", "events", "censored", "person_time", "level"}

// None is the part of a number that is no result, such as a year in a heading.
const None = "none"

// An Address says which number of a cell is which part of which result.
type Address struct {
	Sheet       string
	Row, Column int
	Number      int    // 1 for the first number of the cell
	Printed     string // the cell's text, so that a table that was changed since is noticed; "" is not checked
	Result      string // the result row's address; "" while it is open
	Part        string // one of Parts; None; "" while it is open
	Times       string // what the result is multiplied by for print, such as 100; "" is 1, or 100 below a percent sign
	Confirmed   bool
	Because     string // of a proposal, why
	Line        int    // of the addressing file
}

// Open reports whether nobody has said yet what the number is.
func (a Address) Open() bool { return a.Part == "" || a.Result == "" && a.Part != None }

// WriteAddresses writes an addressing file.
func WriteAddresses(w io.Writer, list []Address) error {
	return harmless.WriteCSV(w, func(yield func([]string) bool) {
		if !yield(addressColumns) {
			return
		}
		for _, a := range list {
			confirmed := "no"
			if a.Confirmed {
				confirmed = "yes"
			}
			if !yield([]string{
				a.Sheet, strconv.Itoa(a.Row), letters(a.Column), strconv.Itoa(a.Number), a.Printed, a.Result, a.Part, a.Times, confirmed, a.Because,
			}) {
				return
			}
		}
	})
}

// letters names a column as a spreadsheet does.
func letters(column int) string {
	var b []byte
	for ; column > 0; column = (column - 1) / 26 {
		b = append(b, byte('A'+(column-1)%26))
	}
	slices.Reverse(b)
	return string(b)
}

// columnNumber reads letters or a number, 0 for neither.
func columnNumber(text string) int {
	if n, err := strconv.Atoi(text); err == nil && n > 0 {
		return n
	}
	n := 0
	for _, r := range strings.ToUpper(text) {
		if r < 'A' || r > 'Z' || n > 20000 {
			return 0
		}
		n = n*26 + int(r-'A') + 1
	}
	return n
}

// ReadAddresses reads an addressing file. Columns may stand in any order; sheet,
// number, printed, times, confirmed and because may be left out, and then a
// line is the first number of its cell, and confirmed.
func ReadAddresses(ctx context.Context, path string) (list []Address, err error) {
	dir, name := filepath.Split(path)
	if dir == "" {
		dir = "."
	}
	g, err := dataset.OpenGrid(dir, name)
	if err != nil {
		return nil, err
	}
	defer func() {
		if e := g.Close(); err == nil {
			err = e
		}
	}()
	var head map[string]int
	seen := map[[3]int]map[string]int{}
	for row, err := range g.Rows(ctx, 0) {
		if err != nil {
			return nil, err
		}
		texts := make([]string, len(row.Cells))
		for i, c := range row.Cells {
			texts[i] = unescape(strings.TrimSpace(c.Text))
		}
		if strings.Join(texts, "") == "" {
			continue
		}
		if head == nil {
			if head, err = addressHead(dataset.Origin{File: name, Sheet: g.Sheets[0], Row: row.Number}, texts); err != nil {
				return nil, err
			}
			continue
		}
		a, err := addressOf(dataset.Origin{File: name, Sheet: g.Sheets[0], Row: row.Number}, head, texts)
		if err != nil {
			return nil, err
		}
		key := [3]int{a.Row, a.Column, a.Number}
		if before, twice := seen[key][a.Sheet]; twice {
			return nil, fmt.Errorf("%s, line %d: number %d of %s is addressed already on line %d, expected each number once", name, row.Number, a.Number, place(a), before)
		}
		if seen[key] == nil {
			seen[key] = map[string]int{}
		}
		seen[key][a.Sheet] = row.Number
		list = append(list, a)
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("%s: found no address, expected a line for each printed number below the columns %s", name, strings.Join(addressColumns, ", "))
	}
	return list, nil
}

// place names the cell of an address.
func place(a Address) string {
	text := letters(a.Column) + strconv.Itoa(a.Row)
	if a.Sheet != "" {
		text = "sheet " + strconv.Quote(a.Sheet) + ", " + text
	}
	return text
}

// unescape takes away the apostrophe that keeps a text from being a formula.
func unescape(text string) string {
	if rest, ok := strings.CutPrefix(text, "'"); ok && harmless.CSV(rest) == text {
		return rest
	}
	return text
}

// addressHead finds the columns.
func addressHead(where dataset.Origin, titles []string) (map[string]int, error) {
	head := map[string]int{}
	for i, title := range titles {
		if title == "" {
			continue
		}
		where.Column = i + 1
		if !slices.Contains(addressColumns, title) {
			return nil, faultAt(where, title, "one of the columns "+strings.Join(addressColumns, ", "), addressColumns)
		}
		if _, twice := head[title]; twice {
			return nil, fmt.Errorf("%s: the column %q stands twice", where, title)
		}
		head[title] = i
	}
	for _, need := range []string{"row", "column", "address", "part"} {
		if _, ok := head[need]; !ok {
			where.Column = 0
			return nil, fmt.Errorf("%s: found no column %q, expected row, column, address and part at least", where, need)
		}
	}
	return head, nil
}

// faultAt says what was found and expected, with the nearest word.
func faultAt(where dataset.Origin, found, expected string, words []string) error {
	text := fmt.Sprintf("%s: found %q, expected %s", where, found, expected)
	if nearest := document.Nearest(found, words); nearest != "" && nearest != found {
		text += fmt.Sprintf("; did you mean %q?", nearest)
	}
	return fmt.Errorf("%s", text)
}

// addressOf reads one line.
func addressOf(where dataset.Origin, head map[string]int, texts []string) (Address, error) {
	get := func(column string) string {
		i, ok := head[column]
		where.Column = i + 1
		if !ok || i >= len(texts) {
			return ""
		}
		return texts[i]
	}
	a := Address{Number: 1, Confirmed: true, Line: where.Row}
	a.Sheet, a.Printed, a.Result, a.Because = get("sheet"), get("printed"), get("address"), get("because")
	var err error
	if text := get("row"); true {
		if a.Row, err = strconv.Atoi(text); err != nil || a.Row < 1 {
			return a, faultAt(where, text, "the number of a row, from 1", nil)
		}
	}
	if text := get("column"); true {
		if a.Column = columnNumber(text); a.Column < 1 || a.Column > 16384 {
			return a, faultAt(where, text, "a column, such as B or 2", nil)
		}
	}
	if text := get("number"); text != "" {
		if a.Number, err = strconv.Atoi(text); err != nil || a.Number < 1 {
			return a, faultAt(where, text, "which number of the cell, from 1", nil)
		}
	}
	a.Part = get("part")
	if words := append(slices.Clone(Parts), None); a.Part != "" && !slices.Contains(words, a.Part) {
		return a, faultAt(where, a.Part, "one of "+strings.Join(words, ", "), words)
	}
	if a.Times = get("times"); a.Times != "" {
		content, err := Parse(a.Times, Point)
		if err != nil || content.Form != One || content.Numbers[0].Relation != Equal || content.Numbers[0].Value().Sign() == 0 {
			return a, faultAt(where, a.Times, "a factor other than 0, such as 100", nil)
		}
		a.Times = content.Numbers[0].Digits
	}
	switch text := get("confirmed"); text {
	case "", "yes":
		_, written := head["confirmed"]
		a.Confirmed = text == "yes" || !written
	case "no":
		a.Confirmed = false
	default:
		return a, faultAt(where, text, "yes or no", []string{"yes", "no"})
	}
	if a.Part == None && a.Result != "" {
		get("part")
		return a, fmt.Errorf("%s: found %q beside the address %s, expected a part of that result, or no address", where, None, a.Result)
	}
	return a, nil
}

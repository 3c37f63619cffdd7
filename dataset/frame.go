package dataset

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

	"github.com/go-gota/gota/dataframe"
	"github.com/go-gota/gota/series"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// Suffixes of the frame's companion columns, and the name of the column with
// the sheet's rows. A bar cannot stand in a variable's name.
const (
	frameState  = "|state"
	frameCode   = "|code"
	frameSource = "|source"
	frameRow    = "|row"
)

// Frame gives the table as a gota DataFrame.
//
// Every series is of type String, so that nothing is detected or rounded. A
// variable "age" is four series: "age" (the value: numbers in the shortest
// form that reads back the same, dates as 2006-01-02, booleans as true and
// false, "" where there is none), "age|state" (present, missing or invalid),
// "age|code" (the missing code) and "age|source" (the cell as read; absent for
// a derived variable). The series "|row" holds the rows of the sheet.
//
// Choose and order rows with gota and come back by FromFrame. Do not join,
// group or detect types there: gota 0.12 takes the texts "NA" and "NaN" for
// missing, rounds numbers in keys to six decimals, lets the keys ("a_b", "c")
// and ("a", "b_c") fall together, and gives groups in random order.
func Frame(t *Table) (dataframe.DataFrame, error) {
	columns := make([]series.Series, 0, 4*len(t.Columns)+1)
	taken := make(map[string]bool)
	add := func(name string, texts []string) error {
		if taken[name] {
			return fmt.Errorf("dataset: two series of table %q would be named %q", t.Name, name)
		}
		taken[name] = true
		columns = append(columns, series.New(texts, series.String, name))
		return nil
	}
	n := t.Len()
	rows := make([]string, n)
	for i, r := range t.Rows {
		rows[i] = strconv.Itoa(r)
	}
	if err := add(frameRow, rows); err != nil {
		return dataframe.DataFrame{}, err
	}
	for _, c := range t.Columns {
		texts, states, codes := make([]string, n), make([]string, n), make([]string, n)
		sources := make([]string, n)
		for i := range n {
			texts[i], states[i], codes[i], sources[i] = frameText(c, i), c.State[i].String(), c.Code(i), c.Source(i)
		}
		err := errors.Join(add(c.Name, texts), add(c.Name+frameState, states), add(c.Name+frameCode, codes))
		if c.HasSource() {
			err = errors.Join(err, add(c.Name+frameSource, sources))
		}
		if err != nil {
			return dataframe.DataFrame{}, err
		}
	}
	df := dataframe.New(columns...)
	return df, df.Err
}

// frameText writes the value of a cell.
func frameText(c *Column, i int) string {
	if c.State[i] != Present {
		return ""
	}
	switch c.Kind {
	case value.Number:
		return strconv.FormatFloat(c.Number[i], 'g', -1, 64)
	case value.Date:
		if x := c.Number[i]; x == math.Trunc(x) && math.Abs(x) < 1e9 {
			if s := c.Value(i).String(); parsesTo(s, x) {
				return s
			}
		}
		return strconv.FormatFloat(c.Number[i], 'g', -1, 64)
	case value.Text:
		return c.Text[i]
	case value.Bool:
		return strconv.FormatBool(c.Bool[i])
	}
	return ""
}

// parsesTo reports whether s reads back as the given day.
func parsesTo(s string, day float64) bool {
	d, err := frameDate(s)
	return err == nil && math.Float64bits(d) == math.Float64bits(day)
}

// frameDate reads a date as frameText writes it.
func frameDate(s string) (float64, error) {
	if t, err := time.Parse("2006-01-02", s); err == nil {
		return float64(t.Unix() / 86400), nil
	}
	return strconv.ParseFloat(s, 64)
}

// FromFrame turns a frame made by Frame back into a table. Rows may have been
// left out, repeated or put into another order; what the variables are is
// taken from like. A series that is lacking, too much or damaged is an error.
func FromFrame(df dataframe.DataFrame, like *Table) (*Table, error) {
	if df.Err != nil {
		return nil, fmt.Errorf("dataset: frame of table %q: %w", like.Name, df.Err)
	}
	f := frameReader{df: df, table: like.Name, left: df.Names()}
	t := *like
	rows, err := f.take(frameRow)
	if err != nil {
		return nil, err
	}
	t.Rows = make([]int, len(rows))
	for i, r := range rows {
		if t.Rows[i], err = strconv.Atoi(r); err != nil {
			return nil, fmt.Errorf("dataset: frame of table %q: row %q, expected a row number", like.Name, r)
		}
	}
	t.Columns = make([]*Column, len(like.Columns))
	for i, c := range like.Columns {
		if t.Columns[i], err = f.column(c); err != nil {
			return nil, err
		}
	}
	if len(f.left) > 0 {
		return nil, fmt.Errorf("dataset: frame of table %q has a series %q that the table lacks", like.Name, f.left[0])
	}
	return &t, nil
}

// A frameReader takes the series of a frame one by one.
type frameReader struct {
	df    dataframe.DataFrame
	table string
	left  []string // names of series not taken yet
}

// take gives the texts of a series. Each is read by its String method, which
// gives back "NaN" where gota took that text for missing.
func (f *frameReader) take(name string) ([]string, error) {
	at := slices.Index(f.left, name)
	if at < 0 {
		err := fmt.Errorf("dataset: frame of table %q lacks the series %q", f.table, name)
		if near := document.Nearest(name, f.left); near != "" {
			err = fmt.Errorf("%w (did you mean %q?)", err, near)
		}
		return nil, err
	}
	f.left = slices.Delete(f.left, at, at+1)
	s := f.df.Col(name)
	if s.Err != nil {
		return nil, fmt.Errorf("dataset: frame of table %q, series %q: %w", f.table, name, s.Err)
	}
	if s.Type() != series.String {
		return nil, fmt.Errorf("dataset: frame of table %q, series %q: type %s, expected %s", f.table, name, s.Type(), series.String)
	}
	texts := make([]string, s.Len())
	for i := range texts {
		texts[i] = s.Elem(i).String()
	}
	return texts, nil
}

// column reads one variable.
func (f *frameReader) column(like *Column) (*Column, error) {
	texts, err := f.take(like.Name)
	if err != nil {
		return nil, err
	}
	states, err := f.take(like.Name + frameState)
	if err != nil {
		return nil, err
	}
	words, err := f.take(like.Name + frameCode)
	if err != nil {
		return nil, err
	}
	c := *like
	c.Number, c.Text, c.Bool, c.State, c.codes, c.source = nil, nil, nil, nil, codes{}, nil
	if like.HasSource() {
		texts, err := f.take(like.Name + frameSource)
		if err != nil {
			return nil, err
		}
		c.source = &sources{}
		for _, text := range texts {
			c.source.add(text)
		}
	}
	for i, text := range texts {
		v, state, err := frameValue(c.Kind, text, states[i], words[i])
		if err != nil {
			return nil, fmt.Errorf("dataset: frame of table %q, series %q, row %d: %w", f.table, c.Name, i+1, err)
		}
		c.add(v, state)
	}
	c.filled()
	return &c, nil
}

// frameValue reads one cell.
func frameValue(kind value.Kind, text, state, code string) (value.Value, State, error) {
	switch state {
	case "missing":
		return value.None(kind, code), Missing, nil
	case "invalid":
		return value.None(kind, value.CodeFault), Invalid, nil
	case "present":
	default:
		return value.Value{}, 0, fmt.Errorf("state %q, expected present, missing or invalid", state)
	}
	v := value.Value{Kind: kind}
	var err error
	switch kind {
	case value.Number:
		v.Number, err = strconv.ParseFloat(text, 64)
	case value.Date:
		v.Number, err = frameDate(text)
	case value.Text:
		v.Text = text
	case value.Bool:
		v.Bool, err = strconv.ParseBool(text)
	}
	if err != nil {
		return value.Value{}, 0, fmt.Errorf("value %q, expected a %v", text, kind)
	}
	return v, Present, nil
}

// subset gives the indexes of the rows to keep, by way of a frame of row
// numbers.
func subset(keep []bool) ([]int, error) {
	if len(keep) == 0 {
		return nil, nil
	}
	numbers := make([]string, len(keep))
	for i := range numbers {
		numbers[i] = strconv.Itoa(i)
	}
	df := dataframe.New(series.New(numbers, series.String, frameRow)).Subset(keep)
	if df.Err != nil {
		return nil, fmt.Errorf("dataset: %w", df.Err)
	}
	s := df.Col(frameRow)
	index := make([]int, s.Len())
	for i := range index {
		n, err := strconv.Atoi(s.Elem(i).String())
		if err != nil {
			return nil, fmt.Errorf("dataset: %w", err)
		}
		index[i] = n
	}
	return index, nil
}

package verdict

import (
	"cmp"
	"fmt"
	"math"
	"math/big"
	"slices"
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printedtable"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/document"
	"heelcohort/dataset"
)

// A Number is one printed number with its verdict.
type Number struct {
	Printed   string  `json:"printed"`
	Address   string  `json:"address"`
	Part      string  `json:"part"`
	Times     float64 `json:"times"`  // what the result was multiplied by
	Result    string  `json:"result"` // in full, multiplied; "" where the row has none
	Reprinted string  `json:"reprinted"`
	Verdict   Sort    `json:"verdict"`
	Rounding  string  `json:"rounding"` // the rule, where the verdict is rounding
	Confirmed bool    `json:"confirmed"`
	Line      int     `json:"line"` // of the plan
}

// An Explanation is a change of the result that gives every digit of a cell.
type Explanation struct {
	Kind string `json:"kind"`
	Text string `json:"text"`
}

// A Cell is one printed cell with its numbers.
type Cell struct {
	Where        string        `json:"cell"`
	Text         string        `json:"text"`
	Numbers      []Number      `json:"numbers"`
	Explanations []Explanation `json:"explanations"` // the likeliest first
	Searched     bool          `json:"searched"`     // for an explanation

	where dataset.Origin
	bound []bound
}

// Verdict is the worst of the cell's numbers.
func (c *Cell) Verdict() Sort {
	worst := Same
	for _, n := range c.Numbers {
		if n.Verdict == Differs || n.Verdict == Rounding && worst == Same {
			worst = n.Verdict
		}
	}
	return worst
}

// A Report is a printed file held against results.
type Report struct {
	Cells []Cell `json:"cells"`
	// Open are cells with numbers that nobody has addressed.
	Open []Open `json:"open"`
	// Rounded are numbers that were rounded up where cutting off their digits
	// would have given others.
	Rounded     int `json:"rounded_up"`
	LeftOut     int `json:"left_out"`    // numbers that are said to be no results
	Unconfirmed int `json:"unconfirmed"` // numbers whose address nobody has confirmed
}

// An Open cell holds numbers without an address.
type Open struct {
	Where   string `json:"cell"`
	Text    string `json:"text"`
	Numbers int    `json:"numbers"`
}

// Count is how many numbers have the verdict.
func (r *Report) Count(sort Sort) int {
	n := 0
	for _, c := range r.Cells {
		for _, x := range c.Numbers {
			if x.Verdict == sort {
				n++
			}
		}
	}
	return n
}

// CutOff is how many numbers have the digits that cutting off gives, and
// rounding does not.
func (r *Report) CutOff() int {
	n := 0
	for _, c := range r.Cells {
		for _, x := range c.Numbers {
			if x.Rounding == truncated {
				n++
			}
		}
	}
	return n
}

// Clean reports whether every number is addressed, and the same or off by
// rounding alone.
func (r *Report) Clean() bool {
	return r.Count(Differs) == 0 && len(r.Open) == 0 && r.Unconfirmed == 0
}

// A bound is a printed number tied to a part of a result row.
type bound struct {
	number printedtable.Number
	row    *result.Row
	part   string
	times  float64
	value  float64 // the result, multiplied
}

// Compare judges every addressed number of the file. What the addressing file
// asks for and is not there is refused with its cell and the nearest address.
//
// Variants are results as other choices give them, which explain numbers that
// differ.
func Compare(f *printedtable.File, list []printedtable.Address, res *result.Results, variants ...Variant) (*Report, error) {
	ix := indexOf(res)
	for _, v := range variants {
		ix.variants = append(ix.variants, &variant{v, indexOf(v.Results).at})
	}
	r := &Report{Cells: []Cell{}, Open: []Open{}}
	type key struct {
		sheet       string
		row, column int
	}
	addressed := map[key]map[int]printedtable.Address{}
	var order []key
	for _, a := range list {
		t, ok := f.Table(a.Sheet)
		if !ok {
			return nil, wrongSheet(f, a)
		}
		k := key{t.Sheet, a.Row, a.Column}
		if addressed[k] == nil {
			addressed[k] = map[int]printedtable.Address{}
			order = append(order, k)
		}
		if _, twice := addressed[k][a.Number]; twice {
			return nil, fmt.Errorf("%s, row %d, column %d: number %d is addressed twice", f.Name, a.Row, a.Column, a.Number)
		}
		addressed[k][a.Number] = a
	}
	slices.SortFunc(order, func(a, b key) int {
		return cmp.Or(slices.IndexFunc(f.Tables, func(t *printedtable.Table) bool { return t.Sheet == a.sheet })-
			slices.IndexFunc(f.Tables, func(t *printedtable.Table) bool { return t.Sheet == b.sheet }),
			cmp.Compare(a.row, b.row), cmp.Compare(a.column, b.column))
	})
	for _, k := range order {
		t, _ := f.Table(k.sheet)
		if err := r.cell(f, t, k.row, k.column, addressed[k], ix); err != nil {
			return nil, err
		}
	}
	for _, t := range f.Tables {
		cells, contents := t.Body()
		for i, c := range cells {
			if addressed[key{t.Sheet, c.Where.Row, c.Where.Column}] == nil {
				r.Open = append(r.Open, Open{c.Where.String(), c.Text, max(1, len(contents[i].Numbers))})
			}
		}
	}
	for i := range r.Cells {
		if c := &r.Cells[i]; c.Verdict() == Differs {
			c.Explanations, c.Searched = ix.explain(c.bound), true
		}
	}
	return r, nil
}

func wrongSheet(f *printedtable.File, a printedtable.Address) error {
	var names []string
	for _, t := range f.Tables {
		names = append(names, strconv.Quote(t.Sheet))
	}
	text := fmt.Sprintf("line %d of the addressing file: found the sheet %q, expected one of those of %s: %s", a.Line, a.Sheet, f.Name, strings.Join(names, ", "))
	if nearest := document.Nearest(strconv.Quote(a.Sheet), names); nearest != "" {
		text += "; did you mean " + nearest + "?"
	}
	return fmt.Errorf("%s", text)
}

// cell judges one cell.
func (r *Report) cell(f *printedtable.File, t *printedtable.Table, row, column int, wanted map[int]printedtable.Address, ix *index) error {
	where := dataset.Origin{File: f.Name, Sheet: t.Sheet, Row: row, Column: column}
	c, ok := t.At(row, column)
	if !ok {
		return fmt.Errorf("%s: found an empty cell, expected the number that the addressing file names", where)
	}
	content, err := t.Parse(c)
	if err != nil {
		return fmt.Errorf("%s: %w", where, err)
	}
	var numbers []int
	for n := range wanted {
		numbers = append(numbers, n)
	}
	slices.Sort(numbers)
	for _, n := range numbers {
		if a := wanted[n]; a.Printed != "" && a.Printed != c.Text {
			return fmt.Errorf("%s: found %q, expected %q, which the addressing file was made for", where, c.Text, a.Printed)
		}
		if n > len(content.Numbers) {
			return fmt.Errorf("%s: found %d numbers in %q, expected number %d, which the addressing file names", where, len(content.Numbers), c.Text, n)
		}
	}
	out := Cell{Where: where.String(), Text: c.Text, Numbers: []Number{}, Explanations: []Explanation{}, where: where}
	open := 0
	for i, n := range content.Numbers {
		a, ok := wanted[i+1]
		switch {
		case !ok || a.Open():
			open++
			continue
		case a.Part == printedtable.None:
			r.LeftOut++
			continue
		}
		b, err := ix.bind(where, n, a)
		if err != nil {
			return err
		}
		if !a.Confirmed {
			r.Unconfirmed++
		}
		sort, how := judge(n, b.value)
		if x := exact(b.value); sort == Same && n.Relation == printedtable.Equal && truncate(x, n.Decimals).Cmp(n.Value()) != 0 {
			r.Rounded++
		}
		out.bound = append(out.bound, b)
		out.Numbers = append(out.Numbers, Number{
			Printed: n.Text, Address: a.Result, Part: a.Part, Times: b.times, Result: result.Number(b.value).String(),
			Reprinted: written(b.value, n.Decimals), Verdict: sort, Rounding: how, Confirmed: a.Confirmed, Line: b.row.Line,
		})
	}
	if len(out.Numbers) > 0 {
		r.Cells = append(r.Cells, out)
	}
	if open > 0 {
		r.Open = append(r.Open, Open{where.String(), c.Text, open})
	}
	return nil
}

// bind finds the result of an address.
func (ix *index) bind(where dataset.Origin, n printedtable.Number, a printedtable.Address) (bound, error) {
	row, ok := ix.at[a.Result]
	if !ok {
		text := fmt.Sprintf("%s: found the address %q, expected that of a result row", where, a.Result)
		if nearest := ix.nearest(a.Result); nearest != "" {
			text += fmt.Sprintf("; did you mean %q?", nearest)
		}
		return bound{}, fmt.Errorf("%s", text)
	}
	b := bound{number: n, row: row, part: a.Part, times: 1}
	switch {
	case a.Times != "":
		factor, ok := new(big.Rat).SetString(a.Times)
		if !ok {
			return b, fmt.Errorf("%s: found the factor %q, expected a number", where, a.Times)
		}
		b.times, _ = factor.Float64()
	case n.Percent && !InPercent(row) && Scaled(a.Part):
		b.times = 100
	}
	x := Part(row, a.Part)
	if math.IsNaN(x) {
		text := fmt.Sprintf("%s: the result %s has no %s, expected one of its parts: %s", where, a.Result, a.Part, strings.Join(partsOf(row), ", "))
		return b, fmt.Errorf("%s", text)
	}
	b.value = x * b.times
	if n.Exact && b.value != math.Trunc(b.value) {
		return b, fmt.Errorf("%s: found the number %s stored as such, expected text: a workbook does not keep the decimals that were printed; format the cells as text, or save the table as CSV", where, n.Text)
	}
	return b, nil
}

// Part is a number of a row, NaN where it has none.
func Part(row *result.Row, name string) float64 {
	switch name {
	case "value":
		return float64(row.Estimate)
	case "lower":
		return float64(row.Lower)
	case "upper":
		return float64(row.Upper)
	case "se":
		return float64(row.SE)
	case "p":
		return float64(row.P)
	case "statistic":
		return float64(row.Statistic)
	case "df":
		return float64(row.DF)
	case "n":
		return float64(row.N)
	case "events":
		return float64(row.Events)
	case "censored":
		return float64(row.Censored)
	case "person_time":
		return float64(row.PersonTime)
	case "level":
		return float64(row.Level)
	}
	return math.NaN()
}

// partsOf are the parts that a row has.
func partsOf(row *result.Row) (names []string) {
	for _, name := range printedtable.Parts {
		if !math.IsNaN(Part(row, name)) {
			names = append(names, name)
		}
	}
	return names
}

// Scaled reports whether a part is in the unit of the estimate.
func Scaled(name string) bool {
	return name == "value" || name == "lower" || name == "upper" || name == "se"
}

// InPercent reports whether a row's estimate is a percentage already.
func InPercent(row *result.Row) bool {
	return row.Measure == "percent" || row.Unit == "%" || strings.HasPrefix(row.Unit, "percent")
}

// Share reports whether a row's estimate is a part of a whole, 0 to 1.
func Share(row *result.Row) bool {
	if InPercent(row) || strings.Contains(row.Measure, "ratio") || strings.Contains(row.Measure, "difference") {
		return false
	}
	for _, word := range []string{"proportion", "risk", "prevalence", "cumulative incidence", "survival", "agreement", "share", "probability"} {
		if strings.Contains(row.Measure, word) {
			return row.Unit == ""
		}
	}
	return false
}

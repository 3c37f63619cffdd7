package dataset

import (
	"math"
	"strings"
	"testing"

	"github.com/go-gota/gota/dataframe"
	"github.com/go-gota/gota/series"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"heelcohort/codebook/value"
)

// oddTexts are texts that a careless frame loses.
var oddTexts = []string{"", "NA", "NaN", "nan", "<nil>", "null", "007", "1e3", "true", " x ", "a\nb", "a\r\nb", "\"q\"", "ä–≤", "=1+1", ",", "|"}

// oddNumbers are numbers that rounding or reformatting loses.
var oddNumbers = []float64{0, math.Copysign(0, -1), 1, -9, 999, 0.1, 0.30000000000000004, 1e-320, math.MaxFloat64, math.SmallestNonzeroFloat64, 1 << 53, 12.345678901234567, 1e21}

// drawTable makes a table of every kind of column, odd values included.
func drawTable(t *rapid.T) *Table {
	n := rapid.IntRange(0, 12).Draw(t, "rows")
	word := rapid.OneOf(rapid.SampledFrom(oddTexts), rapid.String())
	number := rapid.OneOf(rapid.SampledFrom(oddNumbers), rapid.Float64().Filter(func(x float64) bool { return !math.IsNaN(x) }))
	day := rapid.OneOf(rapid.Map(rapid.IntRange(-800_000, 3_000_000), func(d int) float64 { return float64(d) }), rapid.SampledFrom(oddNumbers))
	table := &Table{Name: "t", File: "t.csv", Rows: []int{}}
	for i := range n {
		table.Rows = append(table.Rows, 2+i+rapid.IntRange(0, 3).Draw(t, "gap"))
	}
	for k, kind := range []value.Kind{value.Number, value.Text, value.Bool, value.Date} {
		c := &Column{Name: kind.String(), Kind: kind, Index: k + 1}
		if rapid.Bool().Draw(t, "source") {
			c.source = &sources{}
		}
		for range n {
			v := value.Value{Kind: kind}
			switch kind {
			case value.Number:
				v.Number = number.Draw(t, "number")
			case value.Date:
				v.Number = day.Draw(t, "day")
			case value.Text:
				v.Text = word.Draw(t, "text")
			case value.Bool:
				v.Bool = rapid.Bool().Draw(t, "truth")
			}
			state := rapid.SampledFrom([]State{Present, Missing, Invalid}).Draw(t, "state")
			if state == Missing {
				v = value.None(kind, word.Draw(t, "code"))
			}
			c.add(v, state)
			if c.HasSource() {
				text := word.Draw(t, "source text")
				if rapid.Bool().Draw(t, "same") && c.Kind == value.Text {
					text = v.Text
				}
				c.addSource(text)
			}
		}
		table.Columns = append(table.Columns, c)
	}
	return table
}

// same compares tables down to the sign of zero.
func same(a, b *Table) string {
	bits := cmp.Comparer(func(x, y float64) bool {
		return math.Float64bits(x) == math.Float64bits(y) || math.IsNaN(x) && math.IsNaN(y)
	})
	// Codes and sources are compared by what they say and not how they lie.
	code := cmp.Transformer("codes", func(s codes) []string {
		var out []string
		for i := range s.at {
			out = append(out, s.code(i))
		}
		return out
	})
	texts := func(t *Table) [][]string {
		var out [][]string
		for _, c := range t.Columns {
			var own []string
			for i := range c.Len() {
				own = append(own, c.Source(i))
			}
			out = append(out, own)
		}
		return out
	}
	sources := cmp.Diff(texts(a), texts(b))
	return sources + cmp.Diff(a, b, bits, code, cmp.AllowUnexported(Column{}), cmpopts.IgnoreFields(Column{}, "known", "held", "source"), cmpopts.EquateEmpty())
}

func TestFrameRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := drawTable(t)
		df, err := Frame(table)
		if err != nil {
			t.Fatal(err)
		}
		back, err := FromFrame(df, table)
		if err != nil {
			t.Fatal(err)
		}
		if diff := same(table, back); diff != "" {
			t.Fatalf("lost on the way:\n%s", diff)
		}
	})
}

// Rows chosen by gota, by Keep and by a plain loop are the same.
func TestKeep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := drawTable(t)
		keep := make([]bool, table.Len())
		plain := *table
		plain.Rows, plain.Columns = []int{}, nil
		for i := range keep {
			keep[i] = rapid.Bool().Draw(t, "keep")
			if keep[i] {
				plain.Rows = append(plain.Rows, table.Rows[i])
			}
		}
		for _, c := range table.Columns {
			p := *c
			p.Number, p.Text, p.Bool, p.State, p.codes, p.source = nil, nil, nil, nil, codes{}, nil
			if c.HasSource() {
				p.source = &sources{}
			}
			for i, k := range keep {
				if !k {
					continue
				}
				state := c.State[i]
				v := c.Value(i)
				p.add(v, state)
				if c.HasSource() {
					p.addSource(c.Source(i))
				}
			}
			plain.Columns = append(plain.Columns, &p)
		}
		kept, err := table.Keep(keep)
		if err != nil {
			t.Fatal(err)
		}
		if diff := same(&plain, kept); diff != "" {
			t.Fatalf("Keep differs from a plain filter:\n%s", diff)
		}
		df, err := Frame(table)
		if err != nil {
			t.Fatal(err)
		}
		if table.Len() == 0 {
			return
		}
		framed, err := FromFrame(df.Subset(keep), table)
		if err != nil {
			t.Fatal(err)
		}
		if diff := same(&plain, framed); diff != "" {
			t.Fatalf("gota's choice differs from a plain filter:\n%s", diff)
		}
	})
}

func TestFromFrameRefusals(t *testing.T) {
	table := &Table{Name: "t", Rows: []int{2, 3}, Columns: []*Column{
		NewColumn("age", "", "", value.Number, nil, []value.Value{value.Num(1), value.None(value.Number, "NM")}),
	}}
	df, err := Frame(table)
	if err != nil {
		t.Fatal(err)
	}
	replace := func(name string, texts ...string) dataframe.DataFrame {
		return df.Mutate(series.New(texts, series.String, name))
	}
	for _, c := range []struct {
		df    dataframe.DataFrame
		words string
	}{
		{df.Drop("age|state"), `lacks the series "age|state"`},
		{df.Drop("|row"), `lacks the series "|row"`},
		{replace("extra", "a", "b"), `has a series "extra"`},
		{replace("age", "x", ""), `value "x", expected a number`},
		{replace("age|state", "present", "lost"), `state "lost"`},
		{replace("|row", "2", "x"), `row "x"`},
		{df.Mutate(series.New([]float64{1, 2}, series.Float, "age")), "type float"},
		{df.Drop("no such"), "frame"},
	} {
		if _, err := FromFrame(c.df, table); err == nil || !strings.Contains(err.Error(), c.words) {
			t.Errorf("error %v, want it to hold %q", err, c.words)
		}
	}
}

func TestFrameNames(t *testing.T) {
	empty := []value.Value{}
	table := &Table{Name: "t", Columns: []*Column{
		NewColumn("age", "", "", value.Number, nil, empty), NewColumn("age|code", "", "", value.Text, nil, empty),
	}}
	if _, err := Frame(table); err == nil {
		t.Error("two series of one name were not refused")
	}
}

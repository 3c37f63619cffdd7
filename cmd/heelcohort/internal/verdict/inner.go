package verdict

import (
	"fmt"
	"math/big"
	"regexp"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printedtable"
)

// A Question is something in a printed table that does not follow from the rest
// of it.
type Question struct {
	Kind  string `json:"kind"`
	Where string `json:"cell"`
	Text  string `json:"text"` // of the cell
	Ask   string `json:"question"`
}

// What questions are about.
const (
	AskCount  = "count and percentage"
	AskLimits = "estimate and limits"
	AskP      = "limits and P"
	AskTotal  = "total"
	AskMean   = "mean of whole numbers"
)

// An entry is a cell of a table's body with what the table says of it.
type entry struct {
	cell    printedtable.Cell
	content printedtable.Content
	heading printedtable.Heading
}

// An inner is one table held against itself.
type inner struct {
	table   *printedtable.Table
	entries []entry
	whole   []string
	sizes   map[int]size // by column
	out     []Question
}

// A size is a column's number of rows, with where it stands.
type size struct {
	n     *big.Int
	where string
}

// Inner holds each table of a file against itself. The data of rows whose label
// holds one of the texts of whole are taken to be whole numbers, and so are
// those whose label says so by itself (see innermeans.go).
func Inner(f *printedtable.File, whole []string) []Question {
	out := []Question{}
	for _, t := range f.Tables {
		in := &inner{table: t, whole: whole, sizes: map[int]size{}}
		cells, contents := t.Body()
		for i, c := range cells {
			if len(contents[i].Numbers) > 0 && !c.Stored {
				in.entries = append(in.entries, entry{c, contents[i], t.Heading(c)})
			}
		}
		in.findSizes()
		in.counts()
		in.limits()
		in.totals()
		in.means()
		slices.SortStableFunc(in.out, func(a, b Question) int { return in.order(a.Where) - in.order(b.Where) })
		out = append(out, in.out...)
	}
	return out
}

// order is the place of a cell in its table.
func (in *inner) order(where string) int {
	return slices.IndexFunc(in.table.Cells, func(c printedtable.Cell) bool { return c.Where.String() == where })
}

func (in *inner) ask(kind string, e entry, format string, args ...any) {
	in.out = append(in.out, Question{kind, e.cell.Where.String(), e.cell.Text, fmt.Sprintf(format, args...)})
}

// headingSize finds n = 45 in a heading.
var headingSize = regexp.MustCompile(`\b[nN]\s*=\s*(\d{1,3}(?:[,. \x{00a0}\x{2009}\x{202f}]\d{3})+|\d+)`)

// sizeLabel is the label of a row of numbers of rows.
var sizeLabel = regexp.MustCompile(`(?i)^(?:n|no\.?|number|total,? n|n,? total|sample size|(?:number of )?(?:children|participants|players|patients|subjects|persons|heels)(?:,? n)?)$`)

// findSizes finds how many rows each column is about: in its headings, the last
// of them, or in a row of its own.
func (in *inner) findSizes() {
	for _, e := range in.entries {
		column := e.cell.Where.Column
		for _, text := range e.heading.Column {
			if m := headingSize.FindStringSubmatch(text); m != nil {
				n, ok := new(big.Int).SetString(digitsOnly(m[1]), 10)
				if ok && n.Sign() > 0 {
					in.sizes[column] = size{n, "the heading of the column"}
				}
			}
		}
		if len(e.heading.Row) == 1 && sizeLabel.MatchString(e.heading.Row[0]) && e.content.Form == printedtable.One {
			if n := e.content.Numbers[0]; n.Whole() && n.Relation == printedtable.Equal && n.Value().Sign() > 0 {
				in.sizes[column] = size{n.Value().Num(), e.cell.Where.Cell()}
			}
		}
	}
}

func digitsOnly(text string) string {
	return strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, text)
}

// counted splits a cell into a count, its percentage, and an n printed with
// them.
func counted(e entry) (count, share printedtable.Number, n *big.Int, ok bool) {
	numbers := e.content.Numbers
	said := strings.Contains(e.heading.All(), "%")
	switch e.content.Form {
	case printedtable.Pair:
		count, share = numbers[0], numbers[1]
		ok = count.Whole() && !count.Percent && (share.Percent || said) && !strings.Contains(e.cell.Text, "±") && !strings.Contains(e.cell.Text, "SD")
	case printedtable.Share:
		count, share = numbers[0], numbers[2]
		ok = count.Whole() && numbers[1].Whole() && numbers[1].Value().Sign() > 0
		if ok {
			n = numbers[1].Value().Num()
		}
	}
	ok = ok && count.Value().Sign() >= 0 && count.Relation == printedtable.Equal && share.Relation == printedtable.Equal
	return count, share, n, ok
}

// gives reports whether count of n is printed as the percentage, by any of the
// rules of rounding.
func gives(count, n *big.Int, share printedtable.Number) bool {
	x := new(big.Rat).SetFrac(new(big.Int).Mul(count, big.NewInt(100)), n)
	for _, rule := range rules {
		if rule.round(x, share.Decimals).Cmp(share.Value()) == 0 {
			return true
		}
	}
	return false
}

// counts holds counts against their percentages.
func (in *inner) counts() {
	for _, e := range in.entries {
		count, share, n, ok := counted(e)
		if !ok {
			continue
		}
		whose := "printed beside it"
		if n == nil {
			s, known := in.sizes[e.cell.Where.Column]
			if known {
				n, whose = s.n, "of "+s.where
			}
		}
		k := count.Value().Num()
		if n != nil && k.Cmp(n) > 0 {
			in.ask(AskCount, e, "%s is more than the n = %s %s. Which of the two is meant?", count.Text, n, whose)
			continue
		}
		if n != nil && gives(k, n, share) {
			continue
		}
		least, most := denominators(k, share)
		fits := wholesText(least, most)
		switch {
		case k.Sign() == 0 && share.Value().Sign() == 0:
		case fits == "":
			in.ask(AskCount, e, "No whole number n gives %s for %s of n. Was one of the two printed from another table or another state of the data?", share.Text, count.Text)
		case n != nil:
			x := new(big.Rat).SetFrac(new(big.Int).Mul(k, big.NewInt(100)), n)
			in.ask(AskCount, e, "%s of the n = %s %s is %s%%, not %s; it would be so with n = %s. Is the percentage of another denominator, such as those with an answer?",
				count.Text, n, whose, halfUp(x, share.Decimals).FloatString(share.Decimals), share.Text, fits)
		}
	}
}

// denominators are the least and the greatest n for which the count gives the
// percentage, nil where there is none of the sort.
func denominators(count *big.Int, share printedtable.Number) (least, most *big.Int) {
	if count.Sign() == 0 {
		return big.NewInt(1), nil
	}
	unit := share.Unit()
	high := new(big.Rat).Add(share.Value(), unit) // cut off: up to a unit above
	low := new(big.Rat).Sub(share.Value(), new(big.Rat).Mul(unit, big.NewRat(5556, 10000)))
	hundred := new(big.Rat).SetInt(new(big.Int).Mul(count, big.NewInt(100)))
	at := new(big.Rat).Quo(hundred, high)
	least = new(big.Int).Quo(at.Num(), at.Denom())
	if least.Cmp(count) < 0 {
		least.Set(count)
	}
	if low.Sign() > 0 {
		at = new(big.Rat).Quo(hundred, low)
		most = new(big.Int).Add(new(big.Int).Quo(at.Num(), at.Denom()), big.NewInt(1))
	}
	limit := big.NewInt(100000)
	for most == nil || least.Cmp(most) <= 0 {
		if gives(count, least, share) {
			break
		}
		least.Add(least, big.NewInt(1))
		if limit.Sub(limit, big.NewInt(1)).Sign() == 0 {
			break
		}
	}
	if most == nil {
		return least, nil
	}
	for most.Cmp(least) >= 0 && !gives(count, most, share) {
		most.Sub(most, big.NewInt(1))
	}
	return least, most
}

// wholesText writes a range of whole numbers, "" for none.
func wholesText(least, most *big.Int) string {
	switch {
	case most == nil:
		return least.String() + " or more"
	case least.Cmp(most) > 0:
		return ""
	case least.Cmp(most) == 0:
		return least.String()
	}
	return least.String() + " to " + most.String()
}

package verdict

import (
	"math/big"
	"regexp"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printedtable"
)

var totalLabel = regexp.MustCompile(`(?i)^(?:total|all|overall|sum)\b`)

// countOf is the count that a cell holds, nil where it holds none.
func countOf(e entry) *big.Int {
	n := e.content.Numbers[0]
	switch e.content.Form {
	case printedtable.One:
		if !n.Whole() || n.Percent || n.Relation != printedtable.Equal {
			return nil
		}
	case printedtable.Pair:
		if _, _, _, ok := counted(e); !ok {
			return nil
		}
	default:
		return nil
	}
	return n.Value().Num()
}

// totals holds total rows against what stands above them, and a total column
// against those beside it.
func (in *inner) totals() {
	in.totalRows()
	in.totalColumns()
}

// totalRows sums, column by column, the rows of the same section above a row
// of totals. A block in which a row holds anything but a count is passed over.
func (in *inner) totalRows() {
	for _, e := range in.entries {
		if len(e.heading.Row) == 0 || !totalLabel.MatchString(e.heading.Row[0]) {
			continue
		}
		total := countOf(e)
		sum, rows := new(big.Int), 0
		for _, o := range slices.Backward(in.entries) {
			if o.cell.Where.Column != e.cell.Where.Column || o.cell.Where.Row >= e.cell.Where.Row {
				continue
			}
			if o.heading.Section != e.heading.Section || len(o.heading.Row) == 0 || totalLabel.MatchString(o.heading.Row[0]) || sizeLabel.MatchString(o.heading.Row[0]) {
				break
			}
			k := countOf(o)
			if k == nil || o.content.Form != e.content.Form {
				total = nil
				break
			}
			sum.Add(sum, k)
			rows++
		}
		if total != nil && rows > 1 && sum.Cmp(total) != 0 {
			in.ask(AskTotal, e, "The %d rows above it add up to %s, not %s. Is a row left out, counted twice, or missing in the table?", rows, sum, total)
		}
	}
}

// totalColumns sums, row by row, the columns of counts beside a column headed
// as total.
func (in *inner) totalColumns() {
	for _, e := range in.entries {
		column := e.heading.Column
		if len(column) == 0 || !slices.ContainsFunc(column, totalLabel.MatchString) {
			continue
		}
		total := countOf(e)
		sum, columns := new(big.Int), 0
		for _, o := range in.entries {
			if o.cell.Where.Row != e.cell.Where.Row || o.cell.Where.Column == e.cell.Where.Column {
				continue
			}
			k := countOf(o)
			switch {
			case k == nil && (o.content.Form == printedtable.One || o.content.Form != e.content.Form):
				continue // a P value, a difference
			case k == nil || slices.ContainsFunc(o.heading.Column, totalLabel.MatchString):
				total = nil
			default:
				sum.Add(sum, k)
				columns++
			}
		}
		if total != nil && columns > 1 && sum.Cmp(total) != 0 && in.splits(e) {
			in.ask(AskTotal, e, "The %d columns beside it add up to %s, not %s. Is a group not shown, or is somebody in two groups?", columns, sum, total)
		}
	}
}

// splits reports whether the sizes of the other columns add up to that of the
// total one, so that counts must too; where sizes are not known they are
// taken to.
func (in *inner) splits(e entry) bool {
	own, ok := in.sizes[e.cell.Where.Column]
	if !ok {
		return true
	}
	sum := new(big.Int)
	for column, s := range in.sizes {
		if column != e.cell.Where.Column {
			sum.Add(sum, s.n)
		}
	}
	return sum.Cmp(own.n) == 0 || strings.EqualFold(own.where, e.cell.Where.Cell())
}

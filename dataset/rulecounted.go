package dataset

import (
	"fmt"
	"math"

	"heelcohort/codebook"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// A counted adds the rows of a table to the rows that they link to.
type counted struct {
	total  *codebook.Total
	reader *RowReader
	when   *expression.Program // nil counts all rows
	what   *expression.Program // nil counts rows
	seen   map[seenValue]bool  // of a distinct count
}

// A seenValue is a value in the rows that link to row i.
type seenValue struct {
	i int
	v value.Value
}

func newCounted(t *codebook.Total, reader *RowReader, scope expression.Scope) (*counted, error) {
	k := &counted{total: t, reader: reader, seen: map[seenValue]bool{}}
	var err error
	if t.When.Value != "" {
		if k.when, err = compileCondition(t.When, t.Of, scope); err != nil {
			return nil, err
		}
	}
	if t.How != "count" {
		if k.what, err = expression.Compile(t.What.Value, scope); err != nil {
			return nil, placedFault(t.What, err)
		}
	}
	return k, nil
}

// add adds row j to the tally of row i.
func (k *counted) add(y *tally, i, j int) {
	row := k.reader.At(j)
	if k.when != nil {
		v := k.when.Eval(row)
		if v.Missing {
			y.untold = true
			return
		}
		if !v.Bool {
			return
		}
	}
	y.rows++
	if k.what == nil {
		y.sum.Add(1)
		return
	}
	v := k.what.Eval(row)
	switch {
	case v.Missing && v.Code == value.CodeFault:
		y.untold = true
	case v.Missing && y.first < 0:
		y.first = j
	case v.Missing:
	case k.total.How == "sum":
		y.sum.Add(v.Number)
		y.size += math.Abs(v.Number)
	case !k.seen[seenValue{i, v}]:
		k.seen[seenValue{i, v}] = true
		y.sum.Add(1)
	}
}

// how says in a sentence what was counted or summed.
func (k *counted) how(rows int, table string) string {
	if when := k.total.When.Value; when != "" {
		table += " where " + when
	}
	linked := fmt.Sprintf("the %d rows of %s that link to it", rows, table)
	if rows == 1 {
		linked = fmt.Sprintf("the one row of %s that links to it", table)
	}
	switch {
	case rows == 0:
		return fmt.Sprintf("no row of %s links to it, which makes", table)
	case k.total.How == "count":
		return fmt.Sprintf("the number of rows of %s that link to it is", table)
	case k.total.How == "distinct":
		return fmt.Sprintf("the number of different values of %s in %s is", k.total.What.Value, linked)
	}
	return fmt.Sprintf("the sum of %s over %s is", k.total.What.Value, linked)
}

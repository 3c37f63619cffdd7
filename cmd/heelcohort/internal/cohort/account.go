package cohort

import (
	"cmp"
	"errors"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/instrument"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
)

// An account counts what an instrument gave.
type account struct {
	note    result.Instrument
	missing map[string]int
	doubts  map[string]int
}

func newAccount(note result.Instrument) *account {
	return &account{note: note, missing: map[string]int{}, doubts: map[string]int{}}
}

func (a *account) add(v value.Value) {
	if v.Missing {
		a.missing[v.Code]++
		return
	}
	a.note.Values++
}

// cause counts why a row has no score, other than a missing operand. The values
// themselves are not told.
func (a *account) cause(err error) {
	for _, known := range []error{instrument.ErrIllegal, instrument.ErrOutsideReference, instrument.ErrTooFewItems, errOtherFoot} {
		if errors.Is(err, known) {
			a.doubt("No score: " + known.Error() + ".")
			return
		}
	}
}

func (a *account) doubt(text string) {
	if text != "" {
		a.doubts[text]++
	}
}

// done is the account, its lists in order.
func (a *account) done(t *dataset.Table, operands []operand) result.Instrument {
	for code, n := range a.missing {
		a.note.Missing = append(a.note.Missing, result.MissingCount{Code: code, N: n})
	}
	slices.SortFunc(a.note.Missing, func(x, y result.MissingCount) int { return strings.Compare(x.Code, y.Code) })
	type counted struct {
		text string
		n    int
	}
	var list []counted
	for text, n := range a.doubts {
		list = append(list, counted{text, n})
	}
	slices.SortFunc(list, func(x, y counted) int { return cmp.Compare(x.text, y.text) })
	warnings := slices.Clone(a.note.Warnings)
	for _, o := range operands {
		if o.doubts == nil {
			continue
		}
		if text := o.doubts(present(t.Column(o.Name))); text != "" {
			warnings = append(warnings, text)
		}
	}
	for _, c := range list {
		warnings = append(warnings, strings.TrimSuffix(c.text, ".")+" ("+rows(c.n)+").")
	}
	a.note.Warnings = warnings
	return a.note
}

// present lists the numbers of a column.
func present(c *dataset.Column) []float64 {
	var x []float64
	for i, state := range c.State {
		if state == dataset.Present {
			x = append(x, c.Number[i])
		}
	}
	return x
}

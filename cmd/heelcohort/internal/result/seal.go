package result

import (
	"errors"
	"fmt"
	"math"
)

// maxSealErrors is how many faults Seal reports one by one.
const maxSealErrors = 20

// Seal fills in the ids of the rows, replaces absent lists by empty ones, and
// checks that the results can be published:
//
//   - every row belongs to an analysis and has a part, a measure and an address
//     of its own;
//   - a row without estimate, statistic and P says why in Reason, and so does
//     a row with a confidence level whose limits are not both there;
//   - probabilities are within 0 to 1, levels within 0 to 1 exclusive, and
//     counts, person-time and standard errors are not negative.
//
// It reports every fault that it finds, up to 20.
func (res *Results) Seal() error {
	if res.Schema == "" {
		res.Schema = SchemaID
	}
	*res = *res.filled()
	known := make(map[string]bool, len(res.Analyses))
	var faults []error
	for _, a := range res.Analyses {
		if a.ID == "" || known[a.ID] {
			faults = append(faults, fmt.Errorf("analysis %q: the id is empty or given twice", a.ID))
		}
		known[a.ID] = true
	}
	first := make(map[string]int, len(res.Rows))
	for i := range res.Rows {
		r := &res.Rows[i]
		r.ID = r.Address()
		if j, twice := first[r.ID]; twice {
			faults = append(faults, fmt.Errorf("row %s: rows %d and %d have the same address", r.ID, j, i))
		}
		first[r.ID] = i
		if !known[r.Analysis] {
			faults = append(faults, fmt.Errorf("row %s: no analysis %q", r.ID, r.Analysis))
		}
		if fault := r.fault(); fault != "" {
			faults = append(faults, fmt.Errorf("row %s: %s", r.ID, fault))
		}
	}
	if n := len(faults); n > maxSealErrors {
		faults = append(faults[:maxSealErrors], fmt.Errorf("and %d more", n-maxSealErrors))
	}
	if err := errors.Join(faults...); err != nil {
		return fmt.Errorf("results: %w", err)
	}
	return nil
}

// fault is what is wrong with the row by itself, or "".
func (r *Row) fault() string {
	within := func(n Number, low, high float64) bool {
		return !n.Present() || float64(n) >= low && float64(n) <= high
	}
	switch {
	case r.Part == "" || r.Measure == "":
		return "no part or no measure"
	case !within(r.P, 0, 1):
		return fmt.Sprintf("P is %v, expected 0 to 1", r.P)
	case r.Level.Present() && (r.Level <= 0 || r.Level >= 1):
		return fmt.Sprintf("level is %v, expected between 0 and 1", r.Level)
	case float64(r.Lower) > float64(r.Upper):
		return fmt.Sprintf("lower limit %v is above the upper limit %v", r.Lower, r.Upper)
	}
	for _, amount := range []struct {
		name  string
		value Number
	}{
		{"n", r.N},
		{"events", r.Events},
		{"censored", r.Censored},
		{"person-time", r.PersonTime},
		{"standard error", r.SE},
		{"degrees of freedom", r.DF},
	} {
		if !within(amount.value, 0, math.MaxFloat64) {
			return fmt.Sprintf("%s is %v, expected 0 or more", amount.name, amount.value)
		}
	}
	if r.Reason != "" {
		return ""
	}
	if !r.Estimate.Present() && !r.Statistic.Present() && !r.P.Present() {
		return "no estimate and no reason"
	}
	if r.Level.Present() && r.Estimate.Present() && (!r.Lower.Present() || !r.Upper.Present()) {
		return "a limit is absent and no reason is given"
	}
	return ""
}

// filled is a copy of res in which no list is nil.
func (res *Results) filled() *Results {
	out := *res
	out.Settings = list(res.Settings)
	out.Findings = list(res.Findings)
	out.Exceptions = list(res.Exceptions)
	out.Flow = list(res.Flow)
	out.Instruments = append([]Instrument{}, res.Instruments...)
	for i := range out.Instruments {
		a := &out.Instruments[i]
		a.Settings, a.References = list(a.Settings), list(a.References)
		a.Missing, a.Warnings = list(a.Missing), list(a.Warnings)
	}
	out.Analyses = append([]Analysis{}, res.Analyses...)
	for i := range out.Analyses {
		a := &out.Analyses[i]
		a.Settings = list(a.Settings)
		a.Variables = append([]Variable{}, a.Variables...)
		for j := range a.Variables {
			a.Variables[j].Levels = list(a.Variables[j].Levels)
			a.Variables[j].Missing = list(a.Variables[j].Missing)
		}
		a.Accounting = list(a.Accounting)
		a.Warnings = list(a.Warnings)
		a.References = list(a.References)
		a.Figures = list(a.Figures)
	}
	out.Rows = append([]Row{}, res.Rows...)
	for i := range out.Rows {
		out.Rows[i].Groups = list(out.Rows[i].Groups)
		out.Rows[i].Warnings = list(out.Rows[i].Warnings)
	}
	return &out
}

// list is items, empty instead of nil.
func list[T any](items []T) []T {
	if items == nil {
		return []T{}
	}
	return items
}

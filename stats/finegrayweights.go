package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrUnobserved says that a weight has no estimate, because the chance of being
// under observation at some time is estimated as 0.
var ErrUnobserved = errors.New("the chance of being under observation is estimated as 0")

// An observationChance is the probability of being under observation by the
// Kaplan-Meier estimates of censoring and, with late entry, of entry.
type observationChance struct {
	at         []float64 // distinct times of censoring, in order
	censored   []float64 // rows censored then
	risk       []float64 // rows at risk of it: those that end then are not
	uncensored []float64 // G after so many of the times
	entry      []float64 // distinct times of entry, in order; nil without late entry
	entered    []float64 // H just after so many of the times
}

// newObservationChance estimates both from the rows. With late entry the first
// factor of H, 0, belongs to times at which nobody is at risk.
func newObservationChance(t CompetingTimes, late bool) observationChance {
	exits, entries := slices.Clone(t.Exit), slices.Clone(t.Entry)
	slices.Sort(exits)
	slices.Sort(entries)
	var censored, ended []float64
	for i, c := range t.Cause {
		if c == 0 {
			censored = append(censored, t.Exit[i])
		} else {
			ended = append(ended, t.Exit[i])
		}
	}
	slices.Sort(censored)
	slices.Sort(ended)
	o := observationChance{uncensored: []float64{1}}
	for i := 0; i < len(censored); {
		at, first := censored[i], i
		for ; i < len(censored) && censored[i] == at; i++ {
		}
		d := float64(i - first)
		inside := len(t.Exit)
		if t.Entry != nil {
			inside = below(entries, at)
		}
		// Of those not gone before, without the ends of the time itself.
		risk := float64(inside - below(exits, at) - upTo(ended, at) + below(ended, at))
		o.at, o.censored, o.risk = append(o.at, at), append(o.censored, d), append(o.risk, risk)
		o.uncensored = append(o.uncensored, o.uncensored[len(o.uncensored)-1]*(risk-d)/risk)
	}
	if !late {
		return o
	}
	o.entry = slices.Compact(slices.Clone(entries))
	o.entered = make([]float64, len(o.entry)+1)
	o.entered[len(o.entry)] = 1
	for j := len(o.entry) - 1; j >= 0; j-- {
		at := o.entry[j]
		d := float64(upTo(entries, at) - below(entries, at))
		risk := float64(upTo(entries, at) - upTo(exits, at))
		o.entered[j] = o.entered[j+1] * (risk - d) / risk
	}
	return o
}

// before is the chance just before t, G(t-) H(t-).
func (o observationChance) before(t float64) float64 {
	chance := o.uncensored[below(o.at, t)]
	if o.entry != nil {
		chance *= o.entered[below(o.entry, t)]
	}
	return chance
}

// influences returns for every row ∫ q(u)/Y(u) dM(u), M its martingale of
// censoring and Y the rows at risk of it: what the row's own censoring, or its
// staying, does to a sum that moves by -q for a relative change of G. q has a
// row for each time of censoring.
func (o observationChance) influences(t CompetingTimes, q [][]float64, p int) [][]float64 {
	sums := newMatrix(len(o.at)+1, p)
	for c, row := range q {
		for j, v := range row {
			sums[c+1][j] = sums[c][j] + float64(v*o.censored[c]/o.risk[c]/o.risk[c])
		}
	}
	out := newMatrix(len(t.Exit), p)
	for i, exit := range t.Exit {
		c := below(o.at, exit)
		if t.Cause[i] == 0 {
			for j, v := range q[c] {
				out[i][j] = v/o.risk[c] - sums[c+1][j]
			}
			continue
		}
		for j, v := range sums[c] {
			out[i][j] = -v
		}
	}
	return out
}

// fade gives the rows of m from the n-th on their weights: those that follow
// a row after another end.
func (o observationChance) fade(m *coxModel, n int) error {
	m.fading = &coxFading{row: make([]bool, len(m.index)), factor: make([]float64, len(m.groups))}
	earliest := math.Inf(1) // time from which a row fades
	least, refused := math.Inf(1), 0.0
	for k, i := range m.index {
		if i < n {
			continue
		}
		chance := o.before(m.entry[k])
		earliest = math.Min(earliest, m.entry[k])
		if chance < least {
			least, refused = chance, m.entry[k]
		}
		m.fading.row[k] = true
		m.weight[k] = 1 / chance
	}
	for g, group := range m.groups {
		m.fading.factor[g] = o.before(group.at)
		if group.at > earliest && m.fading.factor[g] < least {
			least, refused = m.fading.factor[g], group.at
		}
	}
	if !(least > 0) {
		return fmt.Errorf("%w at time %v: rows that ended otherwise have no weights", ErrUnobserved, refused)
	}
	return nil
}

// heaviest is the largest weight that a row which ended otherwise has at an
// event; above 1 only with late entry.
func (m *coxModel) heaviest() float64 {
	most, ahead, left := 0.0, 0.0, 0
	for g, group := range m.groups {
		for ; left < group.leave; left++ {
			if i := m.byEntry[left]; m.class(i) == 1 {
				most = math.Max(most, m.weight[i]*ahead)
			}
		}
		ahead = math.Max(ahead, m.fading.factor[g])
	}
	for ; left < len(m.byEntry); left++ {
		if i := m.byEntry[left]; m.class(i) == 1 {
			most = math.Max(most, m.weight[i]*ahead)
		}
	}
	return most
}

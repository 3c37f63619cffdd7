package stats

import (
	"fmt"
	"math"
	"slices"
	"sort"
)

// An influenced number is a value with the influence of each cluster on it.
type influenced struct {
	value float64
	by    []float64
}

func (i influenced) se() float64 {
	var sum Sum
	for _, v := range i.by {
		sum.Add(v * v)
	}
	return math.Sqrt(sum.Total())
}

func (i influenced) less(other influenced) influenced {
	out := influenced{i.value - other.value, slices.Clone(i.by)}
	for k := range out.by {
		out.by[k] -= other.by[k]
	}
	return out
}

func (i *influenced) add(other influenced, times float64) {
	i.value += float64(times * other.value)
	for k, v := range other.by {
		i.by[k] += float64(times * v)
	}
}

// An adjustedSource is what adjusted curves and the influence of rows on them are
// made of. Baseline hazards are those of the largest linear predictor of their
// stratum, and x is centred and scaled as the model's.
type adjustedSource struct {
	m        *coxModel
	beta     []float64
	strata   []adjustedStratum
	rows     []adjustedRow
	levels   []adjustedLevel
	total    float64 // of the rows' weights in the mean
	sampled  bool
	clusters int
	dfbeta   [][]float64 // of each cluster, scaled
	end      float64
}

// An adjustedStratum holds, from the earliest event time on, what has been up to
// each: entry 0 of the sums is before the first.
type adjustedStratum struct {
	time    []float64
	hazard  []float64   // Σ dΛ
	square  []float64   // Σ dΛ/ΣR, what a row at risk with a relative hazard of 1 takes off
	mean    [][]float64 // ∫ x̄ dΛ = −∂Λ/∂b
	weighed bool        // some row of it is in the mean
}

// An adjustedRow is a row given: its place in the mean and what it does to the
// baseline hazard of its stratum, where it was ever at risk at an event.
type adjustedRow struct {
	stratum, cluster int
	weight           float64 // in the mean
	relative         float64 // weight × exp(x'b) as observed; 0 for a row never at risk at an event
	first, last      int     // event times up to its entry and up to its exit
	own              float64 // what its event adds at the exit
}

// An adjustedLevel is the rows' covariates at a level.
type adjustedLevel struct {
	x        [][]float64
	relative []float64 // exp of the linear predictor
}

func (f Fit) newAdjustedSource(levels [][][]float64, opts AdjustedOptions) (*adjustedSource, error) {
	m, at := f.coxModel("adjusted survival")
	if f.Model == marginalCoxModel {
		panic("stats: adjusted survival of a model of several kinds of event")
	}
	if len(levels) == 0 {
		panic("stats: adjusted survival of no level")
	}
	for g, x := range levels {
		if len(x) != m.rows {
			panic(fmt.Sprintf("stats: %d rows of covariates at level %d, expected the model's %d", len(x), g, m.rows))
		}
	}
	s := &adjustedSource{m: m, beta: at.beta, sampled: !opts.Given}
	s.addStrata()
	if err := s.addRows(f.cox, opts.Weights); err != nil {
		return nil, err
	}
	if s.clusters < 2 {
		return nil, fmt.Errorf("%w: found %d, expected at least 2", ErrTooFewClusters, s.clusters)
	}
	s.dfbeta = newMatrix(s.clusters, len(at.beta))
	for i, score := range m.scoreResiduals(at.beta) {
		for j := range score {
			s.dfbeta[s.rows[i].cluster][j] += dot(at.covariance[j], score)
		}
	}
	for g, x := range levels {
		l, err := s.level(x, f.cox.offset, f.Terms)
		if err != nil {
			return nil, fmt.Errorf("level %d: %w", g+1, err)
		}
		s.levels = append(s.levels, l)
	}
	return s, nil
}

// addStrata makes the sums of each stratum, and what events add for their rows.
func (s *adjustedSource) addStrata() {
	m := s.m
	p := len(m.scale)
	steps := make([]adjustedStep, len(m.groups))
	_, w := m.relativeHazards(s.beta)
	g := 0
	m.visit(w, coxMeans, func(_ coxGroup, risk, tied []float64) {
		steps[g] = m.adjustedStep(m.groups[g], risk, tied)
		g++
	})
	s.rows = make([]adjustedRow, m.rows)
	for i := range s.rows {
		s.rows[i].stratum = -1
	}
	for h, stratum := range m.strata {
		out := adjustedStratum{hazard: []float64{0}, square: []float64{0}, mean: [][]float64{make([]float64, p)}}
		for g := stratum.toGroup - 1; g >= stratum.firstGroup; g-- {
			k, step := len(out.time), steps[g]
			out.time = append(out.time, m.groups[g].at)
			out.hazard = append(out.hazard, out.hazard[k]+step.hazard)
			out.square = append(out.square, out.square[k]+step.square)
			mean := slices.Clone(out.mean[k])
			for j := range mean {
				mean[j] += step.mean[j]
			}
			out.mean = append(out.mean, mean)
			for _, i := range m.groups[g].events {
				s.rows[m.index[i]].own = float64(m.weight[i]*step.each) + float64(w[i]*step.spared)
			}
		}
		for i := stratum.from; i < stratum.to; i++ {
			r := &s.rows[m.index[i]]
			r.stratum, r.relative = h, w[i]
			r.last = out.upTo(m.exit[i])
			if m.byEntry != nil {
				r.first = out.upTo(m.entry[i])
			}
		}
		s.strata = append(s.strata, out)
	}
}

// An adjustedStep is what an event time does to the baseline hazard.
type adjustedStep struct {
	hazard, square float64
	each           float64 // dΛ for a unit of weight of the events
	spared         float64 // the part of square that a row of Efron's tied events is spared
	mean           []float64
}

func (m *coxModel) adjustedStep(g coxGroup, risk, tied []float64) adjustedStep {
	step := adjustedStep{mean: make([]float64, len(m.scale))}
	parts, each := m.parts(g)
	for k := range parts {
		part := m.share(k, parts)
		s0 := risk[0] - float64(part*tied[0])
		step.hazard += each / s0
		step.square += each / s0 / s0
		step.spared += float64(part * each / s0 / s0)
		for j := range step.mean {
			step.mean[j] += (risk[1+j] - float64(part*tied[1+j])) / s0 * each / s0
		}
	}
	step.each = step.hazard / float64(each*float64(parts))
	return step
}

// upTo counts the event times up to t.
func (s *adjustedStratum) upTo(t float64) int {
	return sort.Search(len(s.time), func(i int) bool { return s.time[i] > t })
}

// addRows gives the rows their place in the mean and their clusters.
func (s *adjustedSource) addRows(given *coxFit, weights []float64) error {
	m := s.m
	if weights == nil {
		weights = given.weights
	} else if len(weights) != m.rows {
		panic(fmt.Sprintf("stats: %d weights for %d rows of the model", len(weights), m.rows))
	}
	stratum := map[int]int{}
	for h, st := range m.strata {
		stratum[st.number] = h
	}
	number := map[int]int{}
	for i := range s.rows {
		r := &s.rows[i]
		r.weight = 1
		if weights != nil {
			r.weight = weights[i]
			if !(r.weight >= 0) || math.IsInf(r.weight, 1) {
				panic(fmt.Sprintf("stats: row %d has weight %v, expected a finite number of 0 or more", i+1, r.weight))
			}
		}
		own, c := 0, i
		if given.strata != nil {
			own = given.strata[i]
		}
		if given.cluster != nil {
			c = given.cluster[i]
		}
		k, known := number[c]
		if !known {
			k = len(number)
			number[c] = k
		}
		r.cluster = k
		if r.weight == 0 && r.stratum < 0 {
			r.stratum = 0 // bears on nothing
			continue
		}
		h, known := stratum[own]
		if !known {
			return fmt.Errorf("%w in stratum %d, whose baseline hazard is not known", ErrNoEvents, own)
		}
		r.stratum = h
		if r.weight > 0 {
			s.strata[h].weighed = true
			s.total += r.weight
		}
	}
	if s.total == 0 {
		return fmt.Errorf("%w: no row has a weight", ErrNoData)
	}
	s.clusters = len(number)
	s.end = math.Inf(1)
	for h, st := range m.strata {
		if s.strata[h].weighed {
			s.end = math.Min(s.end, st.last)
		}
	}
	return nil
}

// level makes the rows of a level.
func (s *adjustedSource) level(x [][]float64, offset []float64, terms []string) (adjustedLevel, error) {
	largest := make([]float64, len(s.strata))
	for h, st := range s.m.strata {
		largest[h] = math.Inf(-1)
		for i := st.from; i < st.to; i++ {
			largest[h] = math.Max(largest[h], s.m.offset[i]+dot(s.m.x[i], s.beta))
		}
	}
	for i, row := range x {
		if len(row) != len(terms) {
			panic(fmt.Sprintf("stats: row %d has %d covariates, expected %d", i+1, len(row), len(terms)))
		}
	}
	if err := checkCovariates(x, terms); err != nil {
		return adjustedLevel{}, err
	}
	var l adjustedLevel
	var wrong []int
	for i, row := range x {
		r := s.rows[i]
		scaled := s.m.standard(s.m.strata[r.stratum], row)
		eta := dot(scaled, s.beta) - largest[r.stratum]
		if offset != nil {
			eta += offset[i]
		}
		relative := math.Exp(eta)
		if r.weight > 0 && !finite(relative) {
			wrong = append(wrong, i)
		}
		l.x, l.relative = append(l.x, scaled), append(l.relative, relative)
	}
	if wrong != nil {
		return l, fmt.Errorf("hazard of %d of %d rows (%s): %w", len(wrong), len(x), firstRows(wrong), ErrNotFinite)
	}
	return l, nil
}

// at is the adjusted survival of each level at a time with the clusters'
// influence on it.
func (s *adjustedSource) at(t float64) []influenced {
	steps := make([]int, len(s.strata))
	for h := range s.strata {
		steps[h] = s.strata[h].upTo(t)
	}
	out := make([]influenced, len(s.levels))
	survival := make([]float64, len(s.rows))
	gradient := make([]float64, len(s.beta))
	byHazard := make([]float64, len(s.strata)) // ∂S/∂Λ
	for g, l := range s.levels {
		clear(gradient)
		clear(byHazard)
		var sum Sum
		for i, r := range s.rows {
			if r.weight == 0 {
				continue
			}
			st, k := &s.strata[r.stratum], steps[r.stratum]
			survival[i] = math.Exp(-float64(l.relative[i] * st.hazard[k]))
			sum.Add(r.weight * survival[i])
			slope := r.weight * survival[i] * l.relative[i] / s.total
			byHazard[r.stratum] -= slope
			for j, x := range l.x[i] {
				gradient[j] -= float64(slope * (float64(x*st.hazard[k]) - st.mean[k][j]))
			}
		}
		p := influenced{value: math.Min(1, sum.Total()/s.total), by: make([]float64, s.clusters)}
		for c, d := range s.dfbeta {
			p.by[c] = dot(gradient, d)
		}
		for i, r := range s.rows {
			if s.sampled && r.weight > 0 {
				p.by[r.cluster] += r.weight * (survival[i] - p.value) / s.total
			}
			if r.relative == 0 || byHazard[r.stratum] == 0 {
				continue
			}
			st, k := &s.strata[r.stratum], steps[r.stratum]
			hazard := -float64(r.relative * (st.square[min(k, r.last)] - st.square[min(k, r.first)]))
			if r.last <= k {
				hazard += r.own
			}
			p.by[r.cluster] += float64(byHazard[r.stratum] * hazard)
		}
		out[g] = p
	}
	return out
}

// eventTimes are those up to the end of the strata in the mean, in order.
func (s *adjustedSource) eventTimes() []float64 {
	var times []float64
	for _, st := range s.strata {
		if st.weighed {
			times = append(times, st.time[:st.upTo(s.end)]...)
		}
	}
	slices.Sort(times)
	return slices.Compact(times)
}

// shortest names the stratum that ends first, where there are several.
func (s *adjustedSource) shortest() string {
	if len(s.strata) < 2 {
		return ""
	}
	for h, st := range s.m.strata {
		if s.strata[h].weighed && st.last == s.end {
			return fmt.Sprintf(" in stratum %d, the shortest", st.number)
		}
	}
	return ""
}

// warnings looks for what late entry does to the baseline hazards.
func (s *adjustedSource) warnings() []Warning {
	var ws []Warning
	late, small, first := 0.0, 0, 0.0
	for h, st := range s.m.strata {
		if !s.strata[h].weighed {
			continue
		}
		late = math.Max(late, st.first)
		most := 0
		for _, g := range s.m.groups[st.firstGroup:st.toGroup] { // latest first
			n := g.join - g.leave
			if most = max(most, n); n < smallRiskSet && most >= smallRiskSet {
				if small++; small == 1 || g.at < first {
					first = g.at
				}
			}
		}
	}
	if late > 0 {
		where := "Nobody is"
		if len(s.strata) > 1 {
			where = "In some stratum nobody is"
		}
		ws = append(ws, Warning{"conditional-start", fmt.Sprintf(
			"%s under observation before %g: the curves are conditional on no event before then.", where, late)})
	}
	if small > 0 {
		ws = append(ws, Warning{"small-risk-set", fmt.Sprintf(
			"At %d event times, the first %g, fewer than %d were at risk before later entries: the curves rest on them from there on.", small, first, smallRiskSet)})
	}
	return ws
}

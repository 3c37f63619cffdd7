package stats

import (
	"fmt"
	"math"
)

// ProportionalHazardsOptions are the choices of Fit.ProportionalHazards; the
// zero value is the exact test of each column with the Kaplan-Meier scale.
type ProportionalHazardsOptions struct {
	Time        string        // TimeKaplanMeier (the meaning of ""), TimeIdentity, TimeRank or TimeLog
	Terms       []TermColumns // nil: each column of its own
	Approximate bool          // the test of Grambsch and Therneau
}

// TermColumns are columns of a model that make up one term, such as the levels
// of a category, by their numbers from 0.
type TermColumns struct {
	Name    string
	Columns []int
}

// ProportionalHazards are tests of whether hazard ratios are constant in time.
type ProportionalHazards struct {
	Time   string
	Terms  []Test // one a term
	Global Test   // of all columns
	N      int
	Events int
}

// ProportionalHazards tests whether the hazard ratios of a Cox model are the
// same at all times. The alternative is that the coefficient of column j is
// b_j + c_j g(t) for a known function g of time, of which opts.Time chooses one;
// the test is the score test of c = 0 for the columns of a term, the other
// terms being constant, and of all c = 0. With r_k the summed Schoenfeld
// residuals of the event time t_k (Fit.ScaledSchoenfeld) and V_k the covariance
// of the covariates in its risk set, both with the model's handling of ties,
//
//	U = Σ g(t_k) r_k,  J = Σ V_k [1 g; g g²]
//
// and the statistic is U_J' (C − B'A⁻¹B)⁻¹ U_J, referred to the chi-squared
// distribution on the number of columns tested: A, B and C are the parts of J
// for b, for b and the c tested, and for the c tested. It does not change when a
// number is added to g or multiplies it. With Strata risk sets are those of the
// strata and g is common.
//
// This is the exact score test. The test of Grambsch and Therneau, which
// opts.Approximate asks for and which older programs and books print,
// replaces each V_k by the mean A/d over the d events: with z = A⁻¹U and g
// centred on its mean over the events it is d z_J' (A⁻¹)_JJ⁻¹ z_J / Σ (g − ḡ)².
// The two differ where the covariates' spread in the risk sets changes in time.
//
// Convention of g: the Kaplan-Meier curve is of all rows in all strata, each
// counted once, and left-continuous, so that g of the first event is 0; ranks
// are of the exits of all rows, censored ones too, ties with their mean.
//
// A small P says that the ratio changes, a large one not that it is constant;
// with many events small changes are found. The test takes rows to be
// independent and weights to be numbers of equal rows; models with robust errors
// give the warning model-based. Where the columns tested leave no information on
// a change in time, the test's numbers are NaN with the warning not-estimable.
//
// It returns ErrNoVariance where all events have one g, and ErrTimeNotPositive
// for the logarithm of an event at 0. Asking another model's Fit, or one with
// exact ties, or for columns that are not there or twice in a term, is the
// caller's mistake.
//
// Grambsch PM, Therneau TM. Proportional hazards tests and diagnostics based on
// weighted residuals. Biometrika 1994;81:515-526. Therneau TM, Grambsch PM.
// Modeling Survival Data. Springer, 2000, chapter 6. Cox DR. Regression models
// and life-tables. J R Stat Soc B 1972;34:187-220, section 6.
func (f Fit) ProportionalHazards(opts ProportionalHazardsOptions) (ProportionalHazards, error) {
	m, at := f.coxModel("a test of proportional hazards")
	if opts.Time == "" {
		opts.Time = TimeKaplanMeier
	}
	terms := checkTermColumns(opts.Terms, f.Terms)
	r := ProportionalHazards{Time: opts.Time, N: m.rows, Events: m.events}
	g, err := m.timeScale(opts.Time)
	if err != nil {
		return r, fmt.Errorf("test of proportional hazards: %w", err)
	}
	if !m.standardiseTime(g, opts.Approximate) {
		return r, fmt.Errorf("test of proportional hazards: %w: all %d events have one time on the scale %q", ErrNoVariance, m.events, opts.Time)
	}
	p := len(f.Terms)
	s := m.timeScores(at.beta, g)
	test := func(name string, columns []int) Test {
		t := Test{Name: name, Statistic: math.NaN(), DF: float64(len(columns)), P: math.NaN(), Method: "chi-squared, score test of a change with the time scale " + opts.Time}
		if opts.Approximate {
			t.Statistic = m.unit * s.approximate(columns)
			t.Method = "chi-squared, approximate score test (Grambsch and Therneau) of a change with the time scale " + opts.Time
		} else {
			t.Statistic = m.unit * s.exact(columns)
		}
		if math.IsNaN(t.Statistic) {
			t.Warnings = append(t.Warnings, Warning{"not-estimable", "The events leave no information on a change in time of these columns: there is no test."})
		} else {
			t.P = chiSquaredTail(t.Statistic, t.DF)
		}
		if f.Robust != "" {
			t.Warnings = append(t.Warnings, Warning{"model-based", "This test takes rows to be independent and a weight to be a number of equal rows."})
		}
		return t
	}
	all := make([]int, p)
	for j := range all {
		all[j] = j
	}
	for _, term := range terms {
		r.Terms = append(r.Terms, test(term.Name, term.Columns))
	}
	r.Global = test("global", all)
	return r, nil
}

// checkTermColumns panics on columns that are not there.
func checkTermColumns(terms []TermColumns, names []string) []TermColumns {
	if terms == nil {
		for j, name := range names {
			terms = append(terms, TermColumns{name, []int{j}})
		}
	}
	for _, term := range terms {
		seen := map[int]bool{}
		for _, j := range term.Columns {
			if j < 0 || j >= len(names) || seen[j] {
				panic(fmt.Sprintf("stats: column %d of term %q, expected each of 0 to %d at most once", j, term.Name, len(names)-1))
			}
			seen[j] = true
		}
		if len(term.Columns) == 0 {
			panic(fmt.Sprintf("stats: term %q without columns", term.Name))
		}
	}
	return terms
}

// standardiseTime centres g on its mean over the events and divides it by its
// standard deviation there, and reports whether there is one. Events count with
// their weight, or once each.
func (m *coxModel) standardiseTime(g []float64, once bool) bool {
	weight := make([]float64, len(g))
	total, sum, largest := 0.0, 0.0, 0.0
	for k, group := range m.groups {
		weight[k] = float64(len(group.events))
		if !once {
			weight[k] = m.eventWeight(group)
		}
		total += weight[k]
		sum += float64(weight[k] * (g[k] - g[0]))
		largest = math.Max(largest, math.Abs(g[k]))
	}
	mean := g[0] + sum/total
	squares := 0.0
	for k := range g {
		g[k] -= mean
		squares += float64(weight[k] * g[k] * g[k])
	}
	sd := math.Sqrt(squares / total)
	if !(sd > 1e-13*largest) {
		return false
	}
	for k := range g {
		g[k] /= sd
	}
	return true
}

func (m *coxModel) eventWeight(g coxGroup) float64 {
	sum := 0.0
	for _, i := range g.events {
		sum += m.weight[i]
	}
	return sum
}

// timeScores are sums over event times on the scaled columns: U and the parts of
// J, with g standardised.
type timeScores struct {
	u       []float64
	a, b, c [][]float64
}

func (m *coxModel) timeScores(beta, g []float64) timeScores {
	p := len(beta)
	s := timeScores{make([]float64, p), newMatrix(p, p), newMatrix(p, p), newMatrix(p, p)}
	k := 0
	m.visitMoments(beta, func(group coxGroup, mean []float64, spread [][]float64) {
		for _, i := range group.events {
			for j, x := range m.x[i] {
				s.u[j] += float64(g[k] * m.weight[i] * (x - mean[j]))
			}
		}
		for j := range p {
			for h := range p {
				v := spread[j][h]
				s.a[j][h] += v
				s.b[j][h] += float64(g[k] * v)
				s.c[j][h] += float64(g[k] * g[k] * v)
			}
		}
		k++
	})
	return s
}

// visitMoments calls f for every event time, in the order of the groups, with
// the mean of the covariates over its risk set and their covariance times the
// weight of its events; both average over Efron's denominators.
func (m *coxModel) visitMoments(beta []float64, f func(g coxGroup, mean []float64, spread [][]float64)) {
	p := len(beta)
	_, w := m.relativeHazards(beta)
	average, mean, spread := make([]float64, p), make([]float64, p), newMatrix(p, p)
	m.visit(w, coxProducts, func(g coxGroup, risk, tied []float64) {
		parts, each := m.parts(g)
		clear(average)
		for j := range spread {
			clear(spread[j])
		}
		for k := range parts {
			part := m.share(k, parts)
			s0 := risk[0] - float64(part*tied[0])
			at := 1 + p
			for j := range p {
				mean[j] = (risk[1+j] - float64(part*tied[1+j])) / s0
				average[j] += mean[j] / float64(parts)
				for h := range j + 1 {
					spread[j][h] += float64(each * ((risk[at]-float64(part*tied[at]))/s0 - float64(mean[j]*mean[h])))
					spread[h][j] = spread[j][h]
					at++
				}
			}
		}
		f(g, average, spread)
	})
}

// timeTolerance is the share of a column's information on its change in time,
// given the rest, below which there is none.
const timeTolerance = 1e-10

// exact is the score statistic of some columns; NaN where it does not exist.
func (s timeScores) exact(columns []int) float64 {
	p := len(s.u)
	j, u := newMatrix(p+len(columns), p+len(columns)), make([]float64, p+len(columns))
	for i := range p {
		copy(j[i], s.a[i])
	}
	for k, c := range columns {
		u[p+k] = s.u[c]
		for i := range p {
			j[p+k][i], j[i][p+k] = s.b[i][c], s.b[i][c]
		}
		for h, d := range columns {
			j[p+k][p+h] = s.c[c][d]
		}
	}
	l, _, ok := cholesky(j, timeTolerance)
	if !ok {
		return math.NaN()
	}
	return math.Max(0, dot(u, choleskySolve(l, u)))
}

// approximate is the statistic of Grambsch and Therneau; g has the variance 1
// over the events, so that d / Σ (g − ḡ)² is 1.
func (s timeScores) approximate(columns []int) float64 {
	l, _, ok := cholesky(s.a, timeTolerance)
	if !ok {
		return math.NaN()
	}
	z, inverse := choleskySolve(l, s.u), choleskyInverse(l)
	some, v := make([]float64, len(columns)), newMatrix(len(columns), len(columns))
	for i, c := range columns {
		some[i] = z[c]
		for k, d := range columns {
			v[i][k] = inverse[c][d]
		}
	}
	if l, _, ok = cholesky(v, timeTolerance); !ok {
		return math.NaN()
	}
	return math.Max(0, dot(some, choleskySolve(l, some)))
}

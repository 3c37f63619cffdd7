package stats

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// A coxMaximum is where the iterations ended, on the scaled columns.
type coxMaximum struct {
	beta               []float64
	covariance         [][]float64 // inverse information; nil if singular
	before             [][]float64 // the same at 0
	logLik, nullLogLik float64
	score              float64 // score statistic at 0
	iterations         int
	converged          bool
}

// columnTolerance is the share of a column's information, given the columns
// before it, below which it counts as a combination of them: a squared
// multiple correlation of 1 - 1e-9 within the risk sets.
const columnTolerance = 1e-9

// checkColumns refuses columns that the partial likelihood does not tell apart.
func (m *coxModel) checkColumns(terms []string) error {
	where := "in all rows at risk at an event"
	if len(m.strata) > 1 {
		where = "within each stratum in all rows at risk at an event"
	}
	for j, s := range m.scale {
		if s == 0 {
			return fmt.Errorf("term %q has one value %s: %w", terms[j], where, ErrCollinear)
		}
	}
	null := m.atNull()
	information := null.information
	if !finite(null.logLik) {
		return fmt.Errorf("%w: the likelihood at 0, weights or offsets being too far apart", ErrNotFinite)
	}
	for j := range terms {
		// Each event adds at most about 1 on scaled columns.
		if !(information[j][j] > 1e-12*float64(m.events)) {
			return fmt.Errorf("term %q has one value within each risk set: %w", terms[j], ErrCollinear)
		}
	}
	_, column, ok := cholesky(information, columnTolerance)
	if ok {
		return nil
	}
	// Which of the earlier columns make it up: regress on them.
	before := newMatrix(column, column)
	for i := range column {
		copy(before[i], information[i][:column])
	}
	l, _, _ := cholesky(before, columnTolerance)
	var others []string
	for i, c := range choleskySolve(l, information[column][:column]) {
		if math.Abs(c) > 1e-4 {
			others = append(others, terms[i])
		}
	}
	return fmt.Errorf("term %q is a combination of %s: %w", terms[column], quotedList(others), ErrCollinear)
}

// maximise runs Newton's method from 0. It stops after a step from where the
// squared distance to the maximum, in standard errors (the Newton decrement),
// is below 1e-12, so that the distance left is of the order of rounding.
func (m *coxModel) maximise(limit int) coxMaximum {
	beta := make([]float64, len(m.scale))
	null := m.atNull()
	logLik, gradient, information := null.logLik, null.gradient, null.information
	best := coxMaximum{nullLogLik: logLik}
	for best.iterations < limit && !best.converged {
		l, _, ok := cholesky(information, 1e-14)
		if !ok {
			break
		}
		step := choleskySolve(l, gradient)
		decrement := dot(gradient, step)
		if best.iterations == 0 {
			best.score, best.before = decrement, choleskyInverse(l)
		}
		best.iterations++
		best.converged = decrement < 1e-12
		next, nextLogLik, nextGradient, nextInformation := m.step(beta, step, logLik, best.converged)
		if next == nil {
			break
		}
		beta, logLik, gradient, information = next, nextLogLik, nextGradient, nextInformation
	}
	best.beta, best.logLik = beta, logLik
	if l, _, ok := cholesky(information, 1e-14); ok {
		best.covariance = choleskyInverse(l)
	} else {
		best.converged = false
	}
	return best
}

// step moves along a Newton step, halved until the likelihood does not fall;
// next is nil when no part of it helps. The last step is taken whole: at the
// maximum the likelihood cannot tell neighbours apart.
func (m *coxModel) step(beta, step []float64, logLik float64, last bool) (next []float64, nextLogLik float64, gradient []float64, information [][]float64) {
	for part := 1.0; part > 1e-9; part /= 2 {
		next := moved(beta, step, part)
		nextLogLik, gradient, information = m.likelihood(next)
		if last || nextLogLik >= logLik-1e-12*math.Abs(logLik) {
			return next, nextLogLik, gradient, information
		}
	}
	return nil, logLik, nil, nil
}

func moved(beta, direction []float64, by float64) []float64 {
	out := make([]float64, len(beta))
	for j := range out {
		out[j] = beta[j] + float64(by*direction[j])
	}
	return out
}

// separated names the terms whose coefficient has no finite maximum. Along the
// profile of a coefficient (the others following) a maximum lets the
// likelihood fall by about 2 at two standard errors on either side. Where the
// likelihood is monotone it does not fall at all on the outer side, however
// far one goes.
func (m *coxModel) separated(at coxMaximum, terms []string) []string {
	if at.covariance == nil || at.vanished() {
		return m.ranOff(at, terms)
	}
	if !at.converged {
		return nil
	}
	var names []string
	ranges := m.ranges()
	for j, b := range at.beta {
		direction := make([]float64, len(at.beta))
		se := math.Sqrt(at.covariance[j][j])
		for h := range direction {
			direction[h] = at.covariance[h][j] / se
		}
		if m.leastFall(direction, ranges) > surelyFalls {
			continue
		}
		// No further than the weights can follow.
		by := math.Min(2, 30/m.reach(direction))
		logLik, _, _ := m.likelihood(moved(at.beta, direction, math.Copysign(by, b)))
		if math.Abs(at.logLik-logLik) < 1e-6 {
			names = append(names, terms[j])
		}
	}
	return names
}

// surelyFalls is by how much the likelihood must fall at least, so that nobody
// needs to look.
const surelyFalls = 1e-3

// leastFall is a bound from below on how much the log likelihood falls two
// standard errors from the maximum along a direction in which its information is
// 1. It is a sum of logarithms of sums of exponentials; where two linear
// predictors differ by at most R, the third derivative of each is at most R
// times the second, so that it falls t away by at least
//
//	(exp(−Rt) + Rt − 1)/R²
//
// (Bach F. Self-concordant analysis for logistic regression. Electron J Stat
// 2010;4:384-414, proposition 1.) Exact ties add up rows: no bound is made.
func (m *coxModel) leastFall(direction, ranges []float64) float64 {
	if m.ties == TiesExact {
		return 0
	}
	reach := 0.0
	for j, most := range ranges {
		reach += math.Abs(direction[j]) * most
	}
	by := math.Min(2, 30/reach)
	z := reach * by
	if z < 1e-4 {
		return 0.49 * by * by // the limit is a half
	}
	return by * by * (math.Exp(-z) + z - 1) / (z * z)
}

// ranges are how far apart the values of each column are.
func (m *coxModel) ranges() []float64 {
	low, high := slices.Clone(m.x[0]), slices.Clone(m.x[0])
	for _, row := range m.x {
		for j, v := range row {
			low[j], high[j] = math.Min(low[j], v), math.Max(high[j], v)
		}
	}
	return moved(high, low, -1)
}

// vanishing is how many times its variance at 0 a coefficient's variance must
// be for its information to count as gone: by the factor exp(-23), where what
// is left of it is mostly rounding.
const vanishing = 1e10

// vanished reports whether the information on some coefficient is gone.
func (at coxMaximum) vanished() bool {
	for j := range at.before {
		if at.covariance[j][j] > vanishing*at.before[j][j] {
			return true
		}
	}
	return false
}

// ranOff names the terms that ran so far that their information vanished.
func (m *coxModel) ranOff(at coxMaximum, terms []string) []string {
	var names []string
	for j, b := range at.beta {
		direction := make([]float64, len(at.beta))
		direction[j] = b
		if m.reach(direction) > 20 {
			names = append(names, terms[j])
		}
	}
	return names
}

// reach is the largest difference a direction makes between two linear
// predictors of a stratum.
func (m *coxModel) reach(direction []float64) float64 {
	reach := 0.0
	for _, s := range m.strata {
		low, high := math.Inf(1), math.Inf(-1)
		for _, row := range m.x[s.from:s.to] {
			e := dot(row, direction)
			low, high = math.Min(low, e), math.Max(high, e)
		}
		reach = math.Max(reach, high-low)
	}
	return reach
}

// finite maximises the likelihood, and says by what events a likelihood rises
// without bound.
func (m *coxModel) finite(iterations int, terms []string, events string) (coxMaximum, error) {
	at := m.maximise(iterations)
	probe := at
	if !at.converged && iterations < defaultCoxIterations {
		probe = m.maximise(defaultCoxIterations) // only to tell why
	}
	if names := m.separated(probe, terms); len(names) > 0 {
		return at, fmt.Errorf("%w: the likelihood keeps rising as the coefficient of %s grows without bound (%d %s)",
			ErrSeparation, quotedList(names), m.events, events)
	}
	if !at.converged {
		return at, fmt.Errorf("%w after %d iterations", ErrNotConverged, at.iterations)
	}
	return at, nil
}

// quotedList writes names as "a", "b" and "c".
func quotedList(names []string) string {
	var b strings.Builder
	for i, name := range names {
		switch {
		case i == 0:
		case i == len(names)-1:
			b.WriteString(" and ")
		default:
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "%q", name)
	}
	return b.String()
}

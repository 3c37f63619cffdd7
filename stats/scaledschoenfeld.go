package stats

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// ScaledSchoenfeld are residuals of a Cox model that show how its coefficients
// change in time: one row an event, stratum by stratum and earliest first,
// events of one time in the caller's order.
type ScaledSchoenfeld struct {
	Scale     string      // the time scale g
	Terms     []string    // of the columns
	Row       []int       // the caller's row of each event, from 0
	Stratum   []int       // the caller's stratum of each event; nil without strata
	Time      []float64   // of each event
	ScaleTime []float64   // g of it
	Weight    []float64   // the row's weight
	Residual  [][]float64 // of each event and column; NaN where the column has one value in the stratum
	Variance  [][]float64 // of a residual of an event of weight 1
	Constant  []float64   // the coefficients of the model, constant in time
	Warnings  []Warning
}

// ScaledSchoenfeld computes the scaled Schoenfeld residuals of a Cox model, on a
// time scale as ProportionalHazards has it ("" for Kaplan-Meier). The Schoenfeld
// residual of an event is r = x − x̄, its covariates less their mean over the
// risk set; at tied times x̄ is the mean over Efron's denominators. With V the
// mean over the events of the covariates' covariance in the risk set,
//
//	residual = b + V⁻¹ r
//
// whose mean at t is near the coefficient at t, b(t), when hazard ratios change.
// V⁻¹ is the same for all events and is also the residuals' variance under
// constant ratios. Where some column has one value in all of a stratum, its
// entries of V are means over the other strata's events and V⁻¹ is of the
// columns that vary; the others have no residual there, NaN. Events count in V with their
// weight, so that the unit of weights does not matter.
//
// It returns ErrTimeNotPositive as ProportionalHazards does, and ErrNoVariance
// where strata with different columns leave V without an inverse. Asking another
// model's Fit, or one with exact ties, is the caller's mistake.
//
// Schoenfeld D. Partial residuals for the proportional hazards regression model.
// Biometrika 1982;69:239-241. Grambsch PM, Therneau TM. Biometrika
// 1994;81:515-526.
func (f Fit) ScaledSchoenfeld(scale string) (ScaledSchoenfeld, error) {
	m, at := f.coxModel("scaled Schoenfeld residuals")
	if scale == "" {
		scale = TimeKaplanMeier
	}
	p := len(f.Terms)
	s := ScaledSchoenfeld{Scale: scale, Terms: slices.Clone(f.Terms), Constant: slices.Clone(f.Coefficients)}
	g, err := m.timeScale(scale)
	if err != nil {
		return s, fmt.Errorf("scaled Schoenfeld residuals: %w", err)
	}
	means := make([][]float64, 0, len(m.groups))
	information := newMatrix(p, p)
	m.visitMoments(at.beta, func(_ coxGroup, mean []float64, spread [][]float64) {
		means = append(means, slices.Clone(mean))
		for j := range p {
			for h := range p {
				information[j][h] += spread[j][h]
			}
		}
	})
	varying, weights := m.varyingColumns()
	for j := range p {
		for h := range p {
			if weights[j][h] > 0 {
				information[j][h] /= weights[j][h]
			}
		}
	}
	for h, stratum := range m.strata {
		columns := varying[h]
		l, _, ok := cholesky(submatrix(information, columns), timeTolerance)
		if !ok {
			return s, fmt.Errorf("scaled Schoenfeld residuals of stratum %d: %w: the mean covariance of the columns has no inverse", stratum.number, ErrNoVariance)
		}
		for k := stratum.toGroup - 1; k >= stratum.firstGroup; k-- {
			group := m.groups[k]
			events := slices.Clone(group.events)
			slices.SortFunc(events, func(a, b int) int { return m.index[a] - m.index[b] })
			for _, i := range events {
				s.Row = append(s.Row, m.index[i])
				if f.Strata > 0 {
					s.Stratum = append(s.Stratum, stratum.number)
				}
				s.Time, s.ScaleTime = append(s.Time, group.at), append(s.ScaleTime, g[k])
				s.Weight = append(s.Weight, m.weight[i]*m.unit)
				s.Residual = append(s.Residual, m.scaledResidual(i, means[k], columns, l, s.Constant))
			}
		}
	}
	l, _, ok := cholesky(information, timeTolerance)
	if !ok {
		return s, fmt.Errorf("scaled Schoenfeld residuals: %w: the mean covariance of the columns has no inverse", ErrNoVariance)
	}
	s.Variance = m.unscale(choleskyInverse(l))
	return s, nil
}

// scaledResidual is b + V⁻¹(x − mean) on the columns that vary.
func (m *coxModel) scaledResidual(i int, mean []float64, columns []int, l [][]float64, constant []float64) []float64 {
	out := make([]float64, len(mean))
	for j := range out {
		out[j] = math.NaN()
	}
	r := make([]float64, len(columns))
	for k, j := range columns {
		r[k] = m.x[i][j] - mean[j]
	}
	for k, v := range choleskySolve(l, r) {
		j := columns[k]
		out[j] = constant[j] + v/m.scale[j]
	}
	return out
}

// varyingColumns lists the columns that vary among the kept rows of each
// stratum, and the weight of the events in strata where two columns both do.
func (m *coxModel) varyingColumns() (varying [][]int, weights [][]float64) {
	p := len(m.scale)
	weights = newMatrix(p, p)
	for _, s := range m.strata {
		var columns []int
		for j := range p {
			first := m.x[s.from][j]
			if slices.ContainsFunc(m.x[s.from:s.to], func(row []float64) bool { return row[j] != first }) {
				columns = append(columns, j)
			}
		}
		varying = append(varying, columns)
		events := 0.0
		for _, g := range m.groups[s.firstGroup:s.toGroup] {
			events += m.eventWeight(g)
		}
		for _, j := range columns {
			for _, h := range columns {
				weights[j][h] += events
			}
		}
	}
	return varying, weights
}

func submatrix(a [][]float64, columns []int) [][]float64 {
	out := newMatrix(len(columns), len(columns))
	for i, c := range columns {
		for k, d := range columns {
			out[i][k] = a[c][d]
		}
	}
	return out
}

// SmoothOptions are the choices of ScaledSchoenfeld.Smooth; the zero value is
// four knots and limits of level 0.95.
type SmoothOptions struct {
	Knots int     // of the natural spline, the two at the ends included; 0 means 4
	Level float64 // 0 means 0.95
}

// A CoefficientCurve is how a coefficient seems to change in time, on the scale
// of the log hazard ratio: one entry an event that has a residual, in order of
// time.
type CoefficientCurve struct {
	Term             string
	Constant         float64   // the model's coefficient
	Time, ScaleTime  []float64 // of the event, and on the time scale
	Residual, Smooth []float64
	SE, Lower, Upper []float64 // pointwise, of Smooth
	Level            float64
	Knots            []float64 // on the time scale
	Method           string
}

// Smooth draws a curve through the residuals of a column: a natural cubic spline
// in the time scale with knots at its least and largest value and at quantiles
// between, by least squares, events counting with their weights. Its variance at
// a point is the column's entry of Variance times a'(B'WB)⁻¹a for the basis B and
// its row a, as under a constant ratio, and limits are ± z SE at each point, not
// for all points at once. Rows are taken to be independent and weights to be
// numbers of equal rows.
//
// It returns ErrKnots where knots fall together, and ErrTooFewRows where times
// are fewer than knots. A column that is not there is the caller's mistake.
//
// Grambsch PM, Therneau TM. Biometrika 1994;81:515-526, section 4.
func (s ScaledSchoenfeld) Smooth(column int, opts SmoothOptions) (CoefficientCurve, error) {
	if column < 0 || column >= len(s.Terms) {
		panic(fmt.Sprintf("stats: column %d of %d", column, len(s.Terms)))
	}
	if opts.Knots == 0 {
		opts.Knots = 4
	}
	c := CoefficientCurve{
		Term: s.Terms[column], Constant: s.Constant[column], Level: confidenceLevel(opts.Level),
		Method: fmt.Sprintf("natural cubic spline with %d knots of scaled Schoenfeld residuals, pointwise limits", opts.Knots),
	}
	var weight []float64
	for _, i := range ordered(len(s.Time), func(i int) float64 { return s.Time[i] }) {
		if v := s.Residual[i][column]; !math.IsNaN(v) {
			c.Time, c.ScaleTime, c.Residual = append(c.Time, s.Time[i]), append(c.ScaleTime, s.ScaleTime[i]), append(c.Residual, v)
			weight = append(weight, s.Weight[i])
		}
	}
	var err error
	if c.Knots, err = QuantileKnots(c.ScaleTime, opts.Knots); err != nil {
		return c, fmt.Errorf("smooth of %q: %w", c.Term, err)
	}
	// On 0 to 1, where the basis is well conditioned.
	first, width := c.Knots[0], c.Knots[len(c.Knots)-1]-c.Knots[0]
	unit := make([]float64, len(c.Knots))
	for k, knot := range c.Knots {
		unit[k] = (knot - first) / width
	}
	spline, err := NewNaturalSpline(unit)
	if err != nil {
		return c, fmt.Errorf("smooth of %q: %w", c.Term, err)
	}
	q, ok := orthonormal(spline, c.ScaleTime, weight, first, width)
	if !ok {
		return c, fmt.Errorf("smooth of %q: %w: the events have fewer times than the %d knots", c.Term, ErrTooFewRows, opts.Knots)
	}
	along := make([]float64, opts.Knots)
	for i, row := range q {
		for k, v := range row {
			along[k] += float64(v * math.Sqrt(weight[i]) * c.Residual[i])
		}
	}
	z := criticalZ(c.Level)
	for i, row := range q {
		root := math.Sqrt(weight[i])
		fitted := dot(row, along) / root
		se := math.Sqrt(s.Variance[column][column]*dot(row, row)) / root
		c.Smooth, c.SE = append(c.Smooth, fitted), append(c.SE, se)
		c.Lower, c.Upper = append(c.Lower, fitted-float64(z*se)), append(c.Upper, fitted+float64(z*se))
	}
	return c, nil
}

// orthonormal is Q of the QR decomposition of the weighted basis, a row a time;
// ok is false where its columns are not independent.
func orthonormal(s NaturalSpline, times, weight []float64, first, width float64) (rows [][]float64, ok bool) {
	n, k := len(times), len(s.Knots)
	if n < k {
		return nil, false
	}
	basis := mat.NewDense(n, k, nil)
	for i, t := range times {
		root := math.Sqrt(weight[i])
		basis.Set(i, 0, root)
		for j, v := range s.At((t - first) / width) {
			basis.Set(i, j+1, root*v)
		}
	}
	var qr mat.QR
	qr.Factorize(basis)
	var r mat.Dense
	qr.RTo(&r)
	for j := range k {
		if !(math.Abs(r.At(j, j)) > 1e-9*mat.Norm(basis.ColView(j), 2)) {
			return nil, false
		}
	}
	// Q = B R⁻¹, row by row, without the n by n matrix.
	rows = newMatrix(n, k)
	for i := range n {
		for j := range k {
			v := basis.At(i, j)
			for h := range j {
				v -= rows[i][h] * r.At(h, j)
			}
			rows[i][j] = v / r.At(j, j)
		}
	}
	return rows, true
}

package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// An ImputeColumn is one variable of a data set with missing values.
type ImputeColumn struct {
	Name string
	// Values holds a number for each row, NaN where it is missing; of a variable
	// with levels their numbers 0, 1, ..., Levels−1.
	Values []float64
	Levels int // 0 for a number; 2 or more for a category, yes or no being 1 or 0
}

// ImputeOptions are the choices of Impute.
type ImputeOptions struct {
	Imputations int // completed data sets; 0 means 20
	Cycles      int // through the columns for each; 0 means 10
	Donors      int // of a number: rows drawn from; 0 means 5
	Seed        uint64
}

func (o ImputeOptions) resolve() ImputeOptions {
	for _, d := range []struct {
		to *int
		by int
	}{{&o.Imputations, 20}, {&o.Cycles, 10}, {&o.Donors, 5}} {
		if *d.to == 0 {
			*d.to = d.by
		}
		if *d.to < 0 {
			panic(fmt.Sprintf("stats: imputation with %d of what must be above 0", *d.to))
		}
	}
	return o
}

// An Imputed holds completed data sets.
type Imputed struct {
	// Values are by data set, column and row.
	Values [][][]float64
	// Mean is the mean of the imputed values of a column after each cycle, by
	// data set, column and cycle: chains that still move have not mixed.
	Mean [][][]float64
}

// imputePrior is the standard deviation of the normal prior of coefficients of a
// category's model, on predictors of one deviation.
const imputePrior = 2.5

// Impute completes a data set several times by chained equations. Missing values
// begin as random draws from the observed ones of their column; then, cycle after
// cycle, each column with missing values, those with the fewest first, is
// modelled on all others over the rows in which it is observed, the model's
// parameters are drawn from their posterior, and its missing values anew given
// those:
//
//   - a number by predictive mean matching: with β̂ the least squares fit, β* a
//     draw of its posterior, b'x predicted, a missing row takes the value of one of
//     the Donors rows whose β̂'x is nearest to its β*'x, at random, so that only
//     values that occur are imputed;
//   - a category, ordered or not, yes or no among them, by multinomial logistic
//     regression with a normal prior of deviation 2.5 on the coefficients of
//     predictors of one deviation, which keeps them finite under separation;
//     coefficients are a draw of the normal approximation of their posterior.
//
// Categories predict by indicators of their levels. Rows are taken to be
// independent: the dependence of the heels of a child is not modelled. Missing
// values are taken to depend on observed ones only (missing at random), which no
// data can show; an outcome to be modelled later must be among the columns.
//
// Each completed data set has a stream of random numbers of its own, so that the
// same seed gives the same values however many are made and on any machine.
// Where nothing is missing all completed data sets are the data.
//
// It returns ErrNoData without rows or for a column that is missing throughout,
// ErrNotFinite for an infinite value, ErrNoVariance for a column with missing
// values whose observed ones are all the same, and ErrTooFewRows where it has no
// more observed rows than its model has coefficients. Columns of unequal length,
// and levels that are none, are the caller's mistake.
//
// van Buuren S. Flexible Imputation of Missing Data, 2nd ed. Chapman and
// Hall/CRC, 2018. White IR, Royston P, Wood AM. Multiple imputation using chained
// equations: issues and guidance for practice. Stat Med 2011;30:377-399. Morris
// TP, White IR, Royston P. Tuning multiple imputation by predictive mean matching
// and local residual draws. BMC Med Res Methodol 2014;14:75.
func Impute(columns []ImputeColumn, opts ImputeOptions) (Imputed, error) {
	opts = opts.resolve()
	c, err := newChain(columns, opts)
	if err != nil {
		return Imputed{}, fmt.Errorf("imputation: %w", err)
	}
	var out Imputed
	for m := range opts.Imputations {
		values, mean, err := c.run(rand.New(rand.NewPCG(opts.Seed, uint64(m)+1)))
		if err != nil {
			return Imputed{}, fmt.Errorf("imputation %d: %w", m+1, err)
		}
		out.Values, out.Mean = append(out.Values, values), append(out.Mean, mean)
	}
	return out, nil
}

// An imputeChain holds what all completed data sets have in common.
type imputeChain struct {
	columns           []ImputeColumn
	opts              ImputeOptions
	observed, missing [][]int // rows of each column
	order             []int   // columns with missing values
}

func newChain(columns []ImputeColumn, opts ImputeOptions) (*imputeChain, error) {
	c := &imputeChain{columns: columns, opts: opts}
	coefficients := 1
	for _, v := range columns {
		coefficients += max(1, v.Levels-1)
	}
	for j, v := range columns {
		if len(v.Values) != len(columns[0].Values) || v.Levels < 0 || v.Levels == 1 {
			panic(fmt.Sprintf("stats: column %q has %d rows and %d levels", v.Name, len(v.Values), v.Levels))
		}
		var observed, missing []int
		for i, x := range v.Values {
			switch {
			case math.IsNaN(x):
				missing = append(missing, i)
				continue
			case math.IsInf(x, 0):
				return nil, fmt.Errorf("column %q, row %d: %w", v.Name, i+1, ErrNotFinite)
			case v.Levels > 0 && (x != math.Trunc(x) || x < 0 || x >= float64(v.Levels)):
				panic(fmt.Sprintf("stats: column %q, row %d: level %v of %d", v.Name, i+1, x, v.Levels))
			}
			observed = append(observed, i)
		}
		c.observed, c.missing = append(c.observed, observed), append(c.missing, missing)
		if len(observed) == 0 {
			return nil, fmt.Errorf("column %q: %w", v.Name, ErrNoData)
		}
		if missing == nil {
			continue
		}
		c.order = append(c.order, j)
		if !slices.ContainsFunc(observed, func(i int) bool { return v.Values[i] != v.Values[observed[0]] }) {
			return nil, fmt.Errorf("column %q has one value in all %d rows in which it is observed: %w", v.Name, len(observed), ErrNoVariance)
		}
		if needs := coefficients - max(1, v.Levels-1); len(observed) <= needs {
			return nil, fmt.Errorf("column %q is observed in %d rows: %w, expected more than the %d coefficients of its model", v.Name, len(observed), ErrTooFewRows, needs)
		}
	}
	if len(columns) == 0 {
		return nil, ErrNoData
	}
	slices.SortStableFunc(c.order, func(a, b int) int { return len(c.missing[a]) - len(c.missing[b]) })
	return c, nil
}

// run makes one completed data set.
func (c *imputeChain) run(r *rand.Rand) (values, mean [][]float64, err error) {
	for j, v := range c.columns {
		values = append(values, slices.Clone(v.Values))
		for _, i := range c.missing[j] {
			values[j][i] = v.Values[c.observed[j][r.IntN(len(c.observed[j]))]]
		}
	}
	mean = make([][]float64, len(c.columns))
	for range c.opts.Cycles {
		for _, j := range c.order {
			x := c.predictors(values, j)
			draw := c.drawNumbers
			if c.columns[j].Levels > 0 {
				draw = c.drawLevels
			}
			if err := draw(r, j, x, values[j]); err != nil {
				return nil, nil, fmt.Errorf("column %q: %w", c.columns[j].Name, err)
			}
			sum := 0.0
			for _, i := range c.missing[j] {
				sum += values[j][i]
			}
			mean[j] = append(mean[j], sum/float64(len(c.missing[j])))
		}
	}
	return values, mean, nil
}

// predictors are an intercept and the other columns, over the deviation that
// they have in the rows in which column j is observed; a column without any is
// left out.
func (c *imputeChain) predictors(values [][]float64, j int) [][]float64 {
	n := len(values[0])
	x := make([][]float64, n)
	for i := range x {
		x[i] = []float64{1}
	}
	add := func(of func(i int) float64) {
		own := make([]float64, 0, len(c.observed[j]))
		for _, i := range c.observed[j] {
			own = append(own, of(i))
		}
		mean, sd := meanSD(own)
		if !(sd > 1e-10*math.Abs(mean)) {
			return
		}
		for i := range x {
			x[i] = append(x[i], (of(i)-mean)/sd)
		}
	}
	for k, v := range c.columns {
		if k == j {
			continue
		}
		if v.Levels == 0 {
			add(func(i int) float64 { return values[k][i] })
		}
		for l := 1; l < v.Levels; l++ {
			add(func(i int) float64 {
				if values[k][i] == float64(l) {
					return 1
				}
				return 0
			})
		}
	}
	return x
}

// drawNumbers imputes a number by predictive mean matching.
func (c *imputeChain) drawNumbers(r *rand.Rand, j int, x [][]float64, y []float64) error {
	observed := c.observed[j]
	p := len(x[0])
	information, score := newMatrix(p, p), make([]float64, p)
	for _, i := range observed {
		for a := range p {
			score[a] += x[i][a] * y[i]
			for b := range p {
				information[a][b] += x[i][a] * x[i][b]
			}
		}
	}
	for a := range p { // columns that repeat each other share what they tell
		information[a][a] *= 1 + 1e-6
	}
	l, _, ok := cholesky(information, 1e-12)
	if !ok {
		return ErrCollinear
	}
	beta := choleskySolve(l, score)
	rest := 0.0
	fitted := make([]float64, len(observed))
	for k, i := range observed {
		fitted[k] = dot(x[i], beta)
		rest += (y[i] - fitted[k]) * (y[i] - fitted[k])
	}
	sigma := math.Sqrt(rest / chiSquaredDraw(r, float64(len(observed)-p)))
	drawn := beta
	for a, e := range normalWith(r, l) {
		drawn[a] += sigma * e
	}
	order := make([]int, len(observed))
	for k := range order {
		order[k] = k
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case fitted[a] < fitted[b]:
			return -1
		case fitted[a] > fitted[b]:
			return 1
		}
		return 0
	})
	sorted := make([]float64, len(order))
	for k, o := range order {
		sorted[k] = fitted[o]
	}
	donors := min(c.opts.Donors, len(observed))
	for _, i := range c.missing[j] {
		at := dot(x[i], drawn)
		from, _ := slices.BinarySearch(sorted, at)
		to := from // the window [from, to) of donors
		for to-from < donors {
			if from == 0 || to < len(sorted) && sorted[to]-at < at-sorted[from-1] {
				to++
			} else {
				from--
			}
		}
		y[i] = c.columns[j].Values[observed[order[from+r.IntN(donors)]]]
	}
	return nil
}

// normalWith draws from the normal distribution whose covariance is the inverse
// of LL'.
func normalWith(r *rand.Rand, l [][]float64) []float64 {
	p := len(l)
	e := make([]float64, p)
	for a := range e {
		e[a] = r.NormFloat64()
	}
	for a := p - 1; a >= 0; a-- { // L'e = z
		for b := a + 1; b < p; b++ {
			e[a] -= l[b][a] * e[b]
		}
		e[a] /= l[a][a]
	}
	return e
}

// chiSquaredDraw draws from the chi-squared distribution.
func chiSquaredDraw(r *rand.Rand, df float64) float64 {
	shape := df / 2 // Marsaglia and Tsang
	boost := 1.0
	if shape < 1 {
		boost = math.Pow(r.Float64(), 1/shape)
		shape++
	}
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		z := r.NormFloat64()
		v := 1 + c*z
		if v <= 0 {
			continue
		}
		v = v * v * v
		if u := r.Float64(); math.Log(u) < z*z/2+d-d*v+d*math.Log(v) {
			return 2 * d * v * boost
		}
	}
}

package stats

import (
	"fmt"
	"math"
)

// KappaWeights say how much of an agreement two ratings i and j of k ordered
// categories, counted from 0, are.
type KappaWeights int

const (
	// Unweighted counts only equal ratings; it is the default, and the one for
	// categories without an order.
	Unweighted KappaWeights = iota
	// LinearWeights are 1 − |i−j|/(k−1).
	LinearWeights
	// QuadraticWeights are 1 − (i−j)²/(k−1)².
	QuadraticWeights
)

// String is the word of the weights.
func (w KappaWeights) String() string {
	switch w {
	case Unweighted:
		return "unweighted"
	case LinearWeights:
		return "linear weights"
	case QuadraticWeights:
		return "quadratic weights"
	}
	return fmt.Sprintf("KappaWeights(%d)", int(w))
}

// KappaOptions are the choices of Kappa; the zero value is the unweighted kappa
// and a level of 0.95.
type KappaOptions struct {
	Level   float64 // confidence level; 0 means 0.95
	Weights KappaWeights
	// Own are weights of agreement in place of Weights: a square matrix of
	// numbers from 0 to 1, symmetric, with ones on the diagonal.
	Own [][]float64
}

// A KappaResult is the agreement of two raters beyond chance.
type KappaResult struct {
	Estimate Estimate // kappa; SE is the large-sample one, P of no agreement beyond chance
	N        int      // subjects
	Observed float64  // weighted proportion of agreement
	Chance   float64  // the same expected of the margins
	NullSE   float64  // standard error where there is no agreement beyond chance
	Z        float64  // kappa over NullSE
	// Largest is the largest kappa that these margins permit; NaN for own
	// weights.
	Largest float64
	Weights string // the weights used
}

// Kappa is the agreement of two raters of the same subjects beyond chance. Row i
// and column j of the square table count the subjects that the first rater put
// into category i and the second into j. With proportions p, margins p_i. and
// p_.j and weights w,
//
//	κ = (po − pe)/(1 − pe),  po = Σ w_ij p_ij,  pe = Σ w_ij p_i. p_.j.
//
// Limits are κ ± z SE with the large-sample standard error
//
//	SE² = [Σ p_ij (w_ij − (w̄_i. + w̄_.j)(1−κ))² − (κ − pe(1−κ))²] / (n(1−pe)²),
//
// where w̄_i. = Σ p_.j w_ij and w̄_.j = Σ p_i. w_ij; a limit beyond 1 or −1 is cut
// there. P is of κ/NullSE, with p_i. p_.j in place of p_ij and κ = 0 in the sum.
// The subjects are taken to be independent: two heels of one child are not (see
// KappaBootstrap).
//
// Kappa depends on how common the categories are: where one holds nearly all
// subjects it can be low though the raters nearly always agree. Largest says
// what the margins permit: with the margins as they are, the most agreement
// beyond chance (for linear and quadratic weights by ratings in the same order).
// No words such as good or poor are attached to values.
//
// Where the standard error is 0, as in perfect agreement, the limits are NaN and
// a warning says so; where a rater uses one category only, Z and P are NaN too. It returns ErrNoData for an empty table, and ErrNoVariance
// where chance agreement is complete, which is so when both raters use the same
// single category.
//
// References: Cohen J. A coefficient of agreement for nominal scales. Educ
// Psychol Meas 1960;20:37-46. Cohen J. Weighted kappa: nominal scale agreement
// with provision for scaled disagreement or partial credit. Psychol Bull
// 1968;70:213-220. Fleiss JL, Cohen J, Everitt BS. Large sample standard errors
// of kappa and weighted kappa. Psychol Bull 1969;72:323-327. Feinstein AR,
// Cicchetti DV. High agreement but low kappa: I. The problems of two paradoxes.
// J Clin Epidemiol 1990;43:543-549.
func Kappa(table [][]int, opts KappaOptions) (KappaResult, error) {
	const measure = "kappa"
	level := confidenceLevel(opts.Level)
	rows, columns, total := margins(table)
	checkSquare(len(rows), len(columns))
	if total == 0 {
		return KappaResult{}, fmt.Errorf("%s: %w", measure, ErrNoData)
	}
	w, word := kappaWeights(len(rows), opts)
	n := float64(total)
	p := newMatrix(len(rows), len(rows))
	for i, row := range table {
		for j, count := range row {
			p[i][j] = float64(count) / n
		}
	}
	chance := expectedCounts(rows, columns, total)
	for _, row := range chance {
		for j := range row {
			row[j] /= n
		}
	}
	// 1−po and 1−pe are made of the weights of disagreement, so that a rare
	// disagreement keeps its digits.
	apart, apartByChance := weighted(p, w, disagreement), weighted(chance, w, disagreement)
	if apartByChance <= 0 {
		return KappaResult{}, fmt.Errorf("%s of %d subjects: %w: chance agreement is complete, expected two categories in use", measure, total, ErrNoVariance)
	}
	kappa := 1 - apart/apartByChance
	r := KappaResult{
		N: total, Observed: 1 - apart, Chance: 1 - apartByChance,
		Largest: largestKappa(rows, columns, total, w, opts), Weights: word,
	}
	scale := apartByChance * math.Sqrt(n)
	se := kappaSpread(p, p, w, 1-kappa) / scale
	r.NullSE = kappaSpread(chance, p, w, 1) / scale
	r.Z = math.NaN()
	r.Estimate = kappaEstimate(measure, kappa, se, level, "large-sample limits (Fleiss, Cohen and Everitt)")
	if r.NullSE < 1e-12 { // a rater of one category
		r.NullSE = 0
		return r, nil
	}
	r.Z = kappa / r.NullSE
	r.Estimate.P = twoSidedNormalP(r.Z)
	return r, nil
}

// kappaEstimate makes limits that stay within −1 to 1, or says that there are
// none. A standard error that is nothing but rounding is 0.
func kappaEstimate(measure string, kappa, se, level float64, method string) Estimate {
	e := Estimate{Measure: measure, Value: kappa, SE: se, Level: level, P: math.NaN(), Method: method}
	if se < 1e-12 {
		e.SE, e.Lower, e.Upper = 0, math.NaN(), math.NaN()
		e.Warnings = append(e.Warnings, Warning{"limit-not-estimable", fmt.Sprintf(
			"The limits of %s are not estimable: its large-sample standard error is 0, as with perfect agreement or a rater who uses one category only.", measure)})
		return e
	}
	half := criticalZ(level) * se
	e.Lower, e.Upper = math.Max(-1, kappa-half), math.Min(1, kappa+half)
	return e
}

func checkSquare(rows, columns int) {
	if rows != columns {
		panic(fmt.Sprintf("stats: table of %d rows and %d columns, expected the same categories in both", rows, columns))
	}
}

// kappaWeights are the weights of agreement and their word.
func kappaWeights(k int, opts KappaOptions) (w [][]float64, word string) {
	if opts.Own != nil {
		checkOwnWeights(k, opts.Own)
		return opts.Own, "own weights"
	}
	w = newMatrix(k, k)
	for i := range w {
		for j := range w {
			apart := math.Abs(float64(i-j)) / math.Max(1, float64(k-1))
			switch opts.Weights {
			case Unweighted:
				w[i][j] = 0
				if i == j {
					w[i][j] = 1
				}
			case LinearWeights:
				w[i][j] = 1 - apart
			case QuadraticWeights:
				w[i][j] = 1 - float64(apart*apart)
			default:
				panic(fmt.Sprintf("stats: unknown KappaWeights %d", opts.Weights))
			}
		}
	}
	return w, opts.Weights.String()
}

func checkOwnWeights(k int, own [][]float64) {
	if len(own) != k {
		panic(fmt.Sprintf("stats: %d rows of weights for %d categories", len(own), k))
	}
	for i, row := range own {
		if len(row) != k {
			panic(fmt.Sprintf("stats: row %d of the weights has %d entries, expected %d", i, len(row), k))
		}
		for j, w := range row {
			if !(w >= 0 && w <= 1) || (i == j && w != 1) || (len(own[j]) == k && own[j][i] != w) {
				panic(fmt.Sprintf("stats: weight %v of categories %d and %d, expected 0 to 1, symmetric, 1 for equal ones", w, i, j))
			}
		}
	}
}

func disagreement(w float64) float64 { return 1 - w }

// weighted is Σ f(w) p.
func weighted(p, w [][]float64, f func(float64) float64) float64 {
	var sum Sum
	for i, row := range p {
		for j, x := range row {
			sum.Add(x * f(w[i][j]))
		}
	}
	return sum.Total()
}

// kappaSpread is the standard deviation, under the proportions of, of
// w_ij − (w̄_i. + w̄_.j)·beyond, with the margins of p. Both forms of the variance
// of Fleiss, Cohen and Everitt subtract the square of this mean.
func kappaSpread(of, p, w [][]float64, beyond float64) float64 {
	k := len(p)
	first, second := make([]float64, k), make([]float64, k)
	for i := range k {
		for j := range k {
			first[i] += p[i][j]
			second[j] += p[i][j]
		}
	}
	value := newMatrix(k, k)
	var mean Sum
	for i := range k {
		for j := range k {
			expected := 0.0
			for h := range k {
				expected += float64(second[h]*w[i][h]) + float64(first[h]*w[h][j])
			}
			value[i][j] = w[i][j] - float64(expected*beyond)
			mean.Add(of[i][j] * value[i][j])
		}
	}
	var squares Sum
	for i := range k {
		for j := range k {
			d := value[i][j] - mean.Total()
			squares.Add(of[i][j] * d * d)
		}
	}
	return math.Sqrt(math.Max(0, squares.Total()))
}

// largestKappa fills the table with given margins so that its agreement is
// greatest: equal ratings as far as both raters have them and, for weights that
// fall with a convex distance, ratings in the same order.
func largestKappa(rows, columns []int, total int, w [][]float64, opts KappaOptions) float64 {
	if opts.Own != nil {
		return math.NaN()
	}
	n := float64(total)
	best := newMatrix(len(rows), len(rows))
	if opts.Weights == Unweighted {
		same := 0.0
		chance := 0.0
		for i, r := range rows {
			same += float64(min(r, columns[i])) / n
			chance += float64(r) / n * float64(columns[i]) / n
		}
		return (same - chance) / (1 - chance)
	}
	for i, j, left, right := 0, 0, rows[0], columns[0]; ; {
		take := min(left, right)
		best[i][j] += float64(take) / n
		left, right = left-take, right-take
		if left == 0 {
			if i++; i == len(rows) {
				break
			}
			left = rows[i]
		} else {
			if j++; j == len(rows) {
				break
			}
			right = columns[j]
		}
	}
	chance := expectedCounts(rows, columns, total)
	return 1 - weighted(best, w, disagreement)/(weighted(chance, w, disagreement)/n)
}

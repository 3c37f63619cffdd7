package stats

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// DefaultDraws is the number of draws of a probabilistic bias analysis where an
// option leaves it zero.
const DefaultDraws = 20000

// A ClassificationBelief is what is believed of a Classification.
type ClassificationBelief struct {
	Sensitivity, Specificity BiasDistribution
}

// A BiasAnalysis says what is believed of the rating of an exposure. With Others
// nil the rating does not depend on the outcome, and those with and without it
// share each draw. Otherwise Correlation, within −1 to 1, is that of the normal
// deviates from which the two sensitivities are made, and the two specificities.
type BiasAnalysis struct {
	Cases       ClassificationBelief
	Others      *ClassificationBelief
	Correlation float64
	RiskRatio   bool    // the measure; the odds ratio unless set
	Level       float64 // share of the draws between the limits; 0 means 0.95
	Draws       int     // 0 means 20,000
	Seed        uint64
}

// A BiasInterval holds percentiles of draws.
type BiasInterval struct {
	Median, Lower, Upper float64
}

// A BiasAnalysisResult is an estimate corrected for misclassification drawn from
// what is believed of it.
type BiasAnalysisResult struct {
	Conventional  Estimate     // of the table as rated
	Systematic    BiasInterval // the correction alone
	Total         BiasInterval // with random error
	Draws         int
	Impossible    int // draws that give a count of 0 or below, left out
	Uninformative int // draws whose sensitivity and specificity add up to 1 or less, left out
	Undefined     int // draws left for Systematic but without a ratio in Total
	Level         float64
	Warnings      []Warning
}

// ProbabilisticBias is probabilistic bias analysis of a table of counts, laid out
// as for OddsRatio, whose exposure was rated with error. Each draw
//
//  1. draws sensitivities and specificities from the distributions declared,
//  2. corrects the table by CorrectMisclassification, whose ratio is the draw of
//     Systematic,
//  3. draws for each person whether the rating is right, with the probabilities
//     that the corrected table gives, as four binomial numbers, which is the
//     same as person by person where nothing else is known of them,
//  4. takes the ratio of the table so made times exp(−z SE) with z standard
//     normal and SE its conventional standard error: the draw of Total.
//
// Results are the median and the percentiles (definition of Quantile) over
// draws. A draw for which the correction is negative or meaningless is left out
// and counted: what is left is the belief given that the table could be
// observed, and a warning tells the share. The interval is of belief and error
// together, not a confidence interval. Draw r uses a generator seeded with Seed
// and r.
//
// It returns ErrNoData and ErrZeroCell as OddsRatio or RiskRatio do,
// and ErrNegative where more than half of the draws, or all but 100, are left
// out: the declared distributions do not fit the table.
//
// References: Fox MP, Lash TL, Greenland S. A method to automate probabilistic
// sensitivity analyses of misclassified binary variables. Int J Epidemiol
// 2005;34:1370-1376. Lash TL, Fox MP, Fink AK. Applying Quantitative Bias Analysis
// to Epidemiologic Data. Springer, 2009, ch. 8 (from memory).
func ProbabilisticBias(a, b, c, d int, opts BiasAnalysis) (BiasAnalysisResult, error) {
	const what = "probabilistic bias analysis"
	r := BiasAnalysisResult{Draws: opts.Draws, Level: confidenceLevel(opts.Level)}
	if r.Draws == 0 {
		r.Draws = DefaultDraws
	}
	if r.Draws < 1000 || !(opts.Correlation >= -1 && opts.Correlation <= 1) {
		panic(fmt.Sprintf("stats: %d draws with correlation %v, expected at least 1000 and −1 to 1", r.Draws, opts.Correlation))
	}
	if opts.Others == nil && opts.Correlation != 0 {
		panic("stats: a correlation of one classification, expected Others")
	}
	conventional := OddsRatio
	if opts.RiskRatio {
		conventional = RiskRatio
	}
	var err error
	if r.Conventional, err = conventional(a, b, c, d, LimitOptions{Level: r.Level}); err != nil {
		return r, fmt.Errorf("%s: %w", what, err)
	}
	if a+c == 0 || b+d == 0 {
		return r, fmt.Errorf("%s: %w", what, ErrNoData)
	}
	table := twoByTwo{a, b, c, d}
	var systematic, total []float64
	for i := range r.Draws {
		random := rand.New(rand.NewPCG(opts.Seed, uint64(i)))
		m := drawMisclassification(random, opts)
		if m.Cases.Sensitivity+m.Cases.Specificity-1 <= 1e-12 || m.Others.Sensitivity+m.Others.Specificity-1 <= 1e-12 {
			r.Uninformative++
			continue
		}
		corrected, err := correctTable(table, m)
		if err != nil {
			r.Impossible++
			continue
		}
		ratio := corrected.OddsRatio
		if opts.RiskRatio {
			ratio = corrected.RiskRatio
		}
		if math.IsNaN(ratio) || math.IsInf(ratio, 0) || ratio <= 0 {
			r.Impossible++ // a count of 0
			continue
		}
		systematic = append(systematic, ratio)
		once := reclassify(random, table, corrected)
		e, err := conventional(once.a, once.b, once.c, once.d, LimitOptions{})
		z := random.NormFloat64()
		if err != nil {
			r.Undefined++
			continue
		}
		total = append(total, e.Value*math.Exp(-z*e.SE))
	}
	left := r.Draws - len(systematic)
	if 2*left > r.Draws || len(total) < 100 {
		return r, fmt.Errorf("%s: %w: %d of %d draws give a count of 0 or below, or no information: the distributions declared do not fit the table", what, ErrNegative, left, r.Draws)
	}
	r.Systematic, r.Total = r.interval(systematic), r.interval(total)
	if left > 0 {
		r.Warnings = append(r.Warnings, Warning{"impossible-draws", fmt.Sprintf(
			"%d of %d draws give a count of 0 or below, or carry no information, and are left out: the rest is what was declared, given that this table could be observed.", left, r.Draws)})
	}
	if r.Undefined > 0 {
		r.Warnings = append(r.Warnings, Warning{"undefined-draws", fmt.Sprintf(
			"%d of %d draws have no ratio after persons were classified anew and are left out of the interval with random error.", r.Undefined, r.Draws)})
	}
	return r, nil
}

func (r *BiasAnalysisResult) interval(draws []float64) BiasInterval {
	slices.Sort(draws)
	tail := (1 - r.Level) / 2
	return BiasInterval{
		Median: sortedQuantile(draws, 0.5), Lower: sortedQuantile(draws, tail), Upper: sortedQuantile(draws, 1-tail),
	}
}

// drawMisclassification draws each probability as a quantile at Φ of a normal
// deviate, so that two of them can be correlated.
func drawMisclassification(random *rand.Rand, opts BiasAnalysis) Misclassification {
	one := func(z float64, b BiasDistribution) float64 {
		u := math.Erfc(-z/math.Sqrt2) / 2
		return b.quantile(math.Min(math.Max(u, 0x1p-53), 1-0x1p-53))
	}
	z := [2]float64{random.NormFloat64(), random.NormFloat64()}
	var m Misclassification
	m.Cases = Classification{one(z[0], opts.Cases.Sensitivity), one(z[1], opts.Cases.Specificity)}
	m.Others = m.Cases
	if opts.Others != nil {
		rho := opts.Correlation
		rest := math.Sqrt(1 - rho*rho)
		m.Others = Classification{
			one(float64(rho*z[0])+float64(rest*random.NormFloat64()), opts.Others.Sensitivity),
			one(float64(rho*z[1])+float64(rest*random.NormFloat64()), opts.Others.Specificity),
		}
	}
	return m
}

// reclassify draws the true exposure of each person.
func reclassify(random *rand.Rand, t twoByTwo, c CorrectedTable) twoByTwo {
	pair := func(rated, not int, positive, negative float64) (exposed, unexposed int) {
		stay, leave := binomialDraw(random, rated, positive), binomialDraw(random, not, negative)
		return stay + not - leave, leave + rated - stay
	}
	var out twoByTwo
	out.a, out.c = pair(t.a, t.c, c.PositiveCases, c.NegativeCases)
	out.b, out.d = pair(t.b, t.d, c.PositiveOthers, c.NegativeOthers)
	return out
}

// binomialDraw counts successes, one draw a trial.
func binomialDraw(random *rand.Rand, n int, p float64) int {
	k := 0
	for range n {
		if random.Float64() < p {
			k++
		}
	}
	return k
}

package stats

import (
	"fmt"
	"math"
)

// An ICCModel says which intraclass correlation is meant. There is no default:
// the forms answer different questions and differ much.
type ICCModel int

const (
	// OneWay: each subject has raters of its own, or which rater gave which
	// rating is not known. ICC(1,1) and ICC(1,k) of Shrout and Fleiss, ICC(1)
	// and ICC(k) of McGraw and Wong.
	OneWay ICCModel = iota + 1
	// TwoWayAgreement: the same raters rated every subject, and a rater who
	// rates all higher counts as disagreement. ICC(2,1), ICC(2,k); ICC(A,1),
	// ICC(A,k).
	TwoWayAgreement
	// TwoWayConsistency: the same raters rated every subject, and a rater who
	// rates all higher by the same amount does not count. ICC(3,1), ICC(3,k);
	// ICC(C,1), ICC(C,k).
	TwoWayConsistency
)

// String is the model's word.
func (m ICCModel) String() string {
	switch m {
	case OneWay:
		return "one-way"
	case TwoWayAgreement:
		return "two-way agreement"
	case TwoWayConsistency:
		return "two-way consistency"
	}
	return fmt.Sprintf("ICCModel(%d)", int(m))
}

// An ICCResult is an intraclass correlation with what it is made of.
type ICCResult struct {
	Single  Estimate // of one rating
	Average Estimate // of the mean of Raters ratings
	Model   ICCModel
	N       int // subjects
	Raters  int
	// Mean squares: between subjects, within subjects, between raters, of the
	// residue.
	Between, Within, Columns, Residue float64
	F, DF1, DF2                       float64 // Between over Within or Residue; no correlation where F is 1
	// SEM is the standard error of measurement, in the unit of the ratings;
	// Detectable the smallest difference of two ratings of one subject that such
	// errors exceed with the probability 1−Level: z √2 SEM.
	SEM, Detectable float64
}

// ICC is the intraclass correlation of ratings: row i holds the ratings of
// subject i, one a rater, the same number for all. With n subjects, k raters,
// and the mean squares between subjects B, within W, between raters C and of
// the residue E,
//
//	one-way              (B−W)/(B+(k−1)W)                average (B−W)/B
//	two-way agreement    (B−E)/(B+(k−1)E+k(C−E)/n)       average (B−E)/(B+(C−E)/n)
//	two-way consistency  (B−E)/(B+(k−1)E)                average (B−E)/B.
//
// Limits rest on the F distribution, exactly for one-way and consistency where
// subjects and errors are normal; for agreement with Satterthwaite's degrees of
// freedom. Those of the average are the limits of the single form carried over
// by kρ/(1+(k−1)ρ). P is of the F test that subjects do not differ. Subjects are
// taken to be independent. The coefficient is relative to the spread of these
// subjects and can be negative, which a warning notes.
//
// The standard error of measurement is √W, √(E + max(0, (C−E)/n)) and √E.
//
// It returns ErrTooFewRows below two subjects or two raters, ErrNotFinite for a
// rating that is no number (leave incomplete subjects out before), and
// ErrNoVariance where all ratings are equal, or subjects do not differ and only
// raters do. Where the errors' mean square is 0
// the limits are NaN, with a warning, except those of agreement while raters
// differ.
//
// References: Shrout PE, Fleiss JL. Intraclass correlations: uses in assessing
// rater reliability. Psychol Bull 1979;86:420-428. McGraw KO, Wong SP. Forming
// inferences about some intraclass correlation coefficients. Psychol Methods
// 1996;1:30-46. Weir JP. Quantifying test-retest reliability using the
// intraclass correlation coefficient and the SEM. J Strength Cond Res
// 2005;19:231-240.
func ICC(ratings [][]float64, model ICCModel, opts LimitOptions) (ICCResult, error) {
	level := confidenceLevel(opts.Level)
	r, err := iccValue(ratings, model)
	if err != nil {
		return ICCResult{}, err
	}
	k := float64(r.Raters)
	r.Detectable = criticalZ(level) * math.Sqrt2 * r.SEM
	method := "F limits"
	if model == TwoWayAgreement {
		method = "F limits, Satterthwaite degrees of freedom"
	}
	p := fisherTail(r.F, r.DF1, r.DF2)
	if math.IsInf(r.F, 1) {
		p = 0
	}
	for _, e := range []*Estimate{&r.Single, &r.Average} {
		e.Lower, e.Upper, e.SE = math.NaN(), math.NaN(), math.NaN()
		e.Level, e.P, e.Method = level, p, method
	}
	if lower, upper, ok := r.limits(level); ok {
		r.Single.Lower, r.Single.Upper = lower, upper
		r.Average.Lower, r.Average.Upper = stepUp(lower, k), stepUp(upper, k)
	} else {
		r.warn("limit-not-estimable", "The limits are not estimable: the ratings of each subject agree exactly, or all subjects have the same mean.")
	}
	if r.Single.Value < 0 {
		r.warn("negative-icc", "The coefficient is negative: subjects differ less than the ratings of one subject do.")
	}
	return r, nil
}

func (r *ICCResult) warn(code, text string) {
	r.Single.Warnings = append(r.Single.Warnings, Warning{code, text})
	r.Average.Warnings = append(r.Average.Warnings, Warning{code, text})
}

// iccValue makes the coefficients without limits.
func iccValue(ratings [][]float64, model ICCModel) (ICCResult, error) {
	r := ICCResult{Model: model, N: len(ratings)}
	switch model {
	case OneWay, TwoWayAgreement, TwoWayConsistency:
	default:
		panic(fmt.Sprintf("stats: %v, expected OneWay, TwoWayAgreement or TwoWayConsistency", model))
	}
	if err := r.meanSquares(ratings); err != nil {
		return ICCResult{}, fmt.Errorf("intraclass correlation, %v: %w", model, err)
	}
	n, k := float64(r.N), float64(r.Raters)
	noise, raters := r.Residue, 0.0 // raters: (C−E)/n
	r.DF1, r.DF2 = n-1, (n-1)*(k-1)
	names := [2]string{"ICC(3,1), ICC(C,1)", "ICC(3,k), ICC(C,k)"}
	switch model {
	case OneWay:
		noise, r.DF2 = r.Within, n*(k-1)
		names = [2]string{"ICC(1,1), ICC(1)", "ICC(1,k), ICC(k)"}
	case TwoWayAgreement:
		raters = (r.Columns - r.Residue) / n
		names = [2]string{"ICC(2,1), ICC(A,1)", "ICC(2,k), ICC(A,k)"}
	}
	if r.Between == 0 && noise == 0 {
		return ICCResult{}, fmt.Errorf("intraclass correlation, %v: %w: subjects do not differ and neither do the ratings of a rater", model, ErrNoVariance)
	}
	r.F = r.Between / noise
	r.SEM = math.Sqrt(noise + math.Max(0, raters))
	r.Single = Estimate{Measure: "intraclass correlation", Term: names[0], Value: (r.Between - noise) / (r.Between + (k-1)*noise + k*raters)}
	r.Average = Estimate{Measure: "intraclass correlation", Term: names[1], Value: math.NaN()}
	if spread := r.Between + raters; spread > 0 {
		r.Average.Value = (r.Between - noise) / spread
	} else {
		r.Average.Warnings = append(r.Average.Warnings, Warning{"not-estimable", "The coefficient of the mean of all ratings is not estimable: subjects do not differ."})
	}
	return r, nil
}

// stepUp carries a coefficient of one rating over to the mean of k (Spearman and
// Brown). At −1/(k−1) and below, where it has no value, it is −Inf.
func stepUp(rho, k float64) float64 {
	rest := 1 + (k-1)*rho
	if rest <= 0 {
		return math.Inf(-1)
	}
	return k * rho / rest
}

// limits are of the single form; none where an error or the spread is 0.
func (r *ICCResult) limits(level float64) (lower, upper float64, ok bool) {
	n, k := float64(r.N), float64(r.Raters)
	tail := (1 - level) / 2
	if r.Model != TwoWayAgreement {
		if !(r.F > 0) || math.IsInf(r.F, 1) {
			return 0, 0, false
		}
		low, high := r.F/fisherCritical(tail, r.DF1, r.DF2), r.F*fisherCritical(tail, r.DF2, r.DF1)
		return (low - 1) / (low + k - 1), (high - 1) / (high + k - 1), true
	}
	if r.Between <= 0 || (r.Residue <= 0 && r.Columns <= 0) {
		return 0, 0, false
	}
	rho := r.Single.Value
	a, b := k*rho*r.Columns, (n*(1+(k-1)*rho)-k*rho)*r.Residue
	df := (n - 1) * (k - 1) * (a + b) * (a + b) / ((n-1)*a*a + b*b)
	if !(df > 0) || math.IsInf(df, 0) {
		return 0, 0, false
	}
	rest := k*r.Columns + (k*n-k-n)*r.Residue
	f := fisherCritical(tail, n-1, df)
	lower = n * (r.Between - f*r.Residue) / (f*rest + n*r.Between)
	f = fisherCritical(tail, df, n-1)
	upper = n * (f*r.Between - r.Residue) / (rest + n*f*r.Between)
	return lower, upper, true
}

// meanSquares fills in the analysis of variance.
func (r *ICCResult) meanSquares(ratings [][]float64) error {
	if len(ratings) < 2 {
		return fmt.Errorf("%w: found %d subjects, expected at least 2", ErrTooFewRows, len(ratings))
	}
	k := len(ratings[0])
	var all Sum
	for i, row := range ratings {
		if len(row) != k {
			panic(fmt.Sprintf("stats: subject %d has %d ratings, expected %d", i, len(row), k))
		}
		for _, x := range row {
			if !finite(x) {
				return fmt.Errorf("%w: subject %d", ErrNotFinite, i+1)
			}
			all.Add(x)
		}
	}
	if k < 2 {
		return fmt.Errorf("%w: found %d raters, expected at least 2", ErrTooFewRows, k)
	}
	r.Raters = k
	n := float64(len(ratings))
	grand := all.Total() / (n * float64(k))
	column := make([]Sum, k)
	subject := make([]float64, len(ratings)) // less the grand mean
	for i, row := range ratings {
		var sum Sum
		for j, x := range row {
			sum.Add(x - grand)
			column[j].Add(x - grand)
		}
		subject[i] = sum.Total() / float64(k)
	}
	var between, within, columns, residue, whole Sum
	for j := range column {
		m := column[j].Total() / n
		columns.Add(n * m * m)
	}
	for i, row := range ratings {
		between.Add(float64(k) * subject[i] * subject[i])
		for j, x := range row {
			d := x - grand - subject[i]
			within.Add(d * d)
			e := d - column[j].Total()/n
			residue.Add(e * e)
			whole.Add((x - grand) * (x - grand))
		}
	}
	if allEqual(ratings) {
		return fmt.Errorf("%w: all ratings are %v", ErrNoVariance, ratings[0][0])
	}
	// What is nothing but rounding is 0.
	nothing := func(s Sum) float64 {
		if s.Total() <= 1e-24*(whole.Total()+n*float64(k)*grand*grand) {
			return 0
		}
		return s.Total()
	}
	r.Between = nothing(between) / (n - 1)
	r.Within = nothing(within) / (n * float64(k-1))
	r.Columns = nothing(columns) / float64(k-1)
	r.Residue = nothing(residue) / ((n - 1) * float64(k-1))
	return nil
}

func allEqual(ratings [][]float64) bool {
	for _, row := range ratings {
		for _, x := range row {
			if x != ratings[0][0] {
				return false
			}
		}
	}
	return true
}

// fisherCritical returns the f with P(F >= f) = tail for Fisher's F with a and
// b degrees of freedom.
func fisherCritical(tail, a, b float64) float64 {
	x, rest := betaQuantile(b/2, a/2, tail)
	return b / a * (rest / x)
}

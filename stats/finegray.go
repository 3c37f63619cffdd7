package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrSplitRows says that rows of clusters are censored at the time at which
// another one of theirs enters, as where a person's time was cut into pieces.
var ErrSplitRows = errors.New("rows look like pieces of one person's time")

// FineGrayOptions are the choices of FitFineGray; the zero value is Efron ties,
// level 0.95 and errors for independent rows that take the weights for the
// estimates they are.
type FineGrayOptions struct {
	Ties          string  // TiesEfron (the meaning of "") or TiesBreslow
	Level         float64 // confidence level; 0 means 0.95
	Cluster       []int   // cluster of each row, any numbers; nil: rows are independent
	KnownWeights  bool    // errors that take the weights for known, as with late entry they always do
	MaxIterations int     // of Newton's method; 0 means 50
}

// FitFineGray fits the proportional subdistribution hazards model of Fine and
// Gray for the ends by one cause when others shut it out. With F(t|x) the
// cumulative incidence of the cause,
//
//	F(t|x) = 1 - exp(-Λ0(t) exp(x'b)),
//
// so that a coefficient above 0 means a higher incidence at every time. It
// describes the incidence, not the risk of those still free of any end: a
// covariate can have an effect on it only by its effect on another cause. For
// causes of the end itself fit FitCox to each cause with the others as
// censoring. t has one row for each person (or heel), its whole time, x a row of
// covariates for each, and terms the names of its columns.
//
// The likelihood is Cox's partial likelihood of the ends by the cause, with
// Efron's or Breslow's ties, on other risk sets: a row at risk (Entry < t <=
// Exit) counts 1, one that ended by another cause at s < t counts
//
//	w(t) = G(t-) / G(s-)
//
// its chance of still being followed, and one that was censored not at all. G is
// the Kaplan-Meier estimate of not being censored, the same for all rows.
// Censoring at the time of an end is taken as after it, so that the rows that
// end at a time are not at risk of the censoring then. With late entry, which is
// an entry not before the first exit of all, G(t-) H(t-) takes the place of
// G(t-), where H(t-) estimates the chance of having entered before t by the
// product over entry times e >= t of 1 - d/Y, d the rows that enter at e and Y
// those with Entry <= e < Exit (Zhang, Zhang and Fine; Geskus).
//
// Errors are robust, B M B with B the inverse information and M the sum of the
// outer products of the rows' contributions, or with Cluster of their sums by
// cluster, with no factor for few. A contribution is η + ψ of Fine and Gray:
//
//	η = ∫ (x - x̄(t)) w(t) dM(t),  ψ = ∫ q(u)/Y(u) dMc(u),
//	q(u) = sum over rows that ended otherwise at s <= u of
//	       exp(x'b) times the integral over t > u of (x - x̄(t)) w(t) dΛ0(t)
//
// with M and Mc the martingales of the cause's ends and of censoring, and Y the
// rows at risk of it. ψ is what estimating G adds. For clusters this is the
// variance of Zhou and others. With KnownWeights, and always with late entry,
// for which there is no such term here, contributions are η alone, an error a
// little too small or too large; late entry says so by the warning
// known-weights, and a row that counts more than 10 times by large-weights.
// ModelSE is from B alone, which is a variance only where no other cause shuts
// the end out and rows are independent. Log likelihoods are those of the weighted likelihood;
// there is no likelihood ratio test, and Fit.Tests has Wald's.
//
// R's cmprsk::crr has Breslow's ties and this variance, but lets rows that end
// at a time of censoring be at risk of it: where no end is tied with a
// censoring it gives the same. survival::finegray takes ties of ends with
// censoring and late entry as here; coxph on its rows, clustered by the row
// they come from, is this fit with KnownWeights. (Where the last entry is at
// the first exit exactly, it takes no entry as late.)
//
// Censoring and late entry are assumed to tell nothing about the ends and not
// to depend on the covariates, and ratios of the subdistribution hazards to be
// constant in time. Fewer than 10 ends by the cause per coefficient give the
// warning few-events, few clusters few-clusters.
//
// It returns the errors of FitCox; ErrNoEvents without an end by the cause;
// ErrUnobserved where the estimated chance of observation falls to 0 at a time
// that a weight needs, such as a time after which all are newcomers;
// ErrSplitRows where more than 1 in 20 rows are censored when another of their
// cluster enters (the heels of a child, each on its own clock, may by chance: fewer
// give the warning split-rows);
// ErrNoVariance where contributions leave a coefficient no error. Rows with
// covariates that change, several rows one after the other, have no place here,
// since a censored piece would count as a censored person: without Cluster it
// cannot be told and is the caller's mistake. Exact ties are too.
//
// Fine JP, Gray RJ. A proportional hazards model for the subdistribution of a
// competing risk. J Am Stat Assoc 1999;94:496-509. Zhou B, Fine J, Latouche A,
// Labopin M. Competing risks regression for clustered data. Biostatistics
// 2012;13:371-383. Geskus RB. Cause-specific cumulative incidence estimation
// and the Fine and Gray model under both left truncation and right censoring.
// Biometrics 2011;67:39-49. Zhang X, Zhang MJ, Fine J. A proportional hazards
// regression model for the subdistribution with right-censored and
// left-truncated competing risks data. Stat Med 2011;30:1933-1951.
func FitFineGray(t CompetingTimes, cause int, x [][]float64, terms []string, opts FineGrayOptions) (Fit, error) {
	cox := CoxOptions{Ties: opts.Ties, Level: opts.Level, Cluster: opts.Cluster, MaxIterations: opts.MaxIterations}.resolve()
	if cox.Ties == TiesExact || cause < 1 {
		panic(fmt.Sprintf("stats: a subdistribution hazards model with ties %q of cause %d, expected efron or breslow and 1 or more", cox.Ties, cause))
	}
	checkCoxShape(Times{Exit: t.Exit}, x, terms, cox)
	f, err := fitFineGray(t, cause, x, terms, cox, opts.KnownWeights)
	if err != nil {
		return Fit{}, fmt.Errorf("subdistribution hazards model: %w", err)
	}
	return f, nil
}

func fitFineGray(t CompetingTimes, cause int, x [][]float64, terms []string, opts CoxOptions, known bool) (Fit, error) {
	if err := t.check(max(cause, slices.Max(append([]int{1}, t.Cause...)))); err != nil {
		return Fit{}, err
	}
	if err := checkCovariates(x, terms); err != nil {
		return Fit{}, err
	}
	if !t.happens(cause) {
		return Fit{}, fmt.Errorf("%d rows: %w by the cause", len(x), ErrNoEvents)
	}
	doubts, err := t.checkWhole(opts.Cluster)
	if err != nil {
		return Fit{}, err
	}
	late := t.Entry != nil && slices.Max(t.Entry) >= slices.Min(t.Exit)
	chance := newObservationChance(t, late)
	n := len(x)
	followed, wide := t.followOn(cause, x)
	m := newCoxModel(followed, wide, CoxOptions{Ties: opts.Ties})
	if err := chance.fade(m, n); err != nil {
		return Fit{}, err
	}
	if err := m.checkColumns(terms); err != nil {
		return Fit{}, err
	}
	at, err := m.finite(opts.MaxIterations, terms, "ends by the cause")
	if err != nil {
		return Fit{}, err
	}
	g := &fineGray{
		times: t, model: m, at: at, chance: chance, source: make([]int, len(wide)), cluster: opts.Cluster,
		known: known || late, last: slices.Max(t.Exit),
	}
	for i := range n {
		g.source[i] = i
	}
	copy(g.source[n:], t.endedOtherwise(cause))
	f, err := g.result(terms, opts, late)
	if err != nil {
		return Fit{}, err
	}
	f.Warnings = append(f.Warnings, doubts...)
	return f, nil
}

// splitRows is the share of rows from which they are taken for pieces of persons'
// time. Two heels of a child meet so by chance in about 1 of 1,000 rows; of
// persons whose time is cut all have such rows.
const splitRows = 0.05

// checkWhole refuses rows that look like pieces of a person's time, and doubts
// them where they are few.
func (t CompetingTimes) checkWhole(cluster []int) ([]Warning, error) {
	if cluster == nil || t.Entry == nil {
		return nil, nil
	}
	type place struct {
		cluster int
		at      float64
	}
	enters := map[place]bool{}
	for i, e := range t.Entry {
		enters[place{cluster[i], e}] = true
	}
	var pieces []int
	for i, e := range t.Exit {
		if t.Cause[i] == 0 && enters[place{cluster[i], e}] {
			pieces = append(pieces, i)
		}
	}
	if pieces == nil {
		return nil, nil
	}
	found := fmt.Sprintf("%d of %d are censored when another row of their cluster enters (%s)", len(pieces), len(t.Exit), firstRows(pieces))
	if float64(len(pieces)) > splitRows*float64(len(t.Exit)) {
		return nil, fmt.Errorf("%w: %s", ErrSplitRows, found)
	}
	return []Warning{{"split-rows", "Of the rows " + found + ": if they are pieces of one person's time, a piece counts as a censored person and the model is wrong."}}, nil
}

// lastEnd is the last time of an end by the cause.
func (t CompetingTimes) lastEnd(cause int) float64 {
	last := math.Inf(-1)
	for i, c := range t.Cause {
		if c == cause {
			last = math.Max(last, t.Exit[i])
		}
	}
	return last
}

// endedOtherwise lists the rows that ended by another cause before the last
// end by this one.
func (t CompetingTimes) endedOtherwise(cause int) []int {
	last := t.lastEnd(cause)
	var rows []int
	for i, c := range t.Cause {
		if c > 0 && c != cause && t.Exit[i] < last {
			rows = append(rows, i)
		}
	}
	return rows
}

// followOn returns the rows as times to the end by a cause, and after them one
// more for each that ended otherwise: from then to the last end by the cause.
func (t CompetingTimes) followOn(cause int, x [][]float64) (Times, [][]float64) {
	others := t.endedOtherwise(cause)
	size := len(x) + len(others)
	out := Times{Entry: make([]float64, 0, size), Exit: slices.Grow(slices.Clone(t.Exit), len(others)), Status: make([]bool, size)}
	for i, c := range t.Cause {
		if t.Entry == nil {
			out.Entry = append(out.Entry, math.Inf(-1))
		} else {
			out.Entry = append(out.Entry, t.Entry[i])
		}
		out.Status[i] = c == cause
	}
	wide := slices.Grow(slices.Clone(x), len(others))
	last := t.lastEnd(cause)
	for _, i := range others {
		out.Entry, out.Exit, wide = append(out.Entry, t.Exit[i]), append(out.Exit, last), append(wide, x[i])
	}
	return out, wide
}

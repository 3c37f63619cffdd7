package stats

import (
	"fmt"
	"math"
)

// AdjustedOptions are the choices of AdjustedSurvival; the zero value is a level
// of 0.95, log-log limits, every row counting with its weight in the fit, and
// covariates as sampled.
type AdjustedOptions struct {
	Level   float64   // confidence level; 0 means 0.95
	Limits  string    // LimitsLogLog (the meaning of ""), LimitsLog, LimitsPlain or LimitsArcsine
	Weights []float64 // of the rows in the mean, 0 or more; nil: those of the fit, or 1 each
	Given   bool      // the rows' covariates are what is meant, and no sample
}

// AdjustedCurves are adjusted survival curves, one a level, as step functions: 1
// before Time[0] and Survival[i] from Time[i] on, up to End.
type AdjustedCurves struct {
	Time     []float64       // event times up to End of the strata in the mean, in order
	Curves   []AdjustedCurve // one a level, in the caller's order
	End      float64         // last time at which rows of every stratum in the mean were observed
	N        int             // rows
	Clusters int             // 0 without clusters
	Level    float64
	Method   string // of the limits
	Warnings []Warning

	source *adjustedSource
	limits string
	z      float64
}

// An AdjustedCurve is the curve of one level; its slices are as long as Time.
type AdjustedCurve struct {
	Survival, SE, Lower, Upper []float64
}

// AdjustedSurvival averages the survival that a Cox model predicts for the rows
// of the study were all of them of one level (g-computation, direct
// standardisation to the study's own covariates),
//
//	S_g(t) = Σ v_i exp(−Λ_h(t) exp(o_i + x_gi'b)) / Σ v_i
//
// with Λ_h the baseline hazard of row i's own stratum (see CumulativeHazards), o
// its offset and v its weight. levels holds for each level one row of covariates
// for each row that the model was given, in the same order: usually those of the
// study with the columns of the group set to the level. A row that is a further
// piece or a second heel of a child already there may be given the weight 0, for
// a mean over children. Without strata and with a row for each covariate pattern
// it is the model's curve of that pattern.
//
// The standard error is the root of Σ φ_c², φ_c the sum over the rows of a
// cluster (without clusters, a row) of their influence on S_g(t),
//
//	φ_i = v_i (S_gi − S_g)/Σv + (∂S_g/∂b)'dfbeta_i + Σ_h ∂S_g/∂Λ_h(t) λ_hi(t)
//
// where λ_hi(t) is the influence on the baseline hazard, c_i [event at X_i <= t] /
// ΣC − Σ c_i exp(x_i'b) dΛ_h/ΣR over the event times up to t at which the row is
// at risk (R those at risk, weighted; with Efron's ties the mean over the
// denominators). That is what the estimate moves by when the weight of the row
// grows: the infinitesimal jackknife. It holds for dependence within clusters,
// for weights, and where hazards are not quite proportional. Where the fit is
// without clusters and weights its own errors are model-based, and those here
// differ from them as robust errors do.
//
// The first term is for the covariates being a sample: the curves are of children
// like these, the limits what another study of other such children would have,
// as a bootstrap of children has. With Given it is left out, and the limits are
// of the mean over these very covariates. Sampled is the default, as nobody is
// interested in these children alone, and the wider.
//
// The model must hold, the levels must not differ in what is not in it, and each
// sort of row must have been seen at each level: where it was not the curve is
// the model's guess. Nothing is said of times after End, which is the last time
// at which rows were followed in that stratum of the mean where it came first:
// there ErrBeyondData is returned. Late entry gives the warning
// conditional-start where nobody is observed from 0 on, and small-risk-set.
//
// It returns ErrNoEvents for a stratum in the mean without an event, whose
// baseline hazard is not known; ErrNotFinite for covariates that are not, or so
// far from the data that a hazard is no number; ErrNoData where no row has a
// weight; and ErrTooFewClusters below two. Another model's Fit, one with exact
// ties or of several kinds of event (FitMarginalCox), rows other than the fit's,
// and weights that are negative or not finite are the caller's mistake.
//
// References: Chang IM, Gelman R, Pagano M. Corrected group prognostic curves and
// summary statistics. J Chronic Dis 1982;35:669-674. Makuch RW. Adjusted survival
// curve estimation using covariates. J Chronic Dis 1982;35:437-443. Efron B. The
// Jackknife, the Bootstrap and Other Resampling Plans. SIAM, 1982. Reid N,
// Crépeau H. Influence functions for proportional hazards regression. Biometrika
// 1985;72:1-9.
func (f Fit) AdjustedSurvival(levels [][][]float64, opts AdjustedOptions) (AdjustedCurves, error) {
	limits := CurveOptions{Level: opts.Level, Limits: opts.Limits}.resolve()
	s, err := f.newAdjustedSource(levels, opts)
	if err != nil {
		return AdjustedCurves{}, fmt.Errorf("adjusted survival: %w", err)
	}
	a := AdjustedCurves{
		End: s.end, N: s.m.rows, Level: limits.Level, source: s, limits: limits.Limits, z: criticalZ(limits.Level),
		Method: "robust standard error, covariates as sampled",
	}
	if opts.Given {
		a.Method = "robust standard error, covariates as given"
	}
	if f.cox.cluster != nil {
		a.Clusters = s.clusters
		a.Method = clusterMethod(false) + a.Method[len("robust standard error"):]
	}
	a.Warnings = append(clusterWarnings(s.clusters), s.warnings()...)
	a.Time = s.eventTimes()
	a.Curves = make([]AdjustedCurve, len(levels))
	for _, t := range a.Time {
		for g, p := range s.at(t) {
			c := &a.Curves[g]
			se := p.se()
			lower, upper := survivalLimits(p.value, se, limits)
			c.Survival, c.SE = append(c.Survival, p.value), append(c.SE, se)
			c.Lower, c.Upper = append(c.Lower, lower), append(c.Upper, upper)
		}
	}
	return a, nil
}

// AdjustedValues are a number for each level, at one time or horizon.
type AdjustedValues struct {
	Values []Estimate // one a level, in the caller's order

	influenced  []influenced
	most, level float64
	z           float64
	what        string // of a difference
	method      string
	warnings    []Warning
}

// At is the adjusted survival of each level at a time. Before the first event it
// is 1 with an error of 0, and log-log limits are then NaN.
//
// It returns ErrBeyondData after End. A time that is not finite is the caller's
// mistake.
func (a AdjustedCurves) At(t float64) (AdjustedValues, error) {
	if err := a.within(t); err != nil {
		return AdjustedValues{}, fmt.Errorf("adjusted survival: %w", err)
	}
	v := a.values(a.source.at(t), 1)
	v.what = "adjusted survival difference"
	for _, p := range v.influenced {
		e := Estimate{
			Measure: "adjusted survival", Value: p.value, SE: p.se(), Level: a.Level, P: math.NaN(),
			Method: a.limits + " limits, " + a.Method, Warnings: a.Warnings,
		}
		e.Lower, e.Upper = survivalLimits(e.Value, e.SE, CurveOptions{Level: a.Level, Limits: a.limits})
		v.Values = append(v.Values, e)
	}
	return v, nil
}

// RestrictedMeans are the areas under the adjusted curves from 0 to the horizon:
// of each level the mean time to the event of these rows, were they all of the
// level, where times beyond the horizon count as the horizon. Their error is the
// root of the sum of squares of the clusters' influence, ∫φ_c dt; limits are
// symmetric, and held to 0 and the horizon.
//
// It returns ErrBeyondData for a horizon after End, and ErrNoEvents where there is
// none before it. A horizon that is not positive and finite is the caller's
// mistake.
func (a AdjustedCurves) RestrictedMeans(horizon float64) (AdjustedValues, error) {
	checkHorizon(horizon)
	if err := a.within(horizon); err != nil {
		return AdjustedValues{}, fmt.Errorf("adjusted restricted mean: %w", err)
	}
	if len(a.Time) == 0 || a.Time[0] >= horizon {
		return AdjustedValues{}, fmt.Errorf("adjusted restricted mean: %w before %g", ErrNoEvents, horizon)
	}
	v := a.values(a.areas(horizon), horizon)
	v.what = "adjusted restricted mean difference"
	for _, area := range v.influenced {
		e := v.symmetric("adjusted restricted mean time", area, 0)
		e.P = math.NaN()
		v.Values = append(v.Values, e)
	}
	return v, nil
}

// Difference is the number of one level less that of another, with symmetric
// limits held to where a difference can be, from the influence of each cluster on
// the difference. P is of the difference over its error.
//
// It returns ErrNoVariance where nothing moves it, as before the first event. A
// level that there is not is the caller's mistake.
func (v AdjustedValues) Difference(one, zero int) (Estimate, error) {
	for _, g := range []int{one, zero} {
		if g < 0 || g >= len(v.Values) {
			panic(fmt.Sprintf("stats: level %d of %d adjusted curves", g, len(v.Values)))
		}
	}
	d := v.influenced[one].less(v.influenced[zero])
	if d.se() == 0 {
		return Estimate{}, fmt.Errorf("%s: %w", v.what, ErrNoVariance)
	}
	return v.symmetric(v.what, d, -v.most), nil
}

func (a AdjustedCurves) values(of []influenced, most float64) AdjustedValues {
	return AdjustedValues{influenced: of, most: most, level: a.Level, z: a.z, method: a.Method, warnings: a.Warnings}
}

func (v AdjustedValues) symmetric(measure string, i influenced, least float64) Estimate {
	e := Estimate{
		Measure: measure, Value: i.value, SE: i.se(), Level: v.level,
		Method: "symmetric limits, " + v.method, Warnings: v.warnings,
	}
	half := float64(v.z * e.SE)
	e.Lower, e.Upper = math.Max(least, e.Value-half), math.Min(v.most, e.Value+half)
	e.P = twoSidedNormalP(e.Value / e.SE)
	return e
}

// areas are the areas under the curves from 0 to the horizon.
func (a AdjustedCurves) areas(horizon float64) []influenced {
	out := make([]influenced, len(a.Curves))
	for g := range out {
		out[g].by = make([]float64, a.source.clusters)
	}
	from := 0.0
	until := func(to float64) {
		for g, p := range a.source.at(from) {
			out[g].add(p, to-from)
		}
		from = to
	}
	for _, t := range a.Time {
		if t > 0 && t < horizon {
			until(t)
		}
	}
	until(horizon)
	return out
}

func (a AdjustedCurves) within(t float64) error {
	switch {
	case !finite(t):
		panic(fmt.Sprintf("stats: adjusted survival at %v, expected a finite time", t))
	case t > a.End:
		return fmt.Errorf("%w: follow-up ends at %g%s, before %g", ErrBeyondData, a.End, a.source.shortest(), t)
	}
	return nil
}

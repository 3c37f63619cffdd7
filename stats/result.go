package stats

// A Warning is a doubt about a result that the reader should see.
type Warning struct {
	Code string // short and stable, such as "small-risk-set"
	Text string // a sentence
}

// An Estimate is one number with its limits.
type Estimate struct {
	Measure      string // "incidence rate", "odds ratio"
	Term         string // what it is about: "arch=pronated"; "" when plain
	Value        float64
	Lower, Upper float64
	SE           float64 // on the scale the limits are made on (log for ratios); NaN when exact
	Level        float64 // confidence level, 0.95
	P            float64 // two-sided; NaN where nothing was tested
	Method       string  // how the limits were made
	Warnings     []Warning
}

// A Test is a hypothesis test.
type Test struct {
	Name      string
	Statistic float64 // NaN for exact tests without one
	DF        float64 // NaN when there is none
	P         float64 // two-sided
	Method    string
	Warnings  []Warning
}

// A Curve is a step function of time: slices of equal length, one entry a
// distinct time at which an event or a censoring happened, in order. The value
// is 1 before Time[0] and Survival[i] from Time[i] on.
type Curve struct {
	Time         []float64
	AtRisk       []int     // just before Time[i]
	Events       []int     // at Time[i]
	Censored     []int     // at Time[i]
	Entered      []int     // entries after Time[i-1] and before or at Time[i] (at risk after their entry)
	Survival     []float64 // Kaplan-Meier
	SE           []float64 // Greenwood, of Survival
	Lower, Upper []float64
	N            int // rows
	Clusters     int // 0 without cluster
	Level        float64
	Method       string // of the limits
	Warnings     []Warning

	limits  string       // transformation of the limits; "" means log-log
	entries []float64    // sorted entry times; nil when nobody entered late
	source  *curveSource // the rows, where errors are robust
}

// A Fit is a fitted regression model.
type Fit struct {
	Model          string      // "logistic regression"
	Terms          []string    // names of the coefficients, in the columns' order
	Coefficients   []float64   // on the linear predictor's scale
	SE             []float64   // model-based, or robust when Robust
	Covariance     [][]float64 // the matrix SE comes from
	ModelSE        []float64   // model-based, whatever SE is
	Estimates      []Estimate  // exponentiated, a ratio each (no intercept)
	LogLik         float64
	NullLogLik     float64
	Deviance       float64 // NaN where not defined (Cox)
	Dispersion     float64 // Pearson chi-square over its df; 1 when not estimated
	Overdispersion float64 // negative binomial: the α of the variance μ + αμ²; 0 elsewhere
	DF             int     // residual degrees of freedom; coefficients for Cox
	N              int
	Events         int
	Clusters       int // 0 without cluster; rows where weights (or Fine and Gray's model) alone make errors robust
	Iterations     int
	Robust         string    // "" or how the robust errors were made
	RobustDF       []float64 // of the t distribution of each coefficient's limits; nil where that is the normal one
	Ties           string    // Cox: efron, breslow or exact
	Strata         int       // Cox: strata that held an event; 0 without strata
	Tests          []Test    // of all coefficients at once, where the model makes them
	Warnings       []Warning

	cox       *coxFit                             // Cox: what hazards and residuals are made of
	fineGray  *fineGray                           // subdistribution hazards: what incidences are made of
	risk      riskLink                            // of a model of risks; "" where it is none
	reference string                              // of limits, for Method; "" where it is the normal
	freedom   func(combination []float64) float64 // of a combination of coefficients; nil where it is the normal
}

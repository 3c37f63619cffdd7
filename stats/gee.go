package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrCorrelation says that a working correlation cannot be that of the data.
var ErrCorrelation = errors.New("the working correlation is not one")

// A GEEFamily is the marginal distribution of a generalised estimating equation.
type GEEFamily string

// The families, each with its canonical link.
const (
	GEEBinomial GEEFamily = "binomial" // logit; odds ratios
	GEEPoisson  GEEFamily = "poisson"  // log; rate ratios
	GEEGaussian GEEFamily = "gaussian" // identity; differences
)

// A WorkingCorrelation is what is supposed of the outcomes of one cluster.
type WorkingCorrelation string

const (
	// Exchangeable is one correlation of any two outcomes of a cluster.
	Exchangeable WorkingCorrelation = "exchangeable"
	// Independence is none.
	Independence WorkingCorrelation = "independence"
)

// GEEOptions are the choices of FitGEE; Family and Cluster are needed. The zero
// value of the others is an exchangeable working correlation, the robust errors
// of Liang and Zeger and normal limits.
type GEEOptions struct {
	Family      GEEFamily
	Correlation WorkingCorrelation // "" is Exchangeable
	Cluster     []int              // of each row, any numbers
	Level       float64            // confidence level; 0 means 0.95

	// BiasReduced makes the errors by Mancl and DeRouen: the residuals of each
	// cluster are multiplied by (I − H)⁻¹, H its leverage. For few clusters.
	BiasReduced bool
	// StudentT makes limits and p-values by the t distribution on the clusters
	// less the coefficients.
	StudentT bool
}

// A GEEFit is a fitted generalised estimating equation.
type GEEFit struct {
	Fit         // LogLik and NullLogLik are NaN: there is no likelihood
	Working     WorkingCorrelation
	Correlation float64 // estimated; 0 for independence
	Largest     int     // rows of the largest cluster
}

const geeIterations = 200

// FitGEE fits a marginal model of clustered outcomes, such as the two heels of
// children, by generalised estimating equations: with μ the mean of the family,
// A its variances, R the working correlation and D = ∂μ/∂b of each cluster,
//
//	Σ Dᵀ (A^½ R A^½)⁻¹ (y − μ) = 0
//
// The exchangeable correlation α and the dispersion φ are estimated from
// Pearson's residuals r, of N rows and p coefficients,
//
//	φ = Σ r²/(N−p)     α = Σ over pairs of r r' / (φ (pairs − p))
//
// in turn with b. Estimates are ratios exp(b) (differences b for the gaussian
// family), right whatever the correlation as long as the mean is; SE is robust,
// B (Σ Dᵀ V⁻¹ r rᵀ V⁻¹ D) B with B the inverse of Σ Dᵀ V⁻¹ D, without factor for
// few clusters: BiasReduced and StudentT are for them. ModelSE takes the working
// correlation for true. y is 0 or 1, a count of 0 or more, or any number, by
// the family; personTime is for counts and may be nil.
//
// It returns the errors of FitLogistic and FitPoisson for rows that cannot be
// fitted even as independent, ErrTooFewClusters where clusters are not more
// than coefficients, ErrTooFewRows where pairs are not more than coefficients
// (exchangeable), ErrNoVariance where the covariates give every number exactly
// (gaussian), ErrCorrelation where α is not between −1/(m−1) for the
// largest cluster m and 1, and ErrNotConverged. Few clusters give the warning
// few-clusters.
//
// Liang KY, Zeger SL. Longitudinal data analysis using generalized linear
// models. Biometrika 1986;73:13-22. Mancl LA, DeRouen TA. A covariance estimator
// for GEE with improved small-sample properties. Biometrics 2001;57:126-134.
func FitGEE(x [][]float64, terms []string, y, personTime []float64, opts GEEOptions) (GEEFit, error) {
	m, err := newGEE(x, terms, y, personTime, opts)
	if err != nil {
		return GEEFit{}, err
	}
	if err := m.solve(); err != nil {
		return GEEFit{}, fmt.Errorf("%s: %w", m.model, err)
	}
	return m.result(confidenceLevel(opts.Level), opts)
}

// A gee is an equation to be solved, on the scaled columns of a glm.
type gee struct {
	*glm
	clusters   [][]int // rows
	working    WorkingCorrelation
	beta, eta  []float64
	phi, alpha float64
	bread      [][]float64 // inverse of Σ DᵀV⁻¹D
	iterations int
}

func newGEE(x [][]float64, terms []string, y, personTime []float64, opts GEEOptions) (*gee, error) {
	if len(opts.Cluster) != len(y) {
		panic(fmt.Sprintf("stats: %d outcomes with %d cluster numbers", len(y), len(opts.Cluster)))
	}
	g := &gee{working: opts.Correlation}
	switch opts.Correlation {
	case "":
		g.working = Exchangeable
	case Exchangeable, Independence:
	default:
		panic(fmt.Sprintf("stats: working correlation %q, expected exchangeable or independence", opts.Correlation))
	}
	var err error
	switch opts.Family {
	case GEEBinomial:
		const model = "marginal logistic model"
		for i, v := range y {
			if v != 0 && v != 1 {
				panic(fmt.Sprintf("stats: outcome %v of row %d, expected 0 or 1", v, i+1))
			}
		}
		if g.glm, err = newGLM(model, "odds ratio", logistic{}, x, terms, y, make([]float64, len(y)), GLMOptions{}); err != nil {
			return nil, err
		}
		switch n := countOnes(y); n {
		case 0:
			return nil, fmt.Errorf("%s: %w in %d rows", model, ErrNoEvents, len(y))
		case len(y):
			return nil, fmt.Errorf("%s: %w: all %d rows have the outcome", model, ErrNoVariance, len(y))
		default:
			g.events, g.fewest = n, min(n, len(y)-n)
		}
	case GEEPoisson:
		if g.glm, err = countModel("marginal Poisson model", x, terms, y, personTime, GLMOptions{}); err != nil {
			return nil, err
		}
	case GEEGaussian:
		const model = "marginal linear model"
		for i, v := range y {
			if !finite(v) {
				return nil, fmt.Errorf("%s: outcome: %w: row %d", model, ErrNotFinite, i+1)
			}
		}
		if g.glm, err = newGLM(model, "difference", gaussian{}, x, terms, y, make([]float64, len(y)), GLMOptions{}); err != nil {
			return nil, err
		}
		if slices.Min(y) == slices.Max(y) {
			return nil, fmt.Errorf("%s: %w: all outcomes are %v", model, ErrNoVariance, y[0])
		}
	default:
		panic(fmt.Sprintf("stats: family %q, expected binomial, poisson or gaussian", opts.Family))
	}
	number := map[int]int{}
	for i, c := range opts.Cluster {
		k, known := number[c]
		if !known {
			k = len(g.clusters)
			number[c] = k
			g.clusters = append(g.clusters, nil)
		}
		g.clusters[k] = append(g.clusters[k], i)
	}
	if p := len(terms) + 1; len(g.clusters) <= p {
		return nil, fmt.Errorf("%s: %w: found %d, expected more than the %d coefficients", g.model, ErrTooFewClusters, len(g.clusters), p)
	}
	start, err := g.maximise()
	if err != nil {
		return nil, err
	}
	g.beta, g.eta = start.beta, start.eta
	if opts.Family == GEEGaussian {
		var left Sum
		for i, v := range y {
			left.Add((v - g.eta[i]) * (v - g.eta[i]))
		}
		mean, deviation := meanSD(y)
		if residual := math.Sqrt(left.Total() / float64(len(y))); residual <= 1e-9*deviation || residual <= 1e-12*math.Abs(mean) {
			return nil, fmt.Errorf("%s: %w: the covariates give every outcome exactly", g.model, ErrNoVariance)
		}
	}
	return g, nil
}

func countOnes(y []float64) int {
	n := 0
	for _, v := range y {
		if v == 1 {
			n++
		}
	}
	return n
}

// solve alternates between the correlation and steps of Fisher scoring.
func (g *gee) solve() error {
	_, linear := g.family.(gaussian) // whose predictor is as large as the numbers
	for g.iterations = 1; g.iterations <= geeIterations; g.iterations++ {
		before := g.alpha
		if err := g.moments(); err != nil {
			return err
		}
		score, information := g.equation()
		l, _, ok := cholesky(information, 1e-14)
		if !ok {
			return fmt.Errorf("%w: the information is singular after %d iterations", ErrNotConverged, g.iterations)
		}
		step := choleskySolve(l, score)
		g.beta = moved(g.beta, step, 1)
		g.eta, _ = g.predict(g.beta)
		if largest := largestMagnitude(step); largest <= 1e-11*(1+largestMagnitude(g.beta)) && math.Abs(g.alpha-before) <= 1e-11 {
			g.bread = choleskyInverse(l)
			return nil
		} else if math.IsNaN(largest) || !linear && largestMagnitude(g.eta) > 500 {
			break
		}
	}
	return fmt.Errorf("%w after %d iterations", ErrNotConverged, min(g.iterations, geeIterations))
}

// moments estimates the dispersion and the correlation.
func (g *gee) moments() error {
	p := len(g.terms) + 1
	var squares, products Sum
	pairs, largest := 0, 0
	for _, rows := range g.clusters {
		sum, own := 0.0, 0.0
		for _, i := range rows {
			residual, variance := g.family.mean(g.y[i], g.eta[i])
			r := residual / math.Sqrt(variance)
			sum += r
			own += r * r
		}
		squares.Add(own)
		products.Add((sum*sum - own) / 2)
		pairs += len(rows) * (len(rows) - 1) / 2
		largest = max(largest, len(rows))
	}
	if len(g.y) <= p {
		return fmt.Errorf("%w: %d leave none to estimate the dispersion of %d coefficients", ErrTooFewRows, len(g.y), p)
	}
	g.phi = squares.Total() / float64(len(g.y)-p)
	if g.working == Independence {
		return nil
	}
	if pairs <= p {
		return fmt.Errorf("%w: %d pairs within clusters, expected more than the %d coefficients; independence needs none", ErrTooFewRows, pairs, p)
	}
	g.alpha = products.Total() / (g.phi * float64(pairs-p))
	if !(g.alpha < 1 && 1+float64(largest-1)*g.alpha > 0) {
		return fmt.Errorf("%w: an exchangeable correlation of %.4g in clusters of up to %d rows; independence has none", ErrCorrelation, g.alpha, largest)
	}
	return nil
}

// equation returns Σ DᵀV⁻¹(y−μ) and Σ DᵀV⁻¹D, but for the dispersion. With z
// the rows of A^½ X and u Pearson's residuals, the inverse of an exchangeable
// correlation makes them (Σ zu − c Σz Σu)/(1−α) and (Σ zzᵀ − c Σz Σzᵀ)/(1−α), c
// = α/(1+(m−1)α).
func (g *gee) equation() (score []float64, information [][]float64) {
	p := len(g.terms) + 1
	score, information = make([]float64, p), newMatrix(p, p)
	z, sum := make([]float64, p), make([]float64, p)
	for _, rows := range g.clusters {
		c := g.alpha / (1 + float64(len(rows)-1)*g.alpha)
		clear(sum)
		total := 0.0
		for _, i := range rows {
			residual, variance := g.family.mean(g.y[i], g.eta[i])
			root := math.Sqrt(variance)
			for j, v := range g.x[i] {
				z[j] = root * v
				sum[j] += z[j]
				score[j] += float64(v * residual)
				for k := range j + 1 {
					information[j][k] += float64(z[j] * z[k])
				}
			}
			total += residual / root
		}
		for j := range p {
			score[j] -= float64(c * sum[j] * total)
			for k := range j + 1 {
				information[j][k] -= float64(c * sum[j] * sum[k])
			}
		}
	}
	for j := range p {
		score[j] /= 1 - g.alpha
		for k := range j + 1 {
			information[j][k] /= 1 - g.alpha
			information[k][j] = information[j][k]
		}
	}
	return score, information
}

// A gaussian is the normal distribution with the identity link and variance 1.
type gaussian struct{}

func (gaussian) null(y, offset []float64) float64 {
	sum := 0.0
	for i, v := range y {
		sum += v - offset[i]
	}
	return sum / float64(len(y))
}
func (gaussian) mean(y, eta float64) (residual, variance float64) { return y - eta, 1 }
func (gaussian) deviance(y, eta float64) float64                  { return (y - eta) * (y - eta) }
func (gaussian) logLik(y, eta float64) float64                    { return -(y - eta) * (y - eta) / 2 }
func (gaussian) recedes(_, _, _ float64) bool                     { return false }

package stats

import "fmt"

// A RobustForm is a way to make cluster-robust errors.
type RobustForm string

const (
	// CR0 adds up the squared scores of the clusters as they are: right for
	// many clusters, too small for few.
	CR0 RobustForm = "CR0"
	// CR1 is CR0 times G/(G−1) for G clusters.
	CR1 RobustForm = "CR1"
	// CR1S is CR0 times G/(G−1) × (N−1)/(N−p) for N rows and p coefficients.
	CR1S RobustForm = "CR1S"
	// CR2 takes the leverage out of each cluster's residuals, so that the
	// covariance has no bias where the model's own variance holds (Bell and
	// McCaffrey).
	CR2 RobustForm = "CR2"
	// CR3 takes it out twice: the sum of the squared changes that leaving out
	// one cluster at a time makes, the jackknife, to first order. It errs on
	// the wide side.
	CR3 RobustForm = "CR3"
)

// reduces reports whether the form corrects residuals for their leverage.
func (f RobustForm) reduces() bool { return f == CR2 || f == CR3 }

// A RobustReference is the distribution that limits and p-values of robust
// errors are made with.
type RobustReference string

const (
	// ReferenceNormal is the normal distribution, for many clusters.
	ReferenceNormal RobustReference = "normal"
	// ReferenceClusters is the t distribution with G−p degrees of freedom for
	// G clusters and p coefficients.
	ReferenceClusters RobustReference = "clusters"
	// ReferenceSatterthwaite is the t distribution with, for each coefficient,
	// the degrees of freedom at which a multiple of chi-squared has the mean
	// and variance that the robust variance has under the model.
	ReferenceSatterthwaite RobustReference = "satterthwaite"
)

// robustForm resolves the options; a form that goes with nothing is the
// caller's mistake.
func (o GLMOptions) robustForm() (RobustForm, RobustReference) {
	form, reference := o.Robust, o.Reference
	switch form {
	case "":
		form = CR1
		if o.Uncorrected {
			form = CR0
		}
	case CR0, CR1, CR1S, CR2, CR3:
		if o.Uncorrected {
			panic(fmt.Sprintf("stats: Uncorrected beside Robust %q, expected one of them", form))
		}
	default:
		panic(fmt.Sprintf("stats: unknown RobustForm %q", form))
	}
	switch reference {
	case "":
		reference = ReferenceNormal
	case ReferenceNormal, ReferenceClusters, ReferenceSatterthwaite:
	default:
		panic(fmt.Sprintf("stats: unknown RobustReference %q", reference))
	}
	if o.Cluster == nil && (o.Robust != "" || reference != ReferenceNormal) {
		panic("stats: Robust or Reference without Cluster")
	}
	return form, reference
}

// robustMethod describes robust errors for a result.
func robustMethod(form RobustForm) string {
	switch form {
	case CR0:
		return clusterMethod(false)
	case CR1:
		return clusterMethod(true)
	case CR1S:
		return "cluster-robust, G/(G-1) × (N-1)/(N-p) correction (CR1S)"
	case CR2:
		return "cluster-robust, bias-reduced (CR2)"
	}
	return "cluster-robust, jackknife-type (CR3)"
}

// robustWarnings doubts robust errors made from few clusters.
func robustWarnings(g int, form RobustForm, reference RobustReference, terms []string, df []float64) []Warning {
	if !form.reduces() && reference == ReferenceNormal {
		return clusterWarnings(g)
	}
	var out []Warning
	switch {
	case g < fewClusters && reference == ReferenceNormal:
		out = append(out, Warning{"few-clusters", fmt.Sprintf(
			"Robust errors rest on %d clusters; below %d normal limits tend to be too narrow.", g, fewClusters)})
	case g < fewClusters && !form.reduces():
		out = clusterWarnings(g)
	}
	for j, v := range df { // the first of them is enough
		if j > 0 && v < fewDegrees {
			return append(out, Warning{"few-degrees", fmt.Sprintf(
				"The limits of the coefficient %s rest on %.2g degrees of freedom; below %d they are a rough guide.", terms[j], v, fewDegrees)})
		}
	}
	return out
}

// fewDegrees is the number of degrees of freedom below which the approximation
// by a t distribution is known to be poor (Pustejovsky and Tipton 2018).
const fewDegrees = 4

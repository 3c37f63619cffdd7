package stats

import "fmt"

const satterthwaiteReference = ", t on Satterthwaite's degrees of freedom"

// robust replaces the covariance of a fit by the cluster-robust one, with the
// degrees of freedom of its limits.
func (m *glm) robust(f *Fit, at glmMaximum, opts GLMOptions) error {
	form, reference := opts.robustForm()
	f.Clusters = countClusters(opts.Cluster)
	f.Robust = robustMethod(form)
	if !form.reduces() && form != CR1S && reference == ReferenceNormal {
		v, err := clusterRobust(at.covariance, m.rowScores(at.eta), opts.Cluster, form == CR1)
		if err != nil {
			return err
		}
		_, f.Covariance = m.unscale(at.beta, v)
		f.Warnings = append(f.Warnings, robustWarnings(f.Clusters, form, reference, f.Terms, nil)...)
		return nil
	}
	weights := make([]float64, len(m.y))
	for i, y := range m.y {
		_, weights[i] = m.family.mean(y, at.eta[i])
	}
	r, err := newRobustCovariance(form, at.covariance, m.x, weights, m.rowScores(at.eta), opts.Cluster)
	if err != nil {
		return err
	}
	_, f.Covariance = m.unscale(at.beta, r.v)
	p := len(at.beta)
	unscaling := m.unscaling()
	switch reference {
	case ReferenceClusters:
		if f.Clusters <= p {
			return fmt.Errorf("%w: %d leave no degrees of freedom beside %d coefficients", ErrTooFewClusters, f.Clusters, p)
		}
		f.reference = fmt.Sprintf(", t on %d degrees of freedom (clusters less coefficients)", f.Clusters-p)
		clusters := f.Clusters
		f.freedom = func([]float64) float64 { return float64(clusters - p) }
	case ReferenceSatterthwaite:
		f.reference = satterthwaiteReference
		f.freedom = func(combination []float64) float64 {
			scaled := make([]float64, p)
			for i, c := range combination {
				for k := range scaled {
					scaled[k] += float64(c * unscaling[i][k])
				}
			}
			return r.satterthwaite(scaled)
		}
	}
	if f.freedom != nil {
		f.RobustDF = make([]float64, p)
		for j := range p {
			one := make([]float64, p)
			one[j] = 1
			f.RobustDF[j] = f.freedom(one)
		}
	}
	f.Warnings = append(f.Warnings, robustWarnings(f.Clusters, form, reference, f.Terms, f.RobustDF)...)
	return nil
}

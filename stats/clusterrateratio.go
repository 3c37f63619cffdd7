package stats

import (
	"fmt"
	"math"
)

// ClusterEvents are events and person-time by cluster, such as a child: slices
// of equal length.
type ClusterEvents struct {
	Events     []float64
	PersonTime []float64
}

// ClusterRateRatio is the rate of one kind of events over that of a reference,
// where the same clusters may bear both: recurrences of a child against its
// first event. Entry i of both belongs to cluster i, and clusters are taken to
// be independent. With D1, T1 and D0, T0 the sums and R = D/T,
//
//	ratio = R1/R0,  u_i = (d1_i − R1 t1_i)/D1 − (d0_i − R0 t0_i)/D0
//	SE²   = C/(C−1) Σ u_i²
//
// of the log ratio over the C clusters with person-time or events. Limits are
// ratio exp(±z SE), P is of the ratio 1. These are the robust errors of a
// log-linear model of the rate with one covariate.
//
// It returns ErrNoPersonTime where a person-time is not positive, ErrZeroCell
// where one of them has no events (use RateRatio there), ErrNotFinite and
// ErrNegative for rows that are none, and ErrTooFewClusters below two. Below 30
// clusters a warning says that the errors tend to be too small.
//
// Reference: Liang KY, Zeger SL. Longitudinal data analysis using generalized
// linear models. Biometrika 1986;73:13-22.
func ClusterRateRatio(one, reference ClusterEvents, opts LimitOptions) (Estimate, error) {
	const measure = "rate ratio"
	n := len(one.Events)
	if len(one.PersonTime) != n || len(reference.Events) != n || len(reference.PersonTime) != n {
		panic(fmt.Sprintf("stats: %d and %d events, %d and %d person-times of clusters", n, len(reference.Events), len(one.PersonTime), len(reference.PersonTime)))
	}
	var sums [4]Sum
	clusters := 0
	for i := range n {
		has := false
		for k, x := range []float64{one.Events[i], one.PersonTime[i], reference.Events[i], reference.PersonTime[i]} {
			switch {
			case !finite(x):
				return Estimate{}, fmt.Errorf("%s: %w: cluster %d", measure, ErrNotFinite, i+1)
			case x < 0:
				return Estimate{}, fmt.Errorf("%s: %w: cluster %d", measure, ErrNegative, i+1)
			}
			sums[k].Add(x)
			has = has || x > 0
		}
		if has {
			clusters++
		}
	}
	d1, t1, d0, t0 := sums[0].Total(), sums[1].Total(), sums[2].Total(), sums[3].Total()
	switch {
	case !(t1 > 0 && t0 > 0):
		return Estimate{}, fmt.Errorf("%s of %g and %g events in person-times %g and %g: %w", measure, d1, d0, t1, t0, ErrNoPersonTime)
	case d1 == 0 || d0 == 0:
		return Estimate{}, fmt.Errorf("%s of %g and %g events, robust limits: %w", measure, d1, d0, ErrZeroCell)
	case clusters < 2:
		return Estimate{}, fmt.Errorf("%s: %w: found %d, expected at least 2", measure, ErrTooFewClusters, clusters)
	}
	var squares Sum
	for i := range n {
		u := (one.Events[i]-float64(d1/t1*one.PersonTime[i]))/d1 - (reference.Events[i]-float64(d0/t0*reference.PersonTime[i]))/d0
		squares.Add(u * u)
	}
	c := float64(clusters)
	se := math.Sqrt(c / (c - 1) * squares.Total())
	e := logRatio(measure, "limits on the log scale, "+clusterMethod(true), d1/t1/(d0/t0), se, confidenceLevel(opts.Level))
	e.Warnings = append(e.Warnings, clusterWarnings(clusters)...)
	return e, nil
}

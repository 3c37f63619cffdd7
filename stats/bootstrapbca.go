package stats

import (
	"fmt"
	"math"
)

// BCaBootstrap is ClusterBootstrap with the bias-corrected and accelerated limits
// of Efron in place of percentiles. With θ the statistic of the data, B
// replicates of which a share p0 is below θ (half of those equal to it counted),
// z0 = Φ⁻¹(p0), and the statistic θ(i) without cluster i, of mean θ(·),
//
//	a = Σ(θ(·)−θ(i))³ / (6 [Σ(θ(·)−θ(i))²]^{3/2}),
//	α = Φ(z0 + (z0+z)/(1−a(z0+z)))  for z = z_{(1−Level)/2} and z_{(1+Level)/2},
//
// the limits are the replicates of rank (B+1)α, rounded down for the lower one
// and up for the upper one, within 1 and B. They carry over under monotone
// transformation. The statistic, its seeding and warnings are those of
// ClusterBootstrap; the limits are NaN, with a warning, where z0 or a have no
// value: all replicates are on one side of θ, or leaving a cluster out leaves
// no value or no change.
//
// Reference: Efron B. Better bootstrap confidence intervals. J Am Stat Assoc
// 1987;82:171-185. Efron B, Tibshirani RJ. An Introduction to the Bootstrap.
// Chapman & Hall, 1993, ch. 14.
func BCaBootstrap(clusters int, statistic func(weight []int) float64, opts BootstrapOptions) (Bootstrap, error) {
	b, defined, err := clusterBootstrap(clusters, statistic, opts)
	if err != nil || math.IsNaN(b.Lower) {
		return b, err
	}
	weight := make([]int, clusters)
	for i := range weight {
		weight[i] = 1
	}
	z0 := bcaBias(defined, statistic(weight))
	left := make([]float64, clusters)
	for i := range left {
		weight[i] = 0
		left[i] = statistic(weight)
		weight[i] = 1
	}
	a := bcaAcceleration(left)
	tail := criticalZ(b.Level)
	low, high := bcaShare(z0, a, -tail), bcaShare(z0, a, tail)
	if math.IsNaN(low) || math.IsNaN(high) {
		b.Lower, b.Upper = math.NaN(), math.NaN()
		b.Warnings = append([]Warning{{"limit-not-estimable", fmt.Sprintf(
			"The corrected limits of the bootstrap are not estimable: its %d replicates are all on one side of the estimate, or leaving one cluster out leaves no value or no change.", len(defined))}}, b.Warnings...)
		return b, nil
	}
	n := float64(len(defined) + 1)
	rank := func(r float64) float64 { return defined[min(max(int(r), 1), len(defined))-1] }
	b.Lower, b.Upper = rank(math.Floor(n*low+1e-9)), rank(math.Ceil(n*high-1e-9))
	if n*low < 1 || n*high > n-1 {
		b.Warnings = append(b.Warnings, Warning{"extreme-replicate", "A corrected limit of the bootstrap lies beyond its replicates and is the outermost of them: it wants more replicates."})
	}
	return b, nil
}

// bcaBias is z0; NaN where all replicates are on one side.
func bcaBias(sorted []float64, value float64) float64 {
	below := 0.0
	for _, x := range sorted {
		if x < value {
			below++
		} else if x == value {
			below += 0.5
		}
	}
	share := below / float64(len(sorted))
	if !(share > 0 && share < 1) {
		return math.NaN()
	}
	return normalQuantile(share)
}

// bcaAcceleration is a, of the values without each cluster.
func bcaAcceleration(left []float64) float64 {
	mean, _ := meanSD(left)
	var squares, cubes Sum
	for _, x := range left {
		d := mean - x
		squares.Add(d * d)
		cubes.Add(d * d * d)
	}
	return cubes.Total() / (6 * math.Pow(squares.Total(), 1.5))
}

// bcaShare is the share of the replicates below a limit.
func bcaShare(z0, a, z float64) float64 {
	below := 1 - a*(z0+z)
	if !(below > 0) {
		return math.NaN()
	}
	x := z0 + (z0+z)/below
	return math.Erfc(-x/math.Sqrt2) / 2
}

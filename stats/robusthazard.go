package stats

import (
	"fmt"
	"math"
)

// robust fills in a cumulative hazard with weights or clusters.
func (c *HazardCurve) robust(t Times, opts CurveOptions) error {
	source, clusters, err := robustSource(t, opts)
	if err != nil {
		return fmt.Errorf("cumulative hazard: %w", err)
	}
	source.hazard = true
	c.Method = opts.Limits + " limits, robust standard error"
	if opts.Cluster != nil {
		c.Clusters, c.Method = clusters, opts.Limits+" limits, "+clusterMethod(false)
	}
	hazard, z := 0.0, criticalZ(opts.Level)
	source.visit(func(s weighedStep, f *curveInfluence) {
		se, lower, upper := 0.0, math.NaN(), math.NaN()
		if s.d > 0 {
			hazard += s.d / s.n
		}
		if hazard > 0 {
			se = f.standardError(f.logVariance())
			lower, upper = hazardLimits(hazard, z*se, opts.Limits)
		}
		c.Hazard, c.SE = append(c.Hazard, hazard), append(c.SE, se)
		c.Lower, c.Upper = append(c.Lower, lower), append(c.Upper, upper)
	})
	return nil
}

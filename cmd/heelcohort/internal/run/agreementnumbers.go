package run

import (
	"context"
	"fmt"
	"math"

	"heelcohort/cmd/heelcohort/internal/figure"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// numberSettings notes the choices for numbers.
func (s *agreement) numberSettings(b *builder) {
	a := s.plan
	b.set("model", s.model.String(), true)
	b.set("coverage", number64(s.coverage()), a.Coverage != nil)
	limits := "exact, noncentral t"
	if a.Limits == "approximate" {
		limits = "approximate, √(3s²/n)"
	}
	if s.cluster != nil {
		limits = "bootstrap"
	}
	b.set("limits of the limits of agreement", limits, a.Limits != "" || s.cluster != nil)
	b.set(figure.PointsSetting, fmt.Sprint(a.Points), a.Points)
	if !a.Points {
		b.set(figure.FewPairsSetting, fmt.Sprint(s.few), a.Few != nil)
	}
	b.Methods += fmt.Sprintf(" The intraclass correlation is the %v form, of one rating and of the mean of all raters; the standard error of measurement is the square root of its error variance, and the smallest detectable difference is z√2 times that.", s.model)
	b.cite("Shrout 1979", "McGraw 1996", "Weir 2005")
	if s.cluster == nil {
		b.Methods += " It has F limits."
	}
	b.Methods += fmt.Sprintf(" Of two raters the mean of the differences and the limits of agreement, between which %s%% of differences are expected if they are normal, are given; the slope of the difference on the mean is a check.", number64(100*s.coverage()))
	b.cite("Bland 1986", "Bland 1999")
	switch {
	case s.cluster != nil:
		b.Methods += " Where a cluster has several pairs, the differences' variance is the sum of those between and within clusters; limits of the limits of agreement are percentiles of the bootstrap."
		b.cite("Bland 2007", "Efron 1993")
	case a.Limits == "approximate":
		b.Methods += " Limits of the limits of agreement are approximate, with standard error √(3s²/n)."
	default:
		b.Methods += " Limits of the limits of agreement are exact, by the noncentral t distribution."
		b.cite("Carkeet 2015")
	}
}

func (s *agreement) coverage() float64 {
	if s.plan.Coverage != nil {
		return *s.plan.Coverage
	}
	return 0.95
}

// measurements writes the rows of ratings that are numbers.
func (s *agreement) measurements(ctx context.Context, b *builder, r *ratings) error {
	values := make([][]float64, len(r.values))
	column := make([][]float64, len(r.raters))
	for i, of := range r.values {
		for k, x := range of {
			values[i] = append(values[i], x.Number)
			column[k] = append(column[k], x.Number)
		}
	}
	if err := s.correlation(ctx, b, r, values); err != nil {
		return err
	}
	var err error
	r.pairs(func(i, j int, term string) {
		if err == nil {
			err = ctx.Err()
		}
		s.differences(b, r, term, column[i], column[j])
		if len(r.raters) == 2 {
			s.cloud(b, column[i], column[j])
		}
	})
	return err
}

// correlation writes the intraclass correlation.
func (s *agreement) correlation(ctx context.Context, b *builder, r *ratings, values [][]float64) error {
	icc, err := stats.ICC(values, s.model, stats.LimitOptions{Level: b.level})
	for _, one := range []struct {
		term    string
		e       stats.Estimate
		average bool
	}{{"one rating", icc.Single, false}, {fmt.Sprintf("mean of %d raters", len(r.raters)), icc.Average, true}} {
		if e := ctx.Err(); e != nil {
			return e
		}
		row := b.row("correlation", "intraclass correlation")
		row.Term, row.N = one.term, result.Number(len(values))
		e, wrong := one.e, err
		if err == nil && s.cluster != nil && !math.IsNaN(e.Value) {
			warnings := e.Warnings
			boot, failed := stats.ICCBootstrap(values, r.cluster, s.model, one.average, s.boot(b))
			e, wrong = resampled(e, boot, failed)
			for _, w := range warnings {
				if w.Code == "negative-icc" {
					e.Warnings = append(e.Warnings, w)
				}
			}
		}
		if wrong == nil {
			e.Method = one.e.Term + ": " + e.Method
		}
		b.add(b.estimate(row, e, wrong))
	}
	if err != nil {
		return nil
	}
	for _, one := range []struct {
		measure string
		value   float64
	}{{"standard error of measurement", icc.SEM}, {"smallest detectable difference", icc.Detectable}} {
		row := b.row("correlation", one.measure)
		row.N, row.Unit = result.Number(len(values)), s.ratings[0].Unit
		b.add(number(row, one.value, ""))
	}
	return nil
}

// differences writes the bias and the limits of agreement of two raters.
func (s *agreement) differences(b *builder, r *ratings, term string, first, second []float64) {
	fill := func(measure string) result.Row {
		row := b.row("differences", measure)
		row.Term, row.N, row.Unit = term, result.Number(len(first)), s.ratings[0].Unit
		return row
	}
	opts := stats.BlandAltmanOptions{Level: b.level, Coverage: s.coverage()}
	if s.plan.Limits == "approximate" {
		opts.Limits = stats.ApproximateAgreementLimits
	}
	d, err := stats.BlandAltman(first, second, opts)
	bias, lower, upper, sd := d.Bias, d.Lower, d.Upper, d.SD
	if err == nil && s.cluster != nil {
		var repeated stats.BlandAltmanRepeatedResult
		if repeated, err = stats.BlandAltmanRepeated(first, second, r.cluster, opts, s.boot(b)); err == nil {
			sd = repeated.SD
			bias = ofBootstrap(repeated.Bias, repeated.BiasLimits)
			lower, upper = ofBootstrap(repeated.Lower, repeated.LowerLimits), ofBootstrap(repeated.Upper, repeated.UpperLimits)
		}
	}
	b.add(b.estimate(fill("mean difference"), bias, err))
	b.add(b.estimate(fill("lower limit of agreement"), lower, err))
	b.add(b.estimate(fill("upper limit of agreement"), upper, err))
	if err != nil {
		return
	}
	b.add(number(fill("standard deviation of the differences"), sd, ""))
	slope := fill("slope of the difference on the mean")
	slope.Unit = ""
	if s.cluster != nil { // its limits would take pairs as independent
		b.add(b.agreed(slope, withoutLimits(d.Slope), nil))
		return
	}
	filled := b.estimate(slope, d.Slope, nil)
	for _, w := range d.Warnings {
		filled.Warnings = append(filled.Warnings, w.Text)
	}
	b.add(filled)
}

// ofBootstrap is a value with percentiles.
func ofBootstrap(value float64, boot stats.Bootstrap) stats.Estimate {
	return stats.Estimate{
		Value: value, Lower: boot.Lower, Upper: boot.Upper, SE: boot.SE, Level: boot.Level, P: math.NaN(),
		Method: "percentiles of a bootstrap over clusters", Warnings: boot.Warnings,
	}
}

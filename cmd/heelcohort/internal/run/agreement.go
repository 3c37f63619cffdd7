package run

import (
	"context"
	"fmt"
	"math"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

func (s *agreement) run(ctx context.Context, c *cohort.Cohort, b *builder) error {
	b.Unit = "subjects"
	for _, v := range s.ratings {
		b.name(v)
	}
	r, err := s.read(c, b)
	if err != nil {
		return err
	}
	s.settings(b)
	b.add(number(b.row("size", "subjects"), float64(len(r.values)), ""))
	b.add(number(b.row("size", "raters"), float64(len(r.raters)), ""))
	if s.numbers() {
		return s.measurements(ctx, b, r)
	}
	return s.categories(ctx, b, r)
}

// settings notes the choices and says the methods.
func (s *agreement) settings(b *builder) {
	a := s.plan
	b.Methods = "Subjects with a rating by every rater are compared."
	large := "large-sample"
	if s.cluster != nil {
		b.set("cluster", s.cluster.Name, true)
		b.set("seed", strconv.Itoa(s.seed), a.Seed != nil)
		b.set("replicates", strconv.Itoa(s.replicates), a.Replicates != nil)
		large = "bootstrap"
	}
	if s.numbers() {
		s.numberSettings(b)
	} else {
		b.set("weights", s.weights.String(), a.Weights != "")
		b.set("limits of kappa", large, s.cluster != nil)
		b.Methods += " Agreement of two raters beyond chance is Cohen's kappa"
		b.cite("Cohen 1960")
		if s.weights != stats.Unweighted {
			b.Methods += " with " + s.weights.String()
			b.cite("Cohen 1968")
		}
		b.Methods += "; its P is of no agreement beyond chance, and the largest kappa is the most that the raters' own frequencies permit. Agreement on a category is the share of ratings of it that the other rater shares."
		b.cite("Fleiss 1969", "Feinstein 1990", "Cicchetti 1990")
		if s.cluster == nil {
			b.Methods += " Kappa has large-sample limits."
		}
	}
	if s.cluster != nil {
		b.Methods += fmt.Sprintf(" Limits of coefficients are bias-corrected and accelerated, of %d bootstrap resamples of clusters, each with all its subjects; without P, which would take subjects as independent.", s.replicates)
		b.cite("Efron 1987")
	}
}

func (s *agreement) boot(b *builder) stats.BootstrapOptions {
	return stats.BootstrapOptions{Level: b.level, Replicates: s.replicates, Seed: uint64(s.seed)}
}

// resampled puts the limits of a bootstrap in place of those that take subjects
// as independent.
func resampled(e stats.Estimate, boot stats.Bootstrap, err error) (stats.Estimate, error) {
	if err != nil {
		return e, err
	}
	e.Lower, e.Upper, e.SE, e.P = boot.Lower, boot.Upper, boot.SE, math.NaN()
	e.Method = "bias-corrected and accelerated bootstrap over clusters"
	e.Warnings = boot.Warnings
	return e, nil
}

// pairs calls visit with each two raters and the term of their rows.
func (r *ratings) pairs(visit func(i, j int, term string)) {
	for i := range r.raters {
		for j := i + 1; j < len(r.raters); j++ {
			visit(i, j, result.RatersTerm(r.raters[i].Name, r.raters[j].Name))
		}
	}
}

// categories writes the rows of ratings in categories.
func (s *agreement) categories(ctx context.Context, b *builder, r *ratings) error {
	levels := s.ratings[0].Levels()
	index := map[string]int{}
	for i, l := range levels {
		index[l] = i
	}
	rated := make([][]int, len(r.raters)) // by rater, by subject
	counts := make([][]int, len(r.values))
	for i, values := range r.values {
		counts[i] = make([]int, len(levels))
		for k, x := range values {
			rated[k] = append(rated[k], index[x.String()])
			counts[i][index[x.String()]]++
		}
	}
	if len(r.raters) < 2 {
		row := b.row("kappa", "kappa")
		row.N, row.Reason = result.Number(len(r.values)), fmt.Sprintf("%d raters, expected at least two", len(r.raters))
		b.add(row)
		return nil
	}
	var err error
	r.pairs(func(i, j int, term string) {
		if err == nil {
			err = ctx.Err()
		}
		s.pairOfCategories(b, r, term, levels, stats.RatingTable(rated[i], rated[j], len(levels)), rated[i], rated[j])
	})
	if len(r.raters) > 2 {
		s.manyRaters(b, r, levels, counts)
	}
	return err
}

// pairOfCategories writes the rows of two raters.
func (s *agreement) pairOfCategories(b *builder, r *ratings, term string, levels []string, table [][]int, first, second []int) {
	name := s.ratings[0].Name
	n := result.Number(len(first))
	for i, from := range levels {
		for j, to := range levels {
			cell := b.row("table", "count", group("first", from), group("second", to))
			cell.Term, cell.N = term, n
			b.add(number(cell, float64(table[i][j]), ""))
		}
	}
	fill := func(part, measure string, groups ...result.Group) result.Row {
		row := b.row(part, measure, groups...)
		row.Term, row.N = term, n
		return row
	}
	a, err := stats.Agreement(table, stats.LimitOptions{Level: b.level})
	if s.cluster != nil { // Wilson's limits take subjects as independent
		a.Overall = withoutLimits(a.Overall)
		for i := range a.Specific {
			a.Specific[i] = withoutLimits(a.Specific[i])
		}
	}
	b.add(b.agreed(fill("agreement", "proportion of agreement"), a.Overall, err))
	for i, level := range levels {
		var e stats.Estimate
		if err == nil {
			e = a.Specific[i]
		}
		b.add(b.agreed(fill("agreement", "specific agreement", group(name, level)), e, err))
	}
	if err == nil && len(levels) == 2 {
		b.add(number(fill("agreement", "prevalence index"), a.Prevalence, ""))
		b.add(number(fill("agreement", "bias index"), a.Bias, ""))
	}
	k, err := stats.Kappa(table, stats.KappaOptions{Level: b.level, Weights: s.weights})
	e := k.Estimate
	if err == nil && s.cluster != nil {
		boot, wrong := stats.KappaBootstrap(first, second, r.cluster, len(levels), stats.KappaOptions{Weights: s.weights}, s.boot(b))
		e, err = resampled(e, boot, wrong)
	}
	b.add(b.estimate(fill("kappa", "kappa"), e, err))
	if err == nil {
		b.add(number(fill("kappa", "agreement by chance"), k.Chance, ""))
		b.add(number(fill("kappa", "largest kappa"), k.Largest, "not defined for these weights"))
	}
}

// withoutLimits leaves an estimate bare where its limits would take subjects as
// independent.
func withoutLimits(e stats.Estimate) stats.Estimate {
	return stats.Estimate{
		Measure: e.Measure, Value: e.Value, Lower: math.NaN(), Upper: math.NaN(), SE: math.NaN(), P: math.NaN(),
		Level: math.NaN(), Warnings: e.Warnings,
	}
}

// agreed fills a row of agreement, whose limits may have been left out.
func (b *builder) agreed(r result.Row, e stats.Estimate, err error) result.Row {
	if err == nil && math.IsNaN(e.Level) {
		reason := "not estimable"
		if len(e.Warnings) > 0 {
			reason = e.Warnings[0].Text
		}
		return number(r, e.Value, reason)
	}
	return b.estimate(r, e, err)
}

// manyRaters writes kappa over all raters and of each category.
func (s *agreement) manyRaters(b *builder, r *ratings, levels []string, counts [][]int) {
	b.Methods += " Kappa over all raters is Fleiss's, unweighted."
	b.cite("Fleiss 1971", "Fleiss 1979")
	row := b.row("all raters", "kappa")
	row.N = result.Number(len(counts))
	k, err := stats.FleissKappa(counts, stats.LimitOptions{Level: b.level})
	e := k.Estimate
	if err == nil && s.cluster != nil {
		boot, wrong := stats.FleissKappaBootstrap(counts, r.cluster, s.boot(b))
		e, err = resampled(e, boot, wrong)
	}
	b.add(b.estimate(row, e, err))
	if err != nil {
		return
	}
	for j, level := range levels {
		row := b.row("all raters", "kappa", group(s.ratings[0].Name, level))
		row.N = result.Number(len(counts))
		one := withoutLimits(k.Category[j])
		filled := b.agreed(row, one, nil)
		if s.cluster == nil {
			filled.P = result.Number(k.Category[j].P)
		}
		b.add(filled)
	}
}

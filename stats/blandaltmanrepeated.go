package stats

import (
	"fmt"
	"math"
)

// A BlandAltmanRepeatedResult is of subjects with several pairs each.
type BlandAltmanRepeatedResult struct {
	N, Subjects              int
	Bias, Lower, Upper       float64 // limits of agreement of single pairs
	SD, BetweenSD, WithinSD  float64 // of differences: total, between and within subjects
	BiasLimits               Bootstrap
	LowerLimits, UpperLimits Bootstrap // of the limits of agreement
	Multiplier               float64
	Warnings                 []Warning
}

// BlandAltmanRepeated is BlandAltman where a subject has several pairs, each
// pair measured together, as both heels of a child or its visits. cluster[i]
// numbers the subject of pair i from 0. The differences are taken apart by a
// one-way analysis of variance: with mean squares B between and W within the g
// subjects of m_i pairs,
//
//	s²  = W + max(0, B−W)/m0,  m0 = (Σm − Σm²/Σm)/(g−1),
//
// is the variance of the difference of one pair, and the limits of agreement are
// d̄ ± z s with d̄ the mean over pairs. All limits resample subjects with
// all their pairs (ClusterBootstrap); the spread need not be normal for those,
// but is for the share of differences that lie between the limits of agreement.
//
// With one pair a subject it is the bias and limits of BlandAltman. It returns
// ErrTooFewClusters below two subjects, ErrNotFinite, and ErrNoVariance where
// all differences are equal.
//
// Reference: Bland JM, Altman DG. Agreement between methods of measurement with
// multiple observations per individual. J Biopharm Stat 2007;17:571-582.
func BlandAltmanRepeated(first, second []float64, cluster []int, opts BlandAltmanOptions, boot BootstrapOptions) (BlandAltmanRepeatedResult, error) {
	const measure = "limits of agreement of repeated pairs"
	r := BlandAltmanRepeatedResult{N: len(first), Multiplier: agreementMultiplier(opts)}
	differences, _, err := pairDifferences(first, second)
	if err != nil {
		return r, fmt.Errorf("%s: %w", measure, err)
	}
	members := clusterMembers(cluster, len(first))
	r.Subjects = len(members)
	if r.Subjects < 2 {
		return r, fmt.Errorf("%s: %w: found %d, expected at least 2", measure, ErrTooFewClusters, r.Subjects)
	}
	if constant(differences) {
		return r, fmt.Errorf("%s of %d pairs: %w: every difference is %v", measure, r.N, ErrNoVariance, differences[0])
	}
	once := make([]int, r.Subjects)
	for i := range once {
		once[i] = 1
	}
	var between, within float64
	r.Bias, between, within = repeatedVariance(differences, members, once)
	r.BetweenSD, r.WithinSD, r.SD = math.Sqrt(between), math.Sqrt(within), math.Sqrt(between+within)
	r.Lower, r.Upper = r.Bias-r.Multiplier*r.SD, r.Bias+r.Multiplier*r.SD
	if opts.Level != 0 {
		boot.Level = opts.Level
	}
	for _, one := range []struct {
		into *Bootstrap
		sign float64
	}{{&r.BiasLimits, 0}, {&r.LowerLimits, -1}, {&r.UpperLimits, 1}} {
		*one.into, err = ClusterBootstrap(r.Subjects, func(weight []int) float64 {
			mean, between, within := repeatedVariance(differences, members, weight)
			if one.sign == 0 {
				return mean
			}
			return mean + one.sign*r.Multiplier*math.Sqrt(between+within)
		}, boot)
		if err != nil {
			return r, fmt.Errorf("%s: %w", measure, err)
		}
	}
	r.Warnings = r.UpperLimits.Warnings
	return r, nil
}

// repeatedVariance is the mean and the components of variance of differences by
// subject, each subject taken weight times; NaN with fewer than two subjects.
func repeatedVariance(differences []float64, members [][]int, weight []int) (mean, between, within float64) {
	var total Sum
	pairs, subjects, squares := 0.0, 0.0, 0.0
	for g, rows := range members {
		w, m := float64(weight[g]), float64(len(rows))
		pairs, subjects, squares = pairs+w*m, subjects+w, squares+w*m*m
		for _, i := range rows {
			total.Add(w * differences[i])
		}
	}
	if subjects < 2 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	mean = total.Total() / pairs
	var b, w Sum
	for g, rows := range members {
		if weight[g] == 0 {
			continue
		}
		own := compensatedSum(len(rows), func(j int) float64 { return differences[rows[j]] }) / float64(len(rows))
		b.Add(float64(weight[g]*len(rows)) * (own - mean) * (own - mean))
		for _, i := range rows {
			w.Add(float64(weight[g]) * (differences[i] - own) * (differences[i] - own))
		}
	}
	among := b.Total() / (subjects - 1)
	if pairs > subjects {
		within = w.Total() / (pairs - subjects)
	}
	size := (pairs - squares/pairs) / (subjects - 1)
	return mean, math.Max(0, among-within) / size, within
}

// clusterMembers lists the rows of each cluster, in their order. Every number
// from 0 to the largest must occur.
func clusterMembers(cluster []int, n int) [][]int {
	if len(cluster) != n {
		panic(fmt.Sprintf("stats: %d clusters for %d rows", len(cluster), n))
	}
	var members [][]int
	for i, c := range cluster {
		if c < 0 || c > n {
			panic(fmt.Sprintf("stats: cluster %d of row %d, expected 0 to %d", c, i, n-1))
		}
		for len(members) <= c {
			members = append(members, nil)
		}
		members[c] = append(members[c], i)
	}
	for c, rows := range members {
		if len(rows) == 0 {
			panic(fmt.Sprintf("stats: cluster %d has no row", c))
		}
	}
	return members
}

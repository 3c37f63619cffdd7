package stats

import (
	"fmt"
	"math"
	"slices"
)

// KappaBootstrap resamples clusters, such as children with both heels, for the
// limits of Kappa. Pair i is the categories first[i] and second[i], counted from
// 0 and below categories, of cluster[i], counted from 0. A replicate whose
// ratings are all of one category has no value. opts.Level is of no account.
func KappaBootstrap(first, second, cluster []int, categories int, opts KappaOptions, boot BootstrapOptions) (Bootstrap, error) {
	table, members := RatingTable(first, second, categories), clusterMembers(cluster, len(first))
	if _, err := Kappa(table, opts); err != nil {
		return Bootstrap{}, err
	}
	opts.Level = 0
	return BCaBootstrap(len(members), func(weight []int) float64 {
		table := newCounts(categories)
		for c, rows := range members {
			for _, i := range rows {
				table[first[i]][second[i]] += weight[c]
			}
		}
		k, err := Kappa(table, opts)
		if err != nil {
			return math.NaN()
		}
		return k.Estimate.Value
	}, boot)
}

// RatingTable counts pairs of ratings, which are categories counted from 0, for
// Kappa and Agreement.
func RatingTable(first, second []int, categories int) [][]int {
	if len(first) != len(second) {
		panic(fmt.Sprintf("stats: %d first and %d second ratings, expected pairs", len(first), len(second)))
	}
	table := newCounts(categories)
	for i, a := range first {
		if b := second[i]; a < 0 || a >= categories || b < 0 || b >= categories {
			panic(fmt.Sprintf("stats: ratings %d and %d of pair %d, expected categories 0 to %d", a, b, i, categories-1))
		}
		table[a][second[i]]++
	}
	return table
}

func newCounts(categories int) [][]int {
	table := make([][]int, categories)
	for i := range table {
		table[i] = make([]int, categories)
	}
	return table
}

// FleissKappaBootstrap resamples clusters of subjects for the limits of
// FleissKappa.
func FleissKappaBootstrap(counts [][]int, cluster []int, boot BootstrapOptions) (Bootstrap, error) {
	members := clusterMembers(cluster, len(counts))
	if _, err := FleissKappa(counts, LimitOptions{}); err != nil {
		return Bootstrap{}, err
	}
	return BCaBootstrap(len(members), func(weight []int) float64 {
		k, err := FleissKappa(resampled(counts, members, weight), LimitOptions{})
		if err != nil {
			return math.NaN()
		}
		return k.Estimate.Value
	}, boot)
}

// ICCBootstrap resamples clusters of subjects, such as children with both heels,
// for the limits of ICC: of the mean of all raters with average, of one rating
// without. Nothing is assumed to be normal.
func ICCBootstrap(ratings [][]float64, cluster []int, model ICCModel, average bool, boot BootstrapOptions) (Bootstrap, error) {
	members := clusterMembers(cluster, len(ratings))
	if _, err := ICC(ratings, model, LimitOptions{}); err != nil {
		return Bootstrap{}, err
	}
	return BCaBootstrap(len(members), func(weight []int) float64 {
		r, err := iccValue(resampled(ratings, members, weight), model)
		if err != nil {
			return math.NaN()
		}
		if average {
			return r.Average.Value
		}
		return r.Single.Value
	}, boot)
}

// resampled repeats the rows of each cluster.
func resampled[T any](rows []T, members [][]int, weight []int) []T {
	var out []T
	for c, of := range members {
		for range weight[c] {
			for _, i := range of {
				out = append(out, rows[i])
			}
		}
	}
	return slices.Clip(out)
}

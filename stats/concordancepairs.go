package stats

import "slices"

// rowPairs are the weights of the rows with which a row makes comparable pairs:
// the larger score first to its event, last, or both equal.
type rowPairs struct{ concordant, discordant, tied float64 }

// A scoreTree holds weights by the rank of a score, from 1, as partial sums (a
// Fenwick tree), so that adding and summing take log n steps.
type scoreTree struct{ sums, own []float64 }

func newScoreTree(ranks int) *scoreTree {
	return &scoreTree{make([]float64, ranks+1), make([]float64, ranks+1)}
}

func (t *scoreTree) add(rank int, weight float64) {
	t.own[rank] += weight
	for k := rank; k < len(t.sums); k += k & -k {
		t.sums[k] += weight
	}
}

// upTo sums the weights of the ranks up to one.
func (t *scoreTree) upTo(rank int) (sum float64) {
	for k := rank; k > 0; k -= k & -k {
		sum += t.sums[k]
	}
	return sum
}

// around sums the weights below a rank, at it and above it.
func (t *scoreTree) around(rank int) (less, equal, greater float64) {
	less = t.upTo(rank - 1)
	return less, t.own[rank], t.upTo(len(t.sums)-1) - t.upTo(rank)
}

// addStratum adds the pairs of some rows to the sums and to each row's; it
// reports whether there was one.
//
// It goes back in time with the tree of the rows at risk, for the pairs in which
// a row has the earlier event, and forward with the tree of past events, for
// those in which it outlasts one: those seen at its end less those seen at its
// entry.
func (r *ConcordanceResult) addStratum(t Times, score, weight []float64, rows []int, pairs []rowPairs) bool {
	values := make([]float64, len(rows))
	for k, i := range rows {
		values[k] = score[i]
	}
	slices.Sort(values)
	values = slices.Compact(values)
	rank := make([]int, len(rows))
	for k, i := range rows {
		rank[k], _ = slices.BinarySearch(values, score[i])
		rank[k]++
	}
	byExit := ordered(len(rows), func(k int) float64 { return t.Exit[rows[k]] })
	byEntry := ordered(len(rows), func(k int) float64 { return t.entry(rows[k]) })
	if t.Entry == nil {
		byEntry = nil
	}
	before := r.Concordant + r.Discordant + r.TiedScore
	r.backward(t, weight, rows, rank, len(values), byExit, byEntry, pairs)
	forward(t, weight, rows, rank, len(values), byExit, byEntry, pairs)
	return r.Concordant+r.Discordant+r.TiedScore > before
}

// sameExit returns where the rows of one exit begin that end before to.
func sameExit(t Times, rows, byExit []int, to int) int {
	from := to - 1
	for from > 0 && t.Exit[rows[byExit[from-1]]] == t.Exit[rows[byExit[to-1]]] {
		from--
	}
	return from
}

func (r *ConcordanceResult) backward(t Times, weight []float64, rows, rank []int, ranks int, byExit, byEntry []int, pairs []rowPairs) {
	risk := newScoreTree(ranks)
	left := len(byEntry)
	for to := len(byExit); to > 0; {
		from := sameExit(t, rows, byExit, to)
		at := t.Exit[rows[byExit[from]]]
		for ; left > 0 && t.Entry[rows[byEntry[left-1]]] >= at; left-- {
			k := byEntry[left-1]
			risk.add(rank[k], -weight[rows[k]])
		}
		var events []int
		for _, k := range byExit[from:to] {
			if t.Status[rows[k]] {
				events = append(events, k)
			} else {
				risk.add(rank[k], weight[rows[k]])
			}
		}
		for _, k := range events {
			i := rows[k]
			less, equal, greater := risk.around(rank[k])
			pairs[i].concordant += less
			pairs[i].tied += equal
			pairs[i].discordant += greater
			r.Concordant += float64(weight[i] * less)
			r.TiedScore += float64(weight[i] * equal)
			r.Discordant += float64(weight[i] * greater)
		}
		r.addTied(events, weight, rows, rank)
		for _, k := range events {
			risk.add(rank[k], weight[rows[k]])
		}
		to = from
	}
}

// addTied counts the pairs of events at one time.
func (r *ConcordanceResult) addTied(events []int, weight []float64, rows, rank []int) {
	events = slices.Clone(events)
	slices.SortStableFunc(events, func(a, b int) int { return rank[a] - rank[b] })
	all, own := 0.0, 0.0 // of the events so far, and of those with the score
	for h, k := range events {
		if h > 0 && rank[events[h-1]] != rank[k] {
			own = 0
		}
		w := weight[rows[k]]
		r.TiedBoth += float64(w * own)
		r.TiedTime += float64(w * (all - own))
		all += w
		own += w
	}
}

func forward(t Times, weight []float64, rows, rank []int, ranks int, byExit, byEntry []int, pairs []rowPairs) {
	past := newScoreTree(ranks)
	entered := 0
	take := func(k int, sign float64) {
		less, equal, greater := past.around(rank[k])
		p := &pairs[rows[k]]
		p.concordant += float64(sign * greater) // an event of a larger score came first
		p.tied += float64(sign * equal)
		p.discordant += float64(sign * less)
	}
	for from := 0; from < len(byExit); {
		at := t.Exit[rows[byExit[from]]]
		to := from
		for to < len(byExit) && t.Exit[rows[byExit[to]]] == at {
			to++
		}
		for ; entered < len(byEntry) && t.Entry[rows[byEntry[entered]]] < at; entered++ {
			take(byEntry[entered], -1)
		}
		same := byExit[from:to]
		for _, k := range same {
			if t.Status[rows[k]] {
				take(k, 1)
			}
		}
		for _, k := range same {
			if t.Status[rows[k]] {
				past.add(rank[k], weight[rows[k]])
			}
		}
		for _, k := range same {
			if !t.Status[rows[k]] {
				take(k, 1)
			}
		}
		from = to
	}
}

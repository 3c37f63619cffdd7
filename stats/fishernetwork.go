package stats

import (
	"encoding/binary"
	"math"
	"slices"
)

const (
	// networkArcs bounds the arcs that are kept, about 100 MB.
	networkArcs = 3_000_000
	// networkPasts bounds the partial tables carried along them, some seconds.
	networkPasts = 10_000_000
	// networkCompletions bounds the ways to fill the last two columns that are
	// looked at, some seconds.
	networkCompletions = 100_000_000
	// networkGrid is the distance at which the logarithms of the weights of two
	// partial tables are taken to be one. It adds up over the columns to far
	// less than fisherTolerance.
	networkGrid = 1e-10
)

// A networkNode is what is left of the row totals after the columns before it,
// in order of size: the weights of what can follow depend on no more.
type networkNode struct {
	left        []int
	arcs        []networkArc
	most, least float64 // log weights of the most and the least probable completion
	all         float64 // log of the summed weight of all completions
	pasts       []networkPast
	index       map[int64]int // of pasts by weight on the grid
}

// A networkArc is a way to fill the next column: which node it leads to and
// −Σ log x!. Ways that differ by exchanging rows with equal totals are several.
type networkArc struct {
	to     int
	weight float64
	ways   float64
}

// A networkPast is the partial tables of one weight that lead to a node.
type networkPast struct {
	weight float64
	count  float64
}

// A network is what fisherNetwork walks through: the nodes before each column
// but the last. Where two columns are left the ways to fill them are not kept
// but listed when they are needed.
type network struct {
	columns     []int // totals, the largest last
	logs        []float64
	stages      [][]*networkNode
	completions int // looked at so far
}

// fisherNetwork is the p-value of Fisher's test for a table of three or more
// rows and columns. The probability of a table is Π r! Π c!/(n! Π x!). Columns
// are filled in one by one; partial tables that leave the same row totals meet
// in a node, and are not followed further where all of their completions count,
// or none does. It reports whether the work stayed within its bounds.
func fisherNetwork(table [][]int) (p float64, ok bool) {
	rows, columns, total := margins(table)
	n := &network{columns: slices.Sorted(slices.Values(columns)), logs: logFactorials(total)}
	if !n.build(slices.Sorted(slices.Values(rows))) {
		return 0, false
	}
	observed := 0.0
	for _, row := range table {
		for _, x := range row {
			observed -= n.logs[x]
		}
	}
	limit := observed + math.Log1p(fisherTolerance)
	start := n.stages[0][0]
	start.pasts = []networkPast{{0, 1}}
	work := 0
	for j, stage := range n.stages {
		for _, node := range stage {
			var open []networkPast // some completions count, others do not
			for _, past := range node.pasts {
				switch {
				case past.weight+node.least > limit:
				case past.weight+node.most <= limit:
					p += past.count * math.Exp(past.weight+node.all-start.all)
				default:
					open = append(open, past)
				}
			}
			node.pasts, node.index = nil, nil
			if j < len(n.stages)-1 {
				if work += len(open) * len(node.arcs); work > networkPasts {
					return 0, false
				}
				for _, past := range open {
					for _, arc := range node.arcs {
						n.stages[j+1][arc.to].receive(past.weight+arc.weight, past.count*arc.ways)
					}
				}
				continue
			}
			if len(open) == 0 {
				continue
			}
			weights, sums, ok := n.lastTwo(node)
			if !ok {
				return 0, false
			}
			for _, past := range open {
				count, _ := slices.BinarySearchFunc(weights, limit-past.weight, func(w, most float64) int {
					if w <= most {
						return -1
					}
					return 1
				})
				p += past.count * sums[count] * math.Exp(past.weight+node.all-start.all)
			}
		}
	}
	return math.Min(1, p), true
}

// lastTwo lists the log weights of the ways to fill the last two columns, in
// order, and the summed shares of the first so many of them in all.
func (n *network) lastTwo(node *networkNode) (weights, sums []float64, ok bool) {
	ok = n.eachOfLastTwo(node, func(weight float64) { weights = append(weights, weight) })
	slices.Sort(weights)
	sums = make([]float64, 1, len(weights)+1)
	for i, w := range weights {
		sums = append(sums, sums[i]+math.Exp(w-node.all))
	}
	return weights, sums, ok
}

func (n *network) eachOfLastTwo(node *networkNode, visit func(weight float64)) (ok bool) {
	return fillColumn(node.left, n.columns[len(n.columns)-2], n.logs, func(left []int, weight float64) bool {
		for _, x := range left { // the last column
			weight -= n.logs[x]
		}
		visit(weight)
		n.completions++
		return n.completions <= networkCompletions
	})
}

// receive adds partial tables to those that lead to a node.
func (n *networkNode) receive(weight, count float64) {
	if n.index == nil {
		n.index = map[int64]int{}
	}
	key := int64(math.Round(weight / networkGrid))
	for _, k := range []int64{key, key - 1, key + 1} {
		if i, there := n.index[k]; there && math.Abs(n.pasts[i].weight-weight) < networkGrid {
			n.pasts[i].count += count
			return
		}
	}
	n.index[key] = len(n.pasts)
	n.pasts = append(n.pasts, networkPast{weight, count})
}

// build makes the nodes, from the start, and then their bounds, from the end.
func (n *network) build(rows []int) (ok bool) {
	n.stages = [][]*networkNode{{{left: rows}}}
	arcs := 0
	for _, c := range n.columns[:len(n.columns)-2] {
		var next []*networkNode
		index := map[string]int{}
		for _, node := range n.stages[len(n.stages)-1] {
			known := map[networkArc]int{} // arcs by target and weight
			ok := fillColumn(node.left, c, n.logs, func(left []int, weight float64) bool {
				slices.Sort(left)
				key := networkKey(left)
				to, there := index[key]
				if !there {
					to = len(next)
					index[key] = to
					next = append(next, &networkNode{left: slices.Clone(left)})
				}
				arc := networkArc{to: to, weight: weight}
				if i, there := known[arc]; there {
					node.arcs[i].ways++
					return true
				}
				known[arc] = len(node.arcs)
				arc.ways = 1
				node.arcs = append(node.arcs, arc)
				arcs++
				return arcs <= networkArcs
			})
			if !ok {
				return false
			}
		}
		n.stages = append(n.stages, next)
	}
	last := len(n.stages) - 1
	for j := last; j >= 0; j-- {
		for _, node := range n.stages[j] {
			node.most, node.least = math.Inf(-1), math.Inf(1)
			bound := func(most, least float64) {
				node.most, node.least = math.Max(node.most, most), math.Min(node.least, least)
			}
			if j == last && !n.eachOfLastTwo(node, func(weight float64) { bound(weight, weight) }) {
				return false
			}
			for _, arc := range node.arcs {
				to := n.stages[j+1][arc.to]
				bound(arc.weight+to.most, arc.weight+to.least)
			}
			sum := 0
			for _, r := range node.left {
				sum += r
				node.all -= n.logs[r]
			}
			node.all += n.logs[sum] // Σ Π 1/x! is n!/(Π r! Π c!)
			for _, c := range n.columns[j:] {
				node.all -= n.logs[c]
			}
		}
	}
	return true
}

// fillColumn visits every way to take a column's total c out of the row totals,
// with what is left of them (which the visit may change) and −Σ log x!.
func fillColumn(rows []int, c int, logs []float64, visit func(left []int, weight float64) bool) bool {
	left, spare := make([]int, len(rows)), make([]int, len(rows))
	rest := make([]int, len(rows)+1) // of the rows from i on
	for i := len(rows) - 1; i >= 0; i-- {
		rest[i] = rest[i+1] + rows[i]
	}
	var fill func(i, c int, weight float64) bool
	fill = func(i, c int, weight float64) bool {
		if i == len(rows) {
			copy(spare, left)
			return visit(spare, weight)
		}
		for x := max(0, c-rest[i+1]); x <= min(c, rows[i]); x++ {
			left[i] = rows[i] - x
			if !fill(i+1, c-x, weight-logs[x]) {
				return false
			}
		}
		return true
	}
	return fill(0, c, 0)
}

func networkKey(left []int) string {
	key := make([]byte, 0, 3*len(left))
	for _, n := range left {
		key = binary.AppendUvarint(key, uint64(n))
	}
	return string(key)
}

// logFactorials are log 0! to log n!.
func logFactorials(n int) []float64 {
	logs := make([]float64, n+1)
	for i := range logs {
		logs[i], _ = math.Lgamma(float64(i) + 1)
	}
	return logs
}

package codebookpage

import "strconv"

// A showing says how a count is shown.
type showing uint8

const (
	shown  showing = iota
	few            // fewer than the threshold
	withIt         // hidden so that a few cannot be told from the total
)

// hide decides which counts of one whole are shown. Zero is shown. Where one
// count alone is hidden, or those hidden add up to less than the threshold,
// the smallest of the others goes with them.
func hide(counts []int, small int) []showing {
	out := make([]showing, len(counts))
	hidden, sum := 0, 0
	for i, n := range counts {
		if n > 0 && n < small {
			out[i] = few
			hidden, sum = hidden+1, sum+n
		}
	}
	if hidden == 0 || hidden > 1 && sum >= small {
		return out
	}
	least := -1
	for i, n := range counts {
		if out[i] == shown && n > 0 && (least < 0 || n < counts[least]) {
			least = i
		}
	}
	if least >= 0 {
		out[least] = withIt
	}
	return out
}

// width is a share of the longest bar, in percent.
func width(n, most int) string {
	return strconv.FormatFloat(100*float64(n)/float64(most), 'f', 1, 64)
}

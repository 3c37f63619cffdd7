package stats

import "fmt"

// DefaultLevel is the confidence level used where an option leaves it zero.
const DefaultLevel = 0.95

// confidenceLevel resolves an option: zero is DefaultLevel. A level outside
// (0, 1), such as 95, is the caller's mistake.
func confidenceLevel(level float64) float64 {
	if level == 0 {
		return DefaultLevel
	}
	if !(level > 0 && level < 1) {
		panic(fmt.Sprintf("stats: confidence level %v, expected a number between 0 and 1 such as 0.95", level))
	}
	return level
}

// criticalZ returns the standard normal quantile that two-sided limits of the
// level are made with, 1.959964 for 0.95.
func criticalZ(level float64) float64 { return -normalQuantile((1 - level) / 2) }

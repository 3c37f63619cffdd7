package run

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

var nan = math.NaN()

// roundTimes are about six round times from 0 up to the last of the times.
func roundTimes(times []float64) []float64 {
	if len(times) == 0 || !(slices.Max(times) > 0) {
		return []float64{0}
	}
	last := slices.Max(times)
	step := math.Pow(10, math.Floor(math.Log10(last/6)))
	for _, m := range []float64{1, 2, 5, 10} {
		if step*m*7 >= last {
			step *= m
			break
		}
	}
	ticks := []float64{0}
	for i := 1; float64(i)*step <= last; i++ {
		ticks = append(ticks, float64(i)*step)
	}
	return ticks
}

// times writes times for a setting.
func times(list []float64) string {
	texts := make([]string, len(list))
	for i, x := range list {
		texts[i] = strconv.FormatFloat(x, 'g', -1, 64)
	}
	return strings.Join(texts, ", ")
}

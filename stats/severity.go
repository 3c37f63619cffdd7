package stats

import (
	"math"
	"strconv"
)

// A SeverityScheme sorts episodes by the days lost to them.
type SeverityScheme struct {
	Name   string    // short, such as "bahr-2020"
	Bounds []float64 // the largest number of days of each band; above the last is one more band
}

// SeveritySchemes are the bands of the two consensus statements: that of 2020
// for all sports, and that of 2006 for football, which parts 1 to 7 days.
//
// References: Bahr R, Clarsen B, Derman W, et al. International Olympic
// Committee consensus statement: methods for recording and reporting of
// epidemiological data on injury and illness in sport 2020. Br J Sports Med
// 2020;54:372-389. Fuller CW, Ekstrand J, Junge A, et al. Consensus statement on
// injury definitions and data collection procedures in studies of football
// (soccer) injuries. Br J Sports Med 2006;40:193-201.
func SeveritySchemes() []SeverityScheme {
	return []SeverityScheme{
		{"bahr-2020", []float64{0, 7, 28}},
		{"fuller-2006", []float64{0, 3, 7, 28}},
	}
}

// Band is the band of a number of days: 0 for none, then in order. A part of a
// day belongs to the band of the whole day that it begins. Days that are not a
// number of 0 or more are the caller's mistake.
func (s SeverityScheme) Band(days float64) int {
	if !(days >= 0) {
		panic("stats: days lost are " + strconv.FormatFloat(days, 'g', -1, 64) + ", expected 0 or more")
	}
	days = math.Ceil(days)
	for i, bound := range s.Bounds {
		if days <= bound {
			return i
		}
	}
	return len(s.Bounds)
}

// Labels are the names of the bands: "0 days", "1 to 7 days", ">28 days".
func (s SeverityScheme) Labels() []string {
	text := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	labels := []string{"0 days"}
	for i := 1; i < len(s.Bounds); i++ {
		labels = append(labels, text(s.Bounds[i-1]+1)+" to "+text(s.Bounds[i])+" days")
	}
	return append(labels, ">"+text(s.Bounds[len(s.Bounds)-1])+" days")
}

package stats

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// The bands as the two statements print them.
func TestSeverityBands(t *testing.T) {
	want := map[string]map[string][]float64{
		"bahr-2020":   {"0 days": {0}, "1 to 7 days": {1, 3, 4, 7, 0.5, 6.5}, "8 to 28 days": {7.5, 8, 28}, ">28 days": {28.5, 29, 400, math.Inf(1)}},
		"fuller-2006": {"0 days": {0}, "1 to 3 days": {0.5, 1, 3}, "4 to 7 days": {3.5, 4, 7}, "8 to 28 days": {8, 28}, ">28 days": {29}},
	}
	for _, s := range SeveritySchemes() {
		labels := s.Labels()
		got := map[string][]float64{}
		for _, label := range labels {
			for _, days := range want[s.Name][label] {
				got[labels[s.Band(days)]] = append(got[labels[s.Band(days)]], days)
			}
		}
		if d := cmp.Diff(want[s.Name], got); d != "" {
			t.Errorf("%s (-want +got):\n%s", s.Name, d)
		}
		panics(t, "days lost are NaN", func() { s.Band(math.NaN()) })
		panics(t, "days lost are -1", func() { s.Band(-1) })
	}
}

package stats

import (
	"math/rand/v2"
	"testing"
)

// BenchmarkAtRisk splits the time of 1,000,000 children with three exposure
// rows each by five age bands, four seasons and six sports and adds it up by
// cell, with an episode in one child of ten. An operation is all of them.
func BenchmarkAtRisk(b *testing.B) {
	const children, sports, ages, seasons = 1_000_000, 6, 5, 4
	type row struct {
		from, to, hours float64
		sport           int
	}
	r := rand.New(rand.NewPCG(1, 3))
	rows := make([][3]row, children)
	age := make([]float64, children)
	for i := range rows {
		age[i] = 6 + 10*r.Float64()
		at := float64(r.IntN(200))
		for k := range 3 {
			days := float64(60 + r.IntN(300))
			rows[i][k] = row{at, at + days, days / 3, r.IntN(sports)}
			at += days
		}
	}
	bounds := [ages + 1]float64{6, 8, 10, 12, 14, 17}
	starts := [seasons + 1]float64{0, 365, 730, 1095, 1460}
	b.ReportAllocs()
	for b.Loop() {
		var cells [sports][ages][seasons]Sum
		events := 0
		observed := make([]Observed, 3)
		days := make([]float64, ages+1)
		for i := range rows {
			for k, x := range rows[i] {
				observed[k] = Observed{Interval{x.from, x.to, x.hours}, x.sport}
			}
			for k, bound := range bounds {
				days[k] = AgeDay(bound, age[i])
			}
			c := Child{Observed: observed, Ages: days, Calendar: starts[:]}
			if i%10 == 0 {
				c.Episodes = []Episode{{Onset: rows[i][1].from + 5, End: rows[i][1].from + 40, Group: rows[i][1].sport}}
			}
			t := AtRisk(c, RiskRules{First: true})
			for _, p := range t.Pieces {
				cells[p.Group][p.Age][p.Calendar].Add(p.Amount)
			}
			for _, o := range t.Onsets {
				if o.Reason == Counted {
					events++
				}
			}
		}
		if events == 0 {
			b.Fatal("no events")
		}
	}
}

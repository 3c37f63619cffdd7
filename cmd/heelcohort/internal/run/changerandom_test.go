package run

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"heelcohort/stats"
)

// A painVisit is a row of a random study: pain is NaN for a missing value.
type painVisit struct {
	child, heel int
	arm         string
	day, pain   float64
}

func randomVisits(r *rand.Rand) (list []painVisit) {
	for child := range 6 + r.IntN(20) {
		arm := []string{"wait", "cup", "raise"}[r.IntN(3)]
		for heel := range 1 + r.IntN(2) {
			for range r.IntN(7) {
				v := painVisit{child, heel, arm, float64(r.IntN(70) - 5), float64(r.IntN(100))}
				if r.IntN(3) == 0 {
					v.day = []float64{-5, 0, 4, 14, 28, 42, 43, 49}[r.IntN(8)]
				}
				if r.IntN(5) == 0 {
					v.pain = math.NaN()
				}
				if r.IntN(25) == 0 {
					v.arm = []string{"", "wait"}[r.IntN(2)]
				}
				list = append(list, v)
			}
		}
	}
	return list
}

// TestChangeWalk compares random studies with a plain reading of the plan: for
// each heel and window the visits are put in order of what makes one better, and
// the first is taken.
func TestChangeWalk(t *testing.T) {
	r := rand.New(rand.NewPCG(1912, 30))
	windows := [][3]float64{{-7, 7, 0}, {14, 42, 28}, {43, 63, 56}}
	names := []string{"start", "4 weeks", "8 weeks"}
	plan := strings.Replace(painPlan, "{label: 8 weeks, from: 49, to: 63}", "{label: 8 weeks, from: 43, to: 63, target: 56}", 1)
	plan = strings.Replace(plan, "at: [28]", "at: [28], replicates: 100", 1)
	compared := 0
	for range 60 {
		visits := randomVisits(r)
		var rows []string
		for _, v := range visits {
			pain := "NM"
			if !math.IsNaN(v.pain) {
				pain = digits(v.pain)
			}
			rows = append(rows, fmt.Sprintf("c%02d,%s,%s,%v,,%s,9,no", v.child, []string{"left", "right"}[v.heel], v.arm, v.day, pain))
		}
		res := visitsOf(plan, rows).compute(t)
		sums := map[string][]float64{} // the numbers behind a row
		reached := map[string][2]int{}
		var seen stats.Times
		read, taken := len(visits), 0
		for child := range 30 {
			for heel := range 2 {
				var own []painVisit
				arms := map[string]bool{}
				for _, v := range visits {
					if v.child == child && v.heel == heel {
						own = append(own, v)
						if v.arm != "" {
							arms[v.arm] = true
						}
					}
				}
				if len(arms) != 1 {
					continue
				}
				arm := own[slices.IndexFunc(own, func(v painVisit) bool { return v.arm != "" })].arm
				var at [3]*painVisit
				for w, span := range windows {
					var inside []painVisit
					for _, v := range own {
						if v.day >= span[0] && v.day <= span[1] {
							inside = append(inside, v)
						}
					}
					slices.SortStableFunc(inside, func(a, b painVisit) int {
						key := func(v painVisit) float64 { // a missing value comes after every other
							late := 0.0
							if math.IsNaN(v.pain) {
								late = 1e6
							}
							return late + 1000*math.Abs(v.day-span[2]) + v.day
						}
						return int(key(a) - key(b))
					})
					if len(inside) == 0 {
						continue
					}
					taken++
					if !math.IsNaN(inside[0].pain) {
						at[w] = &inside[0]
						for _, g := range []string{"", "arm=" + arm + ","} {
							sums["values/"+g+"visit="+names[w]+"/pain/mean"] = append(sums["values/"+g+"visit="+names[w]+"/pain/mean"], inside[0].pain)
						}
					}
				}
				if at[0] == nil {
					continue
				}
				for w := 1; w < 3; w++ {
					if at[w] == nil {
						continue
					}
					for _, g := range []string{"", "arm=" + arm + ","} {
						id := "change/" + g + "visit=" + names[w] + "/pain/mean change"
						sums[id] = append(sums[id], at[w].pain-at[0].pain)
						id = "reached/" + g + "visit=" + names[w] + "/pain/proportion"
						n := reached[id]
						n[1]++
						if at[w].pain <= at[0].pain-20 {
							n[0]++
						}
						reached[id] = n
					}
				}
				last, first, any := 0.0, math.Inf(1), false
				for _, v := range own {
					if v.day > at[0].day && !math.IsNaN(v.pain) {
						any = true
						last = math.Max(last, v.day)
						if v.pain <= at[0].pain-20 {
							first = math.Min(first, v.day)
						}
					}
				}
				if any {
					seen.Exit, seen.Status = append(seen.Exit, math.Min(first, last)-at[0].day), append(seen.Status, !math.IsInf(first, 1))
				}
			}
		}
		for id, numbers := range sums {
			row := row(t, res, "p/"+id)
			near(t, id, row.Estimate, stats.Describe(numbers).Mean)
			near(t, id+" n", row.N, float64(len(numbers)))
			compared++
		}
		for id, n := range reached {
			row := row(t, res, "p/"+id)
			near(t, id+" n", row.N, float64(n[1]))
			near(t, id+" events", row.Events, float64(n[0]))
		}
		if len(seen.Exit) > 0 {
			near(t, "subjects in time", row(t, res, "p/time/subjects").Estimate, float64(len(seen.Exit)))
			alone := row(t, res, "p/interval quantile/:on the day of the visit/median time").Reason // of one child
			if c, err := stats.KaplanMeier(seen, stats.CurveOptions{}); err == nil && !strings.Contains(alone, "clusters") {
				near(t, "survival on the day", row(t, res, "p/interval at/:on the day of the visit/survival@28").Estimate, c.At(28).Survival)
			}
		}
		if removed := removedUnder(res, "visits", ""); removed+float64(taken) != float64(read) {
			t.Errorf("%v visits taken and %v removed, read %v", taken, removed, read)
		}
		if t.Failed() {
			t.Fatalf("%+v", rows)
		}
	}
	if compared < 300 {
		t.Errorf("%d means compared", compared)
	}
}

package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A statesCase is what states.R reads.
type statesCase struct {
	States   int       `json:"states"`
	ID       []int     `json:"id"`
	Entry    []float64 `json:"entry"`
	Exit     []float64 `json:"exit"`
	From     []int     `json:"from"`
	To       []int     `json:"to"`
	Weight   []float64 `json:"weight"`
	Start    []float64 `json:"start"`
	FromTime float64   `json:"from_time"`
	Horizon  float64   `json:"horizon"`
}

type statesAnswer struct {
	Time, Area    []number
	AreaSE        []number `json:"area_se"`
	P0            []number
	Occupancy, SE [][]number
}

type statesOutput struct {
	Version []string
	Cases   []struct{ Fixed, Free statesAnswer }
}

// randomStates draws children that go between states on whole days, some
// under observation from later on, some rows only cut.
func randomStates(r *rand.Rand) statesCase {
	k := 2 + r.IntN(3)
	c := statesCase{States: k, Start: make([]float64, k), Horizon: 6 + float64(r.IntN(8))}
	absorbing := r.IntN(2) == 0
	for id := range 10 + r.IntN(25) {
		at, state := 0, r.IntN(k)
		if absorbing && state == k-1 {
			state = 0
		}
		if r.IntN(3) == 0 {
			at = r.IntN(5)
		}
		weight := 1.0
		if k > 2 {
			weight = 0.5 + math.Round(r.Float64()*100)/100
		}
		for range 1 + r.IntN(5) {
			exit, to := at+1+r.IntN(6), StayedIn
			if next := r.IntN(k); next != state && r.IntN(4) > 0 {
				to = next
			}
			c.ID, c.Weight = append(c.ID, id+10), append(c.Weight, weight)
			c.Entry, c.Exit = append(c.Entry, float64(at)), append(c.Exit, float64(exit))
			c.From, c.To = append(c.From, state), append(c.To, to)
			if at = exit; to != StayedIn {
				state = to
			}
			if absorbing && state == k-1 {
				break
			}
		}
	}
	first := math.Inf(1)
	for i, to := range c.To {
		if to != StayedIn {
			first = math.Min(first, c.Exit[i])
		}
	}
	c.FromTime = first - 0.5 // R has the states of those at risk at the first change
	total := 0.0
	for i := range c.ID {
		if c.Entry[i] <= c.FromTime && c.Exit[i] > c.FromTime {
			c.Start[c.From[i]]++
			total++
		}
	}
	for j := range c.Start {
		c.Start[j] = math.Round(c.Start[j]/total*64) / 64
	}
	c.Start[0] = 1
	for _, p := range c.Start[1:] {
		c.Start[0] -= p
	}
	return c
}

func (c statesCase) times() StateTimes {
	return StateTimes{ID: c.ID, Entry: c.Entry, Exit: c.Exit, From: c.From, To: c.To}
}

var stateNames = []string{"symptomatic", "back in sport", "relapsed", "gave up"}

func TestStatesAgainstStoredR(t *testing.T) {
	var cases []statesCase
	var out statesOutput
	storedCrosscheck(t, "states", &cases, &out)
	compareStates(t, cases, out)
}

func TestStatesAgainstR(t *testing.T) {
	r := rand.New(rand.NewPCG(26, 1))
	var cases []statesCase
	for range 500 {
		cases = append(cases, randomStates(r))
	}
	var out statesOutput
	crosscheck(t, "states.R", cases, &out)
	compareStates(t, cases, out)
}

// Closed forms: 1e-8.
func compareStates(t *testing.T, cases []statesCase, out statesOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	compared := 0
	for i, c := range cases {
		for name, want := range map[string]statesAnswer{"fixed": out.Cases[i].Fixed, "free": out.Cases[i].Free} {
			opts := StateOptions{Weights: c.Weight, From: &c.FromTime, Hold: true}
			if name == "fixed" {
				opts.Start = c.Start
			}
			o, err := StateOccupancy(c.times(), stateNames[:c.States], opts)
			must(t, err)
			check := func(what string, got float64, want number) {
				if compared++; !near(got, float64(want), 1e-8) {
					t.Errorf("case %d, %s start: %s %.10g, want %.10g", i+1, name, what, got, float64(want))
				}
			}
			areas := []Estimate(nil)
			if c.Horizon <= o.Until {
				areas = o.TimeInStates(c.Horizon)
			}
			for j := range o.States {
				check("start", o.Start[j], want.P0[j])
				at := 0
				for k, time := range o.Time {
					for float64(want.Time[at]) < time {
						at++
					}
					check("occupancy", o.Occupancy[j][k], want.Occupancy[j][at])
					check("SE", o.SE[j][k], want.SE[j][at])
				}
				if areas != nil {
					check("area", areas[j].Value, want.Area[j])
					check("SE of area", areas[j].SE, want.AreaSE[j])
				}
			}
		}
	}
	t.Logf("%s: %d numbers compared", out.Version, compared)
}

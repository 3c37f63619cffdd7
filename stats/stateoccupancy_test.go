package stats

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Four children symptomatic at day 0. Day 2: one of four goes back to sport;
// day 3: it relapses; day 4: one of three symptomatic gives up, one is lost; day
// 5: the last goes back.
func TestStateOccupancyByHand(t *testing.T) {
	rows := StateTimes{
		ID:    []int{1, 1, 1, 2, 3, 4, 4},
		Entry: []float64{0, 2, 3, 0, 0, 0, 5},
		Exit:  []float64{2, 3, 9, 4, 4, 5, 9},
		From:  []int{0, 1, 2, 0, 0, 0, 1},
		To:    []int{1, 2, StayedIn, 3, StayedIn, 1, StayedIn},
	}
	o, err := StateOccupancy(rows, stateNames, StateOptions{})
	must(t, err)
	want := [][]float64{
		{3.0 / 4, 3.0 / 4, 2.0 / 4, 0},
		{1.0 / 4, 0, 0, 2.0 / 4},
		{0, 1.0 / 4, 1.0 / 4, 1.0 / 4},
		{0, 0, 1.0 / 4, 1.0 / 4},
	}
	if !slices.Equal(o.Time, []float64{2, 3, 4, 5}) {
		t.Fatalf("times %v", o.Time)
	}
	for j := range want {
		for i, p := range want[j] {
			if !near(o.Occupancy[j][i], p, 1e-15) {
				t.Errorf("%s at %v: %v, want %v", stateNames[j], o.Time[i], o.Occupancy[j][i], p)
			}
		}
	}
	// Of child 1 the influence on the share back at day 2 is (1 − 1/4)/4, of each
	// other −(1/4)/4.
	if se := math.Sqrt(9.0+3) / 16; !near(o.SE[1][0], se, 1e-15) {
		t.Errorf("SE %v, want %v", o.SE[1][0], se)
	}
	if o.Changes[0][1] != 2 || o.Changes[1][2] != 1 || o.Changes[0][3] != 1 {
		t.Errorf("changes %v", o.Changes)
	}
	// Up to day 6: 2 + 1·3/4 + 1·3/4 + 1·2/4 days symptomatic; the child back at
	// day 5 is the last seen in sport, until day 9.
	for j, days := range []float64{4, 1.0/4 + 2.0/4, 3.0 / 4, 2.0 / 4} {
		if e := o.TimeInStates(6)[j]; !near(e.Value, days, 1e-15) {
			t.Errorf("%v days %s, want %v", e.Value, e.Term, days)
		}
	}
	if o.Until != 9 || !math.IsNaN(o.TimeInStates(9.5)[0].Value) || !math.IsNaN(o.At(1, 9.5).Occupancy) || o.At(1, 9).Occupancy != 0.5 || o.At(0, 1).Occupancy != 1 {
		t.Errorf("until %v: at 9 %v, at 9.5 %v", o.Until, o.At(1, 9), o.At(1, 9.5))
	}
}

// A state with a share that nobody is under observation in any more.
func TestStateOccupancyUnobserved(t *testing.T) {
	rows := StateTimes{
		ID:    []int{1, 1, 2, 3, 4, 5},
		Entry: []float64{0, 2, 0, 0, 0, 0},
		Exit:  []float64{2, 3, 4, 6, 7, 8},
		From:  []int{0, 1, 1, 0, 0, 0},
		To:    []int{1, StayedIn, 0, 1, 1, 1},
	}
	o, err := StateOccupancy(rows, stateNames[:2], StateOptions{})
	must(t, err)
	// At 4 the last of state 1 leaves it, and nothing is there. At 6 one comes and
	// is not followed.
	if o.Until != 6 || math.IsNaN(o.Occupancy[0][2]) || !math.IsNaN(o.Occupancy[0][3]) {
		t.Errorf("until %v: %v", o.Until, o.Occupancy)
	}
	if !slices.ContainsFunc(o.Warnings, func(w Warning) bool { return w.Code == "state-unobserved" }) {
		t.Errorf("warnings %v", o.Warnings)
	}
	held, err := StateOccupancy(rows, stateNames[:2], StateOptions{Hold: true})
	must(t, err)
	if last := len(held.Time) - 1; held.Occupancy[1][last] != 1 || held.Until != 8 {
		t.Errorf("held: %v until %v", held.Occupancy, held.Until)
	}
}

// Of ten, one goes to state 1 at day 1 and is not followed: a tenth is unobserved.
// At day 3 another does, held too, and at day 4 a third, which is too much.
func TestStateOccupancyHeldUpTo(t *testing.T) {
	var rows StateTimes
	for id := range 10 {
		exit, into := 9.0, StayedIn
		if id < 3 {
			exit, into = []float64{1, 3, 4}[id], 1
		}
		rows.ID, rows.Entry, rows.Exit = append(rows.ID, id), append(rows.Entry, 0), append(rows.Exit, exit)
		rows.From, rows.To = append(rows.From, 0), append(rows.To, into)
	}
	absorbing := []bool{false, false}
	for _, c := range []struct{ hold, until, held float64 }{{0, 1, 0}, {0.1, 3, 0.1}, {0.25, 4, 0.2}, {0.5, 9, 0.3}} {
		o, err := StateOccupancy(rows, stateNames[:2], StateOptions{Absorbing: absorbing, HoldUpTo: c.hold})
		must(t, err)
		if o.Until != c.until || !near(o.Held, c.held, 1e-15) {
			t.Errorf("%v may be held: until %v, held %v, want %v and %v", c.hold, o.Until, o.Held, c.until, c.held)
		}
		said := slices.ContainsFunc(o.Warnings, func(w Warning) bool { return w.Code == "state-held" })
		if said != (c.held > 0) {
			t.Errorf("warnings %v", o.Warnings)
		}
		for i, at := range o.Time {
			if p := o.Occupancy[1][i]; at <= c.until != (math.Abs(p-0.1*float64(i+1)) < 1e-12) {
				t.Errorf("%v may be held: %v at %v", c.hold, p, at)
			}
		}
	}
	o, err := StateOccupancy(rows, stateNames[:2], StateOptions{Absorbing: absorbing, Hold: true})
	must(t, err)
	if o.Until != 9 || !near(o.Held, 1, 1e-12) {
		t.Errorf("all held: until %v, held %v", o.Until, o.Held)
	}
}

// Where it is known which states can be left, a curve does not go on from one
// that nobody was seen to leave and nobody is under observation in any more.
func TestStateOccupancyAbsorbing(t *testing.T) {
	rows := StateTimes{
		ID:    []int{1, 1, 2, 2, 3},
		Entry: []float64{-9, -7, -9, -6, -9},
		Exit:  []float64{-7, -5, -6, -5, -4},
		From:  []int{0, 1, 0, 1, 0},
		To:    []int{1, StayedIn, 1, StayedIn, 2},
	}
	o, err := StateOccupancy(rows, stateNames[:3], StateOptions{})
	must(t, err)
	if !math.IsInf(o.Until, 1) || !near(o.Occupancy[1][2], 2.0/3, 1e-15) {
		t.Errorf("until %v, %v", o.Until, o.Occupancy)
	}
	opts := StateOptions{Absorbing: []bool{false, false, true}}
	o, err = StateOccupancy(rows, stateNames[:3], opts)
	must(t, err)
	if o.Until != -5 || !math.IsNaN(o.Occupancy[2][2]) || !math.IsNaN(o.At(1, -4.5).Occupancy) {
		t.Errorf("until %v, %v", o.Until, o.Occupancy)
	}
	if e := o.TimeInStates(-5)[0]; !near(e.Value, 2+2.0/3+1.0/3, 1e-15) { // by hand
		t.Errorf("time %v", e.Value)
	}
	opts.Hold = true // to the last exit, all of which lie before 0
	o, err = StateOccupancy(rows, stateNames[:3], opts)
	must(t, err)
	if o.Until != -4 || !near(o.Occupancy[2][2], 1.0/3, 1e-15) {
		t.Errorf("held until %v, %v", o.Until, o.Occupancy)
	}
	defer func() {
		if recover() == nil {
			t.Error("a row that leaves an absorbing state was taken")
		}
	}()
	_, _ = StateOccupancy(rows, stateNames[:3], StateOptions{Absorbing: []bool{true, false, true}})
}

// The one child under observation early on goes back at once; those who come
// later, symptomatic, are in a state that holds nothing.
func TestStateOccupancyEmptyState(t *testing.T) {
	rows := StateTimes{
		ID:    []int{1, 1, 2, 3, 4},
		Entry: []float64{0, 2, 5, 5, 5},
		Exit:  []float64{2, 9, 7, 8, 9},
		From:  []int{0, 1, 0, 0, 0},
		To:    []int{1, StayedIn, 1, 1, StayedIn},
	}
	o, err := StateOccupancy(rows, stateNames[:2], StateOptions{})
	must(t, err)
	if o.Occupancy[0][0] != 0 || o.Occupancy[0][2] != 0 {
		t.Errorf("shares %v", o.Occupancy[0])
	}
	i := slices.IndexFunc(o.Warnings, func(w Warning) bool { return w.Code == "empty-state" })
	if i < 0 || o.Warnings[i].Text[:9] != "2 changes" {
		t.Errorf("warnings %v", o.Warnings)
	}
}

// With one change the curve is Kaplan and Meier's, with several ends the
// cumulative incidence, robust errors included.
func TestStateOccupancyIdentities(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	for range 200 {
		n := 12 + r.IntN(30)
		c := CompetingTimes{Entry: make([]float64, n), Exit: make([]float64, n), Cause: make([]int, n)}
		rows := StateTimes{ID: make([]int, n), Entry: c.Entry, Exit: c.Exit, From: make([]int, n), To: make([]int, n)}
		cluster, weight := make([]int, n), make([]float64, n)
		causes := 1 + r.IntN(3)
		for i := range n {
			c.Entry[i] = float64(max(0, r.IntN(6)-3))
			c.Exit[i] = c.Entry[i] + 1 + float64(r.IntN(12))
			c.Cause[i] = r.IntN(causes + 1)
			rows.ID[i], rows.To[i] = i, c.Cause[i]
			if c.Cause[i] == 0 {
				rows.To[i] = StayedIn
			}
			cluster[i], weight[i] = i/2, 0.5+r.Float64()
		}
		zero := 0.0
		start := make([]float64, causes+1)
		start[0] = 1
		o, err := StateOccupancy(rows, stateNames[:causes+1], StateOptions{Cluster: cluster, From: &zero, Start: start})
		if errors.Is(err, ErrNoPersonTime) {
			continue
		}
		must(t, err)
		want, err := CumulativeIncidence(c, causes, IncidenceOptions{Cluster: cluster})
		must(t, err)
		for i, at := range o.Time {
			if at > o.Until {
				continue
			}
			for k := range causes {
				p := want.At(k+1, at)
				if p.Incidence > 1-1e-12 { // there is no limit of a share that is 1
					continue
				}
				if !near(o.Occupancy[k+1][i], p.Incidence, 1e-12) || !near(o.SE[k+1][i], p.SE, 1e-12) {
					t.Errorf("cause %d at %v: %v (%v), want %v (%v)", k+1, at, o.Occupancy[k+1][i], o.SE[k+1][i], p.Incidence, p.SE)
				}
				if !near(o.Lower[k+1][i], p.Lower, 1e-10) || !near(o.Upper[k+1][i], p.Upper, 1e-10) {
					t.Errorf("cause %d at %v: limits %v to %v, want %v to %v", k+1, at, o.Lower[k+1][i], o.Upper[k+1][i], p.Lower, p.Upper)
				}
			}
		}
		if causes > 1 {
			continue
		}
		weighted, err := StateOccupancy(rows, stateNames[:2], StateOptions{Cluster: cluster, Weights: weight, From: &zero, Start: start})
		must(t, err)
		km, err := KaplanMeier(c.times(), CurveOptions{Cluster: cluster, Weights: weight})
		must(t, err)
		for i, at := range weighted.Time {
			k := slices.Index(km.Time, at)
			if at > weighted.Until || km.Survival[k] == 0 {
				continue
			}
			if !near(weighted.Occupancy[0][i], km.Survival[k], 1e-12) || !near(weighted.SE[0][i], km.SE[k], 1e-12) {
				t.Errorf("at %v: %v (%v), want %v (%v)", at, weighted.Occupancy[0][i], weighted.SE[0][i], km.Survival[k], km.SE[k])
			}
		}
		if horizon := km.Time[len(km.Time)-1]; horizon <= weighted.Until && horizon > 0 {
			if got, want := weighted.TimeInStates(horizon)[0], km.RestrictedMean(horizon); !near(got.Value, want.Value, 1e-12) || !near(got.SE, want.SE, 1e-10) {
				t.Errorf("time %v (%v), want %v (%v)", got.Value, got.SE, want.Value, want.SE)
			}
		}
	}
}

// Shares sum to 1 and times to the horizon; cutting and turning rows changes
// nothing.
func TestStateOccupancyProperties(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 4))
	for range 100 {
		c := randomStates(r)
		rows := c.times()
		opts := StateOptions{Weights: c.Weight, From: &c.FromTime, Hold: true}
		o, err := StateOccupancy(rows, stateNames[:c.States], opts)
		must(t, err)
		var cut StateTimes
		var weight []float64
		add := func(i int, from, to float64, into int) {
			cut.ID, cut.Entry, cut.Exit = append(cut.ID, rows.ID[i]), append(cut.Entry, from), append(cut.Exit, to)
			cut.From, cut.To, weight = append(cut.From, rows.From[i]), append(cut.To, into), append(weight, c.Weight[i])
		}
		for i := len(rows.ID) - 1; i >= 0; i-- {
			if middle := (rows.Entry[i] + rows.Exit[i]) / 2; r.IntN(2) == 0 {
				add(i, middle, rows.Exit[i], rows.To[i])
				add(i, rows.Entry[i], middle, StayedIn)
			} else {
				add(i, rows.Entry[i], rows.Exit[i], rows.To[i])
			}
		}
		opts.Weights = weight
		again, err := StateOccupancy(cut, stateNames[:c.States], opts)
		must(t, err)
		if !slices.Equal(o.Time, again.Time) || o.Until != again.Until {
			t.Fatalf("times %v until %v, cut %v until %v", o.Time, o.Until, again.Time, again.Until)
		}
		for i := range o.Time {
			sum := 0.0
			for j := range o.States {
				sum += o.Occupancy[j][i]
				if !near(o.Occupancy[j][i], again.Occupancy[j][i], 1e-12) || !near(o.SE[j][i], again.SE[j][i], 1e-12) {
					t.Errorf("cut rows: %v (%v), want %v (%v)", again.Occupancy[j][i], again.SE[j][i], o.Occupancy[j][i], o.SE[j][i])
				}
			}
			if !near(sum, 1, 1e-12) {
				t.Errorf("shares sum to %v", sum)
			}
		}
		if c.Horizon <= o.Until {
			sum := 0.0
			for _, e := range o.TimeInStates(c.Horizon) {
				sum += e.Value
			}
			if !near(sum, c.Horizon-c.FromTime, 1e-10) {
				t.Errorf("times sum to %v, want %v", sum, c.Horizon-c.FromTime)
			}
		}
	}
}

func TestStateOccupancyRefusals(t *testing.T) {
	good := func() StateTimes {
		return StateTimes{ID: []int{1, 1, 2}, Entry: []float64{0, 2, 0}, Exit: []float64{2, 3, 4}, From: []int{0, 1, 0}, To: []int{1, StayedIn, 1}}
	}
	late := 7.0
	for _, c := range []struct {
		name   string
		change func(*StateTimes, *StateOptions)
		want   error
	}{
		{"no rows", func(s *StateTimes, _ *StateOptions) { *s = StateTimes{} }, ErrNoData},
		{"exit at entry", func(s *StateTimes, _ *StateOptions) { s.Exit[2] = 0 }, ErrEntryAfterExit},
		{"not finite", func(s *StateTimes, _ *StateOptions) { s.Exit[2] = math.Inf(1) }, ErrNotFinite},
		{"overlap", func(s *StateTimes, _ *StateOptions) { s.Entry[1] = 1 }, ErrOverlap},
		{"jump", func(s *StateTimes, _ *StateOptions) { s.From[1], s.To[1] = 0, StayedIn }, ErrStateJump},
		{"weight", func(_ *StateTimes, o *StateOptions) { o.Weights = []float64{1, 1, 0} }, ErrNotPositive},
		{"one cluster", func(s *StateTimes, o *StateOptions) { o.Cluster = []int{3, 3, 3} }, ErrTooFewClusters},
		{"start after all", func(_ *StateTimes, o *StateOptions) { o.From = &late }, ErrNoPersonTime},
		{"start where nobody is", func(_ *StateTimes, o *StateOptions) { o.Start = []float64{0, 1} }, nil},
	} {
		rows, opts := good(), StateOptions{}
		c.change(&rows, &opts)
		if _, err := StateOccupancy(rows, stateNames[:2], opts); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	// A start in a state that is left, with nobody there yet.
	rows := StateTimes{ID: []int{1, 1, 2}, Entry: []float64{0, 2, 0}, Exit: []float64{2, 3, 4}, From: []int{0, 1, 0}, To: []int{1, 0, 1}}
	if _, err := StateOccupancy(rows, stateNames[:2], StateOptions{Start: []float64{0.5, 0.5}}); !errors.Is(err, ErrNoPersonTime) {
		t.Errorf("start in a state without rows: %v", err)
	}
}

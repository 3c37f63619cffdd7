package run

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

// TestStatesByHand has the children of TestRecurrenceByHand, on the days since
// the first onset. A is back on day 20, relapses on 50 and is back on 60. C, ill
// 20 days before observation began, enters on day 20, is back on 30 and relapses
// on 60, and is not seen afterwards. D is back on day 5 and seen to day 200. E was
// still ill when last seen on day 10. B has no spell. On day 5 one of A, D and E
// goes back; on day 20 the only one there, A: nobody is symptomatic any more when
// C enters so. On day 50 one of A, C and D relapses; on day 60 it is back, and one
// of C and D relapses, whom nobody sees from then on.
func TestStatesByHand(t *testing.T) {
	const key = ", states: {at: [0, 5, 20, 50, 60, 61], horizon: 60, every: 5}"
	res := recurrenceStudy(fmt.Sprintf(spellAnalysis, key), spellChildren, spellHeels).compute(t)
	at := func(state string, day int) result.Row {
		return row(t, res, fmt.Sprintf("r/states at/:%s/state occupancy@%d", state, day))
	}
	for day, want := range map[int][4]float64{
		0:  {1, 0, 0, 0},
		5:  {2. / 3, 1. / 3, 0, 0},
		20: {0, 1, 0, 0},
		50: {0, 2. / 3, 1. / 3, 0},
		60: {0, 2. / 3, 1. / 3, 0},
	} {
		for i, p := range want {
			near(t, fmt.Sprintf("%s on day %d", stateWords[i+1], day), at(stateWords[i+1], day).Estimate, p)
			near(t, "the curve", row(t, res, fmt.Sprintf("r/states/:%s/state occupancy@%d", stateWords[i+1], day)).Estimate, p)
		}
	}
	// Influences on day 5: of D (1 − 1/3)/3, of A and E −(1/3)/3.
	near(t, "error", at("back", 5).SE, math.Sqrt(6)/9)
	for _, c := range []struct {
		state     string
		day       int
		n, events float64
	}{{"symptomatic", 0, 3, 0}, {"symptomatic", 5, 3, 0}, {"symptomatic", 20, 1, 0}, {"back", 50, 3, 3}, {"back", 60, 2, 4}, {"relapsed", 60, 1, 2}, {"gave up", 60, 0, 0}} {
		r := at(c.state, c.day)
		near(t, fmt.Sprintf("%s on day %d: at risk", c.state, c.day), r.N, c.n)
		near(t, fmt.Sprintf("%s on day %d: came", c.state, c.day), r.Events, c.events)
	}
	if r := at("back", 61); r.Estimate.Present() || !strings.Contains(r.Reason, "not known after day 60") {
		t.Errorf("on day 61: %+v", r)
	}
	for state, days := range map[string]float64{
		"symptomatic": 5 + 15*2./3, "back": 15*1./3 + 30 + 10*2./3, "relapsed": 10 * 1. / 3, "gave up": 0,
	} {
		near(t, "days "+state, row(t, res, "r/states mean/:"+state+"/mean days in the state@60").Estimate, days)
	}
	for id, want := range map[string]float64{
		"r/states size/children":                        4,
		"r/states changes/:symptomatic to back/count":   3,
		"r/states changes/:back to relapsed/count":      3,
		"r/states changes/:relapsed to back/count":      2,
		"r/states risk-table/under observation@0":       3,
		"r/states risk-table/under observation@20":      2, // A and D; C is there from then on
		"r/states risk-table/under observation@60":      3,
		"r/states/:symptomatic/state occupancy@15":      2. / 3,
		"r/states/:back/state occupancy@55":             2. / 3,
		"r/states at/:gave up/state occupancy@60":       0,
		"r/states at/:symptomatic/state occupancy@20":   0,
		"r/states mean/:back/mean days in the state@60": 125. / 3,
	} {
		near(t, id, row(t, res, id).Estimate, want)
	}
	if got := removedUnder(res, "children", "without a spell: no place in the states"); got != 1 {
		t.Errorf("%v children without a spell, want 1", got)
	}
	warnings := strings.Join(res.Analyses[0].Warnings, "\n")
	for _, text := range []string{"states: 1 changes left a state to which the curves give no share then", "From 60 on nobody is under observation in state \"relapsed\", which holds 0.333 then"} {
		if !strings.Contains(warnings, text) {
			t.Errorf("warnings lack %q:\n%s", text, warnings)
		}
	}

	// If E stopped on its day 100, 50 days after its onset, it is ill until then:
	// on day 20 one of A and E is back, on day 30 one of C and E, on day 50 the
	// last, E, gives up and one of A, C and D relapses.
	res = recurrenceStudy(fmt.Sprintf(spellAnalysis, key), strings.Replace(spellChildren, "E,male,100,no", "E,male,100,yes", 1), spellHeels).compute(t)
	for i, p := range []float64{0, 5. / 9, 5. / 18, 1. / 6} {
		near(t, "stopped: "+stateWords[i+1], at(stateWords[i+1], 50).Estimate, p)
	}
	near(t, "gave up", at("gave up", 50).Events, 1)

	// On the clock of the analysis: A, B and E have no spell on day 0, C and D are
	// ill. D is back on day 5, C on day 10, the day of A's onset.
	res = recurrenceStudy(fmt.Sprintf(spellAnalysis, ", states: {clock: start, at: [0, 5, 10], every: 50}"), spellChildren, spellHeels).compute(t)
	for day, want := range map[int][3]float64{0: {3. / 5, 2. / 5, 0}, 5: {3. / 5, 1. / 5, 1. / 5}, 10: {2. / 5, 1. / 5, 2. / 5}} {
		for i, p := range want {
			near(t, fmt.Sprintf("%s on day %d of the clock", stateWords[i], day), at(stateWords[i], day).Estimate, p)
		}
	}
	near(t, "children on the clock", row(t, res, "r/states size/children").Estimate, 5)

	// Without exits for good there is no such state.
	res = recurrenceStudy(strings.Replace(fmt.Sprintf(spellAnalysis, key), ", ends: {when: stopped}", "", 1), spellChildren, spellHeels).compute(t)
	for _, r := range res.Rows {
		if r.Term == "gave up" {
			t.Errorf("row %s", r.ID)
		}
	}
	// Nobody under observation at the onset.
	f := recurrenceStudy(fmt.Sprintf(spellAnalysis, key), "C,male,80,no\nD,male,90,no\n", "C,-20,10,yes,\nD,-5,10,yes,\n")
	f["data/hours.csv"] = "child,from_day,to_day,hours\n"
	if r := row(t, f.compute(t), "r/states/state occupancy"); !strings.Contains(r.Reason, "nobody is under observation at 0") {
		t.Errorf("no start: %+v", r)
	}
}

// dailyStates works the states of a child out day by day: its rows are days.
func dailyStates(who int, p patient, gap float64, onset bool, names []string, t *stats.StateTimes) {
	rows := slices.Clone(p.rows)
	slices.SortStableFunc(rows, func(a, b ill) int { return int(a.from - b.from) })
	var spells []ill
	for _, r := range rows {
		if n := len(spells) - 1; n >= 0 && (r.from <= spells[n].to || r.from < spells[n].to+gap) {
			spells[n].to = math.Max(spells[n].to, r.to)
			spells[n].over = spells[n].over && r.over
		} else if n < 0 || spells[n].over {
			spells = append(spells, r)
		}
	}
	end, zero := p.left, 0
	if n := len(spells) - 1; n >= 0 && !spells[n].over && !p.stopped {
		end = min(end, int(spells[n].to))
	}
	if onset {
		if len(spells) == 0 {
			return
		}
		zero = int(spells[0].from)
	}
	on := func(day int) int {
		name := "before the first spell"
		for i, s := range spells {
			switch {
			case s.from > float64(day):
			case s.over && s.to <= float64(day):
				name = "back"
			case i == 0:
				name = "symptomatic"
			default:
				name = "relapsed"
			}
		}
		if p.stopped && day >= p.left {
			name = "gave up"
		}
		return slices.Index(names, name)
	}
	for day := max(0, zero); day < end; day++ {
		to := on(day + 1)
		if to == on(day) {
			to = stats.StayedIn
		}
		t.ID, t.Entry, t.Exit = append(t.ID, who), append(t.Entry, float64(day-zero)), append(t.Exit, float64(day+1-zero))
		t.From, t.To = append(t.From, on(day)), append(t.To, to)
	}
}

// randomPatients draws children in whole days with their two tables.
func randomPatients(r *rand.Rand, n int) (all []patient, children, heels string) {
	for i := range n {
		p := patient{left: 20 + r.IntN(200), stopped: r.IntN(4) == 0}
		children += fmt.Sprintf("c%d,%s,%d,%s\n", i, []string{"female", "male"}[i%2], p.left, map[bool]string{true: "yes", false: "no"}[p.stopped])
		for range r.IntN(5) {
			from := r.IntN(250) - 50
			x := ill{from: float64(from), to: float64(from + r.IntN(30)), over: r.IntN(12) > 0}
			if x.from <= float64(p.left) {
				p.rows = append(p.rows, x)
				heels += fmt.Sprintf("c%d,%v,%v,%s,\n", i, x.from, x.to, map[bool]string{true: "yes", false: "no"}[x.over])
			}
		}
		all = append(all, p)
	}
	return all, children, heels
}

// TestStatesAgainstDays compares with the days one by one, on random children.
func TestStatesAgainstDays(t *testing.T) {
	r := rand.New(rand.NewPCG(18, 45))
	compared := 0
	for i := range 40 {
		all, children, heels := randomPatients(r, 10+r.IntN(30))
		gap, onset, hold := float64(r.IntN(2)*10), i%2 == 0, []float64{0, 0.2}[i/2%2]
		clock := map[bool]string{true: "onset", false: "start"}[onset]
		f := recurrenceStudy(fmt.Sprintf("{id: r, kind: recurrence, events: {table: heels, day: day, end: {day: last, when: back}}, gap: %v, exit: left, ends: {when: stopped}, states: {clock: %s, every: 1, unobserved: %v, horizon: 60}}", gap, clock, hold), children, heels)
		f["data/hours.csv"] = "child,from_day,to_day,hours\n"
		res := f.compute(t)
		names := stateWords
		if onset {
			names = stateWords[1:]
		}
		var days stats.StateTimes
		for who, p := range all {
			dailyStates(who, p, gap, onset, names, &days)
		}
		zero := 0.0
		absorbing := make([]bool, len(names))
		absorbing[len(names)-1] = true
		want, err := stats.StateOccupancy(days, names, stats.StateOptions{From: &zero, Absorbing: absorbing, HoldUpTo: hold})
		if err != nil {
			if x := row(t, res, "r/states/state occupancy"); x.Reason != err.Error() {
				t.Errorf("refused for %q, want %q", x.Reason, err)
			}
			continue
		}
		rows := map[string]result.Row{}
		for _, x := range res.Of("r", "states") {
			rows[fmt.Sprintf("%s %v", x.Term, x.At)] = x
		}
		for state, name := range names {
			for day := 0.0; day <= math.Min(60, want.Until); day++ {
				x, there := rows[fmt.Sprintf("%s %v", name, day)]
				p := want.At(state, day)
				if !there || !closeTo(float64(x.Estimate), p.Occupancy) || !closeTo(float64(x.SE), p.SE) || !closeTo(float64(x.Lower), p.Lower) {
					t.Fatalf("%s on day %v: %+v, want %+v: gap %v, clock %s\n%s%s", name, day, x, p, gap, clock, children, heels)
				}
				compared++
			}
			x, e := row(t, res, "r/states mean/:"+name+"/mean days in the state@60"), want.TimeInStates(60)[state]
			if !closeTo(float64(x.Estimate), e.Value) || !closeTo(float64(x.SE), e.SE) {
				t.Errorf("days %s: %+v, want %+v", name, x, e)
			}
		}
	}
	if compared < 3000 {
		t.Errorf("only %d shares compared", compared)
	}
}

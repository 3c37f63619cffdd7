package run

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

const recurrenceBook = `
name: spells
resources:
  - name: children
    path: data/children.csv
    schema:
      primaryKey: id
      missingValues: [""]
      fields:
        - {name: id, type: string}
        - {name: sex, type: string, categories: [female, male]}
        - {name: left, type: number}
        - {name: stopped, type: boolean, trueValues: ["yes"], falseValues: ["no"]}
  - name: heels
    path: data/heels.csv
    schema:
      missingValues: [""]
      foreignKeys: [{fields: child, reference: {resource: children, fields: id}}]
      fields:
        - {name: child, type: string}
        - {name: day, type: number}
        - {name: last, type: number}
        - {name: back, type: boolean, trueValues: ["yes"], falseValues: ["no"]}
        - {name: lost, type: number}
  - name: hours
    path: data/hours.csv
    schema:
      missingValues: [""]
      foreignKeys: [{fields: child, reference: {resource: children, fields: id}}]
      fields:
        - {name: child, type: string}
        - {name: from_day, type: number}
        - {name: to_day, type: number}
        - {name: hours, type: number}
`

// recurrenceStudy is a study of one analysis of children and their heels.
func recurrenceStudy(analysis, children, heels string) folder {
	return folder{
		"study.yaml":        "title: Spells\ncodebook: codebook.yaml\nanalyses:\n  - " + analysis + "\n",
		"codebook.yaml":     recurrenceBook,
		"data/children.csv": "id,sex,left,stopped\n" + children,
		"data/heels.csv":    "child,day,last,back,lost\n" + heels,
		"data/hours.csv":    "child,from_day,to_day,hours\nA,0,100,50\nB,0,50,100\nC,0,80,40\nD,0,200,100\n",
	}
}

const (
	spellChildren = "A,female,100,no\nB,female,50,yes\nC,male,80,no\nD,male,200,no\nE,male,100,no\n"
	spellHeels    = "A,10,20,yes,\nA,60,70,yes,\nA,25,30,yes,\nC,-20,10,yes,\nC,40,,,\nD,0,5,yes,\nD,195,200,yes,\nE,50,60,no,\nE,90,95,yes,\n"
	spellAnalysis = "{id: r, kind: recurrence, events: {table: heels, day: day, end: {day: last, when: back}}, gap: 14, exit: left, ends: {when: stopped}, at: [9, 10, 100]%s}"
)

// TestRecurrenceByHand: A has spells from 10 to 30 (the heel of day 25 is within
// 14 days of the first's end) and from day 60. B stops on day 50. C was ill from
// day −20 to 10 and again from day 40 to an unknown day. D falls ill on its first
// day and on day 195. E's spell of day 50 was not over on day 60, so that the
// onset of day 90 may be the same. Events and those at risk: day 0 1/5, 10 1/5,
// 40 1/5, 50 1/4; then B's stop leaves a factor 3/4: 60 1/3, 195 1/1.
func TestRecurrenceByHand(t *testing.T) {
	res := recurrenceStudy(fmt.Sprintf(spellAnalysis, ""), spellChildren, spellHeels).compute(t)
	for id, want := range map[string]float64{
		"r/size/children":                         5,
		"r/at/mean cumulative count@9":            1. / 5,
		"r/at/mean cumulative count@10":           2. / 5,
		"r/at/mean cumulative count@100":          3./5 + 1./4 + 1./4,
		"r/curve/mean cumulative count@195":       3./5 + 1./4 + 1./4 + 3./4,
		"r/spells/:0/count":                       1,
		"r/spells/:1/count":                       2,
		"r/spells/:2/count":                       2,
		"r/spells/:3 or more/count":               0,
		"r/spells/:2/percent":                     40,
		"r/rates/:first/incidence rate":           3. / (10 + 50 + 50),
		"r/rates/:recurrent/incidence rate":       3. / (16 + 16 + 16 + 176),
		"r/ratios/:recurrent vs first/rate ratio": 110. / 224,
		"r/return/:early/count":                   2,
		"r/return/:late/count":                    1,
		"r/return/:delayed/count":                 0,
		"r/risk-table/at risk@50":                 4,
		"r/risk-table/ended for good@50":          1,
		"r/risk-table/at risk@0":                  5,
	} {
		near(t, id, row(t, res, id).Estimate, want)
	}
	near(t, "spells", row(t, res, "r/size/children").Events, 6)
	near(t, "days", row(t, res, "r/size/children").PersonTime, 100+50+40+200+60)
	for _, c := range []struct {
		what, reason string
		want         float64
	}{
		{"onsets", "within a spell or the gap after it: the same spell", 1},
		{"onsets", "after a spell that was not seen to be over: not known whether a new one", 1},
		{"spells", "before observation began: the child's next is a recurrence", 1},
		{"days", "after a spell that was not seen to be over", 80},
		{"days", "of a spell or within the gap after it: not in the rates", 58 + 24 + 24 + 10},
	} {
		if got := removedUnder(res, c.what, c.reason); got != c.want {
			t.Errorf("%v %s %s, want %v", got, c.what, c.reason, c.want)
		}
	}
	// Only those free of symptoms at risk: A, B, D and E on day 0, without D on
	// day 10; B, C, D and E on day 40; on day 50, C gone and A back since day 44,
	// four again, one of whom stops; A and D on day 60.
	res = recurrenceStudy(fmt.Sprintf(spellAnalysis, ", during: left-out"), spellChildren, spellHeels).compute(t)
	near(t, "left out", row(t, res, "r/at/mean cumulative count@100").Estimate, 1./4+1./3+1./4+1./4+3./4/2)
	near(t, "same rate", row(t, res, "r/rates/:first/incidence rate").Estimate, 3./110)
	// If E stopped on day 100, the spell of day 50 lasts until then, and the two
	// stops leave 3/4 and, of A, D and E on day 100, 2/3 of that.
	res = recurrenceStudy(fmt.Sprintf(spellAnalysis, ""), strings.Replace(spellChildren, "E,male,100,no", "E,male,100,yes", 1), spellHeels).compute(t)
	near(t, "stopped within a spell", row(t, res, "r/curve/mean cumulative count@195").Estimate, 3./5+1./4+3./4*(1./3)+3./4*2./3)
	near(t, "stopped", row(t, res, "r/risk-table/ended for good@100").Estimate, 2)
	// Without an end the gap counts from onset to onset: A's days 10 and 25 part.
	f := recurrenceStudy(fmt.Sprintf(spellAnalysis, ""), spellChildren, spellHeels)
	f["study.yaml"] = strings.Replace(f["study.yaml"], ", end: {day: last, when: back}", "", 1)
	near(t, "spells of onsets", row(t, f.compute(t), "r/size/children").Events, 3+1+2+2)
	// By hours of intervals: A has 50 in 100 days, of which 10 are before its
	// first spell and 32 after one, and none between days 100 and 120; the one of
	// day 110 is not under observation.
	f = recurrenceStudy("{id: r, kind: recurrence, events: {table: heels, day: day, end: {day: last}}, gap: 14, at_risk: {table: hours, amount: hours, from: from_day, to: to_day}, per: 1000, unit: hours, at: [125]}",
		spellChildren, "A,10,20,,\nA,25,30,,\nA,60,70,,\nA,110,111,,\n")
	f["data/hours.csv"] = "child,from_day,to_day,hours\nA,0,100,50\nA,120,130,7\n"
	res = f.compute(t)
	near(t, "hours before", row(t, res, "r/rates/:first/incidence rate").Estimate, 1000*1./5)
	near(t, "hours after", row(t, res, "r/rates/:recurrent/incidence rate").PersonTime, 16+3.5)
	near(t, "not under observation", result.Number(removedUnder(res, "spells", "on a day not under observation")), 1)
	near(t, "at 125", row(t, res, "r/at/mean cumulative count@125").Estimate, 2)
	// In groups: events of the girls on days 10 and 60, B having stopped.
	res = recurrenceStudy(fmt.Sprintf(spellAnalysis, ", by: sex"), spellChildren, spellHeels).compute(t)
	near(t, "girls", row(t, res, "r/at/sex=female/mean cumulative count@100").Estimate, 1./2+1./2)
	test := row(t, res, "r/tests/score test")
	if !test.P.Present() || float64(test.DF) != 1 {
		t.Errorf("test %+v", test)
	}
	// Expected of the girls: 2/5 on days 0, 10 and 40, 2/4 on day 50, 1/3 on 60.
	near(t, "expected", row(t, res, "r/expected/sex=female/expected events").Estimate, 6./5+1./2+1./3)
}

// A patient is one child of the random study, in whole days.
type patient struct {
	left    int
	stopped bool
	rows    []ill
}

// plainly works the recurrence out day by day: spells, the mean cumulative count
// at a day, and time and events before and after the first spell.
func plainly(all []patient, gap float64, leftOut bool, upTo int) (spells, mean float64, time, events [2]float64) {
	type history struct {
		onset [700]bool
		free  [700]bool // no spell, and no gap after one
		had   [700]bool // a spell by that day
		end   int
		cut   bool
	}
	list := make([]history, len(all))
	for i, p := range all {
		h := &list[i]
		h.end = p.left
		for d := -100; d < 500; d++ {
			starts, free, had, over, last := false, true, false, true, math.Inf(-1)
			for _, r := range p.rows {
				if r.from == float64(d) {
					starts = true
				}
				if r.from < float64(d) {
					had, last, over = true, math.Max(last, r.to), over && r.over
				}
			}
			within := had && (float64(d) <= last || float64(d)-last < gap)
			if !over && !within && !p.stopped && int(last) < h.end { // nothing can join the spell any more
				h.end, h.cut = int(last), true
			}
			free = !had || over && float64(d) >= last+gap
			if starts && !within && (!had || over) {
				h.onset[d+100] = true
			}
			for _, r := range p.rows {
				if r.from == float64(d) {
					had = true
					free = free && r.over && float64(d) >= r.to+gap
				}
			}
			h.free[d+100], h.had[d+100] = free, had
		}
	}
	share := 1.0
	for d := 0; d < 500; d++ {
		n, events1, ends := 0.0, 0.0, 0.0
		for i, p := range all {
			h := &list[i]
			if h.end <= 0 || d > h.end {
				continue
			}
			before := d > -100 && h.had[d+99]
			if h.onset[d+100] {
				spells++
				events1++
				if before {
					events[1]++
				} else {
					events[0]++
				}
			}
			// At risk on day d: free the moment it begins, or in the day before it.
			atRisk := !leftOut || h.onset[d+100] || d > 0 && h.free[d+99] || h.free[d+100]
			if atRisk {
				n++
			}
			if atRisk && d == h.end && p.stopped && !h.cut {
				ends++
			}
			if d < h.end && h.free[d+100] {
				if h.had[d+100] {
					time[1]++
				} else {
					time[0]++
				}
			}
		}
		if n > 0 && d <= upTo {
			mean += share * events1 / n
		}
		if n > 0 {
			share *= 1 - ends/n
		}
	}
	return spells, mean, time, events
}

// TestRecurrenceAgainstDays compares with the days one by one, on random
// children: onsets that overlap, spells that were not seen to be over, exits for
// good.
func TestRecurrenceAgainstDays(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 4))
	compared := 0
	for range 100 {
		var all []patient
		var children, heels strings.Builder
		for i := range 2 + r.IntN(12) {
			p := patient{left: 1 + r.IntN(300), stopped: r.IntN(3) == 0}
			fmt.Fprintf(&children, "c%d,male,%d,%s\n", i, p.left, map[bool]string{true: "yes", false: "no"}[p.stopped])
			for range r.IntN(5) {
				from := r.IntN(400) - 90
				x := ill{from: float64(from), to: float64(from + r.IntN(40)), over: r.IntN(8) > 0}
				if x.from > float64(p.left) {
					continue
				}
				p.rows = append(p.rows, x)
				fmt.Fprintf(&heels, "c%d,%v,%v,%s,\n", i, x.from, x.to, map[bool]string{true: "yes", false: "no"}[x.over])
			}
			all = append(all, p)
		}
		gap, leftOut := float64(r.IntN(3)*10), r.IntN(2) == 0
		analysis := fmt.Sprintf("{id: r, kind: recurrence, events: {table: heels, day: day, end: {day: last, when: back}}, gap: %v, exit: left, ends: {when: stopped}, at: [120], ticks: [0], during: %s}",
			gap, map[bool]string{true: "left-out", false: "counted"}[leftOut])
		f := recurrenceStudy(analysis, children.String(), heels.String())
		f["data/hours.csv"] = "child,from_day,to_day,hours\n"
		res := f.compute(t)
		spells, mean, time, events := plainly(all, gap, leftOut, 120)
		fail := func(what string, got result.Number, want float64) {
			if !closeTo(float64(got), want) {
				t.Fatalf("%s is %v, want %v: gap %v, left out %v\n%s%s", what, got, want, gap, leftOut, children.String(), heels.String())
			}
		}
		fail("spells", row(t, res, "r/size/children").Events, spells)
		for k, term := range []string{"first", "recurrent"} {
			x := row(t, res, "r/rates/:"+term+"/incidence rate")
			fail(term+" events", x.Events, events[k])
			fail(term+" days", x.PersonTime, time[k])
		}
		if x := row(t, res, "r/at/mean cumulative count@120"); x.Estimate.Present() {
			fail("count", x.Estimate, mean)
			compared++
		}
	}
	if compared < 60 {
		t.Errorf("only %d counts compared", compared)
	}
}

// TestBurdenByHand: days until the end, heels of one child that overlap once.
// A loses 10 to 30 and 60 to 70: 30 days in 50 hours; C 30 and D 5 + 5.
func TestBurdenByHand(t *testing.T) {
	heels := "A,10,20,yes,8\nA,15,30,yes,9\nA,60,70,yes,1\nC,40,70,no,40\nD,0,5,yes,5\nD,100,105,yes,\n"
	analysis := "{id: b, kind: burden, events: {table: heels, day: day, until: last, finished: back}, at_risk: {table: hours, amount: hours, from: from_day, to: to_day}, by: sex, per: 1000, unit: hours}"
	res := recurrenceStudy(analysis, spellChildren, heels).compute(t)
	x := row(t, res, "b/burden/burden")
	near(t, "burden", x.Estimate, 1000*70./290)
	near(t, "episodes", x.Events, 5)
	near(t, "unfinished", x.Censored, 1)
	near(t, "hours", x.PersonTime, 290)
	near(t, "children", x.N, 4)
	near(t, "boys", row(t, res, "b/burden/sex=male/burden").Estimate, 1000*40./140)
	near(t, "days", row(t, res, "b/burden/sex=male/days lost").Estimate, 40)
	want, err := stats.Burden([]float64{50, 100, 40, 100}, stats.Losses{Child: []int{0, 0, 2, 3, 3}, Days: []float64{20, 10, 30, 5, 5}, Unfinished: []bool{false, false, true, false, false}},
		stats.BurdenOptions{Per: 1000, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "lower limit", x.Lower, want.Lower)
	near(t, "upper limit", x.Upper, want.Upper)
	// 20, 10 and 30 (unfinished, but more than 28 already), 5 and 5 days.
	for id, n := range map[string]float64{
		"bahr-2020:0 days": 0, "bahr-2020:1 to 7 days": 2, "bahr-2020:8 to 28 days": 2, "bahr-2020:>28 days": 1, "bahr-2020:not finished": 0,
		"fuller-2006:1 to 3 days": 0, "fuller-2006:4 to 7 days": 2,
	} {
		near(t, id, row(t, res, "b/severity/"+id+"/count").Estimate, n)
	}
	near(t, "severe", row(t, res, "b/severity/bahr-2020:>28 days/incidence rate").Estimate, 1000./290)
	if got := strings.Join(res.Analyses[0].Warnings, " "); !strings.Contains(got, "1 of 5 episodes were not finished: their days so far are counted, and the burden is a lower bound.") {
		t.Errorf("warnings %s", got)
	}
	// The number of days of each row; one has none.
	res = recurrenceStudy(strings.Replace(analysis, "until: last", "lost: lost", 1), spellChildren, heels).compute(t)
	near(t, "rows", row(t, res, "b/burden/burden").Estimate, 1000*63./290)
	if got := removedUnder(res, "episodes", "days lost missing"); got != 1 {
		t.Errorf("%v episodes without days, want 1", got)
	}
	// Restricted to 25 days: 5, 5, 10, 20, and 25 of the unfinished.
	res = recurrenceStudy(strings.Replace(analysis, "per: 1000", "per: 1000, unfinished: restricted-mean, horizon: 25", 1), spellChildren, heels).compute(t)
	near(t, "restricted", row(t, res, "b/burden/burden").Estimate, 1000*65./290)
	res = recurrenceStudy(strings.Replace(analysis, "per: 1000", "per: 1000, unfinished: restricted-mean, horizon: 31", 1), spellChildren, heels).compute(t)
	if x := row(t, res, "b/burden/burden"); x.Estimate.Present() || !strings.Contains(x.Reason, "shorter than the horizon") {
		t.Errorf("beyond the data: %+v", x)
	}
}

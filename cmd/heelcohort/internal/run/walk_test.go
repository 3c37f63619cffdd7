package run

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
)

// A tally is what the walk finds: cells by band and sport, "" for any.
type tally struct {
	time, events map[[2]string]float64
	children     map[[2]string]map[int]bool
	timeIn       float64
	eventsIn     float64
}

// walk goes through every child day by day. A day counts for a cell, in days
// once and in hours by each spell's share, as far as it lies in the band.
func (w cohortWalk) walk() tally {
	out := tally{map[[2]string]float64{}, map[[2]string]float64{}, map[[2]string]map[int]bool{}, 0, 0}
	for c, k := range w.kids {
		out.eventsIn += float64(len(k.onsets))
		var usable []spell
		for _, s := range k.spells {
			if s.to >= s.from && (w.calendar || !math.IsNaN(s.hours)) {
				usable = append(usable, s)
			}
		}
		out.timeIn += w.timeOf(usable)
		usable = slices.DeleteFunc(usable, func(s spell) bool { return s.sport == "" })
		if len(usable) == 0 || w.byAge && math.IsNaN(k.age) {
			continue
		}
		onsets, stop, out2 := w.countable(k, usable)
		if out2 {
			continue
		}
		for _, o := range onsets {
			covered := slices.ContainsFunc(usable, func(s spell) bool {
				return s.sport == o.sport && float64(s.from) <= o.day && o.day <= float64(s.to)
			})
			band := w.bandAt(k, o.day)
			if covered && band != "out" {
				for _, cell := range cells(band, o.sport) {
					out.events[cell]++
				}
			}
		}
		for day := -100; day < 1000; day++ {
			if float64(day) >= stop {
				break
			}
			w.day(&out, c, k, usable, day)
		}
	}
	return out
}

// countable is a child's onsets, the day its time at risk stops, and whether
// it is left out.
func (w cohortWalk) countable(k kid, usable []spell) (onsets []onset, stop float64, leftOut bool) {
	stop = math.Inf(1)
	for _, o := range k.onsets {
		if !math.IsNaN(o.day) {
			onsets = append(onsets, o)
		}
	}
	if !w.first || len(onsets) == 0 {
		return onsets, stop, false
	}
	entry := math.Inf(1)
	for _, s := range usable {
		entry = math.Min(entry, float64(s.from))
	}
	for _, o := range onsets {
		stop = math.Min(stop, o.day)
	}
	if stop < entry {
		return nil, stop, true
	}
	var chosen []onset
	for _, o := range onsets {
		inside := slices.ContainsFunc(usable, func(s spell) bool {
			return s.sport == o.sport && float64(s.from) <= o.day && o.day <= float64(s.to)
		})
		if o.day == stop && inside && len(chosen) == 0 {
			chosen = append(chosen, o)
		}
	}
	return chosen, stop, false
}

func (w cohortWalk) bandAt(k kid, day float64) string {
	if !w.byAge {
		return ""
	}
	for i, label := range walkLabels {
		if day >= (walkBands[i]-k.age)*365.25 && day < (walkBands[i+1]-k.age)*365.25 {
			return label
		}
	}
	return "out"
}

// day adds one day of one child.
func (w cohortWalk) day(out *tally, c int, k kid, spells []spell, day int) {
	type part struct {
		band  string
		share float64
	}
	parts := []part{{"", 1}}
	if w.byAge {
		parts = nil
		for i, label := range walkLabels {
			from := math.Max(float64(day), (walkBands[i]-k.age)*365.25)
			to := math.Min(float64(day+1), (walkBands[i+1]-k.age)*365.25)
			if to > from {
				parts = append(parts, part{label, to - from})
			}
		}
	}
	add := func(cell [2]string, x float64) {
		out.time[cell] += x
		if x > 0 {
			if out.children[cell] == nil {
				out.children[cell] = map[int]bool{}
			}
			out.children[cell][c] = true
		}
	}
	for _, p := range parts {
		seen := map[[2]string]bool{}
		for _, s := range spells {
			covers := s.from <= day && day < s.to
			if w.calendar {
				for _, cell := range cells(p.band, s.sport) {
					if covers && !seen[cell] {
						seen[cell] = true
						add(cell, p.share)
					}
				}
				continue
			}
			for _, cell := range cells(p.band, s.sport) {
				if covers {
					add(cell, s.hours/float64(s.to-s.from)*p.share)
				}
			}
		}
	}
	// The hours of a spell without days lie at the very beginning of its day.
	for _, s := range spells {
		if band := w.bandAt(k, float64(day)); !w.calendar && s.from == s.to && s.from == day && band != "out" {
			for _, cell := range cells(band, s.sport) {
				add(cell, s.hours)
			}
		}
	}
}

// cells lists a cell and its margins, each once.
func cells(band, sport string) [][2]string {
	list := [][2]string{{"", ""}, {"", sport}}
	if band != "" {
		list = append(list, [2]string{band, ""}, [2]string{band, sport})
	}
	return list
}

// timeOf is all person-time of one child's spells.
func (w cohortWalk) timeOf(spells []spell) float64 {
	sum := 0.0
	if !w.calendar {
		for _, s := range spells {
			sum += s.hours
		}
		return sum
	}
	for day := -100; day < 1000; day++ {
		if slices.ContainsFunc(spells, func(s spell) bool { return s.from <= day && day < s.to }) {
			sum++
		}
	}
	return sum
}

// cellOf is the cell of a row of rates.
func cellOf(r result.Row) [2]string {
	var cell [2]string
	for _, g := range r.Groups {
		if g.Variable == "age_now" {
			cell[0] = g.Level
		} else {
			cell[1] = g.Level
		}
	}
	return cell
}

// TestIncidenceWalk compares the rates of random studies with the walk, cell
// by cell, and adds up what entered, what is at risk and what is accounted for.
func TestIncidenceWalk(t *testing.T) {
	r := rand.New(rand.NewPCG(1912, 7))
	events, hours := 0.0, 0.0
	for n := range 150 {
		w := randomWalk(r)
		res := w.folder().compute(t)
		want := w.walk()
		if checkWalk(t, res, want); t.Failed() {
			t.Fatalf("study %d: %+v\naccounting %+v", n, w, res.Analyses[0].Accounting)
		}
		events += want.events[[2]string{}]
		hours += want.time[[2]string{}]
	}
	// The comparison means something only if there was something to compare.
	if events < 200 || hours < 10000 {
		t.Errorf("%v events in %v of person-time over all studies", events, hours)
	}
}

func checkWalk(t *testing.T, res *result.Results, want tally) {
	t.Helper()
	bySport := 0.0
	for _, r := range res.Of("rates", "rates") {
		cell := cellOf(r)
		near(t, r.ID+" person-time", r.PersonTime, want.time[cell])
		near(t, r.ID+" events", r.Events, want.events[cell])
		near(t, r.ID+" children", r.N, float64(len(want.children[cell])))
		switch {
		case r.PersonTime == 0:
			if r.Reason == "" || r.Estimate.Present() {
				t.Errorf("%s has the rate %v without person-time", r.ID, r.Estimate)
			}
		default:
			near(t, r.ID+" rate", r.Estimate, 100*want.events[cell]/want.time[cell])
		}
		if cell[0] == "" && cell[1] != "" {
			bySport += float64(r.Events)
		}
	}
	all := want.time[[2]string{}]
	if got := all + removedUnder(res, "hours", ""); !closeTo(got, want.timeIn) {
		t.Errorf("time at risk %v and removed make %v, want %v", all, got, want.timeIn)
	}
	counted := want.events[[2]string{}]
	if got := counted + removedUnder(res, "events", ""); got != want.eventsIn {
		t.Errorf("events counted %v and removed make %v, want %v", counted, got, want.eventsIn)
	}
	if bySport != counted {
		t.Errorf("the sports have %v events, all %v", bySport, counted)
	}
}

// TestExposureRows wants the rates unchanged when rows of exposures are split
// at constant density, and when they change places.
func TestExposureRows(t *testing.T) {
	r := rand.New(rand.NewPCG(1912, 8))
	for range 60 {
		w := randomWalk(r)
		before := w.folder().compute(t)
		for i := range w.kids {
			var split []spell
			for _, s := range w.kids[i].spells {
				if s.to-s.from < 2 {
					split = append(split, s)
					continue
				}
				at := s.from + 1 + r.IntN(s.to-s.from-1)
				share := float64(at-s.from) / float64(s.to-s.from)
				one, two := s, s
				one.to, one.hours = at, s.hours*share
				two.from, two.hours = at, s.hours*(1-share)
				split = append(split, two, one)
			}
			r.Shuffle(len(split), func(a, b int) { split[a], split[b] = split[b], split[a] })
			w.kids[i].spells = split
		}
		after := w.folder().compute(t)
		for i, r := range before.Rows {
			again := after.Rows[i]
			if r.ID != again.ID {
				t.Fatalf("row %s has become %s", r.ID, again.ID)
			}
			near(t, r.ID+" person-time", again.PersonTime, float64(r.PersonTime))
			near(t, r.ID+" events", again.Events, float64(r.Events))
			near(t, r.ID+" children", again.N, float64(r.N))
			near(t, r.ID+" rate", again.Estimate, float64(r.Estimate))
			near(t, r.ID+" upper limit", again.Upper, float64(r.Upper))
		}
		if t.Failed() {
			t.Fatalf("%+v", w)
		}
	}
}

// TestMargins wants the hours of the cells to add up to those of the margins.
func TestMargins(t *testing.T) {
	r := rand.New(rand.NewPCG(1912, 9))
	for range 40 {
		w := randomWalk(r)
		w.byAge, w.calendar = true, false
		sums := map[[2]string]float64{}
		res := w.folder().compute(t)
		for _, r := range res.Of("rates", "rates") {
			if c := cellOf(r); c[0] != "" && c[1] != "" {
				for _, margin := range [][2]string{{c[0], ""}, {"", c[1]}, {"", ""}} {
					sums[margin] += float64(r.PersonTime)
				}
			}
		}
		for _, r := range res.Of("rates", "rates") {
			if c := cellOf(r); c[0] == "" || c[1] == "" {
				near(t, r.ID, r.PersonTime, sums[c])
			}
		}
	}
}

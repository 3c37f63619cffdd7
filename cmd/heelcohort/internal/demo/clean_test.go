package demo

import (
	"math"
	"regexp"
	"slices"
	"testing"
)

// inRange reports values outside a range; a missing value is in it.
func inRange(t *testing.T, id, name string, m Measure, low, high float64, codes ...string) {
	t.Helper()
	switch {
	case m.Missing && !slices.Contains(codes, m.Code):
		t.Errorf("%s: %s has the code %q", id, name, m.Code)
	case !m.Missing && (m.Value < low || m.Value > high):
		t.Errorf("%s: %s is %g, not in %g to %g", id, name, m.Value, low, high)
	}
}

// isWhole reports fractions.
func isWhole(t *testing.T, id, name string, m Measure) {
	t.Helper()
	if !m.Missing && m.Value != math.Trunc(m.Value) {
		t.Errorf("%s: %s is %g, not whole", id, name, m.Value)
	}
}

func TestParticipantsKeepTheRules(t *testing.T) {
	reg := Generate(Options{})
	if n := len(reg.Participants); n != 1200 {
		t.Errorf("%d children, want 1200", n)
	}
	ids := map[string]bool{}
	form := regexp.MustCompile(`^SM-[0-9]{4}$`)
	legacy := 0
	for i, p := range reg.Participants {
		if ids[p.ID] || !form.MatchString(p.ID) {
			t.Errorf("%s: not a new key", p.ID)
		}
		ids[p.ID] = true
		if p.AgeEnrolled < 6 || p.AgeEnrolled > 16.9 || math.Abs(p.AgeEnrolled*10-math.Round(p.AgeEnrolled*10)) > 1e-9 {
			t.Errorf("%s: age %g", p.ID, p.AgeEnrolled)
		}
		if !slices.Contains(Seasons, p.CohortSeason) || !slices.Contains(Sports, p.MainSport) || p.SportsN < 1 || p.SportsN > 5 {
			t.Errorf("%s: %s, %s, %d sports", p.ID, p.CohortSeason, p.MainSport, p.SportsN)
		}
		for _, m := range []struct {
			name      string
			value     Measure
			low, high float64
		}{
			{"height", p.Height, 95, 200},
			{"sitting height", p.SittingHeight, 50, 105},
			{"weight", p.Weight, 14, 120},
			{"arch index", p.ArchIndex[0], 0, 0.45},
			{"arch index", p.ArchIndex[1], 0, 0.45},
			{"navicular drop", p.Navicular[0], -3, 25},
			{"navicular drop", p.Navicular[1], -3, 25},
			{"rearfoot", p.Rearfoot[0], -15, 20},
			{"rearfoot", p.Rearfoot[1], -15, 20},
			{"lunge", p.Lunge[0], 10, 60},
			{"lunge", p.Lunge[1], 10, 60},
		} {
			inRange(t, p.ID, m.name, m.value, m.low, m.high, "NM", "RF", "999")
			if m.value.Code == "999" {
				legacy++
				if p.Site != "S4" {
					t.Errorf("%s: code 999 at site %s", p.ID, p.Site)
				}
			}
		}
		if !p.Height.Missing && !p.SittingHeight.Missing {
			inRange(t, p.ID, "sitting height ratio", known(p.SittingHeight.Value/p.Height.Value), 0.46, 0.60)
		}
		if !p.Height.Missing && !p.Weight.Missing {
			inRange(t, p.ID, "bmi", known(p.Weight.Value/math.Pow(p.Height.Value/100, 2)), 11, 45)
		}
		complete := true
		var totals [2]int
		for side := range 2 {
			for _, item := range p.FPI[side] {
				inRange(t, p.ID, "foot posture item", item, -2, 2, "NM", "RF")
				isWhole(t, p.ID, "foot posture item", item)
			}
			total, ok := p.total(side)
			totals[side], complete = total, complete && ok
		}
		inRange(t, p.ID, "second rater", p.FPISecond, -12, 12, "NA")
		isWhole(t, p.ID, "second rater", p.FPISecond)
		if total, ok := p.total(0); ok && !p.FPISecond.Missing && math.Abs(p.FPISecond.Value-float64(total)) > 4 {
			t.Errorf("%s: raters %d and %g", p.ID, total, p.FPISecond.Value)
		}
		if complete && Arches[archOf(max(totals[0], totals[1]))] != p.Arch {
			t.Errorf("%s: items give another arch type than %s", p.ID, p.Arch)
		}
		if p.LastContact < 0 || p.LastContact > 1460 || reg.Participants[i].ExitReason == "" {
			t.Errorf("%s: last contact %d, %q", p.ID, p.LastContact, p.ExitReason)
		}
	}
	if legacy == 0 {
		t.Error("the legacy code 999 never occurs")
	}
}

func TestEpisodesKeepTheRules(t *testing.T) {
	reg := Generate(Options{})
	type key struct {
		child, spell int
		heel         string
	}
	seen := map[key]bool{}
	before := map[key]int{} // spells of a heel so far; spell 0
	ids := map[string]bool{}
	prevalent := 0
	for _, e := range reg.Episodes {
		p := reg.Participants[e.Child]
		if ids[e.ID] || seen[key{e.Child, e.Spell, e.Heel}] || p.ID != e.Participant {
			t.Errorf("%s: key taken, or not of %s", e.ID, p.ID)
		}
		ids[e.ID], seen[key{e.Child, e.Spell, e.Heel}] = true, true
		heel := key{child: e.Child, heel: e.Heel}
		if e.RecurrenceNo != before[heel] {
			t.Errorf("%s: recurrence %d after %d spells", e.ID, e.RecurrenceNo, before[heel])
		}
		before[heel]++
		if e.Onset < 0 {
			prevalent++
		}
		if e.Onset < -365 || e.Onset > p.LastContact || e.Diagnosed < e.Onset || e.Diagnosed > p.LastContact {
			t.Errorf("%s: onset %d, diagnosed %d, last contact %d", e.ID, e.Onset, e.Diagnosed, p.LastContact)
		}
		if e.EndDay <= e.Onset || e.EndDay <= 0 || e.EndDay > p.LastContact {
			t.Errorf("%s: onset %d, end %d, last contact %d", e.ID, e.Onset, e.EndDay, p.LastContact)
		}
		if wears := e.OrthosisClass != "none"; wears == e.OrthosisStart.Missing || wears && e.OrthosisStart.Value < float64(e.Onset) {
			t.Errorf("%s: orthosis %s from %v", e.ID, e.OrthosisClass, e.OrthosisStart)
		}
		inRange(t, e.ID, "pain at onset", e.VASOnset, 0, 100, "NM", "DK")
		for name, in := range map[string]Interval{"training": e.Training, "match": e.Match, "painfree": e.Painfree} {
			inRange(t, e.ID, name+" low", in.Low, float64(e.Onset), float64(p.LastContact))
			inRange(t, e.ID, name+" high", in.High, in.Low.Value+1, float64(p.LastContact), "")
			// Every child was seen on day 0, and no match return lies before it.
			if in.Low.Value < 0 && (name == "match" || in.High.Missing || in.High.Value != 0) {
				t.Errorf("%s: %s is %v, but the child was seen on day 0", e.ID, name, in)
			}
		}
		end := float64(e.EndDay)
		switch returned := e.EndType == "returned"; {
		case returned && (e.Match.Low.Value >= end || !e.Match.High.Missing && e.Match.High.Value < end):
			t.Errorf("%s: return on day %g outside %v", e.ID, end, e.Match)
		case !returned && (!e.Match.High.Missing || e.Match.Low.Value > end):
			t.Errorf("%s: %s on day %g, but match interval %v", e.ID, e.EndType, end, e.Match)
		}
	}
	if prevalent < 20 {
		t.Errorf("%d rows with an onset before enrolment, want at least 20 for delayed entry", prevalent)
	}
}

func TestExposuresKeepTheRules(t *testing.T) {
	reg := Generate(Options{})
	if n := len(reg.Exposures); n > 25000 {
		t.Errorf("%d rows, want at most 25000", n)
	}
	ends := map[[2]string]int{}           // last end by child and sport
	weekly := map[[2]int]float64{}        // hours a week by child and first day
	sportsOf := map[int]map[string]bool{} // sports played
	for _, e := range reg.Exposures {
		p := reg.Participants[e.Child]
		k := [2]string{e.Participant, e.Sport}
		if e.From < ends[k] || e.From >= e.To || e.From < 0 || e.To > p.LastContact || e.To-e.From > 35 {
			t.Errorf("%v: days %d to %d after %d, last contact %d", k, e.From, e.To, ends[k], p.LastContact)
		}
		ends[k] = e.To
		if e.SeasonWeek < 1 || e.SeasonWeek > 40 || !slices.Contains(Seasons, e.Season) {
			t.Errorf("%v: week %d of %s", k, e.SeasonWeek, e.Season)
		}
		if e.HoursTraining < 0 || e.HoursMatch < 0 {
			t.Errorf("%v: hours %g and %g", k, e.HoursTraining, e.HoursMatch)
		}
		inRange(t, e.Participant, "sessions", e.SessionsTraining, 0, 200, "NM")
		inRange(t, e.Participant, "sessions", e.SessionsMatch, 0, 200, "NM")
		weekly[[2]int{e.Child, e.From}] += (e.HoursTraining + e.HoursMatch) / float64(e.To-e.From) * 7
		if sportsOf[e.Child] == nil {
			sportsOf[e.Child] = map[string]bool{}
		}
		sportsOf[e.Child][e.Sport] = true
	}
	for k, hours := range weekly {
		if hours > 25 {
			t.Errorf("child %d from day %d: %g hours a week", k[0], k[1], hours)
		}
	}
	for child, played := range sportsOf {
		if len(played) > reg.Participants[child].SportsN {
			t.Errorf("child %d: plays %d sports of %d", child, len(played), reg.Participants[child].SportsN)
		}
	}
}

func TestVisitsKeepTheRules(t *testing.T) {
	reg := Generate(Options{})
	last := map[string]int{}
	for _, p := range reg.Participants {
		last[p.ID] = p.LastContact
	}
	episodes := map[string]string{}
	for _, e := range reg.Episodes {
		episodes[e.ID] = e.Participant
	}
	ids := map[string]bool{}
	days := map[[2]any]bool{}
	for _, v := range reg.Visits {
		if ids[v.ID] || days[[2]any{v.Participant, v.Day}] {
			t.Errorf("%s: key or day taken", v.ID)
		}
		ids[v.ID], days[[2]any{v.Participant, v.Day}] = true, true
		if at, ok := last[v.Participant]; !ok || v.Day < 0 || v.Day > at {
			t.Errorf("%s: day %d of %s, last contact %d", v.ID, v.Day, v.Participant, at)
		}
		if v.Episode != "" && episodes[v.Episode] != v.Participant {
			t.Errorf("%s: episode %s is not of %s", v.ID, v.Episode, v.Participant)
		}
		inRange(t, v.ID, "vas", v.VASRest, 0, 100, "NA")
		inRange(t, v.ID, "vas", v.VASSport, 0, 100, "NA")
		inRange(t, v.ID, "nrs", v.NRS, 0, 10)
		inRange(t, v.ID, "faces", v.FPSR, 0, 10, "NA", "RF")
		inRange(t, v.ID, "adherence", v.Adherence, 0, 100, "NA", "DK")
		if !v.FPSR.Missing && math.Mod(v.FPSR.Value, 2) != 0 {
			t.Errorf("%s: faces score %g", v.ID, v.FPSR.Value)
		}
		isWhole(t, v.ID, "nrs", v.NRS)
		for i := range 4 {
			inRange(t, v.ID, "child form", v.OxChild[i], 0, 100, "NA", "NM")
			inRange(t, v.ID, "parent form", v.OxParent[i], 0, 100, "NA", "NM")
		}
	}
}

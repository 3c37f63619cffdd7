package demo

import (
	"fmt"
	"math"
	"slices"
)

// plannedWeeks are the weeks of the planned contacts of a spell.
var plannedWeeks = []int{0, 4, 8, 26, 52}

// A clinic keeps one child's contacts.
type clinic struct {
	reg   *Registry
	child *child
	first int          // index of the child's first visit
	seen  map[int]bool // days with a contact
	days  []int
}

// A contact is a planned or unplanned contact.
type contact struct {
	day     int
	planned string
	mode    string
}

// enrol records the contact of day 0, in pain or not.
func (k *clinic) enrol(r stream, inPain bool) {
	v := k.visit(r, contact{0, "w0", "in_person"})
	pain := 0.0
	v.PlayStatus, v.Adherence = "full", none("NA")
	if inPain {
		pain, v.PlayStatus = 35, "reduced"
	}
	v.drawScores(r, pain, true)
	k.reg.Visits = append(k.reg.Visits, v)
}

// visit starts a visit.
func (k *clinic) visit(r stream, at contact) Visit {
	k.seen[at.day] = true
	k.days = append(k.days, at.day)
	return Visit{
		Participant: participantID(k.child), Day: at.day, Planned: at.planned, Mode: at.mode,
		Rater: fmt.Sprintf("R%d", r.days(1, 8)),
	}
}

// follow records the contacts of a spell and, in rows, between which contacts
// each heel returned to training and matches and was free of pain.
func (k *clinic) follow(r stream, s *spell, rows []Episode) {
	training := make([]int, len(rows)) // true days
	painfree := make([]int, len(rows))
	matches := make([]int, len(rows))
	n := 0
	for _, h := range s.heels {
		if h != nil {
			length := float64(h.returns - s.onset)
			training[n] = s.onset + max(1, int(length*r.between(0.55, 0.95)))
			painfree[n] = s.onset + max(1, int(length*r.between(0.8, 1.5)))
			matches[n] = h.returns
			n++
		}
	}
	for _, at := range k.contacts(r, s, rows[0].Diagnosed) {
		v := k.visit(r, at)
		v.Episode = rows[0].ID
		pain := 0.0
		if free := slices.Max(painfree); at.day < free {
			start := 50.0
			if !rows[0].VASOnset.Missing {
				start = rows[0].VASOnset.Value
			}
			pain = start * float64(free-at.day) / float64(free-s.onset)
		}
		v.drawScores(r, pain, at.mode == "in_person")
		v.PlayStatus = "full"
		if at.day < slices.Max(matches) {
			v.PlayStatus = "reduced"
		}
		if at.day < slices.Max(training) {
			v.PlayStatus = []string{"none", "reduced"}[r.pick(0.6, 0.4)]
		}
		v.Adherence = none("NA")
		if at.planned != "w0" && rows[0].Treatments != "wait_and_see" {
			v.Adherence = known(math.Round(r.between(30, 100)))
			if r.chance(0.08) {
				v.Adherence = none("DK")
			}
		}
		k.reg.Visits = append(k.reg.Visits, v)
	}
	slices.Sort(k.days)
	for i := range rows {
		e := &rows[i]
		e.Training = k.between(e, training[i], true)
		e.Match = k.between(e, matches[i], true)
		e.Painfree = k.between(e, painfree[i], false)
	}
}

// number puts the child's visits in order of day and names them.
func (k *clinic) number() {
	visits := k.reg.Visits[k.first:]
	slices.SortStableFunc(visits, func(a, b Visit) int { return a.Day - b.Day })
	for i := range visits {
		visits[i].ID = fmt.Sprintf("V%04d-%02d", k.child.index+1, i+1)
	}
}

// contacts draws the contacts of a spell: the planned ones counted from the
// diagnosis, and phone calls about every two weeks while a heel has not
// returned.
func (k *clinic) contacts(r stream, s *spell, diagnosed int) []contact {
	reference := max(diagnosed, 0)
	var all []contact
	for i, week := range plannedWeeks {
		day := reference + week*7
		if i > 0 {
			day += r.days(-3, 3)
		}
		mode := []string{"in_person", "phone"}[r.pick(0.8, 0.2)]
		if r.chance(0.92) {
			all = append(all, contact{day, fmt.Sprintf("w%d", week), mode})
		}
	}
	for day := reference + 7 + r.days(0, 13); day <= s.resumes(); day += 14 + r.days(-3, 3) {
		if r.chance(0.7) {
			all = append(all, contact{day, "NA", "phone"})
		}
	}
	slices.SortStableFunc(all, func(a, b contact) int { return a.day - b.day })
	kept := all[:0]
	last := -1
	for _, at := range all {
		if at.day <= k.child.lastContact && !k.seen[at.day] && at.day != last {
			kept = append(kept, at)
			last = at.day
		}
	}
	return kept
}

// between is the interval between contacts in which day lies. An ended episode
// is not observed for return any further.
func (k *clinic) between(e *Episode, day int, untilEnd bool) Interval {
	reached := day <= k.child.lastContact && (!untilEnd || day <= e.EndDay)
	in := Interval{Low: known(float64(e.Onset)), High: none("")}
	for _, d := range k.days {
		switch {
		case d < e.Onset:
		case d < day && (reached || d <= e.EndDay || !untilEnd):
			in.Low = known(float64(d))
		case d >= day && reached:
			in.High = known(float64(d))
			return in
		}
	}
	return in
}

// drawScores draws the pain scores and questionnaires. On the phone only the
// numeric pain score is asked.
func (v *Visit) drawScores(r stream, pain float64, inPerson bool) {
	sport := math.Min(100, math.Round(pain+math.Abs(r.normal(0, 4, -12, 12, 0))))
	rest := math.Round(sport * r.between(0.1, 0.5))
	v.NRS = known(math.Round(sport / 10))
	v.VASRest, v.VASSport, v.FPSR = none("NA"), none("NA"), none("NA")
	v.OxChild = [4]Measure{none("NA"), none("NA"), none("NA"), none("NA")}
	v.OxParent = v.OxChild
	if !inPerson {
		return
	}
	v.VASRest, v.VASSport, v.FPSR = known(rest), known(sport), known(2*math.Round(sport/20))
	if r.chance(0.03) {
		v.FPSR = none("RF")
	}
	asked, parent := r.chance(0.9), r.chance(0.85)
	for i, steps := range []float64{24, 16, 16, 4} {
		loss := sport / 100 * []float64{0.7, 0.5, 0.4, 0.4}[i]
		score := func() Measure {
			share := math.Min(math.Max(1-loss+r.normal(-0.04, 0.08, -0.3, 0.1, 4), 0), 1)
			return known(round(100*math.Round(share*steps)/steps, 1))
		}
		v.OxChild[i], v.OxParent[i] = score(), score()
		if !asked {
			v.OxChild[i] = none("NM")
		}
		if !parent {
			v.OxParent[i] = none("NM")
		}
	}
}

package demo

import "math"

// The definitions of the demonstration's plan, applied to a registry in
// memory. Children without consent are left out everywhere; a child with a
// missing foot posture item has no arch type.

// A rateTable holds first episodes and hours at risk by current age and sport.
type rateTable struct {
	events [6][6]int
	hours  [6][6]float64
}

// sums adds the cells up over the bands and sports that are wanted; -1 is all.
func (t *rateTable) sums(band, sport int) (events int, hours float64) {
	for a := range t.events {
		for s := range t.events[a] {
			if (band < 0 || a == band) && (sport < 0 || s == sport) {
				events += t.events[a][s]
				hours += t.hours[a][s]
			}
		}
	}
	return events, hours
}

// firstEpisodes counts first episodes and hours at risk. Hours stop at a
// child's first onset; children with an onset before day 0 are not at risk.
func firstEpisodes(reg *Registry) *rateTable {
	t := &rateTable{}
	first := make([]*Episode, len(reg.Participants))
	for i := range reg.Episodes {
		e := &reg.Episodes[i]
		if at := first[e.Child]; e.RecurrenceNo == 0 && (at == nil || e.Onset < at.Onset) {
			first[e.Child] = e
		}
	}
	for i := range reg.Exposures {
		x := &reg.Exposures[i]
		p := &reg.Participants[x.Child]
		from, to := float64(x.From), float64(x.To)
		if e := first[x.Child]; e != nil {
			to = math.Min(to, float64(e.Onset))
		}
		if !p.Consent || to <= from {
			continue
		}
		daily := (x.HoursTraining + x.HoursMatch) / float64(x.To-x.From)
		for a := range len(AgeEdges) - 1 {
			start := math.Max(from, (AgeEdges[a]-p.AgeEnrolled)*daysInYear)
			end := math.Min(to, (AgeEdges[a+1]-p.AgeEnrolled)*daysInYear)
			if end > start {
				t.hours[a][index(Sports, x.Sport)] += float64(daily * (end - start))
			}
		}
	}
	for i, e := range first {
		if p := &reg.Participants[i]; e != nil && e.Onset >= 0 && p.Consent {
			age := p.AgeEnrolled + float64(e.Onset)/daysInYear
			t.events[ageBand(age)][index(Sports, e.SportAtOnset)]++
		}
	}
	return t
}

// index is the position of a word that is in the list.
func index(words []string, word string) int {
	for i, w := range words {
		if w == word {
			return i
		}
	}
	panic("demo: no word " + word)
}

// recordedArch is the arch type from the recorded items; false where one is
// missing.
func (p *Participant) recordedArch() (int, bool) {
	right, ok := p.total(0)
	left, okLeft := p.total(1)
	return archOf(max(right, left)), ok && okLeft
}

// anyEpisode counts children with and without an episode after enrolment by
// arch type.
func anyEpisode(reg *Registry) (counts [3][2]int) {
	had := make([]int, len(reg.Participants))
	for i := range reg.Episodes {
		if e := &reg.Episodes[i]; e.Onset >= 0 {
			had[e.Child] = 1
		}
	}
	for i := range reg.Participants {
		p := &reg.Participants[i]
		if arch, ok := p.recordedArch(); ok && p.Consent {
			counts[arch][1-had[i]]++
		}
	}
	return counts
}

// Returns are the heels of the analysis of the time to match return: slices of
// equal length. Times are days since the onset.
type Returns struct {
	Entry, Exit []float64
	Event       []bool // returned at Exit, otherwise censored
	Arch        []int  // index into Arches
	Child       []int  // the cluster
}

// add adds the row of an episode that enters at the given time.
func (r *Returns) add(e *Episode, entry float64, arch int) {
	r.Entry = append(r.Entry, entry)
	r.Exit = append(r.Exit, float64(e.EndDay-e.Onset))
	r.Event = append(r.Event, e.EndType == "returned")
	r.Arch = append(r.Arch, arch)
	r.Child = append(r.Child, e.Child)
}

// matchReturns lists the heels with an arch type. Time runs from the onset;
// rows of prevalent episodes enter late.
func matchReturns(reg *Registry) *Returns {
	rows := &Returns{}
	for i := range reg.Episodes {
		e := &reg.Episodes[i]
		p := &reg.Participants[e.Child]
		if arch, ok := p.recordedArch(); ok && p.Consent {
			rows.add(e, math.Max(0, float64(-e.Onset)), arch)
		}
	}
	return rows
}

// oneHeel keeps the first spell after enrolment of each child with the given
// arch type, one heel of it: the right one where both hurt. Its rows are
// independent and all enter at the onset.
func oneHeel(reg *Registry, arch int) *Returns {
	rows := &Returns{}
	last := -1
	for i := range reg.Episodes {
		e := &reg.Episodes[i]
		p := &reg.Participants[e.Child]
		got, ok := p.recordedArch()
		// The rows of a spell stand together, the right heel first.
		if !ok || got != arch || !p.Consent || e.Spell != 1 || e.Onset < 0 || e.Child == last {
			continue
		}
		last = e.Child
		rows.add(e, 0, arch)
	}
	return rows
}

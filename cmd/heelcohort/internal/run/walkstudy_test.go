package run

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// A spell is a row of exposures: days from to to, hours spread evenly.
type spell struct {
	sport    string // "" is missing
	from, to int
	hours    float64 // NaN is missing
}

// An onset is a row of episodes.
type onset struct {
	sport string
	day   float64 // NaN is missing
}

// A kid is a child of the walk.
type kid struct {
	age    float64 // on day 0; NaN is missing
	spells []spell
	onsets []onset
}

// A cohortWalk is a study in plain numbers.
type cohortWalk struct {
	kids            []kid
	first, calendar bool
	byAge           bool
}

var (
	walkSports = []string{"football", "swimming", "judo"}
	walkBands  = []float64{8, 9.5, 12}
	walkLabels = []string{"8 to <9.5", "9.5 to <12"}
)

func randomWalk(r *rand.Rand) cohortWalk {
	w := cohortWalk{first: r.IntN(2) == 0, calendar: r.IntN(2) == 0, byAge: r.IntN(4) > 0}
	for range 1 + r.IntN(10) {
		k := kid{age: float64(70+r.IntN(60)) / 10}
		if r.IntN(12) == 0 {
			k.age = math.NaN()
		}
		for range r.IntN(5) {
			s := spell{sport: walkSports[r.IntN(3)], from: r.IntN(400) - 20, hours: float64(r.IntN(400)) / 4}
			s.to = s.from + r.IntN(300)
			switch r.IntN(14) {
			case 0:
				s.sport = ""
			case 1:
				s.hours = math.NaN()
			case 2:
				s.to = s.from
			case 3:
				s.to = s.from - 1
			}
			k.spells = append(k.spells, s)
		}
		for range r.IntN(4) {
			o := onset{sport: walkSports[r.IntN(3)], day: float64(r.IntN(600) - 40)}
			if len(k.spells) > 0 && r.IntN(3) > 0 {
				s := k.spells[r.IntN(len(k.spells))]
				o.sport, o.day = s.sport, float64([]int{s.from, s.to, (s.from + s.to) / 2}[r.IntN(3)])
			}
			if birthday := (walkBands[r.IntN(3)] - k.age) * 365.25; r.IntN(3) == 0 && math.Abs(birthday) < 500 {
				o.day = math.Floor(birthday) + float64(r.IntN(2))
			}
			switch r.IntN(14) {
			case 0:
				o.day = math.NaN()
			case 1:
				o.sport = ""
			}
			k.onsets = append(k.onsets, o)
		}
		w.kids = append(w.kids, k)
	}
	return w
}

// folder writes the walk as a study.
func (w cohortWalk) folder() folder {
	episodes, amount, age := "all", "amount: hours, ", ""
	by := "[sport]"
	if w.first {
		episodes = "first"
	}
	if w.calendar {
		amount = ""
	}
	if w.byAge {
		age = "    current_age: {name: age_now, at_zero: age, bands: [8, 9.5, 12]}\n"
		by = "[age_now, sport]"
	}
	var children, exposures, found [][]string
	for i, k := range w.kids {
		id := fmt.Sprintf("C%02d", i)
		children = append(children, []string{id, digits(k.age)})
		for _, s := range k.spells {
			exposures = append(exposures, []string{id, s.sport, digits(float64(s.from)), digits(float64(s.to)), digits(s.hours)})
		}
		for _, o := range k.onsets {
			found = append(found, []string{id, o.sport, digits(o.day)})
		}
	}
	return folder{
		"study.yaml": "title: Walk\ncodebook: codebook.yaml\nanalyses:\n  - id: rates\n    kind: incidence\n" +
			"    events: {table: episodes, day: day}\n    at_risk: {table: exposures, " + amount + "from: from_day, to: to_day}\n" +
			"    episodes: " + episodes + "\n" + age + "    by: " + by + "\n    unit: hours\n    per: 100\n",
		"codebook.yaml":     walkBook,
		"data/children.csv": lines("id,age", children),
		"data/exposures.csv": lines("child,sport,from_day,to_day,hours",
			exposures),
		"data/episodes.csv": lines("child,sport,day", found),
	}
}

const walkBook = `
name: walk
resources:
  - name: children
    path: data/children.csv
    schema:
      primaryKey: id
      fields: [{name: id, type: string}, {name: age, type: number}]
  - name: exposures
    path: data/exposures.csv
    schema:
      foreignKeys: [{fields: child, reference: {resource: children, fields: id}}]
      fields:
        - {name: child, type: string}
        - {name: sport, type: string, categories: [football, swimming, judo]}
        - {name: from_day, type: number}
        - {name: to_day, type: number}
        - {name: hours, type: number}
  - name: episodes
    path: data/episodes.csv
    schema:
      foreignKeys: [{fields: child, reference: {resource: children, fields: id}}]
      fields:
        - {name: child, type: string}
        - {name: sport, type: string, categories: [football, swimming, judo]}
        - {name: day, type: number}
`

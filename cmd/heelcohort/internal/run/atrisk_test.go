package run

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
)

const spellBook = `
name: spells
resources:
  - name: children
    path: data/children.csv
    schema:
      primaryKey: id
      fields: [{name: id, type: string}, {name: enrolled, type: number}]
  - name: exposures
    path: data/exposures.csv
    schema:
      foreignKeys: [{fields: child, reference: {resource: children, fields: id}}]
      fields:
        - {name: child, type: string}
        - {name: sport, type: string, categories: [football, swimming]}
        - {name: from_day, type: number}
        - {name: to_day, type: number}
        - {name: hours, type: number}
  - name: episodes
    path: data/episodes.csv
    schema:
      foreignKeys: [{fields: child, reference: {resource: children, fields: id}}]
      fields:
        - {name: child, type: string}
        - {name: heel, type: string, title: Heel, categories: [left, right]}
        - {name: sport, type: string, categories: [football, swimming]}
        - {name: day, type: number}
        - {name: end_day, type: number}
`

// spellStudy has one analysis for each text of keys, called a0, a1, …; an
// amount of hours stands in the keys or not at all.
func spellStudy(children, exposures, episodes string, keys ...string) folder {
	plan := "title: Spells\ncodebook: codebook.yaml\nanalyses:\n"
	for i, k := range keys {
		amount, when := "", ""
		if strings.Contains(k, "HOURS") {
			k, amount = strings.Replace(k, "HOURS", "unit: hours", 1), "amount: hours, "
		}
		for _, heel := range []string{"left", "right"} {
			if strings.Contains(k, "ONLY "+heel) {
				k, when = strings.Replace(k, ", ONLY "+heel, "", 1), fmt.Sprintf(", when: \"heel == '%s'\"", heel)
			}
		}
		plan += fmt.Sprintf("  - {id: a%d, kind: incidence, events: {table: episodes, day: day%s}, at_risk: {table: exposures, %sfrom: from_day, to: to_day}, %s}\n", i, when, amount, k)
	}
	return folder{
		"study.yaml":         plan,
		"codebook.yaml":      spellBook,
		"data/children.csv":  "id,enrolled\n" + children,
		"data/exposures.csv": "child,sport,from_day,to_day,hours\n" + exposures,
		"data/episodes.csv":  "child,heel,sport,day,end_day\n" + episodes,
	}
}

// TestSpellsByHand: A is the worked example of stats.AtRisk: of 120 days and 70
// hours, 66 days and 41 hours are at risk, its onset of day 60 belongs to the
// spell of day 30; by heel 86 + 96 days and two events. B enrolled on calendar
// day 100 and was observed for 50 days, to calendar day 150, in swimming; its
// episode of day −5 to 10 was open at entry, and with the gap to day 24 it is
// at risk for 26 days.
func TestSpellsByHand(t *testing.T) {
	res := spellStudy("A,0\nB,100\n", "A,football,0,100,50\nA,swimming,80,120,20\nB,swimming,0,50,5\n",
		"A,left,football,30,50\nA,right,football,60,70\nB,left,swimming,-5,10\n",
		"HOURS, episodes: all, spells: {end: end_day, gap: 14}, by: sport",
		"episodes: all, spells: {end: end_day, gap: 14}, by: sport",
		"episodes: all, spells: {end: end_day, gap: 14, within: heel}",
		"episodes: all, spells: {end: end_day, gap: 14}, by: season, calendar: {name: season, at_zero: enrolled, starts: [0, 90, 140], until: 200, labels: [early, mid, late]}",
		"HOURS, spells: {end: end_day, gap: 14}",
		"episodes: all, window: {from: 40, to: 90}",
	).compute(t)
	for id, want := range map[string][3]float64{ // person-time, events, children
		"a0/rates/incidence rate":                     {41 + 2.6, 1, 2},
		"a0/rates/sport=football/incidence rate":      {23, 1, 1},
		"a0/rates/sport=swimming/incidence rate":      {18 + 2.6, 0, 2},
		"a1/rates/incidence rate":                     {66 + 26, 1, 2},
		"a1/rates/sport=football/incidence rate":      {46, 1, 1},
		"a1/rates/sport=swimming/incidence rate":      {36 + 26, 0, 2},
		"a2/rates/incidence rate":                     {86 + 96 + 26 + 50, 2, 2},
		"a3/rates/season=early/incidence rate":        {36, 1, 1},            // A to day 30 and from 84 to 90
		"a3/rates/season=mid/incidence rate":          {30 + 16, 0, 2},       // A 90 to 120, B calendar day 124 to 140
		"a3/rates/season=late/incidence rate":         {10, 0, 1},            // B to day 150
		"a4/rates/incidence rate":                     {15, 1, 1},            // first: A to day 30
		"a5/rates/incidence rate":                     {50 + 10, 1, 2},       // every onset: that of day 60
		"a0/account/:read/person-time":                {75, 3, -1},           // 70 and 5 hours
		"a0/account/:within an episode":               {16, 0, -1},           // 15, and 1 of B
		"a4/account/:an episode open at entry":        {5, 1, -1},            // B
		"a5/account/:outside the study window":        {70 + 40, 2, -1},      // A to 40 and from 90, B to 40
		"a2/account/:within 14 days after an episode": {14 + 14 + 14, 0, -1}, // A's two heels, B's left
	} {
		if want[2] < 0 {
			if !strings.HasSuffix(id, "/person-time") {
				id += "/person-time"
			}
			r := row(t, res, id)
			near(t, id, r.Estimate, want[0])
			near(t, id+" events", r.Events, want[1])
			continue
		}
		r := row(t, res, id)
		near(t, id+" person-time", r.PersonTime, want[0])
		near(t, id+" events", r.Events, want[1])
		near(t, id+" children", r.N, want[2])
	}
	if w := strings.Join(res.Analyses[2].Warnings, " "); !strings.Contains(w, "not independent") {
		t.Errorf("warnings by heel: %s", w)
	}
	for i, words := range map[int]string{0: "within the 14 days free of symptoms", 2: "Each heel of a child is at risk by itself", 4: "prevalent and left out", 5: "from study day 40 up to, not including, day 90"} {
		if m := res.Analyses[i].Methods; !strings.Contains(m, words) {
			t.Errorf("methods %q, want %q", m, words)
		}
	}
}

// TestSpellFaults: an episode that ends before it begins, one of no known heel,
// and an onset after an episode without an end are said, not guessed.
func TestSpellFaults(t *testing.T) {
	res := spellStudy("A,0\nB,\n", "A,football,0,100,50\nA,football,3e12,4e12,7\nB,football,0,10,1\n",
		"A,left,football,30,20\nA,,football,40,50\nA,left,football,60,\nA,left,football,80,90\nA,left,football,-4e12,\nB,left,football,3,4\n",
		"episodes: all, spells: {end: end_day, gap: 14, within: heel}, by: season, calendar: {name: season, at_zero: enrolled, starts: [0]}",
	).compute(t)
	near(t, "days", row(t, res, "a0/rates/incidence rate").PersonTime, 60+100)
	near(t, "events", row(t, res, "a0/rates/incidence rate").Events, 1)
	for reason, want := range map[string]float64{
		"end of the episode before its onset": 1, "Heel missing": 1, "within an episode: the same spell": 1, "day impossible": 1,
		"of children whose calendar day on day 0 is missing": 1,
	} {
		if got := removedUnder(res, "events", reason); got != want {
			t.Errorf("%v events %s, want %v", got, reason, want)
		}
	}
	if got := removedUnder(res, "intervals", "days impossible"); got != 1 {
		t.Errorf("%v impossible intervals, want 1", got)
	}
	warnings := strings.Join(res.Analyses[0].Warnings, "\n")
	for _, want := range []string{
		"3 events could not be placed", "1 episodes have no end", "1 onsets follow an episode that has no end", "2 episodes cannot be laid out in time",
	} {
		if !strings.Contains(warnings, want) {
			t.Errorf("no warning %q among\n%s", want, warnings)
		}
	}
}

// randomSpells writes the tables of some children.
func randomSpells(r *rand.Rand) (children, exposures, episodes string) {
	pick := func(words ...string) string { return words[r.IntN(len(words))] }
	for i := range 2 + r.IntN(6) {
		id := fmt.Sprintf("C%d", i)
		children += fmt.Sprintf("%s,%d\n", id, r.IntN(300))
		for range r.IntN(4) {
			from := r.IntN(200) - 20
			exposures += fmt.Sprintf("%s,%s,%d,%d,%d\n", id, pick("football", "swimming"), from, from+r.IntN(200), r.IntN(90))
		}
		for range r.IntN(5) {
			day := r.IntN(300) - 40
			end := digits(float64(day + r.IntN(50)))
			if r.IntN(8) == 0 {
				end = ""
			}
			episodes += fmt.Sprintf("%s,%s,%s,%d,%s\n", id, pick("left", "right"), pick("football", "swimming"), day, end)
		}
	}
	return children, exposures, episodes
}

// TestAtRiskParts wants the parts of random studies to make the whole: heels
// analysed by themselves, and windows, which hold what the calendar bands with
// the same days hold; and every account to add up.
func TestAtRiskParts(t *testing.T) {
	r := rand.New(rand.NewPCG(1912, 41))
	events, heelEvents := 0.0, 0.0
	for range 120 {
		c, x, e := randomSpells(r)
		amount := []string{"HOURS, ", ""}[r.IntN(2)]
		spells := fmt.Sprintf("spells: {end: end_day, gap: %d", []int{0, 14}[r.IntN(2)])
		clock := []string{"all", "first"}[r.IntN(2)]
		at := 40 + r.IntN(100)
		res := spellStudy(c, x, e,
			amount+"by: sport, episodes: "+clock+", "+spells+", within: heel}",
			amount+"by: sport, episodes: "+clock+", "+spells+"}, ONLY left",
			amount+"by: sport, episodes: "+clock+", "+spells+"}, ONLY right",
			amount+"episodes: all, "+spells+"}, by: [sport, part], calendar: {name: part, starts: [-1000, "+digits(float64(at))+"], until: 1000}",
			amount+"by: sport, episodes: all, "+spells+"}, window: {to: "+digits(float64(at))+"}",
			amount+"by: sport, episodes: all, "+spells+"}, window: {from: "+digits(float64(at))+"}",
			amount+"by: sport, episodes: all, "+spells+"}",
		).compute(t)
		at0 := fmt.Sprintf("part=day -1000 to <%d", at)
		at1 := fmt.Sprintf("part=day %d to <1000", at)
		for _, sport := range []string{"", "sport=football", "sport=swimming"} {
			get := func(n int, more ...string) result.Row {
				groups := ""
				for _, g := range append([]string{sport}, more...) {
					if g != "" {
						groups += "," + g
					}
				}
				if groups != "" {
					groups = strings.TrimPrefix(groups, ",") + "/"
				}
				return row(t, res, fmt.Sprintf("a%d/rates/%sincidence rate", n, groups))
			}
			both := get(0)
			near(t, "time of both heels "+sport, both.PersonTime, float64(get(1).PersonTime+get(2).PersonTime))
			near(t, "events of both heels "+sport, both.Events, float64(get(1).Events+get(2).Events))
			whole := get(6)
			near(t, "time of windows "+sport, whole.PersonTime, float64(get(4).PersonTime+get(5).PersonTime))
			near(t, "events of windows "+sport, whole.Events, float64(get(4).Events+get(5).Events))
			for i, part := range []string{at0, at1} {
				near(t, part+sport, get(3, part).PersonTime, float64(get(4+i).PersonTime))
				near(t, part+sport+" events", get(3, part).Events, float64(get(4+i).Events))
			}
			if sport == "" {
				events += float64(whole.Events)
				heelEvents += float64(both.Events)
			}
		}
		for n := range 7 {
			lines := res.Of(fmt.Sprintf("a%d", n), "account")
			time, count := 0.0, 0.0
			for _, l := range lines[1:] {
				time += float64(l.Estimate)
				count += float64(l.Events)
			}
			near(t, "account", lines[0].Estimate, time)
			near(t, "account of events", lines[0].Events, count)
			all := row(t, res, fmt.Sprintf("a%d/rates/incidence rate", n))
			near(t, "at risk", lines[len(lines)-1].Estimate, float64(all.PersonTime))
			near(t, "counted", lines[len(lines)-1].Events, float64(all.Events))
		}
		if t.Failed() {
			t.Fatalf("%s\n%s\n%s\ngap %s, %s, day %d", c, x, e, spells, clock, at)
		}
	}
	if events < 100 || heelEvents < 100 {
		t.Errorf("%v events, %v by heel over all studies", events, heelEvents)
	}
}

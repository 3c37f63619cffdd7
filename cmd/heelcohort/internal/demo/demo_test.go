package demo

import (
	"math"
	"reflect"
	"slices"
	"testing"
)

// summary is what domain knowledge sets targets for.
type summary struct {
	cases, spells, first   int
	boys, bilateral, again float64 // shares of cases
	gaveUp                 float64 // share of rows
	onsetAge, returnDays   float64 // medians
}

// summarise counts directly over the rows.
func summarise(reg *Registry) summary {
	var s summary
	heels := map[[2]int]int{}
	firstOnset := map[int]int{}
	recurred := map[int]bool{}
	gave := 0
	for _, e := range reg.Episodes {
		heels[[2]int{e.Child, e.Spell}]++
		if at, ok := firstOnset[e.Child]; !ok || e.Onset < at {
			firstOnset[e.Child] = e.Onset
		}
		if e.RecurrenceNo > 0 {
			recurred[e.Child] = true
		}
		if e.EndType == "gave_up_sport" {
			gave++
		}
	}
	s.cases, s.spells = len(firstOnset), len(heels)
	boys, both := 0, 0
	var ages []float64
	for child, onset := range firstOnset {
		if reg.Participants[child].Sex == "male" {
			boys++
		}
		if onset >= 0 {
			s.first++
			ages = append(ages, reg.Participants[child].AgeEnrolled+float64(onset)/daysInYear)
			if heels[[2]int{child, 1}] == 2 {
				both++
			}
		}
	}
	n := float64(s.cases)
	s.boys, s.again, s.bilateral = float64(boys)/n, float64(len(recurred))/n, float64(both)/float64(s.first)
	s.gaveUp = float64(gave) / float64(len(reg.Episodes))
	s.onsetAge, s.returnDays = median(ages), productLimitMedian(reg)
	return s
}

// productLimitMedian is the first day after the onset by which the product
// limit of match return is at most one half, over rows with an onset after
// enrolment. Other ends are censored.
func productLimitMedian(reg *Registry) float64 {
	for day, left := 1, 1.0; day < 1000; day++ {
		atRisk, back := 0, 0
		for _, e := range reg.Episodes {
			if e.Onset < 0 || e.EndDay-e.Onset < day {
				continue
			}
			atRisk++
			if e.EndDay-e.Onset == day && e.EndType == "returned" {
				back++
			}
		}
		if atRisk == 0 {
			break
		}
		if left *= 1 - float64(back)/float64(atRisk); left <= 0.5 {
			return float64(day)
		}
	}
	return math.NaN()
}

func median(x []float64) float64 {
	slices.Sort(x)
	if len(x) == 0 {
		return math.NaN()
	}
	return (x[(len(x)-1)/2] + x[len(x)/2]) / 2
}

func TestGenerateIsDeterministic(t *testing.T) {
	a, b := Generate(Options{Children: 200}), Generate(Options{Children: 200, Seed: Seed})
	if !reflect.DeepEqual(a, b) {
		t.Error("two runs with the same seed differ")
	}
	larger := Generate(Options{Children: 300})
	if !reflect.DeepEqual(a.Participants, larger.Participants[:200]) {
		t.Error("the first children of a larger registry are others")
	}
	if other := Generate(Options{Children: 200, Seed: 7}); reflect.DeepEqual(a.Participants, other.Participants) {
		t.Error("another seed gives the same children")
	}
}

// TestTargets compares a large registry, in which chance matters little, and
// the published one with the shares that the demonstration aims at.
func TestTargets(t *testing.T) {
	for _, c := range []struct {
		name  string
		reg   *Registry
		share float64 // tolerance of shares: about three standard errors
		age   float64
	}{
		{"9999 children", Generate(Options{Seed: 21, Children: 9999}), 0.03, 0.25},
		{"published", Generate(Options{}), 0.09, 0.7},
	} {
		s := summarise(c.reg)
		for _, target := range []struct {
			name             string
			got, want, allow float64
		}{
			{"boys among cases", s.boys, 0.58, c.share},
			{"bilateral", s.bilateral, 0.35, c.share},
			{"recurrence", s.again, 0.12, c.share},
			{"gave up sport", s.gaveUp, 0.06, c.share / 2},
			{"median age at onset", s.onsetAge, 11, c.age},
			{"median match return", s.returnDays, 42, 6},
		} {
			if math.Abs(target.got-target.want) > target.allow {
				t.Errorf("%s: %s is %g, want %g within %g", c.name, target.name, target.got, target.want, target.allow)
			}
		}
	}
}

package demo

import (
	"fmt"
	"math"
	"slices"
)

// A child is what the true model knows of one participant.
type child struct {
	index       int
	boy         bool
	age         float64 // at enrolment, one decimal, taken as exact
	season      int     // of enrolment
	week        int     // of the season, at enrolment
	sports      []int   // main sport first
	fpi         [2]int  // totals, right and left
	arch        int
	lastContact int
	exit        string
}

// Weights of the main sport, in the order of Sports.
var (
	boySports  = []float64{0.45, 0.08, 0.12, 0.18, 0.02, 0.15}
	girlSports = []float64{0.20, 0.25, 0.15, 0.10, 0.15, 0.15}
)

// drawChild draws sex, age, sports, foot posture and follow-up.
func drawChild(r stream, index int) *child {
	c := &child{index: index}
	c.boy = r.chance(boyShare)
	c.age = drawAge(r)
	c.season = r.pick(0.30, 0.27, 0.25, 0.18)
	c.week = r.days(1, latestEnrolment)
	c.sports = drawSports(r, c.boy)
	c.fpi = drawPosture(r, c.age)
	c.arch = archOf(max(c.fpi[0], c.fpi[1]))
	c.lastContact, c.exit = drawFollowUp(r, c)
	return c
}

// drawAge is the second smallest of four uniform ages, Beta(2, 3) on 6 to 16.9.
func drawAge(r stream) float64 {
	u := []float64{r.Float64(), r.Float64(), r.Float64(), r.Float64()}
	slices.Sort(u)
	return round(minimumAge+float64(math.Floor(u[1]*10*ageRange)/10), 1)
}

// drawSports draws one to five different sports.
func drawSports(r stream, boy bool) []int {
	weights := slices.Clone(girlSports)
	if boy {
		weights = slices.Clone(boySports)
	}
	var sports []int
	for range 1 + r.pick(0.50, 0.35, 0.12, 0.025, 0.005) {
		s := r.pick(weights...)
		sports = append(sports, s)
		weights[s] = 0
	}
	return sports
}

// drawPosture draws the foot posture totals of both feet.
func drawPosture(r stream, age float64) [2]int {
	mean := postureMeanAtSix - float64(0.2*(age-minimumAge))
	z := [2]float64{r.NormFloat64(), r.NormFloat64()}
	z[1] = float64(fpiCorrelation*z[0]) + float64(math.Sqrt(1-fpiCorrelation*fpiCorrelation)*z[1])
	var totals [2]int
	for side := range totals {
		total := math.Round(mean + float64(fpiSD*z[side]))
		totals[side] = int(math.Min(math.Max(total, -12), 12))
	}
	return totals
}

// drawFollowUp draws the last contact: the end of the agreed seasons unless
// the child leaves before.
func drawFollowUp(r stream, c *child) (day int, reason string) {
	seasons := min(1+r.pick(0.42, 0.33, 0.17, 0.08), len(Seasons)-c.season)
	day = (seasons-1)*seasonDays + (seasonWeeks-c.week+1)*7 + r.days(0, 14)
	leaves := 1 + int(r.ExpFloat64()/leavingHazard)
	how := []string{"moved", "withdrew", "gave_up_sport"}[r.pick(0.4, 0.4, 0.2)]
	if leaves < day {
		return leaves, how
	}
	return day, "completed"
}

// drawItems spreads a total over six items of -2 to 2.
func drawItems(r stream, total int) [6]int {
	var items [6]int
	step := 1
	if total < 0 {
		step = -1
	}
	move := func(step int) {
		for {
			if i := r.IntN(6); items[i]+step >= -2 && items[i]+step <= 2 {
				items[i] += step
				return
			}
		}
	}
	for range total * step {
		move(step)
	}
	// A pair of opposite steps keeps the total and mixes the signs.
	if total > -10 && total < 10 && r.chance(0.6) {
		move(-step)
		move(step)
	}
	return items
}

// addParticipant measures the child and records it.
func (reg *Registry) addParticipant(r stream, c *child) {
	p := Participant{
		ID: participantID(c), Site: fmt.Sprintf("S%d", 1+r.pick(0.22, 0.2, 0.18, 0.16, 0.14, 0.1)),
		CohortSeason: Seasons[c.season], Consent: r.chance(consentShare), Sex: "female", AgeEnrolled: c.age,
		MainSport: Sports[c.sports[0]], SportsN: len(c.sports), LastContact: c.lastContact, ExitReason: c.exit,
		Arch: Arches[c.arch],
	}
	if c.boy {
		p.Sex = "male"
	}
	if r.chance(0.004) {
		p.Sex = "RF"
	}
	p.drawBody(r, c)
	p.drawFeet(r, c)
	reg.Participants = append(reg.Participants, p)
}

// Heights in cm at 6, 7, ... 17 years: round values of the right size, no
// growth reference.
var (
	boyHeights  = []float64{116, 122, 128, 133, 138, 143, 149, 156, 163, 169, 173, 175}
	girlHeights = []float64{115, 121, 127, 133, 139, 145, 151, 157, 160, 162, 163, 163}
)

// drawBody draws height, sitting height and weight.
func (p *Participant) drawBody(r stream, c *child) {
	heights := girlHeights
	if c.boy {
		heights = boyHeights
	}
	year := int(c.age - minimumAge)
	part := c.age - minimumAge - float64(year)
	mean := heights[year] + float64(part*(heights[year+1]-heights[year]))
	height := r.normal(mean, 0.045*mean, 98, 198, 1)
	sitting := round(height*r.normal(0.525, 0.011, 0.49, 0.57, 4), 1)
	bmi := (15.2 + float64(0.5*(c.age-minimumAge))) * math.Exp(r.normal(0, 0.12, -0.25, 0.4, 4))
	weight := round(bmi*height*height/10000, 1)
	p.Height = p.measured(r, height, 0.01)
	p.SittingHeight = p.measured(r, sitting, 0.04)
	p.Weight = p.measured(r, weight, 0.015)
}

// drawFeet draws the foot posture items and the other measurements of the
// feet, which follow the posture totals loosely.
func (p *Participant) drawFeet(r stream, c *child) {
	unmeasured, refused, oneItem := r.chance(0.03), r.chance(0.004), r.chance(0.01)
	for side := range 2 {
		for i, item := range drawItems(r, c.fpi[side]) {
			p.FPI[side][i] = known(float64(item))
			switch {
			case unmeasured:
				p.FPI[side][i] = none("NM")
			case refused:
				p.FPI[side][i] = none("RF")
			}
		}
		posture := float64(c.fpi[side]) - 3
		p.ArchIndex[side] = p.measured(r, r.normal(0.22+float64(0.012*posture), 0.03, 0.02, 0.44, 3), 0.2)
		p.Navicular[side] = p.measured(r, r.normal(6+float64(0.7*posture), 2, -1, 22, 1), 0.08)
		p.Rearfoot[side] = p.measured(r, r.normal(3+float64(0.6*posture), 2, -10, 17, 1), 0.06)
		p.Lunge[side] = p.measured(r, r.normal(37, 6, 15, 56, 1), 0.05)
	}
	if oneItem && !unmeasured && !refused {
		p.FPI[r.IntN(2)][r.IntN(6)] = none("NM")
	}
	p.FPISecond = none("NA")
	if second := c.fpi[0] + int(r.normal(0, 1.1, -3, 3, 0)); r.chance(secondRaterShare) && !unmeasured && !refused {
		p.FPISecond = known(float64(min(max(second, -12), 12)))
	}
}

// measured is x, or not measured with probability p; one site writes its old
// code for that.
func (p *Participant) measured(r stream, x, missing float64) Measure {
	switch {
	case !r.chance(missing):
		return known(x)
	case p.Site == legacySite:
		return none(legacyCode)
	case r.chance(0.1):
		return none("RF")
	}
	return none("NM")
}

package demo

import (
	"fmt"
	"math"
)

// signNames lists the recorded signs in order.
var signNames = [...]string{"squeeze", "heel_stand", "heel_strike_pain", "toe_walking", "limp", "swelling"}

// signShares are the shares of heels with each sign.
var signShares = [...]float64{0.88, 0.72, 0.66, 0.22, 0.36, 0.11}

// heelNames names the sides.
var heelNames = [2]string{"right", "left"}

// addEpisodes records the child's contacts and spells, a row a heel.
func (reg *Registry) addEpisodes(r stream, c *child, spells []spell) {
	clinic := &clinic{reg: reg, child: c, first: len(reg.Visits), seen: map[int]bool{}}
	clinic.enrol(r, len(spells) > 0 && spells[0].onset < 0)
	for i := range spells {
		s := &spells[i]
		care := drawCare(r, s)
		rows := make([]Episode, 0, 2)
		for side, h := range s.heels {
			if h != nil {
				rows = append(rows, drawEpisode(r, c, s, side, care))
			}
		}
		clinic.follow(r, s, rows)
		reg.Episodes = append(reg.Episodes, rows...)
	}
	clinic.number()
}

// care is what both heels of a spell share.
type care struct {
	precision, onsetType string
	diagnosed            int
	treatments, orthosis string
	orthosisStart        Measure
	pain                 float64 // at onset, mm
}

// treatmentSets lists the usual combinations; a child usually has several.
var treatmentSets = []string{
	"load_management", "load_management;heel_raise", "load_management;stretching", "heel_raise;stretching",
	"load_management;orthosis;stretching", "orthosis;footwear", "load_management;eccentric_exercise",
	"load_management;taping", "rest;casting", "wait_and_see",
}

// drawCare draws diagnosis and treatment.
func drawCare(r stream, s *spell) care {
	c := care{
		precision: []string{"day", "week", "month"}[r.pick(0.6, 0.3, 0.1)],
		onsetType: []string{"gradual", "sudden"}[r.pick(0.83, 0.17)],
		orthosis:  "none", orthosisStart: none("NA"),
		pain: r.normal(52, 17, 8, 98, 0),
	}
	c.diagnosed = min(s.onset+int(math.Exp(r.normal(2.2, 0.8, 0, 4, 4))), s.resumes())
	c.treatments = treatmentSets[r.pick(0.2, 0.16, 0.14, 0.1, 0.12, 0.06, 0.08, 0.05, 0.01, 0.08)]
	switch c.treatments {
	case "load_management;orthosis;stretching", "orthosis;footwear":
		c.orthosis = []string{"off_the_shelf", "semi_custom", "custom"}[r.pick(0.5, 0.3, 0.2)]
		c.orthosisStart = known(float64(min(c.diagnosed+r.days(0, 21), s.resumes())))
	}
	return c
}

// drawEpisode draws one heel of a spell. Its intervals come from the contacts.
func drawEpisode(r stream, c *child, s *spell, side int, care care) Episode {
	h := s.heels[side]
	e := Episode{
		ID:          fmt.Sprintf("E%04d-%d%s", c.index+1, s.number, []string{"R", "L"}[side]),
		Participant: participantID(c), Child: c.index, Heel: heelNames[side], Spell: s.number,
		Onset: s.onset, OnsetPrecision: care.precision, Diagnosed: care.diagnosed, RecurrenceNo: h.earlier,
		SportAtOnset: Sports[s.sport], OnsetType: care.onsetType,
		PainSite:   []string{"medial", "posterior", "lateral", "diffuse", "NM"}[r.pick(0.42, 0.3, 0.12, 0.14, 0.02)],
		Treatments: care.treatments, OrthosisClass: care.orthosis, OrthosisStart: care.orthosisStart,
		EndType: h.endType, EndDay: h.end,
	}
	for i, share := range signShares {
		e.Signs[i] = []string{"true", "false", "NM"}[r.pick(share*0.97, (1-share)*0.97, 0.03)]
	}
	e.VASOnset = known(math.Min(math.Max(care.pain+r.normal(0, 5, -10, 10, 0), 3), 100))
	switch {
	case r.chance(0.04):
		e.VASOnset = none("NM")
	case r.chance(0.01):
		e.VASOnset = none("DK")
	}
	return e
}

package demo

import (
	_ "embed"
	"encoding/json"
	"fmt"
	"math"
)

// Super-population of the stored truth.
const (
	truthSeed     uint64 = 4001
	truthChildren int    = 400_000
)

//go:embed files/truth.json
var truthFile []byte

// A Truth is the true model of the registry and the population quantities
// that follow from it.
type Truth struct {
	Caution    string     `json:"caution"`
	Parameters Parameters `json:"parameters"`
	Quantities []Quantity `json:"quantities"`
}

// Parameters are those of the true model; the package documentation says how
// they act.
type Parameters struct {
	BaseHazard       float64            `json:"base_hazard_per_1000_hours"`
	SportEffect      map[string]float64 `json:"sport_effect"`
	AgeEffect        map[string]float64 `json:"age_effect"`
	ArchEffect       map[string]float64 `json:"arch_effect_on_onset"`
	ReturnShape      float64            `json:"return_weibull_shape"`
	ReturnScale      float64            `json:"return_weibull_scale_days"`
	ReturnHazard     map[string]float64 `json:"return_hazard_ratio"`
	HeelCorrelation  float64            `json:"heel_copula_correlation"`
	BilateralShare   float64            `json:"bilateral_share"`
	RecurrenceShare  float64            `json:"planned_recurrence_share"`
	GaveUpHazard     float64            `json:"gave_up_hazard_per_day"`
	OtherInjury      float64            `json:"other_injury_hazard_per_day"`
	LeavingHazard    float64            `json:"leaving_hazard_per_day"`
	PrevalentShare   float64            `json:"onset_in_year_before_enrolment_share"`
	PostureMeanAtSix float64            `json:"foot_posture_mean_at_six"`
	PostureSD        float64            `json:"foot_posture_sd"`
	PostureHeels     float64            `json:"foot_posture_correlation"`
}

// A Quantity is one true number of the population.
type Quantity struct {
	Name       string  `json:"name"`
	Age        string  `json:"age_now,omitempty"` // band of current age; absent is all
	Sport      string  `json:"sport,omitempty"`
	Arch       string  `json:"arch,omitempty"`
	Day        float64 `json:"day,omitempty"` // days since onset
	Value      float64 `json:"value"`
	MonteCarlo float64 `json:"monte_carlo_error"` // standard error; 0 is exact
	Unit       string  `json:"unit"`
	How        string  `json:"how"`
}

// StoredTruth is the truth that a demonstration carries.
func StoredTruth() (*Truth, error) {
	var t Truth
	if err := json.Unmarshal(truthFile, &t); err != nil {
		return nil, fmt.Errorf("truth.json: %w", err)
	}
	return &t, nil
}

// Find is the quantity with the given name, band, sport, arch and day.
func (t *Truth) Find(name, age, sport, arch string, day float64) (Quantity, bool) {
	for _, q := range t.Quantities {
		if q.Name == name && q.Age == age && q.Sport == sport && q.Arch == arch && q.Day == day {
			return q, true
		}
	}
	return Quantity{}, false
}

// bandName names a band of current age.
func bandName(a int) string { return fmt.Sprintf("[%g, %g)", AgeEdges[a], AgeEdges[a+1]) }

// ComputeTruth computes the truth from a super-population.
func ComputeTruth(seed uint64, children int) *Truth {
	t := &Truth{Caution: "Invented data: no child in this registry exists.", Parameters: parameters()}
	p := newPopulation(seed, children)
	t.Quantities = append(t.Quantities, p.rates()...)
	t.Quantities = append(t.Quantities, p.risks()...)
	t.Quantities = append(t.Quantities, returns()...)
	return t
}

// parameters lists the model's parameters.
func parameters() Parameters {
	named := func(names []string, values []float64) map[string]float64 {
		m := map[string]float64{}
		for i, name := range names {
			m[name] = values[i]
		}
		return m
	}
	var bands []string
	for a := range ageEffect {
		bands = append(bands, bandName(a))
	}
	return Parameters{
		BaseHazard: baseHazard, SportEffect: named(Sports, sportEffect[:]), AgeEffect: named(bands, ageEffect[:]),
		ArchEffect: named(Arches, archEffect[:]), ReturnShape: returnShape, ReturnScale: returnScale,
		ReturnHazard: named(Arches, returnHazard[:]), HeelCorrelation: heelCopula, BilateralShare: bilateralShare,
		RecurrenceShare: recurrenceShare, GaveUpHazard: gaveUpHazard, OtherInjury: otherInjury,
		LeavingHazard: leavingHazard, PrevalentShare: prevalentShare, PostureMeanAtSix: postureMeanAtSix,
		PostureSD: fpiSD, PostureHeels: fpiCorrelation,
	}
}

// returns lists what is exact about the time to match return.
func returns() []Quantity {
	const how = "closed form: Weibull with proportional hazards, days rounded up"
	var all []Quantity
	for arch, name := range Arches {
		if name != "normal" {
			all = append(all, Quantity{
				Name: "hazard ratio of match return", Arch: name, Value: returnHazard[arch] / returnHazard[1], Unit: "ratio",
				How: "parameter of the model; reference normal",
			})
		}
		for _, day := range []float64{28, 56, 84} {
			all = append(all, Quantity{
				Name: "not yet returned", Arch: name, Day: day, Value: returnSurvival(arch, day), Unit: "share", How: how,
			})
		}
		all = append(all, Quantity{
			Name: "median time to match return", Arch: name, Value: math.Ceil(returnQuantile(arch, 0.5)), Unit: "days", How: how,
		})
	}
	return all
}

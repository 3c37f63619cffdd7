package demo

import "math"

// Seed is the seed of the published demonstration registry.
const Seed uint64 = 20250131

// Sports lists the sports of the registry; swimming is the low-impact
// comparison.
var Sports = []string{"football", "gymnastics", "athletics", "basketball", "netball", "swimming"}

// Seasons lists the seasons of the registry.
var Seasons = []string{"2021/22", "2022/23", "2023/24", "2024/25"}

// Arches lists the arch types in order of the foot posture total.
var Arches = []string{"supinated", "normal", "pronated"}

// AgeEdges bounds the bands of current age: band a is [AgeEdges[a], AgeEdges[a+1]).
var AgeEdges = []float64{6, 8, 10, 12, 14, 17, 21}

// The true model of the first episode: hazards per 1,000 hours are
// baseHazard * sportEffect * ageEffect * archEffect.
const baseHazard = 2.2

var (
	sportEffect = [...]float64{1, 0.9, 0.75, 0.8, 0.65, 0.25}
	ageEffect   = [...]float64{0.3, 0.6, 1, 0.8, 0.3, 0.05}
	archEffect  = [...]float64{0.8, 1, 1.5}
)

// The true model of the return to matches.
const (
	returnShape = 1.4
	returnScale = 51.5 // days, normal arch
	heelCopula  = 0.7  // normal correlation of the heels of a spell
)

var returnHazard = [...]float64{0.9, 1, 0.75}

// Shares and daily hazards of everything else.
const (
	bilateralShare   = 0.35
	prevalentShare   = 0.25    // children with an onset in the year before enrolment
	recurrenceShare  = 0.29    // planned; leaving the registry forestalls some
	newHeelShare     = 0.04    // of one-sided spells, later on the other heel
	gaveUpHazard     = 0.00136 // a day of an open spell
	otherInjury      = 0.00040 // a day of an open spell
	leavingHazard    = 0.00045 // a day, of moving away or withdrawing
	boyShare         = 0.57
	consentShare     = 0.97
	postureMeanAtSix = 4.0
	fpiSD            = 3.0
	fpiCorrelation   = 0.8
	daysInYear       = 365.25
	seasonDays       = 364
	seasonWeeks      = 40
	blockWeeks       = 5
	legacySite       = "S4"
	legacyCode       = "999"
	gapBeforeNew     = 60 // days free of symptoms before a new spell
	reducedPlay      = 0.25
	latestEnrolment  = 30 // week of the season
	daysBeforeEnrol  = 365
	minimumAge       = 6.0
	ageRange         = 10.9
	secondRaterShare = 0.25
)

// hazard is the true hazard of a first episode per hour.
func hazard(band, sport, arch int) float64 {
	return baseHazard * sportEffect[sport] * ageEffect[band] * archEffect[arch] / 1000
}

// ageBand is the band of an age.
func ageBand(age float64) int {
	for a := 1; a < len(AgeEdges)-1; a++ {
		if age < AgeEdges[a] {
			return a - 1
		}
	}
	return len(AgeEdges) - 2
}

// archOf is the arch type of a foot posture total.
func archOf(total int) int {
	switch {
	case total < 0:
		return 0
	case total <= 5:
		return 1
	}
	return 2
}

// returnSurvival is the true share of heels of an arch type that have not
// returned to matches by day t after the onset.
func returnSurvival(arch int, t float64) float64 {
	return math.Exp(-returnHazard[arch] * math.Pow(t/returnScale, returnShape))
}

// returnQuantile is the time by which the share p of heels has returned.
func returnQuantile(arch int, p float64) float64 {
	return returnScale * math.Pow(-math.Log1p(-p)/returnHazard[arch], 1/returnShape)
}

package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A returnScene is how children with one or two sore heels are drawn. A heel's
// clock runs from its onset in whole days. Its day of return D is Weibull,
//
//	P(D > d | x) = exp(-log 2 (d/42)^1.2 exp(x'b)),
//
// rounded up, with x an exposure of the whole child and one of the heel, each in
// half of them. The heels of a child agree by Clayton's copula, which is that of
// a gamma frailty both share, so that each heel alone keeps this very law and the
// hazard ratios exp(b). The child comes in L days after a heel's onset, 0 for
// those seen from onset on, and gives the sport up with both heels on a day
// counted from then, geometric with a chance of a day quitDaily, or is last seen
// on one between 30 and 179.
//
// L tells nothing of D. A heel is in where D > L, whatever its fellow does: the
// child comes in where either heel is still sore, and a heel that is well again
// adds no time at risk. So the heels at risk on day d have the hazard of all
// heels with D >= d, and curves and ratios estimate the law above, of all
// heels with a spell, seen or not. (Had children come in only with both heels
// sore, the fellow would have selected, and nothing here would estimate it.)
type returnScene struct {
	name      string
	children  int
	two       float64 // share of children with two heels
	fromOnset float64 // chance of L = 0
}

const (
	returnMedian = 42.0
	returnShape  = 1.2
	returnAgree  = 2.0  // Clayton's: Kendall's tau is 1/2
	returnShared = -0.4 // log hazard ratio of the child's exposure
	returnOwn    = 0.5  // and of the heel's
	quitDaily    = 0.003
	returnMean   = 90 // horizon of the restricted mean
)

// heelRows are the heels that were seen: a row each.
type heelRows struct {
	competing   CompetingTimes // cause 1 return, 2 given up
	child       []int
	shared, own []float64 // exposures
	sham        []int     // a group of the child without effect
	last        []float64 // when the heel would have been seen last
}

func (h *heelRows) times() Times { return h.competing.onlyCause(1) }

// onlyCause takes other ends for censoring.
func (t CompetingTimes) onlyCause(cause int) Times {
	status := make([]bool, len(t.Cause))
	for i, c := range t.Cause {
		status[i] = c == cause
	}
	return Times{t.Entry, t.Exit, status}
}

// x are the two exposures of each row.
func (h *heelRows) x() [][]float64 {
	out := make([][]float64, len(h.shared))
	for i := range out {
		out[i] = []float64{h.shared[i], h.own[i]}
	}
	return out
}

// A heelEnd is the day on which a heel ends, and how, from a uniform number and
// its exposures.
type heelEnd func(u, shared, own float64) (day float64, cause int)

// returns are the Weibull days of return.
func returns(u, shared, own float64) (float64, int) {
	hazard := -math.Log(u) * math.Exp(-returnShared*shared-returnOwn*own)
	return math.Max(1, math.Ceil(returnMedian*math.Pow(hazard/math.Ln2, 1/returnShape))), 1
}

// draw takes children until enough have come in. quit is the daily chance of
// giving up.
func (s returnScene) draw(r *rand.Rand, end heelEnd, quit float64) *heelRows {
	h := &heelRows{}
	for id := 0; id < s.children; {
		if s.child(r, h, id, end, quit) {
			id++
		}
	}
	return h
}

func (s returnScene) child(r *rand.Rand, h *heelRows, id int, end heelEnd, quit float64) (in bool) {
	own, shared, sham := float64(r.IntN(2)), float64(r.IntN(2)), r.IntN(2)
	frailty := gammaDraw(r, 1/returnAgree)
	gone := math.Inf(1)
	if quit > 0 {
		gone = 1 + math.Floor(math.Log(r.Float64())/math.Log1p(-quit))
	}
	last := 30 + float64(r.IntN(150)) // days from coming in
	heels, before := 1, s.before(r)
	if r.Float64() < s.two {
		heels = 2
	}
	for heel := range heels {
		if heel == 1 && r.IntN(2) == 0 { // an onset of its own
			before = s.before(r)
		}
		u := math.Pow(1+r.ExpFloat64()/frailty, -1/returnAgree)
		exit, cause := end(u, shared, math.Abs(own-float64(heel)))
		if exit <= before {
			continue // well before the child came
		}
		if at := before + gone; at < exit {
			exit, cause = at, 2
		}
		if at := before + last; at < exit {
			exit, cause = at, 0
		}
		h.competing.Entry, h.competing.Exit = append(h.competing.Entry, before), append(h.competing.Exit, exit)
		h.competing.Cause, h.child = append(h.competing.Cause, cause), append(h.child, id)
		h.shared, h.own, h.sham = append(h.shared, shared), append(h.own, math.Abs(own-float64(heel))), append(h.sham, sham)
		h.last, in = append(h.last, before+last), true
	}
	return in
}

// before draws the days from onset to coming in.
func (s returnScene) before(r *rand.Rand) float64 {
	if r.Float64() < s.fromOnset {
		return 0
	}
	return float64(1 + r.IntN(60))
}

// A returnTruth is the law of the days of return of some heels: survival by day,
// from day 0.
type returnTruth []float64

// returnLaw averages the law over exposures: shared or own is 0 or 1, or -1 for
// both in equal parts.
func returnLaw(shared, own int) returnTruth {
	law := make(returnTruth, 400)
	parts := 0.0
	for a := range 2 {
		for b := range 2 {
			if shared == 1-a || own == 1-b {
				continue
			}
			parts++
			for d := range law {
				h := math.Ln2 * math.Pow(float64(d)/returnMedian, returnShape)
				law[d] += math.Exp(-h * math.Exp(returnShared*float64(a)+returnOwn*float64(b)))
			}
		}
	}
	for d := range law {
		law[d] /= parts
	}
	return law
}

// median is the first day by which half are back.
func (l returnTruth) median() float64 {
	for d, s := range l {
		if s <= 0.5 {
			return float64(d)
		}
	}
	panic("no median")
}

// mean is that of the day of return, or the horizon where it comes first: the sum
// over days of the chance of not being back.
func (l returnTruth) mean(horizon int) float64 {
	sum := 0.0
	for _, s := range l[:horizon] {
		sum += s
	}
	return sum
}

// hazard is the sum of the daily chances of return of those not back.
func (l returnTruth) hazard(day int) float64 {
	sum := 0.0
	for d := 1; d <= day; d++ {
		sum += 1 - l[d]/l[d-1]
	}
	return sum
}

// incidences are the chances of being back, and of having given up, by a day. A
// return on the day itself is before giving up.
func (l returnTruth) incidences(day int) (back, quit float64) {
	for d := 1; d <= day; d++ {
		still := math.Pow(1-quitDaily, float64(d-1))
		back += (l[d-1] - l[d]) * still
		quit += l[d] * still * quitDaily
	}
	return back, quit
}

// Fine and Gray's design: F1(t|x) = 1 - (1 - p (1-exp(-t/40)))^exp(x'b) for
// returns, and the rest give up with an exponential time.
const (
	returnShare  = 0.7
	returnPace   = 40.0
	quitPace     = 60.0
	subdistBeta  = 0.5  // the child's exposure
	subdistOther = -0.3 // the heel's
)

func subdistributionReturns(u, shared, own float64) (float64, int) {
	ratio := math.Exp(subdistBeta*shared + subdistOther*own)
	share := 1 - math.Pow(1-returnShare, ratio)
	day, cause := 0.0, 1
	if u < share {
		day = -returnPace * math.Log(1-(1-math.Pow(1-u, 1/ratio))/returnShare)
	} else {
		day, cause = -quitPace*math.Log((1-u)/(1-share)), 2
	}
	return math.Max(1, math.Ceil(day)), cause
}

func subdistributionTruth(day, shared, own float64) float64 {
	ratio := math.Exp(subdistBeta*shared + subdistOther*own)
	return 1 - math.Pow(1-returnShare*(1-math.Exp(-day/returnPace)), ratio)
}

// The formulas of the truth against 200,000 heels seen from onset to the end:
// within four standard errors of the draw.
func TestReturnSceneTruth(t *testing.T) {
	const n = 200000
	r := rand.New(rand.NewPCG(19, 71))
	law := returnLaw(-1, -1)
	within := func(what string, count, truth float64) {
		if se := math.Sqrt(truth * (1 - truth) / n); math.Abs(count/n-truth) > 4*se {
			t.Errorf("%s: %v of draws, truth %v", what, count/n, truth)
		}
	}
	var later, back, quit, discordant float64
	area := 0.0
	for range n {
		frailty := gammaDraw(r, 1/returnAgree)
		u, w := math.Pow(1+r.ExpFloat64()/frailty, -1/returnAgree), math.Pow(1+r.ExpFloat64()/frailty, -1/returnAgree)
		x, y := float64(r.IntN(2)), float64(r.IntN(2))
		day, _ := returns(u, x, y)
		other, _ := returns(w, x, y)
		gone := 1 + math.Floor(math.Log(r.Float64())/math.Log1p(-quitDaily))
		area += math.Min(day, returnMean)
		if day > 42 {
			later++
		}
		if day <= 84 && day <= gone {
			back++
		}
		if gone <= 84 && gone < day {
			quit++
		}
		if (day > 42) != (other > 42) {
			discordant++
		}
	}
	within("survival at 42", later, law[42])
	a, b := law.incidences(84)
	within("back by 84", back, a)
	within("given up by 84", quit, b)
	if mean := law.mean(returnMean); math.Abs(area/n-mean) > 4*30/math.Sqrt(n) { // the SD is below 30
		t.Errorf("mean of %v, truth %v", area/n, mean)
	}
	// Heels agree: of independent ones about half would differ.
	if discordant/n > 0.3 {
		t.Errorf("%v of pairs differ on day 42", discordant/n)
	}
}

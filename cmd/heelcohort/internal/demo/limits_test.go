package demo

import (
	"errors"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// plainMethods are short implementations of the textbook limits, a second way
// to what package stats gives.
func plainMethods() Methods {
	return Methods{
		Name: "short textbook implementations in limits_test.go",
		Rate: plainRate, RateRatio: plainRateRatio, OddsRatio: plainOddsRatio, RiskRatio: plainRiskRatio,
		HazardRatio: plainHazardRatio, Survival: plainSurvival, Median: plainMedian,
	}
}

// normal975 is the 0.975 quantile of the normal distribution.
const normal975 = 1.959963984540054

// errNone is what the short implementations say of data without an estimate.
var errNone = errors.New("not estimable")

// plainRate gives exact Poisson limits (Garwood 1936).
func plainRate(events int, amount float64) (Limits, error) {
	n, low := float64(events), 0.0
	if events > 0 {
		low = mathext.GammaIncRegInv(n, 0.025)
	}
	return Limits{n / amount, low / amount, mathext.GammaIncRegCompInv(n+1, 0.025) / amount}, nil
}

// plainRateRatio gives exact conditional limits: given all events, those of
// the first rate are binomial.
func plainRateRatio(events int, amount float64, events2 int, amount2 float64) (Limits, error) {
	if events == 0 || events2 == 0 {
		return Limits{}, errNone
	}
	x, y, scale := float64(events), float64(events2), amount2/amount
	low, high := mathext.InvRegIncBeta(x, y+1, 0.025), mathext.InvRegIncBeta(x+1, y, 0.975)
	return Limits{x / y * scale, low / (1 - low) * scale, high / (1 - high) * scale}, nil
}

// onLogScale gives normal limits of a ratio on the log scale.
func onLogScale(ratio, se float64) Limits {
	return Limits{ratio, ratio * math.Exp(-normal975*se), ratio * math.Exp(normal975*se)}
}

// plainOddsRatio gives the limits of Woolf.
func plainOddsRatio(group, reference [2]int) (Limits, error) {
	a, b, c, d := float64(group[0]), float64(group[1]), float64(reference[0]), float64(reference[1])
	return onLogScale(a*d/(b*c), math.Sqrt(1/a+1/b+1/c+1/d)), nil
}

// plainRiskRatio gives the limits of Katz.
func plainRiskRatio(group, reference [2]int) (Limits, error) {
	a, c := float64(group[0]), float64(reference[0])
	n, m := a+float64(group[1]), c+float64(reference[1])
	return onLogScale(a/n/(c/m), math.Sqrt(1/a-1/n+1/c-1/m)), nil
}

// plainHazardRatio fits a proportional hazards model with indicators of
// supinated and pronated by Newton's method (Breslow's likelihood) and sums
// the score residuals by child (Lin and Wei 1989).
func plainHazardRatio(rows *Returns, arch int) (Limits, error) {
	var times []float64
	for i, event := range rows.Event {
		if event {
			times = append(times, rows.Exit[i])
		}
	}
	slices.Sort(times)
	times = slices.Compact(times)
	// Columns 0 and 2 of the arch types, normal being the reference.
	column := [3]int{0, -1, 1}
	var beta [2]float64
	var inverse [2][2]float64
	var residuals [][2]float64
	for step := 0; ; step++ {
		if step == 30 {
			return Limits{}, errNone
		}
		var score [2]float64
		var information [2][2]float64
		residuals = make([][2]float64, len(rows.Exit))
		for _, t := range times {
			weight, deaths := [3]float64{}, [3]float64{} // by arch type
			for i := range rows.Exit {
				if rows.Entry[i] < t && t <= rows.Exit[i] {
					weight[rows.Arch[i]]++
					if rows.Exit[i] == t && rows.Event[i] {
						deaths[rows.Arch[i]]++
					}
				}
			}
			weight[0] *= math.Exp(beta[0])
			weight[2] *= math.Exp(beta[1])
			total, d := weight[0]+weight[1]+weight[2], deaths[0]+deaths[1]+deaths[2]
			mean := [2]float64{weight[0] / total, weight[2] / total}
			for j := range 2 {
				score[j] += deaths[2*j] - d*mean[j]
				for k := range 2 {
					information[j][k] -= d * mean[j] * mean[k]
				}
				information[j][j] += d * mean[j]
			}
			for i := range rows.Exit {
				if rows.Entry[i] >= t || t > rows.Exit[i] {
					continue
				}
				c := column[rows.Arch[i]]
				w := 1.0
				if c >= 0 {
					w = math.Exp(beta[c])
				}
				martingale := -w * d / total
				if rows.Exit[i] == t && rows.Event[i] {
					martingale++
				}
				for j := range 2 {
					x := 0.0
					if c == j {
						x = 1
					}
					residuals[i][j] += (x - mean[j]) * martingale
				}
			}
		}
		determinant := information[0][0]*information[1][1] - information[0][1]*information[1][0]
		if determinant <= 0 {
			return Limits{}, errNone
		}
		inverse = [2][2]float64{
			{information[1][1] / determinant, -information[0][1] / determinant},
			{-information[1][0] / determinant, information[0][0] / determinant},
		}
		for j := range 2 {
			beta[j] += inverse[j][0]*score[0] + inverse[j][1]*score[1]
		}
		if math.Abs(score[0])+math.Abs(score[1]) < 1e-9 {
			break
		}
	}
	c := column[arch]
	byChild := make(map[int]float64)
	for i, r := range residuals {
		byChild[rows.Child[i]] += inverse[c][0]*r[0] + inverse[c][1]*r[1]
	}
	variance := 0.0
	for _, child := range slices.Sorted(maps.Keys(byChild)) {
		variance += byChild[child] * byChild[child]
	}
	return onLogScale(math.Exp(beta[c]), math.Sqrt(variance)), nil
}

// productLimit calls step with each event time, the share left from then on
// and its limits on the complementary log-log scale with Greenwood's error.
// Every row enters at 0.
func productLimit(rows *Returns, step func(t, share, low, high float64) bool) {
	exits := slices.Clone(rows.Exit)
	slices.Sort(exits)
	share, greenwood := 1.0, 0.0
	for _, t := range slices.Compact(exits) {
		n, d := 0.0, 0.0
		for i, exit := range rows.Exit {
			if exit >= t {
				n++
			}
			if exit == t && rows.Event[i] {
				d++
			}
		}
		if d == 0 {
			continue
		}
		share *= 1 - d/n
		greenwood += d / (n * (n - d))
		low, high := 0.0, 0.0
		if share > 0 {
			se := math.Sqrt(greenwood) / -math.Log(share)
			low, high = math.Pow(share, math.Exp(normal975*se)), math.Pow(share, math.Exp(-normal975*se))
		}
		if !step(t, share, low, high) {
			return
		}
	}
}

// plainSurvival reads the product-limit curve at a time.
func plainSurvival(rows *Returns, at float64) (Limits, error) {
	l, err := Limits{}, errNone
	productLimit(rows, func(t, share, low, high float64) bool {
		if t > at {
			return false
		}
		l, err = Limits{share, low, high}, nil
		return true
	})
	if l.Value == 0 {
		return l, errNone
	}
	return l, err
}

// plainMedian is where the curve and its limits reach one half (Brookmeyer and
// Crowley 1982, complementary log-log).
func plainMedian(rows *Returns) (Limits, error) {
	l := Limits{math.NaN(), math.NaN(), math.Inf(1)}
	productLimit(rows, func(t, share, low, high float64) bool {
		if low <= 0.5 && math.IsNaN(l.Lower) {
			l.Lower = t
		}
		if share <= 0.5 && math.IsNaN(l.Value) {
			l.Value = t
		}
		if high <= 0.5 {
			l.Upper = t
			return false
		}
		return true
	})
	return l, nil
}

package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// A BandKind is a sort of simultaneous limits of a curve.
type BandKind string

const (
	// HallWellner is widest where the curve is middling: half a width is
	// proportional to 1 + nσ².
	HallWellner BandKind = "Hall-Wellner"
	// EqualPrecision is proportional to the pointwise limits.
	EqualPrecision BandKind = "equal precision"
)

// BandOptions are the choices of Curve.Band; the zero value is Hall and
// Wellner's band on the curve's own scale of limits from the first event to the
// last time before the curve reaches 0.
type BandOptions struct {
	Kind     BandKind // "" is HallWellner
	From, To float64  // times the band holds between; 0 and 0: all it can
}

// A Band are simultaneous limits: slices of equal length, one entry a time of
// the curve between From and To.
type Band struct {
	Time         []float64
	Lower, Upper []float64
	From, To     float64 // the times it holds between
	Critical     float64 // in place of the normal quantile of pointwise limits
	Level        float64
	Method       string
}

// Band returns limits that hold the whole curve between two times with the
// curve's level, where pointwise limits hold each of its points. With σ² the
// sum of d/(n(n−d)) up to a time, a = nσ²/(1+nσ²) there and n the rows, half a
// width on the log scale of the curve is
//
//	Hall-Wellner     k (1 + nσ²)/√n   P(|B| <= k on [a1, a2]) = level
//	equal precision  c σ              P(|B| <= c √(u(1−u)) on [a1, a2]) = level
//
// for a Brownian bridge B and a1, a2 at From and To; the curve's own scale of
// limits (log-log and so on) is used with that in place of z σ. k is exact: the
// probability is integrated over the bridge's ends. c comes from the tail
// approximation of Miller and Siegmund (1982), good where the level is high.
//
// It returns ErrNoEvents where no event lies between the times and
// ErrNoVariance for a curve with robust errors, for which these bands do not
// hold.
//
// Hall WJ, Wellner JA. Confidence bands for a survival curve from censored
// data. Biometrika 1980;67:133-143. Nair VN. Confidence bands for survival
// functions with censored data: a comparative study. Technometrics
// 1984;26:265-275.
func (c Curve) Band(opts BandOptions) (Band, error) {
	kind := opts.Kind
	switch kind {
	case "":
		kind = HallWellner
	case HallWellner, EqualPrecision:
	default:
		panic(fmt.Sprintf("stats: band %q, expected Hall-Wellner or equal precision", kind))
	}
	if c.source != nil {
		return Band{}, fmt.Errorf("%s band of a curve with robust errors: %w of the known form", kind, ErrNoVariance)
	}
	b := Band{Level: c.Level}
	var sigma2, survival []float64
	sum := 0.0
	for i, at := range c.Time {
		if d, n := float64(c.Events[i]), float64(c.AtRisk[i]); d > 0 && d < n {
			sum += d / (n * (n - d))
		}
		if sum == 0 || c.Survival[i] == 0 || at < opts.From || opts.To > 0 && at > opts.To {
			continue
		}
		b.Time, sigma2, survival = append(b.Time, at), append(sigma2, sum), append(survival, c.Survival[i])
	}
	if len(b.Time) == 0 {
		return Band{}, fmt.Errorf("%s band: %w between the times", kind, ErrNoEvents)
	}
	n := float64(c.N)
	share := func(s2 float64) float64 { return n * s2 / (1 + n*s2) }
	last := len(b.Time) - 1
	b.From, b.To = b.Time[0], b.Time[last]
	from, to := share(sigma2[0]), share(sigma2[last])
	if kind == HallWellner {
		b.Critical = hallWellner(from, to, c.Level)
	} else {
		b.Critical = equalPrecision(from, to, c.Level)
	}
	limits := c.limits
	if limits == "" {
		limits = LimitsLogLog
	}
	b.Method = fmt.Sprintf("%s band, %s limits", kind, limits)
	for i, s := range survival {
		half := b.Critical * math.Sqrt(sigma2[i])
		if kind == HallWellner {
			half = b.Critical * (1 + n*sigma2[i]) / math.Sqrt(n)
		}
		lower, upper := transformedLimits(s, s*half, 1, limits)
		b.Lower, b.Upper = append(b.Lower, lower), append(b.Upper, upper)
	}
	return b, nil
}

// equalPrecision solves 4 φ(c)/c + φ(c) (c − 1/c) log(a2 (1−a1)/(a1 (1−a2))) =
// 1 − level. Where the times are one it is the normal quantile.
func equalPrecision(from, to, level float64) float64 {
	if from == to {
		return criticalZ(level)
	}
	span := math.Log(to * (1 - from) / (from * (1 - to)))
	excess := func(c float64) float64 {
		density := math.Exp(-c*c/2) / math.Sqrt(2*math.Pi)
		return 4*density/c + density*(c-1/c)*span - (1 - level)
	}
	return math.Max(criticalZ(level), bisect(func(c float64) float64 { return -excess(c) }, 1, 20))
}

// hallWellner solves P(|B(u)| <= k for u in [from, to]) = level. k is at least
// what holds the bridge at either end alone.
func hallWellner(from, to, level float64) float64 {
	least := criticalZ(level) * math.Sqrt(math.Max(from*(1-from), to*(1-to)))
	if to-from < 1e-9 {
		return least
	}
	k, _ := fallRoot(func(k float64) (float64, error) { return bridgeWithin(k, from, to) - level, nil }, least, 4)
	return k
}

// bridgeWithin is the probability that a Brownian bridge on [0, 1] stays within
// ±k from one time to another. Its value x at the first is normal with variance
// a(1−a) and its value y at the second normal given x; between the two it is a
// bridge over the time T between them, which by reflection stays within with
// the probability
//
//	Σ over j of exp(−((δ+4jk)² − δ²)/2T) − exp(−((x+y−2k+4jk)² − δ²)/2T),  δ = y − x
func bridgeWithin(k, from, to float64) float64 {
	variance := from * (1 - from)
	between := to - from
	slope := (1 - to) / (1 - from) // the mean of y given x is this times x
	rest := slope * between        // the variance of y given x
	density := func(x, v float64) float64 { return math.Exp(-x*x/(2*v)) / math.Sqrt(2*math.Pi*v) }
	images := 1 + int(math.Sqrt(80*between)/(4*k)) // beyond these the terms vanish
	stays := func(x, y float64) float64 {
		delta, sum := y-x, 0.0
		for j := -images; j <= images; j++ {
			shift := 4 * float64(j) * k
			a, b := delta+shift, x+y-2*k+shift
			sum += math.Exp((delta*delta-a*a)/(2*between)) - math.Exp((delta*delta-b*b)/(2*between))
		}
		return sum
	}
	// Eight standard deviations hold all that doubles can see.
	const nodes, reach = 48, 8
	side := math.Min(k, reach*math.Sqrt(variance))
	return quad.Fixed(func(x float64) float64 {
		wide := reach * math.Sqrt(rest)
		low, high := math.Max(-k, slope*x-wide), math.Min(k, slope*x+wide)
		if low >= high {
			return 0
		}
		return density(x, variance) * quad.Fixed(func(y float64) float64 {
			return density(y-float64(slope*x), rest) * stays(x, y)
		}, low, high, nodes, quad.Legendre{}, 1)
	}, -side, side, nodes, quad.Legendre{}, 1)
}

package stats

import (
	"fmt"
	"math"
)

// twoByTwo is a two by two table.
type twoByTwo struct {
	a, b, c, d int
}

func (t twoByTwo) check(measure string) error {
	if t.a < 0 || t.b < 0 || t.c < 0 || t.d < 0 {
		panic(fmt.Sprintf("stats: negative count in the table %d %d / %d %d", t.a, t.b, t.c, t.d))
	}
	if t.a+t.b == 0 {
		return fmt.Errorf("%s: exposed group: %w", measure, ErrNoData)
	}
	if t.c+t.d == 0 {
		return fmt.Errorf("%s: reference group: %w", measure, ErrNoData)
	}
	return nil
}

func (t twoByTwo) zeroCell(measure, need string) error {
	return fmt.Errorf("%s of the table %d %d / %d %d: %w, expected %s", measure, t.a, t.b, t.c, t.d, ErrZeroCell, need)
}

// OddsRatio is ad/(bc) of the table of counts
//
//	            outcome  no outcome
//	exposed        a         b
//	reference      c         d
//
// with Woolf's limits, symmetric on the log scale with
// standard error sqrt(1/a + 1/b + 1/c + 1/d), and the p-value of the log ratio
// over that error. The persons are taken to be independent.
//
// It returns ErrZeroCell when a cell is zero (OddsRatioExact then still gives
// limits) and ErrNoData when a group is empty.
//
// Reference: Woolf B. On estimating the relation between blood group and
// disease. Ann Hum Genet 1955;19:251-253.
func OddsRatio(a, b, c, d int, opts LimitOptions) (Estimate, error) {
	t := twoByTwo{a, b, c, d}
	level := confidenceLevel(opts.Level)
	const measure = "odds ratio"
	if err := t.check(measure); err != nil {
		return Estimate{}, err
	}
	if a == 0 || b == 0 || c == 0 || d == 0 {
		return Estimate{}, t.zeroCell(measure, "all four counts above 0")
	}
	fa, fb, fc, fd := float64(a), float64(b), float64(c), float64(d)
	se := math.Sqrt(1/fa + 1/fb + 1/fc + 1/fd)
	return logRatio(measure, "Woolf limits on the log scale", fa/fb/fc*fd, se, level), nil
}

// RiskRatio is the risk a/(a+b) of the exposed over the risk c/(c+d) of the
// reference (the counts are laid out as for OddsRatio) with limits by Katz and
// others, symmetric on the log scale with
// standard error sqrt(1/a − 1/(a+b) + 1/c − 1/(c+d)), and the p-value of the
// log ratio over that error. The persons are taken to be independent.
//
// It returns ErrZeroCell when a or c is zero, ErrNoVariance when everybody has
// the outcome, and ErrNoData when a group is empty.
//
// Reference: Katz D, Baptista J, Azen SP, Pike MC. Obtaining confidence
// intervals for the risk ratio in cohort studies. Biometrics 1978;34:469-474.
func RiskRatio(a, b, c, d int, opts LimitOptions) (Estimate, error) {
	t := twoByTwo{a, b, c, d}
	level := confidenceLevel(opts.Level)
	const measure = "risk ratio"
	if err := t.check(measure); err != nil {
		return Estimate{}, err
	}
	if a == 0 || c == 0 {
		return Estimate{}, t.zeroCell(measure, "an outcome in both groups")
	}
	if b == 0 && d == 0 {
		return Estimate{}, fmt.Errorf("%s: everybody has the outcome: %w", measure, ErrNoVariance)
	}
	fa, n1, fc, n0 := float64(a), float64(a+b), float64(c), float64(c+d)
	// 1/a − 1/(a+b) = b/(a(a+b)), without cancellation.
	se := math.Sqrt(float64(b)/fa/n1 + float64(d)/fc/n0)
	return logRatio(measure, "Katz limits on the log scale", fa/n1/(fc/n0), se, level), nil
}

// logRatio makes limits that are symmetric on the log scale.
func logRatio(measure, method string, value, se, level float64) Estimate {
	log, half := math.Log(value), criticalZ(level)*se
	return Estimate{
		Measure: measure,
		Value:   value,
		Lower:   math.Exp(log - half),
		Upper:   math.Exp(log + half),
		SE:      se,
		Level:   level,
		P:       twoSidedNormalP(log / se),
		Method:  method,
	}
}

// RiskDifference is the risk of the exposed less that of the reference (the
// counts are laid out as for OddsRatio) with Newcombe's hybrid score limits (his method 10): with Wilson's limits l, u of
// each risk p,
//
//	d − sqrt((p1−l1)² + (u0−p0)²)  to  d + sqrt((u1−p1)² + (p0−l0)²).
//
// They stay within −1 to 1 and have width with zero cells too. Nothing is
// tested: P is NaN. The persons are taken to be independent. It returns
// ErrNoData when a group is empty.
//
// Reference: Newcombe RG. Interval estimation for the difference between
// independent proportions: comparison of eleven methods. Stat Med
// 1998;17:873-890.
func RiskDifference(a, b, c, d int, opts LimitOptions) (Estimate, error) {
	t := twoByTwo{a, b, c, d}
	level := confidenceLevel(opts.Level)
	const measure = "risk difference"
	if err := t.check(measure); err != nil {
		return Estimate{}, err
	}
	n1, n0 := a+b, c+d
	p1, p0 := float64(a)/float64(n1), float64(c)/float64(n0)
	l1, u1 := wilsonLimits(a, n1, level)
	l0, u0 := wilsonLimits(c, n0, level)
	difference := p1 - p0
	return Estimate{
		Measure: measure,
		Value:   difference,
		Lower:   math.Max(-1, difference-math.Hypot(p1-l1, u0-p0)),
		Upper:   math.Min(1, difference+math.Hypot(u1-p1, p0-l0)),
		SE:      math.NaN(),
		Level:   level,
		P:       math.NaN(),
		Method:  "Newcombe hybrid score limits",
	}, nil
}

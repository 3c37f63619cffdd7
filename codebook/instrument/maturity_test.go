package instrument

import (
	"errors"
	"math"
	"math/big"
	"testing"
)

// rat reads decimals exactly.
func rat(text string) *big.Rat {
	r, ok := new(big.Rat).SetString(text)
	if !ok {
		panic(text)
	}
	return r
}

// terms adds up products of decimals as fractions, the first as it stands.
func terms(intercept string, products ...[]string) float64 {
	sum := rat(intercept)
	for _, p := range products {
		one := rat("1")
		for _, factor := range p {
			one.Mul(one, rat(factor))
		}
		sum.Add(sum, one)
	}
	x, _ := sum.Float64()
	return x
}

// Two invented children, their offsets as exact fractions of the published
// coefficients (legs 72 and 70 cm; 100·42/150 = 28), and to the three or four
// decimals that were worked out beforehand with other programs.
func TestMaturityByHand(t *testing.T) {
	boy := Child{Boy, 12, 150, 78, 42}
	girl := Child{Girl, 11, 146, 76, 39}
	lighter := girl
	lighter.Weight = 38
	ratio := func(w string) string { return new(big.Rat).Quo(rat(w), rat("1.46")).RatString() }
	for _, c := range []struct {
		equation MaturityEquation
		child    Child
		exact    float64
		rounded  float64
		within   float64
	}{
		{Mirwald, boy, terms("-9.236", []string{"0.0002708", "72", "78"}, []string{"-0.001663", "12", "72"}, []string{"0.007216", "12", "78"}, []string{"0.02292", "28"}), -1.7561, 5e-5},
		{Mirwald, girl, terms("-9.376", []string{"0.0001882", "70", "76"}, []string{"0.0022", "11", "70"}, []string{"0.005841", "11", "76"}, []string{"-0.002658", "11", "39"}, []string{"0.07693", ratio("39")}), -0.883, 5e-4},
		{Mirwald, lighter, terms("-9.376", []string{"0.0001882", "70", "76"}, []string{"0.0022", "11", "70"}, []string{"0.005841", "11", "76"}, []string{"-0.002658", "11", "38"}, []string{"0.07693", ratio("38")}), -0.9065, 5e-5},
		{Moore, boy, terms("-7.999994", []string{"0.0036124", "12", "150"}), -1.4977, 5e-5},
		{MooreSitting, boy, terms("-8.128741", []string{"0.0070346", "12", "78"}), -1.544, 5e-4},
		{Moore, girl, terms("-7.709133", []string{"0.0042232", "11", "146"}), -0.9267, 5e-5},
		{MooreSitting, girl, terms("-7.709133", []string{"0.0042232", "11", "146"}), -0.927, 5e-4},
	} {
		got, err := MaturityOffset(c.equation, c.child)
		if err != nil || math.Abs(got-c.exact) > 1e-13 {
			t.Errorf("%s of %+v: %v, %v, want exactly %v", c.equation, c.child, got, err, c.exact)
		}
		if math.Abs(got-c.rounded) > c.within {
			t.Errorf("%s of %+v: %v, want about %v", c.equation, c.child, got, c.rounded)
		}
	}
}

func TestMaturityRefusals(t *testing.T) {
	child := Child{Boy, 12, 150, 78, 42}
	with := func(change func(*Child)) Child {
		c := child
		change(&c)
		return c
	}
	for _, c := range []struct {
		equation MaturityEquation
		child    Child
	}{
		{Mirwald, with(func(c *Child) { c.Age = 0 })},
		{Mirwald, with(func(c *Child) { c.Height = math.NaN() })},
		{Mirwald, with(func(c *Child) { c.Sitting = 150 })},
		{Mirwald, with(func(c *Child) { c.Sitting = -1 })},
		{Mirwald, with(func(c *Child) { c.Weight = 0 })},
		{Moore, with(func(c *Child) { c.Height = 0 })},
		{MooreSitting, with(func(c *Child) { c.Sitting = 0 })},
		{MooreSitting, with(func(c *Child) { c.Sex, c.Height = Girl, 0 })},
	} {
		if got, err := MaturityOffset(c.equation, c.child); !errors.Is(err, ErrIllegal) {
			t.Errorf("%s of %+v: %v, %v, want ErrIllegal", c.equation, c.child, got, err)
		}
	}
	// What an equation does not use may be anything.
	for _, c := range []struct {
		equation MaturityEquation
		child    Child
	}{
		{Moore, with(func(c *Child) { c.Sitting, c.Weight = math.NaN(), -1 })},
		{MooreSitting, with(func(c *Child) { c.Height, c.Weight = math.NaN(), -1 })},
		{MooreSitting, with(func(c *Child) { c.Sex, c.Sitting = Girl, math.NaN() })},
	} {
		if got, err := MaturityOffset(c.equation, c.child); err != nil || math.IsNaN(got) {
			t.Errorf("%s of %+v: %v, %v", c.equation, c.child, got, err)
		}
	}
}

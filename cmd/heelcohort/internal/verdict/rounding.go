package verdict

import (
	"math"
	"math/big"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/printedtable"
)

// significant digits that a result is taken to have.
const significant = 13

// exact is the decimal fraction that a result stands for, nil for none.
func exact(x float64) *big.Rat {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	r, ok := new(big.Rat).SetString(strconv.FormatFloat(x, 'e', significant-1, 64))
	if !ok {
		return nil
	}
	return r
}

// A rule rounds to decimals.
type rule struct {
	name  string
	round func(x *big.Rat, decimals int) *big.Rat
}

// truncated is the name of cutting off.
const truncated = "truncated"

// rules of rounding in the order in which they are tried; the first two are the
// same but for halves.
var rules = []rule{
	{"half up", halfUp},
	{"half even", halfEven},
	{truncated, truncate},
	{"rounded twice, first to one decimal more", twice(1)},
	{"rounded twice, first to two decimals more", twice(2)},
}

func power(decimals int) *big.Rat {
	return new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(decimals)), nil))
}

// parts of x in units of the last decimal: the whole part of its size, and what
// is left over.
func parts(x *big.Rat, decimals int) (whole *big.Int, rest *big.Rat) {
	size := new(big.Rat).Mul(new(big.Rat).Abs(x), power(decimals))
	whole = new(big.Int).Quo(size.Num(), size.Denom())
	return whole, size.Sub(size, new(big.Rat).SetInt(whole))
}

// back is a number of units with the sign of x.
func back(units *big.Int, x *big.Rat, decimals int) *big.Rat {
	r := new(big.Rat).Quo(new(big.Rat).SetInt(units), power(decimals))
	if x.Sign() < 0 {
		r.Neg(r)
	}
	return r
}

var half = big.NewRat(1, 2)

// halfUp rounds to the nearest, halves away from 0.
func halfUp(x *big.Rat, decimals int) *big.Rat {
	whole, rest := parts(x, decimals)
	if rest.Cmp(half) >= 0 {
		whole.Add(whole, big.NewInt(1))
	}
	return back(whole, x, decimals)
}

// halfEven rounds to the nearest, halves to the even digit.
func halfEven(x *big.Rat, decimals int) *big.Rat {
	whole, rest := parts(x, decimals)
	if c := rest.Cmp(half); c > 0 || c == 0 && whole.Bit(0) == 1 {
		whole.Add(whole, big.NewInt(1))
	}
	return back(whole, x, decimals)
}

// truncate leaves out what follows.
func truncate(x *big.Rat, decimals int) *big.Rat {
	whole, _ := parts(x, decimals)
	return back(whole, x, decimals)
}

// twice rounds half up to more decimals first.
func twice(more int) func(*big.Rat, int) *big.Rat {
	return func(x *big.Rat, decimals int) *big.Rat { return halfUp(halfUp(x, decimals+more), decimals) }
}

// A Sort of verdict.
type Sort string

// The sorts.
const (
	Same     Sort = "same"
	Rounding Sort = "rounding"
	Differs  Sort = "differs"
)

// judge compares a printed number with a result; how names the rounding.
func judge(n printedtable.Number, x float64) (sort Sort, how string) {
	r := exact(x)
	if r == nil {
		return Differs, ""
	}
	v := n.Value()
	if n.Relation != printedtable.Equal {
		if related(r, n.Relation, v) {
			return Same, ""
		}
		return Differs, ""
	}
	up, even := halfUp(r, n.Decimals), halfEven(r, n.Decimals)
	if up.Cmp(v) == 0 && even.Cmp(v) == 0 {
		return Same, ""
	}
	for _, rule := range rules {
		if rule.round(r, n.Decimals).Cmp(v) == 0 {
			return Rounding, rule.name
		}
	}
	return Differs, ""
}

// related reports whether x stands in the relation to a bound.
func related(x *big.Rat, relation printedtable.Relation, bound *big.Rat) bool {
	c := x.Cmp(bound)
	switch relation {
	case printedtable.Below:
		return c < 0
	case printedtable.Above:
		return c > 0
	case printedtable.AtMost:
		return c <= 0
	case printedtable.AtLeast:
		return c >= 0
	}
	return c == 0
}

// Nearest reports whether x is printed as n by rounding to the nearest, or lies
// in n's relation.
func Nearest(n printedtable.Number, x float64) bool {
	r := exact(x)
	if r == nil {
		return false
	}
	if n.Relation != printedtable.Equal {
		return related(r, n.Relation, n.Value())
	}
	v := n.Value()
	return halfUp(r, n.Decimals).Cmp(v) == 0 || halfEven(r, n.Decimals).Cmp(v) == 0
}

// written is a result with the decimals of the number beside it.
func written(x float64, decimals int) string {
	r := exact(x)
	switch {
	case math.IsInf(x, 1):
		return "unbounded"
	case math.IsInf(x, -1):
		return "unbounded below"
	case r == nil:
		return ""
	}
	return halfUp(r, decimals).FloatString(decimals)
}

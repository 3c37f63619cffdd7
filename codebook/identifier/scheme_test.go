package identifier

import (
	"fmt"
	"math/big"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"
)

// Numbers that authorities print as examples, or that stand as such in
// reference works; retyped from memory.
func TestPrintedNumbers(t *testing.T) {
	for name, raw := range map[string]string{
		"NHS number":               "943 476 5919",
		"Swiss AHV number":         "756.9217.0769.85",
		"German insurance number":  "A123456780",
		"French NIR":               "2 55 08 14 168 025 38",
		"Swedish personal number":  "811228-9874",
		"Finnish personal code":    "131052-308T",
		"Danish CPR number":        "070761-4285",
		"Spanish DNI":              "12345678Z",
		"number with a Luhn digit": "046 454 286",
		"payment card":             "4111 1111 1111 1111",
	} {
		found := false
		for _, k := range schemes {
			if k.name != name {
				continue
			}
			found = true
			if shaped, valid := k.check(bareNumber(raw), raw); !shaped || !valid {
				t.Errorf("%s %s: shaped %v, valid %v", name, raw, shaped, valid)
			}
			last := raw[len(raw)-1]
			other := byte('0' + (last-'0'+3)%10)
			if last > '9' {
				other = 'A'
			}
			if _, valid := k.check(bareNumber(raw[:len(raw)-1]+string(other)), raw[:len(raw)-1]+string(other)); valid && name != "Danish CPR number" {
				t.Errorf("%s %s with another check digit is valid", name, raw)
			}
		}
		if !found {
			t.Errorf("no scheme %q", name)
		}
	}
	for _, raw := range []string{"DE89370400440532013000", "GB82WEST12345698765432", "CH9300762011623852957"} {
		if !isIBAN(raw) || isIBAN(raw[:len(raw)-1]+"9") {
			t.Errorf("account number %s", raw)
		}
	}
}

// The checks against second, plain ones on random numbers, and the share of
// random numbers that meet each.
func TestChecksTwice(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	digit := func(s string, i int) int { n, _ := strconv.Atoi(s[i : i+1]); return n }
	second := map[string]func(string) bool{
		"NHS number": func(s string) bool { // the whole number's weighted sum is divisible by 11
			sum := 0
			for i := range 10 {
				sum += (10 - i) * digit(s, i)
			}
			return sum%11 == 0
		},
		"French NIR": func(s string) bool {
			n, _ := new(big.Int).SetString(s[:13], 10)
			k, _ := strconv.Atoi(s[13:])
			return n.Add(n, big.NewInt(int64(k))).Mod(n, big.NewInt(97)).Sign() == 0 && k >= 1 && k <= 97
		},
		"Norwegian birth number": func(s string) bool {
			a := []int{3, 7, 6, 1, 8, 9, 4, 5, 2, 1}
			b := []int{5, 4, 3, 2, 7, 6, 5, 4, 3, 2, 1}
			x, y := 0, 0
			for i, w := range a {
				x += w * digit(s, i)
			}
			for i, w := range b {
				y += w * digit(s, i)
			}
			return x%11 == 0 && y%11 == 0
		},
		"number with a Luhn digit": func(s string) bool {
			double := []int{0, 2, 4, 6, 8, 1, 3, 5, 7, 9}
			sum := 0
			for i := range s {
				if i%2 == 1 {
					sum += double[digit(s, i)]
				} else {
					sum += digit(s, i)
				}
			}
			return sum%10 == 0
		},
		"payment card": func(s string) bool {
			double := []int{0, 2, 4, 6, 8, 1, 3, 5, 7, 9}
			sum := 0
			for i := range s {
				if (len(s)-i)%2 == 0 {
					sum += double[digit(s, i)]
				} else {
					sum += digit(s, i)
				}
			}
			return sum%10 == 0
		},
	}
	lengths := map[string]int{"NHS number": 10, "French NIR": 15, "Norwegian birth number": 11, "number with a Luhn digit": 9, "payment card": 16}
	for _, k := range schemes {
		check, ok := second[k.name]
		if !ok {
			continue
		}
		shaped, valid := 0, 0
		for range 100_000 {
			s := ""
			for range lengths[k.name] {
				s += strconv.Itoa(r.IntN(10))
			}
			sh, v := k.check(s, s)
			if !sh {
				continue
			}
			shaped++
			if v {
				valid++
			}
			if v != check(s) {
				t.Fatalf("%s %s: %v, want %v", k.name, s, v, !v)
			}
		}
		if got := float64(valid) / float64(shaped); got > 1.3*k.chance {
			t.Errorf("%s: %.4f of random numbers are valid, stated %.4f", k.name, got, k.chance)
		}
	}
}

// tail against sums of exact binomial terms.
func TestTail(t *testing.T) {
	for _, k := range []struct {
		k, n int
		p    *big.Rat
	}{{5, 5, big.NewRat(1, 11)}, {9, 10, big.NewRat(1, 10)}, {3, 40, big.NewRat(1, 97)}, {0, 4, big.NewRat(1, 2)}} {
		sum := new(big.Rat)
		q := new(big.Rat).Sub(big.NewRat(1, 1), k.p)
		for i := k.k; i <= k.n; i++ {
			term := new(big.Rat).SetInt(new(big.Int).Binomial(int64(k.n), int64(i)))
			for range i {
				term.Mul(term, k.p)
			}
			for range k.n - i {
				term.Mul(term, q)
			}
			sum.Add(sum, term)
		}
		want, _ := sum.Float64()
		p, _ := k.p.Float64()
		if got := tail(k.k, k.n, p); got < want*0.999999 || got > want*1.000001 {
			t.Errorf("tail(%d, %d, %v) = %v, want %v", k.k, k.n, p, got, want)
		}
	}
}

// Ten numbers of an authority are found without a title, and three are not.
func TestRunOfNumbers(t *testing.T) {
	for i, k := range schemes {
		r := rand.New(rand.NewPCG(uint64(i), 7))
		var numbers []string
		for len(numbers) < 10 {
			raw := randomShape(r, k.name)
			if _, valid := k.check(bareNumber(raw), raw); valid && !slices.Contains(numbers, raw) {
				numbers = append(numbers, raw)
			}
		}
		if got := screened(About{}, numbers...); !slices.Contains(got, k.screen) {
			t.Errorf("%s %q: %q", k.name, numbers, got)
		}
		if got := screened(About{}, numbers[:3]...); slices.Contains(got, k.screen) {
			t.Errorf("%s: three numbers are held", k.name)
		}
	}
	var ssn []string
	r := rand.New(rand.NewPCG(3, 3))
	for range 10 {
		ssn = append(ssn, fmt.Sprintf("%03d-%02d-%04d", 1+r.IntN(600), 1+r.IntN(99), 1+r.IntN(9999)))
	}
	if got := screened(About{}, ssn...); !slices.Contains(got, RecordNumber) {
		t.Errorf("%q: %q", ssn, got)
	}
	if got := screened(About{}, many(30, "101-01-%04d")...); slices.Contains(got, RecordNumber) {
		t.Errorf("codes of one site: %q", got)
	}
}

// randomShape draws a text of a scheme's shape.
func randomShape(r *rand.Rand, name string) string {
	d := func(n int) string {
		s := ""
		for range n {
			s += strconv.Itoa(r.IntN(10))
		}
		return s
	}
	date := fmt.Sprintf("%02d%02d%s", 1+r.IntN(28), 1+r.IntN(12), d(2))
	switch name {
	case "Swiss AHV number":
		return "756." + d(4) + "." + d(4) + "." + d(2)
	case "German insurance number":
		return string(rune('A'+r.IntN(26))) + d(9)
	case "French NIR":
		return "1" + d(2) + fmt.Sprintf("%02d", 1+r.IntN(12)) + d(10)
	case "Swedish personal number":
		return d(2) + fmt.Sprintf("%02d%02d", 1+r.IntN(12), 1+r.IntN(28)) + "-" + d(4)
	case "Norwegian birth number":
		return date + d(5)
	case "Danish CPR number":
		return date + "-" + d(4)
	case "Finnish personal code":
		return date + "A" + d(3) + string("0123456789ABCDEFHJKLMNPRSTUVWXY"[r.IntN(31)])
	case "Spanish DNI":
		return d(8) + string("TRWAGMYFPDXBNJZSQVHLCKE"[r.IntN(23)])
	case "number with a Luhn digit":
		return d(9)
	case "payment card":
		return "4" + d(15)
	}
	return d(10)
}

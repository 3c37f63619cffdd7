package demo

import (
	"math"
	"slices"
	"testing"
)

// TestModel checks the model's functions by hand.
func TestModel(t *testing.T) {
	for age, want := range map[float64]int{6: 0, 7.999: 0, 8: 1, 9.9: 1, 10: 2, 11.99: 2, 12: 3, 14: 4, 16.9: 4, 17: 5, 20.8: 5} {
		if got := ageBand(age); got != want {
			t.Errorf("age %g is in band %d, want %d", age, got, want)
		}
	}
	for total, want := range map[int]string{-12: "supinated", -1: "supinated", 0: "normal", 5: "normal", 6: "pronated", 12: "pronated"} {
		if got := Arches[archOf(total)]; got != want {
			t.Errorf("total %d is %s, want %s", total, got, want)
		}
	}
	// At the scale a normal arch has exp(-1) left, whatever the shape; the
	// median is the scale times ln(2) to the power 1/shape.
	if got := returnSurvival(1, returnScale); math.Abs(got-math.Exp(-1)) > 1e-15 {
		t.Errorf("share left at the scale is %g, want exp(-1)", got)
	}
	for arch := range Arches {
		if got := returnSurvival(arch, returnQuantile(arch, 0.5)); math.Abs(got-0.5) > 1e-14 {
			t.Errorf("share left at the median of %s is %g", Arches[arch], got)
		}
		// Proportional hazards: log survival is in the same proportion everywhere.
		for _, day := range []float64{1, 10, 100} {
			ratio := math.Log(returnSurvival(arch, day)) / math.Log(returnSurvival(1, day))
			if math.Abs(ratio-returnHazard[arch]) > 1e-12 {
				t.Errorf("hazard ratio of %s at day %g is %g, want %g", Arches[arch], day, ratio, returnHazard[arch])
			}
		}
	}
	// 2.2 per 1,000 hours, halved nowhere: football at 10 to 11, normal arch.
	if got := hazard(2, 0, 1); got != baseHazard/1000 {
		t.Errorf("hazard of the reference is %g, want %g", got, baseHazard/1000)
	}
}

// TestHeelsFollowTheModel draws heels directly: each heel by itself has the
// survival of the formula, and the two of a pair agree more than by chance.
func TestHeelsFollowTheModel(t *testing.T) {
	const n = 20000
	for arch, name := range Arches {
		var late, both int
		r := newStream(3, arch)
		for range n {
			s := spell{}
			s.drawHeels(r, &child{arch: arch}, [2]bool{true, true})
			right, left := s.heels[0].returns > 56, s.heels[1].returns > 56
			if right {
				late++
			}
			if right && left {
				both++
			}
		}
		want := returnSurvival(arch, 56)
		// Four binomial standard errors.
		if got := float64(late) / n; math.Abs(got-want) > 4*math.Sqrt(want*(1-want)/n) {
			t.Errorf("%s: share later than 56 days is %g, want %g", name, got, want)
		}
		if float64(both)/n < want*want+0.05 {
			t.Errorf("%s: heels of a pair are late together in %d of %d, no more than by chance", name, both, n)
		}
	}
}

// TestItemsSumToTheirTotal draws items of every possible total.
func TestItemsSumToTheirTotal(t *testing.T) {
	r := newStream(1, 1)
	for total := -12; total <= 12; total++ {
		for range 50 {
			items, sum := drawItems(r, total), 0
			for _, item := range items {
				sum += item
			}
			if sum != total || slices.Min(items[:]) < -2 || slices.Max(items[:]) > 2 {
				t.Fatalf("total %d gives items %v", total, items)
			}
		}
	}
}

// TestPiecesCoverBlocks cuts blocks at birthdays and finds nothing lost.
func TestPiecesCoverBlocks(t *testing.T) {
	for i := range 300 {
		r := newStream(9, i)
		c := drawChild(r, i)
		blocks := drawBlocks(r, c)
		days, cut := 0.0, 0.0
		for _, b := range blocks {
			days += float64(b.to - b.from)
		}
		for _, p := range pieces(c, blocks) {
			cut += p.to - p.from
			middle := c.age + (p.from+p.to)/2/daysInYear
			if p.band != ageBand(middle) {
				t.Fatalf("child %d: piece at age %g is in band %d", i, middle, p.band)
			}
		}
		if math.Abs(days-cut) > 1e-6 {
			t.Fatalf("child %d: blocks of %g days, pieces of %g", i, days, cut)
		}
	}
}

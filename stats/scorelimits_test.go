package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestLogisticScoreByHand: of a 2 x 2 table the score test at an odds ratio is
// (a − E)²/V with E the expected count and V = 1/Σ(1/expected counts); P at 1 is
// Pearson's.
func TestLogisticScoreByHand(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 1))
	for range 30 {
		n := []int{5 + r.IntN(20), 5 + r.IntN(20), 5 + r.IntN(20), 5 + r.IntN(20)} // exposed yes, no; unexposed yes, no
		var x [][]float64
		var y []bool
		for k, count := range n {
			for range count {
				x, y = append(x, []float64{float64(1 - k/2)}), append(y, k%2 == 0)
			}
		}
		list, err := LogisticScore(x, []string{"flat"}, y, GLMOptions{})
		must(t, err)
		e := list[0]
		for _, psi := range []float64{e.Lower, e.Upper} {
			if got := plainScore(n, psi); !near(got, 3.841458820694124, 1e-6) {
				t.Errorf("table %v: statistic %v at the limit %v", n, got, psi)
			}
		}
		pearson, err := ChiSquare([][]int{n[:2], n[2:]})
		must(t, err)
		if !near(e.P, pearson.P, 1e-9) {
			t.Errorf("table %v: P %v, Pearson's is %v", n, e.P, pearson.P)
		}
	}
}

// plainScore finds the expected count with the odds ratio psi by bisection.
func plainScore(n []int, psi float64) float64 {
	exposed, unexposed, yes := float64(n[0]+n[1]), float64(n[2]+n[3]), float64(n[0]+n[2])
	low, high := math.Max(0, yes-unexposed), math.Min(exposed, yes)
	for range 200 {
		a := (low + high) / 2
		if a*(unexposed-yes+a) < psi*(exposed-a)*(yes-a) {
			low = a
		} else {
			high = a
		}
	}
	a := (low + high) / 2
	v := 1 / (1/a + 1/(exposed-a) + 1/(yes-a) + 1/(unexposed-yes+a))
	return (float64(n[0]) - a) * (float64(n[0]) - a) / v
}

// TestLogisticScoreMeetsItsEquation holds limits of a model with other
// covariates against a fit with the coefficient held.
func TestLogisticScoreMeetsItsEquation(t *testing.T) {
	terms := []string{"flat", "age"}
	for seed := range uint64(15) {
		x, y, _ := influenceStudy(seed+100, 50)
		list, err := LogisticScore(x, terms, y, GLMOptions{Level: 0.9})
		if err != nil {
			continue
		}
		for j, e := range list {
			for _, limit := range []float64{e.Lower, e.Upper} {
				b := []float64{0, 0, 0}
				b[j+1] = math.Log(limit)
				if j == 1 {
					b[0] = -10 * b[2] // ages are near 10
				}
				for range 200 { // Newton on the other two
					score, information := plainLogistic(x, y, b)
					k := 2 - j
					d := information[0][0]*information[k][k] - information[0][k]*information[k][0]
					b[0] += (information[k][k]*score[0] - information[0][k]*score[k]) / d
					b[k] += (information[0][0]*score[k] - information[k][0]*score[0]) / d
				}
				score, information := plainLogistic(x, y, b)
				u := make([]float64, 3)
				u[j+1] = score[j+1]
				solved, ok := solveDense(information, u)
				if !ok {
					t.Fatal("singular")
				}
				if s := dot(u, solved); !near(s, 2.705543454095404, 1e-5) {
					t.Errorf("seed %d, %s: statistic %v at the limit %v", seed, terms[j], s, limit)
				}
			}
		}
	}
}

// plainLogistic is the score and the information of a logistic regression.
func plainLogistic(x [][]float64, y []bool, b []float64) ([]float64, [][]float64) {
	score, information := make([]float64, len(b)), newMatrix(len(b), len(b))
	for i, row := range x {
		z := append([]float64{1}, row...)
		p := 1 / (1 + math.Exp(-dot(z, b)))
		d := -p
		if y[i] {
			d = 1 - p
		}
		for j := range z {
			score[j] += d * z[j]
			for k := range z {
				information[j][k] += p * (1 - p) * z[j] * z[k]
			}
		}
	}
	return score, information
}

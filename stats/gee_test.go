package stats

import (
	"errors"
	"math"
	"testing"

	"heelcohort/stats/internal/published"
)

func TestGEEPublished(t *testing.T) {
	want := published.Load(t, "koch-1977")
	severity, drug, pattern, patients := want.Text("severity"), want.Text("drug"), want.Text("pattern"), want.Ints("patients")
	var x [][]float64
	var y []float64
	var patient []int
	id := 0
	flag := func(yes bool) float64 {
		if yes {
			return 1
		}
		return 0
	}
	for i, n := range patients {
		for range n {
			id++
			for visit, response := range pattern[i] {
				severe, fresh, time := flag(severity[i] == "severe"), flag(drug[i] == "new"), float64(visit)
				x = append(x, []float64{severe, fresh, time, fresh * time})
				y, patient = append(y, flag(response == 'N')), append(patient, id)
			}
		}
	}
	f, err := FitGEE(x, []string{"severe", "new", "time", "new by time"}, y, nil, GEEOptions{Family: GEEBinomial, Correlation: Independence, Cluster: patient})
	must(t, err)
	for j, term := range f.Terms {
		want.Check(term, f.Coefficients[j])
		if j > 0 {
			want.Check("SE of "+term, f.SE[j])
		}
	}
	if f.Clusters != 340 || f.Largest != 3 || f.N != 1020 {
		t.Errorf("%d clusters of up to %d, %d rows", f.Clusters, f.Largest, f.N)
	}
}

// By hand, without covariates: four children with two heels, of the pairs of
// outcomes 11, 10, 00, 00. The mean is 3/8, φ = 8 (15/64)/(15/64)/7 = 8/7, and
// the products of residuals are (25 − 15 + 9 + 9)/64 over the variance 15/64:
// 28/15, so that α = 28/15 / (8/7 (4−1)) = 49/90.
func TestGEEByHand(t *testing.T) {
	y := []float64{1, 1, 1, 0, 0, 0, 0, 0}
	x := make([][]float64, len(y))
	f, err := FitGEE(x, nil, y, nil, GEEOptions{Family: GEEBinomial, Cluster: []int{1, 1, 2, 2, 3, 3, 4, 4}})
	must(t, err)
	if !near(f.Coefficients[0], math.Log(3.0/5), 1e-10) || !near(f.Dispersion, 8.0/7, 1e-10) || !near(f.Correlation, 49.0/90, 1e-10) {
		t.Errorf("intercept %v, dispersion %v, correlation %v", f.Coefficients[0], f.Dispersion, f.Correlation)
	}
	// Robust: Σ (residuals of a child)²/(8 · 15/64)².
	if want := math.Sqrt((25.0/16 + 1.0/16 + 9.0/16 + 9.0/16) / (15.0 / 8 * 15.0 / 8)); !near(f.SE[0], want, 1e-10) {
		t.Errorf("SE %v, want %v", f.SE[0], want)
	}
}

// Under independence the estimates are those of the models for independent rows
// and the robust errors CR0; single rows have no correlation to estimate.
func TestGEEIndependence(t *testing.T) {
	x := [][]float64{{0}, {1}, {0}, {1}, {1}, {0}, {1}, {0}, {1}, {0}}
	y := []float64{0, 1, 1, 1, 0, 0, 1, 1, 1, 0}
	cluster := []int{1, 1, 2, 2, 3, 3, 4, 4, 5, 5}
	f, err := FitGEE(x, []string{"x"}, y, nil, GEEOptions{Family: GEEBinomial, Correlation: Independence, Cluster: cluster})
	must(t, err)
	yes := make([]bool, len(y))
	for i := range y {
		yes[i] = y[i] == 1
	}
	plain, err := FitLogistic(x, []string{"x"}, yes, GLMOptions{Cluster: cluster, Robust: CR0})
	must(t, err)
	for j := range f.Coefficients {
		if !near(f.Coefficients[j], plain.Coefficients[j], 1e-9) || !near(f.SE[j], plain.SE[j], 1e-9) {
			t.Errorf("coefficient %d: %v (%v), want %v (%v)", j, f.Coefficients[j], f.SE[j], plain.Coefficients[j], plain.SE[j])
		}
	}
	single := []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}
	if _, err := FitGEE(x, []string{"x"}, y, nil, GEEOptions{Family: GEEBinomial, Cluster: single}); !errors.Is(err, ErrTooFewRows) {
		t.Errorf("single rows: %v", err)
	}
}

func TestGEERefuses(t *testing.T) {
	x := [][]float64{{0}, {0}, {0}, {1}, {1}, {1}, {0}, {1}}
	for _, c := range []struct {
		name    string
		y       []float64
		cluster []int
		want    error
	}{
		{"separation", []float64{0, 0, 0, 1, 1, 1, 0, 1}, []int{1, 1, 2, 2, 3, 3, 4, 4}, ErrSeparation},
		{"no events", make([]float64, 8), []int{1, 1, 2, 2, 3, 3, 4, 4}, ErrNoEvents},
		{"one cluster", []float64{0, 1, 0, 1, 0, 1, 0, 1}, []int{1, 1, 1, 1, 1, 1, 1, 1}, ErrTooFewClusters},
		{"two clusters", []float64{0, 1, 0, 1, 0, 1, 0, 1}, []int{1, 1, 1, 1, 2, 2, 2, 2}, ErrTooFewClusters},
	} {
		if _, err := FitGEE(x, []string{"x"}, c.y, nil, GEEOptions{Family: GEEBinomial, Cluster: c.cluster}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	if _, err := FitGEE(nil, nil, nil, nil, GEEOptions{Family: GEEGaussian}); !errors.Is(err, ErrNoData) {
		t.Errorf("nothing: %v", err)
	}
}

// Numbers that the covariates give exactly have no residuals to make errors of,
// however large the numbers are.
func TestGEEExactFit(t *testing.T) {
	for _, shift := range []float64{0, 1e6} {
		var x [][]float64
		var y []float64
		var cluster []int
		for i := range 40 {
			z := float64(i*7%13) + 0.1
			x, y, cluster = append(x, []float64{z, float64(i % 2)}), append(y, shift+0.3*z-float64(i%2)/3), append(cluster, i/2)
		}
		for _, working := range []WorkingCorrelation{Independence, Exchangeable} {
			opts := GEEOptions{Family: GEEGaussian, Correlation: working, Cluster: cluster}
			if _, err := FitGEE(x, []string{"z", "odd"}, y, nil, opts); !errors.Is(err, ErrNoVariance) {
				t.Errorf("%s, %v: %v", working, shift, err)
			}
			y[3] += 0.01
			if _, err := FitGEE(x, []string{"z", "odd"}, y, nil, opts); err != nil {
				t.Errorf("%s, %v: %v", working, shift, err)
			}
			y[3] -= 0.01
		}
	}
}

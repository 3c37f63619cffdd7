package stats

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A geeCase is what gee.py reads.
type geeCase struct {
	Family  GEEFamily   `json:"family"`
	X       [][]float64 `json:"x"`
	Y       []float64   `json:"y"`
	Time    []float64   `json:"time"`
	Cluster []int       `json:"cluster"`
}

// randomGEE draws clusters of 1 to 4 rows with something in common.
func randomGEE(r *rand.Rand, family GEEFamily) geeCase {
	c := geeCase{Family: family}
	for k := range 15 + r.IntN(25) {
		own := 0.7 * r.NormFloat64()
		group := float64(r.IntN(2))
		for range 1 + r.IntN(4) {
			z := r.NormFloat64()
			eta := -0.3 + 0.4*group + 0.3*z + own
			y := 0.0
			time := 0.5 + r.Float64()
			switch family {
			case GEEBinomial:
				if r.Float64() < 1/(1+math.Exp(-eta)) {
					y = 1
				}
			case GEEPoisson:
				y = float64(randomPoisson(r, time*math.Exp(eta)))
			default:
				y = eta + r.NormFloat64()
			}
			c.X, c.Y, c.Time, c.Cluster = append(c.X, []float64{group, z}), append(c.Y, y), append(c.Time, time), append(c.Cluster, k)
		}
	}
	return c
}

type geeAnswer struct {
	Coefficients           []float64
	Robust, Model, Reduced [][]float64
	Scale, Alpha           float64
}

type geeOutput struct {
	Version string
	Cases   []struct{ Independence, Exchangeable *geeAnswer }
}

func TestGEEAgainstStoredStatsmodels(t *testing.T) {
	var cases []geeCase
	var out geeOutput
	storedCrosscheck(t, "gee", &cases, &out)
	compareGEE(t, cases, out)
}

// TestGEEAgainstStatsmodels compares with statsmodels on 500 random data sets.
func TestGEEAgainstStatsmodels(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(19, 86))
	var cases []geeCase
	for i := range 500 {
		cases = append(cases, randomGEE(r, []GEEFamily{GEEBinomial, GEEPoisson, GEEGaussian}[i%3]))
	}
	var out geeOutput
	crosscheck(t, "gee.py", cases, &out)
	compareGEE(t, cases, out)
}

// Iterative on both sides: 1e-6.
func compareGEE(t *testing.T, cases []geeCase, out geeOutput) {
	t.Helper()
	if len(out.Cases) != len(cases) || len(cases) == 0 {
		t.Fatalf("%d answers for %d cases", len(out.Cases), len(cases))
	}
	const close = 1e-6
	compared, refused := 0, 0
	for i, c := range cases {
		for working, want := range map[WorkingCorrelation]*geeAnswer{Independence: out.Cases[i].Independence, Exchangeable: out.Cases[i].Exchangeable} {
			opts := GEEOptions{Family: c.Family, Correlation: working, Cluster: c.Cluster}
			var time []float64
			if c.Family == GEEPoisson {
				time = c.Time
			}
			got, err := FitGEE(c.X, []string{"group", "z"}, c.Y, time, opts)
			if err != nil || want == nil {
				refused++
				if (err == nil) != (want != nil) {
					t.Logf("case %d, %s: %v; there %v", i+1, working, err, want != nil)
				}
				continue
			}
			compared++
			opts.BiasReduced = true
			reduced, err := FitGEE(c.X, []string{"group", "z"}, c.Y, time, opts)
			must(t, err)
			pairs := [][2]float64{{got.Dispersion, want.Scale}, {got.Correlation, want.Alpha}}
			for j := range got.Coefficients {
				pairs = append(pairs, [2]float64{got.Coefficients[j], want.Coefficients[j]}, [2]float64{got.ModelSE[j], math.Sqrt(want.Model[j][j])})
				for k := range got.Coefficients {
					pairs = append(pairs, [2]float64{got.Covariance[j][k], want.Robust[j][k]})
					if want.Reduced != nil {
						pairs = append(pairs, [2]float64{reduced.Covariance[j][k], want.Reduced[j][k]})
					}
				}
			}
			for k, p := range pairs {
				if !near(p[0], p[1], close) {
					t.Errorf("case %d, %s, %s, quantity %d: got %v, want %v", i+1, c.Family, working, k, p[0], p[1])
					break
				}
			}
		}
	}
	t.Logf("%s: %d fits compared, %d refused", out.Version, compared, refused)
	if refused*20 > compared {
		t.Errorf("%d fits compared, %d refused", compared, refused)
	}
}

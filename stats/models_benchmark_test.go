package stats

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

func fraction(x float64) float64 { return x - math.Floor(x) }

// BenchmarkLogistic is logistic regression of a million rows on ten columns,
// here and in base R.
func BenchmarkLogistic(b *testing.B) {
	const n = 1_000_000
	x, y := newMatrix(n, 10), make([]bool, n)
	terms := make([]string, 10)
	for i := range n {
		eta := -1.0
		for j := range terms {
			x[i][j] = fraction(float64(i+1)*math.Sqrt(float64(4*j+6))) - 0.5
			eta += 0.5 * x[i][j]
		}
		y[i] = fraction(float64(i+1)*0.7548776662466927) < 1/(1+math.Exp(-eta))
	}
	for j := range terms {
		terms[j] = strconv.Itoa(j)
	}
	b.Run("heelcohort", func(b *testing.B) {
		for b.Loop() {
			f, err := FitLogistic(x, terms, y, GLMOptions{})
			must(b, err)
			b.ReportMetric(f.Coefficients[1], "coefficient")
		}
	})
	b.Run("R", func(b *testing.B) { timedElsewhere(b, "Rscript", "benchmark_models.R", n) })
}

// BenchmarkGEE is a marginal logistic model of 100,000 clusters of one to four
// rows on five columns, here and in statsmodels.
func BenchmarkGEE(b *testing.B) {
	const clusters = 100_000
	var x [][]float64
	var y []float64
	var cluster []int
	for c := 1; c <= clusters; c++ {
		own := fraction(float64(c)*math.Sqrt(7)) - 0.5
		for range 1 + c%4 {
			i := float64(len(y) + 1)
			row, eta := make([]float64, 5), -1+2*own
			for j := range row {
				row[j] = fraction(i*math.Sqrt(float64(4*j+6))) - 0.5
				eta += 0.5 * row[j]
			}
			had := 0.0
			if fraction(i*0.7548776662466927) < 1/(1+math.Exp(-eta)) {
				had = 1
			}
			x, y, cluster = append(x, row), append(y, had), append(cluster, c)
		}
	}
	terms := []string{"a", "b", "c", "d", "e"}
	b.Run("heelcohort", func(b *testing.B) {
		for b.Loop() {
			f, err := FitGEE(x, terms, y, nil, GEEOptions{Family: GEEBinomial, Cluster: cluster})
			must(b, err)
			b.ReportMetric(f.Coefficients[1], "coefficient")
		}
	})
	b.Run("statsmodels", func(b *testing.B) {
		python := "/usr/bin/python3"
		if _, err := os.Stat(python); err != nil {
			python = "python3"
		}
		timedElsewhere(b, python, "benchmark_gee.py", clusters)
	})
}

// timedElsewhere reports what a script says it took, once, whatever b.N, and the
// coefficient that it found.
func timedElsewhere(b *testing.B, program, script string, size int) {
	path, err := exec.LookPath(program)
	if err != nil {
		b.Skipf("%s is not installed", program)
	}
	out, err := exec.Command(path, filepath.Join("testdata", "crosscheck", script), strconv.Itoa(size)).Output()
	if err != nil {
		b.Skipf("%s: %v", script, err)
	}
	said := strings.Fields(string(out))
	seconds, err := strconv.ParseFloat(said[0], 64)
	if err != nil {
		b.Fatal(err)
	}
	coefficient, err := strconv.ParseFloat(said[1], 64)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(seconds*1e9, "ns/op")
	b.ReportMetric(coefficient, "coefficient")
}

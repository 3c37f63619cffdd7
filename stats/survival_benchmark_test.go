package stats

import (
	"encoding/json"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// benchmarkRows makes rows with late entry on whole days, so that many are
// tied, and covariates of which the first bear on the hazard.
func benchmarkRows(n, p int) (Times, [][]float64) {
	r := rand.New(rand.NewPCG(11, 13))
	rows := Times{Entry: make([]float64, n), Exit: make([]float64, n), Status: make([]bool, n)}
	x := newMatrix(n, p)
	for i := range n {
		hazard := 1.0
		for j := range p {
			x[i][j] = float64(r.IntN(5)) / 2
			hazard += x[i][j] / float64(1+j)
		}
		rows.Entry[i] = float64(r.IntN(60))
		rows.Exit[i] = rows.Entry[i] + 1 + float64(int(400*r.ExpFloat64()/hazard))
		rows.Status[i] = r.IntN(4) > 0
	}
	return rows, x
}

// BenchmarkKaplanMeier is a curve of 100,000 rows, here and in R.
func BenchmarkKaplanMeier(b *testing.B) {
	rows, _ := benchmarkRows(100_000, 1)
	b.Run("heelcohort", func(b *testing.B) {
		for b.Loop() {
			mustCurve(b, rows, CurveOptions{})
		}
	})
	b.Run("R", func(b *testing.B) { benchmarkInR(b, "curve", rows, nil) })
}

// BenchmarkFitCox is a model of 5,000 rows and 6 columns, here and in R.
func BenchmarkFitCox(b *testing.B) {
	rows, x := benchmarkRows(5_000, 6)
	terms := []string{"a", "b", "c", "d", "e", "f"}
	b.Run("heelcohort", func(b *testing.B) {
		for b.Loop() {
			mustCox(b, rows, x, terms, CoxOptions{})
		}
	})
	b.Run("R", func(b *testing.B) { benchmarkInR(b, "cox", rows, x) })
}

// benchmarkInR lets R time the same job on the same rows, without the time to
// start and to read them.
func benchmarkInR(b *testing.B, job string, rows Times, x [][]float64) {
	program, err := exec.LookPath("Rscript")
	if err != nil {
		b.Skip("Rscript is not installed")
	}
	input, err := json.Marshal(map[string]any{
		"job": job, "entry": rows.Entry, "exit": rows.Exit, "status": rows.Status, "x": x,
	})
	if err != nil {
		b.Fatal(err)
	}
	cmd := exec.Command(program, filepath.Join("testdata", "crosscheck", "benchmark.R"), strconv.Itoa(b.N))
	cmd.Stdin = strings.NewReader(string(input))
	out, err := cmd.Output()
	if err != nil {
		b.Skipf("Rscript: %v", err)
	}
	seconds, err := strconv.ParseFloat(strings.TrimSpace(string(out)), 64)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(seconds*1e9/float64(b.N), "ns/op")
}

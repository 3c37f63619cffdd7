package instrument

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"testing"
)

var updateGrowth = flag.Bool("update-growth", false, "write the input of testdata/crosscheck/growth.py anew")

const (
	growthScript = "testdata/crosscheck/growth.py"
	growthInput  = "testdata/crosscheck/growth_input.json"
	growthOutput = "testdata/crosscheck/growth_output.json"
)

// randomChildren are children of every age of the table, and body mass indices
// far into both tails.
func randomChildren(n int, seed uint64) [][6]float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	children := make([][6]float64, n)
	for i := range children {
		height := 90 + 100*r.Float64()
		children[i] = [6]float64{
			float64(i % 2), 24 + 216.5*r.Float64(), 9 * math.Exp(1.9*r.Float64()),
			height, height * (0.46 + 0.14*r.Float64()), 12 + 90*r.Float64(),
		}
	}
	return children
}

func compareGrowth(t *testing.T, children [][6]float64, want [][7]float64) {
	t.Helper()
	if len(children) != len(want) || len(want) < 500 {
		t.Fatalf("%d children, %d results, want at least 500", len(children), len(want))
	}
	names := []string{"plain", "who", "cdc", "percentile", "mirwald", "moore", "moore with sitting height"}
	tails := 0
	for i, c := range children {
		sex := Sex(c[0])
		child := Child{sex, c[1] / 12, c[3], c[4], c[5]}
		var got [7]float64
		var errs [7]error
		for k, kind := range []Tails{PlainTails, WHOTails, CDCTails} {
			got[k], errs[k] = BMICDC2000().Z(sex, c[1], c[2], kind)
		}
		got[3] = Percentile(got[0])
		for k, e := range []MaturityEquation{Mirwald, Moore, MooreSitting} {
			got[4+k], errs[4+k] = MaturityOffset(e, child)
		}
		if math.Abs(got[0]) > 3 {
			tails++
		}
		for k := range got {
			if errs[k] != nil || !(math.Abs(got[k]-want[i][k]) <= 1e-8*math.Max(1, math.Abs(want[i][k]))) {
				t.Errorf("child %v, %s: %v, %v, want %v", c, names[k], got[k], errs[k], want[i][k])
			}
		}
	}
	if tails < len(children)/20 {
		t.Errorf("%d of %d children are in a tail", tails, len(children))
	}
}

// TestGrowthAgainstStored compares with the stored output of growth.py.
func TestGrowthAgainstStored(t *testing.T) {
	if *updateGrowth {
		data, err := json.Marshal(randomChildren(600, 20021))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(growthInput, append(data, '\n'), 0o644); err != nil {
			t.Fatal(err)
		}
		t.Skip("input written; run growth.py on it")
	}
	var children [][6]float64
	var want [][7]float64
	for name, into := range map[string]any{growthInput: &children, growthOutput: &want} {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(data, into); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
	}
	compareGrowth(t, children, want)
}

// TestGrowthAgainstSciPy compares with SciPy and exact fractions on fresh data.
func TestGrowthAgainstSciPy(t *testing.T) {
	if os.Getenv("HEELCOHORT_CROSSCHECK") != "1" {
		t.Skipf("not compared with another program: set HEELCOHORT_CROSSCHECK=1 to run %s", growthScript)
	}
	children := randomChildren(2000, 20022)
	input, err := json.Marshal(children)
	if err != nil {
		t.Fatal(err)
	}
	python := "/usr/bin/python3" // where the distribution's SciPy is importable
	if _, err := os.Stat(python); err != nil {
		python = "python3"
	}
	var out, trouble bytes.Buffer
	cmd := exec.Command(python, growthScript)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(input), &out, &trouble
	if err := cmd.Run(); err != nil {
		t.Fatalf("%v\n%s", err, trouble.String())
	}
	var want [][7]float64
	if err := json.Unmarshal(out.Bytes(), &want); err != nil {
		t.Fatal(err)
	}
	compareGrowth(t, children, want)
}

package stats

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// crosscheckEnv switches on the comparisons with other statistics programs.
const crosscheckEnv = "HEELCOHORT_CROSSCHECK"

// crosscheck runs testdata/crosscheck/SCRIPT with input as JSON on its
// standard input, and reads its standard output as JSON into output: Rscript
// for .R, Python 3 for .py. It skips, saying what is missing, unless
// HEELCOHORT_CROSSCHECK=1 is set and the interpreter is there.
func crosscheck(t *testing.T, script string, input, output any) {
	t.Helper()
	if os.Getenv(crosscheckEnv) != "1" {
		t.Skipf("not compared with another program: set %s=1 to run %s", crosscheckEnv, script)
	}
	program := interpreter(t, script)
	in, err := json.Marshal(input)
	if err != nil {
		t.Fatal(err)
	}
	var out, trouble bytes.Buffer
	cmd := exec.Command(program, filepath.Join("testdata", "crosscheck", script))
	cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(in), &out, &trouble
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s: %v\n%s", script, err, trouble.String())
	}
	if err := json.Unmarshal(out.Bytes(), output); err != nil {
		t.Fatalf("%s: its output is not the JSON expected: %v\n%.500s", script, err, out.String())
	}
}

// storedCrosscheck reads testdata/crosscheck/NAME_input.json and the output
// that the script of that name made of it, stored beside it.
func storedCrosscheck(t *testing.T, name string, input, output any) {
	t.Helper()
	for _, file := range []struct {
		end  string
		into any
	}{{"_input.json", input}, {"_output.json", output}} {
		b, err := os.ReadFile(filepath.Join("testdata", "crosscheck", name+file.end))
		if err != nil {
			t.Fatal(err)
		}
		if err := json.Unmarshal(b, file.into); err != nil {
			t.Fatalf("%s%s: %v", name, file.end, err)
		}
	}
}

func interpreter(t *testing.T, script string) string {
	t.Helper()
	name := "Rscript"
	if strings.HasSuffix(script, ".py") {
		const packaged = "/usr/bin/python3" // where the distribution's SciPy is importable
		if _, err := os.Stat(packaged); err == nil {
			return packaged
		}
		name = "python3"
	}
	path, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("not compared with another program: %s needs %s, which is not installed", script, name)
	}
	return path
}

// A number is a float64 that may be NaN or infinite in JSON: "NaN", "Inf" and
// "-Inf" as strings. A null is NaN.
type number float64

func (x *number) UnmarshalJSON(b []byte) error {
	switch s := strings.Trim(string(b), `"`); s {
	case "null", "NaN", "NA", "nan":
		*x = number(math.NaN())
	case "Inf", "Infinity", "inf":
		*x = number(math.Inf(1))
	case "-Inf", "-Infinity", "-inf":
		*x = number(math.Inf(-1))
	default:
		return json.Unmarshal([]byte(s), (*float64)(x))
	}
	return nil
}

// near reports whether two numbers agree to a relative tolerance (absolute
// below 1). NaN agrees with NaN, and an infinity with itself.
func near(got, want, tolerance float64) bool {
	if math.IsNaN(want) || math.IsNaN(got) {
		return math.IsNaN(want) && math.IsNaN(got)
	}
	if math.IsInf(want, 0) || math.IsInf(got, 0) {
		return got == want
	}
	return math.Abs(got-want) <= tolerance*math.Max(1, math.Abs(want))
}

// nearRelative is near with a tolerance that stays relative below 1, for
// small probabilities.
func nearRelative(got, want, tolerance float64) bool {
	if got == want {
		return true
	}
	return math.Abs(got-want) <= tolerance*math.Abs(want)
}

func TestNearFails(t *testing.T) {
	if near(1.001, 1, 1e-6) || near(math.NaN(), 1, 1) || near(math.Inf(1), 1, 1) || nearRelative(2e-20, 1e-20, 1e-6) {
		t.Error("a comparison that should fail passed")
	}
}

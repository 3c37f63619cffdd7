package instrument

import (
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
)

// The table against the percentiles that its file gives beside the parameters:
// the 5th and the 95th of every age. The parameters of 24 and 240 months have a
// digit less than the others, hence two tolerances.
func TestTableAgainstItsPercentiles(t *testing.T) {
	lines, err := csv.NewReader(strings.NewReader(bmiCDC2000)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(lines) != 1+2*219 {
		t.Fatalf("%d lines, want a head and 219 ages of either sex", len(lines))
	}
	for i, line := range lines[1:] {
		var x [7]float64
		for k, text := range line {
			if x[k], err = strconv.ParseFloat(text, 64); err != nil {
				t.Fatal(err)
			}
		}
		// 24, then the middle of every month, then 240 and 240.5.
		k := i % 219
		age := 23.5 + float64(k)
		switch k {
		case 0:
			age = 24
		case 217:
			age = 240
		case 218:
			age = 240.5
		}
		if x[0] != float64(1+i/219) || x[1] != age {
			t.Fatalf("line %d is of sex %v and age %v, want age %v", i+2, x[0], x[1], age)
		}
		p, err := BMICDC2000().At(Sex(x[0]-1), x[1])
		if err != nil {
			t.Fatal(err)
		}
		tolerance := 2e-8
		if age == 24 || age == 240 {
			tolerance = 2e-7
		}
		for _, c := range []struct{ z, want float64 }{{-z95, x[5]}, {z95, x[6]}} {
			if got := p.Value(c.z); math.Abs(got-c.want) > tolerance {
				t.Errorf("line %d at %v: %v, want %v", i+2, c.z, got, c.want)
			}
		}
	}
}

// The two printed rows of testdata/published/kuczmarski-2002, retyped from
// other copies of the file.
func TestPrintedPercentiles(t *testing.T) {
	f, err := os.Open("../../testdata/published/kuczmarski-2002/want.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil || len(lines) != 15 {
		t.Fatalf("%d lines, %v", len(lines), err)
	}
	// Quantiles of the standard normal distribution, from a table.
	quantile := map[string]float64{
		"P3": -1.880793608151251, "P5": -1.6448536269514722, "P10": -1.2815515655446004, "P25": -0.6744897501960817, "P50": 0,
		"P75": 0.6744897501960817, "P85": 1.0364333894937898, "P90": 1.2815515655446004, "P95": 1.6448536269514722, "P97": 1.880793608151251,
	}
	for _, line := range lines[1:] {
		part := strings.Split(line[0], "_")
		sex := map[string]Sex{"boys": Boy, "girls": Girl}[part[0]]
		months, _ := strconv.ParseFloat(part[1], 64)
		want, _ := strconv.ParseFloat(line[1], 64)
		tolerance, _ := strconv.ParseFloat(line[2], 64)
		p, err := BMICDC2000().At(sex, months)
		if err != nil {
			t.Fatal(err)
		}
		z := quantile[part[2]]
		if got := p.Value(z); !(math.Abs(got-want) <= tolerance) {
			t.Errorf("%s: %v, want %v", line[0], got, want)
		}
		if got, err := p.Z(want); err != nil || math.Abs(got-z) > 1e-6 {
			t.Errorf("%s: z is %v, %v, want %v", line[0], got, err, z)
		}
	}
}

const small = `age_months,Sex,m,L,S,note
60,b,15,1,0.1,x
70,b,16,2,0.2,x
60,g,14,-1,0.1,x
72,g,15,-1,0.1,x
`

// Half way between two ages stands half way between their parameters; at an age
// stand its own; beyond the ages is nothing.
func TestReferenceAt(t *testing.T) {
	r, err := ReadReference(strings.NewReader(small), "b", "g")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		sex    Sex
		months float64
		want   LMS
	}{
		{Boy, 60, LMS{1, 15, 0.1}},
		{Boy, 70, LMS{2, 16, 0.2}},
		{Boy, 62.5, LMS{1.25, 15.25, 0.125}},
		{Girl, 66, LMS{-1, 14.5, 0.1}},
	} {
		got, err := r.At(c.sex, c.months)
		if err != nil || math.Abs(got.L-c.want.L)+math.Abs(got.M-c.want.M)+math.Abs(got.S-c.want.S) > 1e-14 {
			t.Errorf("%v at %v: %+v, %v, want %+v", c.sex, c.months, got, err, c.want)
		}
	}
	for _, months := range []float64{59.9, 70.1, math.NaN(), math.Inf(1)} {
		if got, err := r.At(Boy, months); !errors.Is(err, ErrOutsideReference) {
			t.Errorf("%v: %+v, %v, want ErrOutsideReference", months, got, err)
		}
	}
	if from, to := r.Ages(Girl); from != 60 || to != 72 {
		t.Errorf("%v to %v", from, to)
	}
}

func TestReadReferenceRefusals(t *testing.T) {
	for text, want := range map[string]string{
		"":                                           "head",
		"sex,age_months,L,M\n":                       "no column s",
		"sex,sex,age_months,L,M,S\n":                 "twice",
		"sex,age_months,L,M,S\n":                     "0 ages of boys",
		"sex,age_months,L,M,S\nx,1,1,1,1":            "line 2: sex",
		"sex,age_months,L,M,S\nb,1,1,1":              "wrong number of fields",
		"sex,age_months,L,M,S\nb,1,a,1,1":            `line 2: l is "a"`,
		"sex,age_months,L,M,S\nb,1,1,0,1":            "M is 0",
		"sex,age_months,L,M,S\nb,1,1,1,-1":           "S is -1",
		"sex,age_months,L,M,S\nb,1,1,1,NaN":          "expected a number",
		"sex,age_months,L,M,S\nb,2,1,1,1\nb,2,1,1,1": "expected ascending ages",
		"sex,age_months,L,M,S\nb,2,1,1,1\nb,3,1,1,1": "0 ages of girls",
	} {
		if _, err := ReadReference(strings.NewReader(text), "b", "g"); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

func FuzzReadReference(f *testing.F) {
	f.Add(small)
	f.Add("sex,age_months,L,M,S\nb,2,1,1,1\n")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := ReadReference(strings.NewReader(text), "b", "g")
		if (r == nil) == (err == nil) {
			t.Fatalf("%v, %v", r, err)
		}
		if err != nil {
			return
		}
		from, to := r.Ages(Boy)
		if p, err := r.At(Boy, from); err != nil || !(p.M > 0) {
			t.Fatalf("%+v, %v", p, err)
		}
		if _, err := r.At(Boy, to); err != nil {
			t.Fatal(err)
		}
	})
}

func ExampleReference_Z() {
	z, err := BMICDC2000().Z(Girl, 120.5, 16.86231366, CDCTails)
	fmt.Printf("%.3f %v\n", z, err)
	_, err = BMICDC2000().Z(Girl, 12, 16, CDCTails)
	fmt.Println(err)
	// Output:
	// 0.000 <nil>
	// outside the ages of the reference: 12 months, expected from 24 to 240.5
}

func ExamplePostureSum() {
	total, _ := PostureSum([]float64{1, 1, 0, 2, 1, 1})
	class, _ := PostureClass(total, AdultPosture())
	fmt.Println(total, class)
	// Output: 6 pronated
}

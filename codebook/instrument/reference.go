package instrument

import (
	_ "embed" // the tables are files of their own
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"sort"
	"strconv"
	"strings"
	"sync"
)

// A Reference is a table of LMS parameters by sex and age in months.
type Reference struct {
	months [2][]float64
	params [2][]LMS
}

// ReadReference reads a table in comma-separated values whose head names the
// columns sex, age_months, L, M and S in any order and whatever their case;
// other columns are left aside. boys and girls are the words for the sexes.
// Ages ascend within a sex; L is any number, M and S are above 0.
func ReadReference(r io.Reader, boys, girls string) (*Reference, error) {
	lines := csv.NewReader(r)
	head, err := lines.Read()
	if err != nil {
		return nil, fmt.Errorf("the head of the table: %w", err)
	}
	at := map[string]int{}
	for i, title := range head {
		title = strings.ToLower(strings.TrimSpace(strings.TrimPrefix(title, "\ufeff")))
		if _, twice := at[title]; twice {
			return nil, fmt.Errorf("the column %q stands twice", title)
		}
		at[title] = i
	}
	names := []string{"sex", "age_months", "l", "m", "s"}
	for _, name := range names {
		if _, there := at[name]; !there {
			return nil, fmt.Errorf("no column %s, expected sex, age_months, L, M, S", name)
		}
	}
	ref := &Reference{}
	for {
		cells, err := lines.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		line, _ := lines.FieldPos(0)
		var sex Sex
		switch word := strings.TrimSpace(cells[at["sex"]]); word {
		case boys:
			sex = Boy
		case girls:
			sex = Girl
		default:
			return nil, fmt.Errorf("line %d: sex is %q, expected %s or %s", line, word, boys, girls)
		}
		var x [4]float64
		for i, name := range names[1:] {
			text := strings.TrimSpace(cells[at[name]])
			if x[i], err = strconv.ParseFloat(text, 64); err != nil || math.IsNaN(x[i]) || math.IsInf(x[i], 0) {
				return nil, fmt.Errorf("line %d: %s is %q, expected a number", line, name, text)
			}
		}
		if x[2] <= 0 || x[3] <= 0 {
			return nil, fmt.Errorf("line %d: M is %v and S is %v, expected more than 0", line, x[2], x[3])
		}
		if k := len(ref.months[sex]); k > 0 && x[0] <= ref.months[sex][k-1] {
			return nil, fmt.Errorf("line %d: age %v follows %v in %v, expected ascending ages", line, x[0], ref.months[sex][k-1], sex)
		}
		ref.months[sex] = append(ref.months[sex], x[0])
		ref.params[sex] = append(ref.params[sex], LMS{x[1], x[2], x[3]})
	}
	for _, sex := range []Sex{Boy, Girl} {
		if len(ref.months[sex]) < 2 {
			return nil, fmt.Errorf("%d ages of %v, expected at least 2", len(ref.months[sex]), sex)
		}
	}
	return ref, nil
}

// Ages are the first and the last age of the table in months.
func (r *Reference) Ages(sex Sex) (from, to float64) {
	ages := r.months[sex]
	return ages[0], ages[len(ages)-1]
}

// At gives the parameters at an age in months. Between two ages of the table
// each parameter lies on the straight line between theirs; outside them it is
// ErrOutsideReference.
func (r *Reference) At(sex Sex, months float64) (LMS, error) {
	ages, params := r.months[sex], r.params[sex]
	from, to := r.Ages(sex)
	if !(months >= from && months <= to) {
		return LMS{}, fmt.Errorf("%w: %v months, expected from %v to %v", ErrOutsideReference, months, from, to)
	}
	i := sort.SearchFloat64s(ages, months)
	if ages[i] == months {
		return params[i], nil
	}
	a, b := params[i-1], params[i]
	share := (months - ages[i-1]) / (ages[i] - ages[i-1])
	between := func(x, y float64) float64 { return x + float64(share*(y-x)) }
	return LMS{between(a.L, b.L), between(a.M, b.M), between(a.S, b.S)}, nil
}

// Z is the z-score of a measure at an age in months, its tails made as said.
// Beyond ErrOutsideReference, a measure that is not above 0 is ErrIllegal. It
// panics for unknown tails.
func (r *Reference) Z(sex Sex, months, x float64, tails Tails) (float64, error) {
	p, err := r.At(sex, months)
	if err != nil {
		return 0, err
	}
	switch tails {
	case PlainTails:
		return p.Z(x)
	case WHOTails:
		return p.zWHO(x)
	case CDCTails:
		return p.zCDC(x, sex, months/12)
	}
	panic("instrument: no tails " + string(tails))
}

//go:embed bmi_cdc2000.csv
var bmiCDC2000 string

// BMICDC2000 is the reference of body mass index (kg/m2) for age, 24 to 240.5
// months, of the growth charts for the United States of 2000. The table is a
// work of the United States government and in the public domain.
//
// Reference: Kuczmarski RJ, Ogden CL, Guo SS, et al. 2000 CDC growth charts for
// the United States: methods and development. Vital Health Stat 11(246), 2002;
// data file of the National Center for Health Statistics.
var BMICDC2000 = sync.OnceValue(func() *Reference {
	r, err := ReadReference(strings.NewReader(bmiCDC2000), "1", "2")
	if err != nil {
		panic("instrument: bmi_cdc2000.csv: " + err.Error())
	}
	return r
})

package expression_test

import (
	"fmt"
	"slices"

	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// A table lists the variables of one table without links.
type table []expression.Variable

func (t table) Resolve(name, variable string) (expression.Variable, bool) {
	i := slices.IndexFunc(t, func(v expression.Variable) bool { return v.Table == name && v.Name == variable })
	if i < 0 {
		return expression.Variable{}, false
	}
	return t[i], true
}

func (t table) Names(string) []string {
	var names []string
	for _, v := range t {
		names = append(names, v.Name)
	}
	return names
}

func (t table) Tables() []string { return nil }

type row []value.Value

func (r row) Value(slot int) value.Value { return r[slot] }

var participants = table{
	{Name: "age_enrolled", Slot: 0, Kind: value.Number},
	{Name: "sex", Slot: 1, Kind: value.Text, Words: []string{"female", "male"}},
	{Name: "fpi_total", Slot: 2, Kind: value.Number},
}

func ExampleCompile() {
	p, err := expression.Compile("age_enrolled >= 6 and sex == 'female'", participants)
	if err != nil {
		fmt.Println(err)
		return
	}
	notMeasured := value.None(value.Number, "NM")
	fmt.Println(p.Kind())
	fmt.Println(p.Eval(row{value.Num(9.5), value.Str("female"), notMeasured}))
	fmt.Println(p.Eval(row{notMeasured, value.Str("female"), notMeasured}))
	fmt.Println(p.Eval(row{notMeasured, value.Str("male"), notMeasured}))
	// Output:
	// boolean
	// true
	// NM
	// false
}

func ExampleCompile_fault() {
	for _, source := range []string{"age_enroled >= 6", "sex == 'femal'", "sex == 1", "age_enrolled = 6"} {
		_, err := expression.Compile(source, participants)
		fmt.Println(err)
	}
	// Output:
	// 1:1: found age_enroled, expected a variable of this table (did you mean age_enrolled?)
	// 1:8: found "femal", expected a word that sex can hold: "female", "male" (did you mean female?)
	// 1:5: found sex (text) == 1 (number), expected the same kind on both sides; write a category in quotes: "1"
	// 1:14: found =, expected == to compare
}

func ExampleProgram_Words() {
	p, err := expression.Compile("coalesce(foot_posture_class(fpi_total, 'three'), 'not classed')", participants)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%q\n", p.Words())
	fmt.Println(p.Eval(row{value.Num(9.5), value.Str("female"), value.Num(7)}))
	fmt.Println(p.Eval(row{value.Num(9.5), value.Str("female"), value.Num(13)}))
	// Output:
	// ["supinated" "normal" "pronated" "not classed"]
	// pronated
	// not classed
}

func ExampleProgram_Variables() {
	p, err := expression.Compile("sex == 'male' ? age_enrolled : age_enrolled + 1", participants)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, v := range p.Variables() {
		fmt.Println(v.Name, v.Kind)
	}
	// Output:
	// sex text
	// age_enrolled number
}

func ExampleFunctions() {
	for _, f := range expression.Functions() {
		fmt.Println(f.Signature)
	}
	// Output:
	// abs(x)
	// band(x, b1, b2, ...)
	// between(x, low, high)
	// ceil(x)
	// coalesce(a, b, ...)
	// count_true(a, b, ...)
	// date("2024-05-01")
	// difference(a, b)
	// exp(x)
	// floor(x)
	// foot_posture_class(total, "three")
	// has(treatments, "orthosis")
	// is_missing(x)
	// log(x)
	// max(a, b, ...)
	// mean(a, b, ...)
	// min(a, b, ...)
	// missing_code(x)
	// round(x, digits)
	// sqrt(x)
	// sum(a, b, ...)
}

func ExampleBandLabels() {
	fmt.Printf("%q\n", expression.BandLabels([]float64{6, 8, 10.5}))
	// Output:
	// ["6 to <8" "8 to <10.5"]
}

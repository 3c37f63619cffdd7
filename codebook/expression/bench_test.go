package expression

import (
	"testing"

	"heelcohort/codebook/value"
)

// benchRows are rows of a child's age, sex and total, some missing.
func benchRows() []Row {
	rows := make([]Row, 1024)
	for i := range rows {
		r := make(values, len(child))
		r[0] = value.Num(float64(60+i%100) / 10)
		if i%17 == 0 {
			r[0] = value.None(value.Number, "NM")
		}
		r[3] = value.Str(child[3].Words[i%2])
		rows[i] = r
	}
	return rows
}

func benchmarkSource(b *testing.B, source string) {
	p, err := Compile(source, child)
	if err != nil {
		b.Fatal(err)
	}
	rows := benchRows()
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		p.Eval(rows[i%len(rows)])
	}
}

func BenchmarkCondition(b *testing.B) {
	benchmarkSource(b, "age >= 6 and age < 17 and sex == 'female'")
}
func BenchmarkChain(b *testing.B) { benchmarkSource(b, "6 <= age < 17") }
func BenchmarkBand(b *testing.B)  { benchmarkSource(b, "band(age, 6, 8, 10, 12, 14, 17)") }
func BenchmarkRound(b *testing.B) { benchmarkSource(b, "round(age / 3, 1)") }

// BenchmarkPlainGo is BenchmarkCondition written in Go.
func BenchmarkPlainGo(b *testing.B) {
	condition := func(row Row) value.Value {
		age, sex := row.Value(0), row.Value(3)
		switch {
		case !age.Missing && (age.Number < 6 || age.Number >= 17), !sex.Missing && sex.Text != "female":
			return value.Truth(false)
		case age.Missing:
			return value.None(value.Bool, age.Code)
		case sex.Missing:
			return value.None(value.Bool, sex.Code)
		}
		return value.Truth(true)
	}
	rows := benchRows()
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		condition(rows[i%len(rows)])
	}
}

func BenchmarkCompile(b *testing.B) {
	for b.Loop() {
		if _, err := Compile("age >= 6 and age < 17 and sex == 'female'", child); err != nil {
			b.Fatal(err)
		}
	}
}

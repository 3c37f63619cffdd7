package result

import (
	"math"
	"strconv"

	"pgregory.net/rapid"
)

// text draws texts with the signs that addresses, JSON and CSV treat apart.
func text() *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.StringOfN(rapid.RuneFrom([]rune("ab,/=:@% \"\n<>&öé–≤;\u2028")), 0, 8, -1),
		rapid.String(),
	)
}

// anyNumber draws any float64: present, absent and unbounded.
func anyNumber() *rapid.Generator[Number] {
	return rapid.OneOf(
		rapid.Map(rapid.Float64(), func(x float64) Number { return Number(x) }),
		rapid.Map(rapid.Uint64(), func(bits uint64) Number {
			if x := math.Float64frombits(bits); !math.IsNaN(x) {
				return Number(x)
			}
			return None()
		}),
		rapid.SampledFrom([]Number{
			None(), 0, 1, -1, 0.1, 1e21, 1e-6, 1e-7, math.MaxFloat64, math.SmallestNonzeroFloat64,
			Number(math.Inf(1)), Number(math.Inf(-1)),
		}),
	)
}

// amount draws a number of 0 or more, or an absent one.
func amount() *rapid.Generator[Number] {
	return rapid.OneOf(
		rapid.Map(rapid.Float64Range(0, 1e9), func(x float64) Number { return Number(x) }),
		rapid.Just(None()),
	)
}

// drawRow draws a row that can be sealed; i makes its address unique.
func drawRow(t *rapid.T, i int) Row {
	r := NewRow("a"+strconv.Itoa(i%2), "part "+strconv.Itoa(i), "m"+text().Draw(t, "measure"))
	for range rapid.IntRange(0, 3).Draw(t, "groups") {
		r.Groups = append(r.Groups, Group{text().Draw(t, "variable"), text().Draw(t, "level")})
	}
	r.Variable, r.Term, r.At = text().Draw(t, "variable"), text().Draw(t, "term"), anyNumber().Draw(t, "at")
	r.Estimate, r.Statistic = anyNumber().Draw(t, "estimate"), anyNumber().Draw(t, "statistic")
	a, b := anyNumber().Draw(t, "lower"), anyNumber().Draw(t, "upper")
	if a > b {
		a, b = b, a
	}
	r.Lower, r.Upper = a, b
	probability := rapid.SampledFrom([]Number{None(), 0.5, 0.95, 0.99, 1e-300})
	r.Level, r.P = probability.Draw(t, "level"), probability.Draw(t, "p")
	r.SE, r.DF, r.N = amount().Draw(t, "se"), amount().Draw(t, "df"), amount().Draw(t, "n")
	r.Events, r.Censored, r.PersonTime = amount().Draw(t, "events"), amount().Draw(t, "censored"), amount().Draw(t, "time")
	r.Unit, r.Method, r.Reason = text().Draw(t, "unit"), text().Draw(t, "method"), "why"+text().Draw(t, "reason")
	r.Warnings = rapid.SliceOfN(text(), 0, 2).Draw(t, "warnings")
	r.Line = rapid.IntRange(0, 500).Draw(t, "line")
	return r
}

// drawResults draws results that can be sealed.
func drawResults(t *rapid.T) *Results {
	s := func(name string) string { return text().Draw(t, name) }
	n := func(name string) int { return rapid.IntRange(0, 2).Draw(t, name) }
	settings := func() (out []Setting) {
		for range n("settings") {
			out = append(out, Setting{s("key"), s("value"), rapid.Bool().Draw(t, "written")})
		}
		return out
	}
	levels := func() (out []Level) {
		for range n("levels") {
			out = append(out, Level{s("value"), s("label")})
		}
		return out
	}
	res := &Results{
		Schema: SchemaID, Program: s("program"), Title: s("title"), Plan: s("plan"), Codebook: s("codebook"),
		Computed: rapid.Bool().Draw(t, "computed"), Settings: settings(), Caution: s("caution"),
	}
	for range n("findings") {
		res.Findings = append(res.Findings, Count{s("severity"), s("rule"), n("n"), s("first"), s("message")})
	}
	for range n("flow") {
		res.Flow = append(res.Flow, FlowStep{s("table"), s("step"), n("removed"), n("missing"), n("left")})
	}
	for range n("instruments") {
		one := Instrument{
			Table: s("table"), Variable: s("variable"), Name: s("name"), Line: n("line"), Methods: s("methods"), Rights: s("rights"),
			Settings: settings(), Values: n("values"), Warnings: rapid.SliceOfN(text(), 0, 2).Draw(t, "warnings"),
		}
		for range n("references") {
			one.References = append(one.References, Reference{s("key"), s("text")})
		}
		for range n("missing") {
			one.Missing = append(one.Missing, MissingCount{s("code"), n("n")})
		}
		res.Instruments = append(res.Instruments, one)
	}
	for i := range 2 {
		a := Analysis{
			ID: "a" + strconv.Itoa(i), Kind: s("kind"), Title: s("title"), Line: n("line"), Unit: s("unit"), Settings: settings(),
			Warnings: rapid.SliceOfN(text(), 0, 2).Draw(t, "warnings"), Methods: s("methods"),
			Figures: rapid.SliceOfN(text(), 0, 2).Draw(t, "figures"),
		}
		for range n("variables") {
			a.Variables = append(a.Variables, Variable{s("name"), s("label"), s("unit"), levels(), levels()})
		}
		for range n("accounting") {
			a.Accounting = append(a.Accounting, Removed{s("what"), s("reason"), anyNumber().Draw(t, "n")})
		}
		for range n("references") {
			a.References = append(a.References, Reference{s("key"), s("text")})
		}
		res.Analyses = append(res.Analyses, a)
	}
	for i := range rapid.IntRange(0, 4).Draw(t, "rows") {
		res.Rows = append(res.Rows, drawRow(t, i))
	}
	return res
}

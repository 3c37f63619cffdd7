package expression

import (
	"slices"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// CodeNotMissing marks the missing code of a value that is not missing.
const CodeNotMissing = "not missing"

// missingFunctions look at missing values, which all other functions hand on.
var missingFunctions = []function{
	{Function{"is_missing", "is_missing(x)", "Whether x, of any kind, is missing; never missing itself."}, 1, 1, buildIsMissing},
	{Function{"missing_code", "missing_code(x)", "The missing code of x as a text, empty for an empty cell. " +
		`Where x is not missing it is missing itself, with the code "` + CodeNotMissing + `".`}, 1, 1, buildMissingCode},
	{Function{"coalesce", "coalesce(a, b, ...)", "The first of values of one kind that is not missing; where all are, missing with the code of the first."}, 2, -1, buildCoalesce},
}

func buildIsMissing(c call) (term, error) {
	x := c.args[0]
	return term{kind: value.Bool, truth: func(row Row) (bool, gap) {
		return x.gap(row).missing, gap{}
	}}, nil
}

func buildMissingCode(c call) (term, error) {
	x := c.args[0]
	t := term{kind: value.Text, text: func(row Row) (string, gap) {
		g := x.gap(row)
		if !g.missing {
			return "", gap{CodeNotMissing, true}
		}
		return g.code, gap{}
	}}
	if x.codes != nil {
		t.coded = &x
	}
	return t, nil
}

func buildCoalesce(c call) (term, error) {
	if err := c.same(); err != nil {
		return term{}, err
	}
	t := term{kind: c.args[0].kind, words: c.args[0].words}
	for _, a := range c.args[1:] {
		t.words = union(t.words, a.words)
	}
	switch t.kind {
	case value.Text:
		t.text = firstOf(c.args, func(a term) textFunc { return a.text })
	case value.Bool:
		t.truth = firstOf(c.args, func(a term) truthFunc { return a.truth })
	default:
		t.number = firstOf(c.args, func(a term) numberFunc { return a.number })
	}
	return t, nil
}

// firstOf gives the first value that is there.
func firstOf[V any, F ~func(Row) (V, gap)](args []term, part func(term) F) F {
	list := make([]F, len(args))
	for i, a := range args {
		list[i] = part(a)
	}
	return func(row Row) (V, gap) {
		v, first := list[0](row)
		if !first.missing {
			return v, gap{}
		}
		for _, f := range list[1:] {
			if v, g := f(row); !g.missing {
				return v, gap{}
			}
		}
		return v, first
	}
}

// ownCodes are the codes that the program gives itself. CodeNotMissing is not
// among them, for missing_code is then missing and equal to nothing.
var ownCodes = []string{value.CodeFault, value.CodeUndefined, value.CodeNoRow, CodeOutsideBands, CodeWrongKind}

// possibleCode refuses a literal that is none of a variable's missing codes,
// which would be silently false on every row.
func (c *compiler) possibleCode(x, literal term) error {
	word := literal.literal.Text
	if slices.Contains(x.codes, word) || slices.Contains(ownCodes, word) {
		return nil
	}
	expected := "none is declared, so it is never missing"
	if len(x.codes) > 0 {
		expected = quoted(x.codes)
	}
	return c.fault(literal.at, "found %q, expected a missing code of %s: %s", word, x.name, expected).near(document.Nearest(word, x.codes))
}

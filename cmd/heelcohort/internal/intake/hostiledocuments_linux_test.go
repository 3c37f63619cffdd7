package intake

import (
	"fmt"
	"strings"
	"testing"
)

// bookWith is the base codebook with a text in place of another.
func bookWith(name, old, replacement string) maker {
	return textAs(name, func() string { return strings.Replace(baseBook, old, replacement, 1) })
}

// numbered joins n texts, each with its number.
func numbered(n int, format, between string) string {
	var b strings.Builder
	for i := range n {
		if i > 0 {
			b.WriteString(between)
		}
		fmt.Fprintf(&b, format, i)
	}
	return b.String()
}

// manyFields is a codebook of n fields.
func manyFields(n int, format, between string) string {
	return `{"resources": [{"name": "visits", "path": "a.csv", "schema": {"fields": [{"name": "pain", "type": "integer"}` + between +
		numbered(n, format, between) + `]}}]}`
}

// nests makes n levels of blocks, each indented by one more blank.
func nests(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

var hostileDocuments = map[string]maker{
	"documents/deep-lists.yaml":  textAs("deep-lists.yaml", func() string { return strings.Repeat("[", 3<<20) }),
	"documents/deep-maps.yaml":   textAs("deep-maps.yaml", func() string { return strings.Repeat("{a: ", 1<<20) }),
	"documents/deep-dashes.yaml": textAs("deep-dashes.yaml", func() string { return strings.Repeat("- ", 1<<20) }),
	"documents/deep-keys.yaml":   textAs("deep-keys.yaml", func() string { return strings.Repeat("a: ", 1<<20) }),
	"documents/deep-blocks.yaml": textAs("deep-blocks.yaml", func() string { return nests(2000) }),
	"documents/deep-lists.json":  textAs("deep-lists.json", func() string { return strings.Repeat("[", 4<<20) }),
	"documents/deep-closed.json": textAs("deep-closed.json", func() string { return strings.Repeat("[", 9000) + strings.Repeat("]", 9000) }),
	"documents/deep-quotes.yaml": textAs("deep-quotes.yaml", func() string { return strings.Repeat(`"a": `, 1<<19) }),
	"documents/large.yaml":       textAs("large.yaml", func() string { return strings.Repeat("# nothing\n", 2<<20) }),
	"documents/large-enough.yaml": textAs("large-enough.yaml", func() string {
		return strings.Repeat("# "+strings.Repeat("nothing ", 12)+"\n", 30_000) + strings.ReplaceAll(baseBook, "\t", " ")
	}),
	"documents/many-commas.yaml": textAs("many-commas.yaml", func() string { return "a: [" + strings.Repeat(",", 3<<20) + "]" }),
	"documents/many-items.yaml":  textAs("many-items.yaml", func() string { return "a: [" + strings.Repeat("1,", 3<<19) + "1]" }),
	"documents/many-items.json":  textAs("many-items.json", func() string { return `{"a": [` + strings.Repeat("1,", 3<<19) + "1]}" }),
	"documents/many-dashes.yaml": textAs("many-dashes.yaml", func() string { return "a:\n" + strings.Repeat("- 1\n", 800_000) }),
	"documents/many-keys.yaml":   textAs("many-keys.yaml", func() string { return numbered(200_000, "k%d: 1", "\n") }),
	"documents/many-keys.json":   textAs("many-keys.json", func() string { return "{" + numbered(200_000, `"k%d": 1`, ",") + "}" }),
	"documents/many-fields.json": textAs("many-fields.json", func() string { return manyFields(20_000, `{"name": "v%d", "type": "number"}`, ",") }),
	"documents/many-faults.json": textAs("many-faults.json", func() string { return manyFields(20_000, `{"name": "v%d", "type": "nmber", "x": 1}`, ",") }),
	"documents/many-fields.yaml": textAs("many-fields.yaml", func() string { return manyFields(3_000, ` {name: v%d, type: number}`, ",\n") }),
	"documents/one-line.yaml":    textAs("one-line.yaml", func() string { return manyFields(3_000, ` {name: v%d, type: number}`, ", ") }),
	"documents/many-categories.json": textAs("many-categories.json", func() string {
		return strings.Replace(baseBook, `"left", "right", "both"`, `"left", "right", "both", `+numbered(50_000, `"c%d"`, ","), 1)
	}),
	"documents/long-text.yaml":        textAs("long-text.yaml", func() string { return "title: " + strings.Repeat("a", 3<<20) }),
	"documents/long-quoted.yaml":      textAs("long-quoted.yaml", func() string { return `title: "` + strings.Repeat(`\u00e4`, 1<<19) + `"` }),
	"documents/long-folded.yaml":      textAs("long-folded.yaml", func() string { return "title: >\n" + strings.Repeat("  a\n", 800_000) }),
	"documents/long-plain-lines.yaml": textAs("long-plain-lines.yaml", func() string { return "title: a\n" + strings.Repeat("  a\n", 800_000) }),
	"documents/long-key.json":         textAs("long-key.json", func() string { return `{"` + strings.Repeat("a", 3<<20) + `": 1}` }),
	"documents/long-number.json":      textAs("long-number.json", func() string { return `{"resources": ` + strings.Repeat("9", 3<<20) + `}` }),
	"documents/many-quotes.yaml":      textAs("many-quotes.yaml", func() string { return "a: " + strings.Repeat("'", 3<<20) }),
	"documents/many-colons.yaml":      textAs("many-colons.yaml", func() string { return "a" + strings.Repeat(":", 3<<20) }),
	"documents/many-spaces.yaml":      textAs("many-spaces.yaml", func() string { return "a: 1" + strings.Repeat(" ", 3<<20) + "# b" }),
	"documents/many-comments.yaml":    textAs("many-comments.yaml", func() string { return strings.Repeat("a#\n  # b\n", 300_000) }),
	"documents/many-documents.yaml":   textAs("many-documents.yaml", func() string { return strings.Repeat("---\n", 700_000) }),
	"documents/many-anchors.yaml":     textAs("many-anchors.yaml", func() string { return strings.Repeat("&a ", 1<<20) }),
	"documents/many-bars.yaml":        textAs("many-bars.yaml", func() string { return strings.Repeat("a: |\n", 600_000) }),
	"documents/many-questions.yaml":   textAs("many-questions.yaml", func() string { return strings.Repeat("? ", 1<<20) }),
	"documents/random.yaml":           bytesAs("random.yaml", func(testing.TB) []byte { return random(100_000) }),

	"documents/pattern-nested.json":     bookWith("pattern-nested.json", "SM-[0-9]{4}", "(((a{100}){10}){10})"),
	"documents/pattern-refused.json":    bookWith("pattern-refused.json", "SM-[0-9]{4}", "(((a{1000}){1000}){1000})"),
	"documents/pattern-deep.json":       bookWith("pattern-deep.json", "SM-[0-9]{4}", strings.Repeat("(", 400)+"a"+strings.Repeat(")", 400)),
	"documents/pattern-long.json":       textAs("pattern-long.json", func() string { return strings.Replace(baseBook, "SM-[0-9]{4}", strings.Repeat("a|", 100_000)+"b", 1) }),
	"documents/pattern-empty-loop.json": bookWith("pattern-empty-loop.json", "SM-[0-9]{4}", "((((a*)*)*)*)*(a+)+SM-[0-9]{4}"),
	"documents/patterns-many.json": textAs("patterns-many.json", func() string {
		return manyFields(5_000, `{"name": "v%d", "type": "string", "constraints": {"pattern": "\\pL{900}"}}`, ",")
	}),
	"documents/expression-deep.json": textAs("expression-deep.json", func() string { return withRule(strings.Repeat("(", 5_000) + "pain > 0" + strings.Repeat(")", 5_000)) }),
	"documents/expression-long.json": textAs("expression-long.json", func() string { return withRule("pain > 0" + strings.Repeat(" or pain > 0", 100_000)) }),
	"documents/expression-nots.json": textAs("expression-nots.json", func() string { return withRule(strings.Repeat("not ", 2_000) + "pain > 0") }),
	"documents/rules-many.json": textAs("rules-many.json", func() string {
		return strings.Replace(baseBook, `"schema": {`, `"heelcohort": {"rules": [`+numbered(20_000, `{"name": "r%d", "check": "pain > 0", "message": "m"}`, ",")+`]}, "schema": {`, 1)
	}),
}

// withRule is the base codebook with a rule.
func withRule(check string) string {
	return strings.Replace(baseBook, `"schema": {`, `"heelcohort": {"rules": [{"name": "r", "check": "`+check+`", "message": "m"}]}, "schema": {`, 1)
}

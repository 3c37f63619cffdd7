package expression

import (
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"heelcohort/codebook/value"
)

// A tree is a random expression: an operator or function with its operands, a
// variable or a literal.
type tree struct {
	op     string
	kids   []*tree
	slot   int
	val    value.Value
	bounds []float64 // of band
}

// randomScope has two variables of each kind, the second of which is often
// missing.
var randomScope = study{
	{"", "x", 0, value.Number, nil},
	{"", "y", 1, value.Number, nil},
	{"", "sex", 2, value.Text, []string{"female", "male"}},
	{"", "sex_2", 3, value.Text, []string{"female", "male"}},
	{"", "p", 4, value.Bool, nil},
	{"", "q", 5, value.Bool, nil},
	{"visits", "day", 6, value.Date, nil},
	{"", "day", 7, value.Date, nil},
}

// forms lists the operators and functions that give each kind, with the kinds
// of their operands. Those after the bar look at missing values.
var forms = map[value.Kind][2][]string{
	value.Number: {
		{"+ N N", "- N N", "* N N", "/ N N", "% N N", "** N N", "neg N", "- D D", "? B N N", "min N N N", "max N N", "sum N N N", "mean N N N", "abs N", "floor N", "sqrt N", "count_true B B B", "difference D D"},
		{"coalesce N N"},
	},
	value.Text: {
		{"? B T T", "band N"},
		{"coalesce T T", "missing_code N", "missing_code B"},
	},
	value.Bool: {
		{"and B B", "or B B", "and B B", "or B B", "not B", "== N N", "!= N N", "< N N", "<= N N", "> N N", ">= N N", "== T T", "!= T T", "== B B", "!= B B", "< D D", ">= D D", "? B B B", "between N N N", "chain N N N", "in N", "in T"},
		{"is_missing N", "is_missing T", "is_missing B", "coalesce B B"},
	},
	value.Date: {
		{"? B D D", "+ D N", "- D N", "min D D"},
		{"coalesce D D"},
	},
}

var kindOf = map[string]value.Kind{"N": value.Number, "T": value.Text, "B": value.Bool, "D": value.Date}

// drawTree draws an expression of a kind; aware says whether it may look at
// missing values.
func drawTree(t *rapid.T, kind value.Kind, depth int, aware bool) *tree {
	if depth == 0 || rapid.IntRange(0, 4).Draw(t, "leaf") == 0 {
		return drawLeaf(t, kind)
	}
	list := forms[kind][0]
	if aware {
		list = append(append([]string(nil), list...), forms[kind][1]...)
	}
	form := strings.Fields(rapid.SampledFrom(list).Draw(t, "form"))
	n := &tree{op: form[0]}
	for i, k := range form[1:] {
		// "(a == b) == c" is refused, as "a == b == c" would be.
		kid := drawTree(t, kindOf[k], depth-1, aware)
		for (n.op == "==" || n.op == "!=") && k == "B" && i == 0 && (kid.op == "==" || kid.op == "!=") {
			kid = drawLeaf(t, value.Bool)
		}
		n.kids = append(n.kids, kid)
	}
	switch n.op {
	case "band":
		n.bounds = []float64{-2, 0, 1.5, 4}
	case "in":
		if form[1] == "T" {
			n.kids = append(n.kids, &tree{op: "literal", val: value.Str("female")})
		} else {
			n.kids = append(n.kids, &tree{op: "literal", val: value.Num(1)}, &tree{op: "literal", val: value.Num(2)})
		}
	}
	return n
}

func drawLeaf(t *rapid.T, kind value.Kind) *tree {
	if kind != value.Date && rapid.IntRange(0, 2).Draw(t, "literal") == 0 {
		return &tree{op: "literal", val: drawValue(t, kind)}
	}
	first := map[value.Kind]int{value.Number: 0, value.Text: 2, value.Bool: 4, value.Date: 6}[kind]
	return &tree{op: "variable", slot: first + rapid.IntRange(0, 1).Draw(t, "slot")}
}

func drawValue(t *rapid.T, kind value.Kind) value.Value {
	switch kind {
	case value.Number:
		return value.Num(rapid.SampledFrom([]float64{0, 0.5, 1, 1.5, 2, 3, 12, 1e200}).Draw(t, "number"))
	case value.Text:
		return value.Str(rapid.SampledFrom([]string{"female", "male"}).Draw(t, "text"))
	case value.Bool:
		return value.Truth(rapid.Bool().Draw(t, "truth"))
	}
	return value.Day(float64(rapid.IntRange(-3, 3).Draw(t, "day")))
}

// drawRow draws a row in which values are missing now and then.
func drawRow(t *rapid.T) values {
	row := make(values, len(randomScope))
	for i, v := range randomScope {
		row[i] = drawValue(t, v.Kind)
		if rapid.IntRange(0, 1+2*(1-i%2)).Draw(t, "missing") == 0 {
			row[i] = value.None(v.Kind, rapid.SampledFrom([]string{"", "NM", "DK"}).Draw(t, "code"))
		}
	}
	return row
}

// binding is how tightly an operator binds: an operand that binds less needs
// parentheses.
var binding = map[string]int{
	"?": 1, "or": 2, "and": 3, "==": 4, "!=": 4, "<": 4, "<=": 4, ">": 4, ">=": 4, "in": 4, "chain": 4,
	"+": 5, "-": 5, "*": 6, "/": 6, "%": 6, "not": 7, "neg": 8, "**": 9,
}

// write spells a tree with no more parentheses than the documented precedence
// asks for.
func write(n *tree) string {
	level, operator := binding[n.op]
	kid := func(i, least int) string {
		s := write(n.kids[i])
		if l, ok := binding[n.kids[i].op]; ok && l < least {
			return "(" + s + ")"
		}
		return s
	}
	switch {
	case n.op == "literal" && n.val.Kind == value.Text:
		return strconv.Quote(n.val.Text)
	case n.op == "literal":
		return n.val.String()
	case n.op == "variable":
		v := randomScope[n.slot]
		if v.Table != "" {
			return v.Table + "." + v.Name
		}
		return v.Name
	case n.op == "?":
		return kid(0, 2) + " ? " + kid(1, 1) + " : " + kid(2, 1)
	case n.op == "not":
		return "not " + kid(0, 7)
	case n.op == "neg":
		return "-" + kid(0, 8)
	case n.op == "**":
		// To the right; a sign may stand behind it.
		return kid(0, 10) + " ** " + kid(1, 8)
	case n.op == "chain":
		return kid(0, 5) + " <= " + kid(1, 5) + " < " + kid(2, 5)
	case n.op == "in":
		var items []string
		for i := range n.kids[1:] {
			items = append(items, write(n.kids[i+1]))
		}
		return kid(0, 5) + " in [" + strings.Join(items, ", ") + "]"
	case level == 4:
		return kid(0, 5) + " " + n.op + " " + kid(1, 5)
	case operator:
		return kid(0, level) + " " + n.op + " " + kid(1, level+1)
	}
	var args []string
	for i := range n.kids {
		args = append(args, write(n.kids[i]))
	}
	for _, b := range n.bounds {
		args = append(args, strconv.FormatFloat(b, 'g', -1, 64))
	}
	return n.op + "(" + strings.Join(args, ", ") + ")"
}

// compileTree compiles a tree, or skips one that is refused because a
// comparison of texts could never hold.
func compileTree(t *rapid.T, n *tree) *Program {
	source := write(n)
	p, err := Compile(source, randomScope)
	if err == nil {
		return p
	}
	for _, why := range []string{"can hold", "in common", "greater bound last"} {
		if strings.Contains(err.Error(), why) {
			return nil
		}
	}
	t.Fatalf("%s: %v", source, err)
	return nil
}

// The compiled closures against the plain evaluator of plain_test.go.
func TestAgainstPlainEvaluator(t *testing.T) {
	compared, missing := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]value.Kind{value.Bool, value.Number, value.Text, value.Date}).Draw(t, "kind")
		n := drawTree(t, kind, 5, true)
		p := compileTree(t, n)
		if p == nil {
			return
		}
		if p.Kind() != kind {
			t.Fatalf("%s: got kind %v, want %v", p.Source(), p.Kind(), kind)
		}
		for range 10 {
			row := drawRow(t)
			got, want := p.Eval(row), plain(n, row)
			if got != want {
				t.Fatalf("%s on %+v: got %+v, want %+v", p.Source(), row, got, want)
			}
			if got.Kind == value.Text && !got.Missing && p.Words() != nil && !contains(p.Words(), got.Text) {
				t.Fatalf("%s: got %q, which is not among the known texts %q", p.Source(), got.Text, p.Words())
			}
			compared++
			if got.Missing {
				missing++
			}
		}
	})
	if compared < 200 || missing == 0 || missing == compared {
		t.Errorf("compared %d results, of which %d missing: the random expressions say too little", compared, missing)
	}
}

// An answer that is given in spite of missing values holds whatever the
// missing values turn out to be.
func TestAnswersAreNeverTakenBack(t *testing.T) {
	decided := 0
	rapid.Check(t, func(t *rapid.T) {
		n := drawTree(t, value.Bool, 5, false)
		p := compileTree(t, n)
		if p == nil {
			return
		}
		for range 10 {
			row := drawRow(t)
			before := p.Eval(row)
			if before.Missing {
				continue
			}
			filled := make(values, len(row))
			filled2 := make(values, len(row))
			some := false
			for i, v := range row {
				filled[i], filled2[i] = v, v
				if v.Missing {
					some = true
					filled[i] = drawValue(t, v.Kind)
					if rapid.Bool().Draw(t, "fill") {
						filled2[i] = drawValue(t, v.Kind)
					}
				}
			}
			if some {
				decided++
			}
			for _, r := range []values{filled, filled2} {
				if after := p.Eval(r); after != before {
					t.Fatalf("%s: %+v on %+v, but %+v on %+v", p.Source(), before, row, after, r)
				}
			}
		}
	})
	if decided < 50 {
		t.Errorf("only %d answers in spite of missing values: the random expressions say too little", decided)
	}
}

func contains(list []string, s string) bool {
	for _, w := range list {
		if w == s {
			return true
		}
	}
	return false
}

package dataset

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"strconv"
	"strings"
	"testing"
)

// Every rule that this package and the codebook's name in a constant is
// explained, once, in whole sentences.
func TestRulesExplained(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range Rules() {
		if seen[r.Name] {
			t.Errorf("%q is explained twice", r.Name)
		}
		seen[r.Name] = true
		for _, s := range []string{r.Sentence, r.Ask} {
			if !strings.HasSuffix(s, ".") || s[:1] != strings.ToUpper(s[:1]) {
				t.Errorf("%q is explained by %q", r.Name, s)
			}
		}
	}
	constants := 0
	for _, dir := range []string{".", "../codebook"} {
		entries, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
				continue
			}
			file, err := parser.ParseFile(token.NewFileSet(), dir+"/"+e.Name(), nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			ast.Inspect(file, func(n ast.Node) bool {
				v, ok := n.(*ast.ValueSpec)
				if !ok || !strings.HasPrefix(v.Names[0].Name, "Rule") || len(v.Values) != 1 {
					return true
				}
				if l, ok := v.Values[0].(*ast.BasicLit); ok {
					name, _ := strconv.Unquote(l.Value)
					constants++
					if !seen[name] {
						t.Errorf("rule %q is not explained", name)
					}
				}
				return true
			})
		}
	}
	if constants < 20 {
		t.Errorf("%d constants, want at least 20", constants)
	}
}

// A rule of the codebook's own is explained by its message.
func TestOwnRule(t *testing.T) {
	f := Finding{Rule: "sitting height ratio", Message: "Sitting height is not 0.46 to 0.60 of the height."}
	if got := f.Explain(); got.Sentence != f.Message || got.Ask == "" {
		t.Errorf("%+v", got)
	}
}

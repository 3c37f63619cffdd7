package main

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"path"
	"slices"
	"strings"
	"testing"
)

const module = "heelcohort"

// mayImport lists which packages of this module each package may import: the
// house is built one way. DEVELOPERS.md has the map.
var mayImport = map[string][]string{
	"codebook/value":                 {},
	"codebook/document":              {},
	"codebook/expression":            {"codebook/value", "codebook/document"},
	"codebook/document/documenttest": {"codebook/document"},             // of tests alone
	"codebook/codebooktest":          {"codebook", "codebook/document"}, // of tests alone
	"codebook/instrument":            {"codebook/value"},
	"codebook/sheet":                 {"codebook/document"},
	"codebook/identifier":            {},
	"codebook":                       {"codebook/value", "codebook/document", "codebook/expression", "codebook/identifier"},
	"dataset/delimited":              {},
	"dataset/harmless":               {},
	"dataset/ooxml":                  {},
	"dataset":                        {"codebook", "codebook/*", "dataset/delimited", "dataset/harmless", "dataset/ooxml"},
	"stats":                          {},
	"plots":                          {"stats"},

	"cmd/heelcohort/internal/browsertest":  {}, // of tests alone
	"cmd/heelcohort/internal/codebookfile": {"codebook", "codebook/document", "codebook/sheet", "dataset"},
	"cmd/heelcohort/internal/intake":       {}, // of tests alone
	"cmd/heelcohort/internal/plan":         {"codebook/document"},
	"cmd/heelcohort/internal/result":       {"dataset/harmless"},
	"cmd/heelcohort/internal/printed":      {},
	"cmd/heelcohort/internal/output":       {},
	"cmd/heelcohort/internal/frozen":       {},
	"cmd/heelcohort/internal/cohort":       {"cmd/heelcohort/internal/plan", "cmd/heelcohort/internal/printed", "cmd/heelcohort/internal/result", "codebook", "codebook/*", "dataset"},
	"cmd/heelcohort/internal/delivery":     {"codebook/identifier", "dataset", "dataset/harmless"},
	"cmd/heelcohort/internal/figure":       {"cmd/heelcohort/internal/printed", "cmd/heelcohort/internal/result", "plots", "stats"},
	"cmd/heelcohort/internal/report":       {"cmd/heelcohort/internal/printed", "cmd/heelcohort/internal/result", "dataset", "dataset/harmless"},
	"cmd/heelcohort/internal/demo":         {"dataset", "stats"},
	"cmd/heelcohort/internal/draft":        {"cmd/heelcohort/internal/printed", "codebook", "codebook/expression", "codebook/value", "dataset"},
	"cmd/heelcohort/internal/codebookpage": {"cmd/heelcohort/internal/printed", "cmd/heelcohort/internal/report", "codebook", "codebook/expression", "codebook/value", "dataset", "stats"},
	"cmd/heelcohort/internal/run":          {"cmd/heelcohort/internal/codebookfile", "cmd/heelcohort/internal/cohort", "cmd/heelcohort/internal/figure", "cmd/heelcohort/internal/frozen", "cmd/heelcohort/internal/plan", "cmd/heelcohort/internal/printed", "cmd/heelcohort/internal/result", "codebook", "codebook/*", "dataset", "stats"},
	"cmd/heelcohort/internal/publish":      {"cmd/heelcohort/internal/figure", "cmd/heelcohort/internal/output", "cmd/heelcohort/internal/report", "cmd/heelcohort/internal/result", "cmd/heelcohort/internal/run", "dataset", "dataset/harmless", "plots"},
	"cmd/heelcohort/internal/bundle":       {"cmd/heelcohort/internal/output", "cmd/heelcohort/internal/plan", "cmd/heelcohort/internal/publish", "cmd/heelcohort/internal/result", "cmd/heelcohort/internal/run", "dataset", "dataset/ooxml"},
	"cmd/heelcohort/internal/rerun":        {"cmd/heelcohort/internal/bundle", "cmd/heelcohort/internal/codebookfile", "cmd/heelcohort/internal/delivery", "cmd/heelcohort/internal/output", "cmd/heelcohort/internal/printed", "cmd/heelcohort/internal/publish", "cmd/heelcohort/internal/report", "cmd/heelcohort/internal/result", "cmd/heelcohort/internal/run", "codebook/document", "dataset", "dataset/harmless"},
	"cmd/heelcohort/internal/printedtable": {"codebook/document", "dataset", "dataset/harmless"},
	"cmd/heelcohort/internal/verdict":      {"cmd/heelcohort/internal/printed", "cmd/heelcohort/internal/printedtable", "cmd/heelcohort/internal/result", "codebook/document", "dataset", "stats"},
	"cmd/heelcohort/internal/proposal":     {"cmd/heelcohort/internal/printedtable", "cmd/heelcohort/internal/result", "cmd/heelcohort/internal/verdict"},
	"cmd/heelcohort/internal/verdictpage":  {"cmd/heelcohort/internal/printed", "cmd/heelcohort/internal/report", "cmd/heelcohort/internal/verdict", "dataset/harmless"},
	"cmd/heelcohort":                       {"cmd/heelcohort/internal/*", "codebook", "codebook/document", "dataset", "dataset/harmless"},
}

// onlyIn lists the packages that alone may import a library.
var onlyIn = map[string][]string{
	"github.com/xuri/excelize/v2":    {"dataset"},
	"github.com/go-gota/gota":        {"dataset"},
	"github.com/goccy/go-yaml":       {"codebook/document"},
	"github.com/expr-lang/expr":      {"codebook/expression"},
	"gonum.org/v1/plot":              {"plots"},
	"gonum.org/v1/gonum":             {"stats"},
	"github.com/spf13/cobra":         {"cmd/heelcohort"},
	"github.com/schollz/progressbar": {"cmd/heelcohort"},
}

// TestImportDirection checks every package's imports, tests left aside.
func TestImportDirection(t *testing.T) {
	list := exec.Command("go", "list", "-json=ImportPath,Imports", module+"/...")
	out, err := list.Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	decoder := json.NewDecoder(strings.NewReader(string(out)))
	seen := 0
	for {
		var p struct {
			ImportPath string
			Imports    []string
		}
		if err := decoder.Decode(&p); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		name := strings.TrimPrefix(p.ImportPath, module+"/")
		allowed, known := mayImport[name]
		if !known {
			if !strings.HasPrefix(name, "stats/internal/") { // of tests alone
				t.Errorf("%s is not on the map: say in mayImport what it may import", name)
			}
			continue
		}
		seen++
		for _, i := range p.Imports {
			if own, ok := strings.CutPrefix(i, module+"/"); ok {
				if !slices.ContainsFunc(allowed, func(a string) bool { fits, _ := path.Match(a, own); return fits }) {
					t.Errorf("%s imports %s, which it may not", name, own)
				}
			}
			for library, users := range onlyIn {
				if (i == library || strings.HasPrefix(i, library+"/")) && !slices.Contains(users, name) {
					t.Errorf("%s imports %s, which only %v may", name, library, users)
				}
			}
		}
	}
	if seen != len(mayImport) {
		t.Errorf("%d packages of the map were found, want %d", seen, len(mayImport))
	}
}

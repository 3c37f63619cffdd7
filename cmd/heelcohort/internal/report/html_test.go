package report

import (
	"bytes"
	"html"
	"math"
	"regexp"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
)

// small are results of one association with hostile labels.
func small(t testing.TB) Input {
	t.Helper()
	hostile := `<script>alert(1)</script><b>`
	level := func(value, label string) result.Level { return result.Level{Value: value, Label: label} }
	row := func(part, term, measure string, estimate float64) *result.Row {
		r := result.NewRow("table-3", part, measure)
		r.Variable, r.Term, r.Estimate, r.Line = "arch", term, result.Number(estimate), 55
		return &r
	}
	normal, flat := row("counts", "normal", "risk", 0.125), row("counts", hostile, "risk", 0.5)
	normal.N, normal.Events, flat.N, flat.Events = 80, 10, 4, 2
	odds := row("crude", hostile, "odds ratio", 7)
	odds.Lower, odds.Upper, odds.Level, odds.P = 0.86, result.Number(math.Inf(1)), 0.95, 0.07
	odds.Reason, odds.Warnings = hostile, []string{"fewer than 5 & more"}
	in := Input{
		Results: &result.Results{
			Program: "heelcohort test", Title: "A & B " + hostile, Plan: "study.yaml", Codebook: "codebook.yaml", Computed: true,
			Settings: []result.Setting{{Key: "level", Value: "0.95", Written: true}},
			Flow:     []result.FlowStep{{Table: hostile, Step: "rows in the data", Left: 84}, {Table: hostile, Step: "analysed", Left: 84}},
			Findings: []result.Count{{Severity: "warning", Rule: hostile, N: 1, First: "data/a.csv, line 2, column 3", Message: hostile}},
			Analyses: []result.Analysis{{
				ID: "table-3", Kind: "association", Title: "Episode by arch type", Line: 55, Unit: "participants",
				Settings:   []result.Setting{{Key: "exposure", Value: "arch", Written: true}, {Key: "reference", Value: "normal"}},
				Variables:  []result.Variable{{Name: "arch", Label: "Arch type", Levels: []result.Level{level("normal", "Normal – ≤ 5"), level(hostile, hostile)}}},
				Accounting: []result.Removed{{What: "rows", Reason: hostile, N: 3}},
				Warnings:   []string{hostile}, Methods: "Woolf limits <b>.", Figures: []string{"table-3"},
				References: []result.Reference{{Key: "Woolf 1955", Text: "Woolf B. Ann Hum Genet 1955;19:251–253."}},
			}},
			Rows: []result.Row{*normal, *flat, *odds},
		},
		Figures: map[string][]byte{"table-3": []byte(`<svg viewBox="0 0 9 9"><path d="M0,0L9,9"/></svg>`)},
	}
	if err := in.Results.Seal(); err != nil {
		t.Fatal(err)
	}
	return in
}

// pageOf is the page as text.
func pageOf(t testing.TB, in Input) string {
	t.Helper()
	var out bytes.Buffer
	if err := HTML(&out, in); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// TestGoldenPage keeps the page's markup; the style has no golden.
func TestGoldenPage(t *testing.T) {
	golden(t, "small.html", []byte(strings.Replace(pageOf(t, small(t)), pageCSS, "/* page.css */\n", 1)))
}

func TestSameBytes(t *testing.T) {
	if a, b := pageOf(t, saltmarsh(t)), pageOf(t, saltmarsh(t)); a != b {
		t.Error("the same results gave two pages")
	}
}

// TestEveryNumberHasItsRow: in the tables of the analyses a digit outside the
// row headings stands in a piece with the address of a row that exists, but
// for the reference of a ratio; and the page carries those addresses.
func TestEveryNumberHasItsRow(t *testing.T) {
	in := saltmarsh(t)
	known := map[string]bool{}
	for _, r := range in.Results.Rows {
		known[r.ID] = true
	}
	pieces := 0
	for _, a := range in.Results.Analyses {
		for _, s := range sheetsOf(in.Results, a) {
			for _, row := range s.Rows {
				for _, c := range row.Cells[1:] {
					for _, p := range c.Pieces {
						if p.Row != "" {
							pieces++
							if !known[p.Row] {
								t.Errorf("sheet %s: %q names the row %q, which is not there", s.ID, p.Text, p.Row)
							}
						} else if strings.ContainsAny(p.Text, "0123456789") && !strings.HasSuffix(p.Text, " (reference)") {
							t.Errorf("sheet %s: %q names no row", s.ID, p.Text)
						}
					}
				}
			}
			for _, n := range s.Notes {
				for _, p := range n.Pieces {
					if p.Row != "" {
						pieces++
					}
				}
			}
		}
	}
	named := regexp.MustCompile(`data-row="([^"]*)"`).FindAllStringSubmatch(pageOf(t, in), -1)
	if len(named) != pieces {
		t.Errorf("the page carries %d addresses, the sheets %d", len(named), pieces)
	}
	for _, m := range named {
		if id := html.UnescapeString(m[1]); !known[id] {
			t.Errorf("the page names the row %q, which is not there", id)
		}
	}
}

// TestNoEmptyCell: a missing value is said, never left out.
func TestNoEmptyCell(t *testing.T) {
	for _, in := range []Input{saltmarsh(t), small(t)} {
		for _, s := range bookSheets(in) {
			for i, row := range s.Rows {
				if !row.Section && len(row.Cells) != len(s.Columns) {
					t.Errorf("sheet %s row %d: %d cells, want %d", s.ID, i, len(row.Cells), len(s.Columns))
				}
				for j, c := range row.Cells {
					if strings.TrimSpace(c.Text()) == "" {
						t.Errorf("sheet %s row %d: cell %d is empty", s.ID, i, j)
					}
				}
			}
		}
	}
}

// TestPageIsText: nothing of the data arrives as markup, and the page holds
// nothing that acts or fetches.
func TestPageIsText(t *testing.T) {
	page := pageOf(t, small(t))
	if regexp.MustCompile(`(?i)<script|<b><|<link rel="stylesheet|src=|@import|url\(`).MatchString(page) {
		t.Error("the page holds markup of the data, or fetches something")
	}
	if !strings.Contains(page, "&lt;script&gt;alert(1)&lt;/script&gt;&lt;b&gt;") {
		t.Error("the label is not there as text")
	}
	if !strings.Contains(page, `content="default-src 'none'; style-src 'unsafe-inline'; img-src data:"`) {
		t.Error("the page has no policy")
	}
	if strings.Contains(pageOf(t, saltmarsh(t)), "17") && strings.Contains(pageOf(t, saltmarsh(t)), "&lt;b&gt;17") {
		t.Error("the page shows what stood in a cell")
	}
}

func TestStoppedPage(t *testing.T) {
	page := pageOf(t, stopped(t))
	for _, want := range []string{
		"Nothing was computed: findings in the data stopped the run before any estimate was made.",
		"nothing was computed", "Nothing was computed for this analysis.", "participants&#34;, M212",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q", want)
		}
	}
	if strings.Contains(page, "data-row=\"") {
		t.Error("the page shows numbers of rows")
	}
	if strings.Contains(page, "</b> analysed") || strings.Contains(page, " analysed</dd>") {
		t.Error("the page calls rows analysed")
	}
	if whole := pageOf(t, saltmarsh(t)); !strings.Contains(whole, "</b> analysed") || !strings.Contains(whole, "1,231 rows read, 1,190 analysed</dd>") {
		t.Error("the page of a whole run does not say how many rows were analysed")
	}
}

func TestMissingFigure(t *testing.T) {
	in := small(t)
	in.Figures = nil
	if err := HTML(&bytes.Buffer{}, in); err == nil || !strings.Contains(err.Error(), `no figure "table-3"`) {
		t.Errorf("error %v", err)
	}
	in.Figures = map[string][]byte{"table-3": []byte("<svg><script/></svg>")}
	if err := HTML(&bytes.Buffer{}, in); err == nil || !strings.Contains(err.Error(), "figure table-3") {
		t.Errorf("error %v", err)
	}
}

func TestHold(t *testing.T) {
	long := strings.Repeat("x", longestHeld)
	for text, want := range map[string]heldText{
		"1.50 (1.10 to 2.05)":             {"1.50", "(1.10 to 2.05)"},
		"not reached (52 to not reached)": {"not reached", "(52 to not reached)"},
		"Odds ratio (95% CI)":             {"Odds ratio", "(95% CI)"},
		"Heel pain episode, n (%)":        {"Heel pain episode,", "n (%)"},
		"1,190":                           {Lead: "1,190"},
		"(%)":                             {Lead: "(%)"},
		"a (" + long + ")":                {Lead: "a (" + long + ")"},
	} {
		if got := hold(text); got != want {
			t.Errorf("hold(%q) = %+v, want %+v", text, got, want)
		}
	}
}

func TestAnchor(t *testing.T) {
	for id, want := range map[string]string{"table-2": "table-2", "a b": "a.20.b", "ä/": ".E4..2F.", "A_1": "A_1"} {
		if got := anchor(id); got != want {
			t.Errorf("anchor(%q) = %q, want %q", id, got, want)
		}
	}
}

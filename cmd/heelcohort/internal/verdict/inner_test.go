package verdict

import (
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/printedtable"
	"heelcohort/stats"
)

func tableOf(t *testing.T, text string) *printedtable.File {
	t.Helper()
	path := filepath.Join(t.TempDir(), "t.csv")
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	f, err := printedtable.Read(context.Background(), path, printedtable.Detect)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Each table has one fault, planted by hand, or none; the wanted words name it.
func TestInner(t *testing.T) {
	for _, c := range []struct {
		name, text string
		whole      []string
		want       []string // of each question: place, kind, words
	}{
		{
			"a table without a fault", `,Normal,Pronated,All,P
,(n = 254),(n = 135),(n = 389),
"Pain, n (%)",54 (21.3),43 (31.9),97 (24.9),0.02
"Score, mean (SD)",4.30 (1.2),4.31 (1.4),4.30 (1.3),
Odds ratio (95% CI),1.00 (reference),1.73 (1.08 to 2.77),,0.02
`, nil, nil,
		},
		{
			"another denominator", `,Normal
,(n = 268)
"Pain, n (%)",54 (21.3)
`, nil, []string{"line 3, column 2|count and percentage|54 of the n = 268 of the heading of the column is 20.1%, not 21.3; it would be so with n = 253 to 254"},
		},
		{
			"no denominator", `,Normal
"Pain, n (%)",3 (40.2%)
`, nil, []string{"line 2, column 2|count and percentage|No whole number n gives 40.2% for 3 of n"},
		},
		{
			"n in a row, n/N in a cell", `,Boys,Girls
Children,40,60
"Pain, n (%)",10 (25%),20 (30%)
"Left, n/N (%)",10/40 (25%),20/60 (35%)
`, nil, []string{
				"line 3, column 3|count and percentage|20 of the n = 60 of line 2, column 3 is 33%, not 30%",
				"line 4, column 3|count and percentage|20 of the n = 60 printed beside it is 33%, not 35%",
			},
		},
		{
			"more than there are", `,Boys
,(n = 40)
"Pain, n (%)",45 (25%)
`, nil, []string{"line 3, column 2|count and percentage|45 is more than the n = 40"},
		},
		{
			"limits", `Term,Odds ratio (95% CI),P
Arch,1.73 (2.77 to 1.08),0.02
Age,2.90 (1.08 to 2.77),0.02
Sex,1.37 (1.08 to 2.77),0.02
Sport,1.73 (1.08 to 2.77),0.20
Site,1.73 (0.90 to 3.33),0.03
Body mass,1.73 (1.08 to 2.77),<0.0001
Fit,1.73 (1.08 to 2.77),0.022
Coach,0.50 (0.30 to 0.83),0.008
`, nil, []string{
				"line 2, column 2|estimate and limits|The lower limit 2.77 is above",
				"line 3, column 2|estimate and limits|2.90 does not lie within 1.08 to 2.77",
				"line 4, column 2|estimate and limits|the middle of 1.08 to 2.77 is 1.73, far from 1.37",
				"line 5, column 2|limits and P|The 95% limits leave out 1, but P of line 5, column 3 is 0.20",
				"line 6, column 2|limits and P|The 95% limits hold 1, but P of line 6, column 3 is 0.03",
				"line 7, column 2|limits and P|belong to a P of about 0.02; P of line 7, column 3 is <0.0001",
			},
		},
		{
			"differences", `Term,Mean difference (90% CI),P
Age,1.2 (0.2 to 2.2),0.048
Height,1.2 (0.2 to 2.2),0.5
`, nil, []string{"line 3, column 2|limits and P|The 90% limits leave out 0, but P of line 3, column 3 is 0.5"},
		},
		{
			"totals", `,Boys,Girls,Total
Football,12,15,27
Swimming,8,5,13
Running,4,9,14
Total,24,29,54
`, nil, []string{
				"line 4, column 4|total|The 2 columns beside it add up to 13, not 14",
				"line 5, column 4|total|The 2 columns beside it add up to 53, not 54",
			},
		},
		{
			"a row of totals", `,Boys,Girls
Football,12,15
Swimming,8,5
Total,20,21
`, nil, []string{"line 4, column 3|total|The 2 rows above it add up to 20, not 21"},
		},
		{
			"a mean of whole numbers", `,Boys
,(n = 28)
"Foot posture score, mean (SD)",5.19 (2.1)
"Pain score, mean (SD)",5.18 (2.1)
"Toes, mean (SD)",9.91 (0.3)
"Age, mean (SD)",10.31 (2.2)
`, []string{"toes"}, []string{
				"line 3, column 2|mean of whole numbers|no total gives the mean 5.19: 145 gives 5.18 and 146 gives 5.21",
				"line 5, column 2|mean of whole numbers|no total gives the mean 9.91: 277 gives 9.89 and 278 gives 9.93",
			},
		},
		{
			"quartiles are no limits", `,Boys
"Ratio of hours, median (IQR)",1.9 (1.0-2.0)
`, nil, nil,
		},
	} {
		var got []string
		for _, q := range Inner(tableOf(t, c.text), c.whole) {
			got = append(got, strings.TrimPrefix(q.Where, "t.csv, ")+"|"+q.Kind+"|"+q.Ask)
			for _, word := range []string{"wrong result", "error", "fraud", "mistake", "invalid"} {
				if strings.Contains(q.Ask, word) {
					t.Errorf("%s: %q accuses", c.name, q.Ask)
				}
			}
			if !strings.Contains(q.Ask, "?") {
				t.Errorf("%s: %q asks nothing", c.name, q.Ask)
			}
		}
		if len(got) != len(c.want) {
			t.Errorf("%s: %d questions, want %d:\n%s", c.name, len(got), len(c.want), strings.Join(got, "\n"))
			continue
		}
		for i, want := range c.want {
			head, words, _ := strings.Cut(want, "|")
			kind, words, _ := strings.Cut(words, "|")
			if !strings.HasPrefix(got[i], head+"|"+kind+"|") || !strings.Contains(got[i], words) {
				t.Errorf("%s: %s, want %s", c.name, got[i], want)
			}
		}
	}
}

// TestInnerAsksNothing: tables that are printed rightly, with numbers drawn at
// random, are asked nothing.
func TestInnerAsksNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	var b strings.Builder
	n1, n0 := 150+r.IntN(200), 150+r.IntN(200)
	fmt.Fprintf(&b, "Trait,\"Yes (n = %d)\",\"No (n = %d)\",Total (n = %d),Odds ratio (95%% CI),P\n", n1, n0, n1+n0)
	for i := range 300 {
		a, c := 10+r.IntN(n1-20), 10+r.IntN(n0-20)
		e, err := stats.OddsRatio(a, n1-a, c, n0-c, stats.LimitOptions{})
		if err != nil {
			t.Fatal(err)
		}
		p := fmt.Sprintf("%.3f", e.P)
		if e.P < 0.001 {
			p = "<0.001"
		}
		share := func(k, n int) string { return fmt.Sprintf("%d (%.1f%%)", k, 100*float64(k)/float64(n)) }
		fmt.Fprintf(&b, "Trait %c%d,%s,%s,%s,%.2f (%.2f to %.2f),%s\n", 'A'+i%26, i, share(a, n1), share(c, n0), share(a+c, n1+n0), e.Value, e.Lower, e.Upper, p)
	}
	for _, q := range Inner(tableOf(t, b.String()), nil) {
		t.Errorf("%s: %s: %s", q.Where, q.Text, q.Ask)
	}
	printed, err := filepath.Glob("../../../../testdata/printed/*/table.csv")
	if err != nil || len(printed) < 6 {
		t.Fatalf("%d tables, %v", len(printed), err)
	}
	for _, name := range printed {
		f, err := printedtable.Read(context.Background(), name, printedtable.Detect)
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range Inner(f, nil) {
			t.Errorf("%s: %s: %s: %s", name, q.Where, q.Text, q.Ask)
		}
	}
}

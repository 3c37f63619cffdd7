package figure

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"runtime"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

func TestIDs(t *testing.T) {
	grouped := []result.Variable{{Name: "n"}, {Name: "sport", Levels: levels("football", "")}}
	compared := []result.Row{result.NewRow("table-2", "ratios", "rate ratio")}
	for _, c := range []struct {
		a    result.Analysis
		rows []result.Row
		want []string
	}{
		{result.Analysis{ID: "table-2", Kind: "incidence", Variables: grouped}, compared, []string{"table-2", "table-2-ratios"}},
		{result.Analysis{ID: "table-2", Kind: "incidence", Variables: grouped}, nil, []string{"table-2"}},
		{result.Analysis{ID: "table-4", Kind: "incidence", Variables: grouped}, compared, []string{"table-4"}},
		{result.Analysis{ID: "table-2", Kind: "incidence"}, compared, nil},
		{result.Analysis{ID: "table-3", Kind: "association"}, nil, []string{"table-3"}},
		{result.Analysis{ID: "figure-1", Kind: "time-to-event"}, nil, []string{"figure-1"}},
		{result.Analysis{ID: "figure-2", Kind: "recurrence"}, nil, []string{"figure-2"}},
		{result.Analysis{ID: "figure-3", Kind: "change"}, nil, []string{"figure-3"}},
		{result.Analysis{ID: "table-4", Kind: "burden"}, nil, nil},
		{result.Analysis{ID: "table-1", Kind: "describe", Variables: grouped}, nil, nil},
	} {
		if got := IDs(c.a, c.rows); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.a.Kind, got, c.want)
		}
	}
}

// Every figure that IDs promises for the whole registry is drawn and saved in
// each format, with its title.
func TestSaltmarsh(t *testing.T) {
	res := saltmarsh(t)
	n := 0
	for _, a := range res.Analyses {
		for _, id := range IDs(a, res.Rows) {
			f, err := Build(res, id)
			if err != nil {
				t.Error(err)
				continue
			}
			n++
			if !strings.HasPrefix(f.Title(), a.Title) {
				t.Errorf("%s: title %q, want %q", id, f.Title(), a.Title)
			}
			for _, format := range plots.Formats {
				if err := f.Save(io.Discard, format); err != nil {
					t.Errorf("%s: %v", id, err)
				}
			}
		}
	}
	if n != 4 {
		t.Errorf("%d figures, want 4", n)
	}
}

// The same rows give the same bytes, again and on another number of cores, and
// names from the data cannot break out of the SVG.
func TestSameBytes(t *testing.T) {
	res := saltmarsh(t)
	svg := func(id string) []byte {
		f, err := Build(res, id)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := f.Save(&b, "svg"); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	for _, id := range []string{"table-2", "table-2-ratios", "table-3", "figure-1"} {
		was := runtime.GOMAXPROCS(1)
		want := svg(id)
		runtime.GOMAXPROCS(4)
		for range 3 {
			if !bytes.Equal(want, svg(id)) {
				t.Errorf("%s: bytes differ", id)
			}
		}
		runtime.GOMAXPROCS(was)
		if bytes.Contains(want, []byte("<script")) {
			t.Errorf("%s: the SVG holds a script", id)
		}
		dec := xml.NewDecoder(bytes.NewReader(want))
		for {
			if _, err := dec.Token(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", id, err)
			}
		}
	}
}

// A missing part, or one that has nothing to draw, is ErrNoData with the id.
func TestNoData(t *testing.T) {
	keep := func(rows []result.Row, part string) (kept []result.Row) {
		for _, r := range rows {
			if r.Part != part && r.Part != "adjusted" && r.Part != "model" {
				kept = append(kept, r)
			}
		}
		return kept
	}
	empty := func(rows []result.Row) []result.Row {
		for i := range rows {
			r := &rows[i]
			r.Estimate, r.Lower, r.Upper, r.Level, r.Reason = none, none, none, none, "not estimable"
		}
		return rows
	}
	for _, c := range []struct {
		name, id, part string
		make           func() (result.Analysis, []result.Row)
	}{
		{"rates", "a", "rates", incidence},
		{"ratios", "a-ratios", "ratios", incidence},
		{"association", "a", "crude", association},
		{"survival", "a", "curve", survival},
	} {
		a, rows := c.make()
		for name, rows := range map[string][]result.Row{"no rows": nil, "part missing": keep(rows, c.part), "no estimates": empty(slices.Clone(rows))} {
			f, err := Build(sealed(t, a, rows), c.id)
			if !errors.Is(err, plots.ErrNoData) || f != nil {
				t.Errorf("%s, %s: figure %v, error %v, want ErrNoData", c.name, name, f, err)
			} else if !strings.Contains(err.Error(), `figure "`+c.id+`"`) {
				t.Errorf("%s, %s: error %q does not name the figure", c.name, name, err)
			}
		}
	}
}

func TestBuildRefuses(t *testing.T) {
	a, rows := association()
	res := sealed(t, a, rows)
	for id, says := range map[string]string{
		"table-9":  `figure "table-9": no analysis has it`,
		"a-ratios": "kind association has no figure of ratios",
		"-ratios":  "no analysis has it",
	} {
		if _, err := Build(res, id); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v, want %q", id, err, says)
		}
	}
	if _, err := Build(sealed(t, result.Analysis{Kind: "describe"}, nil), "a"); err == nil || !strings.Contains(err.Error(), "kind describe has no figure") {
		t.Errorf("describe: %v", err)
	}
}

// An analysis whose own id ends as that of a figure of ratios is still found.
func TestIDThatEndsInRatios(t *testing.T) {
	res := saltmarsh(t)
	for i := range res.Analyses {
		if res.Analyses[i].ID == "table-3" {
			res.Analyses[i].ID = "odds-ratios"
		}
	}
	for i := range res.Rows {
		if res.Rows[i].Analysis == "table-3" {
			res.Rows[i].Analysis = "odds-ratios"
		}
	}
	if _, err := Build(res, "odds-ratios"); err != nil {
		t.Error(err)
	}
}

package draft

import (
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

// A kindOfColumn writes random cells of a known type.
type kindOfColumn struct {
	typ, format, decimal string
	write                func(t *rapid.T, label string) string
}

var kindsOfColumn = []kindOfColumn{
	{codebook.TypeInteger, "", "", func(t *rapid.T, l string) string {
		return strconv.Itoa(rapid.IntRange(-500, 5000).Draw(t, l))
	}},
	{codebook.TypeNumber, "", "", func(t *rapid.T, l string) string {
		return fmt.Sprintf("%d.%02d", rapid.IntRange(0, 200).Draw(t, l), rapid.IntRange(1, 99).Draw(t, l))
	}},
	{codebook.TypeNumber, "", ",", func(t *rapid.T, l string) string {
		return fmt.Sprintf("%d,%d", rapid.IntRange(0, 200).Draw(t, l), rapid.IntRange(1, 9).Draw(t, l))
	}},
	{codebook.TypeBoolean, "", "", func(t *rapid.T, l string) string {
		return rapid.SampledFrom([]string{"true", "false"}).Draw(t, l)
	}},
	{codebook.TypeDate, "", "", func(t *rapid.T, l string) string { return randomDay(t, l).Format("2006-01-02") }},
	{codebook.TypeDate, "%d.%m.%Y", "", func(t *rapid.T, l string) string { return randomDay(t, l).Format("02.01.2006") }},
	{codebook.TypeDate, "%m/%d/%Y", "", func(t *rapid.T, l string) string { return randomDay(t, l).Format("01/02/2006") }},
	{codebook.TypeString, "", "", func(t *rapid.T, l string) string {
		return rapid.StringMatching(`[a-z]{3,8}-[a-z]{1,8}`).Draw(t, l)
	}},
}

func randomDay(t *rapid.T, label string) time.Time {
	return time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 1800).Draw(t, label))
}

// A table written from typed columns is drafted back to the same types, some
// of its cells missing or not; nothing is found when it is checked. A column of
// days that no cell decides is a string.
func TestRandomTypes(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		kinds := rapid.SliceOfN(rapid.SampledFrom(kindsOfColumn), 1, 6).Draw(t, "kinds")
		rows := rapid.IntRange(5, 30).Draw(t, "rows")
		gap := rapid.SampledFrom([]string{"", "NA", "NM", "?"}).Draw(t, "gap")
		decided := make([]bool, len(kinds))
		filled := make([]int, len(kinds))
		var b strings.Builder
		w := csv.NewWriter(&b)
		for i := range rows + 1 {
			record := make([]string, len(kinds)+1)
			record[0] = fmt.Sprintf("r%d", i)
			for k, kind := range kinds {
				switch {
				case i == 0:
					record[0], record[k+1] = "row", fmt.Sprintf("column%c", 'a'+k)
				case i > 1 && rapid.IntRange(0, 9).Draw(t, "missing") == 0:
					record[k+1] = gap
				default:
					record[k+1] = kind.write(t, "cell")
					filled[k]++
					if kind.format != "" {
						first, second := record[k+1][:2], record[k+1][3:5]
						decided[k] = decided[k] || first > "12" || second > "12"
					}
				}
			}
			if err := w.Write(record); err != nil {
				t.Fatal(err)
			}
		}
		w.Flush()
		if err := os.WriteFile(filepath.Join(dir, "a.csv"), []byte(b.String()), 0o666); err != nil {
			t.Fatal(err)
		}
		d, err := Files(context.Background(), dir, []string{"a.csv"})
		if err != nil {
			t.Fatal(err)
		}
		pkg, err := codebook.Decode("codebook.yaml", []byte(d.Text))
		if err != nil {
			t.Fatal(err)
		}
		for k, kind := range kinds {
			f := pkg.Resources[0].Schema.Fields[k+1]
			want := kind
			if kind.format != "" && !decided[k] {
				want.typ, want.format = codebook.TypeString, ""
			}
			if f.Type != want.typ || f.Format != want.format || f.DecimalChar != want.decimal {
				t.Fatalf("%s was %s %s %s\n%s\n%s", f.Name, want.typ, want.format, want.decimal, b.String(), d.Text)
			}
		}
		data, findings, err := dataset.Open(context.Background(), dir, pkg, dataset.Options{})
		if err != nil || len(findings) > 0 {
			t.Fatalf("%v %+v", err, findings)
		}
		if more, err := dataset.Validate(context.Background(), data); err != nil || len(more) > 0 {
			t.Fatalf("%v %+v", err, more)
		}
	})
}

// FuzzDraft drafts any text file: it is refused, or the draft is accepted by the
// codebook and the file is read with it.
func FuzzDraft(f *testing.F) {
	for _, text := range []string{
		children, visits, "a\n1\n", "a,b\n\"x\ny\",2\n", "a,a\n1,2\n", "\ufeffid;x\n1;2\n", "id,\u200bx\n1,2\n", "x\u0085y,b\n1,2\n",
		"date,n\n01/02/2024,\"1,234\"\n02/03/2024,\"2,345\"\n", "\"a\nb\",c\n1,2\n", "{{.}},'x'\n1,2\n", "fault,undefined\nfault,undefined\n",
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, "a.csv"), text, 0o666); err != nil {
			t.Fatal(err)
		}
		d, err := Files(context.Background(), dir, []string{"a.csv"})
		if err != nil {
			if strings.Contains(err.Error(), "codebook.yaml") {
				t.Fatalf("the codebook refuses its draft: %v", err)
			}
			return
		}
		checked(t, d, dir)
	})
}

// Whatever a format or a notation writes passes the shapes that cells are
// sorted by before they are parsed in full.
func TestShapesLoseNothing(t *testing.T) {
	layouts := strings.NewReplacer("%Y", "2006", "%m", "1", "%d", "2", "%b", "Jan", "%B", "January")
	group := func(digits, mark string) string {
		for i := len(digits) - 3; i > 0 && mark != ""; i -= 3 {
			digits = digits[:i] + mark + digits[i:]
		}
		return digits
	}
	rapid.Check(t, func(t *rapid.T) {
		day := randomDay(t, "day")
		for _, p := range dateFormats() {
			for _, r := range []reading{p.format, p.other} {
				if r.field == nil || r.format == "" {
					continue
				}
				text := day.Format(layouts.Replace(r.format))
				if _, ok := r.of(dataset.GridCell{Text: text}); ok && !dayLike.MatchString(text) {
					t.Fatalf("%q is a day as %s and has not the shape of one", text, r.format)
				}
			}
		}
		whole := strconv.Itoa(rapid.IntRange(0, 1e9).Draw(t, "whole"))
		for _, r := range notations() {
			point := r.decimal
			if point == "" {
				point = "."
			}
			for _, text := range []string{group(whole, r.groupMark), "-" + group(whole, r.groupMark) + point + "25", group(whole, r.groupMark) + point + "5 kg", "+" + whole + "e-3"} {
				_, ok := r.of(dataset.GridCell{Text: text})
				if ok && !onlyDigits.MatchString(text) && !marked.MatchString(text) {
					t.Fatalf("%q is a number with %s and has not the shape of one", text, r.words())
				}
			}
		}
	})
}

package delivery

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

const book = `
name: one
resources:
  - name: t
    path: t.csv
    schema:
      KEY
      fields:
        - {name: id, type: integer}
        - {name: x, type: number}
        - {name: word, type: string, categories: [left, right]}
`

// open reads a table of texts.
func open(t rapid.TB, dir, key string, rows [][]string) *dataset.Dataset {
	var b strings.Builder
	b.WriteString("id,x,word\n")
	for _, r := range rows {
		b.WriteString(strings.Join(r, ",") + "\n")
	}
	if err := os.WriteFile(filepath.Join(dir, "t.csv"), []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	pkg, err := codebook.Decode("codebook.yaml", []byte(strings.Replace(book, "KEY", key, 1)))
	if err != nil {
		t.Fatal(err)
	}
	d, found, err := dataset.Open(context.Background(), dir, pkg, dataset.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := dataset.Screen(context.Background(), d, found); err != nil {
		t.Fatal(err)
	}
	return d
}

// Random edits of a table with a key are all told, and nothing else is.
func TestRandomEdits(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 12).Draw(t, "rows")
		var old [][]string
		for i := range n {
			old = append(old, []string{strconv.Itoa(i), strconv.Itoa(rapid.IntRange(0, 9).Draw(t, "x")), rapid.SampledFrom([]string{"left", "right", "", "lfet"}).Draw(t, "word")})
		}
		want := []string{}
		var now [][]string
		for i, r := range old {
			r = slices.Clone(r)
			switch rapid.SampledFrom([]string{"keep", "keep", "remove", "x", "spelling", "word", "two"}).Draw(t, "edit") {
			case "remove":
				want = append(want, fmt.Sprintf("%s id=%d", RowRemoved, i))
				continue
			case "x":
				want = append(want, fmt.Sprintf("%s x id=%d %s>%s", Changed, i, r[1], r[1]+"1"))
				r[1] += "1"
			case "spelling":
				want = append(want, fmt.Sprintf("%s x id=%d %s>%s", Written, i, r[1], r[1]+".0"))
				r[1] += ".0"
			case "two":
				want = append(want, fmt.Sprintf("%s x id=%d %s>%s", Changed, i, r[1], "oops"), fmt.Sprintf("%s word id=%d %s>%s", Changed, i, r[2], "other"))
				r[1], r[2] = "oops", "other"
			case "word":
				want = append(want, fmt.Sprintf("%s word id=%d %s>%s", Changed, i, r[2], r[2]+"x"))
				r[2] += "x"
			}
			now = append(now, r)
		}
		for i := range rapid.IntRange(0, 3).Draw(t, "added") {
			want = append(want, fmt.Sprintf("%s id=%d", RowAdded, 100+i))
			at := rapid.IntRange(0, len(now)).Draw(t, "at")
			now = slices.Insert(now, at, []string{strconv.Itoa(100 + i), "5", "left"})
		}
		if rapid.Bool().Draw(t, "turn") {
			var kept []string
			for _, r := range now {
				if len(r[0]) < 3 {
					kept = append(kept, r[0])
				}
			}
			if len(kept) > 1 {
				want = append(want, RowsMoved)
			}
			slices.Reverse(now)
		}
		r := Compare(open(t, dir, "primaryKey: id", old), open(t, dir, "primaryKey: id", now))
		got := []string{}
		for _, c := range r.Tables[0].Changes {
			text := c.Sort
			for _, s := range []string{c.Variable, c.Key} {
				if s != "" {
					text += " " + s
				}
			}
			if c.Old != "" || c.New != "" {
				text += " " + c.Old + ">" + c.New
			}
			// The place in each delivery holds the text that is told.
			check := func(rows [][]string, o dataset.Origin, told string) {
				if o.Column > 0 && rows[o.Row-2][o.Column-1] != told {
					t.Errorf("%s: %v holds %q", text, o, rows[o.Row-2][o.Column-1])
				}
			}
			check(old, c.Before, c.Old)
			check(now, c.After, c.New)
			got = append(got, text)
		}
		slices.Sort(want)
		slices.Sort(got)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("differences (-want +got):\n%s", diff)
		}
		if r.Differs() != (len(want) > 0) {
			t.Errorf("differs: %v, want %v", r.Differs(), len(want) > 0)
		}
	})
}

// Without a key, rows are counted: what is in one delivery more often than in
// the other came or went.
func TestWithoutKey(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		row := rapid.Custom(func(t *rapid.T) []string {
			return []string{rapid.SampledFrom([]string{"1", "2"}).Draw(t, "id"), rapid.SampledFrom([]string{"3", "4"}).Draw(t, "x"), "left"}
		})
		old, now := rapid.SliceOfN(row, 0, 8).Draw(t, "old"), rapid.SliceOfN(row, 0, 8).Draw(t, "now")
		count := map[string]int{}
		for _, r := range old {
			count[fmt.Sprint(r)]--
		}
		for _, r := range now {
			count[fmt.Sprint(r)]++
		}
		added, removed := 0, 0
		for _, n := range count {
			added, removed = added+max(n, 0), removed+max(-n, 0)
		}
		out := Compare(open(t, dir, "missingValues: ['']", old), open(t, dir, "missingValues: ['']", now)).Tables[0]
		if out.Added != added || out.Removed != removed || out.Changed != 0 {
			t.Errorf("%d added, %d removed, %d changed, want %d, %d, 0", out.Added, out.Removed, out.Changed, added, removed)
		}
	})
}

// Rows that share a key are paired by content first.
func TestDoubledKey(t *testing.T) {
	dir := t.TempDir()
	out := Compare(
		open(t, dir, "primaryKey: id", [][]string{{"1", "3", "left"}, {"1", "4", "left"}}),
		open(t, dir, "primaryKey: id", [][]string{{"1", "4", "left"}, {"1", "5", "left"}}),
	).Tables[0]
	if out.Changed != 1 || out.Added != 0 || out.Removed != 0 || out.Changes[0].Old != "3" || out.Changes[0].New != "5" {
		t.Errorf("%+v", out)
	}
}

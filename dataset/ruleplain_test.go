package dataset

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"heelcohort/codebook"
)

// inMemory makes a dataset of rows of cells, by table, without files.
func inMemory(t interface{ Fatalf(string, ...any) }, pkg *codebook.Package, rows map[string][][]string) *Dataset {
	d := &Dataset{Package: pkg}
	for _, r := range pkg.Resources {
		table := &Table{Name: r.Name, Resource: r, File: r.Path}
		for k, f := range r.Schema.Fields {
			c := fieldColumn(f, k+1)
			for _, row := range rows[r.Name] {
				v, fault := f.Parse(row[k])
				switch {
				case fault != nil:
					c.add(v, Invalid)
				case v.Missing:
					c.add(v, Missing)
				default:
					c.add(v, Present)
				}
				c.addSource(row[k])
			}
			table.Columns = append(table.Columns, c)
		}
		for i := range rows[r.Name] {
			table.Rows = append(table.Rows, i+2)
		}
		d.Tables = append(d.Tables, table)
	}
	return d
}

// brokenRows validates and gives the findings of each rule by row index.
func brokenRows(t interface{ Fatalf(string, ...any) }, d *Dataset) map[string]map[int]Finding {
	found, err := Validate(context.Background(), d)
	if err != nil {
		t.Fatalf("%v", err)
	}
	out := map[string]map[int]Finding{}
	for _, f := range found {
		if out[f.Rule] == nil {
			out[f.Rule] = map[int]Finding{}
		}
		if _, twice := out[f.Rule][f.Where.Row-2]; twice {
			t.Fatalf("rule %s finds row %d twice", f.Rule, f.Where.Row)
		}
		out[f.Rule][f.Where.Row-2] = f
	}
	return out
}

const plainYAML = `
name: plain
resources:
  - name: children
    path: children.csv
    schema:
      primaryKey: child
      fields:
        - {name: child, type: string}
        - {name: rows_n, type: integer, missingValues: ["NM"]}
        - {name: hours, type: integer, missingValues: ["NM"]}
        - {name: sports_n, type: integer, missingValues: ["NM"]}
    heelcohort:
      rules:
        - {name: count, total: {of: rows_n, count: {table: spells, when: "to >= 10"}, missing: skip}}
        - {name: sum, total: {of: hours, sum: {table: spells, of: from}}}
        - {name: distinct, total: {of: sports_n, distinct: {table: spells, of: sport}}}
  - name: spells
    path: spells.csv
    schema:
      fields:
        - {name: child, type: string, missingValues: [""]}
        - {name: sport, type: string, missingValues: ["DK"]}
        - {name: from, type: integer, missingValues: ["NM"]}
        - {name: to, type: integer, missingValues: ["", "NM"]}
      foreignKeys: [{fields: child, reference: {resource: children, fields: child}}]
    heelcohort:
      rules:
        - {name: half open, no_overlap: {from: from, to: to, within: [child, sport], open_end: true}}
        - {name: closed, no_overlap: {from: from, to: to, within: [child], closed: true}}
        - {name: all, no_overlap: {from: from, to: to, open_end: "NM"}, where: "sport == 'a'"}
        - {name: unique, unique: [child, sport, to]}
        - {name: group, group: {by: [child, sport], check: "sum(from) <= 15"}}
`

// cellOf draws a cell: one of the codes now and then, else a number or a word.
func cellOf(t *rapid.T, name string, words []string, codes ...string) string {
	if len(codes) > 0 && rapid.IntRange(0, 7).Draw(t, "missing "+name) == 0 {
		return rapid.SampledFrom(codes).Draw(t, name)
	}
	return rapid.SampledFrom(words).Draw(t, name)
}

func numbersTo(n int) []string {
	out := make([]string, n)
	for i := range out {
		out[i] = fmt.Sprint(i)
	}
	return out
}

// TestRulesAgainstPlain compares rules over rows with implementations that look
// at every pair of rows and at every day of an interval.
func TestRulesAgainstPlain(t *testing.T) {
	pkg := decode(t, plainYAML)
	seen := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		var spells, children [][]string
		for range rapid.IntRange(0, 25).Draw(t, "rows") {
			spells = append(spells, []string{
				cellOf(t, "child", []string{"A", "B"}, "", "Z"), cellOf(t, "sport", []string{"a", "b"}, "DK"),
				cellOf(t, "from", numbersTo(15), "NM", "x"), cellOf(t, "to", numbersTo(20), "", "NM", "x"),
			})
		}
		for _, child := range []string{"A", "B", "C"} {
			children = append(children, []string{
				child, cellOf(t, "rows_n", numbersTo(6), "NM"), cellOf(t, "hours", numbersTo(60), "NM", "x"), cellOf(t, "sports_n", numbersTo(3), "NM"),
			})
		}
		d := inMemory(t, pkg, map[string][][]string{"spells": spells, "children": children})
		got := brokenRows(t, d)
		for rule, found := range got {
			seen[rule] += len(found)
		}
		plain := plainRules{spells, children}
		plain.overlap(t, "half open", got["half open"], []int{0, 1}, false, "", nil)
		plain.overlap(t, "closed", got["closed"], []int{0}, true, "never", nil)
		plain.overlap(t, "all", got["all"], nil, false, "NM", func(row []string) bool { return row[1] == "a" })
		sameRows(t, "unique", got["unique"], plain.unique())
		sameRows(t, "group", got["group"], plain.groups())
		for column, rule := range map[int]string{1: "count", 2: "sum", 3: "distinct"} {
			sameRows(t, rule, got[rule], plain.totals(rule, column))
		}
	})
	for _, rule := range []string{"half open", "closed", "all", "unique", "group", "count", "sum", "distinct"} {
		if seen[rule] == 0 {
			t.Errorf("rule %s was never broken: the data are too tame", rule)
		}
	}
}

// sameRows compares the rows found with those wanted.
func sameRows(t *rapid.T, rule string, got map[int]Finding, want map[int]bool) {
	for i := range want {
		if _, ok := got[i]; !ok {
			t.Fatalf("%s: row %d is not found", rule, i)
		}
	}
	for i := range got {
		if !want[i] {
			t.Fatalf("%s: row %d is found: %s", rule, i, got[i].Message)
		}
	}
}

// plainRules are the rows of spells and children as cells.
type plainRules struct{ spells, children [][]string }

func integer(cell string) (int, bool) {
	n := 0
	_, err := fmt.Sscanf(cell, "%d", &n)
	return n, err == nil
}

// days lists the days of an interval below day 60.
func (p plainRules) days(row []string, closed bool, runs string) (days []int, reversed, ok bool) {
	from, ok := integer(row[2])
	if !ok {
		return nil, false, false
	}
	to, ok := integer(row[3])
	switch {
	case row[3] == runs:
		to = 60
	case !ok:
		return nil, false, false
	case to < from:
		return nil, true, true
	case closed:
		to++
	}
	for day := from; day < to; day++ {
		days = append(days, day)
	}
	return days, false, true
}

func (p plainRules) overlap(t *rapid.T, rule string, got map[int]Finding, within []int, closed bool, runs string, where func([]string) bool) {
	want, concerned := map[int]bool{}, map[int]bool{}
	for i, a := range p.spells {
		if where != nil && !where(a) {
			continue
		}
		mine, reversed, ok := p.days(a, closed, runs)
		if reversed {
			want[i] = true
		}
		for j, b := range p.spells {
			if i == j || !ok || reversed || where != nil && !where(b) {
				continue
			}
			alike := true
			for _, k := range within {
				alike = alike && a[k] == b[k] && a[k] != "" && a[k] != "DK"
			}
			other, backwards, there := p.days(b, closed, runs)
			if !alike || backwards || !there || !slices.ContainsFunc(mine, func(day int) bool { return slices.Contains(other, day) }) {
				continue
			}
			concerned[i], concerned[j] = true, true
			x, _ := integer(a[2])
			y, _ := integer(b[2])
			if y < x || y == x && j < i {
				want[i] = true
			}
		}
	}
	sameRows(t, rule, got, want)
	// The rows found and the rows named with them are all that overlap.
	named := map[int]bool{}
	for i, f := range got {
		for _, row := range f.Others {
			named[i], named[row-2] = true, true
		}
	}
	if len(named) != len(concerned) {
		t.Fatalf("%s: rows %v overlap, but %v are named", rule, concerned, named)
	}
	for i := range concerned {
		if !named[i] {
			t.Fatalf("%s: row %d overlaps another, but is not named", rule, i)
		}
	}
}

func (p plainRules) unique() map[int]bool {
	want := map[int]bool{}
	for i, a := range p.spells {
		_, number := integer(a[3])
		for _, b := range p.spells[:i] {
			if number && a[0] != "" && a[1] != "DK" && a[0] == b[0] && a[1] == b[1] && a[3] == b[3] {
				want[i] = true
			}
		}
	}
	return want
}

func (p plainRules) groups() map[int]bool {
	want := map[int]bool{}
	for i, a := range p.spells {
		sum, first, told := 0, true, true
		for j, b := range p.spells {
			if a[0] != b[0] || a[1] != b[1] {
				continue
			}
			first = first && j >= i
			x, ok := integer(b[2])
			told = told && ok
			sum += x
		}
		if a[0] != "" && a[1] != "DK" && first && told && sum > 15 {
			want[i] = true
		}
	}
	return want
}

func (p plainRules) totals(rule string, column int) map[int]bool {
	want := map[int]bool{}
	for i, c := range p.children {
		sum, missing, untold := 0, false, false
		sports := map[string]bool{}
		for _, s := range p.spells {
			if s[0] != c[0] {
				continue
			}
			switch rule {
			case "count":
				to, ok := integer(s[3])
				untold = untold || !ok
				if to >= 10 {
					sum++
				}
			case "sum":
				from, ok := integer(s[2])
				missing = missing || s[2] == "NM"
				untold = untold || !ok && s[2] != "NM"
				sum += from
			case "distinct":
				missing = missing || s[1] == "DK"
				sports[s[1]] = true
				sum = len(sports)
			}
		}
		total, present := integer(c[column])
		invalid := c[column] == "x"
		switch {
		case untold || invalid:
		case rule == "count":
			want[i] = present && total != sum
		case missing:
			want[i] = present
		default:
			want[i] = !present || total != sum
		}
		if !want[i] {
			delete(want, i)
		}
	}
	return want
}

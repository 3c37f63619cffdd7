package dataset

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"
)

// manyRows are rows of few large or many small groups in no order; nearly all
// of their intervals overlap others where they are long.
func manyRows(n, groups int, long bool) [][]string {
	rows := make([][]string, n)
	for i := range rows {
		from := (i * 7919) % n
		to := from + 1
		if long && i%2 == 0 {
			to += n
		}
		rows[i] = []string{fmt.Sprintf("SM-%06d", i%groups), "a", fmt.Sprint(from), fmt.Sprint(to)}
	}
	return rows
}

// rulesOf is plainYAML with one rule in spells.
func rulesOf(rule string) string {
	at := strings.LastIndex(plainYAML, "      rules:")
	kept := strings.Split(plainYAML[at:], "\n")
	out := []string{kept[0]}
	for _, line := range kept[1:] {
		if strings.Contains(line, "{name: "+rule+",") {
			out = append(out, line)
		}
	}
	return plainYAML[:at] + strings.Join(out, "\n") + "\n"
}

func benchmarkRule(b *testing.B, rule string, groups int, long bool) {
	const n = 200_000
	d := inMemory(b, decode(b, rulesOf(rule)), map[string][][]string{"spells": manyRows(n, groups, long)})
	t := d.Table("spells")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := checkRules(context.Background(), d, t); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkNoOverlap(b *testing.B)         { benchmarkRule(b, "half open", 20_000, false) }
func BenchmarkNoOverlapOneGroup(b *testing.B) { benchmarkRule(b, "half open", 1, false) }
func BenchmarkNoOverlapFaulty(b *testing.B)   { benchmarkRule(b, "half open", 1, true) }
func BenchmarkUnique(b *testing.B)            { benchmarkRule(b, "unique", 20_000, false) }
func BenchmarkGroup(b *testing.B)             { benchmarkRule(b, "group", 20_000, false) }

// 50,000 rows must not take their square. The bound is many times what it
// takes.
func TestManyRows(t *testing.T) {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	const n = 50_000
	for _, groups := range []int{1, 20_000} {
		d := inMemory(t, decode(t, plainYAML), map[string][][]string{"spells": manyRows(n, groups, true)})
		if _, err := checkRules(ctx, d, d.Table("spells")); err != nil {
			t.Fatal(err)
		}
	}
}

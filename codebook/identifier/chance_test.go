package identifier

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Columns of random codes, measurements and days are not held for identifiers.
// 1,000 columns of each sort are drawn (20,000 with HEELCOHORT_COVERAGE set);
// with RunChance and ten schemes the expected number of false alarms is below
// 1.2 in the 120,000 columns of the six sorts of numbers, and seen is none.
func TestRandomColumns(t *testing.T) {
	columns := 1000
	if os.Getenv("HEELCOHORT_COVERAGE") != "" {
		columns = 20_000
	}
	r := rand.New(rand.NewPCG(11, 12))
	digits := func(n int) string {
		b := make([]byte, n)
		for i := range b {
			b[i] = byte('0' + r.IntN(10))
		}
		return string(b)
	}
	sorts := map[string]func(i int) string{
		"nine digits":     func(int) string { return digits(9) },
		"ten digits":      func(int) string { return digits(10) },
		"eleven digits":   func(int) string { return digits(11) },
		"13 digits":       func(int) string { return "756" + digits(10) },
		"letter and nine": func(int) string { return string(rune('A'+r.IntN(26))) + digits(9) },
		"counted up":      func(i int) string { return strconv.Itoa(1_000_000_000 + i) },
		"codes":           func(i int) string { return fmt.Sprintf("SM-%04d", r.IntN(10000)) },
		"site and child":  func(i int) string { return fmt.Sprintf("%02d-%03d", r.IntN(6), i) },
		"measurements":    func(int) string { return strconv.FormatFloat(95+r.Float64()*100, 'f', 1, 64) },
		"negative":        func(int) string { return strconv.FormatFloat(-15+r.Float64()*35, 'f', 2, 64) },
		"study days":      func(int) string { return strconv.Itoa(r.IntN(1800) - 365) },
		"ranges":          func(int) string { return fmt.Sprintf("%d-%d", r.IntN(100), r.IntN(100)) },
		"seconds":         func(int) string { return fmt.Sprintf("%d.%06d", r.IntN(100), r.IntN(1000000)) },
		"letters": func(int) string {
			return string([]byte{byte('A' + r.IntN(26)), byte('a' + r.IntN(26)), byte('a' + r.IntN(26))})
		},
	}
	alarms := 0
	for name, cell := range sorts {
		for range columns {
			c := NewColumn(About{Titles: []string{"value"}})
			for i := range 12 {
				c.Text(i, cell(i))
			}
			for _, v := range c.Verdicts() {
				if v.Screen.Direct {
					alarms++
					t.Logf("%s: %s (%s)", name, v.Screen.Name, v.Note)
				}
			}
		}
	}
	if alarms > 0 {
		t.Errorf("%d false alarms in %d columns, want none", alarms, columns*len(sorts))
	}
}

// A mask tells the length of a text and nothing else: texts of one length have
// one mask.
func TestMask(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.StringN(0, 30, -1).Draw(t, "a")
		n := len([]rune(a))
		if got, want := Mask(a), Mask(strings.Repeat("z", n)); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	})
	if got := Mask("Saltmarsh E"); got != "a text of 11 characters" {
		t.Error(got)
	}
}

// No text makes the screen stumble, and verdicts count no more than there is.
func FuzzColumn(f *testing.F) {
	for _, s := range []string{"", "+", "(", "@", "a@b.c", "0", "1.1.1.1", "\\\\", "2A", "A123456780", "é", "\xff\xfe", "Mr ", "12 Old Road", "www."} {
		f.Add("name", s)
	}
	f.Fuzz(func(t *testing.T, title, text string) {
		c := NewColumn(About{Titles: []string{title, "phone", "dob", "mrn"}})
		for i := range 3 {
			c.Text(i, text)
			c.Number(i, text)
			c.Text(i, text+"1")
		}
		for _, v := range c.Verdicts() {
			if v.Count > v.Of {
				t.Errorf("%s: %d of %d cells", v.Screen.Name, v.Count, v.Of)
			}
		}
		Shows(text)
	})
}

// Five million short cells of a study: 20 columns of codes, numbers and words.
func BenchmarkFiveMillionCells(b *testing.B) {
	const rows = 250_000
	var codes, numbers, words, days [rows]string
	for i := range rows {
		codes[i] = fmt.Sprintf("SM-%04d", i%10000)
		numbers[i] = fmt.Sprintf("%d.%d", i%200, i%10)
		words[i] = []string{"left", "right", "football", "Gymnastics"}[i%4]
		days[i] = strconv.Itoa(i % 1460)
	}
	b.ReportAllocs()
	for b.Loop() {
		for range 5 {
			for _, texts := range []*[rows]string{&codes, &numbers, &words, &days} {
				c := NewColumn(About{Titles: []string{"value"}})
				for i, s := range texts {
					c.Text(i, s)
				}
				c.Verdicts()
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N), "ms/5M")
}

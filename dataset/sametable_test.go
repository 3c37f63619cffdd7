package dataset

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// TestSameTable draws a table and how each cell is stored, shown or written, and
// wants the same typed values whatever was drawn: every way here is one in which
// some program saves the cell.
func TestSameTable(t *testing.T) {
	yaml := fieldBook(`
{name: child, type: string, constraints: {pattern: 'SM-[0-9]{4}'}, heelcohort: {titles: ["Child\nID"]}}
{name: side, type: string, categories: [left, "both heels"], missingValues: ["", "NM"]}
{name: hours, type: number, groupChar: " ", missingValues: ["-9"]}
{name: count, type: integer, missingValues: ["", "999"]}
{name: share, type: number, heelcohort: {percent: shown}}
{name: limp, type: boolean, missingValues: ["", "9"]}
{name: seen, type: date, format: "%d.%m.%Y"}
{name: entered, type: datetime}`)
	blank := rapid.SampledFrom([]string{"", " ", "\u00a0", "\t", "\ufeff", "\u200b", " \r\n"})
	rapid.Check(t, func(rt *rapid.T) {
		pick := func(cells ...rawCell) rawCell {
			c := rapid.SampledFrom(cells).Draw(rt, "cell")
			if c.sort == textCell && c.text != "" {
				mark := rapid.SampledFrom([]string{"", "", "'"}).Draw(rt, "mark")
				c.text = blank.Draw(rt, "before") + mark + c.text + blank.Draw(rt, "after")
			}
			return c
		}
		written := func(texts ...string) []rawCell { return words(texts...) }
		date1904 := rapid.Bool().Draw(rt, "1904")
		serial := func(day time.Time, fraction string) rawCell {
			from := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
			if date1904 {
				from = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
			}
			return num(strconv.Itoa(int(day.Sub(from).Hours()/24))+fraction, dateFormat)
		}
		want := make([]string, 8)
		title := rapid.SampledFrom([]string{"child", " child ", "Child ID", "Child\r\nID"}).Draw(rt, "title")
		rows := [][]rawCell{words(title, "side", "hours", "count", "share", "limp", "seen", "entered")}
		for range rapid.IntRange(1, 4).Draw(rt, "rows") {
			var row []rawCell
			add := func(value string, c rawCell) {
				want[len(row)] = strings.TrimPrefix(want[len(row)]+" "+value, " ")
				row = append(row, c)
			}
			id := fmt.Sprintf("SM-%04d", rapid.IntRange(0, 9999).Draw(rt, "child"))
			add(id, pick(written(id)...))
			side := rapid.SampledFrom([]string{"left", "both heels", "[NM]"}).Draw(rt, "side")
			add(side, pick(written(strings.Trim(side, "[]"))...))

			whole, fraction := rapid.IntRange(1000, 999999).Draw(rt, "whole"), rapid.IntRange(1, 9).Draw(rt, "fraction")
			digits := strconv.Itoa(whole)
			head, tail := digits[:len(digits)-3], digits[len(digits)-3:]
			hours := fmt.Sprintf("-%d.%d", whole, fraction)
			mark := rapid.SampledFrom([]string{" ", "\u00a0", "\u2009", "\u202f"}).Draw(rt, "mark between thousands")
			add(hours, pick(num(hours), num(hours, paddedFormat), rawCell{text: hours}, rawCell{text: "\u2212" + hours[1:]},
				rawCell{text: fmt.Sprintf("-%s%s%s.%d", head, mark, tail, fraction)}, rawCell{text: hours + "0"}))

			count := strconv.Itoa(rapid.IntRange(0, 998).Draw(rt, "count"))
			add(count, pick(num(count), num(count, paddedFormat), rawCell{text: count}, rawCell{text: "0" + count}, rawCell{text: "+" + count}))
			if rapid.Bool().Draw(rt, "missing") {
				want[3] = strings.TrimSuffix(want[3], count) + "[999]"
				row[3] = pick(num("999"), rawCell{text: "999"})
			}

			percent := rapid.IntRange(1, 100).Draw(rt, "percent")
			add(strconv.Itoa(percent), pick(num(strconv.FormatFloat(float64(percent)/100, 'f', -1, 64), percentFormat), num(strconv.Itoa(percent)),
				rawCell{text: fmt.Sprintf("%d%%", percent)}, rawCell{text: fmt.Sprintf("%d.0 %%", percent)}, rawCell{text: strconv.Itoa(percent)}))

			if rapid.Bool().Draw(rt, "limp") {
				add("true", pick(rawCell{text: "TRUE", sort: booleanCell}, num("1"), rawCell{text: "TRUE"}, rawCell{text: "true"}, rawCell{text: "1"}))
			} else {
				add("false", pick(rawCell{text: "FALSE", sort: booleanCell}, num("0"), rawCell{text: "False"}, rawCell{text: "0"}))
			}

			day := time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(-20000, 20000).Draw(rt, "day"))
			iso := func(layout string) rawCell { return rawCell{text: day.Format(layout), sort: isoDateCell} }
			plain := func(layout string) rawCell { return rawCell{text: day.Format(layout)} }
			add(day.Format("2006-01-02"), pick(serial(day, ""), iso("2006-01-02"), iso("2006-01-02T15:04:05Z"),
				plain("02.01.2006"), plain("2.1.2006"), plain("02.01.2006 15:04:05"), plain("02.01.2006 15:04")))
			day = day.Add(time.Duration(rapid.IntRange(0, 86399).Draw(rt, "second")) * time.Second)
			fractions := []rawCell{serial(day.Truncate(24*time.Hour), ""), serial(day.Truncate(24*time.Hour), ".5"), serial(day.Truncate(24*time.Hour), ".99998")}
			add(day.Format("2006-01-02"), pick(append(fractions, iso("2006-01-02T15:04:05"), plain("2006-01-02T15:04:05Z"), plain("2006-01-02 15:04:05"),
				plain("2006-01-02T15:04"), plain("2006-01-02"), plain("2006-01-02 15:04:05.000"))...))
			rows = append(rows, row)
		}
		table, found, err := readMade(t, yaml, cells(rows...), date1904)
		if err != nil || len(found) > 0 {
			rt.Fatalf("%v, %+v", err, found)
		}
		for i, c := range table.Columns {
			if got := values(c); got != want[i] {
				rt.Fatalf("%s is %s, want %s", c.Name, got, want[i])
			}
			for j := range c.Len() {
				if source := c.Source(j); source != rows[j+1][i].text {
					rt.Fatalf("%s: source %q, want %q", c.Name, source, rows[j+1][i].text)
				}
			}
		}
	})
}

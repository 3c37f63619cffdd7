package dataset

import (
	"fmt"
	"strings"
	"testing"
)

// Cells that a workbook stores as numbers, booleans and days are read by
// fields that write theirs in another way.
func TestStoredCellsInForeignNotation(t *testing.T) {
	yaml := `
name: notation
resources:
  - name: t
    path: t.xlsx
    schema:
      missingValues: ["", "-9.5", "TRUE"]
      fields:
        - {name: comma, type: number, decimalChar: ",", groupChar: "."}
        - {name: count, type: integer, groupChar: ","}
        - {name: lame, type: boolean, trueValues: ["ja"], falseValues: ["nein"]}
        - {name: day, type: date, format: "%d.%m.%Y"}
        - {name: month, type: date, format: "%d %B %Y"}
        - {name: code, type: integer, categories: [{value: 1, label: one}, {value: 2, label: two}]}
        - {name: word, type: string}
`
	head := `<sheetData><row r="1">`
	for i, name := range []string{"comma", "count", "lame", "day", "month", "code", "word"} {
		head += text(columnLetters(i+1)+"1", name)
	}
	cells := func(row int, cells ...string) string {
		s := fmt.Sprintf(`<row r="%d">`, row)
		for i, c := range cells {
			s += strings.Replace(c, "<c", fmt.Sprintf(`<c r="%s%d"`, columnLetters(i+1), row), 1)
		}
		return s + `</row>`
	}
	sheet := head + `</row>` +
		cells(2, `<c><v>1.234</v></c>`, `<c><v>1234</v></c>`, `<c t="b"><v>0</v></c>`, `<c><v>44621</v></c>`, `<c><v>44621</v></c>`, `<c><v>2</v></c>`, `<c><v>1.5</v></c>`) +
		cells(3, `<c t="str"><v>1.234,5</v></c>`, `<c><v>1.234</v></c>`, `<c t="str"><v>ja</v></c>`, `<c t="str"><v>2.3.2022</v></c>`, `<c t="d"><v>2022-03-02T00:00:00Z</v></c>`, `<c><v>3</v></c>`, `<c t="b"><v>0</v></c>`) +
		cells(4, `<c><v>-9.5</v></c>`, `<c t="str"><v>1,234</v></c>`, `<c t="b"><v>1</v></c>`, `<c><v>-9.5</v></c>`, `<c/>`, `<c><v>1.5</v></c>`, `<c><v>9.0999999999999996</v></c>`) +
		`</sheetData>`
	d, found := read(t, yaml, map[string][]byte{"t.xlsx": sheetXML(t, sheet, "", "")})
	wantLocated(t, found, "type @ B3: 1.234", "category @ F3: 3", "type @ F4: 1.5")
	table := d.Table("t")
	wantValues(t, table, "comma", "1.234 1234.5 [-9.5]")
	wantValues(t, table, "count", "1234 ! 1234")
	wantValues(t, table, "lame", "false true [TRUE]")
	wantValues(t, table, "day", "2022-03-01 2022-03-02 [-9.5]")
	wantValues(t, table, "month", "2022-03-01 2022-03-02 []")
	wantValues(t, table, "code", "2 ! !")
	wantValues(t, table, "word", "1.5 FALSE 9.1")
	if c := table.Column("code"); strings.Join(c.Labels, "|") != "one|two" || strings.Join(c.Words, "|") != "1|2" {
		t.Errorf("words %q, labels %q", c.Words, c.Labels)
	}
}

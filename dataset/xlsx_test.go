package dataset

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

const smallHead = `<row r="1"><c r="A1" t="inlineStr"><is><t>id</t></is></c><c r="B1" t="inlineStr"><is><t>age</t></is></c>` +
	`<c r="C1" t="inlineStr"><is><t>limp</t></is></c><c r="D1" t="inlineStr"><is><t>seen</t></is></c></row>`

// Each row of this sheet is one way in which a cell can be stored.
func TestXLSXStoredCells(t *testing.T) {
	sheet := `<sheetData>` + smallHead +
		// numbers, boolean, serial date: 44621 is 2022-03-01
		`<row r="2">` + text("A2", "a") + `<c r="B2"><v>9.0999999999999996</v></c><c r="C2" t="b"><v>1</v></c><c r="D2"><v>44621</v></c></row>` +
		// numbers stored as texts, shared and inline
		`<row r="3"><c r="A3" t="s"><v>1</v></c><c r="B3" t="s"><v>0</v></c>` + text("C3", "false") + text("D3", "2022-03-02") + `</row>` +
		// rich text, error values
		`<row r="4"><c r="A4" t="s"><v>2</v></c><c r="B4" t="e"><v>#DIV/0!</v></c><c r="C4" t="e"><v>#N/A</v></c><c r="D4" t="d"><v>2022-03-03T00:00:00</v></c></row>` +
		// formulas: with value, without value, with an empty text as value
		`<row r="5"><c r="A5" t="str"><f>"x"</f><v>x</v></c><c r="B5"><f>5+6</f><v>11</v></c><c r="C5"><f>1=1</f></c><c r="D5" t="str"><f>""</f><v></v></c></row>` +
		`<row r="6">` + text("A6", "f") + `<c r="B6"><f>5+6</f><v/></c><c r="C6" t="b"><f>1=1</f><v>0</v></c><c r="D6" t="str"><f>TODAY()</f></c></row>` +
		// TRUE where a number should be, time of day, number of missing code in a date
		`<row r="7">` + text("A7", "g") + `<c r="B7" t="b"><v>1</v></c><c r="C7"><v>0</v></c><c r="D7"><v>44621.5</v></c></row>` +
		`<row r="8">` + text("A8", "h") + text("B8", "NM") + `<c r="C8"/><c r="D8"><v>999</v></c></row>` +
		`<row r="9">` + text("A9", "i") + `<c r="B9"><v>1.5E-3</v></c><c r="C9" s="0"/><c r="D9"><v>60</v></c></row>` +
		`<row r="10">` + text("A10", "j") + `<c r="B10"><v>0.30000000000000004</v></c><c r="D10" t="d"><v>2022-03-03T10:00:00</v></c></row>` +
		`</sheetData>`
	shared := `<si><t>12.5</t></si><si><t>b</t></si><si><r><t>SM</t></r><r><t>-1</t></r></si>`
	d, found := read(t, small("data.xlsx"), map[string][]byte{"data.xlsx": sheetXML(t, sheet, "", shared)})
	wantLocated(t, found,
		"error cell @ B4: #DIV/0!",
		"error cell @ C4: #N/A",
		"formula without value @ C5: =1=1",
		"formula without value @ B6: =5+6",
		"formula without value @ D6: =TODAY()",
		"type @ B7: TRUE",
		"date @ D7: 44621.5",
		"date @ D9: 60",
		"type @ D10: 2022-03-03T10:00:00",
	)
	table := d.Table("children")
	wantValues(t, table, "id", "a b SM-1 x f g h i j")
	wantValues(t, table, "age", "9.1 12.5 ! 11 ! ! [NM] 0.0015 0.30000000000000004")
	wantValues(t, table, "limp", "true false ! ! false false [] [] []")
	wantValues(t, table, "seen", "2022-03-01 2022-03-02 2022-03-03 [] ! ! [999] ! !")
	if got := table.Column("age").Number[8]; math.Float64bits(got) != 0x3fd3333333333334 {
		t.Errorf("0.30000000000000004 reads as %v", got)
	}
	if got := table.Origin(0, table.Column("age")).String(); got != `data.xlsx, sheet "data", B2` {
		t.Errorf("origin %q", got)
	}
}

func TestXLSX1904(t *testing.T) {
	sheet := `<sheetData>` + smallHead +
		`<row r="2"><c r="D2"><v>0</v></c></row><row r="3"><c r="D3"><v>43159</v></c></row><row r="4"><c r="D4"><v>-1</v></c></row></sheetData>`
	for _, properties := range []string{`date1904="1"`, `date1904="true"`} {
		d, found := read(t, small("data.xlsx"), map[string][]byte{"data.xlsx": sheetXML(t, sheet, properties, "")})
		wantLocated(t, found, "date @ D4: -1")
		wantValues(t, d.Table("children"), "seen", "1904-01-01 2022-03-01 !")
	}
}

// Rows and cells may come without references; rows may be left out.
func TestXLSXWithoutReferences(t *testing.T) {
	head := strings.NewReplacer(` r="1"`, "", ` r="A1"`, "", ` r="B1"`, "", ` r="C1"`, "", ` r="D1"`, "").Replace(smallHead)
	sheet := `<sheetData>` + head + `<row><c t="inlineStr"><is><t>a</t></is></c><c><v>7</v></c></row>` +
		`<row r="5"><c><v>3</v></c><c r="D5"><v>44621</v></c></row><row r="7"/><row r="9"><c r="B9"/></row></sheetData>`
	d, found := read(t, small("data.xlsx"), map[string][]byte{"data.xlsx": sheetXML(t, sheet, "", "")})
	wantLocated(t, found, "empty row @ row 3: ")
	if !strings.Contains(found[0].Message, "rows 3 to 4") || found[0].Severity != Warning {
		t.Errorf("finding %+v", found[0])
	}
	wantValues(t, d.Table("children"), "id", "a 3")
	wantValues(t, d.Table("children"), "seen", "[] 2022-03-01")
}

func TestXLSXMerged(t *testing.T) {
	sheet := `<sheetData>` + smallHead +
		`<row r="2">` + text("A2", "a") + `<c r="B2"><v>7</v></c></row>` +
		`<row r="3">` + text("A3", "b") + `</row><row r="4">` + text("A4", "c") + `<c r="B4"><v>9</v></c></row></sheetData>` +
		`<mergeCells count="3"><mergeCell ref="B2:C3"/><mergeCell ref="F2:G9"/><mergeCell ref="D4"/></mergeCells>`
	d, found := read(t, small("data.xlsx"), map[string][]byte{"data.xlsx": sheetXML(t, sheet, "", "")})
	wantLocated(t, found, "merged cells @ B2: B2:C3")
	wantValues(t, d.Table("children"), "age", "7 ! 9")
	wantValues(t, d.Table("children"), "limp", "! ! []")
	wantValues(t, d.Table("children"), "seen", "[] [] []")
}

// Damage that a lenient reader would pass over as a shorter or emptier sheet.
func TestXLSXDamage(t *testing.T) {
	row := `<row r="2">` + text("A2", "a") + `</row>`
	for name, c := range map[string]struct{ sheet, shared, words string }{
		"cut short":            {`<sheetData>` + smallHead + `<row r="2"><c r="A2"><v>1`, "", "damaged"},
		"wrong nesting":        {`<sheetData>` + smallHead + `<row r="2"><c r="A2"><v>1</c></v></row></sheetData>`, "", "damaged"},
		"rows out of order":    {`<sheetData>` + smallHead + `<row r="3">` + text("A3", "a") + `</row>` + row + `</sheetData>`, "", "row 2 stands after row 3"},
		"row twice":            {`<sheetData>` + smallHead + row + row + `</sheetData>`, "", "row 2 stands after row 2"},
		"cells out of order":   {`<sheetData>` + smallHead + `<row r="2">` + text("B2", "1") + text("A2", "a") + `</row></sheetData>`, "", "out of order"},
		"cell twice":           {`<sheetData>` + smallHead + `<row r="2">` + text("A2", "1") + text("A2", "a") + `</row></sheetData>`, "", "out of order"},
		"cell of another row":  {`<sheetData>` + smallHead + `<row r="2">` + text("A3", "1") + `</row></sheetData>`, "", "does not fit"},
		"no such shared text":  {`<sheetData>` + smallHead + `<row r="2"><c r="A2" t="s"><v>5</v></c></row></sheetData>`, "<si><t>x</t></si>", "names shared text 5 of 1"},
		"index is no number":   {`<sheetData>` + smallHead + `<row r="2"><c r="A2" t="s"><v>x</v></c></row></sheetData>`, "<si><t>x</t></si>", "shared text"},
		"unknown type":         {`<sheetData>` + smallHead + `<row r="2"><c r="A2" t="q"><v>5</v></c></row></sheetData>`, "", `unknown type "q"`},
		"row too far":          {`<sheetData>` + smallHead + `<row r="1048577"/></sheetData>`, "", "row number"},
		"column too far":       {`<sheetData>` + smallHead + `<row r="2">` + text("XFE2", "1") + `</row></sheetData>`, "", "does not fit"},
		"two values":           {`<sheetData>` + smallHead + `<row r="2"><c r="A2"><v>1</v><v>2</v></c></row></sheetData>`, "", "two values"},
		"no cells' section":    {`<dimension ref="A1"/>`, "", "no cells"},
		"empty":                {`<sheetData/>`, "", "expected the names of the columns"},
		"merged area reversed": {`<sheetData>` + smallHead + `</sheetData><mergeCells><mergeCell ref="B2:A1"/></mergeCells>`, "", "merged area"},
		"error in header":      {`<sheetData><row r="1"><c r="A1" t="e"><v>#REF!</v></c></row></sheetData>`, "", "error value #REF!"},
		"formula in header":    {`<sheetData><row r="1"><c r="A1"><f>B1</f></c></row></sheetData>`, "", "without a stored value"},
	} {
		t.Run(name, func(t *testing.T) {
			readErr(t, small("data.xlsx"), map[string][]byte{"data.xlsx": sheetXML(t, c.sheet, "", c.shared)}, "data.xlsx", c.words)
		})
	}
}

func TestXLSXRefusals(t *testing.T) {
	good := book(t, map[string][][]any{"childern": {{"id", "age", "limp", "seen"}}, "other": {{"x"}}})
	locked := func() []byte {
		f := excelize.NewFile()
		defer f.Close()
		var b bytes.Buffer
		if err := f.Write(&b, excelize.Options{Password: "x"}); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}()
	named := strings.Replace(small("data.xlsx"), "    schema:", "    heelcohort: {sheet: children}\n    schema:", 1)
	for _, c := range []struct {
		yaml, file string
		data       []byte
		words      string
	}{
		{small("data.xlsx"), "data.xlsx", good, "has 2 sheets"},
		{named, "data.xlsx", good, `no sheet "children"`},
		{named, "data.xlsx", good, `did you mean "childern"?`},
		{small("data.xlsx"), "data.xlsx", locked, "password"},
		{small("data.xlsx"), "data.xlsx", nil, "empty"},
		{small("data.xlsx"), "data.xlsx", []byte("id,age\n"), "not a workbook"},
		{small("data.xlsx"), "data.xlsx", []byte("PK\x03\x04garbage"), "not a zip archive"},
		{small("data.xlsx"), "data.xlsx", zipped(t, [][2]string{{"a.txt", "x"}}), "no workbook"},
		{small("data.xlsx"), "dat.xlsx", good, `no such file (did you mean "dat.xlsx"?)`},
		{small("data.xls"), "data.xls", []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"), ".xls format are not read"},
		{small("data.ods"), "data.ods", good, ".ods format are not read"},
		{small("data.xlsm"), "data.xlsm", good, "macros are not read"},
		{small("data.dat"), "data.dat", []byte("id\n"), `file ending ".dat", expected`},
	} {
		readErr(t, c.yaml, map[string][]byte{c.file: c.data}, c.words)
	}
}

func TestXLSXColumns(t *testing.T) {
	d, found := read(t, strings.Replace(small("data.xlsx"), "    schema:", "    heelcohort: {sheet: data, header_row: 3}\n    schema:", 1),
		map[string][]byte{"data.xlsx": book(t, map[string][][]any{"notes": {{"x"}}, "data": {
			{"Saltmarsh Youth Sport Heel Registry"},
			{},
			{"seen", " id ", "mother", "age", "limb", nil, "limp"},
			{"2022-03-01", "a", "M. Reed", 10, 1, nil, true},
			{"2022-03-02", "b", "J. Sand", 11, 1, "late", false, "far"},
		}})})
	wantLocated(t, found,
		"unknown column @ C3: mother",
		"unknown column @ E3: limb",
		"unknown column @ F3: ",
		"unknown column @ H3: ",
	)
	if found[1].Nearest != "limp" || found[0].Severity != Error {
		t.Errorf("findings %+v", found[:2])
	}
	table := d.Table("children")
	wantValues(t, table, "id", "a b")
	wantValues(t, table, "limp", "true false")
	if table.Rows[1] != 5 || table.Column("limp").Index != 7 {
		t.Errorf("rows %v, column %d", table.Rows, table.Column("limp").Index)
	}
}

// What the reader of workbooks refuses is placed by file, sheet and cell.
func TestXLSXRefusedInPlace(t *testing.T) {
	long := strings.Repeat("a", 1_000_000)
	head := `<sheetData>` + smallHead
	for name, c := range map[string]struct{ sheet, words string }{
		"long cell": {head + `<row r="7">` + text("B7", long) + `</row></sheetData>`, `data.xlsx, sheet "data", B7: a text of more than`},
		"entity":    {head + `<row r="7">` + text("B7", "&nbsp;") + `</row></sheetData>`, `data.xlsx, sheet "data", B7: part "xl/worksheets/sheet1.xml" is damaged: the unknown entity`},
		"order":     {head + `<row r="7">` + text("B7", "x") + text("A7", "x") + `</row></sheetData>`, `data.xlsx, sheet "data", A7: cell A7 is out of order`},
		"rows":      {head + `<row r="7"/><row r="6"/></sheetData>`, `data.xlsx, sheet "data", row 7: row 6 stands after row 7`},
	} {
		t.Run(name, func(t *testing.T) {
			readErr(t, small("data.xlsx"), map[string][]byte{"data.xlsx": sheetXML(t, c.sheet, "", "")}, c.words)
		})
	}
}

// One cell at the sheet's far corner is a column without a title and costs
// nothing; such a cell in every row is refused before it costs time.
func TestXLSXFarCells(t *testing.T) {
	sheet := `<sheetData>` + smallHead + `<row r="2">` + text("A2", "a") + `</row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>`
	d, found := read(t, small("data.xlsx"), map[string][]byte{"data.xlsx": sheetXML(t, sheet, "", "")})
	wantLocated(t, found, "unknown column @ XFD1: ", "empty row @ row 3: ")
	if n := d.Tables[0].Len(); n != 2 {
		t.Errorf("%d rows, want 2", n)
	}
	var b strings.Builder
	b.WriteString(`<sheetData>` + smallHead)
	for i := 2; i < 20_000; i++ {
		fmt.Fprintf(&b, `<row r="%d"><c r="XFD%d"><v>1</v></c></row>`, i, i)
	}
	b.WriteString(`</sheetData>`)
	readErr(t, small("data.xlsx"), map[string][]byte{"data.xlsx": sheetXML(t, b.String(), "", "")}, "data.xlsx", "rows reach over more than")
}

// A text of some length that stands in every cell is kept once; many different
// ones are refused before they fill the memory.
func TestXLSXManyTexts(t *testing.T) {
	var long strings.Builder
	for i := range 6000 {
		fmt.Fprintf(&long, "%d ", i*i)
	}
	make := func(different int) []byte {
		var shared, b strings.Builder
		for i := range different {
			fmt.Fprintf(&shared, "<si><t>%d%s</t></si>", i, long.String()[i:])
		}
		b.WriteString(`<sheetData>` + smallHead)
		for i := range 20_000 {
			fmt.Fprintf(&b, `<row><c t="s"><v>%d</v></c></row>`, i%different)
		}
		b.WriteString(`</sheetData>`)
		return sheetXML(t, b.String(), "", shared.String())
	}
	d, _ := read(t, small("data.xlsx"), map[string][]byte{"data.xlsx": make(3)})
	if n := len(d.Tables[0].Columns[0].source.data); n > 200_000 {
		t.Errorf("%d bytes of sources", n)
	}
	readErr(t, small("data.xlsx"), map[string][]byte{"data.xlsx": make(1500)}, "bytes of text that are read of a table")
}

func TestOpenCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	dir := folder(t, map[string][]byte{"data.csv": []byte("id,age,limp,seen\n")})
	if _, _, err := Open(ctx, dir, decode(t, small("data.csv")), Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want %v", err, context.Canceled)
	}
}

func TestProgress(t *testing.T) {
	yaml := small("data.xlsx") + strings.Replace(strings.SplitN(small("data.xlsx"), "resources:\n", 2)[1], "children", "again", 1)
	yaml = strings.Replace(yaml, "    schema:", "    heelcohort: {sheet: one}\n    schema:", 1)
	at := strings.LastIndex(yaml, "    schema:")
	yaml = yaml[:at] + "    heelcohort: {sheet: two}\n" + yaml[at:]
	rows := [][]any{{"id", "age", "limp", "seen"}}
	for i := range 2500 {
		rows = append(rows, []any{i, i, true, nil})
	}
	dir := folder(t, map[string][]byte{"data.xlsx": book(t, map[string][][]any{"one": rows, "two": rows})})
	last, calls := int64(-1), 0
	_, _, err := Open(context.Background(), dir, decode(t, yaml), Options{Progress: func(file string, done, total int64) {
		calls++
		if file != "data.xlsx" || done < last || done > total {
			t.Errorf("%s: %d of %d after %d", file, done, total, last)
		}
		last = done
		if calls > 1 && done == 0 {
			t.Error("no progress")
		}
		if total == 0 {
			t.Error("no total")
		}
		if done == total {
			last = total
		}
	}})
	if err != nil {
		t.Fatal(err)
	}
	if calls < 6 {
		t.Errorf("%d calls, want at least 6", calls)
	}
}

func TestXLSXHiddenRows(t *testing.T) {
	sheet := `<sheetData>` + smallHead + `<row r="2">` + text("A2", "a") + `</row><row r="3" hidden="1">` + text("A3", "b") +
		`</row><row r="4" hidden="true">` + text("A4", "c") + `</row><row r="5" hidden="0">` + text("A5", "d") + `</row><row r="6" hidden="1"/></sheetData>`
	d, found := read(t, small("data.xlsx"), map[string][]byte{"data.xlsx": sheetXML(t, sheet, "", "")})
	wantLocated(t, found, "hidden rows @ row 3: 2")
	if found[0].Severity != Warning {
		t.Errorf("finding %+v", found[0])
	}
	wantValues(t, d.Table("children"), "id", "a b c d")
}

package dataset

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/codebook"
	"heelcohort/dataset/delimited"
)

func TestCSV(t *testing.T) {
	d, found := read(t, small("data.csv"), map[string][]byte{"data.csv": []byte("\ufeffid,age,limp,seen\r\n" +
		"a,10.5,true,2022-03-01\r\n" +
		"\"b\nc\",NM,false,\r\n" + // one record on lines 3 and 4
		"d,999,1,2022-02-28\r\n")})
	wantLocated(t, found)
	table := d.Table("children")
	wantValues(t, table, "age", "10.5 [NM] [999]")
	wantValues(t, table, "limp", "true false true")
	wantValues(t, table, "seen", "2022-03-01 [] 2022-02-28")
	wantValues(t, table, "id", "a b\nc d")
	if got := table.Origin(2, table.Column("age")).String(); got != "data.csv, line 5, column 2" {
		t.Errorf("origin %q", got)
	}
	if got := d.Files[0].SHA256; len(got) != 64 {
		t.Errorf("hash %q", got)
	}
}

func TestTSV(t *testing.T) {
	d, found := read(t, small("data.tsv"), map[string][]byte{"data.tsv": []byte("seen\tid\tlimp\tage\n2022-03-01\ta,b\ttrue\t1e1\n")})
	wantLocated(t, found)
	wantValues(t, d.Table("children"), "id", "a,b")
	wantValues(t, d.Table("children"), "age", "10")
}

func TestCSVFindings(t *testing.T) {
	d, found := read(t, small("data.csv"), map[string][]byte{"data.csv": []byte("id,age,limp,seen\n" +
		"a,ten,true,2022-03-01\n" + // line 2: not a number
		"\n" +
		"\n" +
		"b,11,true\n" + // line 5: a cell short
		"c,12,true,2022-03-01,x\n" + // line 6: a cell too much
		"d,12,true,2022-03-01,,\n" + // line 7: empty cells too much do no harm
		" , ,,\n" +
		"e,13,maybe,2022-02-30\n" + // line 9
		"\n\n")})
	wantLocated(t, found,
		"type @ line 2, column 2: ten",
		"empty row @ line 3: ",
		"row length @ line 5: 3 cells",
		"row length @ line 6: 5 cells",
		"empty row @ line 8: ",
		"type @ line 9, column 3: maybe",
		"type @ line 9, column 4: 2022-02-30",
	)
	table := d.Table("children")
	wantValues(t, table, "id", "a ! ! d e")
	wantValues(t, table, "age", "! ! ! 12 13")
	if got := table.Column("id").Source(1); got != "b" {
		t.Errorf("source of the short line is %q, want it kept", got)
	}
}

func TestCSVRefusals(t *testing.T) {
	for _, c := range []struct{ data, words string }{
		{"id,age,limp,seen\na,1\xff,true,\n", "data.csv, line 2: byte 0xff is not valid UTF-8"},
		{"\xff\xfei\x00d\x00", `no columns named "age", "limp"`},
		{"id,age,limp,seen\na,\"1,true,\n", "line 2"},
		{"id,age,limp,seen\na,1\"1,true,\n", "line 2"},
		{"id,age,limp\n", `no column named "seen"`},
		{"id,age,limp,sen\n", `did you mean "sen"?`},
		{"id,age,limp,seen,age\n", `columns 2 and 5 are both named "age"`},
		{"", "expected the names of the columns"},
		{"\nid,age,limp,seen\n", "expected the names of the columns"},
		{"id,age\x00,limp,seen\n", "data.csv, line 1: a zero byte"},
		{"PK\x03\x04", "workbook under the name of a text file"},
	} {
		readErr(t, small("data.csv"), map[string][]byte{"data.csv": []byte(c.data)}, c.words)
	}
}

// A single column makes an empty line look like a record with an empty cell;
// it is left out with a warning and not in silence.
func TestCSVSingleColumn(t *testing.T) {
	d, found := read(t, `
name: one
resources:
  - {name: one, path: data.csv, schema: {fields: [{name: id, type: string}]}}
`, map[string][]byte{"data.csv": []byte("id\na\n\nb\n")})
	wantLocated(t, found, "empty row @ line 3: ")
	wantValues(t, d.Table("one"), "id", "a b")
}

// clinic is a codebook of decimal commas and categories with letters beyond
// ASCII; lines go into the resource.
func clinic(path, lines string) string {
	return `
name: saltmarsh
resources:
  - name: visits
    path: ` + path + `
` + lines + `    schema:
      fields:
        - {name: id, type: string}
        - {name: größe, type: number, decimalChar: ","}
        - {name: sex, type: string, categories: [männlich, weiblich]}
`
}

// A .csv with semicolons and decimal commas, as many spreadsheet programs save
// it, loads and says how it was read.
func TestTextOfClinic(t *testing.T) {
	const text = "id;größe;sex\r\nSM-0001;141,5;männlich\r\nSM-0002;150;weiblich\r\n"
	western := strings.NewReplacer("ö", "\xf6", "ä", "\xe4", "ß", "\xdf").Replace(text)
	for _, c := range []struct{ file, lines, data, note string }{
		{"v.csv", "", text, "v.csv: UTF-8, semicolons, CRLF (detected; pin with dialect in the codebook)"},
		{"v.csv", "", western, "v.csv: Windows-1252, semicolons, CRLF (detected; pin with encoding and dialect in the codebook)"},
		{"v.csv", "    encoding: cp1252\n    dialect: {delimiter: \";\"}\n", western, "v.csv: Windows-1252, semicolons, CRLF (pinned)"},
		{"v.csv", "    encoding: Latin1\n", western, "v.csv: ISO-8859-1, semicolons, CRLF (detected; pin with dialect in the codebook)"},
		{"v.txt", "", strings.ReplaceAll(text, ";", "\t"), "v.txt: UTF-8, tabs, CRLF"},
		{"v.csv", "", "sep=;\r\n" + text, "v.csv: UTF-8, semicolons, CRLF; the first line names the separator"},
		{"v.csv", "    dialect: {delimiter: \"|\", quoteChar: \"'\", lineTerminator: \"\\r\"}\n", strings.NewReplacer(";", "|", "\r\n", "\r", "weiblich", "'weiblich'").Replace(text), "v.csv: UTF-8, bars, single quotes, CR (dialect pinned)"},
	} {
		d, found := read(t, clinic(c.file, c.lines), map[string][]byte{c.file: []byte(c.data)})
		wantLocated(t, found)
		wantValues(t, d.Table("visits"), "größe", "141.5 150")
		wantValues(t, d.Table("visits"), "sex", "männlich weiblich")
		if got := d.Files[0].Note(); got != c.note {
			t.Errorf("note %q, want %q", got, c.note)
		}
		line := 2
		if strings.HasPrefix(c.data, "sep") {
			line = 3
		}
		if got := d.Table("visits").Rows[0]; got != line {
			t.Errorf("first row on line %d, want %d", got, line)
		}
	}
}

// The header's line counts in the file, with or without the line that names
// the separator.
func TestTextHeaderRow(t *testing.T) {
	for _, c := range []struct {
		row  int
		data string
	}{
		{1, "sep=;\nid;größe;sex\nSM-0001;1,5;weiblich\n"},
		{2, "sep=;\nid;größe;sex\nSM-0001;1,5;weiblich\n"},
		{3, "sep=;\nSaltmarsh\nid;größe;sex\nSM-0001;1,5;weiblich\n"},
		{3, "Saltmarsh; 2024\n\nid;größe;sex\nSM-0001;1,5;weiblich\n"},
	} {
		lines := "    heelcohort: {header_row: " + string(rune('0'+c.row)) + "}\n"
		d, found := read(t, clinic("v.csv", lines), map[string][]byte{"v.csv": []byte(c.data)})
		wantLocated(t, found)
		wantValues(t, d.Table("visits"), "größe", "1.5")
	}
}

// What contradicts a pin is refused with its place.
func TestTextPins(t *testing.T) {
	files := func(data string) map[string][]byte { return map[string][]byte{"v.csv": []byte(data)} }
	readErr(t, clinic("v.csv", "    encoding: utf-8\n"), files("id,gr\xf6\xdfe,sex\n"), "v.csv, line 1: byte 0xf6 is not valid UTF-8")
	readErr(t, clinic("v.csv", "    encoding: utf-16le\n"), files("\xfe\xff\x00i\x00d"), "v.csv, line 1: the file begins with the byte order mark of UTF-16 big-endian")
	readErr(t, clinic("v.csv", "    dialect: {delimiter: \",\"}\n"), files("id;größe;sex\n"), "v.csv, line 1: the columns are separated by semicolons")
	readErr(t, clinic("v.csv", ""), files("id,größe,sex\nSM-0001,\"1,weiblich\n"), "v.csv, line 2, column 2: the quote \" is not closed")
}

// Where letters may have been misread, words that match nothing say so.
func TestEncodingSuggested(t *testing.T) {
	const hint = "the file was read as Windows-1252; if its letters look wrong, say its encoding in the codebook"
	western := func(s string) []byte {
		return []byte(strings.NewReplacer("ö", "\xf6", "ä", "\xe4", "ß", "\xdf", "ø", "\xf8").Replace(s))
	}
	_, found := read(t, clinic("v.csv", ""), map[string][]byte{"v.csv": western("id;größe;sex;note\nSM-0001;1,5;mønnlich;\nSM-0002;1,5;x;\n")})
	wantLocated(t, found, "unknown column @ line 1, column 4: note", "category @ line 2, column 3: mønnlich", "category @ line 3, column 3: x")
	if !strings.HasSuffix(found[1].Message, hint) || !strings.Contains(found[1].Expected, hint) {
		t.Errorf("finding %+v", found[1])
	}
	for _, i := range []int{0, 2} {
		if strings.Contains(found[i].Message, "encoding") {
			t.Errorf("finding %+v", found[i])
		}
	}
	readErr(t, clinic("v.csv", ""), map[string][]byte{"v.csv": western("id;gröse;sex\n")}, `no column named "größe"; another spelling is declared in heelcohort.titles; `+hint)
	_, found = read(t, clinic("v.csv", ""), map[string][]byte{"v.csv": []byte("id;größe;sex\nSM-0001;1,5;mÃ¤nnlich\nSM-0002;2;m\ufffdnnlich\nSM-0003;3;möönnlich\n")})
	for i, want := range []string{`"männlich" may have been meant`, "a letter was lost", "category"} {
		if i < 2 != strings.Contains(found[i].Message, want) {
			t.Errorf("finding %+v, want %q", found[i], want)
		}
	}
	keyed := strings.Replace(clinic("v.csv", ""), "    schema:\n", "    schema:\n      primaryKey: id\n      foreignKeys: [{fields: sex, reference: {fields: id}}]\n", 1)
	d, _ := read(t, keyed, map[string][]byte{"v.csv": western("id;größe;sex\nSM-0001;1,5;männlich\n")})
	found, err := Validate(t.Context(), d)
	if err != nil || len(found) != 1 || !strings.Contains(found[0].Message, hint) {
		t.Errorf("findings %+v (%v)", found, err)
	}
}

// A marked copy of a text is read as the text was.
func TestMarkTextOfClinic(t *testing.T) {
	_, found, names, out := marked(t, clinic("v.csv", "    encoding: cp1252\n"), map[string][]byte{
		"v.csv": []byte("sep=;\r\nid;gr\xf6\xdfe;sex\r\nSM-0001;1,5;m\xe4nnlihc\r\n"),
	})
	if len(found) != 1 {
		t.Fatalf("findings %+v", found)
	}
	data, err := os.ReadFile(filepath.Join(out, names[0]))
	if err != nil {
		t.Fatal(err)
	}
	f := reopen(t, data)
	for cell, want := range map[string]string{"A1": "", "B2": "größe", "C3": "männlihc"} {
		if got, err := f.GetCellValue("v", cell); got != want || err != nil {
			t.Errorf("%s is %q (%v), want %q", cell, got, err, want)
		}
	}
	if notes := comments(t, f, "v"); len(notes) != 1 || notes["C3"] == "" {
		t.Errorf("comments %q", notes)
	}
}

// Every encoding that a codebook may name is one that is read.
func TestEncodingsAgree(t *testing.T) {
	a, b := slices.Sorted(slices.Values(codebook.Encodings)), slices.Sorted(slices.Values(delimited.Encodings()))
	if diff := cmp.Diff(a, b); diff != "" {
		t.Error(diff)
	}
}

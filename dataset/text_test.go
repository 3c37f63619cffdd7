package dataset

import (
	"testing"
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
	if got := table.Column("id").Source[1]; got != "b" {
		t.Errorf("source of the short line is %q, want it kept", got)
	}
}

func TestCSVRefusals(t *testing.T) {
	for _, c := range []struct{ data, words string }{
		{"id,age,limp,seen\na,1\xff,true,\n", "data.csv, line 2: byte 0xff is not valid UTF-8"},
		{"\xff\xfei\x00d\x00", `no column named "age", "limp"`},
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

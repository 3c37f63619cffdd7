package delimited

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestRefusals(t *testing.T) {
	names := Header{Names: []string{"id", "age"}}
	long := strings.Repeat("x", MaxCellText+1)
	for name, c := range map[string]struct {
		data         string
		dialect      Dialect
		header       Header
		line, column int
		words        string
	}{
		"unclosed quote":                {"id,age\n1,2\n3,\"4\n5,6\n", Dialect{}, names, 3, 2, "not closed"},
		"unclosed quote, CR":            {"id,age\r1,2\r3,\"4\r5,6\r", Dialect{}, names, 3, 2, "not closed"},
		"unclosed quote, CRLF":          {"id,age\r\n1,2\r\n3,\"4\r\n5,6\r\n", Dialect{}, names, 3, 2, "not closed"},
		"unclosed quote at the end":     {"id,age\n1,\"", Dialect{}, names, 2, 2, "not closed"},
		"quote inside a cell":           {"id,age\n1,2\n3,4\"5\n", Dialect{}, names, 3, 2, "inside a cell"},
		"quote behind a blank":          {"id,age\n1,2\n3, \"4\"\n", Dialect{}, names, 3, 2, "a blank before the opening quote"},
		"text behind a quote":           {"id,age\n\"1\n\"x,2\n", Dialect{}, names, 3, 1, "behind the closing quote"},
		"blank behind a quote":          {"id,age\n\"1\" ,2\n", Dialect{}, names, 2, 1, "behind the closing quote"},
		"single quote pinned":           {"id,age\n1,x'y\n", Dialect{Quote: '\''}, names, 2, 2, "quote '"},
		"zero byte":                     {"id,age\n1,2\n3,\x004\n", Dialect{}, names, 3, 0, "zero byte"},
		"zero byte, pinned":             {"id,age\n1,2\n3,\x004\n", Dialect{Encoding: "utf-8"}, names, 3, 0, "zero byte"},
		"zero byte, Windows":            {"id,age\r1,2\r3,\x004\r", Dialect{Encoding: "windows-1252"}, names, 3, 0, "zero byte"},
		"invalid UTF-8":                 {"id,age\n1,2\nü,\xff\n", Dialect{}, names, 3, 0, "byte 0xff is not valid UTF-8, though other letters"},
		"invalid UTF-8, pinned":         {"id,age\r\n1,2\r\n3,M\xfcller\r\n", Dialect{Encoding: "utf-8"}, names, 3, 0, "byte 0xfc is not valid UTF-8"},
		"invalid behind the mark":       {"\ufeffid,age\nM\xfcller,2\n", Dialect{}, names, 2, 0, "byte 0xfc is not valid UTF-8"},
		"cut UTF-8":                     {"id,age\n1,\xc3", Dialect{}, names, 2, 0, "byte 0xc3"},
		"surrogate in UTF-8":            {"id,age\n1,\xed\xa0\x80\n", Dialect{Encoding: "utf-8"}, names, 2, 0, "byte 0xed"},
		"undefined byte":                {"id,age\n1,\x81\n", Dialect{}, names, 2, 0, "byte 0x81"},
		"undefined byte, pinned":        {"id,age\n1,2\n1,\x8d\n", Dialect{Encoding: "windows-1252"}, names, 3, 0, "byte 0x8d has no meaning in Windows-1252"},
		"control byte of Latin 1":       {"id,age\n1,2\n1,\x93\n", Dialect{Encoding: "iso-8859-1"}, names, 3, 0, "byte 0x93 has no meaning in ISO-8859-1"},
		"UTF-8 pinned as Windows":       {"id,age\n1,Müller\n", Dialect{Encoding: "windows-1252"}, names, 2, 0, "the text is in UTF-8"},
		"mark of UTF-8, pinned Windows": {"\ufeffid,age\n", Dialect{Encoding: "windows-1252"}, names, 1, 0, "byte order mark of UTF-8"},
		"mark of UTF-8, pinned UTF-16":  {"\ufeffid,age\n", Dialect{Encoding: "utf-16"}, names, 1, 0, "byte order mark of UTF-8"},
		"mark of the other order":       {"\xff\xfei\x00\n\x00", Dialect{Encoding: "utf-16be"}, names, 1, 0, "byte order mark of UTF-16 little-endian"},
		"mark of UTF-16, pinned UTF-8":  {"\xfe\xff\x00i\x00\n", Dialect{Encoding: "utf-8"}, names, 1, 0, "byte order mark of UTF-16 big-endian"},
		"no order":                      {"id,age\n", Dialect{Encoding: "utf-16"}, names, 1, 0, "utf-16le or utf-16be"},
		"odd UTF-16":                    {"\xff\xfei\x00\n\x00x", Dialect{}, names, 2, 0, "half a character"},
		"half a pair":                   {"\xff\xfei\x00\n\x00\x00\xd8x\x00", Dialect{}, names, 2, 0, "half a character"},
		"zero in UTF-16":                {"\xff\xfei\x00\n\x00\x00\x00", Dialect{}, names, 2, 0, "a zero character"},
		"UTF-32":                        {"\xff\xfe\x00\x00i\x00\x00\x00", Dialect{}, names, 0, 0, "UTF-32"},
		"UTF-32 BE":                     {"\x00\x00\xfe\xff\x00\x00\x00i", Dialect{}, names, 0, 0, "UTF-32"},
		"UTF-32 without mark":           {"i\x00\x00\x00,\x00\x00\x00x\x00\x00\x00\n\x00\x00\x00", Dialect{}, names, 1, 0, "zero byte"},
		"two separators":                {"a,b;c,d\n1,2;3,4\n", Dialect{}, Header{}, 1, 0, `commas or by semicolons; pin one in the codebook, dialect: {delimiter: ","} or dialect: {delimiter: ";"}`},
		"two separators, known name":    {"id,x;id\n1,2;3\n", Dialect{}, Header{Names: []string{"id"}}, 1, 0, "commas or by semicolons"},
		"another than pinned":           {"id;age\n1;2\n", Dialect{Delimiter: ','}, names, 1, 0, `separated by semicolons, the codebook says delimiter ","`},
		"bars":                          {"id|age\n1|2\n", Dialect{}, names, 1, 0, `separated by bars; say so in the codebook, dialect: {delimiter: "|"}`},
		"named otherwise":               {"sep=;\nid;age\n", Dialect{Delimiter: ','}, names, 1, 0, `names semicolons as separator, the codebook says delimiter ","`},
		"named strangely":               {"sep=:\nid:age\n", Dialect{}, names, 1, 0, `names ":" as separator`},
		"line feed where CR is pinned":  {"id,age\r1,2\n", Dialect{LineEnd: "\r"}, names, 2, 0, "the codebook says lineTerminator"},
		"CR where LF is pinned":         {"id,age\n1,2\r3,4\n", Dialect{LineEnd: "\n"}, names, 2, 0, "carriage return without a line feed"},
		"CR in one column":              {"id\na\rb\n", Dialect{}, Header{Names: []string{"id"}}, 0, 0, "one column"},
		"long cell":                     {"id,age\n1,2\n3," + long + "\n", Dialect{}, names, 3, 2, "100000 characters"},
		"long cell in quotes":           {"id,age\n1,\n3,\"" + long + "\n", Dialect{}, names, 3, 2, "not closed"},
		"long closed cell in quotes":    {"id,age\n1,\n3,\"" + long + "\"\n", Dialect{}, names, 3, 2, "100000 characters"},
		"endless cell":                  {"id,age\n1,\n3,\"" + strings.Repeat("é\n", 5*MaxCellText), Dialect{}, names, 3, 2, "is a quote missing?"},
		"many columns":                  {"id,age\n" + strings.Repeat(",", 20_000) + "\n", Dialect{}, names, 2, 0, "16384 cells"},
		"many columns in the header":    {strings.Repeat("a,", 20_000) + "\n", Dialect{}, names, 1, 0, "16384 cells"},
		"many empty lines":              {"id,age\n" + strings.Repeat("\n", maxLines), Dialect{}, names, maxLines + 1, 0, "33554432 lines"},
		"many records":                  {"id,age\n" + strings.Repeat("1,2\n", MaxRecords), Dialect{}, names, MaxRecords + 1, 0, "1048576 records"},
		"a word of a thousand letters":  {"id,age\n1,a" + strings.Repeat("\xe9b", 500), Dialect{}, names, 2, 0, "the word around it has 1001 letters"},
		"long record":                   {"id,age\n" + strings.Repeat(strings.Repeat("y", 90_000)+",", 300), Dialect{}, names, 2, 0, "16777216 bytes"},
	} {
		t.Run(name, func(t *testing.T) {
			_, _, err := readAll([]byte(c.data), c.dialect, c.header)
			wantError(t, err, c.line, c.column, c.words)
		})
	}
}

// Longest cells and widest records that are read.
func TestLimits(t *testing.T) {
	cell := strings.Repeat("é", MaxCellText)
	for _, text := range []string{"id,age\n" + cell + ",\n", "id,age\n\"" + cell + "\",\n"} {
		rows, _, err := readAll([]byte(text), Dialect{}, Header{Names: []string{"id", "age"}})
		if err != nil || len(rows) != 2 || rows[1].Cells[0] != cell {
			t.Errorf("the longest cell: %v", err)
		}
	}
	rows, _, err := readAll([]byte(strings.Repeat(",", MaxColumns-1)+"\n"), Dialect{Delimiter: ','}, Header{})
	if err != nil || len(rows[0].Cells) != MaxColumns {
		t.Errorf("the widest record: %v", err)
	}
}

// What is odd and means one thing is read.
func TestOdd(t *testing.T) {
	names := Header{Names: []string{"id", "age"}}
	for name, c := range map[string]struct {
		data   string
		header Header
		want   []row
		note   string
	}{
		"no line end at the end":   {"id,age\n1,2", names, []row{{1, []string{"id", "age"}}, {2, []string{"1", "2"}}}, "UTF-8, commas, LF"},
		"control Z":                {"id,age\r\n1,2\r\n\x1a\x1a", names, []row{{1, []string{"id", "age"}}, {2, []string{"1", "2"}}}, "UTF-8, commas, CRLF"},
		"control Z behind a cell":  {"id,age\r\n1,2\x1a", names, []row{{1, []string{"id", "age"}}, {2, []string{"1", "2"}}}, ""},
		"blank and empty lines":    {"id,age\n\n  \n1,2\n\n\n", names, []row{{1, []string{"id", "age"}}, {3, []string{"  "}}, {4, []string{"1", "2"}}}, ""},
		"empty lines, CR":          {"id,age\r\r1,2\r\r", names, []row{{1, []string{"id", "age"}}, {3, []string{"1", "2"}}}, "UTF-8, commas, CR"},
		"mixed ends":               {"id,age\n1,2\r\n3,4\r5,6\n", names, []row{{1, []string{"id", "age"}}, {2, []string{"1", "2"}}, {3, []string{"3", "4"}}, {4, []string{"5", "6"}}}, "UTF-8, commas, LF and CRLF and CR mixed"},
		"separators at the end":    {"id;age;\n1;2;\n", names, []row{{1, []string{"id", "age", ""}}, {2, []string{"1", "2", ""}}}, "UTF-8, semicolons, LF (detected; pin with dialect in the codebook)"},
		"named separator":          {"sep=;\r\nid;age\r\n1,5;2\r\n", names, []row{{2, []string{"id", "age"}}, {3, []string{"1,5", "2"}}}, "UTF-8, semicolons, CRLF; the first line names the separator"},
		"named in quotes":          {"\"SEP=|\"\nid|age\n", names, []row{{2, []string{"id", "age"}}}, "UTF-8, bars, LF; the first line names the separator"},
		"named separator, UTF-16":  {"\xff\xfes\x00e\x00p\x00=\x00\t\x00\n\x00i\x00d\x00\t\x00a\x00g\x00e\x00\n\x00", names, []row{{2, []string{"id", "age"}}}, "UTF-16 little-endian, tabs, LF; the first line names the separator"},
		"decimal commas":           {"id;age;x\n1,5;2,5;3,5\n", names, []row{{1, []string{"id", "age", "x"}}, {2, []string{"1,5", "2,5", "3,5"}}}, ""},
		"unknown names":            {"a;b;c\n1;2;3,5\n", names, []row{{1, []string{"a", "b", "c"}}, {2, []string{"1", "2", "3,5"}}}, ""},
		"uneven commas":            {"a, b;c\n1;2\n", Header{}, []row{{1, []string{"a, b", "c"}}, {2, []string{"1", "2"}}}, ""},
		"one column with commas":   {"id\na, b\n", Header{Names: []string{"id"}}, []row{{1, []string{"id"}}, {2, []string{"a", " b"}}}, "UTF-8, commas, LF"},
		"header further down":      {"Heel registry; 2024, spring\n\nid\tage\n1\t2\n", Header{Names: names.Names, Line: 3}, []row{{1, []string{"Heel registry; 2024, spring"}}, {3, []string{"id", "age"}}, {4, []string{"1", "2"}}}, "UTF-8, tabs, LF (detected; pin with dialect in the codebook)"},
		"nothing but a mark":       {"\ufeff", names, nil, "UTF-8 with byte order mark, commas"},
		"nothing":                  {"", names, nil, "UTF-8, commas"},
		"quoted separators":        {"\"id\";\"age\"\n\"1;2\";\"3\"\n", names, []row{{1, []string{"id", "age"}}, {2, []string{"1;2", "3"}}}, ""},
		"Windows":                  {"id;age\r\nM\xfcller;1,5\r\n", names, []row{{1, []string{"id", "age"}}, {2, []string{"Müller", "1,5"}}}, "Windows-1252, semicolons, CRLF (detected; pin with encoding and dialect in the codebook)"},
		"form feed, vertical tab":  {"id,age\n1\f,2\v\n", names, []row{{1, []string{"id", "age"}}, {2, []string{"1\f", "2\v"}}}, ""},
		"separators of Unicode":    {"id,age\n1\u2028,2\u0085\n", names, []row{{1, []string{"id", "age"}}, {2, []string{"1\u2028", "2\u0085"}}}, ""},
		"a semicolon in a comment": {"id,age,note\n1,2,\"a;b;c\"\n", names, []row{{1, []string{"id", "age", "note"}}, {2, []string{"1", "2", "a;b;c"}}}, "UTF-8, commas, LF"},
	} {
		t.Run(name, func(t *testing.T) {
			got, found, err := readAll([]byte(c.data), Dialect{}, c.header)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Error(diff)
			}
			if c.note != "" && found.String() != c.note {
				t.Errorf("note %q, want %q", found, c.note)
			}
		})
	}
}

func TestNotes(t *testing.T) {
	for note, c := range map[string]struct {
		data string
		d    Dialect
		h    Header
	}{
		"Windows-1252, commas, LF (encoding pinned)":                             {"a,b\n\xe9t\xe9,2\n", Dialect{Encoding: "windows-1252"}, Header{}},
		"UTF-8, semicolons, LF (pinned)":                                         {"a;b\n", Dialect{Encoding: "utf-8", Delimiter: ';'}, Header{}},
		"Windows-1252, commas, LF (detected; pin with encoding in the codebook)": {"a,b\nM\xfcller,2\n", Dialect{Delimiter: ','}, Header{}},
		"UTF-8, tabs, LF":                  {"a\tb\n", Dialect{}, Header{Usual: '\t'}},
		"UTF-8, bars, LF (dialect pinned)": {"a|b\n", Dialect{Delimiter: '|'}, Header{}},
		"UTF-8, commas, single quotes, LF": {"a,'b'\n", Dialect{Quote: '\''}, Header{}},
	} {
		_, found, err := readAll([]byte(c.data), c.d, c.h)
		if err != nil || found.String() != note {
			t.Errorf("note %q (%v), want %q", found, err, note)
		}
	}
}

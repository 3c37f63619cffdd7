package codebook

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// What a codebook says of a text file's writing is kept; of a workbook it says
// nothing.
func TestDialect(t *testing.T) {
	no, yes := false, true
	for _, c := range []struct {
		properties, encoding string
		want                 Dialect
	}{
		{`path: a.csv`, "", Dialect{}},
		{"path: a.csv\nencoding: UTF-8", "utf-8", Dialect{}},
		{"path: a.txt\nencoding: CP1252\ndialect: {delimiter: ';'}", "windows-1252", Dialect{Delimiter: ";"}},
		{"path: a.tsv\nencoding: latin1\ndialect: {delimiter: \"\\t\", quoteChar: \"'\"}", "iso-8859-1", Dialect{Delimiter: "\t", QuoteChar: "'"}},
		{"path: a.tab\nencoding: UTF-16LE\ndialect: {delimiter: '|', lineTerminator: \"\\r\", doubleQuote: false}", "utf-16le", Dialect{Delimiter: "|", LineTerminator: "\r", DoubleQuote: &no}},
		{"path: a.csv\ndialect: {delimiter: ',', quoteChar: '\"', lineTerminator: \"\\r\\n\", doubleQuote: true, header: true}", "", Dialect{Delimiter: ",", QuoteChar: `"`, LineTerminator: "\r\n", DoubleQuote: &yes}},
		{"path: a.xlsx\nencoding: utf-8\ndialect: {delimiter: ',', quoteChar: '\"', lineTerminator: \"\\n\", doubleQuote: true}", "", Dialect{}},
	} {
		p, err := Decode("codebook.yaml", []byte(withTable(c.properties+"\nschema: {fields: [{name: age, type: number}]}")))
		if err != nil {
			t.Errorf("%s: %v", c.properties, err)
			continue
		}
		r := p.Resources[0]
		if diff := cmp.Diff(c.want, r.Dialect); diff != "" || r.Encoding != c.encoding {
			t.Errorf("%s: encoding %q\n%s", c.properties, r.Encoding, diff)
		}
	}
	for other, name := range encodingNames {
		p, err := Decode("codebook.yaml", []byte(withTable("path: a.csv\nencoding: "+other+"\nschema: {fields: [{name: age, type: number}]}")))
		if err != nil || p.Resources[0].Encoding != name {
			t.Errorf("%s: %v", other, err)
		}
	}
}

package codebook

import (
	"strings"
	"testing"

	"heelcohort/codebook/document"
	"heelcohort/codebook/document/documenttest"
)

// FuzzDecode wants every fault of a document to have a place inside it, and
// what is accepted to be accepted by the schema and as JSON too, and to read
// any cell soundly. What is no document at all may be refused as a whole.
func FuzzDecode(f *testing.F) {
	for _, data := range goodBooks(f) {
		if len(data) < 10000 {
			f.Add(string(data))
		}
	}
	for _, b := range faultyFields {
		text, _ := documenttest.Unmark(f, withFields(b.text))
		f.Add(text)
	}
	for _, b := range faultyRules {
		text, _ := documenttest.Unmark(f, withRules(b.text))
		f.Add(text)
	}
	for _, b := range faultyTables {
		text, _ := documenttest.Unmark(f, withTable(b.text+"\nschema: {fields: [{name: age, type: number}]}"))
		f.Add(text)
	}
	schema := compiledSchema(f)
	f.Fuzz(func(t *testing.T, text string) {
		root, broken := document.Parse("codebook.yaml", []byte(text))
		p, err := Decode("codebook.yaml", []byte(text))
		if broken != nil && (err == nil || p != nil) {
			t.Fatal("decoded, and no document")
		}
		if err != nil {
			if p != nil {
				t.Fatal("a codebook beside an error")
			}
			for _, e := range document.Faults(err) {
				if lines := 1 + strings.Count(text, "\n"); e.Message == "" || broken == nil && e.Position.Line < 1 || e.Position.Line > lines || broken == nil && e.Position.Column < 1 {
					t.Fatalf("fault at %v of %d lines: %v", e.Position, lines, e)
				}
			}
			return
		}
		if err := schema.Validate(documenttest.Value(root)); err != nil {
			t.Fatalf("decoded, and refused by the schema: %v", err)
		}
		if _, err := Decode("codebook.json", asJSON(t, root)); err != nil {
			t.Fatalf("as JSON: %v", err)
		}
		for _, r := range p.Resources {
			p.Scope(r)
			for _, field := range r.Schema.Fields {
				for _, cell := range []string{"", " ", "1", "-1.5e3", "2024-03-31", "true", "x", text} {
					if fault := sound(field, cell); fault != "" {
						t.Fatalf("%s with %q: %s", field.Name, cell, fault)
					}
				}
			}
		}
	})
}

// FuzzParse wants a sound answer to any text from fields of every sort, and
// that what is accepted is accepted again as it is printed.
func FuzzParse(f *testing.F) {
	for _, text := range []string{
		"", " ", "\u00a0", "1", "-0", "007", "1.5", "1,5", "1.234,5", "1e400", "1e-400", "9007199254740993", "NaN", "INF", "−7", "95 %", "SM-12", "SM-0001",
		"2024-03-31", "31.03.2024", "1.1.1900", "01.01.1900", "true", "yes", "NM", "999.0", "left", "S1", "٣", "\xff", "0x1p4", "\x00",
	} {
		f.Add(text)
	}
	fields := everyField(f)
	plain := map[string]*Field{}
	for _, typ := range types {
		plain[typ] = mustField(f, "{name: a, missingValues: [], type: "+typ+"}")
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, field := range fields {
			if fault := sound(field, text); fault != "" {
				t.Fatalf("%s with %q: %s", field.Name, text, fault)
			}
		}
		for typ, field := range plain {
			v, fault := field.Parse(text)
			if fault != nil {
				continue
			}
			if again, fault := field.Parse(field.show(v)); fault != nil || again != v {
				t.Fatalf("%s %q gives %+v, printed as %q that gives %+v, %+v", typ, text, v, field.show(v), again, fault)
			}
		}
	})
}

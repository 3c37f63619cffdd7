package codebook

import (
	"strings"
	"testing"

	"heelcohort/codebook/document"
	"heelcohort/codebook/document/documenttest"
)

// A book is a codebook of a test. In a faulty one, every faulty line has the
// mark ¦ before the faulty character and ends in a comment "# want: message",
// where … stands for any words between two parts of the message.
type book struct{ name, text string }

// indent moves a block to the right.
func indent(block string, by int) string {
	lines := strings.Split(strings.Trim(block, "\n"), "\n")
	for i, line := range lines {
		if line != "" {
			lines[i] = strings.Repeat(" ", by) + line
		}
	}
	return strings.Join(lines, "\n") + "\n"
}

// withTables makes a codebook of a list of tables.
func withTables(list string) string {
	return "name: saltmarsh-heel-registry\nresources:\n" + indent(list, 2)
}

// withTable makes a codebook of a table's properties beside its name.
func withTable(properties string) string {
	return withTables("- name: participants\n" + indent(properties, 2))
}

// withSchema makes a codebook of a table's schema.
func withSchema(schema string) string {
	return withTable("path: data/participants.csv\nschema:\n" + indent(schema, 2))
}

// withFields makes a codebook of a table's fields.
func withFields(list string) string { return withSchema("fields:\n" + indent(list, 2)) }

// containsInOrder reports whether the parts stand in text in their order.
func containsInOrder(text string, parts []string) bool {
	for _, p := range parts {
		_, after, found := strings.Cut(text, strings.TrimSpace(p))
		if !found {
			return false
		}
		text = after
	}
	return true
}

// checkFaults compares what Decode says of a marked codebook with its marks.
func checkFaults(t *testing.T, b book) {
	t.Helper()
	text, want := documenttest.Unmark(t, b.text)
	if len(want) == 0 {
		t.Fatal("no mark")
	}
	p, err := Decode("codebook.yaml", []byte(text))
	if err == nil || p != nil {
		t.Fatalf("accepted:\n%s", text)
	}
	got := document.Faults(err)
	for i, e := range got {
		if i >= len(want) {
			t.Errorf("not wanted: %v", e)
			continue
		}
		w := want[i]
		if e.Position.File != "codebook.yaml" || e.Position.Line != w.Line || e.Position.Column != w.Column {
			t.Errorf("got a fault at %v, want it at %d:%d: %v", e.Position, w.Line, w.Column, e)
		}
		if !containsInOrder(e.Error(), w.Parts) {
			t.Errorf("got  %v\nwant %s", e, strings.Join(w.Parts, "…"))
		}
		line := strings.Split(text, "\n")[e.Position.Line-1]
		if e.Excerpt == "" || len([]rune(line)) < 100 && !strings.HasPrefix(e.Excerpt, line+"\n") {
			t.Errorf("excerpt %q does not show line %q", e.Excerpt, line)
		}
	}
	for _, w := range want[min(len(got), len(want)):] {
		t.Errorf("no fault at %d:%d, want %s", w.Line, w.Column, strings.Join(w.Parts, "…"))
	}
}

// mustField decodes a codebook of one field and returns it.
func mustField(t testing.TB, field string) *Field {
	t.Helper()
	p, err := Decode("codebook.yaml", []byte(withFields("- "+field)))
	if err != nil {
		t.Fatalf("%s: %v", field, err)
	}
	return p.Resources[0].Schema.Fields[0]
}

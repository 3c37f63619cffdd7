package codebook

import (
	"reflect"
	"testing"

	"heelcohort/codebook/value"
)

// scopeOf decodes visits with foreign keys to tables whose schemas are given,
// and returns the scope of visits.
func scopeOf(t *testing.T, foreignKeys, participants string) *Scope {
	t.Helper()
	text := withTables(`
- name: visits
  path: visits.csv
  schema:
    fields: [{name: id, type: string}, {name: child, type: string}, {name: sibling, type: string}, {name: vas, type: number}]
    primaryKey: id
    foreignKeys: ` + foreignKeys + `
- name: participants
  path: participants.csv
  schema: ` + participants)
	p, err := Decode("codebook.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p.Scope(p.Resource("visits"))
}

func TestScope(t *testing.T) {
	const (
		one    = `[{fields: child, reference: {resource: participants, fields: child}}]`
		two    = `[{fields: child, reference: {resource: participants, fields: child}}, {fields: sibling, reference: {resource: participants, fields: child}}]`
		itself = `[{fields: sibling, reference: {fields: id}}]`
		fields = `fields: [{name: child, type: string}, {name: sex, type: string, categories: [female, male]}]`
	)
	for _, c := range []struct {
		name, keys, participants string
		tables                   []string
	}{
		{"primary key", one, `{primaryKey: child, ` + fields + `}`, []string{"participants"}},
		{"unique key", one, `{uniqueKeys: [[child]], ` + fields + `}`, []string{"participants"}},
		{"unique variable", one, `{fields: [{name: child, type: string, constraints: {unique: true}}]}`, []string{"participants"}},
		{"several rows", one, `{` + fields + `}`, nil},
		{"part of a key", one, `{primaryKey: [child, sex], ` + fields + `}`, nil},
		{"two links", two, `{primaryKey: child, ` + fields + `}`, nil},
		{"itself", itself, `{primaryKey: child, ` + fields + `}`, nil},
		{"none", `[]`, `{primaryKey: child, ` + fields + `}`, nil},
	} {
		if got := scopeOf(t, c.keys, c.participants).Tables(); !reflect.DeepEqual(got, c.tables) {
			t.Errorf("%s: linked to %q, want %q", c.name, got, c.tables)
		}
	}

	s := scopeOf(t, one, `{primaryKey: child, `+fields+`}`)
	for i, v := range s.Variables() {
		if v.Slot != i {
			t.Errorf("variable %d has slot %d", i, v.Slot)
		}
	}
	v, ok := s.Resolve("participants", "sex")
	if !ok || v.Slot != 5 || v.Kind != value.Text || !reflect.DeepEqual(v.Words, []string{"female", "male"}) {
		t.Errorf("participants.sex is %+v, %v", v, ok)
	}
	if v, ok := s.Resolve("", "vas"); !ok || v.Slot != 3 || v.Kind != value.Number {
		t.Errorf("vas is %+v, %v", v, ok)
	}
	for _, name := range [][2]string{{"", "sex"}, {"participants", "vas"}, {"visits", "vas"}, {"none", "vas"}} {
		if _, ok := s.Resolve(name[0], name[1]); ok {
			t.Errorf("%q is resolved", name)
		}
	}
	if got := s.Names("participants"); !reflect.DeepEqual(got, []string{"child", "sex"}) {
		t.Errorf("names %q", got)
	}
}

package codebook

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// goodBooks are the codebooks of testdata/good and the demo's.
func goodBooks(t testing.TB) map[string][]byte {
	t.Helper()
	files, err := filepath.Glob("testdata/good/*")
	if err != nil || len(files) == 0 {
		t.Fatal("no codebooks", err)
	}
	files = append(files, "../cmd/heelcohort/internal/demo/files/codebook.yaml")
	out := map[string][]byte{}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		out[file] = data
	}
	return out
}

func decodeFile(t testing.TB, file string) *Package {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	p, err := Decode(file, data)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// exported compares what a user of the package sees, places aside.
var exported = cmp.Options{
	cmpopts.IgnoreUnexported(Field{}),
	cmpopts.IgnoreTypes(document.Position{}),
	cmp.Transformer("text", func(s document.String) string { return s.Value }),
}

func number(x float64) *value.Value { v := value.Num(x); return &v }

func day(days float64) *value.Value { v := value.Day(days); return &v }

func of[T any](x T) *T { return &x }

// TestDecodeEvery wants from testdata/good/every.yaml what stands in it.
func TestDecodeEvery(t *testing.T) {
	got := decodeFile(t, "testdata/good/every.yaml")
	want := &Package{
		Name: "saltmarsh-heel-registry", Title: "Saltmarsh Youth Sport Heel Registry", Description: "Invented data.", Version: "1.10",
		Resources: []*Resource{
			{
				Name: "participants", Title: "Participants", Description: "One row a child.", Path: "data/registry.xlsx",
				Sheet: "children", HeaderRow: 3, Bytes: of(12345), Hash: "sha256:00",
				Schema: Schema{
					PrimaryKey: []string{"child"}, UniqueKeys: [][]string{{"site", "number"}, {"child"}},
					ForeignKeys: []ForeignKey{
						{Fields: []string{"twin"}, ReferenceFields: []string{"child"}},
						{Fields: []string{"site", "number"}, Resource: "sites", ReferenceFields: []string{"site", "number"}},
					},
					MissingValues: []MissingValue{{}, {"NM", "not measured"}},
					Fields: []*Field{
						{
							Name: "child", Title: "Child", Description: "Key.", Type: TypeString, Format: "default", Role: "identifier",
							Constraints: Constraints{Required: true, Unique: true, Pattern: "SM-[0-9]{4}", MinLength: of(7), MaxLength: of(7)},
						},
						{Name: "twin", Type: TypeString},
						{Name: "site", Type: TypeString, Categories: []Category{{Value: "S1"}, {Value: "S2"}}, Role: "quasi_identifier"},
						{
							Name: "number", Type: TypeInteger, GroupChar: ".",
							Constraints: Constraints{Minimum: number(0), ExclusiveMaximum: number(10000)},
						},
						{
							Name: "side", Type: TypeInteger, Categories: []Category{{"1", "left"}, {"2", "right"}}, CategoriesOrdered: true,
							MissingValues: []MissingValue{{Value: "9"}},
						},
						{Name: "weight", Type: TypeNumber, DecimalChar: ",", GroupChar: ".", Loose: true, Unit: "kg"},
						{
							Name: "dose", Type: TypeNumber, MissingValues: []MissingValue{},
							Constraints: Constraints{Enum: []value.Value{value.Num(0), value.Num(0.5), value.Num(1)}},
						},
						{Name: "limp", Type: TypeBoolean, TrueValues: []string{"yes"}, FalseValues: []string{"no"}},
						{
							// Days by hand: 51 years to 2021-01-01 with 13 leap
							// days, 55 to 2025-01-01 with 14.
							Name: "seen", Type: TypeDate, Format: "%d.%m.%Y", MissingValues: []MissingValue{{Value: "01.01.1900"}},
							Constraints: Constraints{Minimum: day(51*365 + 13 - 1), ExclusiveMaximum: day(55*365 + 14)},
						},
						{Name: "remark", Type: TypeString, MissingValues: []MissingValue{}, Role: "free_text"},
					},
				},
			},
			{
				Name: "sites", Path: "data/sites.csv", HeaderRow: 1,
				Schema: Schema{
					PrimaryKey: []string{"site", "number"}, MissingValues: []MissingValue{{}},
					Fields: []*Field{{Name: "site", Type: TypeString}, {Name: "number", Type: TypeInteger}},
				},
			},
		},
	}
	if diff := cmp.Diff(want, got, exported); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	f := got.Resource("participants").Schema.Field("weight")
	if f.Position.Line != 81 || f.Position.Column != 11 {
		t.Errorf("weight stands at %v", f.Position)
	}
}

func TestDecodeRules(t *testing.T) {
	p := decodeFile(t, "testdata/good/rules.json")
	r := p.Resource("visits")
	want := []Rule{
		{
			Name: "after last contact", Kind: KindCheck, Check: document.String{Value: "day <= participants.last_contact"},
			Message: "The visit lies after the last contact.", Severity: "error", Fields: []string{"day"},
		},
		{
			Name: "first in person", Kind: KindCheck, Check: document.String{Value: "day != 0 or mode == 'in_person'"},
			Message: "The first visit was not in person.", Severity: "warning", Fields: []string{"mode"},
		},
	}
	if diff := cmp.Diff(want, r.Schema.Rules, exported); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	if r.Path != "data/visits.tsv" || r.Sheet != "" || r.HeaderRow != 1 {
		t.Errorf("got %q %q %d", r.Path, r.Sheet, r.HeaderRow)
	}
}

// TestDecodeDemo wants the demo's codebook to be sound, with what the registry
// is known for.
func TestDecodeDemo(t *testing.T) {
	p := decodeFile(t, "../cmd/heelcohort/internal/demo/files/codebook.yaml")
	if got, want := p.Names(), []string{"participants", "episodes", "exposures", "visits"}; !reflect.DeepEqual(got, want) {
		t.Fatalf("tables %q, want %q", got, want)
	}
	children := p.Resource("participants")
	if children.Sheet != "participants" || children.HeaderRow != 1 || len(children.Schema.Rules) == 0 {
		t.Errorf("participants: sheet %q, header row %d, %d rules", children.Sheet, children.HeaderRow, len(children.Schema.Rules))
	}
	height := children.Schema.Field("height_cm")
	if height.Unit != "cm" || height.Expected() != "a number of at least 95 and at most 200 cm" {
		t.Errorf("height_cm: %s", height.Expected())
	}
	for text, want := range map[string]value.Value{
		"142.5": value.Num(142.5), "999": value.None(value.Number, "999"), "NM": value.None(value.Number, "NM"),
	} {
		if got, fault := height.Parse(text); fault != nil || got != want {
			t.Errorf("height_cm %q gives %+v, %+v", text, got, fault)
		}
	}
	// Its own codes replace the empty cell.
	if _, fault := height.Parse(""); fault == nil || fault.Rule != RuleRequired {
		t.Errorf("an empty height gives %+v", fault)
	}
	for _, r := range p.Resources {
		if len(r.Schema.PrimaryKey) == 0 {
			t.Errorf("%s has no primary key", r.Name)
		}
	}
	if got := p.Scope(p.Resource("visits")).Tables(); !reflect.DeepEqual(got, []string{"participants", "episodes"}) {
		t.Errorf("visits are linked to %q", got)
	}
}

// TestDecodeAgain wants the same codebook from the same bytes, and from JSON
// what YAML gives.
func TestDecodeAgain(t *testing.T) {
	for file, data := range goodBooks(t) {
		first, err := Decode(file, data)
		if err != nil {
			t.Fatal(err)
		}
		root, err := document.Parse(file, data)
		if err != nil {
			t.Fatal(err)
		}
		again, err := Decode("codebook.json", asJSON(t, root))
		if err != nil {
			t.Fatalf("%s as JSON: %v", file, err)
		}
		if diff := cmp.Diff(first, again, exported); diff != "" {
			t.Errorf("%s (-yaml +json)\n%s", file, diff)
		}
	}
}

func TestLookups(t *testing.T) {
	p := decodeFile(t, "testdata/good/every.yaml")
	r := p.Resource("participants")
	if p.Resource("none") != nil || r.Schema.Field("none") != nil {
		t.Error("found what is not there")
	}
	if got := p.Resource("sites").Schema.Names(); !reflect.DeepEqual(got, []string{"site", "number"}) {
		t.Errorf("names %q", got)
	}
	child, side := r.Schema.Field("child"), r.Schema.Field("side")
	if child.Label() != "Child" || side.Label() != "side" {
		t.Errorf("labels %q, %q", child.Label(), side.Label())
	}
	if got := side.Words(); !reflect.DeepEqual(got, []string{"1", "2"}) || child.Words() != nil {
		t.Errorf("words %q, %q", got, child.Words())
	}
	if got := child.Codes(); !reflect.DeepEqual(got, r.Schema.MissingValues) || child.MissingValues != nil {
		t.Errorf("inherited codes %q", got)
	}
	if got := side.Codes(); !reflect.DeepEqual(got, []MissingValue{{Value: "9"}}) {
		t.Errorf("own codes %q", got)
	}
	for name, want := range map[string]value.Kind{
		"child": value.Text, "side": value.Text, "number": value.Number, "weight": value.Number, "limp": value.Bool, "seen": value.Date,
	} {
		if got := r.Schema.Field(name).Kind(); got != want {
			t.Errorf("%s is a %v, want a %v", name, got, want)
		}
	}
	if (&Field{}).Kind() != value.Unknown {
		t.Error("a field without type has a kind")
	}
}

// TestScreensAndAnonymity reads what the codebook says of identifiers.
func TestScreensAndAnonymity(t *testing.T) {
	p, err := Decode("codebook.yaml", []byte(`
name: one
resources:
  - name: children
    path: a.csv
    heelcohort: {k_anonymity: {bands: {age: [6, 8.5, 10]}}}
    schema:
      fields:
        - {name: age, type: number, heelcohort: {role: quasi_identifier}}
        - {name: code, type: string, heelcohort: {exception: {screens: [near-unique, free text], reason: " study code of the registry "}}}
  - name: visits
    path: b.csv
    heelcohort: {k_anonymity: 3}
    schema: {fields: [{name: age, type: number}]}
  - name: sites
    path: c.csv
    schema: {fields: [{name: age, type: number}]}
`))
	if err != nil {
		t.Fatal(err)
	}
	want := &Anonymity{AtLeast: 5, Bands: []Banding{{"age", []float64{6, 8.5, 10}}}}
	if diff := cmp.Diff(want, p.Resources[0].Anonymity); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(Exception{Screens: []string{"near-unique", "free text"}, Reason: "study code of the registry"}, p.Resources[0].Schema.Fields[1].Exception); diff != "" {
		t.Error(diff)
	}
	if p.Resources[1].Anonymity.AtLeast != 3 || p.Resources[2].Anonymity != nil {
		t.Errorf("%v, %v", p.Resources[1].Anonymity, p.Resources[2].Anonymity)
	}
}

package document

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"
)

type season struct {
	Name  string `doc:"name,required"`
	Weeks int    `doc:"weeks" min:"1" max:"40"`
}

type common struct {
	Title string `doc:"title" about:"Heading."`
}

type study struct {
	common
	ID       String            `doc:"id,required" about:"Identifier."`
	Ties     string            `doc:"ties" enum:"efron|breslow"`
	Level    float64           `doc:"level" above:"0" below:"1"`
	Seed     int               `doc:"seed"`
	Strict   bool              `doc:"strict"`
	Cluster  *string           `doc:"cluster"`
	By       OneOrMore[String] `doc:"by"`
	Sites    []string          `doc:"sites"`
	Season   season            `doc:"season"`
	Seasons  []season          `doc:"seasons"`
	Labels   map[string]string `doc:"labels"`
	Derive   Ordered[String]   `doc:"derive"`
	Scale    *Scalar           `doc:"scale"`
	Methods  []string          `doc:"methods" enum:"exact|normal"`
	Raw      *Node             `doc:"raw"`
	Extra    []Pair            `doc:",extra"`
	Parts    []study           `doc:"parts"`
	At       Position          `doc:"-"`
	Computed int
	hidden   int
}

func decodeText(text string, into any) error {
	n, err := Parse("study.yaml", []byte(text))
	if err != nil {
		return err
	}
	return Decode(n, into)
}

func TestDecode(t *testing.T) {
	got := study{Level: 0.95, Seed: 7}
	err := decodeText(`
id: "a-1"
title: Heels
ties: breslow
level: 0.9
strict: true
cluster: child
by: arch
sites: [S1, S2]
season: {name: 2021/22, weeks: 40}
seasons:
  - name: "2022"
labels: {b: x, a: z}
derive:
  z: one
  a: 'two'
scale: 1.50
methods: [exact]
raw: [1, {a: b}]
x-note: {any: thing}
_own: 1
parts: [{id: b}]
`, &got)
	if err != nil {
		t.Fatal(err)
	}
	if got.Title != "Heels" || got.ID.Value != "a-1" || got.Ties != "breslow" || got.Level != 0.9 || got.Seed != 7 ||
		!got.Strict || got.Cluster == nil || *got.Cluster != "child" || got.hidden != 0 || got.Computed != 0 {
		t.Errorf("scalars: %+v", got)
	}
	if want := (Position{"study.yaml", 2, 6}); got.ID.Position != want {
		t.Errorf("id is at %v, want %v", got.ID.Position, want)
	}
	if want := (Position{"study.yaml", 2, 1}); got.At != want {
		t.Errorf("map is at %v, want %v", got.At, want)
	}
	if len(got.By) != 1 || got.By[0].Value != "arch" || !reflect.DeepEqual(got.Sites, []string{"S1", "S2"}) {
		t.Errorf("lists: %v %v", got.By, got.Sites)
	}
	if got.Season != (season{"2021/22", 40}) || len(got.Seasons) != 1 || got.Seasons[0].Name != "2022" {
		t.Errorf("structs: %v %v", got.Season, got.Seasons)
	}
	if !reflect.DeepEqual(got.Labels, map[string]string{"a": "z", "b": "x"}) || !reflect.DeepEqual(got.Derive.Keys(), []string{"z", "a"}) {
		t.Errorf("maps: %v %v", got.Labels, got.Derive)
	}
	if v, ok := got.Derive.Get("a"); !ok || v.Value != "two" || v.Position.Column != 7 {
		t.Errorf("derive.a: %+v", v)
	}
	if got.Scale.Text != "1.50" || got.Scale.Kind != Number || show(got.Raw) != "[#1 {a:b}]" || len(got.Extra) != 2 || got.Parts[0].ID.Value != "b" {
		t.Errorf("rest: %+v %v %v", got.Scale, show(got.Raw), got.Extra)
	}
}

// TestDecodeFaults reads studies with faults. Each «» stands where a fault
// must be told, in order; the words must stand in the messages.
func TestDecodeFaults(t *testing.T) {
	for _, c := range []struct{ marked, words string }{
		{"id: a\n«1»titel: x\n", `unknown key "titel", expected one of title, id, ties|did you mean "title"?`},
		{"«1»title: x\n", `key "id" is missing`},
		{"id: a\nseasons:\n  - «1»weeks: 3\n", `key "name" is missing`},
		{"id: «1»007\n", "found the number 007, expected a text: quote it"},
		{"id: «1»1.10\n", "found the number 1.10, expected a text: quote it"},
		{"id: «1»true\n", "found true, expected a text: quote it"},
		{"id: «1»null\n", "found null, expected a text: quote it"},
		{"id: «1»~\n", "found ~, expected a text: quote it"},
		{"id: «1»2024-03-01\n", "found 2024-03-01, which some readers take for a boolean, a date"},
		{"id: «1»no\n", "found no, which some readers"},
		{"id: «1»12:30\n", "found 12:30, which some readers"},
		{"«1»id:\n", "found nothing, expected a text"},
		{"id: «1»[a]\n", "found a list, expected a text"},
		{"id: «1»{a: b}\n", "found a map, expected a text"},
		{"id: a\nties: «1»efro\n", `found "efro", expected one of efron, breslow|did you mean "efron"?`},
		{"id: a\nlevel: «1»1\n", "found 1, expected a number above 0 and below 1"},
		{"id: a\nlevel: «1».5\n", "found the number .5, expected a plain decimal number"},
		{"id: a\nlevel: «1».nan\n", "expected a plain decimal number"},
		{"id: a\nlevel: «1»1e999\n", "found 1e999, expected a number above 0"},
		{"id: a\nlevel: «1»'0.5'\n", `found the text "0.5", expected a plain decimal number`},
		{"id: a\nseed: «1»1.5\n", "found the number 1.5, expected an integer"},
		{"id: a\nseed: «1»1e3\n", "found the number 1e3, expected an integer"},
		{"id: a\nseed: «1»0x1f\n", "expected an integer"},
		{"id: a\nseed: «1»1_000\n", "expected an integer"},
		{"id: a\nseed: «1»+1\n", "expected an integer"},
		{"id: a\nseed: «1»99999999999999999999\n", "in the machine's range"},
		{"id: a\nstrict: «1»yes\n", `found the text "yes", expected true or false`},
		{"id: a\nstrict: «1»'true'\n", "expected true or false"},
		{"id: a\ncluster: «1»null\n", "expected a text"},
		{"id: a\nby: [x, «1»1]\n", "found the number 1, expected a text: quote it"},
		{"id: a\nsites: «1»S1\n", "expected a list"},
		{"id: a\nseason: «1»x\n", "expected a map with the keys name, weeks"},
		{"id: a\nseason: {name: a, weeks: «1»41}\n", "at least 1 and at most 40"},
		{"id: a\nlabels: {a: «1»1}\n", "quote it"},
		{"id: a\nderive: «1»[x]\n", "expected a map"},
		{"id: a\nderive: {a: «1»1}\n", "quote it"},
		{"id: a\nscale: «1»[1]\n", "expected a text, a number or a boolean"},
		{"id: a\nscale: «1»0x10\n", "expected a plain decimal number"},
		{"id: a\nmethods: [exact, «1»exakt]\n", `did you mean "exact"?`},
		{"id: a\nparts: [{id: b, «1»tiles: x}]\n", `did you mean "ties"?`},
		{"«1»[1]\n", "expected a map with the keys"},
		{"«3»title: «1»1\nties: «2»x\n«4»sed: 1\n", `quote it|key "id" is missing|expected one of efron|did you mean "seed"?`},
	} {
		text, places := marks(c.marked)
		err := decodeText(text, new(study))
		if err == nil {
			t.Errorf("%q is accepted", text)
			continue
		}
		var one *Error
		if !errors.As(err, &one) || one.Excerpt == "" && one.Message == "" {
			t.Errorf("%q: %T holds no *Error", text, err)
		}
		told := map[Position]bool{}
		for _, f := range Faults(err) {
			p := f.Position
			p.File = "f.yaml"
			told[p] = true
			if f.Excerpt == "" {
				t.Errorf("%q: no excerpt", text)
			}
		}
		for name, p := range places {
			if !told[p] {
				t.Errorf("%q: mark %s at %v is not told: %v", text, name, p, err)
			}
		}
		if len(told) != len(places) {
			t.Errorf("%q: %d places told, want %d: %v", text, len(told), len(places), err)
		}
		for _, words := range strings.Split(c.words, "|") {
			if !strings.Contains(err.Error(), words) {
				t.Errorf("%q: %v, want %q", text, err, words)
			}
		}
	}
}

func TestDecodeManyFaults(t *testing.T) {
	var b strings.Builder
	b.WriteString("id: a\n")
	for i := range 30 {
		fmt.Fprintf(&b, "key%d: 1\n", i)
	}
	err := decodeText(b.String(), new(study))
	faults := Faults(err)
	if len(faults) != MaxErrors || faults[0].Position.Line != 2 || faults[19].Position.Line != 21 {
		t.Errorf("%d faults, want the first %d: %v", len(faults), MaxErrors, err)
	}
	if n := strings.Count(err.Error(), "\n"); n != 19 {
		t.Errorf("%d line ends, want 19", n)
	}
}

func TestErrorFormat(t *testing.T) {
	e := &Error{Position: Position{"study.yaml", 12, 5}, Message: `unknown key "kynd", expected one of id, kind`, Nearest: "kind"}
	if got, want := e.Error(), `study.yaml:12:5: unknown key "kynd", expected one of id, kind; did you mean "kind"?`; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got := Join(nil, nil); got != nil {
		t.Errorf("no faults: %v", got)
	}
	if got := Join(e, nil, e); got != error(e) {
		t.Errorf("one fault told twice: %v", got)
	}
	two := Join(&Error{Position: Position{"", 9, 1}, Message: "late"}, errors.New("no place"), &Error{Position: Position{"", 2, 1}, Message: "soon"})
	if got, want := two.Error(), "no place\n2:1: soon\n9:1: late"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// even decodes itself: a number that is even.
type even int

func (e *even) UnmarshalDocument(n *Node) error {
	var i int
	if err := Decode(n, &i); err != nil {
		return err
	}
	if i%2 != 0 {
		return errors.New("an odd number")
	}
	*e = even(i)
	return nil
}

func (even) DocumentSchema() map[string]any {
	return map[string]any{"type": "integer", "multipleOf": 2}
}

func TestUnmarshaler(t *testing.T) {
	var got struct {
		E even `doc:"e"`
	}
	if err := decodeText("e: 4", &got); err != nil || got.E != 4 {
		t.Errorf("%v, %v", got, err)
	}
	if err := decodeText("e: 3", &got); err == nil || err.Error() != "study.yaml:1:4: an odd number" {
		t.Errorf("odd: %v", err)
	}
	if err := decodeText("e: x", &got); err == nil || !strings.Contains(err.Error(), "1:4: found the text") {
		t.Errorf("text: %v", err)
	}
}

func TestDecodeMistakes(t *testing.T) {
	n, err := Parse("", []byte("a: 1"))
	if err != nil {
		t.Fatal(err)
	}
	for name, into := range map[string]any{
		"no pointer": study{},
		"nil":        (*study)(nil),
		"channel": &struct {
			A chan int `doc:"a"`
		}{},
		"two names": &struct {
			A, B int `doc:"a"`
		}{},
		"odd option": &struct {
			A int `doc:"a,omitempty"`
		}{},
		"odd limit": &struct {
			A int `doc:"a" min:"x"`
		}{},
		"extra string": &struct {
			A string `doc:",extra"`
		}{},
	} {
		func() {
			defer func() {
				if p := recover(); p == nil || !strings.HasPrefix(fmt.Sprint(p), "document: ") {
					t.Errorf("%s: panic %v", name, p)
				}
			}()
			_ = Decode(n, into)
		}()
	}
}

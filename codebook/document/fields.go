package document

import (
	"fmt"
	"reflect"
	"regexp"
	"strconv"
	"strings"
)

var (
	positionType = reflect.TypeFor[Position]()
	pairsType    = reflect.TypeFor[[]Pair]()
	nodeType     = reflect.TypeFor[*Node]()
)

// A field is one key of a struct, read from its tags.
type field struct {
	name     string
	about    string
	required bool
	limits   limits
	index    []int
	typ      reflect.Type
}

// limits are what the tags enum, min, max, above and below allow.
type limits struct {
	enum       []string
	min, max   *float64 // inclusive
	over, less *float64 // exclusive
}

// A shape is what is known of a struct type.
type shape struct {
	fields    []field
	positions [][]int // fields of type Position
	extra     []int   // field of type []Pair tagged `doc:",extra"`; nil without
}

// extraKey matches the keys that a struct with an extra field keeps unread.
var extraKey = regexp.MustCompile(`^(x-|_)`)

// shapeOf reads the tags of a struct type. Tags that make no sense are the
// caller's mistake.
func shapeOf(t reflect.Type) shape {
	var s shape
	s.add(t, nil)
	seen := map[string]bool{}
	for _, f := range s.fields {
		if seen[f.name] {
			panic(fmt.Sprintf("document: %v has two fields named %q", t, f.name))
		}
		seen[f.name] = true
	}
	return s
}

func (s *shape) add(t reflect.Type, prefix []int) {
	for i := range t.NumField() {
		f := t.Field(i)
		index := append(append([]int(nil), prefix...), i)
		tag, tagged := f.Tag.Lookup("doc")
		switch {
		case f.Anonymous && !tagged && f.Type.Kind() == reflect.Struct && f.Type != positionType:
			s.add(f.Type, index)
		case !f.IsExported():
		case tag == "-" || !tagged:
			if f.Type == positionType {
				s.positions = append(s.positions, index)
			}
		case tag == ",extra":
			if f.Type != pairsType {
				panic(fmt.Sprintf("document: field %s of %v keeps extra keys, so it must be a []document.Pair", f.Name, t))
			}
			s.extra = index
		default:
			s.fields = append(s.fields, newField(t, f, tag, index))
		}
	}
}

func newField(owner reflect.Type, f reflect.StructField, tag string, index []int) field {
	name, options, _ := strings.Cut(tag, ",")
	if name == "" || options != "" && options != "required" {
		panic(fmt.Sprintf("document: field %s of %v has the tag doc:%q", f.Name, owner, tag))
	}
	out := field{name: name, about: f.Tag.Get("about"), required: options == "required", index: index, typ: f.Type}
	if words, ok := f.Tag.Lookup("enum"); ok {
		out.limits.enum = strings.Split(words, "|")
	}
	limit := func(key string) *float64 {
		text, ok := f.Tag.Lookup(key)
		if !ok {
			return nil
		}
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			panic(fmt.Sprintf("document: field %s of %v has the tag %s:%q", f.Name, owner, key, text))
		}
		return &x
	}
	out.limits.min, out.limits.max = limit("min"), limit("max")
	out.limits.over, out.limits.less = limit("above"), limit("below")
	return out
}

// names lists the keys of a struct.
func (s *shape) names() []string {
	names := make([]string, len(s.fields))
	for i, f := range s.fields {
		names[i] = f.name
	}
	return names
}

// String says what the limits on a number are: "at least 1 and below 5".
func (l limits) String() string {
	var parts []string
	for _, p := range []struct {
		word  string
		limit *float64
	}{{"at least", l.min}, {"above", l.over}, {"at most", l.max}, {"below", l.less}} {
		if p.limit != nil {
			parts = append(parts, p.word+" "+strconv.FormatFloat(*p.limit, 'f', -1, 64))
		}
	}
	return strings.Join(parts, " and ")
}

// allow reports whether x is within the limits.
func (l limits) allow(x float64) bool {
	return (l.min == nil || x >= *l.min) && (l.max == nil || x <= *l.max) &&
		(l.over == nil || x > *l.over) && (l.less == nil || x < *l.less)
}

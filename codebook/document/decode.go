package document

import (
	"errors"
	"fmt"
	"reflect"
	"strconv"
	"strings"
)

// Decode fills the struct, slice or map that into points to. Keys that the
// struct does not know are refused with the nearest known one, missing ones at
// the place of the map. What the document does not mention stays as it was, so
// defaults can be set before. Every fault is an *Error; several of them come
// together as Errors. A type that cannot be decoded is the caller's mistake.
func Decode(node *Node, into any) error {
	v := reflect.ValueOf(into)
	if v.Kind() != reflect.Pointer || v.IsNil() {
		panic(fmt.Sprintf("document: Decode into %T, expected a pointer", into))
	}
	var d decoder
	d.value(node, v.Elem(), limits{})
	return Join(d.faults...)
}

type decoder struct{ faults []error }

// maxFaults is how many faults are gathered; MaxErrors of them are told.
const maxFaults = 10 * MaxErrors

func (d *decoder) refuse(err error) {
	if len(d.faults) < maxFaults {
		d.faults = append(d.faults, err)
	}
}

// value decodes n into v.
func (d *decoder) value(n *Node, v reflect.Value, l limits) {
	if len(d.faults) >= maxFaults {
		return
	}
	if v.Type() == nodeType {
		v.Set(reflect.ValueOf(n))
		return
	}
	if v.Kind() == reflect.Pointer {
		fresh := reflect.New(v.Type().Elem())
		d.value(n, fresh.Elem(), l)
		v.Set(fresh)
		return
	}
	if v.CanAddr() {
		if u, ok := v.Addr().Interface().(Unmarshaler); ok {
			d.custom(n, u, l)
			return
		}
	}
	switch v.Kind() {
	case reflect.String:
		if text, err := n.text(); err != nil {
			d.refuse(err)
		} else if err := n.among(text, l.enum); err != nil {
			d.refuse(err)
		} else {
			v.SetString(text)
		}
	case reflect.Bool:
		if n.Kind != Bool {
			d.refuse(n.Errorf("found %s, expected true or false", n.found()))
			return
		}
		v.SetBool(strings.EqualFold(n.Text, "true"))
	case reflect.Int:
		d.integer(n, v, l)
	case reflect.Float64:
		d.float(n, v, l)
	case reflect.Struct:
		d.structure(n, v)
	case reflect.Slice:
		if n.Kind != List {
			d.refuse(n.Errorf("found %s, expected a list", n.found()))
			return
		}
		out := reflect.MakeSlice(v.Type(), len(n.Items), len(n.Items))
		for i, item := range n.Items {
			d.value(item, out.Index(i), l)
		}
		v.Set(out)
	case reflect.Map:
		d.table(n, v, l)
	default:
		panic(fmt.Sprintf("document: cannot decode into %v", v.Type()))
	}
}

// custom lets a type decode itself; the tag's words still bind a String.
func (d *decoder) custom(n *Node, u Unmarshaler, l limits) {
	var err error
	if g, ok := u.(interface {
		unmarshalLimited(*decoder, *Node, limits)
	}); ok {
		g.unmarshalLimited(d, n, l)
		return
	}
	if err = u.UnmarshalDocument(n); err == nil && n.Kind < List {
		err = n.among(n.Text, l.enum)
	}
	if err == nil {
		return
	}
	var one *Error
	if !errors.As(err, &one) {
		err = n.Errorf("%v", err)
	}
	d.refuse(err)
}

func (d *decoder) integer(n *Node, v reflect.Value, l limits) {
	if n.Kind != Number || !plainInt.MatchString(n.Text) {
		d.refuse(n.Errorf("found %s, expected an integer", n.found()))
		return
	}
	i, err := strconv.ParseInt(n.Text, 10, strconv.IntSize)
	if err != nil || !l.allow(float64(i)) {
		d.refuse(n.Errorf("found %s, expected an integer %v", n.Text, orInRange(l)))
		return
	}
	v.SetInt(i)
}

func (d *decoder) float(n *Node, v reflect.Value, l limits) {
	if n.Kind != Number || !plainNumber.MatchString(n.Text) {
		d.refuse(n.Errorf("found %s, expected a plain decimal number", n.found()))
		return
	}
	x, err := strconv.ParseFloat(n.Text, 64)
	if err != nil || !l.allow(x) {
		d.refuse(n.Errorf("found %s, expected a number %v", n.Text, orInRange(l)))
		return
	}
	v.SetFloat(x)
}

func orInRange(l limits) string {
	if s := l.String(); s != "" {
		return s
	}
	return "in the machine's range"
}

// table decodes a map with keys that are not known before.
func (d *decoder) table(n *Node, v reflect.Value, l limits) {
	if v.Type().Key().Kind() != reflect.String {
		panic(fmt.Sprintf("document: cannot decode into %v", v.Type()))
	}
	if n.Kind != Map {
		d.refuse(n.Errorf("found %s, expected a map", n.found()))
		return
	}
	out := reflect.MakeMapWithSize(v.Type(), len(n.Pairs))
	for _, p := range n.Pairs {
		item := reflect.New(v.Type().Elem()).Elem()
		d.value(p.Value, item, l)
		out.SetMapIndex(reflect.ValueOf(p.Key).Convert(v.Type().Key()), item)
	}
	v.Set(out)
}

// structure decodes a map into the fields of a struct.
func (d *decoder) structure(n *Node, v reflect.Value) {
	s := shapeOf(v.Type())
	for _, index := range s.positions {
		v.FieldByIndex(index).Set(reflect.ValueOf(n.Position))
	}
	if n.Kind != Map {
		d.refuse(n.Errorf("found %s, expected a map with the keys %s", n.found(), listed(s.names())))
		return
	}
	var extra []Pair
	given := map[string]bool{}
	for _, p := range n.Pairs {
		if len(d.faults) >= maxFaults {
			return
		}
		given[p.Key] = true
		f := s.find(p.Key)
		switch {
		case f != nil:
			d.value(p.Value, v.FieldByIndex(f.index), f.limits)
		case s.extra != nil && extraKey.MatchString(p.Key):
			extra = append(extra, p)
		default:
			names := s.names()
			d.refuse(n.errorAt(p.Position, Nearest(p.Key, names), "unknown key %s, expected one of %s", quote(p.Key), listed(names)))
		}
	}
	if extra != nil {
		v.FieldByIndex(s.extra).Set(reflect.ValueOf(extra))
	}
	for _, f := range s.fields {
		if f.required && !given[f.name] {
			d.refuse(n.Errorf("key %q is missing", f.name))
		}
	}
}

func (s *shape) find(name string) *field {
	for i := range s.fields {
		if s.fields[i].name == name {
			return &s.fields[i]
		}
	}
	return nil
}

// text is the node as a text; what other readers might take for something else
// must stand in quotes.
func (n *Node) text() (string, error) {
	switch {
	case n.Kind == Text && (n.Quoted || !ambiguous(n.Text)):
		return n.Text, nil
	case n.Kind == Text:
		return "", n.Errorf("found %s, which some readers take for a boolean, a date or a time; expected a text: quote it", n.Text)
	case n.Kind == Null && n.Text == "" || n.Kind == List || n.Kind == Map:
		return "", n.Errorf("found %s, expected a text", n.found())
	}
	return "", n.Errorf("found %s, expected a text: quote it", n.found())
}

// among refuses a text that is none of the words.
func (n *Node) among(text string, words []string) error {
	if words == nil {
		return nil
	}
	for _, w := range words {
		if w == text {
			return nil
		}
	}
	return n.ErrorNear(Nearest(text, words), "found %s, expected one of %s", quote(text), listed(words))
}

// found describes a node in a message.
func (n *Node) found() string {
	switch n.Kind {
	case Null:
		if n.Text != "" {
			return n.Text
		}
	case Bool:
		return n.Text
	case Number:
		return "the number " + n.Text
	case Text:
		return "the text " + quote(n.Text)
	}
	return n.Kind.String()
}

// listed joins words for a message, the first ones where there are many.
func listed(words []string) string {
	const most = 24
	if len(words) > most {
		return strings.Join(words[:most], ", ") + ", …"
	}
	return strings.Join(words, ", ")
}

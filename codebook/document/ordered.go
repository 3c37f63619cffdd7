package document

import (
	"reflect"
)

// Ordered is a map whose keys keep the order in which they were written.
type Ordered[T any] []Entry[T]

// An Entry is one key of an Ordered map.
type Entry[T any] struct {
	Key      string
	Position Position // of the key
	Value    T
}

// Get finds the value of a key.
func (o Ordered[T]) Get(key string) (T, bool) {
	for _, e := range o {
		if e.Key == key {
			return e.Value, true
		}
	}
	var none T
	return none, false
}

// Keys lists the keys in order.
func (o Ordered[T]) Keys() []string {
	keys := make([]string, len(o))
	for i, e := range o {
		keys[i] = e.Key
	}
	return keys
}

// UnmarshalDocument reads a map.
func (o *Ordered[T]) UnmarshalDocument(n *Node) error {
	var d decoder
	o.unmarshalLimited(&d, n, limits{})
	return Join(d.faults...)
}

func (o *Ordered[T]) unmarshalLimited(d *decoder, n *Node, l limits) {
	if n.Kind != Map {
		d.refuse(n.Errorf("found %s, expected a map", n.found()))
		return
	}
	out := make(Ordered[T], len(n.Pairs))
	for i, p := range n.Pairs {
		out[i].Key, out[i].Position = p.Key, p.Position
		d.value(p.Value, reflect.ValueOf(&out[i].Value).Elem(), l)
	}
	*o = out
}

func (o Ordered[T]) schema(b *builder, l limits) map[string]any {
	return map[string]any{"type": "object", "additionalProperties": b.value(reflect.TypeFor[T](), l)}
}

// OneOrMore is a list that may be written as its only item: "by: arch" is
// "by: [arch]". An empty list is accepted and is not nil.
type OneOrMore[T any] []T

// UnmarshalDocument reads a list or one item.
func (o *OneOrMore[T]) UnmarshalDocument(n *Node) error {
	var d decoder
	o.unmarshalLimited(&d, n, limits{})
	return Join(d.faults...)
}

func (o *OneOrMore[T]) unmarshalLimited(d *decoder, n *Node, l limits) {
	items := n.Items
	if n.Kind != List {
		items = []*Node{n}
	}
	out := make(OneOrMore[T], len(items))
	for i, item := range items {
		d.value(item, reflect.ValueOf(&out[i]).Elem(), l)
	}
	*o = out
}

func (o OneOrMore[T]) schema(b *builder, l limits) map[string]any {
	item := b.value(reflect.TypeFor[T](), l)
	return map[string]any{"anyOf": []any{item, map[string]any{"type": "array", "items": item}}}
}

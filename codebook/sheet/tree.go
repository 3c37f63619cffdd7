package sheet

import (
	"slices"

	"heelcohort/codebook/document"
)

// clone copies the maps and lists of a document, so that they can be taken
// apart.
func clone(n *document.Node) *document.Node {
	c := *n
	c.Items = make([]*document.Node, len(n.Items))
	for i, item := range n.Items {
		c.Items[i] = clone(item)
	}
	c.Pairs = slices.Clone(n.Pairs)
	for i := range c.Pairs {
		c.Pairs[i].Value = clone(c.Pairs[i].Value)
	}
	return &c
}

// find is the value at a path of keys, or nil.
func find(n *document.Node, path []string) *document.Node {
	for _, key := range path {
		if n == nil || n.Kind != document.Map {
			return nil
		}
		n = n.Get(key)
	}
	return n
}

// drop removes the value at a path, and the maps that hold nothing else.
func drop(n *document.Node, path []string) {
	i := slices.IndexFunc(n.Pairs, func(p document.Pair) bool { return p.Key == path[0] })
	if i < 0 {
		return
	}
	if len(path) > 1 {
		inner := n.Pairs[i].Value
		drop(inner, path[1:])
		if len(inner.Pairs) > 0 {
			return
		}
	}
	n.Pairs = slices.Delete(n.Pairs, i, i+1)
}

// put sets the value at a path and reports whether that was free. Maps on the
// way are made.
func put(n *document.Node, path []string, p document.Position, v *document.Node) bool {
	for i, key := range path {
		if n.Kind != document.Map {
			return false
		}
		next := n.Get(key)
		switch {
		case i == len(path)-1 && next != nil:
			return false
		case i == len(path)-1:
			n.Pairs = append(n.Pairs, document.Pair{Key: key, Position: p, Value: v})
		case next == nil:
			next = &document.Node{Kind: document.Map, Position: p}
			n.Pairs = append(n.Pairs, document.Pair{Key: key, Position: p, Value: next})
		}
		n = next
	}
	return true
}

// sorted brings the keys of all maps into their usual order.
func sorted(n *document.Node) {
	slices.SortStableFunc(n.Pairs, func(a, b document.Pair) int { return rank(a.Key) - rank(b.Key) })
	for _, p := range n.Pairs {
		sorted(p.Value)
	}
	for _, item := range n.Items {
		sorted(item)
	}
}

// place gives a document read from a cell the cell's position.
func place(n *document.Node, p document.Position) *document.Node {
	c := &document.Node{Kind: n.Kind, Position: p, Text: n.Text, Quoted: n.Quoted}
	for _, item := range n.Items {
		c.Items = append(c.Items, place(item, p))
	}
	for _, pair := range n.Pairs {
		c.Pairs = append(c.Pairs, document.Pair{Key: pair.Key, Position: p, Value: place(pair.Value, p)})
	}
	return c
}

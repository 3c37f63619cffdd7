package codebook

import (
	"slices"

	"heelcohort/codebook/document"
)

// keys reads the keys of a table and checks that they name variables.
func (c *checker) keys(p *Package, r *Resource, raw *rawResource) {
	s := &r.Schema
	s.PrimaryKey = c.named(r, raw.Schema.PrimaryKey, "primaryKey")
	for _, k := range raw.Schema.UniqueKeys {
		s.UniqueKeys = append(s.UniqueKeys, c.named(r, k, "uniqueKeys"))
	}
	for _, k := range raw.Schema.ForeignKeys {
		out := ForeignKey{Fields: c.named(r, k.Fields, "foreignKeys")}
		other := r
		if name := k.Reference.Resource; name != nil && name.Value != "" && name.Value != r.Name {
			if other = p.Resource(name.Value); other == nil {
				c.text(*name, document.Nearest(name.Value, p.Names()), "unknown table %q, expected one of %s", name.Value, list(p.Names()))
				continue
			}
			out.Resource = other.Name
		}
		out.ReferenceFields = c.named(other, k.Reference.Fields, "reference")
		c.pairs(r, other, k, out)
		s.ForeignKeys = append(s.ForeignKeys, out)
	}
}

// named checks a list of variables of a table.
func (c *checker) named(r *Resource, fields []document.String, what string) []string {
	seen := map[string]document.Position{}
	for _, s := range fields {
		c.unique(seen, s, "variable")
		if r.Schema.Field(s.Value) == nil {
			names := r.Schema.Names()
			c.text(s, document.Nearest(s.Value, names), "%s names the variable %q, which table %s does not have", what, s.Value, r.Name)
		}
	}
	return texts(fields)
}

// pairs checks that the two sides of a foreign key can be equal.
func (c *checker) pairs(r, other *Resource, raw rawForeignKey, k ForeignKey) {
	switch {
	case len(k.Fields) == 0:
		c.at(raw.Position, "", "fields is empty, expected at least one variable")
		return
	case len(k.Fields) != len(k.ReferenceFields):
		c.at(raw.Reference.Position, "", "%d fields refer to %d fields of %s", len(k.Fields), len(k.ReferenceFields), other.Name)
		return
	case k.Resource == "" && slices.Equal(k.Fields, k.ReferenceFields):
		c.at(raw.Reference.Position, "", "the key refers to itself")
		return
	}
	for i, name := range k.Fields {
		from, to := r.Schema.Field(name), other.Schema.Field(k.ReferenceFields[i])
		if from != nil && to != nil && from.Kind() != to.Kind() {
			c.text(raw.Fields[i], "", "%s is a %v and %s.%s a %v, so they are never equal", name, from.Kind(), other.Name, to.Name, to.Kind())
		}
	}
}

// namesOneRow reports whether the variables name at most one row of a table:
// they are its primary key, one of its unique keys, or a unique variable.
func (s *Schema) namesOneRow(fields []string) bool {
	same := func(key []string) bool {
		return len(key) > 0 && len(key) == len(fields) && !slices.ContainsFunc(key, func(name string) bool { return !slices.Contains(fields, name) })
	}
	if same(s.PrimaryKey) || slices.ContainsFunc(s.UniqueKeys, same) {
		return true
	}
	if len(fields) != 1 {
		return false
	}
	f := s.Field(fields[0])
	return f != nil && f.Constraints.Unique
}

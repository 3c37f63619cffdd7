package codebook

import (
	"path"
	"slices"
	"strings"
	"unicode"

	"heelcohort/codebook/document"
)

// Decode reads a codebook from YAML or JSON. The name of the file is used for
// its extension and in messages. Every fault is a *document.Error with its
// place; several come together as document.Errors.
func Decode(file string, data []byte) (*Package, error) {
	root, err := document.Parse(file, data)
	if err != nil {
		return nil, err
	}
	return decode(root, data)
}

// DecodeDocument reads a codebook from a document that was made by other means
// than a file of text, such as the sheets of package sheet. Faults have the
// positions of its nodes.
func DecodeDocument(root *document.Node) (*Package, error) { return decode(root, nil) }

// decode reads a codebook; data is the text for excerpts.
func decode(root *document.Node, data []byte) (*Package, error) {
	var raw rawPackage
	if err := document.Decode(root, &raw); err != nil {
		return nil, err
	}
	c := &checker{data: data}
	p := c.pack(&raw)
	if err := document.Join(c.faults...); err != nil {
		return nil, err
	}
	// Keys and rules are checked once every table is known to be sound.
	for i := range raw.Resources {
		c.keys(p, p.Resources[i], &raw.Resources[i])
		c.anonymity(p.Resources[i], raw.Resources[i].Own.Anonymity)
	}
	if len(c.faults) == 0 {
		for i := range raw.Resources {
			c.rules(p, p.Resources[i], raw.Resources[i].Own.Rules)
		}
	}
	if err := document.Join(c.faults...); err != nil {
		return nil, err
	}
	return p, nil
}

func (c *checker) pack(raw *rawPackage) *Package {
	p := &Package{Name: raw.Name, Title: raw.Title, Description: raw.Description, Version: raw.Version}
	if len(raw.Resources) == 0 {
		c.at(raw.Position, "", "resources is empty, expected at least one table")
	}
	seen := map[string]document.Position{}
	sheets := map[[2]string]*Resource{}
	for i := range raw.Resources {
		r := c.resource(&raw.Resources[i])
		c.unique(seen, raw.Resources[i].Name, "table")
		place := [2]string{r.Path, r.Sheet}
		if other := sheets[place]; other != nil && r.Path != "" {
			c.at(r.Position, "", "table %q reads the same sheet of %s as table %q", r.Name, r.Path, other.Name)
		}
		sheets[place] = r
		p.Resources = append(p.Resources, r)
	}
	return p
}

func (c *checker) resource(raw *rawResource) *Resource {
	r := &Resource{
		Name: raw.Name.Value, Title: raw.Title, Description: raw.Description, HeaderRow: 1,
		Bytes: raw.Bytes, Hash: raw.Hash.Value, Position: raw.Position,
	}
	c.name(raw.Name, "table")
	if strings.Contains(r.Name, ".") {
		c.text(raw.Name, strings.ReplaceAll(r.Name, ".", "_"), "name %q holds a point, which separates a table from its variable", r.Name)
	}
	c.unsupported(raw.Data, "data", "put the rows into a file and name it under path")
	r.Path = c.path(raw)
	c.encoding(r, raw)
	if raw.Own.Sheet != nil {
		r.Sheet = raw.Own.Sheet.Value
	}
	if raw.Own.HeaderRow != nil {
		r.HeaderRow = *raw.Own.HeaderRow
	}
	if raw.Dialect != nil {
		c.dialect(r, raw)
	}
	c.schema(r, &raw.Schema)
	return r
}

// path checks the file's name: it must stay in the codebook's folder.
func (c *checker) path(raw *rawResource) string {
	if len(raw.Path) != 1 {
		p := raw.Name.Position
		if len(raw.Path) > 1 {
			p = raw.Path[1].Position
		}
		c.at(p, "", "%d paths, expected one file", len(raw.Path))
		return ""
	}
	s := raw.Path[0]
	switch {
	case Bare(s.Value) == "":
		c.text(s, "", "an empty path, expected a file in the codebook's folder")
	case strings.ContainsFunc(s.Value, unicode.IsControl):
		c.text(s, "", "path %q holds a control character", s.Value)
	case strings.Contains(s.Value, `\`):
		c.text(s, strings.ReplaceAll(s.Value, `\`, "/"), "path %q has a backslash, expected /", s.Value)
	case strings.Contains(s.Value, "://"):
		c.text(s, "", "path %q is an address, expected a file in the codebook's folder", s.Value)
	case strings.HasPrefix(s.Value, "/") || len(s.Value) > 1 && s.Value[1] == ':':
		c.text(s, "", "path %q is absolute, expected one relative to the codebook's folder", s.Value)
	case slices.Contains(strings.Split(s.Value, "/"), ".."):
		c.text(s, "", "path %q leaves the codebook's folder", s.Value)
	case strings.HasSuffix(s.Value, "/") || path.Clean(s.Value) == ".":
		c.text(s, "", "path %q is a folder, expected a file", s.Value)
	}
	clean := path.Clean(s.Value)
	if f := raw.Format; f.Value != "" && !strings.EqualFold("."+f.Value, path.Ext(clean)) {
		c.text(f, strings.TrimPrefix(path.Ext(clean), "."), "format %q does not agree with the path %q", f.Value, s.Value)
	}
	return clean
}

func (c *checker) schema(r *Resource, raw *rawSchema) {
	s := &r.Schema
	if m := raw.FieldsMatch; m != nil && m.Value != "equal" {
		c.text(*m, "equal", "fieldsMatch %q is not supported, expected equal: columns are found by their names", m.Value)
	}
	s.MissingValues = []MissingValue{{}}
	if raw.MissingValues != nil {
		s.MissingValues = c.codes(*raw.MissingValues)
	}
	if len(raw.Fields) == 0 {
		c.at(raw.Position, "", "fields is empty, expected at least one variable")
	}
	seen := map[string]document.Position{}
	for i := range raw.Fields {
		c.name(raw.Fields[i].Name, "variable")
		c.unique(seen, raw.Fields[i].Name, "variable")
		f := c.field(&raw.Fields[i], s.MissingValues)
		s.Fields = append(s.Fields, f)
	}
	c.places(s.Fields, raw.Fields)
}

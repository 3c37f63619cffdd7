package plan

import (
	"fmt"
	"regexp"

	"heelcohort/codebook/document"
)

var idPattern = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

var namePattern = regexp.MustCompile(`^[A-Za-z_][A-Za-z0-9_]*$`)

// Decode reads a plan from YAML or JSON. The name of the file is used in
// messages. Every fault is a *document.Error; several come as document.Errors.
func Decode(file string, data []byte) (*Plan, error) {
	node, err := document.Parse(file, data)
	if err != nil {
		return nil, err
	}
	p := &Plan{File: file, data: data}
	if err := document.Decode(node, p); err != nil {
		return nil, err
	}
	if err := document.Join(p.check()...); err != nil {
		return nil, err
	}
	return p, nil
}

// check finds what single words do not show.
func (p *Plan) check() []error {
	var faults []error
	fault := func(at document.Position, format string, args ...any) {
		faults = append(faults, p.Fault(at, "", fmt.Sprintf(format, args...)))
	}
	if len(p.Analyses) == 0 {
		fault(p.Position, "no analyses, expected at least one")
	}
	ids := map[string]document.Position{}
	for _, a := range p.Analyses {
		id := a.Common().ID
		first, twice := ids[id.Value]
		switch {
		case !idPattern.MatchString(id.Value):
			fault(id.Position, "id %q, expected lower-case letters, digits and single hyphens, such as table-1", id.Value)
		case twice:
			fault(id.Position, "id %q stands twice, first on line %d", id.Value, first.Line)
		}
		ids[id.Value] = id.Position
	}
	for _, block := range p.Derive {
		for _, d := range block.Value {
			faults = append(faults, p.checkDerived(d)...)
		}
	}
	return faults
}

func (p *Plan) checkDerived(d Derived) []error {
	var faults []error
	if !namePattern.MatchString(d.Name.Value) {
		faults = append(faults, p.Fault(d.Name.Position, "", fmt.Sprintf(
			"name %q, expected letters, digits and underscores that begin with a letter", d.Name.Value)))
	}
	made := 0
	for _, has := range []bool{d.Value != nil, d.Instrument != nil, d.Any != nil, d.Count != nil, d.Sum != nil} {
		if has {
			made++
		}
	}
	if made != 1 {
		faults = append(faults, p.Fault(d.Position, "", fmt.Sprintf(
			"variable %q has %d of value, instrument, any, count and sum, expected exactly one", d.Name.Value, made)))
	}
	for _, a := range []*Aggregate{d.Any, d.Count} {
		if a != nil && a.Of != nil {
			faults = append(faults, p.Fault(a.Of.Position, "", "of belongs to sum"))
		}
	}
	if d.Sum != nil && d.Sum.Of == nil {
		faults = append(faults, p.Fault(d.Sum.Position, "", "sum has no of, expected the number to add up"))
	}
	return faults
}

// JSONSchema is the JSON Schema (2020-12) of a plan. It knows the words and
// their kinds; Decode also checks that they fit together.
func JSONSchema() map[string]any {
	schema := document.Schema(Plan{})
	schema["$schema"] = document.Dialect
	schema["title"] = "heelcohort analysis plan"
	return schema
}

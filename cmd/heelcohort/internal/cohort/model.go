package cohort

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook"
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// A Variable is a variable that a plan can name: one of the codebook or a
// derived one.
type Variable struct {
	Table, Name, Label, Unit string
	Kind                     value.Kind
	Words, Labels            []string // legal texts in order and their labels; nil when open
	Ordered                  bool
	Codes                    []codebook.MissingValue
}

// A Model is a plan checked against its codebook.
type Model struct {
	Plan         *plan.Plan
	Package      *codebook.Package
	Participants string // the table with one row a child

	tables   map[string][]Variable // by table, in order
	measures map[[2]string]measure // of variables whose scores are never pooled, by table and name
	derived  []derivation
	steps    []step
}

// A derivation makes one derived variable.
type derivation struct {
	variable Variable
	value    *Formula // of the row, or nil
	scoring  *scoring // of the row, or nil
	how      string   // any, count, sum
	child    string   // the table that is gathered
	when, of *Formula
}

// A step is a population step.
type step struct {
	table, otherwise string
	keep             *Formula
}

// Compile checks the names and expressions of the plan's derived variables and
// population against the codebook. Faults are *document.Error.
func Compile(p *plan.Plan, pkg *codebook.Package) (*Model, error) {
	m := &Model{Plan: p, Package: pkg, tables: map[string][]Variable{}, measures: map[[2]string]measure{}}
	for _, r := range pkg.Resources {
		for _, f := range r.Schema.Fields {
			m.tables[r.Name] = append(m.tables[r.Name], fieldVariable(r.Name, f))
		}
	}
	var faults []error
	note := func(err error) bool {
		if err != nil {
			faults = append(faults, err)
		}
		return err == nil
	}
	if p.Participants != nil {
		if r, err := m.Resource(*p.Participants); note(err) {
			m.Participants = r.Name
		}
	} else {
		m.Participants = pkg.Resources[0].Name
	}
	faults = append(faults, m.noteMeasures(p)...)
	for _, block := range p.Derive {
		if pkg.Resource(block.Key) == nil {
			note(m.unknownTable(block.Key, block.Position))
			continue
		}
		for _, d := range block.Value {
			if v, err := m.derive(block.Key, d); note(err) {
				m.derived = append(m.derived, *v)
				m.tables[block.Key] = append(m.tables[block.Key], v.variable)
			}
		}
	}
	for _, s := range p.Population {
		table := m.Participants
		if s.Table != nil {
			r, err := m.Resource(*s.Table)
			if !note(err) {
				continue
			}
			table = r.Name
		}
		if table == "" {
			continue
		}
		if f, err := m.Expression(table, s.Keep, value.Bool); note(err) {
			m.steps = append(m.steps, step{table, s.Otherwise.Value, f})
		}
	}
	return m, document.Join(faults...)
}

func fieldVariable(table string, f *codebook.Field) Variable {
	v := Variable{
		Table: table, Name: f.Name, Label: f.Label(), Unit: f.Unit, Kind: f.Kind(), Words: f.Words(),
		Ordered: f.CategoriesOrdered, Codes: f.Codes(),
	}
	for _, c := range f.Categories {
		label := c.Label
		if label == "" {
			label = c.Value
		}
		v.Labels = append(v.Labels, label)
	}
	return v
}

// derive checks one derived variable.
func (m *Model) derive(table string, d plan.Derived) (*derivation, error) {
	for _, known := range m.tables[table] {
		if known.Name == d.Name.Value {
			return nil, d.Name.Errorf(1, 1, "", "table %q already has a variable %q, expected a new name", table, d.Name.Value)
		}
	}
	v := Variable{Table: table, Name: d.Name.Value, Label: d.Label, Unit: d.Unit}
	if v.Label == "" {
		v.Label = v.Name
	}
	made := &derivation{}
	var err error
	switch {
	case d.Value != nil:
		if made.value, err = m.Expression(table, *d.Value, value.Unknown); err != nil {
			return nil, err
		}
		v.Kind, v.Words, v.Ordered = made.value.Kind(), made.value.Words(), true
		v.Labels, v.Codes = m.wordLabels(made.value)
		m.inherit(v, table, made.value.variables)
	case d.Instrument != nil:
		if made.scoring, err = m.bindScoring(table, d); err != nil {
			return nil, err
		}
		v = made.scoring.variable
	case d.Any != nil:
		v.Kind, made.how = value.Bool, "any"
		err = m.aggregate(table, *d.Any, made)
	case d.Count != nil:
		v.Kind, made.how = value.Number, "count"
		err = m.aggregate(table, *d.Count, made)
	case d.Sum != nil:
		v.Kind, made.how = value.Number, "sum"
		if err = m.aggregate(table, *d.Sum, made); err == nil && made.of != nil {
			m.inherit(v, made.child, made.of.variables)
		}
	}
	made.variable = v
	return made, err
}

// wordLabels gives the labels of a result's words: those of the codebook where
// a variable has the word, else the word without underscores. The missing codes
// are those of the variables used.
func (m *Model) wordLabels(f *Formula) (labels []string, codes []codebook.MissingValue) {
	known := map[string]string{}
	for _, used := range f.variables {
		table := used.Table
		if table == "" {
			table = f.Table
		}
		v, _ := m.find(table, used.Name)
		for i, word := range v.Words {
			if _, there := known[word]; !there && i < len(v.Labels) {
				known[word] = v.Labels[i]
			}
		}
		for _, c := range v.Codes {
			if !slices.ContainsFunc(codes, func(k codebook.MissingValue) bool { return k.Value == c.Value }) {
				codes = append(codes, c)
			}
		}
	}
	for _, word := range f.Words() {
		label, there := known[word]
		if !there {
			label = sentenceCase(strings.ReplaceAll(word, "_", " "))
		}
		labels = append(labels, label)
	}
	return labels, codes
}

func (m *Model) aggregate(table string, a plan.Aggregate, made *derivation) error {
	child, err := m.Resource(a.Table)
	if err != nil {
		return err
	}
	if !slices.Contains(m.Package.Scope(child).Tables(), table) {
		return a.Table.Errorf(1, 1, "", "table %q has no foreign key to one row of %q, expected a table whose rows link to it", child.Name, table)
	}
	made.child = child.Name
	if a.When != nil {
		if made.when, err = m.Expression(child.Name, *a.When, value.Bool); err != nil {
			return err
		}
	}
	if a.Of != nil {
		made.of, err = m.Expression(child.Name, *a.Of, value.Number)
	}
	return err
}

// Resource finds a table by the name the plan gives.
func (m *Model) Resource(name document.String) (*codebook.Resource, error) {
	if r := m.Package.Resource(name.Value); r != nil {
		return r, nil
	}
	return nil, name.Errorf(1, 1, document.Nearest(name.Value, m.Package.Names()), "unknown table %q, expected one of %s", name.Value, strings.Join(m.Package.Names(), ", "))
}

func (m *Model) unknownTable(name string, at document.Position) error {
	return m.Plan.Fault(at, document.Nearest(name, m.Package.Names()), fmt.Sprintf("unknown table %q, expected one of %s", name, strings.Join(m.Package.Names(), ", ")))
}

// Variable finds a variable of a table by the name the plan gives.
func (m *Model) Variable(table string, name document.String) (Variable, error) {
	if v, ok := m.find(table, name.Value); ok {
		return v, nil
	}
	return Variable{}, name.Errorf(1, 1, document.Nearest(name.Value, m.names(table)), "table %q has no variable %q", table, name.Value)
}

func (m *Model) find(table, name string) (Variable, bool) {
	for _, v := range m.tables[table] {
		if v.Name == name {
			return v, true
		}
	}
	return Variable{}, false
}

func (m *Model) names(table string) []string {
	var names []string
	for _, v := range m.tables[table] {
		names = append(names, v.Name)
	}
	return names
}

// Level checks that a text is one of a variable's levels, and returns its place
// among Levels.
func (m *Model) Level(v Variable, level document.String) (int, error) {
	words := v.Levels()
	if i := slices.Index(words, level.Value); i >= 0 {
		return i, nil
	}
	return 0, level.Errorf(1, 1, document.Nearest(level.Value, words), "%q is no level of %q, expected one of %s", level.Value, v.Name, strings.Join(words, ", "))
}

// Levels lists the texts of a variable's levels: its words, or no and yes for a
// boolean; nil for others.
func (v Variable) Levels() []string {
	if v.Kind == value.Bool {
		return []string{"false", "true"}
	}
	return v.Words
}

// LevelLabels lists the labels of Levels.
func (v Variable) LevelLabels() []string {
	if v.Kind == value.Bool {
		return []string{"no", "yes"}
	}
	if v.Labels == nil {
		return v.Words
	}
	return v.Labels
}

// sentenceCase writes the first letter as a capital.
func sentenceCase(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:]
}

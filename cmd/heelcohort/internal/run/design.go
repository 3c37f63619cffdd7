package run

import (
	"fmt"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/cohort"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
	"heelcohort/stats"
)

// A term is one variable of a model.
type term struct {
	variable  cohort.Variable
	reference int // among the levels
	written   bool

	fine                        bool   // current age as a number
	cycle                       bool   // the day of the season at which person-time falls
	shape                       *shape // nil: a number enters as it is
	periodWritten, pairsWritten bool   // of a season
}

// bindTerm finds a variable for a model: a number or one with levels.
func bindTerm(m *cohort.Model, table string, name document.String, references document.Ordered[document.String]) (term, error) {
	v, err := m.Variable(table, name)
	if err != nil {
		return term{}, err
	}
	if v.Kind != value.Number && v.Levels() == nil {
		return term{}, name.Errorf(1, 1, "", "%q is a %v without categories, expected a number, a boolean or a variable with categories", v.Name, v.Kind)
	}
	t := term{variable: v}
	if level, ok := references.Get(v.Name); ok {
		if v.Levels() == nil {
			return t, level.Errorf(1, 1, "", "%q is a number and has no reference level", v.Name)
		}
		t.written = true
		t.reference, err = m.Level(v, level)
	}
	return t, err
}

// checkReferences refuses a reference for a variable that is not in use.
func checkReferences(m *cohort.Model, references document.Ordered[document.String], names []string) error {
	for _, r := range references {
		if !slices.Contains(names, r.Key) {
			return m.Plan.Fault(r.Position, document.Nearest(r.Key, names), fmt.Sprintf("reference for %q, expected one of %s", r.Key, strings.Join(names, ", ")))
		}
	}
	return nil
}

// A coefficient names one column of a design.
type coefficient struct{ variable, level string }

func (c coefficient) String() string {
	if c.level == "" {
		return c.variable
	}
	return c.variable + "=" + c.level
}

// A design is the matrix of a model: one row for each complete observation.
type design struct {
	rows    []int // of the data, those that are complete
	x       [][]float64
	columns []coefficient
	dropped []string // levels without a row
	shaped  []int    // columns whose ratios mean nothing one by one
	crossed [][3]int // columns that are the products of two others
}

// newDesign makes the matrix from the values of each term, levels in indicator
// columns against the reference. usable tells the rows that have all else.
func newDesign(terms []term, values [][]value.Value, usable []bool) (*design, error) {
	d := &design{}
	for i := range usable {
		complete := usable[i]
		for _, v := range values {
			complete = complete && !v[i].Missing
		}
		if complete {
			d.rows = append(d.rows, i)
		}
	}
	if len(d.rows) == 0 {
		return nil, fmt.Errorf("rows complete in all variables of the model: %w", stats.ErrNoData)
	}
	d.x = make([][]float64, len(d.rows))
	for k, t := range terms {
		levels := t.variable.Levels()
		if levels == nil && t.shape != nil {
			if err := d.addShape(t, values[k]); err != nil {
				return nil, err
			}
			continue
		}
		if levels == nil {
			d.columns = append(d.columns, coefficient{variable: t.variable.Name})
			for r, i := range d.rows {
				d.x[r] = append(d.x[r], values[k][i].Number)
			}
			continue
		}
		seen := make([]int, len(levels))
		at := make([]int, len(d.rows))
		for r, i := range d.rows {
			level, _ := valueLevel(values[k][i])
			at[r] = slices.Index(levels, level)
			if at[r] < 0 {
				return nil, fmt.Errorf("run: %q has the unknown level %q", t.variable.Name, level)
			}
			seen[at[r]]++
		}
		if seen[t.reference] == 0 {
			return nil, fmt.Errorf("the reference level %q of %s: %w", levels[t.reference], t.variable.Name, stats.ErrNoData)
		}
		for l, level := range levels {
			switch {
			case l == t.reference:
			case seen[l] == 0:
				d.dropped = append(d.dropped, coefficient{t.variable.Name, level}.String())
			default:
				d.columns = append(d.columns, coefficient{t.variable.Name, level})
				for r := range d.rows {
					x := 0.0
					if at[r] == l {
						x = 1
					}
					d.x[r] = append(d.x[r], x)
				}
			}
		}
	}
	if len(d.columns) == 0 {
		return nil, fmt.Errorf("every row has the reference levels: %w to model", stats.ErrNoVariance)
	}
	return d, nil
}

// addShape adds the columns of a number with a shape.
func (d *design) addShape(t term, values []value.Value) error {
	numbers := make([]float64, len(d.rows))
	for r, i := range d.rows {
		numbers[r] = values[i].Number
	}
	if err := t.shape.place(numbers); err != nil {
		return fmt.Errorf("%s: %w", t.variable.Name, err)
	}
	for _, name := range t.shape.names() {
		d.columns = append(d.columns, coefficient{t.variable.Name, name})
		d.shaped = append(d.shaped, len(d.columns)-1)
	}
	for r, x := range numbers {
		d.x[r] = append(d.x[r], t.shape.row(x)...)
	}
	return nil
}

// interaction names the columns of two variables together.
func interaction(a, b cohort.Variable) string { return a.Name + " × " + b.Name }

// interact adds the products of the columns of the first term with those of
// others, by their indexes.
func (d *design) interact(terms []term, others []int) error {
	own := d.columnsOf(terms[0].variable.Name)
	for _, k := range others {
		for _, i := range own {
			for _, j := range d.columnsOf(terms[k].variable.Name) {
				a, b := d.columns[i], d.columns[j]
				level := a.level
				if level != "" && b.level != "" {
					level += " × "
				}
				d.crossed = append(d.crossed, [3]int{len(d.columns), i, j})
				d.columns = append(d.columns, coefficient{interaction(terms[0].variable, terms[k].variable), level + b.level})
				for r := range d.x {
					d.x[r] = append(d.x[r], d.x[r][i]*d.x[r][j])
				}
			}
		}
	}
	return nil
}

// columnsOf are the columns of a variable.
func (d *design) columnsOf(name string) []int {
	var list []int
	for j, c := range d.columns {
		if c.variable == name {
			list = append(list, j)
		}
	}
	return list
}

// coefficients are the columns of a variable as indexes of the fit's
// coefficients, which an intercept, the cut points of ordered categories or
// nothing comes before.
func (d *design) coefficients(f stats.Fit, name string) []int {
	list := d.columnsOf(name)
	for i := range list {
		list[i] += len(f.Coefficients) - len(d.columns)
	}
	return list
}

// names are the columns' names for package stats.
func (d *design) names() []string {
	names := make([]string, len(d.columns))
	for i, c := range d.columns {
		names[i] = c.String()
	}
	return names
}

// setTerms writes the choices of a model's terms.
func (b *builder) setTerms(terms []term) {
	for _, t := range terms {
		b.name(t.variable)
		if levels := t.variable.Levels(); levels != nil {
			b.set("reference."+t.variable.Name, levels[t.reference], t.written)
		}
	}
}

// fit adds the rows of a fitted model: ratios unless they have no name, then coefficients, then the fit
// as a whole. Where the model could not be fitted one row says why.
func (b *builder) fit(part, ratio string, d *design, f stats.Fit, err error) {
	if err != nil {
		r := b.row(part, "log likelihood")
		if d != nil {
			r.N = result.Number(len(d.rows))
		}
		r.Reason = err.Error()
		b.add(r)
		return
	}
	first := len(f.Coefficients) - len(d.columns) // those before: an intercept, cut points or none
	for i, c := range d.columns {
		if ratio == "" || slices.Contains(d.shaped, i) {
			continue
		}
		r := b.row(part, ratio)
		r.Variable, r.Term = c.variable, c.level
		e := f.Estimates[i]
		b.add(b.estimate(r, e, nil))
	}
	for i := range f.Coefficients {
		r := b.row(part, "coefficient")
		r.Term = f.Terms[i]
		if i >= first {
			r.Variable, r.Term = d.columns[i-first].variable, d.columns[i-first].level
		}
		b.add(b.estimate(r, f.Coefficient(i, b.level), nil))
	}
	r := b.row(part, "log likelihood")
	r.N, r.Events = result.Number(f.N), result.Number(f.Events)
	for _, w := range f.Warnings {
		r.Warnings = append(r.Warnings, w.Text)
	}
	b.add(number(r, f.LogLik, "not defined for this model"))
	for _, t := range f.Tests {
		b.test(part, t.Name, t, f.N, nil)
	}
	for _, level := range d.dropped {
		b.warn(fmt.Sprintf("%s: no row has the level %s, which the model therefore leaves out.", partName(part), level))
	}
}

func partName(part string) string { return strings.ToUpper(part[:1]) + part[1:] }

package codebookpage

import (
	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/codebook"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
)

// A variableView is one variable on the page.
type variableView struct {
	Table, Name, Title, Description string
	Label                           string // the title, or the name where there is none
	Type, Unit                      string
	Facts                           []fact
	Data                            bool
	Present, Missing, Invalid       string // numbers of cells
	Words                           []wordView
	Counted                         bool // words carry counts
	Codes                           []wordView
	Numbers                         []fact
	Histogram                       *histogram
	Notes                           []string
}

// A wordView is a category or a missing code with the cells that hold it.
type wordView struct {
	Value, Label, N, Share string
	Width                  string // of its bar, in percent; "" without one
}

// roles are said in words.
var roles = map[string]string{
	"identifier": "identifier", "quasi_identifier": "quasi-identifier: with others it may tell who a child is", "free_text": "free text",
}

func variableOf(r *codebook.Resource, f *codebook.Field, c *dataset.Column, held bool, small int) variableView {
	v := variableView{
		Table: r.Name, Name: f.Name, Title: f.Title, Description: f.Description, Label: f.Label(), Type: f.Type, Unit: f.Unit,
	}
	v.Facts = append(v.Facts, fact{"Type", f.Type})
	if f.Unit != "" {
		v.Facts = append(v.Facts, fact{"Unit", f.Unit})
	}
	if len(f.Categories) == 0 {
		v.Facts = append(v.Facts, fact{"Takes", f.Expected()})
	} else if f.CategoriesOrdered {
		v.Facts = append(v.Facts, fact{"Categories", "in order"})
	}
	if f.Constraints.Required {
		v.Facts = append(v.Facts, fact{"Required", "yes: never missing"})
	}
	if f.Constraints.Unique {
		v.Facts = append(v.Facts, fact{"Unique", "yes: no two rows share a value"})
	}
	if word := roles[f.Role]; word != "" {
		v.Facts = append(v.Facts, fact{"Role", word})
	}
	v.words(f)
	if c != nil {
		v.Data = true
		v.data(f, c, held, small)
	}
	return v
}

// words lists categories and missing codes without counts.
func (v *variableView) words(f *codebook.Field) {
	for _, k := range f.Categories {
		v.Words = append(v.Words, wordView{Value: k.Value, Label: k.Label})
	}
	// A code is a fault where a value is required, and the empty cell alone
	// takes no table.
	codes := f.Codes()
	if f.Constraints.Required {
		return
	}
	if len(codes) == 0 {
		v.Facts = append(v.Facts, fact{"Missing", "no code"})
	} else if len(codes) == 1 && codes[0].Value == "" {
		text := "an empty cell"
		if codes[0].Label != "" {
			text += ": " + codes[0].Label
		}
		v.Facts = append(v.Facts, fact{"Missing", text})
		return
	}
	for _, m := range codes {
		w := wordView{Value: m.Value, Label: m.Label}
		if m.Value == "" {
			w.Value = "empty cell"
		}
		v.Codes = append(v.Codes, w)
	}
}

// data adds what the cells hold. Of a column that the screen for identifiers
// holds, days apart, which are shown by the month, cells are only counted.
func (v *variableView) data(f *codebook.Field, c *dataset.Column, held bool, small int) {
	var states [3]int
	codes := map[string]int{}
	for i, s := range c.State {
		states[s]++
		if s == dataset.Missing {
			codes[c.Value(i).Code]++
		}
	}
	present := states[dataset.Present]
	v.Present, v.Missing, v.Invalid = number(present), number(states[dataset.Missing]), number(states[dataset.Invalid])
	for i := range v.Codes {
		m := f.Codes()[i]
		v.Codes[i].N = number(codes[m.Value])
		v.Codes[i].Share = percent(codes[m.Value], c.Len())
	}
	switch {
	case f.Role == "identifier":
		v.note("An identifier: its cells are counted and nothing of them is shown.")
	case f.Role == "free_text":
		v.note("Free text: its cells are counted and nothing of them is shown.")
	case held && c.Kind != value.Date:
		v.note("It may say who a child is: its cells are counted and nothing of them is shown.")
	case present == 0:
		v.note("No cell has a value.")
	case c.Words != nil:
		v.categories(c, present, small)
	case c.Kind == value.Bool:
		v.Words = []wordView{{Value: "true"}, {Value: "false"}}
		v.truths(c, present, small)
	case c.Kind == value.Number:
		v.numbers(amounts(c), isDays(f.Unit), small)
	case c.Kind == value.Date:
		v.months(amounts(c), small)
	default:
		v.note("A text without categories: its values are not shown.")
	}
}

func (v *variableView) note(text string) { v.Notes = append(v.Notes, text) }

// amounts are the values that are present.
func amounts(c *dataset.Column) []float64 {
	var values []float64
	for i, s := range c.State {
		if s == dataset.Present {
			values = append(values, c.Number[i])
		}
	}
	return values
}

// isDays reports whether a unit is the day: amounts in days may be days of a
// child's calendar.
func isDays(unit string) bool { return unit == "day" || unit == "days" || unit == "d" }

// categories counts the words of a variable.
func (v *variableView) categories(c *dataset.Column, present, small int) {
	at := map[string]int{}
	for i, w := range c.Words {
		at[w] = i
	}
	counts := make([]int, len(c.Words))
	for i, s := range c.State {
		if s == dataset.Present {
			counts[at[c.Text[i]]]++
		}
	}
	v.count(counts, present, small)
}

// truths counts true and false.
func (v *variableView) truths(c *dataset.Column, present, small int) {
	counts := make([]int, 2)
	for i, s := range c.State {
		switch {
		case s != dataset.Present:
		case c.Bool[i]:
			counts[0]++
		default:
			counts[1]++
		}
	}
	v.count(counts, present, small)
}

// count writes counts and shares beside the words.
func (v *variableView) count(counts []int, present, small int) {
	v.Counted = true
	most := 0
	hidden := hide(counts, small)
	for i, n := range counts {
		if hidden[i] == shown {
			most = max(most, n)
		}
	}
	for i, n := range counts {
		w := &v.Words[i]
		switch hidden[i] {
		case few:
			w.N, w.Share = "<"+number(small), printed.Dash
		case withIt:
			w.N, w.Share = "hidden", printed.Dash
			v.note("One count is hidden because a smaller one could be told from it and the total.")
		case shown:
			w.N, w.Share = number(n), percent(n, present)
			if most > 0 {
				w.Width = width(n, most)
			}
		}
	}
}

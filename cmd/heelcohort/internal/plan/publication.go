package plan

import (
	"time"

	"heelcohort/codebook/document"
)

// A Day is a day of the calendar, written as 2026-03-31.
type Day struct {
	Value    string
	Position document.Position
}

const dayForm = "2006-01-02"

// UnmarshalDocument reads a day; it may stand without quotes.
func (d *Day) UnmarshalDocument(n *document.Node) error {
	if n.Kind != document.Text {
		return n.Errorf("found %v, expected a day such as 2026-03-31", n.Kind)
	}
	if _, err := time.Parse(dayForm, n.Text); err != nil {
		return n.Errorf("found %q, expected a day such as 2026-03-31", n.Text)
	}
	*d = Day{Value: n.Text, Position: n.Position}
	return nil
}

// DocumentSchema is that of a day.
func (Day) DocumentSchema() map[string]any {
	return map[string]any{"type": "string", "pattern": `^[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$`}
}

// An Accepted is a rule whose findings the study knows and leaves as they are.
type Accepted struct {
	Rule     document.String   `doc:"rule,required" about:"The rule, as check names it."`
	Reason   document.String   `doc:"reason,required" about:"Why its findings may stay."`
	Position document.Position `doc:"-"`
}

// Accepts reports whether the plan leaves the findings of a rule as they are.
func (p *Plan) Accepts(rule string) bool {
	for _, a := range p.Accept {
		if a.Rule.Value == rule {
			return true
		}
	}
	return false
}

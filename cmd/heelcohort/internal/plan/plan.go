package plan

import (
	"heelcohort/codebook/document"
)

// A Plan is what a study file says.
type Plan struct {
	Title        document.String             `doc:"title,required" about:"Title of the study, the heading of the report."`
	Codebook     document.String             `doc:"codebook,required" about:"The codebook's file, relative to the plan."`
	Date         *Day                        `doc:"date" about:"Day of publication, such as 2026-03-31, which a bundle carries; no clock is read for it."`
	License      *document.String            `doc:"license" about:"Licence under which the study may be used, as a bundle carries it: its address, or a sentence. The text lies beside the plan in LICENSE."`
	Accept       []Accepted                  `doc:"accept" about:"Rules whose findings the study knows and leaves as they are, so that a bundle is made in spite of them. They change no number, and none lets what may name people through."`
	Level        *float64                    `doc:"level" above:"0" below:"1" about:"Confidence level of all limits; 0.95 unless written."`
	Participants *document.String            `doc:"participants" about:"The table with one row a child; the first table of the codebook unless written."`
	Faults       string                      `doc:"faults" enum:"stop|set-missing" about:"What errors in the data do: stop (default) computes nothing; set-missing takes faulty cells for missing, sets rows with faulty keys aside (all that share a key, but the first of rows that are the same in every cell), and says so; what is derived from a row set aside is missing."`
	Population   []Step                      `doc:"population" about:"Steps of the participant flow, in order, after the derived variables are made."`
	Derive       document.Ordered[[]Derived] `doc:"derive" about:"New variables by table, in order."`
	Analyses     Analyses                    `doc:"analyses,required" about:"The tables and figures."`

	File     string            `doc:"-"`
	Position document.Position `doc:"-"`
	data     []byte
}

// A Step keeps the rows of a table for which a condition is true.
type Step struct {
	Table     *document.String  `doc:"table" about:"The table; the participants' unless written."`
	Keep      Expression        `doc:"keep,required" about:"Condition of the rows that stay. Where it cannot be decided the row goes too, counted apart."`
	Otherwise document.String   `doc:"otherwise,required" about:"Why the other rows go, as the flow prints it."`
	Position  document.Position `doc:"-"`
}

// A Derived is one new variable. Exactly one of Value, Instrument, Any, Count and
// Sum says how it is made.
type Derived struct {
	Name       document.String   `doc:"name,required" about:"Name of the variable."`
	Label      string            `doc:"label" about:"Label in tables; the name unless written."`
	Unit       string            `doc:"unit" about:"Unit of a number."`
	Value      *Expression       `doc:"value" about:"Expression of the row."`
	Instrument *Scoring          `doc:"instrument" about:"Score of an instrument from variables of the row."`
	Any        *Aggregate        `doc:"any" about:"Whether any linked row of a table meets a condition."`
	Count      *Aggregate        `doc:"count" about:"How many linked rows of a table meet a condition."`
	Sum        *Aggregate        `doc:"sum" about:"Sum of a number over linked rows of a table."`
	Position   document.Position `doc:"-"`
}

// An Aggregate gathers the rows of another table that link to the row.
type Aggregate struct {
	Table    document.String   `doc:"table,required" about:"The table whose rows link to this one."`
	When     *Expression       `doc:"when" about:"Condition of the rows that count; all unless written."`
	Of       *Expression       `doc:"of" about:"The number that sum adds up."`
	Position document.Position `doc:"-"`
}

// DefaultLevel is the confidence level of a plan that writes none.
const DefaultLevel = 0.95

// Confidence is the level of all limits, and whether the plan wrote it.
func (p *Plan) Confidence() (level float64, written bool) {
	if p.Level == nil {
		return DefaultLevel, false
	}
	return *p.Level, true
}

// SetMissing reports whether faulty cells are taken for missing.
func (p *Plan) SetMissing() bool { return p.Faults == "set-missing" }

// Fault is a fault at a place of the plan, with the line it stands on.
func (p *Plan) Fault(at document.Position, nearest, message string) *document.Error {
	return &document.Error{Position: at, Message: message, Nearest: nearest, Excerpt: document.Excerpt(p.data, at)}
}

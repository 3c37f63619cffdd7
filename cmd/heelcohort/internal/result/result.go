// The types of the results.

package result

import "math"

// Results is all of a run: what results.json holds.
type Results struct {
	Schema   string    `json:"schema"`  // identifier of the JSON Schema
	Program  string    `json:"program"` // "heelcohort 0.1.0"
	Title    string    `json:"title"`
	Plan     string    `json:"plan"`     // the plan's file name
	Codebook string    `json:"codebook"` // the codebook's file name
	Computed bool      `json:"computed"` // false: findings stopped the run before any estimate
	Settings []Setting `json:"settings"` // of the whole run
	Caution  string    `json:"caution"`
	Findings []Count   `json:"findings"` // by severity and rule, worst first
	// Exceptions are the columns that the codebook lets through the screen for
	// identifiers.
	Exceptions []Exception `json:"exceptions"`
	Flow       []FlowStep  `json:"flow"` // participants, step by step
	// Instruments are the scores that the plan derives.
	Instruments []Instrument `json:"instruments"`
	Analyses    []Analysis   `json:"analyses"`
	Rows        []Row        `json:"rows"`
}

// A Setting is one choice that the numbers depend on.
type Setting struct {
	Key     string `json:"key"`
	Value   string `json:"value"`
	Written bool   `json:"written"` // stood in the plan; otherwise the default
}

// A Count is a number of findings of one sort.
type Count struct {
	Severity string `json:"severity"`
	Rule     string `json:"rule"`
	N        int    `json:"n"`
	First    string `json:"first"` // place of the first one
	Message  string `json:"message"`
}

// An Exception is a column that looks as if it named people and that the
// codebook lets through the screen for identifiers.
type Exception struct {
	Table    string `json:"table"`
	Variable string `json:"variable"`
	Screen   string `json:"screen"`
	Cells    int    `json:"cells"`  // that the screen held
	Reason   string `json:"reason"` // as the codebook gives it
}

// An Instrument is a derived variable that scores an instrument. The counts are
// of all rows, before the steps of the population.
type Instrument struct {
	Table      string         `json:"table"`
	Variable   string         `json:"variable"`
	Name       string         `json:"instrument"`
	Line       int            `json:"line"` // of the plan
	Methods    string         `json:"methods"`
	Rights     string         `json:"rights"`
	Settings   []Setting      `json:"settings"`
	References []Reference    `json:"references"`
	Values     int            `json:"values"`
	Missing    []MissingCount `json:"missing"`
	Warnings   []string       `json:"warnings"`
}

// A MissingCount is the number of values that are missing with a code.
type MissingCount struct {
	Code string `json:"code"`
	N    int    `json:"n"`
}

// A FlowStep is one box of the participant flow.
type FlowStep struct {
	Table   string `json:"table"`
	Step    string `json:"step"`    // "rows in the data", the reason of an exclusion, "analysed"
	Removed int    `json:"removed"` // because the condition was false
	Missing int    `json:"missing"` // because the condition could not be decided
	Left    int    `json:"left"`
}

// An Analysis is one entry of the plan, done.
type Analysis struct {
	ID         string      `json:"id"`
	Kind       string      `json:"kind"`
	Title      string      `json:"title"`
	Line       int         `json:"line"` // of the plan
	Unit       string      `json:"unit"` // of analysis: "participants", "episodes"
	Settings   []Setting   `json:"settings"`
	Variables  []Variable  `json:"variables"` // that Groups and Variable name, with labels and levels in order
	Accounting []Removed   `json:"accounting"`
	Warnings   []string    `json:"warnings"`
	Methods    string      `json:"methods"` // sentences
	References []Reference `json:"references"`
	Figures    []string    `json:"figures"` // ids of figures, such as "table-2"
}

// A Variable names a column and its levels in order.
type Variable struct {
	Name   string  `json:"name"`
	Label  string  `json:"label"`
	Unit   string  `json:"unit"`
	Levels []Level `json:"levels"` // empty for a number
	// Missing are the variable's missing codes with their labels, in order.
	Missing []Level `json:"missing"`
}

// A Level is one value of a variable with its label.
type Level struct {
	Value string `json:"value"`
	Label string `json:"label"`
}

// A Removed line accounts for rows (or person-time) that did not enter.
type Removed struct {
	What   string `json:"what"` // "rows", "events", "hours"
	Reason string `json:"reason"`
	N      Number `json:"n"`
}

// A Reference is a published source of a method.
type Reference struct {
	Key  string `json:"key"` // "Garwood 1936"
	Text string `json:"text"`
}

// A Group is one variable held at one level.
type Group struct {
	Variable string `json:"variable"`
	Level    string `json:"level"`
}

// A Row is one estimate with its address. See rows.md in this folder for the
// parts, terms and measures each kind of analysis writes.
type Row struct {
	ID         string   `json:"id"` // address: unique in the results
	Analysis   string   `json:"analysis"`
	Part       string   `json:"part"`     // block of the analysis
	Groups     []Group  `json:"groups"`   // empty: over all
	Variable   string   `json:"variable"` // the described variable or the coefficient's; ""
	Term       string   `json:"term"`     // its level, code or coefficient; ""
	Measure    string   `json:"measure"`
	At         Number   `json:"at"` // time; null when none
	Estimate   Number   `json:"estimate"`
	Lower      Number   `json:"lower"`
	Upper      Number   `json:"upper"`
	SE         Number   `json:"se"`
	Level      Number   `json:"level"`
	P          Number   `json:"p"`
	Statistic  Number   `json:"statistic"`
	DF         Number   `json:"df"`
	N          Number   `json:"n"` // rows behind the estimate, or at risk
	Events     Number   `json:"events"`
	Censored   Number   `json:"censored"`
	PersonTime Number   `json:"person_time"`
	Unit       string   `json:"unit"` // of the estimate
	Method     string   `json:"method"`
	Reason     string   `json:"reason"` // why the estimate, or a limit, is null
	Warnings   []string `json:"warnings"`
	Line       int      `json:"line"` // of the plan
}

// A Number is a float that may be absent. JSON has null for NaN, "unbounded"
// for +Inf and "unbounded below" for -Inf.
type Number float64

// None is the absent number.
func None() Number { return Number(math.NaN()) }

// Present reports whether n is a number or unbounded.
func (n Number) Present() bool { return !math.IsNaN(float64(n)) }

// NewRow returns a row whose numbers are all absent.
func NewRow(analysis, part, measure string) Row {
	x := None()
	return Row{
		Analysis: analysis, Part: part, Measure: measure, At: x, Estimate: x, Lower: x, Upper: x, SE: x, Level: x,
		P: x, Statistic: x, DF: x, N: x, Events: x, Censored: x, PersonTime: x, Groups: []Group{}, Warnings: []string{},
	}
}

package dataset

import (
	"cmp"
	"slices"

	"heelcohort/codebook"
	"heelcohort/codebook/identifier"
)

// A Severity says what a finding does to a run.
type Severity uint8

// Errors stop a run unless the plan says otherwise; warnings never do.
const (
	Error Severity = iota
	Warning
)

// String is the word used for s in files and messages.
func (s Severity) String() string {
	if s == Warning {
		return "warning"
	}
	return "error"
}

// Names of the rules that this package itself applies to files, sheets and
// keys. The rules of single values (type, category, minimum, ...) are the
// codebook's, and a codebook's own rules carry their own names.
const (
	RuleUnknownColumn = "unknown column"
	RuleEmptyRow      = "empty row"
	RuleRowLength     = "row length"
	RuleErrorCell     = "error cell"
	RuleFormula       = "formula without value"
	RuleMergedCells   = "merged cells"
	RuleHiddenRows    = "hidden rows"
	RuleDate          = "date"
	RuleDateCell      = "date cell"     // a day in a variable that is none
	RulePercentCell   = "percent cell"  // a percentage whose value is not declared
	RulePaddedNumber  = "padded number" // a number in place of a text, shown with zeros that it lacks
	RuleLongNumber    = "long number"   // a number in place of a text, with more digits than are kept
	RulePrimaryKey    = "primary key"
	RuleUnique        = "unique"
	RuleForeignKey    = "foreign key"
	RuleUnknownSheet  = "unknown sheet"
	RuleAuthor        = "workbook author"
	RulePicture       = "picture in workbook"
	RuleAnonymity     = "small cells"
	RuleException     = "unused exception"
	RuleInstrument    = "instrument"   // a value that an instrument of the plan does not allow or doubts
	RuleDayOrder      = "order of days" // days of an analysis of times that contradict each other
	RuleTimeAtRisk    = "time at risk" // an interval, amount or event that does not fit the person-time of an analysis
)

// A Finding is one fault of the data, located.
type Finding struct {
	Rule     string // name of the rule: type, minimum, primary key, or a codebook rule's own name
	Severity Severity
	Table    string
	Variable string // "" when the finding concerns a row, a sheet or a file
	Where    Origin
	Found    string // the cell's text, as read
	Expected string
	Nearest  string // the nearest valid word, or ""
	Message  string // a sentence for people; for codebook rules their message

	// Of a codebook's own rule: the variables that may be wrong, and the other
	// rows of the table that may be, as counted by the sheet (or lines).
	Fields []string
	Others []int

	Screen string // name of the screen for identifiers that made it, or ""
}

// Identifies reports whether the finding says that the data name people: a run
// stops at such a finding whatever its plan says.
func (f Finding) Identifies() bool {
	s, ok := identifier.Find(f.Screen)
	return ok && s.Direct && f.Severity == Error
}

// OfText reports whether the finding is about the text of one cell by a rule of
// its field, so that Found and Expected say all that Message does.
func (f Finding) OfText() bool {
	switch f.Rule {
	case codebook.RuleType, codebook.RuleCategory, codebook.RuleRequired, codebook.RuleMinimum, codebook.RuleMaximum,
		codebook.RuleLength, codebook.RulePattern, codebook.RuleEnum, RuleDate,
		codebook.RulePlausibleMinimum, codebook.RulePlausibleMaximum:
		return true
	}
	return false
}

// SortFindings puts findings into their order: the tables' order in d, then
// row, column and rule. Findings that tie keep the order they had.
func SortFindings(d *Dataset, findings []Finding) {
	order := make(map[string]int, len(d.Tables))
	for i, t := range d.Tables {
		order[t.Name] = i
	}
	rank := func(table string) int {
		if i, ok := order[table]; ok {
			return i
		}
		return len(order)
	}
	slices.SortStableFunc(findings, func(a, b Finding) int {
		return cmp.Or(
			cmp.Compare(rank(a.Table), rank(b.Table)),
			a.Where.compare(b.Where),
			cmp.Compare(a.Rule, b.Rule),
		)
	})
}

// Package sheet turns a codebook into the rows of a spreadsheet and back, for
// people who do not write YAML.
//
// # Promise
//
// Nothing is lost: [Read] of what [Write] made is the same document, value by
// value, whatever properties it has, known here or not; only the order of keys
// within a map, the comments and the layout of the file are not kept. A sheet
// that was edited is read as it says or refused with file, sheet and cell, what
// was found, what was expected and the nearest word. Whether the document is a
// good codebook is for package codebook to say; every node of the document has
// the cell that it came from as its position, so that its faults point there.
//
// # Conventions
//
// Each sheet has one row of headings and then one row for each table, variable,
// category and so on, in the order of the codebook. A row names the table (and
// variable) that it belongs to. Columns are found by their headings and may
// stand in any order, blank rows anywhere, blanks around a cell do not count.
// An empty cell leaves the property out.
//
//   - A text stands as it is. In quotation marks it is read as JSON reads it:
//     "" is the empty text, "5" the text 5 where a number could stand, and a
//     text with blanks around it or with a quotation mark in front needs them.
//   - A value (a limit, a category) is a number for a variable of numbers, true
//     or false for one of booleans, and a text otherwise; in quotation marks it
//     is a text in any case.
//   - A list has semicolons between its items. A single item where one or a list
//     may stand is a list if a semicolon follows it. A comma in a list cell
//     without semicolons could be meant to part two items, and is refused
//     outside of quotation marks.
//   - yes and no are what they say.
//   - What has no column of its own stands under "further properties", one a
//     line, as property = value in JSON; constraints.x-why = "old form" is the
//     property x-why of constraints.
//   - A category or missing code with nothing but its value is a plain one; {}
//     under further properties makes it a map that only has a value.
package sheet

// A Sheet is one sheet of a workbook.
type Sheet struct {
	Name string
	Rows []Row

	// What Write suggests for the look of the sheet.
	Widths  []float64  // of the columns, in characters
	Frozen  int        // columns to keep in view
	Choices [][]string // by column, words to choose from
}

// A Row is one row of a sheet.
type Row struct {
	Number int // from 1, as a spreadsheet shows it
	Cells  []Cell
}

// A Sort says what a cell holds.
type Sort uint8

// The sorts of cell.
const (
	Text    Sort = iota // a text, or nothing
	Number              // a number, shown as one
	Boolean             // the TRUE or FALSE of a spreadsheet program
	Other               // a day, a percentage, a formula, an error: nothing that a codebook has
)

// A Cell is what a cell holds. Write makes texts alone.
type Cell struct {
	Text    string
	Sort    Sort
	Heading bool // what Write suggests to print bold
}

// The names of sheets.
const (
	ReadMe          = "read me"
	studySheet      = "study"
	tableSheet      = "tables"
	variableSheet   = "variables"
	categorySheet   = "categories"
	missingSheet    = "missing codes"
	foreignSheet    = "foreign keys"
	uniqueSheet     = "unique keys"
	ruleSheet       = "rules"
	furtherHeading  = "further properties"
	tableHeading    = "table"
	variableHeading = "variable"
	propertyHeading = "property"
	valueHeading    = "value"
)

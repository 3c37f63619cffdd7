package sheet

// A kind is how a property stands in a cell.
type kind uint8

const (
	textKind   kind = iota // a text
	flagKind               // yes or no
	countKind              // a number
	scalarKind             // a value of the variable's type
	textsKind              // a list of texts
	oneOrMore              // a text or a list of texts
	scalarList             // a list of values of the variable's type
	noneKind               // yes for the empty list
)

// A column is one property of a sheet's rows.
type column struct {
	heading string
	path    []string // of the property in the row's map
	kind    kind
	width   float64
	about   string // one sentence for the first sheet
}

// A layout is a sheet whose rows are the items of a list.
type layout struct {
	name    string
	about   string   // for the first sheet
	parents []string // headings of the columns that say where a row belongs
	list    []string // path of the list in what the row belongs to
	short   bool     // an item may be the value of the first column alone
	bare    bool     // an item is always that
	columns []column
	nests   []string // maps, by their paths with points, whose properties have lines of their own under further properties
}

func at(path ...string) []string { return path }

// choices are the words that a column's cells take, where they are few.
func (c *column) choices() []string {
	switch {
	case c.kind == flagKind:
		return []string{"yes", "no"}
	case c.kind == noneKind:
		return []string{"yes"}
	}
	return words[c.heading]
}

// words are the words of columns that have no others.
var words = map[string][]string{
	"type":     {"string", "integer", "number", "boolean", "date", "datetime", "list"},
	"percent":  {"stored", "shown"},
	"role":     {"identifier", "quasi_identifier", "free_text"},
	"severity": {"error", "warning"},
}

// study are the properties of the codebook itself, each a row of the first
// sheet after the read me.
var study = []column{
	{"name", at("name"), textKind, 0, "Short name of the study, without blanks."},
	{"title", at("title"), textKind, 0, "Title for people."},
	{"description", at("description"), textKind, 0, "What the data are."},
	{"version", at("version"), textKind, 0, "Version of the data."},
	{"created", at("created"), textKind, 0, "Day of making, such as 2024-03-31."},
	{"homepage", at("homepage"), textKind, 0, "Address of a page about the data."},
	{"identifier", at("id"), textKind, 0, "Identifier that is unique in the world, such as a DOI."},
	{"keywords", at("keywords"), textsKind, 0, "Words to find the data by."},
	{"profile", at("$schema"), textKind, 0, "Address of the standard that the codebook follows."},
}

var tables = layout{
	name: tableSheet, about: "One row for each table of data.", list: at("resources"),
	nests: []string{"schema", "heelcohort", "dialect"},
	columns: []column{
		{tableHeading, at("name"), textKind, 18, "Name of the table."},
		{"title", at("title"), textKind, 24, "Title for people."},
		{"description", at("description"), textKind, 44, "What a row of the table is."},
		{"file", at("path"), oneOrMore, 26, "File that holds the table, in the codebook's folder or below it."},
		{"sheet", at("heelcohort", "sheet"), textKind, 16, "Sheet of the workbook; empty if it has only one."},
		{"file ending", at("format"), textKind, 9, "Ending of the file's name, such as xlsx; it may be left out."},
		{"header row", at("heelcohort", "header_row"), countKind, 11, "Row of the column names; empty for row 1."},
		{"encoding", at("encoding"), textKind, 11, "Encoding of a text file."},
		{"primary key", at("schema", "primaryKey"), oneOrMore, 22, "Variables that name a row."},
		{"no missing codes", at("schema", "missingValues"), noneKind, 10, "yes if not even an empty cell is a missing value."},
	},
}

var variables = layout{
	name: variableSheet, about: "One row for each variable, in the order of the table.", parents: []string{tableHeading},
	list: at("schema", "fields"), nests: []string{"constraints", "heelcohort", "heelcohort.plausible"},
	columns: []column{
		{variableHeading, at("name"), textKind, 20, "Name of the variable, as it heads its column in the data."},
		{"title", at("title"), textKind, 26, "Label for people."},
		{"description", at("description"), textKind, 44, "What was measured, and how."},
		{"type", at("type"), textKind, 9, "string, integer, number, boolean, date, datetime or list."},
		{"unit", at("heelcohort", "unit"), textKind, 8, "Unit of measurement."},
		{"format", at("format"), textKind, 11, "Of a date: how it is written, such as %d.%m.%Y; empty for 2024-03-31."},
		{"role", at("heelcohort", "role"), textKind, 15, "What the variable says of the person: identifier, quasi_identifier or free_text."},
		{"required", at("constraints", "required"), flagKind, 9, "yes if a value must be there."},
		{"unique", at("constraints", "unique"), flagKind, 8, "yes if no two rows may share a value."},
		{"minimum", at("constraints", "minimum"), scalarKind, 10, "Least value."},
		{"maximum", at("constraints", "maximum"), scalarKind, 10, "Greatest value."},
		{"more than", at("constraints", "exclusiveMinimum"), scalarKind, 10, "Values are greater than this."},
		{"less than", at("constraints", "exclusiveMaximum"), scalarKind, 10, "Values are less than this."},
		{"shortest", at("constraints", "minLength"), countKind, 9, "Least number of characters."},
		{"longest", at("constraints", "maxLength"), countKind, 9, "Greatest number of characters."},
		{"pattern", at("constraints", "pattern"), textKind, 16, "Regular expression that the whole text matches."},
		{"legal values", at("constraints", "enum"), scalarList, 18, "The only values, where they need no labels."},
		{"categories in order", at("categoriesOrdered"), flagKind, 11, "yes if the categories go from low to high."},
		{"no missing codes", at("missingValues"), noneKind, 10, "yes if a value is never missing, not even by an empty cell."},
		{"true words", at("trueValues"), textsKind, 12, "Of a boolean: cells that say true."},
		{"false words", at("falseValues"), textsKind, 12, "Of a boolean: cells that say false."},
		{"decimal mark", at("decimalChar"), textKind, 9, "Of a number: the decimal mark; empty for a point."},
		{"thousands mark", at("groupChar"), textKind, 10, "Of a number: the mark between thousands; empty for none."},
		{"only the number", at("bareNumber"), flagKind, 9, "Of a number: no if a unit may stand beside it in the cell."},
		{"example", at("example"), scalarKind, 14, "A value to show."},
		{"plausible minimum", at("heelcohort", "plausible", "minimum"), scalarKind, 11, "Below this a value is kept, with a warning."},
		{"plausible maximum", at("heelcohort", "plausible", "maximum"), scalarKind, 11, "Above this a value is kept, with a warning."},
		{"percent", at("heelcohort", "percent"), textKind, 9, "Of a number: whether a cell that shows 45 % is 0.45 (stored) or 45 (shown)."},
		{"other titles", at("heelcohort", "titles"), textsKind, 20, "Other spellings of the column's title in the data."},
		{"column", at("heelcohort", "column"), textKind, 8, "Letters of the column, where several have the same title."},
		{"separator", at("delimiter"), textKind, 9, "Of a list: what separates its items; empty for a comma."},
	},
}

var categories = layout{
	name: categorySheet, about: "One row for each category: the only values of a variable, in their order.",
	parents: []string{tableHeading, variableHeading}, list: at("categories"), short: true,
	columns: []column{
		{valueHeading, at("value"), scalarKind, 18, "The value as it stands in a cell."},
		{"label", at("label"), textKind, 40, "What it means."},
	},
}

var missing = layout{
	name:    missingSheet,
	about:   "One row for each code that says why a value is missing. Without a variable it is one of all variables of the table that have no codes of their own.",
	parents: []string{tableHeading, variableHeading}, list: at("missingValues"), short: true,
	columns: []column{
		{"code", at("value"), textKind, 14, `The code as it stands in a cell; "" is the empty cell.`},
		{"label", at("label"), textKind, 40, "What it means."},
	},
}

var foreignKeys = layout{
	name: foreignSheet, about: "One row for each link from a table to a row of another.", parents: []string{tableHeading},
	list: at("schema", "foreignKeys"), nests: []string{"reference"},
	columns: []column{
		{"variables", at("fields"), oneOrMore, 24, "Variables of this table."},
		{"linked table", at("reference", "resource"), textKind, 18, "The table they point to; empty for this one."},
		{"linked variables", at("reference", "fields"), oneOrMore, 24, "Its variables, in the same order."},
	},
}

var uniqueKeys = layout{
	name: uniqueSheet, about: "One row for each list of variables that no two rows of a table share.", parents: []string{tableHeading},
	list: at("schema", "uniqueKeys"), short: true, bare: true,
	columns: []column{{"variables", nil, oneOrMore, 40, "The variables."}},
}

var rules = layout{
	name: ruleSheet, about: "One row for each condition that the rows of a table must meet.", parents: []string{tableHeading},
	list: at("heelcohort", "rules"),
	columns: []column{
		{"name", at("name"), textKind, 26, "Name of the rule."},
		{"check", at("check"), textKind, 60, "Condition; a row where it is false is reported."},
		{"no two alike in", at("unique"), textsKind, 26, "Variables in which no two rows may be alike."},
		{"in order", at("order"), textsKind, 26, "Days or numbers of which none may be before an earlier one of the list."},
		{"rows concerned", at("where"), textKind, 30, "Condition on the rows that the rule is about; empty for all."},
		{"message", at("message"), textKind, 60, "What is wrong with such a row."},
		{"severity", at("severity"), textKind, 10, "error or warning; empty for error."},
		{"shown at", at("fields"), textsKind, 22, "Variables at which it is reported; empty for those of the check."},
	},
}

var contributors = layout{
	name: "contributors", about: "One row for each person or organisation behind the data.", list: at("contributors"),
	columns: []column{
		{"name", at("title"), textKind, 30, "Name for people."},
		{"given name", at("givenName"), textKind, 16, "Given name."},
		{"family name", at("familyName"), textKind, 16, "Family name."},
		{"page", at("path"), textKind, 26, "Address of a page."},
		{"mail", at("email"), textKind, 26, "Address for mail."},
		{"roles", at("roles"), textsKind, 22, "What they did."},
		{"organisation", at("organization"), textKind, 26, "Affiliation."},
	},
}

var licences = layout{
	name: "licences", about: "One row for each licence under which the data may be used.", list: at("licenses"),
	columns: []column{
		{"name", at("name"), textKind, 16, "Short name of the licence."},
		{"title", at("title"), textKind, 40, "Its title."},
		{"page", at("path"), textKind, 40, "Address of its text."},
	},
}

var sources = layout{
	name: "sources", about: "One row for each place the data come from.", list: at("sources"),
	columns: []column{
		{"title", at("title"), textKind, 40, "Title of the source."},
		{"page", at("path"), textKind, 40, "Address of the source."},
		{"mail", at("email"), textKind, 26, "Address for mail."},
		{"version", at("version"), textKind, 12, "Version of the source."},
	},
}

// layouts lists the sheets in their order, the study's own left out.
var layouts = []*layout{&tables, &variables, &categories, &missing, &foreignKeys, &uniqueKeys, &rules, &contributors, &licences, &sources}

// order is the order in which the keys of any map are written; others come
// after the last of those that stand before schema.
var order = []string{
	"$schema", "name", "title", "givenName", "familyName", "value", "label", "description", "id", "version", "created", "homepage", "keywords",
	"licenses", "contributors", "sources", "type", "format", "path", "encoding", "", "trueValues", "falseValues", "constraints",
	"categories", "categoriesOrdered", "missingValues", "example", "heelcohort", "primaryKey", "uniqueKeys", "foreignKeys", "fields", "schema", "resources",
}

func rank(key string) int {
	other := 0
	for i, k := range order {
		switch k {
		case key:
			return i
		case "":
			other = i
		}
	}
	return other
}

package codebook

import "heelcohort/codebook/document"

// The raw types are the descriptor as it is written: every property of the
// standard, in its own words. Those that cannot be honoured are read so that
// they can be refused by name.

type rawPackage struct {
	SchemaURL    string            `doc:"$schema" about:"Address of the profile of the standard."`
	Profile      string            `doc:"profile" about:"Profile, as version 1 of the standard named it."`
	Name         string            `doc:"name" about:"Short name."`
	ID           string            `doc:"id" about:"Identifier that is unique in the world, such as a DOI."`
	Title        string            `doc:"title" about:"Title for people."`
	Description  string            `doc:"description" about:"What the data are."`
	Homepage     string            `doc:"homepage" about:"Address of a page about the data."`
	Image        string            `doc:"image" about:"Address or path of a picture."`
	Version      string            `doc:"version" about:"Version of the data."`
	Created      quotedDate        `doc:"created" about:"Date and time of making."`
	Keywords     []string          `doc:"keywords" about:"Words to find the data by."`
	Licenses     []rawLicense      `doc:"licenses" about:"Licences under which the data may be used."`
	Contributors []rawContributor  `doc:"contributors" about:"People and organisations behind the data."`
	Sources      []rawSource       `doc:"sources" about:"Where the data come from."`
	Resources    []rawResource     `doc:"resources,required" about:"The tables of the study."`
	Extra        []document.Pair   `doc:",extra"`
	Position     document.Position `doc:"-"`
}

type rawLicense struct {
	Name  string          `doc:"name" about:"Short name of the licence."`
	Path  string          `doc:"path" about:"Address or path of its text."`
	Title string          `doc:"title" about:"Its title."`
	Extra []document.Pair `doc:",extra"`
}

type rawContributor struct {
	Title        string          `doc:"title" about:"Name for people."`
	GivenName    string          `doc:"givenName" about:"Given name."`
	FamilyName   string          `doc:"familyName" about:"Family name."`
	Path         string          `doc:"path" about:"Address of a page."`
	Email        string          `doc:"email" about:"Address for mail."`
	Roles        []string        `doc:"roles" about:"What the contributor did."`
	Role         string          `doc:"role" about:"The same in version 1 of the standard."`
	Organization string          `doc:"organization" about:"Affiliation."`
	Extra        []document.Pair `doc:",extra"`
}

type rawSource struct {
	Title   string          `doc:"title" about:"Title of the source."`
	Path    string          `doc:"path" about:"Address or path of the source."`
	Email   string          `doc:"email" about:"Address for mail."`
	Version string          `doc:"version" about:"Version of the source."`
	Extra   []document.Pair `doc:",extra"`
}

type rawResource struct {
	Name        document.String                     `doc:"name,required" about:"Name of the table, unique in the codebook."`
	Path        document.OneOrMore[document.String] `doc:"path,required" about:"File of the table, relative to the codebook's folder."`
	Data        *document.Node                      `doc:"data" about:"Not supported: data stay in their files."`
	Type        string                              `doc:"type" enum:"table" about:"The sort of resource."`
	SchemaURL   string                              `doc:"$schema" about:"Address of the profile of the standard."`
	Profile     string                              `doc:"profile" about:"Profile, as version 1 of the standard named it."`
	Title       string                              `doc:"title" about:"Title for people."`
	Description string                              `doc:"description" about:"What a row is."`
	Homepage    string                              `doc:"homepage" about:"Address of a page about the table."`
	Format      document.String                     `doc:"format" about:"Extension of the file's name."`
	Mediatype   string                              `doc:"mediatype" about:"Media type of the file."`
	Encoding    document.String                     `doc:"encoding" about:"Encoding of a text file, such as utf-8, utf-16 or windows-1252; detected and told if it is left out."`
	Bytes       *int                                `doc:"bytes" min:"0" about:"Size of the file."`
	Hash        document.String                     `doc:"hash" about:"Digest of the file, with the name of the method before a colon unless it is md5."`
	Licenses    []rawLicense                        `doc:"licenses" about:"Licences of this table."`
	Sources     []rawSource                         `doc:"sources" about:"Sources of this table."`
	Dialect     *rawDialect                         `doc:"dialect" about:"How the file is written."`
	Schema      rawSchema                           `doc:"schema,required" about:"The variables of the table."`
	Own         rawOwnResource                      `doc:"heelcohort" about:"What the standard has no word for."`
	Extra       []document.Pair                     `doc:",extra"`
	Position    document.Position                   `doc:"-"`
}

type rawDialect struct {
	SchemaURL        string           `doc:"$schema" about:"Address of the profile of the standard."`
	Title            string           `doc:"title" about:"Title of the dialect."`
	Description      string           `doc:"description" about:"Description of the dialect."`
	Version          *document.Scalar `doc:"csvddfVersion" about:"Version of the dialect's description."`
	Header           *document.Node   `doc:"header" about:"Whether there is a header row: true."`
	HeaderRows       *document.Node   `doc:"headerRows" about:"Rows of the header, one below the other, from 1."`
	HeaderJoin       *document.Node   `doc:"headerJoin" about:"What joins the parts of a title that stand in several headerRows; a blank if it is left out."`
	CommentRows      *document.Node   `doc:"commentRows" about:"Not supported."`
	CommentChar      *document.Node   `doc:"commentChar" about:"Not supported."`
	Delimiter        *document.Node   `doc:"delimiter" about:"Separator of the columns of a text file: comma, semicolon, tab or bar; detected and told if it is left out."`
	LineTerminator   *document.Node   `doc:"lineTerminator" about:"End of a line of a text file: line feed with or without carriage return, or a carriage return alone; any if it is left out."`
	QuoteChar        *document.Node   `doc:"quoteChar" about:"Quotation mark of a text file: the double one, or the single one where it is said."`
	DoubleQuote      *document.Node   `doc:"doubleQuote" about:"Whether a quotation mark inside quotes is written twice; true if it is left out."`
	EscapeChar       *document.Node   `doc:"escapeChar" about:"Not supported."`
	NullSequence     *document.Node   `doc:"nullSequence" about:"Not supported; use missingValues."`
	SkipInitialSpace *document.Node   `doc:"skipInitialSpace" about:"Whether blanks after a separator are dropped: false."`
	CaseSensitive    *document.Node   `doc:"caseSensitiveHeader" about:"Whether upper and lower case differ in the header: true."`
	Property         *document.Node   `doc:"property" about:"Not supported."`
	ItemType         *document.Node   `doc:"itemType" about:"Not supported."`
	ItemKeys         *document.Node   `doc:"itemKeys" about:"Not supported."`
	SheetNumber      *document.Node   `doc:"sheetNumber" about:"Not supported; use sheetName."`
	SheetName        *document.String `doc:"sheetName" about:"Sheet of a workbook, as heelcohort.sheet."`
	Table            *document.Node   `doc:"table" about:"Not supported."`
	Extra            []document.Pair  `doc:",extra"`
}

type rawOwnResource struct {
	Sheet     *document.String `doc:"sheet" about:"Sheet of the workbook; the only one if it is left out."`
	HeaderRow *int             `doc:"header_row" min:"1" max:"1048576" about:"Row of the column names, from 1; 1 if it is left out."`
	Rules     []rawRule        `doc:"rules" about:"Rules across variables, rows and tables."`
	Anonymity *rawAnonymity    `doc:"k_anonymity" about:"How many people must share their quasi-identifiers."`
}

type rawSchema struct {
	SchemaURL     string                                `doc:"$schema" about:"Address of the profile of the standard."`
	Name          string                                `doc:"name" about:"Name of the schema."`
	Title         string                                `doc:"title" about:"Title of the schema."`
	Description   string                                `doc:"description" about:"Description of the schema."`
	Fields        []rawField                            `doc:"fields,required" about:"The variables, each one column of the file."`
	FieldsMatch   *document.String                      `doc:"fieldsMatch" about:"How columns and variables agree: equal, in any order."`
	MissingValues *[]missingCode                        `doc:"missingValues" about:"Missing codes of all variables without their own; the empty cell if it is left out."`
	PrimaryKey    document.OneOrMore[document.String]   `doc:"primaryKey" about:"Variables that name a row."`
	UniqueKeys    []document.OneOrMore[document.String] `doc:"uniqueKeys" about:"Lists of variables that no two rows share."`
	ForeignKeys   []rawForeignKey                       `doc:"foreignKeys" about:"Variables that name a row of a table."`
	Extra         []document.Pair                       `doc:",extra"`
	Position      document.Position                     `doc:"-"`
}

type rawForeignKey struct {
	Fields    document.OneOrMore[document.String] `doc:"fields,required" about:"Variables of this table."`
	Reference rawReference                        `doc:"reference,required" about:"What they name."`
	Position  document.Position                   `doc:"-"`
}

type rawReference struct {
	Resource *document.String                    `doc:"resource" about:"The table; this one if it is left out."`
	Fields   document.OneOrMore[document.String] `doc:"fields,required" about:"Its variables, in the order of fields."`
	Position document.Position                   `doc:"-"`
}

type rawField struct {
	Name              document.String    `doc:"name,required" about:"Name of the variable: the column's name in the file."`
	Type              document.String    `doc:"type,required" about:"string, integer, number, boolean, date, datetime or list."`
	Title             string             `doc:"title" about:"Label for people."`
	Description       string             `doc:"description" about:"What was measured, and how."`
	Example           *document.Scalar   `doc:"example" about:"A value to show."`
	RDFType           string             `doc:"rdfType" about:"Address of the variable's class."`
	Format            *document.String   `doc:"format" about:"Of a date or datetime: default, or a pattern such as %d.%m.%Y or %d.%m.%Y %H:%M."`
	TrueValues        *[]document.String `doc:"trueValues" about:"Of a boolean: cells that say true."`
	FalseValues       *[]document.String `doc:"falseValues" about:"Of a boolean: cells that say false."`
	DecimalChar       *document.String   `doc:"decimalChar" about:"Of a number: decimal mark."`
	GroupChar         *document.String   `doc:"groupChar" about:"Of a number: mark between thousands; a blank is any blank, no-break ones too."`
	BareNumber        *bareNumber        `doc:"bareNumber" about:"Of a number: false allows a unit or a currency around it."`
	ItemType          *document.String   `doc:"itemType" about:"Of a list: string."`
	Delimiter         *document.String   `doc:"delimiter" about:"Of a list: what separates its items; a comma if it is left out."`
	Constraints       rawConstraints     `doc:"constraints" about:"What limits the values."`
	Categories        *[]category        `doc:"categories" about:"The only values, in their order."`
	CategoriesOrdered *orderedFlag       `doc:"categoriesOrdered" about:"Whether the categories have an order."`
	MissingValues     *[]missingCode     `doc:"missingValues" about:"Missing codes of this variable, instead of the schema's."`
	Own               rawOwnField        `doc:"heelcohort" about:"What the standard has no word for."`
	Extra             []document.Pair    `doc:",extra"`
	Position          document.Position  `doc:"-"`
}

type rawOwnField struct {
	Unit string `doc:"unit" about:"Unit of measurement."`
	Role string `doc:"role" enum:"identifier|quasi_identifier|free_text" about:"What the variable says of the person."`

	Items     *[]category       `doc:"items" about:"Of a list: the only items."`
	Plausible *rawPlausible     `doc:"plausible" about:"Limits outside of which a value is kept, with a warning."`
	Titles    []document.String `doc:"titles" about:"Other spellings of the column's title in the file."`
	Column    *document.String  `doc:"column" about:"Letters of the column, where several have the same title."`
	Percent   string            `doc:"percent" enum:"stored|shown" about:"Of a number: whether a cell that shows 45 % is 0.45 (stored) or 45 (shown)."`
	Exception *rawException     `doc:"exception" about:"Screens for identifiers that the variable is let through, and why."`
}

type rawConstraints struct {
	Required         bool               `doc:"required" about:"Whether a value must be there."`
	Unique           bool               `doc:"unique" about:"Whether no two rows may share a value."`
	Minimum          *document.Scalar   `doc:"minimum" about:"Least value."`
	Maximum          *document.Scalar   `doc:"maximum" about:"Greatest value."`
	ExclusiveMinimum *document.Scalar   `doc:"exclusiveMinimum" about:"Values are greater than this."`
	ExclusiveMaximum *document.Scalar   `doc:"exclusiveMaximum" about:"Values are less than this."`
	MinLength        *length            `doc:"minLength" about:"Least number of characters."`
	MaxLength        *length            `doc:"maxLength" about:"Greatest number of characters."`
	Pattern          *document.String   `doc:"pattern" about:"Regular expression that the whole text matches."`
	Enum             *[]document.Scalar `doc:"enum" about:"The only values."`
	JSONSchema       *document.Node     `doc:"jsonSchema" about:"Not supported."`
	Extra            []document.Pair    `doc:",extra"`
	Position         document.Position  `doc:"-"`
}

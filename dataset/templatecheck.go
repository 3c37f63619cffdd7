package dataset

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"

	"heelcohort/codebook"
	"heelcohort/codebook/value"
)

// Lengths that spreadsheet programs accept, in UTF-16 units.
const (
	maxPromptTitle  = 32
	maxPrompt       = 255
	maxErrorMessage = 225
	maxFormula      = 255
)

// validate lets the cells of a variable take what the codebook allows.
func (t *template) validate(sheet string, c templateColumn) error {
	f := c.field
	v := excelize.NewDataValidation(needOf(f) == mayBeEmpty)
	v.Sqref = c.area()
	v.SetInput(cutUTF16(cleanText(f.Label()), maxPromptTitle), prompt(f))
	if items := choices(f); items != nil {
		formula, err := t.choose(c, items)
		if err != nil {
			return err
		}
		v.Type, v.Formula1 = "list", escapeFormula(formula)
		v.SetError(excelize.DataValidationErrorStyleStop, cutUTF16(f.Name, maxPromptTitle), refusal(f))
		return t.file.AddDataValidation(sheet, v)
	}
	condition, err := t.condition(c)
	if err != nil {
		return err
	}
	style := excelize.DataValidationErrorStyleStop
	message := refusal(f)
	if condition == "" {
		if condition = t.linked(c); condition != "" {
			style, message = excelize.DataValidationErrorStyleWarning, cutUTF16(f.Name+": no such row in the linked table yet. Enter it there, or check what you typed.", maxErrorMessage)
		}
	}
	if condition == "" {
		v.Type = "none"
	} else {
		v.Type, v.Formula1 = "custom", escapeFormula(condition)
		v.SetError(style, cutUTF16(f.Name, maxPromptTitle), message)
	}
	return t.file.AddDataValidation(sheet, v)
}

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")

// escapeFormula writes a formula into XML.
func escapeFormula(formula string) string { return escaper.Replace(formula) }

// wanted says what a cell takes.
func wanted(f *codebook.Field) string {
	switch {
	case f.Type == codebook.TypeBoolean && f.TrueValues == nil && f.FalseValues == nil:
		return "TRUE or FALSE"
	case len(f.Categories) > 0 && len(f.Categories) <= 12:
		lines := make([]string, len(f.Categories))
		for i, c := range f.Categories {
			if lines[i] = c.Value; c.Label != "" && !strings.EqualFold(c.Label, c.Value) {
				lines[i] += " (" + c.Label + ")"
			}
		}
		return "one of " + strings.Join(lines, ", ")
	}
	return f.Expected()
}

// prompt is what is shown beside a chosen cell.
func prompt(f *codebook.Field) string {
	lines := []string{"Enter " + wanted(f) + "."}
	if codes := codesOf(f); len(codes) > 0 {
		lines = append(lines, "If missing: "+strings.Join(labelled(codes), "; ")+".")
	}
	if needOf(f) == needsValue {
		lines = append(lines, "A value must be there.")
	}
	return shorten(strings.Join(lines, "\n"), maxPrompt)
}

// refusal is what is said of a value that is not legal.
func refusal(f *codebook.Field) string {
	text := "Expected " + wanted(f)
	if f.Constraints.Unique {
		text += " that no other row has"
	}
	var codes []string
	for _, m := range codesOf(f) {
		codes = append(codes, m.Value)
	}
	if len(codes) > 0 {
		text += ", or if missing " + strings.Join(codes, ", ")
	}
	return shorten(text+".", maxErrorMessage)
}

// shorten cuts a text at a number of UTF-16 units, and shows that.
func shorten(text string, most int) string {
	text = cleanText(text)
	if len(utf16.Encode([]rune(text))) <= most {
		return text
	}
	return cutUTF16(text, most-1) + "…"
}

// A choice is one item of a list.
type choice struct {
	text   string
	number bool // stored as a number, as it will be when it is typed
}

// choices are the only values of a variable with its missing codes; nil where
// there are too many to list.
func choices(f *codebook.Field) []choice {
	var items []choice
	switch {
	case len(f.Words()) > 0:
		for _, w := range f.Words() {
			items = append(items, choice{w, f.Type == codebook.TypeInteger})
		}
	case f.Constraints.Enum != nil && f.Kind() == value.Date:
		return nil
	case f.Constraints.Enum != nil:
		for _, v := range f.Constraints.Enum {
			switch v.Kind {
			case value.Number:
				items = append(items, choice{strconv.FormatFloat(v.Number, 'f', -1, 64), true})
			case value.Text:
				items = append(items, choice{v.Text, false})
			default:
				return nil
			}
		}
	case f.Type == codebook.TypeBoolean && f.TrueValues == nil && f.FalseValues == nil:
		items = []choice{{"TRUE", false}, {"FALSE", false}}
	case f.Type == codebook.TypeBoolean:
		trues, falses := f.TrueValues, f.FalseValues
		if trues == nil {
			trues = []string{"true"}
		}
		if falses == nil {
			falses = []string{"false"}
		}
		for _, w := range slices.Concat(trues, falses) {
			items = append(items, choice{w, isWholeNumber(w)})
		}
	default:
		return nil
	}
	for _, m := range codesOf(f) {
		items = append(items, choice{m.Value, isWholeNumber(m.Value) && f.Type != codebook.TypeString})
	}
	return items
}

// choose is the source of a list: the items themselves where they are few and
// plain, for then upper and lower case count, or else a column of the hidden
// sheet.
func (t *template) choose(c templateColumn, items []choice) (string, error) {
	texts := make([]string, len(items))
	plain := true
	for i, item := range items {
		texts[i] = item.text
		plain = plain && !strings.ContainsAny(item.text, `,".=`) && strings.TrimSpace(item.text) == item.text
	}
	inline := strings.Join(texts, ",")
	if plain && len(utf16.Encode([]rune(inline))) <= maxFormula-2 {
		return `"` + inline + `"`, nil
	}
	return t.list(c, items)
}

// list writes items on the hidden sheet and gives their place.
func (t *template) list(c templateColumn, items []choice) (string, error) {
	t.lists++
	letters := columnLetters(t.lists)
	if t.lists > maxColumns {
		return "", fmt.Errorf("more than %d lists", maxColumns)
	}
	if err := t.text(t.listSheet, letters+"1", c.table.Name+"."+c.field.Name, t.styles.head); err != nil {
		return "", err
	}
	for i, item := range items {
		ref := letters + strconv.Itoa(i+2)
		var err error
		if item.number {
			err = t.file.SetCellDefault(t.listSheet, ref, item.text)
		} else {
			err = t.file.SetCellStr(t.listSheet, ref, storedText(item.text))
		}
		if err != nil {
			return "", err
		}
	}
	return fmt.Sprintf("%s!$%s$2:$%s$%d", quotedSheet(t.listSheet), letters, letters, len(items)+1), nil
}

// quotedSheet is a sheet's name as formulas write it.
func quotedSheet(name string) string { return "'" + strings.ReplaceAll(name, "'", "''") + "'" }

// condition is a formula that is true of a legal cell; "" where any text is
// legal. It is false of a missing value that is written as a number or a date
// within the limits, never of a legal one.
func (t *template) condition(c templateColumn) (string, error) {
	f, x := c.field, c.cell()
	if f.Kind() == value.Text {
		return t.textCondition(c)
	}
	parts := []string{}
	limit := func(operator string, v *value.Value) {
		if v == nil {
			return
		}
		if v.Kind == value.Date {
			day := time.Unix(int64(v.Number)*86400, 0).UTC()
			parts = append(parts, fmt.Sprintf("%s%sDATE(%d,%d,%d)", x, operator, day.Year(), day.Month(), day.Day()))
			return
		}
		parts = append(parts, x+operator+strconv.FormatFloat(v.Number, 'f', -1, 64))
	}
	k := &f.Constraints
	if f.Type == codebook.TypeInteger || f.Kind() == value.Date {
		parts = append(parts, x+"=INT("+x+")")
	}
	limit(">=", k.Minimum)
	limit(">", k.ExclusiveMinimum)
	limit("<=", k.Maximum)
	limit("<", k.ExclusiveMaximum)
	number := joined("AND", parts, "TRUE")
	var numbers, words []string
	numbers = append(numbers, number)
	for _, m := range codesOf(f) {
		if isWholeNumber(m.Value) {
			numbers = append(numbers, x+"="+m.Value)
		}
		words = append(words, fmt.Sprintf(`EXACT(%s,"%s")`, x, strings.ReplaceAll(m.Value, `"`, `""`)))
	}
	build := func(words []string) string {
		return t.unlessDoubled(c, fmt.Sprintf("IF(ISNUMBER(%s),%s,%s)", x, joined("OR", numbers, "TRUE"), joined("OR", words, "FALSE")))
	}
	formula := build(words)
	if len(utf16.Encode([]rune(formula))) <= maxFormula {
		return formula, nil
	}
	var items []choice
	for _, m := range codesOf(f) {
		items = append(items, choice{m.Value, false})
	}
	place, err := t.list(c, items)
	if err != nil {
		return "", err
	}
	formula = build([]string{fmt.Sprintf("SUMPRODUCT(--EXACT(%s,%s))>0", place, x)})
	if len(utf16.Encode([]rune(formula))) > maxFormula {
		return "", nil
	}
	return formula, nil
}

// joined joins conditions by a function.
func joined(function string, parts []string, none string) string {
	switch len(parts) {
	case 0:
		return none
	case 1:
		return parts[0]
	}
	return function + "(" + strings.Join(parts, ",") + ")"
}

// textCondition limits a text's length and wants a key to be new.
func (t *template) textCondition(c templateColumn) (string, error) {
	x, k := c.cell(), &c.field.Constraints
	var parts []string
	if k.MinLength != nil && *k.MinLength > 0 {
		parts = append(parts, fmt.Sprintf("LEN(%s)>=%d", x, *k.MinLength))
	}
	if k.MaxLength != nil {
		parts = append(parts, fmt.Sprintf("LEN(%s)<=%d", x, *k.MaxLength))
	}
	formula := joined("AND", parts, "")
	if formula != "" {
		either := []string{formula}
		for _, m := range codesOf(c.field) {
			either = append(either, fmt.Sprintf(`EXACT(%s,"%s")`, x, strings.ReplaceAll(m.Value, `"`, `""`)))
		}
		formula = joined("OR", either, "")
	}
	formula = t.unlessDoubled(c, formula)
	if len(utf16.Encode([]rune(formula))) > maxFormula {
		return "", nil
	}
	return formula, nil
}

// unlessDoubled adds to a condition that no other row has the value, for a
// variable whose values are unique and never missing.
func (t *template) unlessDoubled(c templateColumn, formula string) string {
	key := c.table.Schema.PrimaryKey
	unique := c.field.Constraints.Unique || len(key) == 1 && key[0] == c.field.Name
	if !unique || len(codesOf(c.field)) > 0 {
		return formula
	}
	once := fmt.Sprintf("SUMPRODUCT(--EXACT(%s,%s))<=1", c.fixed(), c.cell())
	if formula == "" {
		return once
	}
	return "AND(" + formula + "," + once + ")"
}

// linked is true where another table has a row that the cell names.
func (t *template) linked(c templateColumn) string {
	if len(codesOf(c.field)) > 0 {
		return ""
	}
	for _, k := range c.table.Schema.ForeignKeys {
		if len(k.Fields) != 1 || k.Fields[0] != c.field.Name || k.Resource == "" {
			continue
		}
		other := t.pack.Resource(k.Resource)
		i := slices.Index(other.Schema.Names(), k.ReferenceFields[0])
		return fmt.Sprintf("SUMPRODUCT(--EXACT(%s!%s,%s))>0", quotedSheet(t.sheets[other.Name]), t.column(other, i).fixed(), c.cell())
	}
	return ""
}

// isWholeNumber reports whether a text is a whole number in the form in which a
// spreadsheet shows it.
func isWholeNumber(text string) bool {
	n, err := strconv.Atoi(text)
	return err == nil && strconv.Itoa(n) == text
}

package dataset

import (
	"fmt"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/value"
)

// cell reads one cell into its column.
func (t *tableReader) cell(f *codebook.Field, c *Column, row int, cell rawCell) {
	text, fault := cellText(f, cell, t.date1904)
	if fault == nil {
		var v value.Value
		if v, fault = f.Parse(text); errorWord(f, cell, v, fault) {
			fault = &codebook.Fault{Rule: RuleErrorCell, Expected: "a value"}
		}
		if fault == nil {
			state := Present
			if v.Missing {
				state = Missing
			}
			c.add(v, state)
			t.implausible(f, c, row, cell, v)
			return
		}
	}
	c.add(value.Value{}, Invalid)
	where := t.where
	where.Row, where.Column = row, c.Index
	t.findings = append(t.findings, Finding{
		Rule: fault.Rule, Table: t.resource.Name, Variable: f.Name, Where: where,
		Found: cell.text, Expected: fault.Expected, Nearest: fault.Nearest, Message: faultMessage(f, cell, fault, t.date1904),
	})
}

// implausible warns of a value that is possible and yet doubtful. It stays.
func (t *tableReader) implausible(f *codebook.Field, c *Column, row int, cell rawCell, v value.Value) {
	fault := f.Implausible(v)
	if fault == nil {
		return
	}
	where := t.where
	where.Row, where.Column = row, c.Index
	t.findings = append(t.findings, Finding{
		Rule: fault.Rule, Severity: Warning, Table: t.resource.Name, Variable: f.Name, Where: where,
		Found: cell.text, Expected: fault.Expected,
		Message: fmt.Sprintf("%s: found %q, expected %s; the value was kept", f.Name, cell.text, fault.Expected),
	})
}

// cellText is the text that the codebook is asked about, or a fault of the
// cell itself. A cell that a workbook stores as a number, a boolean or a day
// knows what it is; it is written the way its field is read.
func cellText(f *codebook.Field, cell rawCell, date1904 bool) (string, *codebook.Fault) {
	switch cell.sort {
	case errorCell:
		return "", &codebook.Fault{Rule: RuleErrorCell, Expected: "a value"}
	case uncachedCell:
		return "", &codebook.Fault{Rule: RuleFormula, Expected: "a formula with its result stored"}
	case textCell:
		return cell.text, nil
	}
	text := cell.text
	if rule := disguised(f, cell); rule != "" {
		return "", &codebook.Fault{Rule: rule, Expected: f.Expected()}
	}
	if cell.format == percentFormat && f.Percent == codebook.PercentShown {
		text, _ = codebook.ShiftPoint(text, 2)
	}
	if text == "" || declaredMissing(f, text) {
		return text, nil
	}
	switch {
	case cell.sort == booleanCell && f.Kind() == value.Bool:
		return fieldBoolean(f, text), nil
	case cell.sort == numberCell && f.Kind() == value.Number:
		return fieldNumber(f, text)
	case cell.sort == numberCell && f.Kind() == value.Date:
		return numberDay(f, cell, date1904)
	case cell.sort == isoDateCell:
		if days, ok := isoDay(text, f.Type == codebook.TypeDatetime); ok {
			return f.ShowDay(days), nil
		}
	}
	return text, nil
}

// declaredMissing reports whether a text is a missing code: 999 in a date's
// column is not a day.
func declaredMissing(f *codebook.Field, text string) bool {
	for _, m := range f.Codes() {
		if m.Value == text {
			return true
		}
	}
	return false
}

// fieldBoolean writes a stored boolean with the field's own words.
func fieldBoolean(f *codebook.Field, text string) string {
	words := f.TrueValues
	if text == "FALSE" {
		words = f.FalseValues
	}
	if len(words) > 0 {
		return words[0]
	}
	return text
}

// fieldNumber writes a stored number with the field's own decimal mark. A
// fraction where the field has integers is a fault here, for its point could
// pass for a mark between thousands.
func fieldNumber(f *codebook.Field, text string) (string, *codebook.Fault) {
	if !strings.Contains(text, ".") {
		return text, nil
	}
	if f.Type == codebook.TypeInteger {
		return "", &codebook.Fault{Rule: codebook.RuleType, Expected: f.Expected()}
	}
	if f.DecimalChar != "" {
		return strings.Replace(text, ".", f.DecimalChar, 1), nil
	}
	return text, nil
}

// faultMessage is the sentence of a cell's fault.
func faultMessage(f *codebook.Field, cell rawCell, fault *codebook.Fault, date1904 bool) string {
	switch fault.Rule {
	case RuleErrorCell:
		return fmt.Sprintf("%s: the cell shows the error %s", f.Name, cell.text)
	case RuleFormula:
		return fmt.Sprintf("%s: the formula has no stored result; open the workbook in a spreadsheet program and save it", f.Name)
	}
	if disguise := disguiseMessage(f, cell, fault, date1904); disguise != "" {
		return disguise
	}
	found := fmt.Sprintf("found %q", cell.text)
	if cell.text == "" {
		found = "found nothing"
	}
	if cell.sort == numberCell && cell.format == percentFormat {
		found += shownPercent(cell.text)
	}
	message := fmt.Sprintf("%s: %s, expected %s", f.Name, found, fault.Expected)
	if fault.Nearest != "" {
		message += fmt.Sprintf(" (did you mean %q?)", fault.Nearest)
	}
	return message
}

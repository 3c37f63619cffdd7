package dataset

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/value"
)

// errorWords are the words by which sheets show an error, as they come along
// in text files that were saved from them.
var errorWords = []string{"#N/A", "#DIV/0!", "#REF!", "#VALUE!", "#NAME?", "#NUM!", "#NULL!", "#SPILL!", "#CALC!", "#GETTING_DATA"}

// errorWord reports whether a text is the word of an error and not one that the
// codebook knows: a missing code, a category, or a text that a pattern or an
// enum allows.
func errorWord(f *codebook.Field, cell rawCell, v value.Value, fault *codebook.Fault) bool {
	if cell.sort != textCell || !strings.HasPrefix(codebook.Bare(cell.text), "#") || !slices.Contains(errorWords, codebook.Bare(cell.text)) {
		return false
	}
	open := f.Words() == nil && f.Constraints.Pattern == "" && f.Constraints.Enum == nil
	return fault != nil || open && !v.Missing
}

// longestNumber is the least number with more digits than the 15 that
// spreadsheet programs keep of what is typed.
const longestNumber = 1e15

// disguised is the rule by which a workbook's number or day cannot be told to
// be what was meant in its field, or "": it is shown as something else than it
// is stored as, or was stored in another way than it was typed.
func disguised(f *codebook.Field, cell rawCell) string {
	kind := f.Kind()
	switch {
	case cell.sort == isoDateCell && kind != value.Date:
		return RuleDateCell
	case cell.sort != numberCell:
		return ""
	case cell.format == dateFormat && kind != value.Date:
		return RuleDateCell
	case cell.format == percentFormat && (kind != value.Number || f.Percent == ""):
		return RulePercentCell
	case f.Type != codebook.TypeString:
		return ""
	case cell.format == paddedFormat:
		return RulePaddedNumber
	}
	if x, err := strconv.ParseFloat(cell.text, 64); err == nil && math.Abs(x) >= longestNumber {
		return RuleLongNumber
	}
	return ""
}

// disguiseMessage is the sentence of a fault of disguised, or "".
func disguiseMessage(f *codebook.Field, cell rawCell, fault *codebook.Fault, date1904 bool) string {
	switch fault.Rule {
	case RuleDateCell:
		shown := "a date or a time"
		if days, expected := serialDay(cell.text, date1904, true); expected == "" {
			shown = "the day " + value.Day(days).String()
		}
		if cell.sort == isoDateCell {
			shown = "the day"
		}
		return fmt.Sprintf("%s: the sheet shows %s and stores %s, expected %s; spreadsheet programs turn entries such as 3-4 into days, so that what was meant cannot be told",
			f.Name, shown, cell.text, fault.Expected)
	case RulePercentCell:
		say := "type the entry anew in a cell without that format"
		if f.Kind() == value.Number {
			say = "heelcohort.percent of the variable says which of the two is its value, stored or shown"
		}
		return fmt.Sprintf("%s: the sheet stores %s%s, expected %s; %s", f.Name, cell.text, shownPercent(cell.text), fault.Expected, say)
	case RulePaddedNumber:
		return fmt.Sprintf("%s: the sheet shows zeros before the number %s that are not stored, expected %s; store the entry as text", f.Name, cell.text, fault.Expected)
	case RuleLongNumber:
		return fmt.Sprintf("%s: the number %s has more than the 15 digits that a sheet keeps, expected %s; store the entry as text", f.Name, cell.text, fault.Expected)
	}
	return ""
}

// shownPercent is how a percentage shows, behind its number.
func shownPercent(text string) string {
	shown, ok := codebook.ShiftPoint(text, 2)
	if !ok {
		return ""
	}
	return " (shown as " + shown + " %)"
}

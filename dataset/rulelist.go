package dataset

import (
	"heelcohort/codebook"
	"heelcohort/codebook/identifier"
)

// A RuleText explains a rule to people.
type RuleText struct {
	Name     string
	Sentence string // what a finding of the rule says
	Ask      string // what to do about it
}

// ownRule is what is said of a rule that the codebook makes itself.
var ownRule = RuleText{
	Sentence: "A row breaks a rule that the codebook makes itself.",
	Ask:      "Correct the values of the row, or the rule.",
}

// fix is what to do about most cells.
const fix = "Correct the cell where the data are kept, or say in the codebook what it means."

// ruleTexts lists the rules in the order in which they are explained: values,
// cells, rows and keys, files, people.
var ruleTexts = []RuleText{
	{codebook.RuleType, "A cell is not of its variable's type: a word where a number should be, or a date written in another way.", fix},
	{codebook.RuleCategory, "A cell holds a word that is none of the variable's categories.", "Correct the word, or add the category to the codebook; the nearest one is named."},
	{codebook.RuleRequired, "A cell is empty, or missing by a code, where a value must be.", "Fill the cell in, or declare the missing code in the codebook."},
	{codebook.RuleMinimum, "A value lies below the least that the codebook allows.", "Check the value and its unit; correct it, or the limit."},
	{codebook.RuleMaximum, "A value lies above the greatest that the codebook allows.", "Check the value and its unit; correct it, or the limit."},
	{codebook.RuleLength, "A text is shorter or longer than the codebook allows.", fix},
	{codebook.RulePattern, "A text does not have the form that the codebook gives.", fix},
	{codebook.RuleEnum, "A value is none of those that the codebook lists.", fix},
	{codebook.RulePlausibleMinimum, "A value lies below what is plausible; it was kept.", "Check the value and its unit; correct it, or leave it if it is right."},
	{codebook.RulePlausibleMaximum, "A value lies above what is plausible; it was kept.", "Check the value and its unit; correct it, or leave it if it is right."},
	{RuleDate, "A workbook's cell holds a number that is no day.", "Enter the day as a date."},
	{RuleDateCell, "A number is shown as a day or a time where the variable is neither: a spreadsheet program may have turned a text such as 3-4 into a day.", "Enter what was meant as text, or declare the variable a date."},
	{RulePercentCell, "A number is shown as a percentage, so that 0.45 stands for 45 %.", "Say in the codebook which of the two is the value: heelcohort.percent, stored or shown."},
	{RulePaddedNumber, "A number is shown with zeros before it that it does not store, where the variable is a text.", "Format the cells as text and enter the zeros."},
	{RuleLongNumber, "A number has more digits than a spreadsheet program keeps, where the variable is a text: the last ones may be lost.", "Format the cells as text and enter the digits again from the source."},
	{RuleErrorCell, "A cell shows an error, such as #N/A or #DIV/0!.", "Correct its formula, or clear the cell."},
	{RuleFormula, "A formula has no stored result.", "Open the workbook in a spreadsheet program and save it."},
	{RuleRowLength, "A line has more or fewer cells than the head; none of them was used.", "Look for a separator or a quotation mark in one of its texts."},
	{RuleEmptyRow, "Empty rows stand between rows of data and were left out.", "Remove them, if nothing was meant to stand there."},
	{RuleMergedCells, "Cells are merged, so that all but the first of them are empty.", "Take the cells apart and fill each in."},
	{RuleHiddenRows, "Rows with data are hidden in the sheet and were read like all others.", "Show them, and remove those that do not belong to the data."},
	{RuleUnknownColumn, "A column is not in the codebook and was not read.", "Add the variable to the codebook, or remove the column."},
	{RulePrimaryKey, "The key that names a row is missing, or stands in an earlier row too.", "Give each row a key of its own."},
	{RuleUnique, "A value stands in two rows where only one may have it.", "Correct one of the two."},
	{RuleForeignKey, "A row names a row of another table that is not there.", "Correct the key, or add the row that it names; the nearest key is given."},
	{RuleInstrument, "An instrument of the plan does not allow a value, or doubts it; a doubted one was kept.", "Check the value, its unit and its coding; correct it, or the plan."},
	{RuleTimeAtRisk, "An event falls outside its child's time at risk, or an interval of it ends before it begins, holds more hours than its days, or overlaps another of the same group; the accounts of the analyses say what became of it.", "Check the day, the interval and the amount against the source."},
	{RuleDayOrder, "The days of a row contradict each other in an analysis of times: the end comes before the start, or the first visit with the event is not after the last without it; the row was left out.", "Check both days against the source."},
	{RuleUnknownSheet, "A sheet of the workbook is not in the codebook.", "Remove the sheet, or add its table to the codebook: it goes on with every copy."},
	{RuleAuthor, "The workbook names the people who wrote, saved or commented it.", "Remove the properties and personal information before the file is passed on."},
	{RulePicture, "The workbook holds pictures, which are not screened.", "Look at them, and remove what shows or names a child."},
	{RuleAnonymity, "People share their quasi-identifiers with too few others, so that one could be singled out.", "Keep coarser values, or bands for them in the codebook."},
	{RuleException, "The codebook lets a variable through a screen for identifiers that does not hold it.", "Remove the exception from the codebook."},
}

// Rules lists every rule of this package, of single values and of the screen
// for identifiers. Rules that a codebook makes itself are not among them.
func Rules() []RuleText {
	list := make([]RuleText, 0, len(ruleTexts)+len(identifier.Screens()))
	list = append(list, ruleTexts...)
	for _, s := range identifier.Screens() {
		list = append(list, RuleText{s.Name, s.Sentence, s.Ask})
	}
	return list
}

// ExplainRule explains a rule by its name; a rule that is none of Rules is the
// codebook's own, and known is false.
func ExplainRule(name string) (text RuleText, known bool) {
	for _, r := range Rules() {
		if r.Name == name {
			return r, true
		}
	}
	text = ownRule
	text.Name = name
	return text, false
}

// Explain is the sentence of the finding's rule: of a rule that the codebook
// makes itself, its message.
func (f Finding) Explain() RuleText {
	text, known := ExplainRule(f.Rule)
	if !known && f.Message != "" {
		text.Sentence = f.Message
	}
	return text
}

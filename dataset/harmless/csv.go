package harmless

import (
	"encoding/csv"
	"io"
	"iter"
	"regexp"
	"strings"
	"unicode"
)

// plainNumber is what a spreadsheet program reads as a number, sign and all.
var plainNumber = regexp.MustCompile(`^[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?$`)

// formulaSigns begin formulas; the last four are their wide forms.
const formulaSigns = "=+-@＝＋－＠"

// Formula reports whether a spreadsheet program could take a text for a
// formula: it begins with a sign of formulas, blanks aside, or with a tab, and
// is no plain number.
func Formula(text string) bool {
	if text == "" || plainNumber.MatchString(text) {
		return false
	}
	bare := strings.TrimLeftFunc(text, unicode.IsSpace)
	return text[0] == '\t' || text[0] == '\r' || bare != "" && strings.ContainsRune(formulaSigns, []rune(bare)[0])
}

// CSV writes a field of a text file that people open in spreadsheet programs.
// One that could be taken for a formula gets an apostrophe before it, and so
// does a part behind a semicolon, a tab or a line feed, which such a program
// may take for the end of a cell. Numbers stay numbers.
func CSV(text string) string {
	text = Visible(text)
	if !strings.ContainsAny(text, formulaSigns+"\t") {
		return text
	}
	var b strings.Builder
	if text[0] == '\t' {
		b.WriteByte('\'')
	}
	for {
		end := strings.IndexAny(text, ";\n\t")
		part := text
		if end >= 0 {
			part = text[:end]
		}
		if Formula(part) {
			b.WriteByte('\'')
		}
		b.WriteString(part)
		if end < 0 {
			return b.String()
		}
		b.WriteByte(text[end])
		text = text[end+1:]
	}
}

// WriteCSV writes records as comma-separated text, every field by CSV.
func WriteCSV(w io.Writer, records iter.Seq[[]string]) error {
	out := csv.NewWriter(w)
	for record := range records {
		line := make([]string, len(record))
		for i, text := range record {
			line[i] = CSV(text)
		}
		if err := out.Write(line); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

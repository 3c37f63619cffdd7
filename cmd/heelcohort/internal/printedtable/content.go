package printedtable

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// A Form is what a cell holds.
type Form string

// The forms. Which of mean and count, or of limits and quartiles, is meant is
// for the reader of the table to say.
const (
	Nothing   Form = "no number"         // –, NA, reference, or empty
	Words     Form = "words"             // a label
	One       Form = "number"            // 12, 4.5%, <0.001
	Pair      Form = "number (number)"   // 12 (45.2%), 10.3 (2.2), 10.3 ± 2.2
	Fraction  Form = "number/number"     // 12/45
	Share     Form = "number/number (%)" // 12/45 (26.7%)
	Spread    Form = "number to number"  // 0.8 to 1.9
	Limits    Form = "number (number to number)"
	LimitsP   Form = "number (number to number), P"
	formsText      = `a number, "n (%)", "n/N (%)", "mean (SD)", "estimate (lower to upper)" or "median (q1-q3)", with a P value after it or not`
)

// A Content is what was read in a cell.
type Content struct {
	Form    Form
	Numbers []Number
}

// errNoForm is refused text that has numbers.
var errNoForm = errors.New("is none of the forms of a printed number")

// nothings are texts that stand where there is no number.
var nothings = map[string]bool{
	"": true, "-": true, "–": true, "—": true, "−": true, "…": true, "...": true, "..": true, ".": true, "na": true, "n/a": true, "n.a.": true,
	"ns": true, "n.s.": true, "ref": true, "ref.": true, "reference": true, "(ref)": true, "(reference)": true, "nr": true, "ne": true, "·": true,
}

var (
	reference = regexp.MustCompile(`^[\d.,]+\s*[\[(]\s*(?i:ref|ref\.|reference)\s*[\])]$`)
	levelText = regexp.MustCompile(`(?i)(?:\d{2}(?:[.,]\d+)?\s*%\s*)?(?:CI|confidence interval|confidence limits|CL)\s*[:,=]?\s*|IQR\s*[:,=]?\s*|\bSD\s*[:,=]?\s*|\bSE\s*[:,=]?\s*`)
	size      = regexp.MustCompile(`^[(\[]?\s*[nN]\s*=`) // a heading's number of rows
	marks     = regexp.MustCompile(`(?:[*†‡§¶#‖]+|[ᵃᵇᶜᵈᵉᶠ¹²³⁴])+$`)
	shapes    = []struct {
		form  Form
		shape string
	}{
		{One, "n"},
		{Pair, "n(n)"},
		{Pair, "n±n"},
		{Fraction, "n/n"},
		{Share, "n/n(n)"},
		{Spread, "n-n"},
		{Spread, "(n-n)"},
		{Spread, "(n,n)"},
		{Limits, "n(n-n)"},
		{Limits, "n(n,n)"},
		{LimitsP, "n(n-n),n"},
		{LimitsP, "n(n,n),n"},
		{LimitsP, "n(n-n)n"},
		{LimitsP, "n(n,n)n"},
		{LimitsP, "n(n-n,n)"},
		{LimitsP, "n(n,n,n)"},
	}
)

// Parse reads the text of a cell. Text without a digit is Nothing or Words, and
// so is text that begins with a word; text that begins like a number and is
// none of the forms is refused.
func Parse(text string, style Style) (Content, error) {
	text = strings.TrimFunc(text, unicode.IsSpace)
	if nothings[strings.ToLower(text)] || reference.MatchString(text) {
		return Content{Form: Nothing}, nil
	}
	if size.MatchString(text) {
		return Content{Form: Words}, nil
	}
	if !numeric.MatchString(text) && !strings.HasPrefix(text, "(") && !strings.HasPrefix(text, "[") || !strings.ContainsAny(text, "0123456789") {
		return Content{Form: Words}, nil
	}
	shape, numbers, err := tokens(withoutMarks(levelText.ReplaceAllString(text, "")), style)
	for _, s := range shapes {
		if err == nil && s.shape == shape {
			return Content{Form: s.form, Numbers: numbers}, nil
		}
	}
	if beginsLabel(text) {
		return Content{Form: Words}, nil
	}
	return Content{}, fmt.Errorf("found %q, expected %s: it %w", text, formsText, errNoForm)
}

// withoutMarks leaves out what points to a note: signs, raised letters, and one
// plain letter right behind a number or a bracket.
func withoutMarks(text string) string {
	text = strings.TrimSpace(marks.ReplaceAllString(text, ""))
	if n := len(text); n > 1 && text[n-1] >= 'a' && text[n-1] <= 'h' && (isDigit(text[n-2]) || text[n-2] == ')' || text[n-2] == '%') {
		text = text[:n-1]
	}
	return text
}

// beginsLabel reports whether the text has words, such as 10 to 12 years.
func beginsLabel(text string) bool {
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) }) {
		if low := strings.ToLower(word); utf8.RuneCountInString(word) > 1 && low != "to" && low != "ci" && low != "iqr" {
			return true
		}
	}
	return false
}

// parseStored reads a workbook's number.
func parseStored(text string) (Content, error) {
	n, digits, decimals := scanNumber(strings.TrimPrefix(text, "-"), Point)
	if n != len(strings.TrimPrefix(text, "-")) {
		return Content{}, fmt.Errorf("found the stored number %s, expected text: a workbook does not keep the decimals that were printed", text)
	}
	if strings.HasPrefix(text, "-") {
		digits = "-" + digits
	}
	return Content{Form: One, Numbers: []Number{{Text: text, Digits: digits, Decimals: decimals, Exact: true}}}, nil
}

// tokens takes a text apart into its shape, with n for a number, and its
// numbers. In the shape - stands for every mark of a range, and brackets are
// round.
func tokens(text string, style Style) (string, []Number, error) {
	var shape strings.Builder
	var numbers []Number
	var relation Relation
	sign, pending := "", "" // a minus sign; what stands before the digits
	last := func() byte {
		if shape.Len() == 0 {
			return 0
		}
		return shape.String()[shape.Len()-1]
	}
	for text != "" {
		if n, digits, decimals := scanNumber(text, style); n > 0 {
			number := Number{Digits: sign + digits, Decimals: decimals, Relation: relation}
			written := pending + text[:n]
			text = text[n:]
			if rest := strings.TrimLeftFunc(text, unicode.IsSpace); strings.HasPrefix(rest, "%") {
				number.Percent, text = true, rest[1:]
				written += "%"
			}
			number.Text = written
			if last() == 'n' {
				return "", nil, errNoForm
			}
			numbers = append(numbers, number)
			shape.WriteByte('n')
			sign, pending, relation = "", "", Equal
			continue
		}
		r, width := utf8.DecodeRuneInString(text)
		rest := text[width:]
		switch {
		case unicode.IsSpace(r):
		case strings.ContainsRune("([", r):
			shape.WriteByte('(')
		case strings.ContainsRune(")]", r):
			shape.WriteByte(')')
		case r == '±' || r == '/':
			shape.WriteRune(r)
		case r == ',' || r == ';':
			shape.WriteByte(',')
		case strings.ContainsRune("-−–—‐‑", r):
			if last() == 'n' {
				shape.WriteByte('-')
			} else if sign == "" && pending == "" || relation != Equal && sign == "" {
				sign, pending = "-", pending+minusSign
			} else {
				return "", nil, errNoForm
			}
		case strings.HasPrefix(strings.ToLower(text), "to ") && last() == 'n':
			shape.WriteByte('-')
			rest = text[2:]
		case strings.ContainsRune("<>≤≥", r) && relation == Equal && sign == "":
			relation = Relation(string(r))
			pending += string(r)
			if strings.HasPrefix(rest, "=") {
				relation = map[Relation]Relation{Below: AtMost, Above: AtLeast}[relation]
				rest = rest[1:]
			}
		case r == '=' || r == '+' || r == 'P' || r == 'p': // P = 0.03
		default:
			return "", nil, errNoForm
		}
		text = rest
	}
	if sign != "" || relation != Equal {
		return "", nil, errNoForm
	}
	return shape.String(), numbers, nil
}

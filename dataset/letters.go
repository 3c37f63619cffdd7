package dataset

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"heelcohort/codebook"
	"heelcohort/dataset/delimited"
)

// suggestEncoding adds to findings about words that match nothing what may be
// wrong with their letters: the file's encoding was taken for another, by this
// program or before the file came to it.
func suggestEncoding(found []Finding, files []File) {
	how := make(map[string]*delimited.Found, len(files))
	for _, f := range files {
		how[f.Path] = f.Text
	}
	for i := range found {
		f := &found[i]
		switch f.Rule {
		case codebook.RuleCategory, codebook.RuleEnum, codebook.RulePattern, codebook.RuleType, RuleForeignKey, RuleUnknownColumn:
		default:
			continue
		}
		hint := letterHint(f.Found, how[f.Where.File])
		if hint == "" {
			continue
		}
		f.Message += "; " + hint
		f.Expected += " (" + hint + ")"
	}
}

// letterHint says what may be wrong with the letters of a word, or "". how is
// nil for a workbook.
func letterHint(word string, how *delimited.Found) string {
	if isASCII(word) {
		return ""
	}
	if strings.ContainsRune(word, utf8.RuneError) {
		return "a letter was lost when the file was saved; ask for it again as CSV UTF-8 or .xlsx"
	}
	if meant := twiceEncoded(word); meant != "" {
		return fmt.Sprintf("UTF-8 was read as another encoding when the file was saved; %q may have been meant", meant)
	}
	if how == nil || strings.HasPrefix(how.Encoding, "utf-") {
		return ""
	}
	return fmt.Sprintf("the file was read as %s; if its letters look wrong, say its encoding in the codebook", delimited.EncodingTitle(how.Encoding))
}

// twiceEncoded is the word whose UTF-8 was taken for Windows-1252, or "".
func twiceEncoded(word string) string {
	var b strings.Builder
	for _, r := range word {
		c, ok := charmap.Windows1252.EncodeRune(r)
		if !ok {
			return ""
		}
		b.WriteByte(c)
	}
	if s := b.String(); utf8.ValidString(s) {
		return s
	}
	return ""
}

func isASCII(s string) bool {
	return strings.IndexFunc(s, func(r rune) bool { return r >= utf8.RuneSelf }) < 0
}

// suggestForHead adds the same to the error for a head that lacks columns with
// such letters in their names.
func suggestForHead(err error, names []string, how delimited.Found) {
	var e *ReadError
	if !errors.As(err, &e) || !strings.HasPrefix(e.Message, "no column named") {
		return
	}
	for _, n := range names {
		if strings.Contains(e.Message, n) && !isASCII(n) {
			if hint := letterHint(n, &how); hint != "" {
				e.Message += "; " + hint
			}
			return
		}
	}
}

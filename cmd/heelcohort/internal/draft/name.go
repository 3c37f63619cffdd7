package draft

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// reservedWords are words of expressions that cannot name a variable there.
var reservedWords = []string{
	"and", "or", "not", "in", "true", "false", "nil", "null",
	"contains", "else", "endsWith", "endswith", "if", "let", "matches", "startsWith", "startswith",
}

// identifier makes a name of letters, digits and underscores from a title. A
// title that is one already stays as it is.
func identifier(title string) string {
	if isIdentifier(title) && !slices.Contains(reservedWords, title) {
		return title
	}
	var b strings.Builder
	gap := false
	for _, r := range norm.NFD.String(title) {
		switch {
		case r < unicode.MaxASCII && (unicode.IsLetter(r) || unicode.IsDigit(r)):
			if gap && b.Len() > 0 {
				b.WriteByte('_')
			}
			gap = false
			b.WriteRune(unicode.ToLower(r))
		case r == '%':
			if b.Len() > 0 {
				b.WriteByte('_')
			}
			b.WriteString("pct")
			gap = true
		case unicode.Is(unicode.Mn, r) || r == '\'' || r == '’':
		default:
			gap = true
		}
	}
	name := b.String()
	switch {
	case name == "":
		return ""
	case name[0] >= '0' && name[0] <= '9':
		name = "v" + name
	case slices.Contains(reservedWords, name):
		name += "_"
	}
	return name
}

// isIdentifier reports whether a title can stand in an expression as it is.
func isIdentifier(title string) bool {
	for i, r := range title {
		letter := r == '_' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z'
		if !letter && (i == 0 || r < '0' || r > '9') {
			return false
		}
	}
	return title != ""
}

// unique gives each name that stood before a number.
func unique(names []string) {
	taken := map[string]bool{}
	for i, name := range names {
		names[i] = free(name, taken)
	}
}

// free is the name, or the name with the least number that makes it a new one;
// it is taken from then on. Names that differ in their cases alone are one.
func free(name string, taken map[string]bool) string {
	out := name
	for n := 2; taken[strings.ToLower(out)]; n++ {
		out = name + "_" + strconv.Itoa(n)
	}
	taken[strings.ToLower(out)] = true
	return out
}

// variableNames names variables by their titles. A title that is a name stays
// with its first column; no other variable takes a name that is a title.
func variableNames(titles []string) []string {
	names := make([]string, len(titles))
	taken := map[string]bool{}
	for i, title := range titles {
		if name := identifier(title); name == title && !taken[strings.ToLower(name)] {
			names[i] = free(name, taken)
		}
	}
	for _, title := range titles {
		taken[strings.ToLower(title)] = true
	}
	for i, title := range titles {
		if names[i] != "" {
			continue
		}
		name := identifier(title)
		if name == "" {
			name = "variable"
		}
		names[i] = free(name, taken)
	}
	return names
}

// spoken is a title as words in small letters: "Height_cm (R)" is "height cm r".
func spoken(title string) []string {
	var words []string
	word := strings.Builder{}
	flush := func() {
		if word.Len() > 0 {
			words = append(words, strings.ToLower(word.String()))
			word.Reset()
		}
	}
	before := ' '
	for _, r := range title {
		switch {
		case !unicode.IsLetter(r) && r != '%':
			flush()
		case unicode.IsUpper(r) && unicode.IsLower(before):
			flush()
			word.WriteRune(r)
		default:
			word.WriteRune(r)
		}
		before = r
	}
	flush()
	return words
}

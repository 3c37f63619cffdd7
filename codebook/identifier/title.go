package identifier

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// A titleWords is the words by which titles say what a column is.
type titleWords struct {
	anywhere []string // phrases that say so wherever they stand
	alone    []string // phrases that do as the whole title, words of people aside
	not      []string // words beside which they say nothing
}

// says reports whether a title says that the column is of this sort.
func (w *titleWords) says(title string) bool {
	words := splitTitle(title)
	if len(words) == 0 {
		return false
	}
	for _, word := range words {
		for _, n := range w.not {
			if word == n {
				return false
			}
		}
	}
	for _, phrase := range w.anywhere {
		if hasPhrase(words, phrase) {
			return true
		}
	}
	var rest []string
	for _, word := range words {
		if !ofPeople[word] && !isDigits(word) {
			rest = append(rest, word)
		}
	}
	for _, phrase := range w.alone {
		if len(rest) > 0 && (strings.Join(rest, " ") == phrase || strings.Join(rest, "") == strings.ReplaceAll(phrase, " ", "")) {
			return true
		}
	}
	return false
}

// hasPhrase reports whether a phrase's words follow each other in a title, or
// are one word of it.
func hasPhrase(words []string, phrase string) bool {
	parts := strings.Split(phrase, " ")
	joined := strings.Join(parts, "")
	for i := range words {
		if words[i] == joined {
			return true
		}
		if i+len(parts) > len(words) {
			continue
		}
		same := true
		for j, p := range parts {
			same = same && words[i+j] == p
		}
		if same {
			return true
		}
	}
	return false
}

// splitTitle takes a title apart into words in small letters without accents:
// "Geb.-Datum", "gebDatum" and "GEB_DATUM" are all geb, datum.
func splitTitle(title string) []string {
	var words []string
	var b strings.Builder
	flush := func() {
		if b.Len() > 0 {
			words = append(words, b.String())
			b.Reset()
		}
	}
	var before rune
	for _, r := range norm.NFD.String(cut(title, 200)) {
		switch {
		case unicode.Is(unicode.Mn, r):
			continue
		case !unicode.IsLetter(r) && !unicode.IsDigit(r):
			flush()
		default:
			if unicode.IsUpper(r) && unicode.IsLower(before) || unicode.IsDigit(r) != unicode.IsDigit(before) {
				flush()
			}
			switch r {
			case 'ß':
				b.WriteString("ss")
			case 'ø', 'Ø':
				b.WriteByte('o')
			case 'æ', 'Æ':
				b.WriteString("ae")
			case 'ł', 'Ł':
				b.WriteByte('l')
			default:
				b.WriteRune(unicode.ToLower(r))
			}
		}
		before = r
	}
	flush()
	return words
}

func isDigits(s string) bool {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return s != ""
}

// cut shortens a text to at most n bytes, not within a character.
func cut(s string, n int) string {
	if len(s) <= n {
		return s
	}
	for n > 0 && s[n]&0xc0 == 0x80 {
		n--
	}
	return s[:n]
}

package result

import (
	"strconv"
	"strings"
)

const betweenRaters = " and "

// RatersTerm is the term of a row about two raters: their names with "and"
// between them, a name that could be taken for two in quotes.
func RatersTerm(first, second string) string {
	return quoteRater(first) + betweenRaters + quoteRater(second)
}

func quoteRater(name string) string {
	if strings.Contains(name, betweenRaters) || strings.HasPrefix(name, `"`) {
		return strconv.Quote(name)
	}
	return name
}

// Raters takes the names out of a term that RatersTerm made.
func Raters(term string) (first, second string, ok bool) {
	if quoted, err := strconv.QuotedPrefix(term); err == nil && quoted[0] == '"' {
		first, _ = strconv.Unquote(quoted)
		second, ok = strings.CutPrefix(term[len(quoted):], betweenRaters)
	} else {
		first, second, ok = strings.Cut(term, betweenRaters)
	}
	if strings.HasPrefix(second, `"`) {
		if name, err := strconv.Unquote(second); err == nil {
			second = name
		}
	}
	return first, second, ok
}

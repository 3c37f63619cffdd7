package document

import (
	"regexp"
	"strings"
)

var (
	// plainNumber is a number as JSON writes it.
	plainNumber = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?$`)
	plainInt    = regexp.MustCompile(`^-?(0|[1-9][0-9]*)$`)
	// oddNumber is any other spelling that a YAML reader may take for a number.
	oddNumber = regexp.MustCompile(`^[-+]?(\.[0-9][0-9_]*|[0-9][0-9_]*(\.[0-9_]*)?)([eE][-+]?[0-9]+)?$|` +
		`^[-+]?0[xob][0-9a-fA-F_]+$|^[-+]?\.(inf|Inf|INF)$|^\.(nan|NaN|NAN)$`)
	// dateLike is a date or a time of day, sexagesimal numbers among them.
	dateLike = regexp.MustCompile(`^[0-9]{4}-[0-9]{1,2}-[0-9]{1,2}([Tt \t].*)?$|^[-+]?[0-9]+(:[0-5]?[0-9])+(\.[0-9]*)?$`)
)

// plainKind is the sort of an unquoted scalar.
func plainKind(text string) Kind {
	switch text {
	case "", "~", "null", "Null", "NULL":
		return Null
	case "true", "True", "TRUE", "false", "False", "FALSE":
		return Bool
	}
	if plainNumber.MatchString(text) || oddNumber.MatchString(text) {
		return Number
	}
	return Text
}

// ambiguous reports whether an unquoted text is read as something else by
// other readers of YAML.
func ambiguous(text string) bool {
	switch strings.ToLower(text) {
	case "y", "n", "yes", "no", "on", "off":
		return true
	}
	return dateLike.MatchString(text)
}

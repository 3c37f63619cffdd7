package expression

import (
	"errors"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/conf"
	"github.com/expr-lang/expr/file"
	"github.com/expr-lang/expr/parser"
)

// Limits on a source; see the package documentation.
const (
	maxLength = 10_000
	maxNodes  = 1_000
	maxDepth  = 100
)

// plainCalls names the parser's own functions, so that it reads a call of each
// as a call of any other function.
var plainCalls = conf.CreateNew().Builtins

// parse reads source into a tree whose locations are indexes of characters.
// It refuses what the language has no use for, but knows nothing of kinds.
func parse(source string, o origin) (node ast.Node, err error) {
	defer func() {
		if recover() != nil {
			node, err = nil, o.fault(0, "found an expression that cannot be read, expected a simpler one")
		}
	}()
	switch {
	case !utf8.ValidString(source):
		return nil, o.fault(invalidAt(source), "found bytes that are not UTF-8, expected text saved as UTF-8")
	case len(o.runes) > maxLength:
		return nil, o.fault(maxLength, "found %d characters, expected at most %d", len(o.runes), maxLength)
	case strings.TrimSpace(source) == "":
		return nil, o.fault(0, "found nothing, expected an expression")
	}
	if err := scan(o); err != nil {
		return nil, err
	}
	config := &conf.Config{MaxNodes: maxNodes, Functions: plainCalls}
	tree, err := parser.ParseWithConfig(source, config)
	if err != nil {
		return nil, syntaxError(err, o)
	}
	return tree.Node, nil
}

// invalidAt is the index of the first character that is not UTF-8.
func invalidAt(source string) int {
	n := 0
	for i, r := range source {
		if r == utf8.RuneError {
			if _, size := utf8.DecodeRuneInString(source[i:]); size == 1 {
				break
			}
		}
		n++
	}
	return n
}

// syntaxError words the parser's error as one of ours.
func syntaxError(err error, o origin) error {
	var e *file.Error
	if !errors.As(err, &e) {
		return o.fault(0, "found an expression that cannot be read, expected a simpler one")
	}
	at, message := e.From, e.Message
	found := o.text(at, max(at+1, e.To))
	switch {
	case strings.Contains(message, "maximum allowed nodes"):
		return o.fault(at, "found more than %d parts, expected a shorter expression", maxNodes)
	case strings.Contains(message, "escape"):
		return o.fault(at, `found a backslash that starts no known character, expected \\ for a backslash`)
	case strings.HasPrefix(message, "unexpected token EOF"), strings.HasPrefix(message, "unexpected end"):
		at, found = o.end(), "the end"
	}
	expected := expectedAt(o, at)
	fault := o.fault(at, "found %s, expected %s", found, expected)
	if lower := strings.ToLower(found); slices.Contains([]string{"and", "or", "not", "in"}, lower) && lower != found {
		fault.Nearest = lower
	}
	return fault
}

// expectedAt says what could stand at an index, judged by what stands before:
// after a name, a literal or a closing bracket an operator, else a value.
func expectedAt(o origin, at int) string {
	i := min(at, len(o.runes)) - 1
	for i >= 0 && unicode.IsSpace(o.runes[i]) {
		i--
	}
	from := i
	for o.letter(from) {
		from--
	}
	word := o.text(from+1, i+1)
	if word == "" && !o.is(i, ')', ']', '"', '\'', '.') || slices.Contains([]string{"and", "or", "not", "in"}, word) {
		return "a value"
	}
	if o.is(i, '.') && !o.digit(i-1) {
		return "a variable after the point"
	}
	switch unclosed(o, at) {
	case '(':
		return "an operator or )"
	case '[':
		return "a comma or ]"
	case '?':
		return "an operator or :"
	}
	return "an operator or the end"
}

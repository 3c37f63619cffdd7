package document

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// An Error is a fault at a place of a document.
type Error struct {
	Position Position
	Message  string // what was found and what was expected, lower case
	Nearest  string // the nearest valid word, or ""
	Excerpt  string // the line with a caret under the column, or ""
}

// Error formats e as file:line:column: message; did you mean "nearest"?
func (e *Error) Error() string {
	message := e.Message
	if place := e.Position.String(); place != "" {
		message = place + ": " + message
	}
	if e.Nearest != "" {
		message += fmt.Sprintf("; did you mean %q?", e.Nearest)
	}
	return message
}

// MaxErrors is how many faults of one document are told at once.
const MaxErrors = 20

// Errors are several faults of one document, in its order.
type Errors []*Error

// Error gives one fault a line.
func (e Errors) Error() string {
	lines := make([]string, len(e))
	for i, fault := range e {
		lines[i] = fault.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap lists the faults for errors.As and errors.Is.
func (e Errors) Unwrap() []error {
	all := make([]error, len(e))
	for i, fault := range e {
		all[i] = fault
	}
	return all
}

// Faults lists the faults that an error is made of. An error that has no place
// becomes one without.
func Faults(err error) []*Error {
	if err == nil {
		return nil
	}
	var several Errors
	if errors.As(err, &several) {
		return several
	}
	var one *Error
	if errors.As(err, &one) {
		return []*Error{one}
	}
	return []*Error{{Message: err.Error()}}
}

// Join makes one error of several: nil of none, the *Error itself of one, and
// otherwise Errors in the order of the document, without repetitions and at
// most MaxErrors of them.
func Join(errs ...error) error {
	var all Errors
	for _, err := range errs {
		all = append(all, Faults(err)...)
	}
	slices.SortStableFunc(all, func(a, b *Error) int {
		switch {
		case a.Position.before(b.Position):
			return -1
		case b.Position.before(a.Position):
			return 1
		}
		return 0
	})
	all = slices.CompactFunc(all, func(a, b *Error) bool {
		return a.Position == b.Position && a.Message == b.Message
	})
	if len(all) > MaxErrors {
		all = all[:MaxErrors]
	}
	switch len(all) {
	case 0:
		return nil
	case 1:
		return all[0]
	}
	return all
}

// Errorf is a fault at the node, with its excerpt.
func (n *Node) Errorf(format string, args ...any) *Error {
	return n.errorAt(n.Position, "", format, args...)
}

// ErrorNear is a fault at the node that names the nearest valid word.
func (n *Node) ErrorNear(nearest, format string, args ...any) *Error {
	return n.errorAt(n.Position, nearest, format, args...)
}

// ErrorAt is a fault at another place of the node's document, such as that of
// a key.
func (n *Node) ErrorAt(p Position, nearest, format string, args ...any) *Error {
	return n.errorAt(p, nearest, format, args...)
}

func (n *Node) errorAt(p Position, nearest, format string, args ...any) *Error {
	return &Error{Position: p, Message: shortened(fmt.Sprintf(format, args...)), Nearest: nearest, Excerpt: n.source.excerpt(p)}
}

// shortened cuts a message that a long text of the document has made too long
// to be read.
func shortened(message string) string {
	const longest = 1000 // characters
	if len(message) <= longest {
		return message
	}
	if runes := []rune(message); len(runes) > longest {
		return string(runes[:longest]) + "…"
	}
	return message
}

// fault is an error at a byte of the source.
func (s *source) fault(offset int, format string, args ...any) *Error {
	p := s.at(offset)
	return &Error{Position: p, Message: shortened(fmt.Sprintf(format, args...)), Excerpt: s.excerpt(p)}
}

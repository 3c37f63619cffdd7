package dataset

import (
	"fmt"
	"strings"
)

// A ReadError says why a file, sheet or column could not be read at all.
type ReadError struct {
	Where   Origin
	Message string // what was found and what was expected, lower case
	Nearest string // the nearest valid word, or ""
	Err     error  // the cause, or nil
}

// Error formats e as place: message (did you mean "nearest"?).
func (e *ReadError) Error() string {
	var b strings.Builder
	if place := e.Where.String(); place != "" {
		b.WriteString(place)
		b.WriteString(": ")
	}
	b.WriteString(e.Message)
	if e.Nearest != "" {
		fmt.Fprintf(&b, " (did you mean %q?)", e.Nearest)
	}
	return b.String()
}

// Unwrap gives the cause.
func (e *ReadError) Unwrap() error { return e.Err }

// refuse makes a ReadError.
func refuse(where Origin, format string, args ...any) *ReadError {
	return &ReadError{Where: where, Message: fmt.Sprintf(format, args...)}
}

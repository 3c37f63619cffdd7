package delimited

import "fmt"

// An Error says why a text cannot be read, and where.
type Error struct {
	Line    int // from 1; 0 is the whole file
	Column  int // the cell of the line, from 1; 0 is the whole line
	Message string
}

// Error formats e as line, column: message.
func (e *Error) Error() string {
	switch {
	case e.Line <= 0:
		return e.Message
	case e.Column <= 0:
		return fmt.Sprintf("line %d: %s", e.Line, e.Message)
	}
	return fmt.Sprintf("line %d, column %d: %s", e.Line, e.Column, e.Message)
}

func refuse(line int, format string, args ...any) *Error {
	return &Error{Line: line, Message: fmt.Sprintf(format, args...)}
}

// lineAt is the line on which the byte data[at] lies.
func lineAt(data []byte, at int) int {
	line := 1
	for i, c := range data[:at] {
		if c == '\n' || c == '\r' && (i+1 == len(data) || data[i+1] != '\n') {
			line++
		}
	}
	return line
}

package ooxml

import (
	"fmt"
	"strconv"
)

// An Error says why a workbook, a part of it or a cell cannot be read.
type Error struct {
	Sheet       string // name of the sheet, "" where the fault is not in one
	Row, Column int    // place in the sheet from 1, 0 where not known
	Message     string // what was found and why it is refused, lower case
	Err         error  // the cause, or nil
}

// Error formats e as place: message.
func (e *Error) Error() string {
	place := ""
	if e.Sheet != "" {
		place = "sheet " + strconv.Quote(e.Sheet)
	}
	switch {
	case e.Row > 0 && e.Column > 0:
		place += " " + ColumnLetters(e.Column) + strconv.Itoa(e.Row)
	case e.Row > 0:
		place += " row " + strconv.Itoa(e.Row)
	}
	if place == "" {
		return e.Message
	}
	return place + ": " + e.Message
}

// Unwrap gives the cause.
func (e *Error) Unwrap() error { return e.Err }

// refuse makes an Error without a place.
func refuse(format string, args ...any) *Error {
	return &Error{Message: fmt.Sprintf(format, args...)}
}

package verdict

import "heelcohort/cmd/heelcohort/internal/printedtable"

// A Question is something in a printed table that does not follow from the rest
// of it.
type Question struct {
	Kind  string `json:"kind"`
	Where string `json:"cell"`
	Text  string `json:"text"` // of the cell
	Ask   string `json:"question"`
}

// Inner holds a table against itself.
func Inner(_ *printedtable.File, _ []string) []Question { return []Question{} }

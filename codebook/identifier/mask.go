package identifier

import (
	"fmt"
	"unicode/utf8"
)

// Mask describes a cell's text by its length alone: "a text of 11 characters".
// An empty text gives "".
func Mask(text string) string {
	switch n := utf8.RuneCountInString(text); n {
	case 0:
		return ""
	case 1:
		return "a text of 1 character"
	default:
		return fmt.Sprintf("a text of %d characters", n)
	}
}

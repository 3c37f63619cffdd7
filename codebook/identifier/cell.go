package identifier

import "strings"

// Shows reports whether a single text had better not be shown: it holds an
// address of mail, the web or a street, an international phone number, a given
// name of the list, or a name behind a form of address. It says yes more
// easily than the screens do.
func Shows(text string) bool {
	s := shapeOf(text)
	if s.at && hasEmail(text) || (s.slash || s.dots >= 2) && hasWebAddress(text) || phoneOf(text, s) != noPhone || streetOf(text, s) != noStreet || called(text) {
		return true
	}
	for word := range strings.FieldsSeq(text) {
		word = strings.Trim(word, ".,;:()\"'")
		if len(word) >= 3 && capitalised(word) && givenNames[plainWord(word)] {
			return true
		}
	}
	return false
}

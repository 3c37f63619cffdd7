package identifier

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// A nameSort says how a text compares with a person's name.
type nameSort uint8

const (
	noName     nameSort = iota
	shapedName          // two or three capitalised words
	givenName           // the same, or one word, with a given name of the list
	calledName          // a name behind a form of address: "Mrs Saltmarsh"
)

// formsOfAddress stand before names.
var formsOfAddress = wordSet("mr mrs ms herr herrn frau mme mlle dr prof sra signora")

// nameOf compares a text with a person's name: one to three words of letters,
// each with a capital first, perhaps with a comma behind the first of them and
// small words such as van and de between.
func nameOf(text string, s shape) nameSort {
	if s.letters < 3 || len(text) > 60 || s.digits > 0 {
		if s.letters >= 5 && s.upper >= 2 && s.blanks > 0 && called(text) {
			return calledName
		}
		return noName
	}
	if s.upper == 0 && !s.wide {
		return noName
	}
	if s.blanks > 0 && called(text) {
		return calledName
	}
	names, given := 0, false
	for word := range strings.FieldsSeq(text) {
		if nameParticles[word] && names > 0 {
			continue
		}
		word = strings.TrimSuffix(word, ",")
		if !capitalised(word) {
			return noName
		}
		names++
		given = given || givenNames[plainWord(word)]
	}
	switch {
	case names == 0 || names > 3:
		return noName
	case given:
		return givenName
	case names >= 2:
		return shapedName
	}
	return noName
}

// nameParticles stand within names in small letters.
var nameParticles = wordSet("van von der den de la le du di da del y e zu af av ter ten bin al")

// capitalised reports whether a word is a capital with small letters behind it,
// or several of these joined by a hyphen or an apostrophe; or an initial.
func capitalised(word string) bool {
	small, capital := 0, false
	for i, r := range word {
		switch {
		case r == '-' || r == '\'' || r == '’':
			if i == 0 {
				return false
			}
		case r == '.':
			if i+1 != len(word) || small > 0 {
				return false
			}
		case unicode.IsUpper(r):
			capital = true
		case unicode.IsLower(r):
			if !capital {
				return false
			}
			small++
		default:
			return false
		}
		if i == 0 && !capital {
			return false
		}
	}
	return capital && (small > 0 || strings.HasSuffix(word, "."))
}

// plainWord is a word in small letters without accents, its first part where
// it has several.
func plainWord(word string) string {
	if i := strings.IndexAny(word, "-'’"); i > 0 {
		word = word[:i]
	}
	for i := range len(word) {
		if word[i] >= utf8.RuneSelf {
			if parts := splitTitle(word); len(parts) > 0 {
				return parts[0]
			}
			return ""
		}
	}
	return strings.ToLower(word)
}

// called reports whether a form of address stands before a capitalised word.
func called(text string) bool {
	before := false
	for word := range strings.FieldsSeq(text) {
		bare := strings.TrimRight(word, ".,;:()")
		if before && len(bare) > 2 && capitalised(bare) {
			return true
		}
		before = len(bare) <= 7 && capitalised(bare) && formsOfAddress[strings.ToLower(bare)]
	}
	return false
}

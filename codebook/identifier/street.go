package identifier

import (
	"regexp"
	"strings"
)

// A streetSort says how sure it is that a street with a house number stands in
// a text.
type streetSort uint8

const (
	noStreet    streetSort = iota
	mayBeStreet            // the word can be of something else: Sportplatz 3
	sureStreet
)

// streets are shapes of streets with house numbers, each with the sureness of
// its words.
var streets = []struct {
	sort  streetSort
	shape *regexp.Regexp
}{
	{sureStreet, regexp.MustCompile(`\b\d{1,4}[A-Za-z]?,? (?:[A-Z][\p{L}'’-]+ ){1,3}(?:Street|Road|Avenue|Lane|Crescent|Terrace|Boulevard)\b`)},
	{mayBeStreet, regexp.MustCompile(`\b\d{1,4}[A-Za-z]?,? (?:[A-Z][\p{L}'’-]+ ){1,3}(?:St|Rd|Ave|Ln|Drive|Close|Court|Way|Place|Gardens|Grove|Hill|Square)\b`)},
	{sureStreet, regexp.MustCompile(`\p{Lu}[\p{L}-]+(?:straße|strasse|str\.|gasse|allee|straat|laan|gracht|gatan|vägen|veien|vejen|katu) ?\d{1,4}(?:$|[^\d])`)},
	{sureStreet, regexp.MustCompile(`(?:Straße|Strasse|Str\.|Allee) \d{1,4}(?:$|[^\d])`)},
	{mayBeStreet, regexp.MustCompile(`^\p{Lu}[\p{L}-]+(?:weg|platz|ring|damm|ufer|plein|kade|gata|gate|vei|vej|tie) \d{1,4} ?[a-zA-Z]?(?:$|,)`)},
	{sureStreet, regexp.MustCompile(`\b\d{1,4},? (?:bis |ter )?(?:rue|avenue|boulevard|chemin|impasse|quai|allée) (?:de|du|des|la|le|les|d['’]|\p{Lu})`)},
	{mayBeStreet, regexp.MustCompile(`^(?i:calle|avenida|avda\.?|plaza|paseo|via|viale|piazza|corso|rua) .*\p{L}.*,? (?:n\.? ?)?\d{1,4}\b`)},
}

// streetWords are the ends of words without which no shape of a street fits.
var streetWords = []string{
	"street", "road", "avenue", "lane", "crescent", "terrace", "boulevard", "st", "rd", "ave", "ln", "drive", "close", "court",
	"way", "place", "gardens", "grove", "hill", "square", "straße", "strasse", "str", "gasse", "allee", "straat", "laan",
	"gracht", "gatan", "vägen", "veien", "vejen", "katu", "weg", "platz", "ring", "damm", "ufer", "plein", "kade", "gata",
	"gate", "vei", "vej", "tie", "rue", "chemin", "impasse", "quai", "allée", "calle", "avenida", "avda", "plaza", "paseo",
	"via", "viale", "piazza", "corso", "rua",
}

var streetEnd = func() map[string]bool {
	set := map[string]bool{}
	for _, w := range streetWords {
		set[w] = true
	}
	return set
}()

// streetOf looks for a street with a house number.
func streetOf(text string, s shape) streetSort {
	if s.digits == 0 || s.digits > 12 || s.letters < 5 || s.blanks == 0 && s.dots == 0 || s.upper == 0 && !strings.Contains(text, "rue ") && s.letters < 8 || !hasStreetWord(text) {
		return noStreet
	}
	found := noStreet
	for _, k := range streets {
		if k.sort > found && k.shape.MatchString(text) {
			found = k.sort
		}
	}
	return found
}

// hasStreetWord reports whether a word of the text ends as streets do.
func hasStreetWord(text string) bool {
	var low [9]byte
	for i := 0; i < len(text); {
		if !isLetter(text[i]) {
			i++
			continue
		}
		j := i
		for j < len(text) && isLetter(text[j]) {
			j++
		}
		word := text[max(i, j-len(low)):j]
		for k := range len(word) {
			low[k] = word[k]
			if c := word[k]; c >= 'A' && c <= 'Z' {
				low[k] = c | 0x20
			}
		}
		for n := 2; n <= len(word); n++ {
			if streetEnd[string(low[len(word)-n:len(word)])] {
				return true
			}
		}
		i = j
	}
	return false
}

// postcodes are the shapes that British and Canadian postcodes have.
var postcodes = regexp.MustCompile(`^(?:[A-Z]{1,2}\d[A-Z\d]? ?\d[ABD-HJLNP-UW-Z]{2}|[ABCEGHJ-NPRSTVXY]\d[ABCEGHJ-NPRSTV-Z] ?\d[ABCEGHJ-NPRSTV-Z]\d)$`)

// countries are the letters that stand before a postcode and a hyphen.
var countries = wordSet("D A CH F DE AT FR L B NL I IT E ES S SE N NO DK FI")

// isPostcode reports whether a text is a postcode by its shape alone: a
// British or Canadian one, an American one with four digits more, or one with
// its country before it.
func isPostcode(text string, s shape) bool {
	if len(text) < 5 || len(text) > 10 || s.digits < 2 {
		return false
	}
	if before, digits, ok := strings.Cut(text, "-"); ok {
		if !isDigits(digits) {
			return false
		}
		return len(before) == 5 && len(digits) == 4 && isDigits(before) || len(before) <= 2 && len(digits) >= 4 && len(digits) <= 5 && countries[before]
	}
	return s.upper >= 3 && len(text) <= 8 && postcodes.MatchString(text)
}

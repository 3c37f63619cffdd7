package delimited

import (
	"strings"
	"testing"

	"golang.org/x/text/encoding/charmap"
)

// words are what western tables hold beyond ASCII, by language.
var words = strings.Fields(`
	Müller Köln Mädchen Straße Größe Füße Ärzte Österreich Übung weiß schön für männlich weiblich Jürgen Strauß MÜLLER GRÖSSE
	café école élève français Noël garçon œdème gauche côté où déjà naïf François Zoé Hélène Benoît
	Muñoz niño año García Peñalver María izquierdo señal Ángel París país López Martínez José
	São João Conceição não limitação pé mãe Luís avó
	Jørgen Ærø smørrebrød Åse høyre venstre kjønn Søren på hæl fødder
	Åsa Söder hälsena vänster Björn Malmö yrkesår
	één coördinatie België knieën
	perché città però Niccolò è più
`)

// phrases are whole cells; each can only be Windows-1252.
var phrases = []string{
	"37 °C", "5–10 h", "12 m²", "1½ h", "3 × 10", "don’t know", "50 € 10 – Müller", "« oui » élève", "coördinatie", "“left” Mädchen don’t",
	"child’s, boy’s, mother’s", "±2, 5 µg, café", "2nd—3rd",
}

func encoded(t *testing.T, text string, page *charmap.Charmap) ([]byte, bool) {
	t.Helper()
	data, err := page.NewEncoder().Bytes([]byte(text))
	return data, err == nil
}

// No word kept in Macintosh, IBM 850 or IBM 437 may be taken for another word
// of Windows-1252, not even alone.
func TestOtherEncodingsAreNotTaken(t *testing.T) {
	for name, page := range map[string]*charmap.Charmap{
		"macintosh": charmap.Macintosh, "ibm850": charmap.CodePage850, "ibm437": charmap.CodePage437,
	} {
		for _, w := range append(append([]string{}, words...), phrases...) {
			data, ok := encoded(t, w, page)
			if !ok || firstHigh(data) < 0 {
				continue
			}
			if western(data) == nil && decodeWord(data, charmap.Windows1252) != w {
				t.Errorf("%s: %q was taken for %q", name, w, decodeWord(data, charmap.Windows1252))
			}
		}
		all, _ := encoded(t, strings.Join(strings.Fields("Müller café niño Åsa école élève für"), ","), page)
		if western(all) == nil {
			t.Errorf("%s: a text was taken for Windows-1252", name)
		}
	}
}

// Text of Windows-1252 must read as itself, a cell alone as well as the words
// of a language together.
func TestWindows1252(t *testing.T) {
	for _, p := range phrases {
		data, ok := encoded(t, p, charmap.Windows1252)
		if !ok {
			t.Fatalf("%q is not of Windows-1252", p)
		}
		if err := western(data); err != nil {
			t.Errorf("%q: %v", p, err)
		}
	}
	alone := 0
	for _, w := range words {
		data, ok := encoded(t, w, charmap.Windows1252)
		if !ok {
			t.Fatalf("%q is not of Windows-1252", w)
		}
		if firstHigh(data) >= 0 && western(data) != nil {
			alone++
			t.Logf("alone refused: %v", western(data))
		}
	}
	if alone > 3 {
		t.Errorf("%d of %d words are refused when they stand alone", alone, len(words))
	}
	data, _ := encoded(t, strings.Join(words, ";"), charmap.Windows1252)
	if err := western(data); err != nil {
		t.Error(err)
	}
}

// Other scripts and other neighbours of the same bytes are refused.
func TestOtherScripts(t *testing.T) {
	for _, c := range []struct {
		text string
		page *charmap.Charmap
	}{
		{"левая", charmap.Windows1251},
		{"αριστερά", charmap.Windows1253},
		{"złoty", charmap.Windows1250},
		{"żółty", charmap.Windows1250},
		{"10 €", charmap.ISO8859_15},
		{"левая", charmap.CodePage866},
		{"прав", charmap.KOI8R},
	} {
		data, ok := encoded(t, c.text, c.page)
		if !ok {
			t.Fatalf("%q", c.text)
		}
		if western(data) == nil {
			t.Errorf("%s: %q was taken for %q", c.page, c.text, decodeWord(data, charmap.Windows1252))
		}
	}
}

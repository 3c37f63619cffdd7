package printedtable

import (
	"fmt"
	"regexp"
)

// A Style is the mark before decimals.
type Style string

// The styles.
const (
	Detect Style = ""      // told from the table
	Point  Style = "point" // 1,234.5
	Comma  Style = "comma" // 1.234,5
)

// Styles are the words that choose one.
var Styles = []string{string(Point), string(Comma)}

// A mark between digits: what it must be.
var (
	betweenDigits = regexp.MustCompile(`\d+(?:[.,]\d+)+`)
	thousands     = map[byte]*regexp.Regexp{
		',': regexp.MustCompile(`^[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?$`),
		'.': regexp.MustCompile(`^[1-9]\d{0,2}(?:\.\d{3})+(?:,\d+)?$`),
	}
	decimal = map[byte]*regexp.Regexp{
		',': regexp.MustCompile(`^\d+,\d+$`),
		'.': regexp.MustCompile(`^\d+\.\d+$`),
	}
	pair = map[byte]*regexp.Regexp{ // two numbers with a comma between
		'.': regexp.MustCompile(`^\d+\.\d+,\d+(?:\.\d+)?$`),
	}
)

// styleOf tells what one group of digits and marks says: it can be read with
// points before decimals, with commas, or both.
func styleOf(group string) (point, comma bool) {
	point = thousands[','].MatchString(group) || decimal['.'].MatchString(group) || pair['.'].MatchString(group)
	comma = thousands['.'].MatchString(group) || decimal[','].MatchString(group)
	return point, comma
}

// detect finds the style that reads every number of the table.
func detect(cells []Cell) (Style, error) {
	var point, comma, open *Cell
	for i := range cells {
		c := &cells[i]
		if c.Stored || !numeric.MatchString(c.Text) {
			continue
		}
		for _, group := range betweenDigits.FindAllString(c.Text, -1) {
			switch p, k := styleOf(group); {
			case p && !k && point == nil:
				point = c
			case k && !p && comma == nil:
				comma = c
			case p && k && open == nil:
				open = c
			}
		}
	}
	switch {
	case point != nil && comma != nil:
		return Detect, fmt.Errorf("%s: found %q, with a comma before decimals, where %s has %q, with a point; expected one way in the whole table", comma.Where, comma.Text, point.Where, point.Text)
	case comma != nil:
		return Comma, nil
	case point == nil && open != nil:
		return Detect, fmt.Errorf("%s: found %q, which may have thousands or decimals, and no cell that tells which; expected --decimal %s or %s", open.Where, open.Text, Point, Comma)
	}
	return Point, nil
}

// numeric is a text that begins like a number, not a label with a number in it.
var numeric = regexp.MustCompile(`^\s*(?:[Pp]\s*)?[<>≤≥=]?\s*[-+−–]?\s*[.,]?\d`)

package draft

import (
	"fmt"
	"regexp"
	"strings"
	"sync"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

// A datePair is a format, with its other reading where day and month could be
// taken for each other.
type datePair struct{ format, other reading }

var dateFormats = sync.OnceValue(func() (list []datePair) {
	date := func(format string) reading { return newReading(reading{typ: codebook.TypeDate, format: format}) }
	for _, f := range []string{
		"", "%Y-%m-%d", "%Y/%m/%d", "%Y.%m.%d", "%d %b %Y", "%d %B %Y", "%d-%b-%Y", "%d/%b/%Y", "%d.%b.%Y", "%d. %B %Y", "%d. %b %Y", "%d%b%Y",
		"%b %d, %Y", "%B %d, %Y", "%b %d %Y", "%B %d %Y",
	} {
		list = append(list, datePair{format: date(f)})
	}
	for _, sep := range []string{".", "/", "-", " ", ". "} {
		list = append(list, datePair{date("%d" + sep + "%m" + sep + "%Y"), date("%m" + sep + "%d" + sep + "%Y")})
	}
	return list
})

var (
	// dayLike holds every text that some format reads, and few others.
	dayLike = regexp.MustCompile(`^(?:[0-9]{4}[-/.][0-9]{1,2}[-/.][0-9]{1,2}|[0-9]{1,2}[ ./-]{1,2}(?:[0-9]{1,2}|[A-Za-z]{3,9})[ ./-]{1,2}[0-9]{4}|[0-9]{1,2}[A-Za-z]{3}[0-9]{4}|[A-Za-z]{3,9} [0-9]{1,2},? [0-9]{4})$`)

	compactDays = sync.OnceValue(func() reading { return newReading(reading{typ: codebook.TypeDate, format: "%Y%m%d"}) })
	shortYear   = regexp.MustCompile(`^[0-9]{1,2}[./ -]([0-9]{1,2}|[A-Za-z]{3,9})[./ -][0-9]{2}$`)
	withClock   = regexp.MustCompile(`^[0-9]{1,4}[./-][0-9]{1,2}[./-][0-9]{1,4}[T ,]+[0-9]{1,2}:[0-9]{2}`)
)

// A dateGuess is what a column's cells say as days.
type dateGuess struct {
	reading
	hits  int
	why   string // how the order of day and month was decided
	doubt string // two readings that the cells cannot decide between
}

// dates finds the format that reads most cells.
func dates(cells []seenCell) dateGuess {
	var best dateGuess
	var texts []seenCell
	stored := 0
	for _, c := range cells {
		switch {
		case c.Stored != dataset.StoredText:
			if _, ok := dateFormats()[0].format.of(c.GridCell); ok {
				stored += c.count
			}
		case dayLike.MatchString(strings.TrimSpace(c.Text)):
			texts = append(texts, c)
		}
	}
	best = dateGuess{reading: dateFormats()[0].format, hits: stored}
	for _, p := range dateFormats() {
		hits := p.format.hits(texts)
		if p.other.field == nil {
			if stored+hits > best.hits {
				best = dateGuess{reading: p.format, hits: stored + hits}
			}
			continue
		}
		only, otherOnly, either, any := 0, 0, 0, 0
		for _, c := range texts {
			x, a := p.format.of(c.GridCell)
			y, b := p.other.of(c.GridCell)
			if a || b {
				any += c.count
			}
			switch {
			case a && b && x != y:
				either += c.count
			case a && !b:
				only += c.count
			case b && !a:
				otherOnly += c.count
			}
		}
		if only > 0 && otherOnly > 0 {
			hits = any
		} else if otherOnly > 0 {
			hits += otherOnly
		}
		if stored+hits <= best.hits {
			continue
		}
		best = dateGuess{reading: p.format, hits: stored + hits}
		orders := fmt.Sprintf("day before month (%s) or month before day (%s)", p.format.format, p.other.format)
		switch {
		case only > 0 && otherOnly > 0:
			best.doubt = fmt.Sprintf("dates in both orders, %s: %s can only be read the first way, %s only the second", orders, plural(only, "cell"), plural(otherOnly, "cell"))
		case only > 0:
			best.why = fmt.Sprintf("day before month, as %s above 12 as the first number; %s could be read both ways", have(only), plural(either, "cell"))
		case otherOnly > 0:
			best.reading = p.other
			best.why = fmt.Sprintf("month before day, as %s above 12 as the second number; %s could be read both ways", have(otherOnly), plural(either, "cell"))
		default:
			best.doubt = fmt.Sprintf("dates whose order no cell decides: %s; say which", orders)
		}
	}
	return best
}

func have(n int) string {
	if n == 1 {
		return "1 cell has a number"
	}
	return plural(n, "cell") + " have a number"
}

// dateDoubts notes what looks like a day and is not drafted as one.
func dateDoubts(cells []seenCell) (notes []string) {
	short, clock, compact, digits := 0, 0, 0, 0
	for _, c := range cells {
		text := strings.TrimSpace(c.Text)
		switch {
		case c.Stored == dataset.StoredNumber && c.Shown == dataset.ShownDate && c.Day == "":
			clock += c.count
		case c.Stored == dataset.StoredText && shortYear.MatchString(text):
			short += c.count
		case c.Stored == dataset.StoredText && withClock.MatchString(text), c.Stored == dataset.StoredDate && c.Day == "":
			clock += c.count
		}
		if len(text) == 8 && (text[0] == '1' && text[1] == '9' || text[0] == '2' && text[1] == '0') {
			plain := c.GridCell
			plain.Stored, plain.Shown = dataset.StoredText, dataset.ShownPlain
			if _, ok := compactDays().of(plain); ok {
				compact += c.count
			}
		}
		digits += c.count
	}
	if short > 0 {
		notes = append(notes, plural(short, "cell")+" look like dates whose year has two digits; no format says their century, so write the year in full")
	}
	if clock > 0 {
		notes = append(notes, plural(clock, "cell")+" look like days with a time of day")
	}
	if mostly(compact, digits) {
		notes = append(notes, eightDigits)
	}
	return notes
}

const eightDigits = "eight digits that are also days as year, month, day; a date with the format %Y%m%d or an integer: say which"

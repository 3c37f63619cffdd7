package report

import (
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
)

// estimate is a cell with the estimate of a row and its limits, such as
// "1.50 (1.10 to 2.05)". A row that is not there is a dash; an estimate that is
// not there says so, as a missing limit does. The row's reason and warnings
// become footnotes.
func (b *sheetBuilder) estimate(r *result.Row, format func(float64) string, level result.Number) Cell {
	if r == nil {
		return words(dash)
	}
	c := Cell{Value: result.None()}
	switch {
	case !r.Estimate.Present():
		c.Pieces = []Piece{{Text: absentWord(r), Row: r.ID}}
	case !r.Level.Present() && !r.Lower.Present() && !r.Upper.Present():
		c.Pieces = []Piece{{Text: format(float64(r.Estimate)), Row: r.ID}}
	case !r.Lower.Present() && !r.Upper.Present():
		word := "no limits"
		if absentWord(r) == suppressed {
			word = suppressed
		}
		c.Pieces = []Piece{{Text: format(float64(r.Estimate)) + " (" + word + ")", Row: r.ID}}
	default:
		limit := func(n result.Number) string {
			if n.Present() {
				return format(float64(n))
			}
			return absentWord(r)
		}
		text := format(float64(r.Estimate)) + " (" + limit(r.Lower) + " to " + limit(r.Upper) + ")"
		c.Pieces = []Piece{{Text: text, Row: r.ID}}
	}
	if r.Reason != "" {
		c.Marks = append(c.Marks, b.mark(sentence(r.Reason)))
	}
	if r.Level.Present() && level.Present() && r.Level != level {
		c.Marks = append(c.Marks, b.mark("Limits at "+printed.Level(float64(r.Level))+"."))
	}
	for _, w := range r.Warnings {
		c.Marks = append(c.Marks, b.mark(sentence(w)))
	}
	c.Marks = unique(c.Marks) // a warning may be the reason
	return c
}

// absentWord is what stands in the place of a number, by the row's reason.
func absentWord(r *result.Row) string {
	reason := strings.ToLower(r.Reason)
	switch {
	case strings.Contains(reason, "suppress"):
		return suppressed
	case strings.Contains(reason, "not reached"):
		return notReached
	}
	return notEstimable
}

// p is a cell with the row's P value.
func (b *sheetBuilder) p(r *result.Row) Cell {
	if r == nil || !r.P.Present() {
		return words(dash)
	}
	return Cell{Pieces: []Piece{{Text: printed.P(float64(r.P)), Row: r.ID}}, Value: result.None()}
}

// share is a cell with a count and its share, "12 (3.4%)", of one or two rows.
func (b *sheetBuilder) share(countRow *result.Row, n result.Number, shareRow *result.Row, share result.Number) Cell {
	if countRow == nil {
		return words(dash)
	}
	c := Cell{Value: result.None()}
	if n.Present() {
		c.Pieces = []Piece{{Text: count(float64(n)), Row: countRow.ID}}
	} else {
		c.Pieces = []Piece{{Text: absentWord(countRow), Row: countRow.ID}}
	}
	marked := []*result.Row{countRow}
	if shareRow != nil {
		if share.Present() {
			text := percent(float64(share), float64(shareRow.N))
			c.Pieces = append(c.Pieces, Piece{Text: " ("}, Piece{Text: text, Row: shareRow.ID}, Piece{Text: ")"})
		}
		if shareRow != countRow {
			marked = append(marked, shareRow)
		}
	}
	for _, r := range marked {
		if r.Reason != "" {
			c.Marks = append(c.Marks, b.mark(sentence(r.Reason)))
		}
		for _, w := range r.Warnings {
			c.Marks = append(c.Marks, b.mark(sentence(w)))
		}
	}
	c.Marks = unique(c.Marks)
	return c
}

// levelOfRows is the confidence level of the first row that has one.
func levelOfRows(rows ...*result.Row) result.Number {
	for _, r := range rows {
		if r != nil && r.Level.Present() {
			return r.Level
		}
	}
	return result.None()
}

// withLimits is a column heading, with "(95% CI)" when there are limits.
func withLimits(heading string, level result.Number) string {
	if !level.Present() {
		return heading
	}
	return heading + " (" + printed.Level(float64(level)) + ")"
}

// asPercent formats a share of the given whole as a percentage without its
// sign.
func asPercent(whole float64) func(float64) string {
	return func(x float64) string { return strings.TrimSuffix(percent(100*x, whole), "%") }
}

// asPoints formats a difference of shares in percentage points.
func asPoints(x float64) string { return printed.Fixed(100*x, 1) }

// sentence is text with a capital and a full stop.
func sentence(text string) string {
	text = strings.TrimSpace(text)
	if text == "" {
		return text
	}
	first := []rune(text)[:1]
	text = strings.ToUpper(string(first)) + text[len(string(first)):]
	if !strings.HasSuffix(text, ".") && !strings.HasSuffix(text, "!") && !strings.HasSuffix(text, "?") {
		text += "."
	}
	return text
}

// unique drops repeated texts.
func unique(texts []string) []string {
	var out []string
	seen := map[string]bool{}
	for _, t := range texts {
		if !seen[t] {
			seen[t] = true
			out = append(out, t)
		}
	}
	return out
}

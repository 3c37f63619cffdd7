package dataset

import (
	"github.com/xuri/excelize/v2"

	"heelcohort/dataset/harmless"
)

// quoteStyles make, for each style of a cell, the same style with the mark that
// its text was entered as a text: a program that edits such a cell does not
// take "=1+1" for a formula then.
type quoteStyles struct {
	book *excelize.File
	made map[int]int
}

func newQuoteStyles(book *excelize.File) *quoteStyles {
	return &quoteStyles{book: book, made: make(map[int]int)}
}

// of gives the style for a text: its own where the text could not be taken for
// a formula.
func (q *quoteStyles) of(style int, text string) int {
	if !harmless.Formula(text) {
		return style
	}
	if id, ok := q.made[style]; ok {
		return id
	}
	list := q.book.Styles.CellXfs
	if style < 0 || style >= len(list.Xf) {
		style = 0
	}
	yes := true
	quoted := list.Xf[style]
	quoted.QuotePrefix = &yes
	list.Xf = append(list.Xf, quoted)
	list.Count = len(list.Xf)
	q.made[style] = list.Count - 1
	return list.Count - 1
}

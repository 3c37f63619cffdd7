package dataset

import (
	"regexp"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"heelcohort/dataset/harmless"
	"heelcohort/dataset/ooxml"
)

// addComment puts a comment on a cell, in a box that grows with its lines.
func addComment(book *excelize.File, sheet, ref, text string) error {
	const most = 32000 // of the 32,512 characters that a comment holds
	text = cutUTF16(cleanText(harmless.Sheet(text)), most)
	lines := 1
	for line := range strings.SplitSeq(text, "\n") {
		lines += 1 + len(line)/45
	}
	return book.AddComment(sheet, excelize.Comment{
		Cell: ref, Author: commentAuthor, Paragraph: []excelize.RichTextRun{{Text: text}},
		Width: 300, Height: uint(min(16*lines+10, 400)),
	})
}

// commentable says for each sheet whether comments can be added. Excelize
// takes for granted that a sheet's comments and their drawing carry the same
// number, and that the drawing's shapes are numbered in one way; where another
// program did otherwise, adding would lose the comments that are there.
func commentable(p *ooxml.Book) (map[string]bool, error) {
	comments := 0
	for _, name := range p.Parts() {
		if strings.Contains(name, "xl/comments") {
			comments++
		}
	}
	can := make(map[string]bool, len(p.Sheets))
	for _, s := range p.Sheets {
		rels, err := p.Relationships(s.Part)
		if err != nil {
			return nil, err
		}
		var drawing, comment string
		for _, r := range rels {
			switch {
			case r.Is("vmlDrawing"):
				drawing = r.Target
			case r.Is("comments"):
				comment = r.Target
			}
		}
		if drawing == "" && comment == "" {
			can[s.Name] = free(p, comments+1, comments+len(p.Sheets))
			continue
		}
		n, err := strconv.Atoi(strings.TrimSuffix(strings.TrimPrefix(drawing, "xl/drawings/vmlDrawing"), ".vml"))
		can[s.Name] = err == nil && comment == numbered("xl/comments", n, ".xml") && plainShapes(p, drawing)
	}
	return can, nil
}

// free reports whether no part has one of the numbers that new comments and
// their drawings would get.
func free(p *ooxml.Book, from, to int) bool {
	for n := from; n <= to; n++ {
		if p.Has(numbered("xl/drawings/vmlDrawing", n, ".vml")) || p.Has(numbered("xl/comments", n, ".xml")) {
			return false
		}
	}
	return true
}

// shapeID finds the names of a drawing's shapes. The drawing need not be
// well-formed XML, so that it is not read as such.
var shapeID = regexp.MustCompile(`<v:shape\s[^>]*?\bid="([^"]*)"`)

// plainShapes reports whether all shapes of a drawing are numbered the way
// excelize continues.
func plainShapes(p *ooxml.Book, drawing string) bool {
	data, err := p.ReadPart(drawing)
	if err != nil {
		return false
	}
	for _, m := range shapeID.FindAllSubmatch(data, -1) {
		number, ok := strings.CutPrefix(string(m[1]), "_x0000_s")
		if _, err := strconv.Atoi(number); !ok || err != nil {
			return false
		}
	}
	return true
}

func numbered(before string, n int, after string) string { return before + strconv.Itoa(n) + after }

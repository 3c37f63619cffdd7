package dataset

import (
	"context"
	"encoding/xml"
	"errors"
	"io"
	"slices"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/identifier"
	"heelcohort/dataset/ooxml"
)

// An otherSheet is a sheet of a workbook that no table lies in.
type otherSheet struct {
	where  Origin
	screen sheetScreen
	rows   int    // that hold something
	damage string // why it could not be read, or ""
}

// screenBook screens what a workbook holds beside the tables: other sheets,
// comments, pictures, and the names of those who wrote it. The marked copy of
// the workbook would carry all of it on.
func (d *Dataset) screenBook(ctx context.Context, w *workbookReader, resources []*codebook.Resource) error {
	for i, sheet := range w.book.Sheets {
		if slices.ContainsFunc(resources, func(r *codebook.Resource) bool { return r.Sheet == sheet.Name || r.Sheet == "" }) {
			continue
		}
		other := &otherSheet{where: Origin{File: w.file, Sheet: sheet.Name}}
		d.others = append(d.others, other)
		source, err := w.rows(i)
		if err == nil {
			err = other.read(ctx, source, w.book.Date1904)
			if e := source.close(); err == nil {
				err = e
			}
		}
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil {
			other.damage = err.Error()
		}
	}
	d.books = append(d.books, bookFindings(w.file, w.book)...)
	return nil
}

// read screens a sheet's cells. The first row that holds something is taken for
// its header.
func (o *otherSheet) read(ctx context.Context, source rowSource, date1904 bool) error {
	for n := 0; ; n++ {
		if n%checkEvery == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		row, err := source.next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if !slices.ContainsFunc(row.cells, func(c rawCell) bool { return !c.empty() }) {
			continue
		}
		o.rows++
		if o.screen.head == 0 {
			titles := make([]string, len(row.cells))
			for i, c := range row.cells {
				titles[i] = strings.TrimSpace(c.text)
			}
			o.screen.heading(&heading{row: row.number, known: make([]bool, len(titles))}, titles, date1904)
		}
		// The header may be data: it is screened with them.
		o.screen.row(row)
	}
}

// programs are the names that programs write where an author's stands.
var programs = []string{
	"openpyxl", "xlsxwriter", "excelize", "apache poi", "heelcohort", "microsoft office user", "microsoft excel", "calc",
	"libreoffice", "unknown", "user", "admin", "administrator", "author", "-",
}

// bookFindings are the findings about a workbook as such.
func bookFindings(file string, book *ooxml.Book) []Finding {
	var found []Finding
	warn := func(rule, expected, message string) {
		found = append(found, Finding{
			Rule: rule, Severity: Warning, Where: Origin{File: file}, Expected: expected, Message: message,
		})
	}
	if book.Has("docProps/core.xml") {
		var core struct {
			Creator string `xml:"creator"`
			Last    string `xml:"lastModifiedBy"`
		}
		if err := decodePart(book, "docProps/core.xml", &core); err == nil && (namesSomebody(core.Creator) || namesSomebody(core.Last)) {
			warn(RuleAuthor, "a workbook without the names of people", "the properties of the workbook name who wrote or saved it; remove them before the file is passed on")
		}
	}
	comments := identifier.NewColumn(identifier.About{})
	picture, author := false, false
	for _, name := range book.Parts() {
		switch {
		case strings.HasPrefix(name, "xl/media/"):
			picture = true
		case strings.HasPrefix(name, "xl/comments") || strings.HasPrefix(name, "xl/threadedComments/"):
			author = commentsOf(book, name, comments) || author
		}
	}
	if picture {
		warn(RulePicture, "a workbook without pictures", "the workbook holds pictures, which are not screened; look at them, for a photograph can name a child")
	}
	if author {
		warn(RuleAuthor, "comments without the names of people", "comments in the workbook name who wrote them; remove the names before the file is passed on")
	}
	for _, v := range comments.Verdicts() {
		if v.Screen.Direct {
			found = append(found, Finding{
				Rule: v.Screen.Name, Where: Origin{File: file}, Screen: v.Screen.Name,
				Message: "a comment on a cell holds " + v.Screen.One + "; comments go on with the workbook and its marked copy",
			})
		}
	}
	return found
}

// decodePart reads a small part of a workbook.
func decodePart(book *ooxml.Book, part string, into any) error {
	text, err := book.ReadPart(part)
	if err != nil {
		return err
	}
	return xml.Unmarshal(text, into)
}

// namesSomebody reports whether a text of the properties is a name and not a program's.
func namesSomebody(text string) bool {
	text = strings.ToLower(strings.TrimSpace(text))
	return text != "" && !slices.ContainsFunc(programs, func(p string) bool { return text == p || len(p) > 5 && strings.HasPrefix(text, p) })
}

// commentsOf gives the texts of a part of comments to the screen, and reports
// whether it names an author.
func commentsOf(book *ooxml.Book, part string, into *identifier.Column) (author bool) {
	var doc struct {
		Authors []string `xml:"authors>author"`
		List    []struct {
			Plain []string `xml:"text>t"`
			Rich  []string `xml:"text>r>t"`
		} `xml:"commentList>comment"`
		Threaded []struct {
			Text string `xml:"text"`
		} `xml:"threadedComment"`
	}
	if err := decodePart(book, part, &doc); err != nil {
		return false
	}
	for i, c := range doc.List {
		into.Text(i+1, strings.Join(c.Plain, "")+strings.Join(c.Rich, ""))
	}
	for i, c := range doc.Threaded {
		into.Text(i+1, c.Text)
	}
	return slices.ContainsFunc(doc.Authors, func(a string) bool { return namesSomebody(a) && !strings.HasPrefix(a, "tc=") })
}

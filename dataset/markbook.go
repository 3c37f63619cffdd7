package dataset

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Fills of marked cells.
const (
	errorFill   = "FFC7CE"
	warningFill = "FFEB9C"
)

// commentAuthor stands as author of the comments.
const commentAuthor = "heelcohort"

// markWorkbook marks the findings in a copy of a workbook.
func markWorkbook(ctx context.Context, file string, data []byte, findings []Finding) (out []byte, err error) {
	where := Origin{File: file}
	pack, err := openPackage(data)
	if err != nil {
		return nil, &ReadError{Where: where, Message: err.Error(), Err: err}
	}
	tmp, err := os.MkdirTemp("", "heelcohort-")
	if err != nil {
		return nil, fmt.Errorf("dataset: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(tmp)) }()
	book, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{
		RawCellValue: true, UnzipSizeLimit: maxUnzippedBytes, UnzipXMLSizeLimit: memoryPartBytes, TmpDir: tmp,
	})
	if err != nil {
		return nil, &ReadError{Where: where, Message: "the workbook cannot be read: " + err.Error(), Err: err}
	}
	defer func() { err = errors.Join(err, book.Close()) }()
	book.ZipWriter = newSortedArchive

	notes, err := commentable(pack)
	if err != nil {
		return nil, &ReadError{Where: where, Message: err.Error(), Err: err}
	}
	fills := newFillStyles(book)
	var remarks []string
	for _, sheet := range pack.sheets {
		var here []Finding
		for _, f := range findings {
			if f.Where.Sheet == sheet.name {
				here = append(here, f)
			}
		}
		if len(here) == 0 {
			continue
		}
		m := sheetMarker{book: book, sheet: sheet.name, fills: fills, comments: notes[sheet.name]}
		remark, err := m.mark(ctx, marksOf(here, sheetCell))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", Origin{File: file, Sheet: sheet.name}, err)
		}
		remarks = append(remarks, remark...)
	}
	if err := listFindings(book, findings, remarks, nil); err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	var b bytes.Buffer
	if err := book.Write(&b); err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return b.Bytes(), nil
}

// A sheetMarker fills cells of one sheet and comments them.
type sheetMarker struct {
	book     *excelize.File
	sheet    string
	fills    *fillStyles
	comments bool // comments can be added without harm
}

// mark marks the cells; the remarks say what could not be done.
func (m *sheetMarker) mark(ctx context.Context, marks []mark) ([]string, error) {
	var remarks []string
	if len(marks) > maxMarked {
		remarks = append(remarks, fmt.Sprintf("Sheet %q: only the first %d of %d cells are marked.", m.sheet, maxMarked, len(marks)))
		marks = marks[:maxMarked]
	}
	if !m.comments {
		remarks = append(remarks, fmt.Sprintf("Sheet %q: its own comments or controls are stored in a way that cannot be added to; cells are filled, without comments.", m.sheet))
	}
	old, err := m.oldComments()
	if err != nil {
		return nil, err
	}
	for i, k := range marks {
		if i%checkEvery == 0 {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
		}
		ref := columnLetters(k.column) + strconv.Itoa(k.row)
		if err := m.fills.fill(m.sheet, ref, k.severity); err != nil {
			return nil, err
		}
		if !m.comments {
			continue
		}
		text := k.text
		if before, ok := old[ref]; ok {
			if err := m.book.DeleteComment(m.sheet, ref); err != nil {
				return nil, err
			}
			text = before + "\n\n" + text
		}
		if err := addComment(m.book, m.sheet, ref, text); err != nil {
			return nil, err
		}
	}
	return remarks, nil
}

// oldComments gives the texts of the comments that the sheet has, by cell.
func (m *sheetMarker) oldComments() (map[string]string, error) {
	if !m.comments {
		return nil, nil
	}
	comments, err := m.book.GetComments(m.sheet)
	if err != nil {
		return nil, err
	}
	old := make(map[string]string, len(comments))
	for _, c := range comments {
		text := c.Text
		for _, run := range c.Paragraph {
			text += run.Text
		}
		old[c.Cell] = text
	}
	return old, nil
}

// addComment puts a comment on a cell, in a box that grows with its lines.
func addComment(book *excelize.File, sheet, ref, text string) error {
	const most = 32000 // of the 32,512 characters that a comment holds
	text = cutUTF16(cellTextOf(text), most)
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
// number; where another program numbered them differently, adding would lose
// the comments that are there.
func commentable(p *workbookPackage) (map[string]bool, error) {
	parts, comments := make(map[string]bool), 0
	for name := range p.names {
		parts[name] = true
		if strings.Contains(name, "xl/comments") {
			comments++
		}
	}
	can := make(map[string]bool, len(p.sheets))
	for _, s := range p.sheets {
		rels, err := p.relationships(s.part)
		if err != nil {
			return nil, err
		}
		var drawing, comment string
		for _, r := range rels {
			switch {
			case strings.HasSuffix(r.Type, "/vmlDrawing"):
				drawing = r.Target
			case strings.HasSuffix(r.Type, "/comments"):
				comment = r.Target
			}
		}
		if drawing == "" && comment == "" {
			// The sheet gets the next number; no part may have it yet.
			can[s.name] = true
			for n := comments + 1; n <= comments+len(p.sheets)+1; n++ {
				if parts[numbered("xl/drawings/vmlDrawing", n, ".vml")] || parts[numbered("xl/comments", n, ".xml")] {
					can[s.name] = false
				}
			}
			continue
		}
		n, err := strconv.Atoi(strings.TrimSuffix(strings.TrimPrefix(drawing, "xl/drawings/vmlDrawing"), ".vml"))
		can[s.name] = err == nil && comment == numbered("xl/comments", n, ".xml")
	}
	return can, nil
}

func numbered(before string, n int, after string) string { return before + strconv.Itoa(n) + after }

// A fillStyles makes, for each style of a cell, the same style with a fill.
type fillStyles struct {
	book *excelize.File
	made map[fillKey]int
}

type fillKey struct {
	style    int
	severity Severity
}

func newFillStyles(book *excelize.File) *fillStyles {
	return &fillStyles{book: book, made: make(map[fillKey]int)}
}

// fill colours a cell and leaves everything else of its style alone.
func (s *fillStyles) fill(sheet, ref string, severity Severity) error {
	old, err := s.book.GetCellStyle(sheet, ref)
	if err != nil {
		return err
	}
	id, err := s.of(old, severity)
	if err != nil {
		return err
	}
	return s.book.SetCellStyle(sheet, ref, ref, id)
}

// of gives the filled counterpart of a style.
func (s *fillStyles) of(old int, severity Severity) (int, error) {
	key := fillKey{old, severity}
	if id, ok := s.made[key]; ok {
		return id, nil
	}
	style, err := s.book.GetStyle(old)
	if err != nil {
		return 0, err
	}
	colour := errorFill
	if severity == Warning {
		colour = warningFill
	}
	style.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}
	id, err := s.book.NewStyle(style)
	if err != nil {
		return 0, err
	}
	s.made[key] = id
	return id, nil
}

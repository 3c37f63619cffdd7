package dataset

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"

	"github.com/xuri/excelize/v2"

	"heelcohort/dataset/ooxml"
)

// commentAuthor stands as author of the comments.
const commentAuthor = "heelcohort"

// markWorkbook marks the findings in a copy of a workbook.
func markWorkbook(ctx context.Context, file string, data []byte, findings []Finding) (out []byte, err error) {
	where := Origin{File: file}
	pack, err := ooxml.Open(data)
	if err != nil {
		return nil, sheetError(file, err)
	}
	tmp, err := os.MkdirTemp("", "heelcohort-")
	if err != nil {
		return nil, fmt.Errorf("dataset: %w", err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(tmp)) }()
	if data, err = withStyles(pack, data); err != nil {
		return nil, &ReadError{Where: where, Message: err.Error(), Err: err}
	}
	if data, err = commonVariant(data); err != nil {
		return nil, &ReadError{Where: where, Message: err.Error(), Err: err}
	}
	defer catch(where, &err)
	book, err := openBook(where, data, tmp)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, book.Close()) }()
	book.ZipWriter = newSortedArchive

	notes, err := commentable(pack)
	if err != nil {
		return nil, &ReadError{Where: where, Message: err.Error(), Err: err}
	}
	fills := newFillStyles(book)
	var remarks []string
	for _, sheet := range pack.Sheets {
		var here []Finding
		for _, f := range findings {
			if f.Where.Sheet == sheet.Name {
				here = append(here, f)
			}
		}
		if len(here) == 0 {
			continue
		}
		m := sheetMarker{book: book, sheet: sheet.Name, fills: fills, comments: notes[sheet.Name]}
		remark, err := m.mark(ctx, marksOf(here, sheetCell))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", Origin{File: file, Sheet: sheet.Name}, err)
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

// openBook hands a workbook to excelize. Large parts wait in the folder tmp.
func openBook(where Origin, data []byte, tmp string) (book *excelize.File, err error) {
	defer catch(where, &err)
	book, err = excelize.OpenReader(bytes.NewReader(data), excelize.Options{
		RawCellValue:      true,
		UnzipSizeLimit:    maxUnzippedBytes,
		UnzipXMLSizeLimit: memoryPartBytes,
		TmpDir:            tmp,
	})
	if err != nil {
		return book, &ReadError{Where: where, Message: "the workbook cannot be read: " + err.Error(), Err: err}
	}
	return book, nil
}

// catch turns a panic into an error. The library that writes workbooks meets
// any damage that a part can have which was not read here.
func catch(where Origin, err *error) {
	if p := recover(); p != nil {
		*err = refuse(where, "the workbook is damaged: %v", p)
	}
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

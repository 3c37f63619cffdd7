package ooxml_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"github.com/xuri/excelize/v2"

	"heelcohort/dataset/ooxml"
)

// A workbook of one sheet, row by row.
func ExampleOpen() {
	f := excelize.NewFile()
	for ref, v := range map[string]any{"A1": "id", "B1": "age", "A2": "SM-0001", "B2": 9.1, "B4": true} {
		if err := f.SetCellValue("Sheet1", ref, v); err != nil {
			fmt.Println(err)
		}
	}
	var data bytes.Buffer
	if err := f.Write(&data); err != nil {
		fmt.Println(err)
	}

	book, err := ooxml.Open(data.Bytes())
	if err != nil {
		fmt.Println(err)
		return
	}
	rows, err := book.Rows(0)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer rows.Close()
	for {
		row, err := rows.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			fmt.Println(err)
			return
		}
		for _, c := range row.Cells {
			fmt.Printf("%s%d %s\n", ooxml.ColumnLetters(c.Column), row.Number, c.Text)
		}
	}
	// Output:
	// A1 id
	// B1 age
	// A2 SM-0001
	// B2 9.1
	// B4 TRUE
}

// Small letters stand in no sheet.
func ExampleParseCell() {
	fmt.Println(ooxml.ParseCell("B7"))
	fmt.Println(ooxml.ParseCell("b7"))
	// Output:
	// 7 2 true
	// 0 0 false
}

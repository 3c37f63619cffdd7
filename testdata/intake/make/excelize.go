//go:build ignore

// Workbooks written by excelize: as a whole, streamed, and behind a password.
// Run in this folder with "go run excelize.go". The protected one differs each
// time, for its key is random.
package main

import (
	"encoding/csv"
	"os"
	"strconv"
	"time"

	"github.com/xuri/excelize/v2"
)

func main() {
	write("../same/plain.csv", "../same/excelize.xlsx", "", false)
	write("../same/plain.csv", "../same/excelize-stream.xlsx", "", true)
	write("../files/plain.csv", "../files/excelize.xlsx", "", false)
	write("../files/plain.csv", "../files/password.xlsx", "saltmarsh", false)
}

func write(from, to, password string, stream bool) {
	in, err := os.Open(from)
	check(err)
	defer in.Close()
	rows, err := csv.NewReader(in).ReadAll()
	check(err)
	f := excelize.NewFile()
	defer f.Close()
	check(f.SetSheetName("Sheet1", "visits"))
	format := "yyyy\\-mm\\-dd"
	day, err := f.NewStyle(&excelize.Style{CustomNumFmt: &format})
	check(err)
	var s *excelize.StreamWriter
	if stream {
		s, err = f.NewStreamWriter("visits")
		check(err)
	}
	for i, row := range rows {
		ref := "A" + strconv.Itoa(i+1)
		cells := make([]any, len(row))
		for j, text := range row {
			cells[j] = cell(rows[0][j], text, i == 0)
		}
		if stream {
			for j := range cells {
				if t, ok := cells[j].(time.Time); ok {
					cells[j] = excelize.Cell{StyleID: day, Value: t}
				}
			}
			check(s.SetRow(ref, cells))
			continue
		}
		check(f.SetSheetRow("visits", ref, &cells))
		if _, ok := cells[1].(time.Time); ok {
			check(f.SetCellStyle("visits", "B"+strconv.Itoa(i+1), "B"+strconv.Itoa(i+1), day))
		}
	}
	if stream {
		check(s.Flush())
	}
	check(f.SetDocProps(&excelize.DocProperties{Creator: "Saltmarsh", Created: "2022-01-01T00:00:00Z", Modified: "2022-01-01T00:00:00Z"}))
	check(f.SaveAs(to, excelize.Options{Password: password}))
}

// cell is the typed value of a text.
func cell(column, text string, header bool) any {
	if text == "" {
		return nil
	}
	if header || column == "club" || column == "id" {
		return text
	}
	if t, err := time.Parse("2006-01-02", text); err == nil {
		return t
	}
	if x, err := strconv.ParseFloat(text, 64); err == nil {
		return x
	}
	if text == "true" || text == "false" {
		return text == "true"
	}
	return text
}

func check(err error) {
	if err != nil {
		panic(err)
	}
}

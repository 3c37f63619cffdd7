package dataset

// openText makes the grid's source of a text file.
func (g *GridFile) openText(data []byte) error {
	g.Sheets, g.Encoding, g.Delimiter = []string{""}, "utf-8", string(delimiter(g.File.Path))
	g.open = func(int) (rowSource, error) { return newCSV(g.File.Path, data) }
	g.close = func() error { return nil }
	return nil
}

// openWorkbook makes the grid's sources of a workbook's sheets.
func (g *GridFile) openWorkbook(data []byte) error {
	w, err := openWorkbook(g.File.Path, data)
	if err != nil {
		return err
	}
	for _, s := range w.book.Sheets {
		g.Sheets = append(g.Sheets, s.Name)
	}
	g.date1904, g.close = w.book.Date1904, func() error { return nil }
	g.open = func(i int) (rowSource, error) { return w.rows(i) }
	return nil
}

package dataset

import "heelcohort/codebook"

// openText makes the grid's source of a text file.
func (g *GridFile) openText(data []byte) error {
	source, err := newText(g.File.Path, data, &codebook.Resource{})
	if err != nil {
		return err
	}
	how := source.reader.Found()
	g.Sheets, g.Encoding, g.Delimiter, g.File.Text = []string{""}, how.Encoding, string(rune(how.Delimiter)), &how
	g.open = func(int) (rowSource, error) { return newText(g.File.Path, data, &codebook.Resource{}) }
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

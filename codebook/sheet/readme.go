package sheet

// readMe is the sheet that explains all others.
func readMe() Sheet {
	s := Sheet{Name: ReadMe, Widths: []float64{22, 24, 96}}
	add := func(heading bool, texts ...string) {
		row := Row{Number: len(s.Rows) + 1}
		for _, text := range texts {
			row.Cells = append(row.Cells, Cell{Text: text, Heading: heading})
		}
		s.Rows = append(s.Rows, row)
	}
	add(true, "The codebook as a workbook")
	add(false, "Each sheet lists one sort of thing, one a row. Edit the cells, add rows, leave a cell empty where nothing is to be said. Keep the headings; columns and rows may be moved.")
	add(false, "To turn the workbook into a codebook: heelcohort codebook sheet codebook.xlsx codebook.yaml. What is wrong is reported with its sheet and cell.")
	add(false)
	add(true, "How cells are read")
	for _, line := range [][2]string{
		{"texts", "As they stand; blanks around them do not count. In quotation marks they are texts in any case: \"\" is the empty text, \"5\" the text 5."},
		{"numbers", "With a point before decimals: 0.5."},
		{"yes or no", "yes, no, or nothing."},
		{"lists", "With semicolons between items: S1; S2. Where one item or a list may stand, a semicolon behind a single item makes a list of it."},
		{"values", "Limits and categories are numbers for a variable of type integer or number, true or false for a boolean, and texts for a string or a date."},
		{furtherHeading, "What has no column of its own: one a line, property = value as in JSON, such as x-note = \"checked twice\"."},
		{"categories, codes", "A row with a value and no label is a value alone; {} under further properties keeps it as a map."},
	} {
		add(false, line[0], "", line[1])
	}
	add(false)
	add(true, "Sheet", "Column", "What stands there")
	add(false, studySheet, "", "One row for each property of the study as a whole: its name under property, what it says under value.")
	for _, c := range study {
		add(false, "", c.heading, c.about)
	}
	for _, l := range layouts {
		add(false)
		add(false, l.name, "", l.about)
		for _, p := range l.parents {
			add(false, "", p, "The "+p+" that the row belongs to.")
		}
		for _, c := range l.columns {
			add(false, "", c.heading, c.about)
		}
	}
	return s
}

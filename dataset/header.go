package dataset

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"heelcohort/codebook"
	"heelcohort/codebook/document"
	"heelcohort/dataset/ooxml"
)

// A heading says which column of the file holds which field.
type heading struct {
	row     int
	columns []int  // for each field of the schema, its column from 0
	titled  []bool // for each column of the file, whether it has a title
	known   []bool // for each column of the file, whether a field is there
}

// readHeading matches the titles of the columns with the schema. A title is a
// field's if it is its name or one of its titles, apart from blanks around it
// and how many stand within. Refused are a field without a column, and one
// with several unless it says which; a column without a field is left to
// undeclared.
func readHeading(where Origin, titles []string, schema *codebook.Schema) (*heading, error) {
	at := make(map[string][]int, len(titles))
	h := &heading{row: where.Row, titled: make([]bool, len(titles)), known: make([]bool, len(titles))}
	for i, title := range titles {
		if title != "" {
			h.titled[i] = true
			at[title] = append(at[title], i)
		}
	}
	var lacking []*codebook.Field
	for _, f := range schema.Fields {
		i, err := fieldPlace(where, f, titles, at)
		if err != nil {
			return nil, err
		}
		if i < 0 {
			lacking = append(lacking, f)
			continue
		}
		h.columns = append(h.columns, i)
		h.known[i] = true
	}
	if len(lacking) > 0 {
		return nil, noColumn(where, lacking, h, titles)
	}
	return h, nil
}

// fieldPlace finds the column of a field, from 0; -1 where there is none.
func fieldPlace(where Origin, f *codebook.Field, titles []string, at map[string][]int) (int, error) {
	headings := f.Headings()
	if f.Column != "" {
		_, column, _ := ooxml.ParseCell(f.Column + "1")
		found := "no name"
		if column <= len(titles) && titles[column-1] != "" {
			if slices.Contains(headings, titles[column-1]) {
				return column - 1, nil
			}
			found = fmt.Sprintf("the name %q", titles[column-1])
		}
		where.Column = column
		return 0, refuse(where, "column %s has %s, expected %s, which heelcohort.column of %q places there", f.Column, found, orList(headings), f.Name)
	}
	var places []int
	for _, title := range headings {
		for _, i := range at[title] {
			if !slices.Contains(places, i) {
				places = append(places, i)
			}
		}
	}
	switch {
	case len(places) == 0:
		return -1, nil
	case len(places) == 1:
		return places[0], nil
	}
	slices.Sort(places)
	first, second := places[0], places[1]
	const tell = "heelcohort.column of %q can say which of them it is"
	if titles[first] == titles[second] {
		return 0, refuse(where, "columns %d and %d are both named %q; "+tell, first+1, second+1, titles[first], f.Name)
	}
	return 0, refuse(where, "columns %d (%q) and %d (%q) are both named as %q may be; "+tell,
		first+1, titles[first], second+1, titles[second], f.Name, f.Name)
}

// noColumn refuses a header without the columns of some fields, each with the
// title nearest to it that is nobody's.
func noColumn(where Origin, lacking []*codebook.Field, h *heading, titles []string) error {
	var free []string
	for i, title := range titles {
		if title != "" && !h.known[i] {
			free = append(free, title)
		}
	}
	const declare = "; another spelling is declared in heelcohort.titles"
	nearest := make([]string, len(lacking))
	names := make([]string, len(lacking))
	say := ""
	for i, f := range lacking {
		names[i] = f.Name
		if nearest[i] = nearestTitle(f, free); nearest[i] != "" {
			say = declare
		}
	}
	if len(lacking) == 1 {
		e := refuse(where, "no column named %s%s", quoteList(names), say)
		e.Nearest = nearest[0]
		return e
	}
	for i := range names {
		names[i] = strconv.Quote(names[i])
		if nearest[i] != "" {
			names[i] += fmt.Sprintf(" (did you mean %q?)", nearest[i])
		}
	}
	return refuse(where, "no columns named %s%s", joinFew(names), say)
}

// nearestTitle is the title that a field most likely has, or "". Titles that
// differ in case, blanks and punctuation alone come first.
func nearestTitle(f *codebook.Field, titles []string) string {
	for _, word := range f.Headings() {
		for _, title := range titles {
			if letters(title) == letters(word) && letters(word) != "" {
				return title
			}
		}
	}
	for _, word := range f.Headings() {
		if nearest := document.Nearest(word, titles); nearest != "" {
			return nearest
		}
	}
	return ""
}

// letters are the letters and digits of a title in lower case.
func letters(title string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, title)
}

// quoteList names words for a message, the first few of many.
func quoteList(words []string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = strconv.Quote(w)
	}
	return joinFew(quoted)
}

// joinFew joins parts of a message by commas, the first few of many.
func joinFew(parts []string) string {
	const most = 12
	if len(parts) > most {
		return strings.Join(parts[:most], ", ") + fmt.Sprintf(" and %d more", len(parts)-most)
	}
	return strings.Join(parts, ", ")
}

// orList names the words of which one is expected.
func orList(words []string) string {
	if len(words) == 1 {
		return strconv.Quote(words[0])
	}
	return "one of " + quoteList(words)
}

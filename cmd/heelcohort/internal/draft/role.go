package draft

import (
	"slices"
	"strings"
	"unicode/utf8"

	"heelcohort/dataset"
)

// The roles that a title may suggest.
const (
	identifierRole = "identifier"
	quasiRole      = "quasi_identifier"
	freeTextRole   = "free_text"
)

// Words of titles, in small letters.
var (
	identifierWords = []string{
		"id", "ids", "identifier", "key", "mrn", "nhs", "ssn", "chart", "hospital", "patient", "participant", "subject", "child", "player", "person",
		"name", "surname", "forename", "firstname", "lastname", "parent", "guardian", "mother", "father", "coach", "contact",
		"phone", "telephone", "mobile", "tel", "fax", "email", "mail", "address", "street", "postcode", "zip", "initials",
	}
	// Places and groups that single out: their names are not repeated.
	placeWords = []string{"school", "club", "team", "town", "city", "village", "district", "county", "region", "clinic", "practice", "gp"}
	quasiWords = []string{"age", "sex", "gender", "site", "centre", "center", "sport", "sports", "season", "cohort", "ethnicity", "ethnic", "nationality", "grade", "class"}
	birthWords = []string{"birth", "born", "dob", "birthday", "birthdate", "dateofbirth"}
	noteWords  = []string{"comment", "comments", "remark", "remarks", "note", "notes", "freetext", "narrative", "describe", "specify", "details"}
)

// speaks reports whether a title has one of the words.
func speaks(title string, words []string) bool {
	return slices.ContainsFunc(spoken(title), func(w string) bool { return slices.Contains(words, w) })
}

// roleOf proposes what a column says of the person, by its title and, for
// texts, its length. Texts of four words and more are free text; texts with a
// shape like SM-0001 are identifiers.
func roleOf(title string, typ string, cells []seenCell, listed bool) (role, why string) {
	text := typ == "string" && !listed
	switch {
	case speaks(title, birthWords):
		return quasiRole, "the title speaks of birth"
	case speaks(title, identifierWords) && (text || typ == "integer" && speaks(title, []string{"id", "ids", "identifier", "key", "mrn", "nhs", "ssn", "phone", "telephone", "mobile", "tel", "fax", "zip", "postcode"})):
		return identifierRole, "a word of the title"
	case text && speaks(title, noteWords):
		return freeTextRole, "a word of the title"
	case text && coded(cells):
		return identifierRole, "most cells are letters before three or more digits"
	case text && long(cells):
		return freeTextRole, "texts of several words"
	case speaks(title, placeWords), speaks(title, quasiWords):
		return quasiRole, "a word of the title"
	}
	return "", ""
}

// coded reports whether nine in ten texts are letters before at least three
// digits.
func coded(cells []seenCell) bool {
	n, hits := 0, 0
	for _, c := range cells {
		n += c.count
		shape := strings.Map(func(r rune) rune {
			if r == '-' || r == '_' || r == ' ' || r == '/' {
				return -1
			}
			return r
		}, shapeOf(strings.TrimSpace(c.Text)))
		if strings.HasPrefix(shape, "A") && strings.Contains(shape, "000") {
			hits += c.count
		}
	}
	return mostly(hits, n)
}

// long reports whether texts are longer than names of categories: forty
// characters, or four words, in one of ten.
func long(cells []seenCell) bool {
	n, hits := 0, 0
	for _, c := range cells {
		if c.Stored != dataset.StoredText {
			continue
		}
		n += c.count
		if utf8.RuneCountInString(c.Text) > 40 || len(strings.Fields(c.Text)) >= 4 {
			hits += c.count
		}
	}
	return hits > 0 && 10*hits >= n
}

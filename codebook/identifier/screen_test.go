package identifier

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// screened gives a column of texts and lists the screens that hold it.
func screened(a About, texts ...string) []string {
	c := NewColumn(a)
	for i, t := range texts {
		c.Text(i+2, t)
	}
	return held(c)
}

func held(c *Column) []string {
	names := []string{}
	for _, v := range c.Verdicts() {
		names = append(names, v.Screen.Name)
	}
	return names
}

// many repeats a list of texts.
func many(n int, format string) []string {
	var out []string
	for i := range n {
		out = append(out, fmt.Sprintf(format, i))
	}
	return out
}

// Every screen finds what it is for. All people, numbers and addresses are
// invented or reserved for examples.
func TestFound(t *testing.T) {
	for _, k := range []struct {
		screen string
		title  string
		texts  []string
	}{
		{PersonName, "surname", []string{"Saltmarsh"}},
		{PersonName, "Vorname", []string{"Wim"}},
		{PersonName, "Nom", []string{"Dupontel"}},
		{PersonName, "childName", []string{"x. y"}},
		{PersonName, "initials", []string{"AB"}},
		{PersonName, "who", []string{"Emma Saltmarsh", "Noah Fennwick", "Liam van der Heel"}},
		{PersonName, "kid", []string{"Emma", "Noah", "Lukas"}},
		{PersonName, "seen by", []string{"fine", "seen by Mrs Saltmarsh in week 3"}},
		{PersonName, "x", strings.Split("Ab Cdef,Ef Gh,Ij Kl,Mn Op,Qr St,Uv Wx,Yz Ba,Dc Fe,Hg Ji,Lk Nm,Po Rq,Ga Hu,Li Mo,Pe Qi,Ru So,Te Ul,Vo Wy,Xa Ya,Zo Az,By Cy,Dy Ey", ",")},
		{Email, "remark", []string{"none", "write to a.b+c@clinic.example.org, please"}},
		{Email, "x", []string{"x@example.co.uk"}},
		{Phone, "remark", []string{"call +44 7700 900123"}},
		{Phone, "remark", []string{"mother: 07700 900123 after six"}},
		{Phone, "remark", []string{"(555) 555-0123 is the father"}},
		{Phone, "x", []string{"555-555-0101", "555-555-0102", "555-555-0103", "555-555-0104", "555-555-0105"}},
		{Phone, "Tel.", []string{"5550101"}},
		{Phone, "fax number", []string{"030/555 0101"}},
		{Phone, "x", []string{"01 23 45 67 80", "01 23 45 67 81", "01 23 45 67 82", "01 23 45 67 83", "01 23 45 67 84"}},
		{WebAddress, "x", []string{"https://example.org/child/1"}},
		{WebAddress, "x", []string{"see www.example.org"}},
		{WebAddress, "x", []string{`\\server\share\heel`}},
		{NetworkAddress, "x", []string{"192.0.2.17", "198.51.100.4"}},
		{NetworkAddress, "x", []string{"2001:db8::1", "2001:db8::2"}},
		{RecordNumber, "MRN", []string{"A-10023"}},
		{RecordNumber, "Versichertennummer", []string{"X110023"}},
		{BankAccount, "x", []string{"DE89 3704 0044 0532 0130 00"}},
		{PostalAddress, "x", []string{"12 Old Saltmarsh Road"}},
		{PostalAddress, "x", []string{"Musterstraße 12, 12345 Musterstadt"}},
		{PostalAddress, "x", []string{"Am Salzsumpf-Weg", "Hauptstr. 3"}},
		{PostalAddress, "x", []string{"3, rue des Marais"}},
		{PostalAddress, "x", []string{"ZZ9 9ZZ", "ZZ9 9ZX", "ZZ9 8ZZ", "ZZ8 9ZZ", "ZZ7 9ZZ"}},
		{PostalAddress, "PLZ", []string{"12345"}},
		{PostalAddress, "postcode", []string{"ZZ9 9ZZ"}},
		{PostalAddress, "home_address", []string{"The Mill"}},
		{BirthDate, "dob", []string{"31.12.2012"}},
		{BirthDate, "Geburtsdatum", []string{"2012-12-31"}},
		{BirthDate, "date de naissance", []string{"3 mars 2013", "41274"}},
		{Photograph, "x", []string{"IMG_0001.JPG"}},
		{CalendarDate, "x", []string{"2024-03-31", "2024-04-01", "2024-04-02"}},
		{CalendarDate, "x", []string{"31 Mar 2024", "1 Apr 2024", "2/4/24", "Apr 3, 2024"}},
		{Residence, "Wohnort", []string{"Saltmarsh"}},
		{FreeText, "x", []string{"pain after the match on grass", "no pain in either of the heels", "he ran a lot in the holidays"}},
		{NearUnique, "x", many(30, "K%03d")},
		{NearUnique, "x", many(30, "70%06d")},
	} {
		if got := screened(About{Titles: []string{k.title}}, k.texts...); !slices.Contains(got, k.screen) {
			t.Errorf("%q %q: %q, want %s", k.title, k.texts, got, k.screen)
		}
	}
}

// What only looks like an identifier is left alone.
func TestNotFound(t *testing.T) {
	for _, k := range []struct {
		title string
		texts []string
	}{
		{"mode", []string{"phone", "in_person", "phone"}},
		{"phone", []string{"yes", "no"}},
		{"sport", []string{"Football", "Netball", "Football", "Beach Volleyball", "Table Tennis"}},
		{"sport name", []string{"Football", "Netball"}},
		{"club name", []string{"S1", "S2"}},
		{"participant_id", many(10, "SM-%04d")},
		{"patient_id", many(10, "%04d")},
		{"site", []string{"S1", "S2"}},
		{"season", []string{"2021/22", "2022/23", "2023/24"}},
		{"month", []string{"Jan", "Feb", "Mar", "Jun"}},
		{"version", []string{"1.2.0.4", "1.2.1.0"}},
		{"load", []string{"3 x 10 @ 20 kg", "3@5"}},
		{"range", []string{"0-12 0-14 0-16", "120/80 mmHg", "05 10 15 20 25"}},
		{"code", []string{"001-001-0001", "001-001-0002", "001-001-0003", "001-002-0001", "002-001-0001"}},
		{"walk", []string{"3 miles on the road", "12 min Schulweg", "2 way valgus", "Umweg 3 km"}},
		{"pitch", []string{"Sportplatz 3", "Sportplatz 2"}},
		{"posture", []string{"12 deg", "-3.5", "+2.25", "1e5"}},
		{"time", []string{"12:30:45", "08:15"}},
		{"treatments", []string{"heel cup; stretching", "rest", "heel cup", "rest", "rest; taping"}},
		{"diagnosis", []string{"Plantar Fasciitis", "Calcaneal Apophysitis", "Plantar Fasciitis", "Calcaneal Apophysitis"}},
		{"birth_weight", []string{"3250 g"}},
		{"address_form", []string{"x"}},
		{"born", []string{"2012"}},
		{"name", []string{"1", "2"}},
		{"visit_day", many(30, "%d")},
		{"height", many(30, "1%02d.5")},
		{"ip_joint", []string{"12.5", "13"}},
		{"file number of scans", []string{"3"}},
	} {
		if got := screened(About{Titles: []string{k.title}}, k.texts...); len(got) > 0 {
			t.Errorf("%q %q: %q", k.title, k.texts, got)
		}
	}
}

// A key's own codes are no near-unique column, and a pattern makes them study
// codes; an address in one is found all the same.
func TestKeys(t *testing.T) {
	codes := many(40, "SM-%04d")
	if got := screened(About{Titles: []string{"id"}, Key: true, Code: true}, codes...); len(got) > 0 {
		t.Errorf("a key of codes: %q", got)
	}
	if got := screened(About{Titles: []string{"id"}, Key: true, Code: true}, append(codes, "a@example.org", "+44 7700 900123")...); !slices.Equal(got, []string{Email, Phone}) {
		t.Errorf("an address in a key: %q", got)
	}
}

// Names of all screens differ, and each says what it found and what is asked.
func TestScreens(t *testing.T) {
	seen := map[string]bool{}
	direct := true
	for _, s := range Screens() {
		if seen[s.Name] || !strings.HasSuffix(s.Sentence, ".") || !strings.HasSuffix(s.Ask, ".") {
			t.Errorf("%+v", s)
		}
		if s.Direct && !direct {
			t.Errorf("%s: the direct screens come first", s.Name)
		}
		direct = s.Direct
		seen[s.Name] = true
	}
	for screen := range titles {
		if _, ok := Find(screen); !ok {
			t.Errorf("title words of %q, which is no screen", screen)
		}
	}
}

// Dates before all others, spread as birthdays are, are dates of birth.
func TestBirthDates(t *testing.T) {
	column := func(from, step, n int) *Column {
		c := NewColumn(About{})
		for i := range n {
			c.Day(i+2, from+i*step)
		}
		return c
	}
	birth, seen := column(15000, 40, 50), column(19000, 10, 50) // 2011 to 2016; 2022
	visit, mother := column(19100, 10, 50), column(5000, 40, 50)
	if got, want := BirthDates([]*Column{birth, seen, visit}), []bool{true, false, false}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got := BirthDates([]*Column{seen, visit}); slices.Contains(got, true) {
		t.Errorf("dates of one time: %v", got)
	}
	if got := BirthDates([]*Column{birth}); slices.Contains(got, true) {
		t.Errorf("nothing to compare with: %v", got)
	}
	if got := BirthDates([]*Column{mother, visit}); slices.Contains(got, true) {
		t.Errorf("more than 20 years before: %v", got)
	}
}

package identifier

// About is what is known of a column before its cells are seen.
type About struct {
	Titles []string // the title in the file, and the codebook's name and label
	// Key says that the codebook declares the column a key, or a part of one, or
	// an identifier: its values may differ in every row.
	Key bool
	// Code says that the codebook gives a key its pattern: what meets it is a
	// study code and not a number of some authority.
	Code bool
	// FreeText says that the codebook calls the column one.
	FreeText bool
}

// A Column takes the cells of one column, one after the other.
type Column struct {
	about  About
	titled map[string]bool // by screen
	hits   map[string]*hits

	cells  int // that hold something
	texts  int // of these, those that were not known as anything else
	plain  int // whole numbers of many digits
	apart  distinct
	long   int
	longs  distinct
	names  int
	named  distinct
	given  map[string]bool
	days   []int32
	dated  int
	sure   int // of these, those that were known to be days
	roads  map[string]bool
	road   int
	posts  map[string]bool
	post   int
	calls  map[string]bool
	called int
	nets   int
	ssns   map[string]bool
	ssn    int
	runs   []run
	seen   map[string]bool // numbers asked of the schemes
	first  map[string][]int
}

// hits are the cells that one screen holds by themselves.
type hits struct {
	count int
	rows  []int
}

// A run counts the different numbers shaped by a scheme.
type run struct{ shaped, valid int }

// NewColumn begins a column.
func NewColumn(a About) *Column {
	c := &Column{
		about: a, titled: map[string]bool{}, hits: map[string]*hits{}, given: map[string]bool{}, roads: map[string]bool{},
		posts: map[string]bool{}, calls: map[string]bool{}, ssns: map[string]bool{}, runs: make([]run, len(schemes)),
		seen: map[string]bool{}, first: map[string][]int{},
	}
	for screen, words := range titles {
		for _, title := range a.Titles {
			if words.says(title) {
				c.titled[screen] = true
			}
		}
	}
	return c
}

// Known takes n cells that the codebook knows: categories, truth values, short
// numbers. They are counted and not looked at.
func (c *Column) Known(n int) { c.cells += n }

// Number takes a cell that holds a number. One of fewer than 7 digits, and one
// with a fraction, is a measurement or a count.
func (c *Column) Number(row int, text string) {
	c.cells++
	title := len(c.titled) > 0
	if len(text) < uniqueDigits && !title || !isDigits(text) {
		return
	}
	if len(text) >= uniqueDigits {
		c.plain++
		c.apart.add(text)
		c.numbering(row, text, len(text))
	}
	if title {
		c.byTitle(row, text, shape{digits: len(text)}, false)
	}
}

// Day takes a cell that holds a calendar date, as days since 1970-01-01.
func (c *Column) Day(row, day int) {
	c.cells++
	c.sure++
	c.date(row, day)
	if c.titled[BirthDate] {
		c.hit(BirthDate, row)
	}
}

// Text takes a cell that holds a text that nothing else is known of; an empty
// one is passed over.
func (c *Column) Text(row int, text string) {
	s := shapeOf(text)
	if s.digits+s.letters+s.marks+s.dots == 0 && !s.at {
		return
	}
	if isNumber(text, s) {
		if day, ok := dayOf(text, s); ok && s.digits == len(text) {
			c.date(row, day)
		}
		c.Number(row, text)
		return
	}
	c.cells++
	c.texts++
	c.apart.add(text)
	day, dated := dayOf(text, s)
	if dated {
		c.date(row, day)
	}
	if len(c.titled) > 0 {
		c.byTitle(row, text, s, dated)
	}
	if len(text) >= longLetters || s.blanks >= longWords-1 && s.letters > s.digits {
		c.long++
		c.longs.add(text)
		c.note(FreeText, row)
	}
	if s.letters+s.digits < 4 {
		return
	}
	c.links(row, text, s)
	if s.digits >= 8 && !dated {
		c.number(row, text, s)
	}
	if s.letters >= 3 {
		c.people(row, text, s)
	}
	if s.digits > 0 {
		c.places(row, text, s)
	}
}

// links looks for addresses of mail and the web.
func (c *Column) links(row int, text string, s shape) {
	if s.at && hasEmail(text) {
		c.hit(Email, row)
	}
	if (s.slash || s.dots >= 2) && hasWebAddress(text) {
		c.hit(WebAddress, row)
	}
	if (s.dots == 3 || s.colons >= 2 || s.marks == 5) && s.blanks == 0 && isNetworkAddress(text) {
		c.nets++
		c.note(NetworkAddress, row)
	}
	if s.dots > 0 && s.letters >= 3 && hasPicture(text) {
		c.hit(Photograph, row)
	}
}

// number looks for numbers of people, phones and accounts.
func (c *Column) number(row int, text string, s shape) {
	switch phoneOf(text, s) {
	case surePhone:
		c.hit(Phone, row)
	case mayBePhone:
		if !c.about.Code {
			c.called++
			remember(c.calls, text)
			c.note(Phone, row)
		}
	}
	if len(text) > 40 {
		return
	}
	if isSSN(text) {
		c.ssn++
		remember(c.ssns, text)
		c.note("ssn", row)
	}
	c.numbering(row, text, s.digits)
}

// numbering asks the schemes of a number that was not asked before.
func (c *Column) numbering(row int, text string, digits int) {
	if digits < 8 || digits > 24 {
		return
	}
	bare := bareNumber(text)
	if len(bare) < 9 || len(bare) > 28 {
		return
	}
	if bare[0] >= 'A' && isIBAN(bare) {
		c.hit(BankAccount, row)
		return
	}
	if len(bare) > 16 || len(c.seen) >= mostDifferent || c.seen[bare] {
		return
	}
	c.seen[bare] = true
	for i, k := range schemes {
		shaped, valid := k.check(bare, text)
		if shaped {
			c.runs[i].shaped++
		}
		if valid {
			c.runs[i].valid++
			c.note(k.name, row)
		}
	}
}

// people looks for names.
func (c *Column) people(row int, text string, s shape) {
	switch nameOf(text, s) {
	case calledName:
		c.hit(PersonName, row)
		return
	case givenName:
		remember(c.given, text)
	case shapedName:
	default:
		return
	}
	c.names++
	c.named.add(text)
	c.note(PersonName, row)
}

// places looks for streets and postcodes.
func (c *Column) places(row int, text string, s shape) {
	switch streetOf(text, s) {
	case sureStreet:
		c.hit(PostalAddress, row)
	case mayBeStreet:
		c.road++
		remember(c.roads, text)
		c.note(PostalAddress, row)
	}
	if isPostcode(text, s) {
		c.post++
		remember(c.posts, text)
		c.note("postcode", row)
	}
}

// date takes a date.
func (c *Column) date(row, day int) {
	c.dated++
	c.note(CalendarDate, row)
	if len(c.days) < 1<<17 {
		c.days = append(c.days, int32(day))
	}
}

// byTitle holds a cell below a title that says what it is, where the cell could
// be such a thing.
func (c *Column) byTitle(row int, text string, s shape, dated bool) {
	for screen := range c.titled {
		fits := false
		switch screen {
		case PersonName:
			fits = s.letters >= 1 && s.digits == 0
		case Email:
			fits = s.at
		case Phone:
			fits = s.digits >= 6 && s.letters <= s.digits
		case WebAddress:
			fits = s.slash && s.dots > 0 && s.letters > 2
		case NetworkAddress:
			fits = s.dots >= 3 || s.colons >= 2
		case RecordNumber:
			fits = s.digits >= 4 && s.digits+s.letters >= 5 && !dated && !c.about.Code
		case BankAccount:
			fits = s.digits >= 8
		case PostalAddress:
			fits = s.letters >= 3 || s.digits >= 4 || s.digits >= 1 && s.letters >= 1
		case BirthDate:
			fits = dated || s.digits >= 5
		case Photograph:
			fits = s.dots > 0 && s.letters >= 3 || s.slash && s.letters > 2
		case Residence:
			fits = s.letters >= 2
		}
		if fits {
			c.hit(screen, row)
		}
	}
}

// hit holds a cell by itself.
func (c *Column) hit(screen string, row int) {
	h := c.hits[screen]
	if h == nil {
		h = &hits{}
		c.hits[screen] = h
	}
	if n := len(h.rows); n > 0 && h.rows[n-1] == row {
		return
	}
	h.count++
	if len(h.rows) < mostRows {
		h.rows = append(h.rows, row)
	}
}

// note keeps the first rows of what may become a run.
func (c *Column) note(what string, row int) {
	rows := c.first[what]
	if n := len(rows); n < 5 && (n == 0 || rows[n-1] != row) {
		c.first[what] = append(rows, row)
	}
}

// remember keeps a text, up to a number of them.
func remember(set map[string]bool, text string) {
	if len(set) < mostDifferent {
		set[text] = true
	}
}

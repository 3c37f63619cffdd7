package identifier

// A Verdict is what a screen holds of a column. It carries no text of a cell.
type Verdict struct {
	Screen Screen
	Titled bool  // the column's title says so
	Run    bool  // the column as a whole is held, not each cell by itself
	Count  int   // cells held
	Of     int   // cells that hold something
	Rows   []int // rows of the first cells: all up to 1,000, of a run 5
	Note   string
}

// Verdicts tells what the column is held for, in the order of Screens. A column
// that names people by itself is not held for being near-unique, for dates or
// for long texts too.
func (c *Column) Verdicts() []Verdict {
	var out []Verdict
	direct := false
	for _, s := range screens {
		v, held := c.verdict(s)
		if !held || !s.Direct && direct && s.Name != Residence {
			continue
		}
		if s.Name == NearUnique && len(out) > 0 {
			continue
		}
		// One scattered address makes no column of addresses.
		direct = direct || s.Direct && (v.Run || v.Titled || 2*v.Count > c.cells)
		v.Screen, v.Of, v.Titled = s, c.cells, c.titled[s.Name]
		if v.Titled {
			v.Run = true
		}
		out = append(out, v)
	}
	return out
}

// Holds reports whether a screen holds the column, others aside.
func (c *Column) Holds(screen string) bool {
	_, held := c.verdict(Screen{Name: screen})
	return held
}

// verdict is that of one screen.
func (c *Column) verdict(s Screen) (Verdict, bool) {
	if v, held := c.byRun(s.Name); held {
		return v, true
	}
	if h := c.hits[s.Name]; h != nil {
		return Verdict{Count: h.count, Rows: h.rows}, true
	}
	return Verdict{}, false
}

// byRun looks for the run of a screen.
func (c *Column) byRun(name string) (Verdict, bool) {
	run := func(held bool, n int, first string) (Verdict, bool) {
		return Verdict{Run: true, Count: n, Rows: c.first[first]}, held
	}
	share := func(n int, least float64) bool { return float64(n) >= least*float64(c.cells) }
	switch name {
	case PersonName:
		apart := float64(c.named.count()) >= runNamesApart*float64(c.names)
		return run(
			len(c.given) >= runGiven && share(c.names, runGivenShare) ||
				apart && c.named.count() >= runNames && share(c.names, runNameShare), c.names, PersonName)
	case Phone:
		return run(len(c.calls) >= runPhones && share(c.called, runPhoneShare), c.called, Phone)
	case NetworkAddress:
		return run(c.nets >= runNetwork, c.nets, NetworkAddress)
	case RecordNumber, BankAccount:
		return c.byNumber(name)
	case PostalAddress:
		if len(c.posts) >= runPostcodes && share(c.post, runPostcodeShare) && !c.about.Code {
			return run(true, c.post, "postcode")
		}
		return run(len(c.roads) >= runStreets && share(c.road, runStreetShare), c.road, PostalAddress)
	case CalendarDate:
		return run(c.sure > 0 || c.dated >= runDates && share(c.dated, runDateShare), c.dated, CalendarDate)
	case FreeText:
		long := c.long >= runLong && share(c.long, runLongShare) && c.longs.count() >= runLong &&
			float64(c.longs.count()) >= runLongApart*float64(c.long)
		if !long && c.about.FreeText && c.texts > 0 {
			return Verdict{Run: true, Count: c.texts, Note: "the codebook calls it free text"}, true
		}
		return run(long, c.long, FreeText)
	case NearUnique:
		n := c.texts + c.plain
		apart := float64(c.apart.count()) > uniqueShare*float64(n)
		return run(!c.about.Key && n >= uniqueRows && 2*n > c.cells && apart, n, "")
	}
	return Verdict{}, false
}

// byNumber looks for a run of a scheme's numbers.
func (c *Column) byNumber(screen string) (Verdict, bool) {
	for i, k := range schemes {
		r := c.runs[i]
		if k.screen == screen && r.valid >= runNumbers && float64(r.valid) >= runValid*float64(r.shaped) && tail(r.valid, r.shaped, k.chance) < RunChance {
			return Verdict{Run: true, Count: r.valid, Rows: c.first[k.name], Note: k.name}, true
		}
	}
	if screen == RecordNumber && len(c.ssns) >= runNumbers && 10*c.ssn >= 8*c.cells && !c.about.Code && c.scattered() {
		return Verdict{Run: true, Count: c.ssn, Rows: c.first["ssn"], Note: "United States social security number"}, true
	}
	return Verdict{}, false
}

// scattered reports whether the first and middle groups of numbers shaped as
// social security numbers scatter as those of such numbers do: codes made of a
// site, a group and a child repeat theirs.
func (c *Column) scattered() bool {
	area, group := map[string]bool{}, map[string]bool{}
	for n := range c.ssns {
		area[n[:3]], group[n[4:6]] = true, true
	}
	least := min(len(c.ssns), 20) / 2
	return len(area) >= max(least, 3) && len(group) >= max(least, 3)
}

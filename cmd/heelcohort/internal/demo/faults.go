package demo

import (
	"slices"
	"strconv"

	"heelcohort/dataset"
)

// plantFaults puts faults of every sort into sheets and lists them. Each makes
// exactly one finding: rows are chosen so that nothing else depends on the
// cell, and keys are broken in rows that no other row names.
func plantFaults(reg *Registry, sheets []dataset.WorkbookSheet) *planter {
	p := &planter{reg: reg, sheets: sheets, used: map[string]bool{}, children: map[string]bool{}}
	p.plantParticipants()
	p.plantEpisodes()
	p.plantExposures()
	p.plantVisits()
	p.plantRows()
	return p
}

// A cellFault is a fault of a single value.
type cellFault struct {
	column  string
	cell    dataset.WorkbookCell
	rule    string
	planted string
}

// plantCells plants faults of single values in rows that suit.
func (p *planter) plantCells(sheet string, suits func(i int) bool, faults []cellFault) {
	for _, f := range faults {
		p.set(sheet, p.pick(sheet, suits), f.column, f.cell, f.rule, f.planted)
	}
}

// anyRow suits every fault.
func anyRow(int) bool { return true }

func (p *planter) plantParticipants() {
	const sheet = "participants"
	rows := p.reg.Participants
	p.plantCells(sheet, func(i int) bool { return !rows[i].Height.Missing && !rows[i].Weight.Missing }, []cellFault{
		{"height_cm", text("142 cm"), "type", "a unit in the cell"},
		{"height_cm", text("141,5"), "type", "a decimal comma"},
		{"height_cm", number(1.38), "minimum", "metres instead of centimetres"},
		{"weight_kg", number(342), "maximum", "a lost decimal point"},
		{"age_enrolled", number(5.4), "minimum", "a child below the age limit"},
		{"site", text("S7"), "category", "a site that does not exist"},
		{"sex", text("femal"), "category", "a misspelt category"},
		{"cohort_season", text("2025/26"), "category", "a season outside the study"},
		{"main_sport", text("footbal"), "category", "a misspelt sport"},
		{"consent_research", text("maybe"), "type", "neither true nor false"},
		{"sports_n", number(1.5), "type", "a fraction in a whole number"},
		{"fpi_r3", number(3), "maximum", "a foot posture item above 2"},
		{"fpi_l2", text("O"), "type", "the letter O for the digit 0"},
		{"navicular_drop_mm_r", text("n/m"), "type", "a missing code that is not declared"},
		{"fpi_total_r_second", number(999), "maximum", "the old missing code where it is not declared"},
		{"arch_index_r", number(26), "maximum", "a percentage instead of a share"},
		{"exit_reason", text(""), "required", "an empty cell where a value is required"},
	})
	i := p.pick(sheet, func(i int) bool {
		h := rows[i].Height
		return !h.Missing && h.Value > 140 && h.Value < 150
	})
	p.set(sheet, i, "sitting_height_cm", number(98), "sitting height ratio", "a sitting height that does not fit the height")
	i = p.pick(sheet, func(i int) bool {
		h := rows[i].Height
		return !h.Missing && h.Value < 130
	})
	p.set(sheet, i, "weight_kg", number(95), "body mass index", "a weight that does not fit the height")
	i = p.pick(sheet, func(i int) bool {
		total, ok := rows[i].total(0)
		return ok && !rows[i].FPISecond.Missing && total <= 4
	})
	total, _ := rows[i].total(0)
	p.set(sheet, i, "fpi_total_r_second", whole(total+7), "second rater", "two raters far apart (warning)")
	p.plantTotals()
	i = p.pick(sheet, anyRow)
	p.setRaw(sheet, i, "lunge_deg_r", `<c r="%s" t="e"><v>#DIV/0!</v></c>`, dataset.RuleErrorCell, "an error value")
	i = p.pick(sheet, anyRow)
	p.setRaw(sheet, i, "rearfoot_deg_l", `<c r="%s"><f>AVERAGE(12,14)</f></c>`, dataset.RuleFormula, "a formula without a stored value")
}

// plantTotals plants totals that are not what they are made of, and a height
// that is possible but not plausible.
func (p *planter) plantTotals() {
	const sheet = "participants"
	rows := p.reg.Participants
	i := p.pick(sheet, func(i int) bool {
		total, ok := rows[i].total(0)
		return ok && rows[i].FPISecond.Missing && total < 12
	})
	total, _ := rows[i].total(0)
	p.set(sheet, i, "fpi_total_r", whole(total+1), "foot posture total, right", "a total that is not the sum of its items")
	i = p.pick(sheet, func(i int) bool { return rows[i].FPITotal(1).Missing })
	p.set(sheet, i, "fpi_total_l", whole(3), "foot posture total, left", "a total though an item is missing")
	i = p.pick(sheet, func(i int) bool { return rows[i].SeasonsN > 0 && rows[i].SeasonsN < 4 })
	p.set(sheet, i, "seasons_n", whole(rows[i].SeasonsN+1), "seasons with sport", "more seasons than have hours of sport")
	i = p.pick(sheet, func(i int) bool {
		sitting, weight := rows[i].SittingHeight, rows[i].Weight
		return !rows[i].Height.Missing && (sitting.Missing || sitting.Value > 90) && (weight.Missing || weight.Value > 45)
	})
	p.set(sheet, i, "height_cm", number(192), "plausible maximum", "a height that is possible but not plausible (warning)")
}

// total is the foot posture total of one foot, if every item is known.
func (p *Participant) total(side int) (int, bool) {
	sum := 0
	for _, item := range p.FPI[side] {
		if item.Missing {
			return 0, false
		}
		sum += int(item.Value)
	}
	return sum, true
}

func (p *planter) plantEpisodes() {
	const sheet = "episodes"
	rows := p.reg.Episodes
	p.plantCells(sheet, func(i int) bool { return rows[i].Onset > 30 }, []cellFault{
		{"heel", text("letf"), "category", "a misspelt side"},
		{"onset", text("12/09/2023"), "type", "a date where a study day belongs"},
		{"onset", number(1500), "maximum", "a day after the study"},
		{"vas_onset_mm", number(101), "maximum", "a pain score above 100"},
		{"squeeze", text("positive"), "type", "a word that is neither true nor false"},
		{"treatments", text("load_management;Heel raise"), "category", "a treatment in free spelling"},
		{"end_type", text(""), "required", "an empty cell where a value is required"},
		{"recurrence_no", number(-1), "minimum", "a negative count"},
		{"participant_id", text("SM-9998"), dataset.RuleForeignKey, "a child that is not in the registry"},
	})
	i := p.pick(sheet, func(i int) bool { return rows[i].Onset > 30 })
	p.set(sheet, i, "diagnosed", whole(rows[i].Onset-9), "order of days", "a diagnosis before the onset")
	i = p.pick(sheet, func(i int) bool { return rows[i].Onset > 30 })
	p.set(sheet, i, "end_day", whole(rows[i].Onset-5), "end after onset", "an end before the onset")
	i = p.pick(sheet, func(i int) bool { return rows[i].Onset > 30 })
	last := p.reg.Participants[rows[i].Child].LastContact
	p.set(sheet, i, "end_day", whole(last+30), "episode within follow-up", "an end after the last contact")
	i = p.pick(sheet, func(i int) bool { return !rows[i].Match.High.Missing })
	p.set(sheet, i, "match_hi", number(rows[i].Match.Low.Value), "match interval", "an interval without length")
	i = p.pick(sheet, func(i int) bool { return rows[i].OrthosisClass != "none" })
	p.setFound(sheet, i, "orthosis_start", text("NA"), "orthosis_class", "orthosis recorded", "an orthosis without a start day (warning)")
	i = p.pick(sheet, func(i int) bool { return rows[i].OrthosisClass != "none" })
	p.setFound(sheet, i, "orthosis_class", text("none"), "treatments", "orthosis among the treatments", "no class of an orthosis that is among the treatments")
	i = p.pick(sheet, func(i int) bool {
		return rows[i].Spell > 1 && slices.ContainsFunc(rows[:i], func(e Episode) bool {
			return e.Child == rows[i].Child && e.Heel == rows[i].Heel && e.Spell == 1
		})
	})
	p.setFound(sheet, i, "spell", number(1), "participant_id", dataset.RuleUnique, "two onsets of the same heel in one spell")
	earlier := func(i int) int {
		return slices.IndexFunc(rows[:i], func(e Episode) bool { return e.Child == rows[i].Child && e.Heel == rows[i].Heel })
	}
	i = p.pick(sheet, func(i int) bool { j := earlier(i); return j >= 0 && p.free(sheet, j) })
	j := earlier(i)
	p.use(sheet, j)
	p.setFound(sheet, i, "onset", whole(rows[j].Onset), "participant_id", "one onset a heel and day", "two onsets of the same heel on one day")
}

func (p *planter) plantExposures() {
	const sheet = "exposures"
	rows := p.reg.Exposures
	long := func(i int) bool { return rows[i].To-rows[i].From == blockWeeks*7 && rows[i].From > 7 }
	p.plantCells(sheet, long, []cellFault{
		{"sport", text("netbal"), "category", "a misspelt sport"},
		{"season", text("2023-24"), "category", "a season in another spelling"},
		{"season_week", number(41), "maximum", "a week after the season"},
		{"sessions_match", number(2.5), "type", "a fraction in a count"},
		{"sessions_training", text("ca. 10"), "type", "words in a count"},
		{"hours_training", text("12h"), "type", "a unit in the cell"},
		{"hours_match", number(-2), "minimum", "negative hours"},
		{"from_day", text(""), "required", "an empty cell where a value is required"},
	})
	// Hours are added over the rows that begin on one day, and found at the
	// first of them.
	first := func(i int) bool {
		return long(i) && (i == 0 || rows[i-1].Child != rows[i].Child || rows[i-1].From != rows[i].From)
	}
	p.plantCells(sheet, first, []cellFault{
		{"hours_training", number(900), "hours possible", "more than 168 hours a week"},
		{"hours_training", number(300), "hours plausible", "more than 25 hours a week (warning)"},
	})
	i := p.pick(sheet, long)
	p.set(sheet, i, "to_day", whole(rows[i].From-7), "overlap in a sport", "an interval that ends before it begins")
	i = p.pick(sheet, func(i int) bool { return i+1 == len(rows) || rows[i+1].Child != rows[i].Child })
	last := p.reg.Participants[rows[i].Child].LastContact
	p.set(sheet, i, "to_day", whole(last+10), "interval within follow-up", "an interval after the last contact")
	follows := func(i int) bool {
		return i > 0 && rows[i-1].Child == rows[i].Child && rows[i-1].Sport == rows[i].Sport && p.free(sheet, i-1)
	}
	i = p.pick(sheet, follows)
	p.use(sheet, i-1)
	p.set(sheet, i, "from_day", whole(rows[i-1].To-3), "overlap in a sport", "an interval that begins before the one before it ends")
	i = p.pick(sheet, follows)
	p.use(sheet, i-1)
	p.setFound(sheet, i, "from_day", whole(rows[i-1].From), "participant_id", dataset.RulePrimaryKey,
		"an interval that begins on the day of another")
	s, _ := p.sheet(sheet)
	p.note(sheet, ref(p.at(s, "from_day"), i+2), "overlap in a sport", "the same interval, which therefore overlaps the other", strconv.Itoa(rows[i].From))
}

func (p *planter) plantVisits() {
	const sheet = "visits"
	rows := p.reg.Visits
	seen := func(i int) bool { return rows[i].Day > 0 && rows[i].Mode == "in_person" }
	p.plantCells(sheet, seen, []cellFault{
		{"fps_r", number(5), "enum", "a faces score that the scale does not have"},
		{"nrs", number(11), "maximum", "a rating above 10"},
		{"rater", text("R9"), "pattern", "a rater that does not exist"},
		{"planned", text("w6"), "category", "a week that is not planned"},
		{"mode", text("In person"), "category", "a label instead of its code"},
		{"vas_sport_mm", text("4 cm"), "type", "centimetres instead of millimetres"},
		{"ox_child_school", number(104.2), "maximum", "a score above 100"},
		{"play_status", text("injured"), "category", "a word outside the list"},
		{"adherence_pct", text("RF"), "type", "a missing code of another variable"},
		{"visit_day", text(""), "required", "an empty cell where a value is required"},
		{"visit_day", number(-4), "minimum", "a contact before enrolment"},
		{"participant_id", text("SM-9997"), dataset.RuleForeignKey, "a child that is not in the registry"},
		{"episode_id", text("E9999-1R"), dataset.RuleForeignKey, "an episode that is not in the registry"},
	})
	i := p.pick(sheet, seen)
	last := 0
	for _, q := range p.reg.Participants {
		if q.ID == rows[i].Participant {
			last = q.LastContact
		}
	}
	p.set(sheet, i, "visit_day", whole(last+12), "visit within follow-up", "a contact after the last contact")
	follows := func(i int) bool { return i > 0 && rows[i-1].Participant == rows[i].Participant && p.free(sheet, i-1) }
	i = p.pick(sheet, follows)
	p.use(sheet, i-1)
	p.set(sheet, i, "visit_id", text(rows[i-1].ID), dataset.RulePrimaryKey, "a key that another row has")
	i = p.pick(sheet, follows)
	p.use(sheet, i-1)
	p.setFound(sheet, i, "visit_day", whole(rows[i-1].Day), "participant_id", dataset.RuleUnique, "two contacts on one day")
}

// plantRows plants faults of whole rows, columns and areas at the ends of
// sheets, where nothing else is moved.
func (p *planter) plantRows() {
	s, _ := p.sheet("participants")
	id := p.at(s, "participant_id")
	extra := func(from int, key string) int {
		row := slices.Clone(s.Rows[from+1])
		row[id] = text(key)
		s.Rows = append(s.Rows, row)
		return len(s.Rows)
	}
	// A child with two rows has no last contact that rules could look up: take
	// one without episodes and without a planted fault anywhere.
	i := p.pick("participants", func(i int) bool { return !p.children[p.reg.Participants[i].ID] })
	p.note("participants", ref(id, extra(i, p.reg.Participants[i].ID)), dataset.RulePrimaryKey, "a child entered twice", "")
	i = p.pick("participants", anyRow)
	p.note("participants", ref(id, extra(i, "SM123")), "pattern", "a key in another spelling", "")
	s.Rows = append(s.Rows, nil)
	p.note("participants", "row "+ref(-1, len(s.Rows)), dataset.RuleEmptyRow, "an empty row between rows (warning)", "")
	i = p.pick("participants", anyRow)
	s.Rows[extra(i, "SM-9001")-1][p.at(s, "seasons_n")] = whole(0)
	// Two cells merged into one, the second of which may be empty.
	i = p.pick("episodes", func(i int) bool { return !p.reg.Episodes[i].Training.High.Missing })
	e, _ := p.sheet("episodes")
	at := p.at(e, "training_lo")
	row := e.Rows[i+1]
	was := shown(row[at+1])
	row[at].Span = 2
	e.Rows[i+1] = slices.Delete(row, at+1, at+2)
	p.note("episodes", ref(at, i+2), dataset.RuleMergedCells, "two cells merged into one", was)
	v, _ := p.sheet("visits")
	v.Rows[0] = append(v.Rows[0], dataset.WorkbookCell{Text: "notes", Style: dataset.Header})
	v.Rows[1] = append(v.Rows[1], text("limping after practice"))
	p.note("visits", ref(len(v.Rows[0])-1, 1), dataset.RuleUnknownColumn, "a column that is not in the codebook", "")
}

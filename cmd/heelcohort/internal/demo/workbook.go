package demo

import (
	"strconv"

	"heelcohort/dataset"
)

// A column is one variable of a sheet.
type column[T any] struct {
	name string
	cell func(*T) dataset.WorkbookCell
}

// text is a cell that holds a text; the empty text is an empty cell.
func text(s string) dataset.WorkbookCell { return dataset.WorkbookCell{Text: s} }

// number is a cell that holds a number.
func number(x float64) dataset.WorkbookCell { return dataset.WorkbookCell{Number: x, IsNumber: true} }

// whole is a cell that holds a whole number.
func whole(n int) dataset.WorkbookCell { return number(float64(n)) }

// cell is the measure's number or missing code; a code of digits is written as
// the number that people typed.
func (m Measure) cell() dataset.WorkbookCell {
	if !m.Missing {
		return number(m.Value)
	}
	if code, err := strconv.ParseFloat(m.Code, 64); err == nil {
		return number(code)
	}
	return text(m.Code)
}

// sheetOf lays rows out under a header.
func sheetOf[T any](name string, columns []column[T], rows []T) dataset.WorkbookSheet {
	s := dataset.WorkbookSheet{Name: name, Freeze: 1}
	header := make([]dataset.WorkbookCell, len(columns))
	for i, c := range columns {
		header[i] = dataset.WorkbookCell{Text: c.name, Style: dataset.Header}
		s.Widths = append(s.Widths, float64(max(8, len(c.name)+3)))
	}
	s.Rows = append(s.Rows, header)
	for i := range rows {
		row := make([]dataset.WorkbookCell, len(columns))
		for k, c := range columns {
			row[k] = c.cell(&rows[i])
		}
		s.Rows = append(s.Rows, row)
	}
	return s
}

// Sheets lays the registry out as its workbook has it.
func (reg *Registry) Sheets() []dataset.WorkbookSheet {
	return []dataset.WorkbookSheet{
		sheetOf("participants", participantColumns(), reg.Participants),
		sheetOf("episodes", episodeColumns(), reg.Episodes),
		sheetOf("exposures", exposureColumns(), reg.Exposures),
		sheetOf("visits", visitColumns(), reg.Visits),
	}
}

func participantColumns() []column[Participant] {
	type row = Participant
	measure := func(name string, of func(*row) Measure) column[row] {
		return column[row]{name, func(p *row) dataset.WorkbookCell { return of(p).cell() }}
	}
	all := []column[row]{
		{"participant_id", func(p *row) dataset.WorkbookCell { return text(p.ID) }},
		{"site", func(p *row) dataset.WorkbookCell { return text(p.Site) }},
		{"cohort_season", func(p *row) dataset.WorkbookCell { return text(p.CohortSeason) }},
		{"consent_research", func(p *row) dataset.WorkbookCell { return text(strconv.FormatBool(p.Consent)) }},
		{"sex", func(p *row) dataset.WorkbookCell { return text(p.Sex) }},
		{"age_enrolled", func(p *row) dataset.WorkbookCell { return number(p.AgeEnrolled) }},
		measure("height_cm", func(p *row) Measure { return p.Height }),
		measure("sitting_height_cm", func(p *row) Measure { return p.SittingHeight }),
		measure("weight_kg", func(p *row) Measure { return p.Weight }),
		{"main_sport", func(p *row) dataset.WorkbookCell { return text(p.MainSport) }},
		{"sports_n", func(p *row) dataset.WorkbookCell { return whole(p.SportsN) }},
		{"seasons_n", func(p *row) dataset.WorkbookCell { return whole(p.SeasonsN) }},
	}
	for side, letter := range []string{"r", "l"} {
		for item := range 6 {
			name := "fpi_" + letter + strconv.Itoa(item+1)
			all = append(all, measure(name, func(p *row) Measure { return p.FPI[side][item] }))
		}
	}
	for side, letter := range []string{"r", "l"} {
		all = append(all, measure("fpi_total_"+letter, func(p *row) Measure { return p.FPITotal(side) }))
	}
	all = append(all, measure("fpi_total_r_second", func(p *row) Measure { return p.FPISecond }))
	for _, m := range []struct {
		name string
		of   func(*row) *[2]Measure
	}{
		{"arch_index", func(p *row) *[2]Measure { return &p.ArchIndex }},
		{"navicular_drop_mm", func(p *row) *[2]Measure { return &p.Navicular }},
		{"rearfoot_deg", func(p *row) *[2]Measure { return &p.Rearfoot }},
		{"lunge_deg", func(p *row) *[2]Measure { return &p.Lunge }},
	} {
		for side, letter := range []string{"r", "l"} {
			all = append(all, measure(m.name+"_"+letter, func(p *row) Measure { return m.of(p)[side] }))
		}
	}
	return append(all,
		column[row]{"last_contact", func(p *row) dataset.WorkbookCell { return whole(p.LastContact) }},
		column[row]{"exit_reason", func(p *row) dataset.WorkbookCell { return text(p.ExitReason) }})
}

func episodeColumns() []column[Episode] {
	type row = Episode
	word := func(name string, of func(*row) string) column[row] {
		return column[row]{name, func(e *row) dataset.WorkbookCell { return text(of(e)) }}
	}
	count := func(name string, of func(*row) int) column[row] {
		return column[row]{name, func(e *row) dataset.WorkbookCell { return whole(of(e)) }}
	}
	measure := func(name string, of func(*row) Measure) column[row] {
		return column[row]{name, func(e *row) dataset.WorkbookCell { return of(e).cell() }}
	}
	all := []column[row]{
		word("episode_id", func(e *row) string { return e.ID }),
		word("participant_id", func(e *row) string { return e.Participant }),
		word("heel", func(e *row) string { return e.Heel }),
		count("spell", func(e *row) int { return e.Spell }),
		count("onset", func(e *row) int { return e.Onset }),
		word("onset_precision", func(e *row) string { return e.OnsetPrecision }),
		count("diagnosed", func(e *row) int { return e.Diagnosed }),
		count("recurrence_no", func(e *row) int { return e.RecurrenceNo }),
		word("sport_at_onset", func(e *row) string { return e.SportAtOnset }),
		word("onset_type", func(e *row) string { return e.OnsetType }),
	}
	for i, sign := range signNames {
		all = append(all, word(sign, func(e *row) string { return e.Signs[i] }))
	}
	return append(all,
		word("pain_site", func(e *row) string { return e.PainSite }),
		word("treatments", func(e *row) string { return e.Treatments }),
		word("orthosis_class", func(e *row) string { return e.OrthosisClass }),
		measure("orthosis_start", func(e *row) Measure { return e.OrthosisStart }),
		measure("vas_onset_mm", func(e *row) Measure { return e.VASOnset }),
		measure("training_lo", func(e *row) Measure { return e.Training.Low }),
		measure("training_hi", func(e *row) Measure { return e.Training.High }),
		measure("match_lo", func(e *row) Measure { return e.Match.Low }),
		measure("match_hi", func(e *row) Measure { return e.Match.High }),
		measure("painfree_lo", func(e *row) Measure { return e.Painfree.Low }),
		measure("painfree_hi", func(e *row) Measure { return e.Painfree.High }),
		word("end_type", func(e *row) string { return e.EndType }),
		count("end_day", func(e *row) int { return e.EndDay }))
}

func exposureColumns() []column[Exposure] {
	type row = Exposure
	return []column[row]{
		{"participant_id", func(e *row) dataset.WorkbookCell { return text(e.Participant) }},
		{"sport", func(e *row) dataset.WorkbookCell { return text(e.Sport) }},
		{"season", func(e *row) dataset.WorkbookCell { return text(e.Season) }},
		{"season_week", func(e *row) dataset.WorkbookCell { return whole(e.SeasonWeek) }},
		{"from_day", func(e *row) dataset.WorkbookCell { return whole(e.From) }},
		{"to_day", func(e *row) dataset.WorkbookCell { return whole(e.To) }},
		{"sessions_training", func(e *row) dataset.WorkbookCell { return e.SessionsTraining.cell() }},
		{"sessions_match", func(e *row) dataset.WorkbookCell { return e.SessionsMatch.cell() }},
		{"hours_training", func(e *row) dataset.WorkbookCell { return number(e.HoursTraining) }},
		{"hours_match", func(e *row) dataset.WorkbookCell { return number(e.HoursMatch) }},
	}
}

func visitColumns() []column[Visit] {
	type row = Visit
	measure := func(name string, of func(*row) Measure) column[row] {
		return column[row]{name, func(v *row) dataset.WorkbookCell { return of(v).cell() }}
	}
	all := []column[row]{
		{"visit_id", func(v *row) dataset.WorkbookCell { return text(v.ID) }},
		{"participant_id", func(v *row) dataset.WorkbookCell { return text(v.Participant) }},
		{"episode_id", func(v *row) dataset.WorkbookCell { return text(v.Episode) }},
		{"visit_day", func(v *row) dataset.WorkbookCell { return whole(v.Day) }},
		{"planned", func(v *row) dataset.WorkbookCell { return text(v.Planned) }},
		{"mode", func(v *row) dataset.WorkbookCell { return text(v.Mode) }},
		{"rater", func(v *row) dataset.WorkbookCell { return text(v.Rater) }},
		measure("vas_rest_mm", func(v *row) Measure { return v.VASRest }),
		measure("vas_sport_mm", func(v *row) Measure { return v.VASSport }),
		measure("nrs", func(v *row) Measure { return v.NRS }),
		measure("fps_r", func(v *row) Measure { return v.FPSR }),
	}
	for i, domain := range []string{"physical", "school", "emotional", "footwear"} {
		all = append(all, measure("ox_child_"+domain, func(v *row) Measure { return v.OxChild[i] }))
	}
	for i, domain := range []string{"physical", "school", "emotional", "footwear"} {
		all = append(all, measure("ox_parent_"+domain, func(v *row) Measure { return v.OxParent[i] }))
	}
	return append(all,
		column[row]{"play_status", func(v *row) dataset.WorkbookCell { return text(v.PlayStatus) }},
		measure("adherence_pct", func(v *row) Measure { return v.Adherence }))
}

package report

import (
	"bytes"
	_ "embed" // the page and its style
	"fmt"
	"html/template"
	"io"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset/harmless"
)

//go:embed page.css
var pageCSS string

//go:embed page.html
var pageHTML string

// Style is the style sheet of the report, for pages that look like it.
func Style() string { return pageCSS }

// Anchor is an id of the page that can stand in a link.
func Anchor(id string) string { return anchor(id) }

// notComputed is said wherever the run stopped before any estimate.
const notComputed = "Nothing was computed: findings in the data stopped the run before any estimate was made."

// page is the compiled page.
var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"anchor": anchor, "inc": func(i int) int { return i + 1 }, "held": hold,
}).Parse(pageHTML))

// A pageView is what the page is filled with.
type pageView struct {
	CSS         template.CSS
	Results     *result.Results
	Caution     string
	NotComputed string
	Summary     []summaryLine
	Flow        []flowTable
	Findings    Sheet
	Exceptions  Sheet
	Instruments Sheet
	Sections    []sectionView
	References  []result.Reference
}

// A summaryLine is one line of the summary.
type summaryLine struct{ Name, Value string }

// A sectionView is one analysis on the page.
type sectionView struct {
	result.Analysis
	KindWords  string
	Sheets     []Sheet
	Figures    []figureView
	Accounting []accountLine
	Cited      []citation
}

// Wide reports whether a sheet of the section wants a landscape page.
func (s sectionView) Wide() bool {
	return slices.ContainsFunc(s.Sheets, Sheet.Wide)
}

// A figureView is a drawing with its caption.
type figureView struct {
	ID, Caption string
	SVG         template.HTML
}

// An accountLine says how much did not enter, and why.
type accountLine struct{ N, What, Reason string }

// A citation points to the list of references.
type citation struct {
	Number int
	Key    string
}

// HTML writes the self-contained page. It needs no network and no script; its
// policy forbids both.
func HTML(w io.Writer, in Input) error {
	res := in.Results
	view := pageView{
		CSS: template.CSS(pageCSS), Results: res, Caution: in.caution(), NotComputed: notComputed, Flow: flowTables(res),
		Findings: findingsSheet(res.Findings, in.Findings), References: collectReferences(res),
		Exceptions: exceptionsSheet(res.Exceptions), Instruments: instrumentsSheet(res.Instruments),
	}
	for _, a := range res.Analyses {
		s, err := sectionOf(in, a, view.References)
		if err != nil {
			return err
		}
		view.Sections = append(view.Sections, s)
	}
	view.Summary = summary(res, view.Sections)
	var b bytes.Buffer
	if err := page.Execute(&b, view); err != nil {
		return err
	}
	_, err := w.Write(harmless.Page(b.Bytes()))
	return err
}

// sectionOf prepares one analysis.
func sectionOf(in Input, a result.Analysis, refs []result.Reference) (sectionView, error) {
	s := sectionView{Analysis: a, KindWords: kindWords(a.Kind), Sheets: sheetsOf(in.Results, a)}
	for _, id := range a.Figures {
		data, ok := in.Figures[id]
		if !ok {
			return s, fmt.Errorf("report: analysis %s: no figure %q", a.ID, id)
		}
		caption := figureCaption(a, id)
		drawing, err := inlineSVG(data, anchor(id)+"-", caption)
		if err != nil {
			return s, fmt.Errorf("report: figure %s: %w", id, err)
		}
		// inlineSVG lets nothing through but shapes and text.
		s.Figures = append(s.Figures, figureView{ID: id, Caption: caption, SVG: template.HTML(drawing)})
	}
	for _, line := range a.Accounting {
		n := dash
		if line.N.Present() {
			n = amount(float64(line.N))
		}
		s.Accounting = append(s.Accounting, accountLine{n, line.What, line.Reason})
	}
	for _, r := range a.References {
		for i := range refs {
			if refs[i] == r {
				s.Cited = append(s.Cited, citation{i + 1, r.Key})
			}
		}
	}
	return s, nil
}

// kindWords names a kind of analysis for readers.
func kindWords(kind string) string {
	switch kind {
	case "describe":
		return "description"
	case "incidence":
		return "incidence rates"
	case "time-to-event":
		return "time to event"
	case "recurrence":
		return "recurrent events"
	case "burden":
		return "burden of days lost"
	case "change":
		return "change over visits"
	}
	return kind
}

// timesCaptions are the captions of further figures of times to an event, by the
// ends of their ids.
var timesCaptions = map[string]string{
	"-incidence": ". Cumulative incidence of each end over time, with confidence bands; numbers are in the tables.",
	"-hazard":    ". Cumulative hazard over time, with confidence bands: its slope is the hazard; numbers are in the tables.",
	"-residuals": ". Hazard ratios as they seem to run in time, with confidence bands: level where a ratio is constant.",
	"-interval":  ". Share without the event over time, events being seen only between visits, by three readings; numbers are in the tables.",
}

// figureCaption says what a figure shows; it is also its text for those who
// cannot see it.
func figureCaption(a result.Analysis, id string) string {
	what := ""
	switch a.Kind {
	case "incidence":
		what = rateCaption(a, id)
	case "association":
		what = ". Estimates with confidence limits; the numbers are in the table."
	case "time-to-event":
		if strings.HasPrefix(id, a.ID+"-smooth") {
			what = ". Hazard ratios along a number against its reference, with confidence limits; those of the knots are in the table."
			break
		}
		if of, ok := timesCaptions[strings.TrimPrefix(id, a.ID)]; ok {
			what = of
			break
		}
		if strings.HasPrefix(id, a.ID+"-fitted") {
			what = ". Share without the event over time as observed, in steps, and by the parametric models; the models' limits are in the tables."
			break
		}
		if id == a.ID+"-adjusted" {
			what = ". Share without the event over time by the model, were all in each group, with confidence bands; numbers are in the tables."
			break
		}
		what = ". Share without the event over time, with confidence bands and the numbers at risk; the numbers are in the tables."
	case "agreement":
		what = ". Differences against means, with the mean difference and the limits of agreement and their confidence limits; the numbers are in the table."
	case "recurrence":
		what = ". Mean number of spells a child over time, with confidence bands and the numbers at risk; the numbers are in the tables."
		if strings.HasSuffix(id, "-states") {
			what = ". Share of the children in each state over time, the states stacked to 100%, and the numbers under observation; the numbers at the plan's days are in the tables."
		}
	case "change":
		what = ". Means at the visits by group, with confidence limits; the numbers are in the tables."
		if id != a.ID {
			what = ". Share that have not reached the threshold over time, as it was seen between visits; the numbers are in the tables."
		}
	default:
		what = "."
	}
	return a.Title + what
}

// rateCaption says what a figure of an incidence analysis shows.
func rateCaption(a result.Analysis, id string) string {
	switch {
	case id != a.ID && strings.HasSuffix(id, "-ratios"):
		return ". Rate ratios with confidence limits; the numbers are in the table."
	case id == a.ID && a.Setting("figure") == "heat-map":
		return ". Rates as shades, with the number of events; their confidence limits are in the table."
	}
	return ". Rates with confidence limits; the numbers are in the table."
}

// summary says what was read and what came of it.
func summary(res *result.Results, sections []sectionView) []summaryLine {
	lines := []summaryLine{{"Plan", res.Plan}, {"Codebook", res.Codebook}}
	kept := "analysed"
	if !res.Computed {
		kept = "left"
	}
	for _, t := range flowTables(res) {
		first, last := t.Steps[0], t.Steps[len(t.Steps)-1]
		value := first.Left + " rows read"
		if len(t.Steps) > 1 {
			value += ", " + last.Left + " " + kept
		}
		lines = append(lines, summaryLine{"Table " + t.Table, value})
	}
	names, totals := severities(res.Findings)
	found := "none"
	if len(names) > 0 {
		var parts []string
		for _, name := range names {
			parts = append(parts, printed.Plural(totals[name], name))
		}
		found = strings.Join(parts, ", ")
	}
	lines = append(lines, summaryLine{"Findings of validation", found})
	tables, figures := 0, 0
	for _, s := range sections {
		tables, figures = tables+len(s.Sheets), figures+len(s.Figures)
	}
	done := "nothing was computed"
	if res.Computed {
		done = printed.Plural(len(sections), "analysis") + ", " + printed.Plural(tables, "table") + ", " + printed.Plural(figures, "figure")
	}
	return append(lines, summaryLine{"Computed", done})
}

// A heldText is a text in two parts with a space between them, the only place
// where a line may end when the second is there.
type heldText struct{ Lead, Rest string }

// longestHeld is the longest text in bytes that is kept on one line: that of
// two limits in words.
const longestHeld = 40

// hold keeps the limits of an estimate, "(1.10 to 2.05)", and the "n (%)" or
// "(95% CI)" of a heading on one line.
func hold(text string) heldText {
	at := -1
	if strings.HasSuffix(text, ", n (%)") {
		at = len(text) - len(" n (%)")
	} else if strings.HasSuffix(text, ")") {
		at = strings.LastIndex(text, " (")
	}
	if at <= 0 || len(text)-at > longestHeld {
		return heldText{Lead: text}
	}
	return heldText{text[:at], text[at+1:]}
}

// anchor is an id that can stand in a link: letters, digits, - and _ stay,
// anything else is written by its number.
func anchor(id string) string {
	var b strings.Builder
	for _, r := range id {
		if r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' || r == '_' {
			b.WriteRune(r)
		} else {
			fmt.Fprintf(&b, ".%X.", r)
		}
	}
	return b.String()
}

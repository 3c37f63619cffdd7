package proposal

import (
	"math"
	"math/big"
	"regexp"
	"slices"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printedtable"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/cmd/heelcohort/internal/verdict"
)

// A seat is one number of a form: which measure of the row's neighbours it is,
// "" for the row itself, and which part.
type seat struct{ measure, part string }

// seatings are the ways in which the numbers of a form can be parts of results.
// The first measure named is the row's own.
var seatings = map[printedtable.Form][][]seat{
	printedtable.One: {
		{{"", "value"}}, {{"", "n"}}, {{"", "events"}}, {{"", "p"}}, {{"", "se"}}, {{"", "statistic"}}, {{"", "df"}}, {{"", "person_time"}},
	},
	printedtable.Pair: {
		{{"count", "value"}, {"percent", "value"}},
		{{"mean", "value"}, {"standard deviation", "value"}},
		{{"", "events"}, {"", "value"}},
		{{"", "value"}, {"", "se"}},
		{{"", "n"}, {"", "value"}},
	},
	printedtable.Fraction: {{{"", "events"}, {"", "n"}}},
	printedtable.Share:    {{{"", "events"}, {"", "n"}, {"", "value"}}},
	printedtable.Spread: {
		{{"", "lower"}, {"", "upper"}}, {{"lower quartile", "value"}, {"upper quartile", "value"}}, {{"minimum", "value"}, {"maximum", "value"}},
	},
	printedtable.Limits: {
		{{"", "value"}, {"", "lower"}, {"", "upper"}},
		{{"median", "value"}, {"lower quartile", "value"}, {"upper quartile", "value"}},
		{{"median", "value"}, {"minimum", "value"}, {"maximum", "value"}},
	},
	printedtable.LimitsP: {{{"", "value"}, {"", "lower"}, {"", "upper"}, {"", "p"}}},
}

// hints are words of headings that make a part likelier.
var hints = map[string][]string{
	"p": {"p"}, "se": {"se", "error"}, "events": {"event", "case", "death", "episode", "number"}, "n": {"children", "participant", "risk"},
	"statistic": {"chi", "statistic", "square"}, "person_time": {"hour", "year", "day", "time"}, "df": {"df", "freedom"},
}

// sizes are numbers of rows in headings, which name no result.
var sizes = regexp.MustCompile(`\b[nN]\s*=\s*[\d,. ]+`)

// drawn are parts that figures show; tables print the same numbers from others.
var drawn = map[string]bool{"curve": true, "adjusted curve": true, "smooth": true, "risk-table": true, "incidence": true, "points": true, "cells": true, "account": true}

// What agreement is worth beside labels, in units of a word's rarity.
const (
	perNumber = 2.0 // a value that is printed as the number
	perHint   = 1.5
	// perSeating is for the order of the ways to read a form; it is above margin,
	// so that the first of those that are equal otherwise wins.
	perSeating = 0.25
	least      = 2.0 // of labels, for a proposal without values
	margin     = 0.2 // to the next best
)

// Propose guesses the result of each number below the table's headings. Without
// values it goes by the labels alone.
func Propose(f *printedtable.File, res *result.Results, values bool) []printedtable.Address {
	list, rarity := subjects(res)
	find := map[string]*result.Row{}
	for i := range res.Rows {
		find[res.Rows[i].ID] = &res.Rows[i]
	}
	var out []printedtable.Address
	for _, t := range f.Tables {
		cells, contents := t.Body()
		for i, c := range cells {
			best := choose(list, rarity, find, contents[i], t.Heading(c), values)
			for n := range contents[i].Numbers {
				a := printedtable.Address{Sheet: t.Sheet, Row: c.Where.Row, Column: c.Where.Column, Number: n + 1, Printed: c.Text}
				if best != nil {
					a.Result, a.Part, a.Times, a.Because = best.rows[n].ID, best.parts[n], best.times[n], best.because
				}
				out = append(out, a)
			}
		}
	}
	return out
}

// A guess is a way to read a cell.
type guess struct {
	rows    []*result.Row
	parts   []string
	times   []string
	labels  float64
	score   float64
	because string
}

// choose finds the one best guess, nil where there is none.
func choose(list []subject, rarity map[string]float64, find map[string]*result.Row, content printedtable.Content, h printedtable.Heading, values bool) *guess {
	said := set(sizes.ReplaceAllString(h.All(), " "))
	var best, second *guess
	for i := range list {
		labels := likeness(list[i], said, rarity)
		if drawn[list[i].row.Part] {
			labels--
		}
		for order, seats := range seatings[content.Form] {
			g := seated(list[i].row, seats, find, content)
			if g == nil || !plausible(seats, content) {
				continue
			}
			g.labels, g.score = labels, labels-perSeating*float64(order)
			matched := 0
			for n, number := range content.Numbers {
				x := verdict.Part(g.rows[n], g.parts[n])
				times := 1.0
				if number.Percent && !verdict.InPercent(g.rows[n]) && verdict.Scaled(g.parts[n]) {
					times = 100
				}
				switch {
				case verdict.Nearest(number, x*times):
					matched++
				case values && verdict.Scaled(g.parts[n]) && verdict.Share(g.rows[n]) && !number.Percent && verdict.Nearest(number, x*100):
					g.times[n] = "100"
					matched++
				}
			}
			hinted := slices.ContainsFunc(hints[g.parts[0]], func(word string) bool { return said[word] })
			if hinted {
				g.score += perHint
			}
			if g.parts[0] != "value" && len(seats) == 1 && !hinted {
				g.score -= perHint // another part than the value, and nothing says so
			}
			all := matched == len(content.Numbers)
			if values {
				g.score += perNumber * float64(matched)
			}
			switch {
			case values && all && labels >= least:
				g.because = "labels and values"
			case values && all:
				g.because = "values alone"
			case labels >= least && named(list[i], said) && (g.parts[0] == "value" || hinted):
				g.because = "labels alone"
			default:
				continue
			}
			switch {
			case best == nil || g.score > best.score:
				best, second = g, best
			case second == nil || g.score > second.score:
				second = g
			}
		}
	}
	if best == nil || second != nil && best.score-second.score < margin && !same(best, second) {
		return nil
	}
	return best
}

// plausible reports whether counts are whole and P values are at most 1.
func plausible(seats []seat, content printedtable.Content) bool {
	for i, s := range seats {
		n := content.Numbers[i]
		switch s.part {
		case "n", "events", "df":
			if !n.Whole() || n.Percent {
				return false
			}
		case "p":
			if n.Value().Cmp(big.NewRat(1, 1)) > 0 || n.Percent {
				return false
			}
		}
	}
	return true
}

// named reports whether the headings say all that tells a row apart, by its
// value or its label.
func named(s subject, said map[string]bool) bool {
	all := func(text string) bool {
		words := wordsOf(text)
		for _, w := range words {
			if !said[w] {
				return false
			}
		}
		return len(words) > 0
	}
	for _, n := range s.names {
		if !all(n[0]) && !all(n[1]) {
			return false
		}
	}
	return len(s.names) > 0
}

// same reports whether two guesses are one, or the same row of two analyses with
// the same numbers: then the first will do.
func same(a, b *guess) bool {
	for i := range a.rows {
		x, y := *a.rows[i], *b.rows[i]
		x.Analysis, y.Analysis = "", ""
		if a.parts[i] != b.parts[i] || x.Address() != y.Address() || verdict.Part(&x, a.parts[i]) != verdict.Part(&y, b.parts[i]) {
			return false
		}
	}
	return true
}

// likeness is how well the headings name a row: words in common count by their
// rarity, what names the row and is not said counts half against it.
func likeness(s subject, said map[string]bool, rarity map[string]float64) float64 {
	total := 0.0
	var words []string
	for w := range s.specific {
		words = append(words, w)
	}
	for w := range s.general {
		if !s.specific[w] {
			words = append(words, w)
		}
	}
	slices.Sort(words) // sums of floats in one order
	for _, w := range words {
		switch {
		case said[w]:
			total += rarity[w]
		case s.specific[w]:
			total -= rarity[w] / 2
		}
	}
	return total
}

// seated places the form's numbers on a row and its neighbours, nil where they
// have no such parts.
func seated(row *result.Row, seats []seat, find map[string]*result.Row, content printedtable.Content) *guess {
	if len(seats) != len(content.Numbers) || seats[0].measure != "" && seats[0].measure != row.Measure {
		return nil
	}
	g := &guess{times: make([]string, len(seats))}
	for _, s := range seats {
		r := row
		if s.measure != "" && s.measure != row.Measure {
			other := *row
			other.Measure = s.measure
			if r = find[other.Address()]; r == nil {
				return nil
			}
		}
		if math.IsNaN(verdict.Part(r, s.part)) || len(seats) > 1 && (s.part == "n" || s.part == "events") && !verdict.Share(r) && !strings.Contains(r.Measure, "rate") {
			return nil
		}
		g.rows, g.parts = append(g.rows, r), append(g.parts, s.part)
	}
	return g
}

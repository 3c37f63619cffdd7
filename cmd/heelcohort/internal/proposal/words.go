package proposal

import (
	"math"
	"strings"
	"unicode"

	"heelcohort/cmd/heelcohort/internal/result"
)

// idle words say nothing about which result is meant.
var idle = map[string]bool{
	"of": true, "the": true, "and": true, "by": true, "to": true, "per": true, "in": true, "with": true, "or": true, "ci": true, "95": true,
	"vs": true, "at": true, "for": true, "a": true, "an": true, "on": true, "n": true, "no": true, "value": true, "limits": true,
}

// short are abbreviations with the words they stand for.
var short = map[string]string{
	"sd": "standard deviation", "se": "se", "rr": "risk ratio", "or": "odds ratio", "hr": "hazard ratio", "irr": "rate ratio",
	"boys": "male", "girls": "female", "men": "male", "women": "female",
}

// wordsOf takes a text apart into its words that tell.
func wordsOf(text string) (words []string) {
	for _, w := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
		if long, ok := short[w]; ok && (w != "or" || strings.Contains(text, "OR")) {
			words = append(words, strings.Fields(long)...)
			continue
		}
		if idle[w] {
			continue
		}
		if n := len(w); n > 3 && strings.HasSuffix(w, "s") && !strings.HasSuffix(w, "ss") {
			w = w[:n-1]
		}
		words = append(words, w)
	}
	return words
}

// A subject is a result row with the words that name it.
type subject struct {
	row      *result.Row
	specific map[string]bool // variable, term, groups, time
	names    [][2]string     // what tells it apart, each by its value or its label
	general  map[string]bool // measure, analysis
}

func set(texts ...string) map[string]bool {
	out := map[string]bool{}
	for _, text := range texts {
		for _, w := range wordsOf(text) {
			out[w] = true
		}
	}
	return out
}

// subjects lists the rows with their words, and how rare each word is.
func subjects(res *result.Results) (list []subject, rarity map[string]float64) {
	analyses := map[string]*result.Analysis{}
	for i := range res.Analyses {
		analyses[res.Analyses[i].ID] = &res.Analyses[i]
	}
	count := map[string]int{}
	for i := range res.Rows {
		r := &res.Rows[i]
		a := analyses[r.Analysis]
		if a == nil {
			a = &result.Analysis{}
		}
		var names [][2]string
		if r.Term != "" {
			level := r.Term
			if name, _, ok := a.LevelOf(r, r.Variable); ok {
				level = name
			}
			names = append(names, [2]string{level, a.LevelLabel(r.Variable, level)})
		}
		general := []string{r.Measure, a.Title, r.Analysis}
		switch {
		case r.Term != "" && r.Variable != "": // girls, without the word sex
			general = append(general, a.Described(r.Variable).Label)
		case r.Variable != "":
			names = append(names, [2]string{r.Variable, a.Described(r.Variable).Label})
		}
		for _, g := range r.Groups {
			names = append(names, [2]string{g.Level, a.LevelLabel(g.Variable, g.Level)})
		}
		if r.At.Present() {
			names = append(names, [2]string{r.At.String(), r.At.String()})
		}
		var specific []string
		for _, n := range names {
			specific = append(specific, n[:]...)
		}
		s := subject{r, set(specific...), names, set(general...)}
		for w := range s.specific {
			count[w]++
		}
		for w := range s.general {
			if !s.specific[w] {
				count[w]++
			}
		}
		list = append(list, s)
	}
	rarity = map[string]float64{}
	for w, n := range count {
		rarity[w] = math.Log(1 + float64(len(list))/float64(n))
	}
	return list, rarity
}

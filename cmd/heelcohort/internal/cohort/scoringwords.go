package cohort

import (
	"strconv"
	"strings"

	"heelcohort/codebook/value"
)

func num(x float64, err error) (value.Value, error) { return value.Num(x), err }

func str(s string, err error) (value.Value, error) { return value.Str(s), err }

func digits(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// numbers are the numbers of present operands.
func numbers(x []value.Value) []float64 {
	list := make([]float64, len(x))
	for i, v := range x {
		list[i] = v.Number
	}
	return list
}

// words gives the scoring a text with classes.
func (s *scoring) words(list []string) {
	s.variable.Kind, s.variable.Words, s.variable.Ordered = value.Text, list, true
	for _, w := range list {
		s.variable.Labels = append(s.variable.Labels, sentenceCase(strings.ReplaceAll(w, "_", " ")))
	}
}

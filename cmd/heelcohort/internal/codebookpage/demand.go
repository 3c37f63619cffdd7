package codebookpage

import (
	"fmt"
	"strings"

	"heelcohort/codebook"
	"heelcohort/codebook/expression"
)

// demand is what a rule asks of the rows, in few words.
func demand(r codebook.Rule) string {
	text := ""
	switch r.Kind {
	case codebook.KindUnique:
		text = "no two rows alike in " + strings.Join(r.Unique, ", ")
	case codebook.KindNoOverlap:
		text = fmt.Sprintf("no overlap of %s to %s", r.NoOverlap.From, r.NoOverlap.To)
		if len(r.NoOverlap.Within) > 0 {
			text += " within " + strings.Join(r.NoOverlap.Within, ", ")
		}
	case codebook.KindOrder:
		sign := " ≤ "
		if r.Order.Strict {
			sign = " < "
		}
		text = strings.Join(written(r.Order.Of), sign)
	case codebook.KindWithin:
		text = fmt.Sprintf("%s within %s to %s", strings.Join(written(r.Within.Days), ", "), limit(r.Within.From), limit(r.Within.To))
	case codebook.KindTotal:
		text = r.Total.Of + " = " + strings.Join(r.Total.Parts, " + ")
		if r.Total.How != "" {
			text = fmt.Sprintf("%s = %s of the rows of %s that link to it", r.Total.Of, strings.TrimSpace(r.Total.How+" "+r.Total.What.Value), r.Total.Table)
		}
		if r.Total.When.Value != "" {
			text += " and have " + r.Total.When.Value
		}
	case codebook.KindGroup:
		text = fmt.Sprintf("for each %s: %s", strings.Join(r.By, ", "), r.Check.Value)
	default:
		text = r.Check.Value
	}
	if r.Where.Value != "" {
		text += ", where " + r.Where.Value
	}
	return text
}

func written(variables []expression.Variable) []string {
	names := make([]string, len(variables))
	for i, v := range variables {
		names[i] = codebook.Written(v)
	}
	return names
}

// limit is the end of a range; one that is not given is open.
func limit(l *codebook.Limit) string {
	switch {
	case l == nil:
		return "any day"
	case l.Variable != nil:
		return codebook.Written(*l.Variable)
	}
	return l.Value.String()
}

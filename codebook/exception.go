package codebook

import (
	"strings"
	"unicode/utf8"

	"heelcohort/codebook/document"
	"heelcohort/codebook/identifier"
)

// leastReason is the number of characters of a reason.
const leastReason = 15

// An Exception says why a column that looks as if it named people does not, or
// may all the same. The zero value is none.
type Exception struct {
	Screens []string // names of the screens that the column is let through
	Reason  string
}

type rawException struct {
	Screens []document.String `doc:"screens,required" about:"Screens for identifiers that the variable is let through."`
	Reason  document.String   `doc:"reason,required" about:"Why that is right, in 15 characters or more."`
}

// exception checks a field's exception.
func (c *checker) exception(raw *rawException) Exception {
	if raw == nil {
		return Exception{}
	}
	if len(raw.Screens) == 0 {
		c.text(raw.Reason, "", "screens is empty, expected one of %s", strings.Join(identifier.Names(), ", "))
	}
	seen := map[string]document.Position{}
	for _, s := range raw.Screens {
		c.unique(seen, s, "screen")
		if _, known := identifier.Find(s.Value); !known {
			c.text(s, document.Nearest(s.Value, identifier.Names()), "unknown screen %q, expected one of %s", s.Value, strings.Join(identifier.Names(), ", "))
		}
	}
	if n := utf8.RuneCountInString(Bare(raw.Reason.Value)); n < leastReason {
		c.text(raw.Reason, "", "a reason of %d characters, expected a sentence of at least %d that readers of the report can judge", n, leastReason)
	}
	return Exception{Screens: texts(raw.Screens), Reason: Bare(raw.Reason.Value)}
}

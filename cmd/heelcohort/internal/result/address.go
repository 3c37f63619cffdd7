package result

import "strings"

// Address is the row's address, as rows.md documents it:
//
//	ANALYSIS/PART/VARIABLE=LEVEL,VARIABLE=LEVEL/VARIABLE:TERM/MEASURE@AT
//
// Empty parts are left out. Two rows with different keys have different
// addresses, because the signs that separate the parts are written as %XX
// where a name itself holds them: % and / everywhere; a comma that no space
// follows, and a leading space; = and : in names of variables; @ in measures.
// A level such as "[10, 12)" thus stands as it is.
func (r Row) Address() string {
	var b strings.Builder
	b.WriteString(escape(r.Analysis, ""))
	if r.Part != "" {
		b.WriteByte('/')
		b.WriteString(escape(r.Part, ""))
	}
	for i, g := range r.Groups {
		if i == 0 {
			b.WriteByte('/')
		} else {
			b.WriteByte(',')
		}
		b.WriteString(escape(g.Variable, "=:"))
		b.WriteByte('=')
		b.WriteString(escape(g.Level, ""))
	}
	if r.Variable != "" || r.Term != "" {
		b.WriteByte('/')
		b.WriteString(escape(r.Variable, "=:"))
		if r.Term != "" {
			b.WriteByte(':')
			b.WriteString(escape(r.Term, ""))
		}
	}
	b.WriteByte('/')
	b.WriteString(escape(r.Measure, "@"))
	if r.At.Present() {
		b.WriteByte('@')
		b.WriteString(r.At.String())
	}
	return b.String()
}

// escape writes the separators that s holds as %XX; also lists those that
// separate only where s stands.
func escape(s, also string) string {
	if !strings.ContainsAny(s, "%/, "+also) {
		return s
	}
	const digits = "0123456789ABCDEF"
	var b strings.Builder
	for i := range len(s) {
		c := s[i]
		hide := c == '%' || c == '/' || strings.IndexByte(also, c) >= 0
		hide = hide || c == ',' && (i+1 == len(s) || s[i+1] != ' ')
		hide = hide || c == ' ' && i == 0
		if hide {
			b.WriteByte('%')
			b.WriteByte(digits[c>>4])
			b.WriteByte(digits[c&15])
		} else {
			b.WriteByte(c)
		}
	}
	return b.String()
}

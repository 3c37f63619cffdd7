package delimited

import "strings"

// A Dialect is how a text is written. What is zero is detected, but for the
// quote, which is then the double quotation mark.
type Dialect struct {
	Encoding  string // one of Encodings
	Delimiter byte   // comma, semicolon, tab or bar
	Quote     byte   // double or single quotation mark
	LineEnd   string // "\n" or "\r\n" allow both; "\r" allows itself alone
	Undoubled bool   // a quote inside quotes cannot be written
}

// A Header is what is known beforehand of the header. It helps to find the
// separator.
type Header struct {
	Line  int      // line on which the header begins; below 1 is 1
	Names []string // columns that it should have
	Usual byte     // separator that the file's name promises; 0 is a comma
}

// A Found is how a text turned out to be written.
type Found struct {
	Encoding  string // one of Encodings
	Mark      bool   // a byte order mark stood at the beginning
	Delimiter byte
	Quote     byte
	LF        int  // lines that ended in a line feed alone, quoted ones left out
	CRLF      int  // in carriage return and line feed
	CR        int  // in a carriage return alone
	Named     bool // the first line named the separator ("sep=;") and is no record

	EncodingPinned, DelimiterPinned bool

	usual byte
}

// separators name the separators, in the order in which they are tried.
var separators = []struct {
	mark byte
	name string
}{
	{',', "commas"}, {';', "semicolons"}, {'\t', "tabs"}, {'|', "bars"},
}

// SeparatorName is the plural word for a separator.
func SeparatorName(mark byte) string {
	for _, s := range separators {
		if s.mark == mark {
			return s.name
		}
	}
	return "separators"
}

// separatorValue is a separator as it is written in a codebook.
func separatorValue(mark byte) string {
	if mark == '\t' {
		return `"\t"`
	}
	return `"` + string(rune(mark)) + `"`
}

// String says in a line how the text is written and whether that was pinned:
// "Windows-1252, semicolons, CRLF (detected; pin with encoding and dialect in
// the codebook)". Of UTF-8 with the usual separator nothing is said to be
// pinned, for nothing could have been misread.
func (f Found) String() string {
	var b strings.Builder
	b.WriteString(EncodingTitle(f.Encoding))
	if f.Mark && f.Encoding == "utf-8" {
		b.WriteString(" with byte order mark")
	}
	b.WriteString(", " + SeparatorName(f.Delimiter))
	if f.Quote == '\'' {
		b.WriteString(", single quotes")
	}
	if ends := f.ends(); ends != "" {
		b.WriteString(", " + ends)
	}
	if f.Named {
		b.WriteString("; the first line names the separator")
	}
	var detected, pinned []string
	note := func(odd, pin bool, name string) {
		switch {
		case pin:
			pinned = append(pinned, name)
		case odd:
			detected = append(detected, name)
		}
	}
	note(f.Encoding != "utf-8" && !f.Mark, f.EncodingPinned, "encoding")
	note(f.Delimiter != f.usual && !f.Named, f.DelimiterPinned, "dialect")
	switch {
	case len(detected) > 0:
		b.WriteString(" (detected; pin with " + strings.Join(detected, " and ") + " in the codebook)")
	case len(pinned) == 2:
		b.WriteString(" (pinned)")
	case len(pinned) == 1:
		b.WriteString(" (" + pinned[0] + " pinned)")
	}
	return b.String()
}

// ends names the line ends that were met.
func (f Found) ends() string {
	var names []string
	for _, e := range []struct {
		n    int
		name string
	}{{f.LF, "LF"}, {f.CRLF, "CRLF"}, {f.CR, "CR"}} {
		if e.n > 0 {
			names = append(names, e.name)
		}
	}
	if len(names) > 1 {
		return strings.Join(names, " and ") + " mixed"
	}
	return strings.Join(names, "")
}

package harmless

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// acts reports whether a character does something where it is shown: a control
// character other than tab and line feed, or one that turns the direction of
// writing or marks a byte order.
func acts(r rune) bool {
	switch {
	case r == '\t' || r == '\n':
		return false
	case r < ' ', r >= 0x7f && r <= 0x9f:
		return true
	case r == 0x061c, r == 0x200e, r == 0x200f, r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069:
		return true
	}
	return r == 0xfeff || r >= 0xfff9 && r <= 0xfffb
}

// Visible writes characters that act as codes: \x1b for a control character,
// \u202e for one that turns the direction of writing.
func Visible(text string) string {
	clean := true
	for _, r := range text {
		if acts(r) || r == utf8.RuneError {
			clean = false
			break
		}
	}
	if clean {
		return text
	}
	var b strings.Builder
	for i := 0; i < len(text); {
		r, n := utf8.DecodeRuneInString(text[i:])
		switch {
		case r == utf8.RuneError && n == 1:
			fmt.Fprintf(&b, `\x%02x`, text[i])
		case r == '\r':
			b.WriteString(`\r`)
		case acts(r) && r < 0x100:
			fmt.Fprintf(&b, `\x%02x`, r)
		case acts(r):
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteString(text[i : i+n])
		}
		i += n
	}
	return b.String()
}

// Line is Visible with line feeds and tabs visible too, so that a text stays on
// the line of the terminal that it is printed on.
func Line(text string) string {
	return strings.NewReplacer("\n", `\n`, "\t", `\t`, "\u2028", `\u2028`, "\u2029", `\u2029`).Replace(Visible(text))
}

// Terminal is a writer to a terminal. Each text written to it must end at the
// end of a character.
type Terminal struct{ w io.Writer }

// NewTerminal makes everything that is written to w visible.
func NewTerminal(w io.Writer) *Terminal { return &Terminal{w} }

// Write writes p with what acts made visible; line feeds and tabs stay.
func (t *Terminal) Write(p []byte) (int, error) {
	if _, err := io.WriteString(t.w, Visible(string(p))); err != nil {
		return 0, err
	}
	return len(p), nil
}

// Unwrap is the writer behind t.
func (t *Terminal) Unwrap() io.Writer { return t.w }

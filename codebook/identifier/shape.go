package identifier

// A shape is what one look over the bytes of a text tells of it.
type shape struct {
	digits, letters, upper, blanks, dots, colons, marks int
	at, plus, slash, dash, wide                         bool // wide: bytes beyond ASCII
}

// shapeOf looks over a text. Bytes beyond ASCII count as letters.
func shapeOf(text string) shape {
	var s shape
	for i := range len(text) {
		switch c := text[i]; {
		case c >= '0' && c <= '9':
			s.digits++
		case c >= 'a' && c <= 'z':
			s.letters++
		case c >= 'A' && c <= 'Z':
			s.letters++
			s.upper++
		case c >= 0x80:
			s.wide = true
			if c >= 0xc0 { // the first byte of a character
				s.letters++
			}
		case c == ' ' || c == '\t' || c == '\n' || c == '\r':
			s.blanks++
		case c == '.':
			s.dots++
		case c == ':':
			s.colons++
		case c == '@':
			s.at = true
		case c == '+':
			s.plus = true
			s.marks++
		case c == '/' || c == '\\':
			s.slash = true
			s.marks++
		case c == '-':
			s.dash = true
			s.marks++
		default:
			s.marks++
		}
	}
	return s
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func isLetter(c byte) bool { return c|0x20 >= 'a' && c|0x20 <= 'z' || c >= 0x80 }

// isWordByte reports whether c is a letter or a digit.
func isWordByte(c byte) bool { return isDigit(c) || isLetter(c) }

// isNumber reports whether a text is a decimal number, perhaps with a sign,
// and not an international phone number.
func isNumber(text string, s shape) bool {
	if s.digits == 0 || s.letters > 0 || s.dots+s.marks > 2 || s.blanks+s.colons > 0 || s.at || s.plus && s.digits >= 8 {
		return false
	}
	if s.digits == len(text) {
		return true
	}
	marks := 0
	for i := range len(text) {
		switch c := text[i]; {
		case isDigit(c):
		case (c == '-' || c == '+') && i == 0:
		case c == '.' || c == ',':
			marks++
		default:
			return false
		}
	}
	return marks <= 1
}

package delimited

import (
	"encoding/binary"
	"unicode/utf16"
	"unicode/utf8"
)

// order is the order of the bytes of an encoding.
func order(encoding string) binary.ByteOrder {
	if encoding == "utf-16be" {
		return binary.BigEndian
	}
	return binary.LittleEndian
}

// decodeUTF16 decodes UTF-16 and refuses half characters and zeros.
func decodeUTF16(data []byte, encoding string) ([]byte, *Error) {
	o := order(encoding)
	size := 0 // of the text: a pair of surrogates makes four bytes
	for i := 0; i+1 < len(data); i += 2 {
		switch r := o.Uint16(data[i:]); {
		case r < 0x80:
			size++
		case r < 0x800 || utf16.IsSurrogate(rune(r)):
			size += 2
		default:
			size += 3
		}
	}
	text := make([]byte, 0, size)
	bad := func(what string) *Error {
		return refuse(lineAt(text, len(text)), "%s; the file is damaged or not in %s", what, EncodingTitle(encoding))
	}
	for i := 0; i+1 < len(data); i += 2 {
		r := rune(o.Uint16(data[i:]))
		switch {
		case r == 0:
			return nil, bad("a zero character")
		case r == 0xfffe || r == 0xffff:
			return nil, bad("a character that no text has")
		case utf16.IsSurrogate(r):
			second := rune(0)
			if i+3 < len(data) {
				second = rune(o.Uint16(data[i+2:]))
			}
			if r = utf16.DecodeRune(r, second); r == utf8.RuneError {
				return nil, bad("half a character")
			}
			i += 2
		}
		text = utf8.AppendRune(text, r)
	}
	if len(data)%2 != 0 {
		return nil, bad("half a character at the end")
	}
	return text, nil
}

// utf16Order finds the order of the bytes of UTF-16 without a byte order mark,
// or "": the text must be sound in one order, consist for the half of ASCII
// characters and have a line end or a separator, and have none of these in the
// other order.
func utf16Order(data []byte) string {
	found := ""
	for _, encoding := range []string{"utf-16le", "utf-16be"} {
		if !looksUTF16(data, encoding) {
			continue
		}
		if found != "" {
			return ""
		}
		found = encoding
	}
	return found
}

func looksUTF16(data []byte, encoding string) bool {
	if len(data) < 4 || len(data)%2 != 0 {
		return false
	}
	o := order(encoding)
	ascii, marks := 0, 0
	for i := 0; i < len(data); i += 2 {
		switch r := o.Uint16(data[i:]); {
		case r == '\n' || r == '\r' || r == '\t' || r == ',' || r == ';' || r == '|':
			marks++
			ascii++
		case r < ' ' && r != 0x1a:
			return false
		case r < 0x80:
			ascii++
		}
	}
	return marks > 0 && ascii >= len(data)/4
}

package delimited

import (
	"bytes"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// pages are the encodings of one byte a character.
var pages = []struct {
	name, title string
	page        *charmap.Charmap
}{
	{"windows-1252", "Windows-1252", charmap.Windows1252},
	{"iso-8859-1", "ISO-8859-1", charmap.ISO8859_1},
	{"iso-8859-15", "ISO-8859-15", charmap.ISO8859_15},
	{"macintosh", "Macintosh", charmap.Macintosh},
	{"ibm850", "IBM 850", charmap.CodePage850},
	{"ibm437", "IBM 437", charmap.CodePage437},
	{"windows-1250", "Windows-1250", charmap.Windows1250},
	{"windows-1251", "Windows-1251", charmap.Windows1251},
	{"windows-1253", "Windows-1253", charmap.Windows1253},
	{"windows-1254", "Windows-1254", charmap.Windows1254},
	{"windows-1257", "Windows-1257", charmap.Windows1257},
	{"iso-8859-2", "ISO-8859-2", charmap.ISO8859_2},
}

// Encodings lists the names of the encodings that are read.
func Encodings() []string {
	names := []string{"utf-8", "utf-16", "utf-16le", "utf-16be"}
	for _, p := range pages {
		names = append(names, p.name)
	}
	return names
}

// EncodingTitle is an encoding's name for people.
func EncodingTitle(name string) string {
	switch name {
	case "utf-8":
		return "UTF-8"
	case "utf-16":
		return "UTF-16"
	case "utf-16le":
		return "UTF-16 little-endian"
	case "utf-16be":
		return "UTF-16 big-endian"
	}
	for _, p := range pages {
		if p.name == name {
			return p.title
		}
	}
	return name
}

// The byte order marks.
var marks = []struct {
	encoding string
	bytes    []byte
}{
	{"utf-8", []byte{0xef, 0xbb, 0xbf}},
	{"utf-32", []byte{0xff, 0xfe, 0, 0}}, // before utf-16le, with which it begins
	{"utf-32", []byte{0, 0, 0xfe, 0xff}},
	{"utf-16le", []byte{0xff, 0xfe}},
	{"utf-16be", []byte{0xfe, 0xff}},
}

// decode gives the text as UTF-8, without a byte order mark, and its encoding.
func decode(data []byte, pin string) (text []byte, encoding string, mark bool, err *Error) {
	for _, m := range marks {
		if !bytes.HasPrefix(data, m.bytes) {
			continue
		}
		switch {
		case m.encoding == "utf-32":
			return nil, "", false, refuse(0, "the text is in UTF-32, which is not read; save it as CSV UTF-8")
		case pin != "" && pin != m.encoding && (pin != "utf-16" || m.encoding == "utf-8"):
			return nil, "", false, refuse(1, "the file begins with the byte order mark of %s, the codebook says encoding %s; correct the codebook",
				EncodingTitle(m.encoding), pin)
		}
		text, err = decodeAs(data[len(m.bytes):], m.encoding)
		return text, m.encoding, true, err
	}
	encoding = pin
	if pin == "" || pin == "utf-16" {
		if encoding, err = detect(data, pin); err != nil {
			return nil, "", false, err
		}
	}
	text, err = decodeAs(data, encoding)
	return text, encoding, false, err
}

// detect finds the encoding of a text without a byte order mark.
func detect(data []byte, pin string) (string, *Error) {
	if zero := bytes.IndexByte(data, 0); zero >= 0 || pin == "utf-16" {
		if order := utf16Order(data); order != "" {
			return order, nil
		}
		if pin == "utf-16" {
			return "", refuse(1, "no byte order mark, and the order of the bytes cannot be told; say encoding utf-16le or utf-16be in the codebook")
		}
		return "", zeroByte(data, zero)
	}
	at := invalidUTF8(data)
	if at < 0 {
		return "utf-8", nil
	}
	if hasUTF8(data) {
		return "", refuse(lineAt(data, at), "byte %#02x is not valid UTF-8, though other letters of the file are in UTF-8; save the file as CSV UTF-8", data[at])
	}
	if err := western(data); err != nil {
		return "", err
	}
	return "windows-1252", nil
}

func zeroByte(data []byte, at int) *Error {
	return refuse(lineAt(data, at), "a zero byte; this is not a text file, or it is damaged")
}

// decodeAs decodes by one encoding and refuses all that it does not have.
func decodeAs(data []byte, encoding string) ([]byte, *Error) {
	switch encoding {
	case "utf-8":
		if at := invalidUTF8(data); at >= 0 {
			return nil, refuse(lineAt(data, at), "byte %#02x is not valid UTF-8; save the file as CSV UTF-8 or say its encoding in the codebook", data[at])
		}
		if at := bytes.IndexByte(data, 0); at >= 0 {
			return nil, zeroByte(data, at)
		}
		return data, nil
	case "utf-16le", "utf-16be":
		return decodeUTF16(data, encoding)
	}
	for _, p := range pages {
		if p.name == encoding {
			return decodePage(data, p.name, p.page)
		}
	}
	return nil, refuse(0, "encoding %q is not known", encoding)
}

// decodePage decodes an encoding of one byte a character. Control characters
// of the upper half stand for bytes without a meaning. A text that is valid
// UTF-8 with letters beyond ASCII was not meant as anything else.
func decodePage(data []byte, name string, page *charmap.Charmap) ([]byte, *Error) {
	if at := bytes.IndexByte(data, 0); at >= 0 {
		return nil, zeroByte(data, at)
	}
	size := 0
	for _, c := range data {
		size++
		if c >= 0x80 {
			size += utf8.RuneLen(page.DecodeByte(c)) - 1
		}
	}
	if size == len(data) {
		return data, nil
	}
	if utf8.Valid(data) {
		return nil, refuse(lineAt(data, firstHigh(data)), "the text is in UTF-8, the codebook says encoding %s; correct the codebook", name)
	}
	text := make([]byte, 0, size)
	for i, c := range data {
		r := page.DecodeByte(c)
		if c >= 0x80 && (r == utf8.RuneError || r >= 0x80 && r <= 0x9f) {
			return nil, refuse(lineAt(data, i), "byte %#02x has no meaning in %s; the file has another encoding, say which in the codebook", c, EncodingTitle(name))
		}
		text = utf8.AppendRune(text, r)
	}
	return text, nil
}

func firstHigh(data []byte) int {
	return bytes.IndexFunc(data, func(r rune) bool { return r >= 0x80 })
}

// invalidUTF8 is the index of the first byte that is not UTF-8, or -1.
func invalidUTF8(data []byte) int {
	if utf8.Valid(data) {
		return -1
	}
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return -1
}

// hasUTF8 reports whether a letter of several bytes lies in the text.
func hasUTF8(data []byte) bool {
	for i := 0; i < len(data); {
		if data[i] < utf8.RuneSelf {
			i++
			continue
		}
		_, n := utf8.DecodeRune(data[i:])
		if n > 1 {
			return true
		}
		i += n
	}
	return false
}

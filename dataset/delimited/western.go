package delimited

import (
	"bytes"
	"strings"

	"golang.org/x/text/encoding/charmap"
)

// A rival is an encoding in which text of western Europe may be kept in place
// of Windows-1252.
type rival struct {
	title, name string
	page        *charmap.Charmap
	letters     string // beyond ASCII, those that its texts use
	first       string // first word that it reads as a word, otherwise than Windows-1252
	line        int    // of that word
	beaten      bool   // it reads some word as none
	possessive  bool   // all such words so far are English with 's
	words       map[string]bool
}

// windows1252 leaves out letters that other encodings' letters turn into more
// often than they are meant.
const windows1252 = "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÐÑÒÓÔÕÖØÙÚÛÜÝÞßàáâãäåæçèéêëìíîïðñòóôõöøùúûüýþŠšŽžŒœ"

func rivals() []*rival {
	return []*rival{
		{
			title: "Macintosh", name: "macintosh", page: charmap.Macintosh, possessive: true, words: map[string]bool{},
			letters: "ÄÅÇÉÑÖÜáàâäãåçéèêëíìîïñóòôöõúùûüßÆØæøÀÃÕŒœÂÊÁËÈÍÎÏÌÓÔÒÚÛÙ",
		},
		{
			title: "IBM 850", name: "ibm850", page: charmap.CodePage850, possessive: true, words: map[string]bool{},
			letters: "çüéâäàåêëèïîìÄÅÉæÆôöòûùÖÜøØáíóúñÑßã",
		},
	}
}

// western reports whether text that is not UTF-8 can only be Windows-1252; the
// error names the first word that speaks against it. Three things must hold:
// no byte is one of the five that Windows-1252 leaves undefined; every word
// reads as one (see soundWord); and Macintosh and IBM 850, whose accented
// letters are other letters or marks in Windows-1252, each fail to read some
// word.
//
// Windows-1250, 1254 and ISO-8859-15 have their common letters at the same
// bytes and cannot be told from it; that the encoding is printed, and that
// words with foreign letters match no category, must do for them.
func western(data []byte) *Error {
	others := rivals()
	seen := make(map[string]bool) // words that were weighed, the first of them
	for at := 0; at < len(data); {
		if !wordBytes[data[at]] {
			at++
			continue
		}
		end, high := at, -1
		for ; end < len(data) && wordBytes[data[end]]; end++ {
			if data[end] >= 0x80 && high < 0 {
				high = end
			}
		}
		word := data[at:end]
		at = end
		if high < 0 || seen[string(word)] {
			continue
		}
		if len(word) > maxWord {
			return refuse(lineAt(data, high), "byte %#02x is not valid UTF-8, and the word around it has %d letters; say the file's encoding in the codebook", data[high], len(word))
		}
		if len(seen) < maxSeen {
			seen[string(word)] = true
		}
		for _, c := range word {
			if bytes.IndexByte([]byte{0x81, 0x8d, 0x8f, 0x90, 0x9d}, c) >= 0 {
				return refuse(lineAt(data, high), "byte %#02x is not valid UTF-8 and has no meaning in Windows-1252; say the file's encoding in the codebook (macintosh or ibm850 perhaps)%s", c, readings(word))
			}
		}
		text := decodeWord(word, charmap.Windows1252)
		if !soundWord(text, windows1252, false) {
			return refuse(lineAt(data, high), "byte %#02x is not valid UTF-8, and as Windows-1252 the word reads %q, which it can hardly be; say the file's encoding in the codebook%s", data[high], shorten(text), readings(word))
		}
		for _, r := range others {
			r.weigh(data, word, text, high)
		}
	}
	for _, r := range others {
		if r.first != "" && !r.beaten && (!r.possessive || len(r.words) < 3) {
			return refuse(r.line, "the text is not UTF-8 and could be read in two ways: %s; say which in the codebook, encoding: windows-1252 or encoding: %s", r.first, r.name)
		}
	}
	return nil
}

// weigh tries one word that Windows-1252 reads as text.
func (r *rival) weigh(data, word []byte, text string, high int) {
	if r.beaten {
		return
	}
	other := decodeWord(word, r.page)
	if other == text {
		return
	}
	if !soundWord(other, r.letters, true) || contraction(text) {
		r.beaten = true
		return
	}
	if r.first == "" {
		r.first = quoteShort(text) + " in Windows-1252 or " + quoteShort(other) + " in " + r.title
		r.line = lineAt(data, high)
	}
	r.possessive = r.possessive && strings.HasSuffix(text, "’s") && strings.Count(text, "’") == 1
	if len(r.words) < 3 {
		r.words[strings.ToLower(text)] = true
	}
}

// contraction reports words that no other language than English ends so.
func contraction(text string) bool {
	return strings.HasSuffix(text, "n’t") || strings.HasSuffix(text, "’ll") || strings.HasSuffix(text, "’ve")
}

// wordBytes are the bytes that belong to a word: letters, digits and all that
// is not ASCII.
var wordBytes = func() (in [256]bool) {
	for c := range in {
		in[c] = c >= 0x80 || c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9'
	}
	return in
}()

func decodeWord(word []byte, page *charmap.Charmap) string {
	var b strings.Builder
	for _, c := range word {
		b.WriteRune(page.DecodeByte(c))
	}
	return b.String()
}

// readings tells how other encodings read a word.
func readings(word []byte) string {
	var parts []string
	for _, r := range rivals() {
		if text := decodeWord(word, r.page); soundWord(text, r.letters, true) {
			parts = append(parts, quoteShort(text)+" in encoding "+r.name)
		}
	}
	if parts == nil {
		return ""
	}
	return ": it is " + strings.Join(parts, ", ")
}

func shorten(text string) string {
	if r := []rune(text); len(r) > 30 {
		return string(r[:30]) + "…"
	}
	return text
}

func quoteShort(text string) string { return `"` + shorten(text) + `"` }

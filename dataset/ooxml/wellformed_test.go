package ooxml

import (
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// wellFormed reads a document with the standard library's decoder.
func wellFormed(document string) error {
	d := xml.NewDecoder(strings.NewReader(document))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// scan reads a document with the scanner and gives the text in it.
func scan(document string) (string, error) {
	s := newScanner("x", strings.NewReader(document), mainSpace)
	var b strings.Builder
	for {
		t, err := s.next()
		if err != nil || t == endOfPart {
			return b.String(), err
		}
		if t == charData {
			b.Write(s.text)
		}
	}
}

// decoded is the text that the standard library's decoder finds.
func decoded(document string) (string, error) {
	d := xml.NewDecoder(strings.NewReader(document))
	var b strings.Builder
	for {
		t, err := d.Token()
		if errors.Is(err, io.EOF) {
			return b.String(), nil
		}
		if err != nil {
			return "", err
		}
		if c, ok := t.(xml.CharData); ok {
			b.Write(c)
		}
	}
}

// Documents put together from pieces, sound and faulty: what the standard
// decoder refuses is refused, and what both accept has the same text.
func TestScannerAgainstDecoder(t *testing.T) {
	pieces := []string{"<a>", "</a>", "<b/>", "<b c='1' d=\"2\">", "</b>", "x", " ", "\n", "\r\n", "\r", "&amp;", "&#65;", "&#xd800;", "&x;", "&", "<", ">", "]]>", "]]", "<![CDATA[", "<!--", "-->", "--", "<?p ", "?>", "ä", "\xff", "\x01", "\"", "'", "=", "<a b=\"&lt;\" c=''/>", "<a b b=''/>", "<p:a xmlns:p='u'/>", strings.Repeat("long ", 10_000), strings.Repeat("ä&gt;", 9_000)}
	accepted := 0
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString("<r>")
		open := []string{}
		for range rapid.IntRange(0, 12).Draw(t, "pieces") {
			if rapid.IntRange(0, 2).Draw(t, "sound") > 0 {
				switch rapid.IntRange(0, 5).Draw(t, "which") {
				case 0:
					b.WriteString("<a>")
					open = append(open, "a")
				case 1:
					if n := len(open); n > 0 {
						b.WriteString("</" + open[n-1] + ">")
						open = open[:n-1]
					}
				case 2:
					b.WriteString("<![CDATA[&<]]>")
				default:
					b.WriteString(rapid.SampledFrom([]string{"x", " ", "\r\n", "&amp;", "ä", "<b c='1'/>", "<!-- c -->", "<?p q?>", pieces[len(pieces)-1], pieces[len(pieces)-2]}).Draw(t, "text"))
				}
				continue
			}
			b.WriteString(rapid.SampledFrom(pieces).Draw(t, "piece"))
		}
		for i := len(open) - 1; i >= 0; i-- {
			b.WriteString("</" + open[i] + ">")
		}
		b.WriteString("</r>")
		document := b.String()
		got, err := scan(document)
		want, wantErr := decoded(document)
		if err == nil && wantErr != nil {
			t.Fatalf("%.200q was accepted, but %v", document, wantErr)
		}
		if err == nil {
			accepted++
			if got != want {
				t.Fatalf("%.200q has the text %.200q, want %.200q", document, got, want)
			}
		}
	})
	if accepted == 0 {
		t.Error("no document was accepted")
	}
}

// Sound documents of every sort are accepted whatever the reader gives at once.
func TestScannerPieces(t *testing.T) {
	document := "\ufeff<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<!-- c --><r a='" + strings.Repeat("v", 100_000) + "'><b>" +
		strings.Repeat("ä&amp;]]\r\n", 20_000) + "</b ><c\n/></r>\n<!-- end -->"
	want := strings.Repeat("ä&]]\n", 20_000)
	for _, size := range []int{1, 2, 3, 7, 1000, 1 << 20} {
		s := newScanner("x", &slow{document, size}, mainSpace)
		var b strings.Builder
		for {
			k, err := s.next()
			if err != nil {
				t.Fatalf("%d at once: %v", size, err)
			}
			if k == endOfPart {
				break
			}
			if k == charData {
				b.Write(s.text)
			}
		}
		if b.String() != want {
			t.Errorf("%d at once: the text differs", size)
		}
	}
}

// slow gives a few bytes at once.
type slow struct {
	left string
	size int
}

func (s *slow) Read(b []byte) (int, error) {
	if s.left == "" {
		return 0, io.EOF
	}
	n := copy(b[:min(len(b), s.size)], s.left)
	s.left = s.left[n:]
	return n, nil
}

package delimited

import (
	"encoding/csv"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// plain reads text the slow way: line ends are made one, then characters are
// taken one after the other. It gives the line of the fault, or 0.
func plain(text string, delimiter, quote rune) (rows []row, fault int) {
	text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	chars := []rune(text)
	line := 1
	for i := 0; i < len(chars); {
		if chars[i] == '\n' {
			i++
			line++
			continue
		}
		r := row{Line: line}
		for {
			cell := ""
			if i < len(chars) && chars[i] == quote {
				opened := line
				i++
				for {
					if i >= len(chars) {
						return rows, opened
					}
					if chars[i] == quote && i+1 < len(chars) && chars[i+1] == quote {
						cell += string(quote)
						i += 2
						continue
					}
					if chars[i] == quote {
						i++
						break
					}
					if chars[i] == '\n' {
						line++
					}
					cell += string(chars[i])
					i++
				}
				if i < len(chars) && chars[i] != delimiter && chars[i] != '\n' {
					return rows, line
				}
			} else {
				for i < len(chars) && chars[i] != delimiter && chars[i] != '\n' {
					if chars[i] == quote {
						return rows, line
					}
					cell += string(chars[i])
					i++
				}
			}
			r.Cells = append(r.Cells, cell)
			if i >= len(chars) || chars[i] == '\n' {
				break
			}
			i++ // the separator
		}
		rows = append(rows, r)
		if i < len(chars) {
			i++
			line++
		}
	}
	return rows, 0
}

// someText is text of the characters that matter.
func someText(ends ...string) *rapid.Generator[string] {
	parts := append([]string{"a", "b", "é", "€", "𝄞", " ", ",", ";", "\t", `"`, `"`, "'", "x,y", `"q"`, `""`}, ends...)
	return rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOfN(rapid.SampledFrom(parts), 0, 40).Draw(t, "parts"), "")
	})
}

// The reader agrees with the plain one on any text, faults included.
func TestAgainstPlain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := someText("\n", "\n", "\r\n", "\r", "\n\n").Draw(t, "text")
		delimiter := rapid.SampledFrom([]byte{',', ';', '\t', '|'}).Draw(t, "delimiter")
		quote := rapid.SampledFrom([]byte{'"', '\''}).Draw(t, "quote")
		got, _, err := readAll([]byte(text), Dialect{Encoding: "utf-8", Delimiter: delimiter, Quote: quote}, Header{})
		want, fault := plain(text, rune(delimiter), rune(quote))
		var e *Error
		if errors.As(err, &e) && strings.Contains(e.Message, "one column") {
			return // cells are as they are, but doubtful
		}
		if (err != nil) != (fault != 0) || e != nil && e.Line != fault {
			t.Fatalf("error %v, want line %d", err, fault)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatal(diff)
		}
	})
}

// The reader agrees with encoding/csv where that knows the line ends.
func TestAgainstStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := someText("\n", "\n", "\r\n", "\n\n").Draw(t, "text")
		got, _, err := readAll([]byte(text), Dialect{Encoding: "utf-8", Delimiter: ';'}, Header{})
		r := csv.NewReader(strings.NewReader(text))
		r.Comma, r.FieldsPerRecord = ';', -1
		var want []row
		for {
			cells, e := r.Read()
			if errors.Is(e, io.EOF) {
				if err != nil {
					t.Fatalf("error %v, want none", err)
				}
				break
			}
			if e != nil {
				if err == nil {
					t.Fatalf("no error, want %v", e)
				}
				break
			}
			line, _ := r.FieldPos(0)
			want = append(want, row{line, slices.Clone(cells)})
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatal(diff)
		}
	})
}

// Random records, written in a random way and read back, are the same; pinned
// always, and detected where the header's names are known.
func TestRoundTrip(t *testing.T) {
	letters := []string{"a", "Z", "9", "é", "ü", "Å", " ", ",", ";", "\t", "|", `"`, "'", "\n", "-", "=", "°"}
	cell := rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOfN(rapid.SampledFrom(letters), 0, 8).Draw(t, "cell"), "")
	})
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.IntRange(2, 5).Draw(t, "width")
		head := []string{"id", "age", "sex", "side", "day"}
		rows := [][]string{head[:width]}
		rows = append(rows, rapid.SliceOfN(rapid.SliceOfN(cell, width, width), 0, 6).Draw(t, "rows")...)
		d := Dialect{
			Encoding:  rapid.SampledFrom([]string{"utf-8", "utf-16le", "utf-16be", "windows-1252", "iso-8859-1", "macintosh"}).Draw(t, "encoding"),
			Delimiter: rapid.SampledFrom([]byte{',', ';', '\t', '|'}).Draw(t, "delimiter"),
			Quote:     rapid.SampledFrom([]byte{'"', '\''}).Draw(t, "quote"),
		}
		mark := rapid.Bool().Draw(t, "mark")
		end := rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "end")
		always := func() bool { return rapid.Bool().Draw(t, "always") }
		data, ok := encode(write(rows, d.Delimiter, d.Quote, end, always), d.Encoding, mark)
		if !ok {
			t.Skip("not of the encoding")
		}
		if page := d.Encoding != "utf-8" && !strings.HasPrefix(d.Encoding, "utf-16"); page && firstHigh(data) >= 0 && utf8.Valid(data) {
			t.Skip("bytes that happen to be UTF-8")
		}
		check := func(d Dialect) {
			got, found, err := readAll(data, d, Header{Names: rows[0]})
			if err != nil {
				if firstHigh(data) >= 0 && d.Encoding != "utf-8" && !strings.HasPrefix(d.Encoding, "utf-16") && strings.Contains(err.Error(), "UTF-8") {
					return // no words
				}
				t.Fatal(err)
			}
			if len(got) != len(rows) {
				t.Fatalf("%d records, want %d (%v)", len(got), len(rows), found)
			}
			for i := range rows {
				if diff := cmp.Diff(rows[i], got[i].Cells); diff != "" {
					t.Fatal(diff)
				}
			}
		}
		check(d)
		if d.Delimiter != '|' {
			check(Dialect{Encoding: d.Encoding, Quote: d.Quote})
		}
		if d.Encoding == "utf-8" || strings.HasPrefix(d.Encoding, "utf-16") || d.Encoding == "windows-1252" {
			check(Dialect{Delimiter: d.Delimiter, Quote: d.Quote})
		}
	})
}

// FuzzRead holds the reader against the plain one on any bytes in any dialect;
// without pins it must not fail but by an *Error, and lines must go up.
func FuzzRead(f *testing.F) {
	for _, s := range []string{
		"a,b\n1,2\n", "a;b\r\n\r\n\"x\ny\";2\r\n", "\n\na\n", "\"\"\n", "a,\"b\"\"c\"\n\n\n1,2", "sep=;\na;b\n", "\xff\xfea\x00,\x00b\x00\n\x00",
		"a\x00\n\x00", "M\xfcller,2\r", "\x1a", "a\"b", "\"a", "\ufeffa\tb\n",
	} {
		f.Add([]byte(s), byte(0), byte(0))
	}
	f.Fuzz(func(t *testing.T, data []byte, pins, names byte) {
		d := Dialect{Quote: '"'}
		if pins&1 != 0 {
			d.Encoding = Encodings()[int(pins>>4)%len(Encodings())]
		}
		if pins&2 != 0 {
			d.Delimiter = ",;\t|"[pins>>6]
		}
		if pins&4 != 0 {
			d.Quote = '\''
		}
		known := []string{"a", "b"}
		r, err := NewReader(data, d, Header{Names: known[:names%3], Line: int(names) % 4})
		var e *Error
		if err != nil {
			if !errors.As(err, &e) {
				t.Fatalf("error %v is no Error", err)
			}
			return
		}
		text, first := string(r.text), r.at
		want, fault := plain(text[first:], rune(r.found.Delimiter), rune(d.Quote))
		skipped := r.line - 1
		last := 0
		for i := 0; ; {
			record, err := r.Read()
			if errors.Is(err, io.EOF) {
				if fault != 0 || i != len(want) {
					t.Fatalf("%d records, want %d and a fault on line %d", i, len(want), fault)
				}
				_ = r.Found().String()
				return
			}
			if err != nil {
				if !errors.As(err, &e) {
					t.Fatalf("error %v is no Error", err)
				}
				if fault != 0 && e.Line != fault+skipped {
					t.Fatalf("error %v, want line %d", err, fault+skipped)
				}
				return
			}
			if record.Line <= last {
				t.Fatalf("line %d after line %d", record.Line, last)
			}
			last = record.Line
			if record.Cells == nil {
				continue
			}
			if i >= len(want) || record.Line != want[i].Line+skipped || !slices.Equal(record.Cells, want[i].Cells) {
				t.Fatalf("record %d is %q on line %d, want %v", i, record.Cells, record.Line, want[i])
			}
			i++
		}
	})
}

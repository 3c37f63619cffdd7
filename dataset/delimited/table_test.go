package delimited

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// table has a head and 12 rows with everything that a cell may hold: decimal
// commas, separators, quotes, line ends, blanks, letters beyond ASCII.
var table = [][]string{
	{"participant_id", "name", "height_cm", "seen", "note"},
	{"SM-0001", "Müller", "141,5", "2024-03-01", "plain"},
	{"SM-0002", "Jørgensen", "150", "2024-03-02", ""},
	{"SM-0003", "O'Leary", "149,25", "", "comma, semicolon; bar | tab\there"},
	{"SM-0004", "Núñez", "", "2024-03-04", "two\nlines"},
	{"SM-0005", "García", "138,0", "2024-03-05", "\"quoted\""},
	{"SM-0006", "Élise", "NM", "2024-03-06", "  blanks  "},
	{"SM-0007", "Åsa", "160", "2024-03-07", "three\n\nlines with an empty one"},
	{"SM-0008", "François", "161,75", "2024-03-08", "37 °C, 5 µg, ½ h"},
	{"SM-0009", "Weiß", "155", "2024-03-09", "'single'"},
	{"SM-0010", "Noël", "152", "2024-03-10", "\n"},
	{"SM-0011", "Bo", "-1", "2024-03-11", "=1+1"},
	{"SM-0012", "Zoë", "158,5", "2024-03-12", "x\n"},
}

// lines are those on which the records of table begin, counted by hand.
var lines = []int{1, 2, 3, 4, 5, 7, 8, 9, 12, 13, 14, 16, 17}

var everyEnd = map[string]string{"LF": "\n", "CRLF": "\r\n", "CR": "\r"}

func wanted() []row {
	var want []row
	for i, cells := range table {
		want = append(want, row{lines[i], cells})
	}
	return want
}

// The same table in every encoding, with every separator and every line end
// gives the same cells on the same lines, pinned or detected.
func TestSameTable(t *testing.T) {
	header := Header{Names: []string{"participant_id", "name", "height_cm", "seen", "note"}}
	n := 0
	for _, e := range []struct {
		name     string
		mark     bool
		detected bool
	}{
		{"utf-8", false, true},
		{"utf-8", true, true},
		{"utf-16le", true, true},
		{"utf-16be", true, true},
		{"utf-16le", false, true},
		{"utf-16be", false, true},
		{"windows-1252", false, true},
		{"iso-8859-1", false, true},  // reads the same as Windows-1252
		{"iso-8859-15", false, true}, // so does this, but for ½
		{"macintosh", false, false},
		{"ibm850", false, false},
	} {
		for _, delimiter := range []byte{',', ';', '\t', '|'} {
			for endName, end := range everyEnd {
				for _, always := range []bool{false, true} {
					text := write(table, delimiter, '"', end, func() bool { return always })
					if e.name == "iso-8859-15" || e.name == "macintosh" {
						text = strings.ReplaceAll(text, "½", "-")
					}
					data, ok := encode(text, e.name, e.mark)
					if !ok {
						t.Fatalf("the table is not of %s", e.name)
					}
					want := wanted()
					if e.name == "iso-8859-15" || e.name == "macintosh" {
						want[8].Cells = append([]string{}, want[8].Cells...)
						want[8].Cells[4] = "37 °C, 5 µg, - h"
					}
					check := func(d Dialect) {
						t.Helper()
						got, found, err := readAll(data, d, header)
						if err != nil {
							t.Fatalf("%s, mark %v, %q, %s: %v", e.name, e.mark, delimiter, endName, err)
						}
						if diff := cmp.Diff(want, got); diff != "" {
							t.Fatalf("%s, mark %v, %q, %s:\n%s", e.name, e.mark, delimiter, endName, diff)
						}
						if found.Delimiter != delimiter || !strings.Contains(found.String(), endName) {
							t.Errorf("found %+v, want %q and %s", found, delimiter, endName)
						}
						n++
					}
					for _, end := range []string{"", end} {
						check(Dialect{Encoding: e.name, Delimiter: delimiter, LineEnd: end})
						if e.detected {
							check(Dialect{Delimiter: delimiter, LineEnd: end})
						}
						if delimiter != '|' {
							check(Dialect{Encoding: e.name, LineEnd: end})
						}
						if e.detected && delimiter != '|' {
							check(Dialect{LineEnd: end})
						}
					}
					if !e.detected {
						if _, _, err := readAll(data, Dialect{}, header); err == nil {
							t.Errorf("%s was read without a pin", e.name)
						}
					}
				}
			}
		}
	}
	if n < 1000 {
		t.Errorf("%d readings", n)
	}
}

// Single quotes, and quotes that are never doubled.
func TestQuotes(t *testing.T) {
	header := Header{Names: table[0]}
	for _, end := range everyEnd {
		got, _, err := readAll([]byte(write(table, ';', '\'', end, func() bool { return false })), Dialect{Quote: '\''}, header)
		if diff := cmp.Diff(wanted(), got); err != nil || diff != "" {
			t.Errorf("%v\n%s", err, diff)
		}
	}
	got, _, err := readAll([]byte("a,b\n\"x\ny\",\"\"\n"), Dialect{Undoubled: true}, Header{})
	if diff := cmp.Diff([]row{{1, []string{"a", "b"}}, {2, []string{"x\ny", ""}}}, got); err != nil || diff != "" {
		t.Errorf("%v\n%s", err, diff)
	}
	_, _, err = readAll([]byte("a,b\n1,\"x\"\"y\"\n"), Dialect{Undoubled: true}, Header{})
	wantError(t, err, 2, 2, "doubleQuote false")
}

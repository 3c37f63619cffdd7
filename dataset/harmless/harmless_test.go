package harmless

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"
)

// nasty draws texts full of what acts.
func nasty() *rapid.Generator[string] {
	return rapid.StringOf(rapid.OneOf(
		rapid.SampledFrom([]rune("=+-@\t\r\n;,\"' 0123.aé\x1b\x07\x00\x7f\u009b\u202e\u2066\u2069\u200e\u200f\u2028\ufeff＝<>&")), rapid.Rune(),
	))
}

func TestVisible(t *testing.T) {
	for text, want := range map[string]string{
		"plain é\t\n":      "plain é\t\n",
		"\x1b[31mred\x07":  `\x1b[31mred\x07`,
		"a\u202eb\u2066c":  `a\u202eb\u2066c`,
		"\r\n":             "\\r\n",
		"\xff\u009b\ufeff": `\xff\x9b\ufeff`,
		"\u200e\u200f":     `\u200e\u200f`,
	} {
		if got := Visible(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
	if got := Line("a\nb\t"); got != `a\nb\t` {
		t.Error(got)
	}
}

func TestCSV(t *testing.T) {
	for text, want := range map[string]string{
		"-1.5": "-1.5", "+3": "+3", "1e-5": "1e-5", "-": "'-", "-9 to 2": "'-9 to 2", "=1+1": "'=1+1", "@SUM(A1)": "'@SUM(A1)",
		" =1": "' =1", "\t=1": "'\t'=1", "a;=1": "a;'=1", "a\n+x": "a\n'+x", "a;-5": "a;-5", "＝1": "'＝1", "a=1": "a=1", "": "",
		"\r=1": `\r=1`, "'=1": "'=1", "--5": "'--5", "sex=f; age=-5": "sex=f; age=-5",
	} {
		if got := CSV(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// No field of a file written through CSV begins as a formula, split at commas
// or at semicolons, and nothing acts.
func TestCSVFile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fields := rapid.SliceOfN(nasty(), 2, 4).Draw(t, "fields")
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		var out []string
		for _, f := range fields {
			out = append(out, CSV(f))
		}
		if err := w.Write(out); err != nil {
			t.Fatal(err)
		}
		w.Flush()
		read, err := csv.NewReader(&b).Read()
		if err != nil {
			t.Fatal(err)
		}
		for _, field := range read {
			for _, part := range strings.FieldsFunc(field, func(r rune) bool { return r == ';' || r == '\n' || r == '\t' }) {
				bare := strings.TrimSpace(part)
				if _, err := strconv.ParseFloat(bare, 64); err != nil && bare != "" && strings.ContainsRune("=+-@＝＋－＠", []rune(bare)[0]) {
					t.Errorf("%q holds a formula", field)
				}
			}
			if strings.IndexFunc(field, func(r rune) bool {
				return r != '\n' && r != '\t' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r))
			}) >= 0 {
				t.Errorf("%q acts", field)
			}
		}
	})
}

// What a terminal gets has no control character but line feeds and tabs.
func TestTerminal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := nasty().Draw(t, "text")
		var b bytes.Buffer
		n, err := NewTerminal(&b).Write([]byte(text))
		if err != nil || n != len(text) {
			t.Fatal(n, err)
		}
		if strings.IndexFunc(b.String(), func(r rune) bool {
			return r != '\n' && r != '\t' && (unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r))
		}) >= 0 {
			t.Errorf("%q acts", b.String())
		}
		if got := Visible(b.String()); got != b.String() {
			t.Errorf("not idempotent: %q", got)
		}
	})
}

// JSON reads back as it was.
func TestJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := strings.ToValidUTF8(nasty().Draw(t, "text"), "")
		data, err := json.Marshal(text)
		if err != nil {
			t.Fatal(err)
		}
		out := JSON(data)
		var back string
		if err := json.Unmarshal(out, &back); err != nil || back != text {
			t.Errorf("%q reads back as %q, %v", text, back, err)
		}
		if bytes.IndexFunc(out, func(r rune) bool { return unicode.IsControl(r) || unicode.Is(unicode.Bidi_Control, r) }) >= 0 {
			t.Errorf("%q acts", out)
		}
	})
}

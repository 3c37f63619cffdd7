package document

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// show writes a node as JSON-like text: quoted texts in quotes, plain texts
// bare, numbers with #, booleans with ?, nothing as ~.
func show(n *Node) string {
	switch n.Kind {
	case Null:
		return "~"
	case Bool:
		return "?" + n.Text
	case Number:
		return "#" + n.Text
	case Text:
		if n.Quoted {
			return fmt.Sprintf("%q", n.Text)
		}
		return n.Text
	case List:
		var parts []string
		for _, item := range n.Items {
			parts = append(parts, show(item))
		}
		return "[" + strings.Join(parts, " ") + "]"
	}
	var parts []string
	for _, p := range n.Pairs {
		parts = append(parts, p.Key+":"+show(p.Value))
	}
	return "{" + strings.Join(parts, " ") + "}"
}

func TestParseValues(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"block", "a: 1\nb:\n  - x: 'q''r'\n    y: \"é\\n\" # k\n  - z\n  -\nc:\n", `{a:#1 b:[{x:"q'r" y:"é\n"} z ~] c:~}`},
		{"flow", "{a: [1, 2,], \"b\": {c: ~}, d: }", `{a:[#1 #2] b:{c:~} d:~}`},
		{"list at the key's column", "a:\n- 1\n- 2\nb: x", `{a:[#1 #2] b:x}`},
		{"list of lists", "- - 1\n  - 2\n- [3]\n", `[[#1 #2] [#3]]`},
		{
			"scalars", "[007, 1.10, 0x1f, 1e3, -4, .5, +1, 1_000, .inf, true, False, yes, null, Null, 2024-03-01, '1']",
			`[#007 #1.10 #0x1f #1e3 #-4 #.5 #+1 #1_000 #.inf ?true ?False yes ~ ~ 2024-03-01 "1"]`,
		},
		{"plain text with marks", "a: b#c, d:e [f] 'g'\n", `{a:b#c, d:e [f] 'g'}`},
		{"plain over lines", "a: one\n  two\n\n  three\nb: x", "{a:one two\nthree b:x}"},
		{"double over lines", "a: \"one\n  two\\n\n\n  three\"", `{a:"one two\n\nthree"}`},
		{"literal", "a: |\n  x\n    y\n\n  z\nb: 1", `{a:"x\n  y\n\nz\n" b:#1}`},
		{"literal strip, keep", "a: |-\n  x\nb: |+\n  y\n\nc: 1", `{a:"x" b:"y\n\n" c:#1}`},
		{"folded", "a: >-\n  x\n  y\n\n  z\nb: 1", `{a:"x y\nz" b:#1}`},
		{"folded, indented further", "a: >\n  x\n  y\n    p\n    q\n\n  z\n\n\n  w\nb: 1", `{a:"x y\n  p\n  q\n\nz\n\nw\n" b:#1}`},
		{"folded, comment after the mark", "a: >+ # c\n\n  x\n\nb: 1", `{a:"\nx\n\n" b:#1}`},
		{"literal in a list", "- |\n x\n  y\n- |-\n  z\n", `["x\n y\n" "z"]`},
		{"byte order mark and CRLF", "\uFEFFa: 1\r\nb: |\r\n  x\r\n  y\r\n", `{a:#1 b:"x\ny\n"}`},
		{"document marks", "---\na: 1\n...\n", `{a:#1}`},
		{"comments", "# one\na: 1 # two\n# three\nb: 'x # y'\n", `{a:#1 b:"x # y"}`},
		{"tabs between", "a:\t1\nb: 'x\ty'\nd: |\n  x\ty\n", `{a:#1 b:"x\ty" d:"x\ty\n"}`},
		{"JSON with tabs", "{\n\t\"a\": [1,\t-2.50e3],\r\n\t\"b\": null, \"c\": \"\\u00e9\\ud834\\udd1e\\/\"}", `{a:[#1 #-2.50e3] b:~ c:"é𝄞/"}`},
		{"unicode", "日本: 𝄞x\n\"𝄞\": {é: ü}", `{日本:𝄞x 𝄞:{é:ü}}`},
		{"a scalar", "abc", "abc"},
		{"quoted keys", "'1': a\n\"true\": b\n", "{1:a true:b}"},
		{"key with blanks", "a b: c d\n", "{a b:c d}"},
		{"address", "a: http://x.y/z\n", "{a:http://x.y/z}"},
		{"braces in a quoted text", "a: \"{b: [c]}\"\n", `{a:"{b: [c]}"}`},
		{"flow over lines", "a: [1,\n  2,\n  {b: c,\n   d: e}]\nf: g\n", `{a:[#1 #2 {b:c d:e}] f:g}`},
	} {
		n, err := Parse("f.yaml", []byte(c.text))
		if c.want == "" {
			if err == nil {
				t.Errorf("%s: read as %s, want a fault", c.name, show(n))
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := show(n); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
	}
}

// TestParsePositions marks the places of values by name: «name» stands before
// the character at which the value a.b.0 begins.
func TestParsePositions(t *testing.T) {
	for _, marked := range []string{
		"«»a: «a»1\nb: «b»x y # c\n",
		"«»a:\n  «a»b: «a.b»'x'\n  c:\n    «a.c»- «a.c.0»1\n    - «a.c.1»d: «a.c.1.d»2\n",
		"«»é: «é»[«é.0»ü, «é.1»{ö: «é.1.ö»ä}]\nb:\t«b»1\n",
		"«»{\"a\":\t«a»[\n\t\t«a.0»1,\t«a.1»{\"é\": «a.1.é»\"𝄞\", \"x\": «a.1.x»true}]}",
		"«»a: «a»|\n  x\n  y\nb: «b»>-\n\n  z\nc: «c»1\n",
		"# c\n\n«»a: «a»one\n  two\nb: «b»'one\n  two'\nc: «c»\"x\\ty\"\n",
		"---\n«»a: «a»1\n",
	} {
		text, want := marks(marked)
		n, err := Parse("f.yaml", []byte(strings.ReplaceAll(text, "\n", "\r\n")))
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		got := map[string]Position{}
		var walk func(path string, n *Node)
		walk = func(path string, n *Node) {
			got[path] = n.Position
			for i, item := range n.Items {
				walk(strings.TrimPrefix(fmt.Sprintf("%s.%d", path, i), "."), item)
			}
			for _, p := range n.Pairs {
				walk(strings.TrimPrefix(path+"."+p.Key, "."), p.Value)
			}
		}
		walk("", n)
		for name, p := range want {
			if q, ok := got[name]; ok && q != p {
				t.Errorf("%q: %q is at %v, want %v", text, name, q, p)
			}
		}
	}
}

// marks takes the «name» marks out of a text and tells where they stood.
func marks(text string) (string, map[string]Position) {
	places := map[string]Position{}
	var out strings.Builder
	line, column := 1, 1
	for len(text) > 0 {
		if rest, ok := strings.CutPrefix(text, "«"); ok {
			name, after, _ := strings.Cut(rest, "»")
			places[name] = Position{File: "f.yaml", Line: line, Column: column}
			text = after
			continue
		}
		for _, r := range text[:] {
			out.WriteRune(r)
			if column++; r == '\n' {
				line, column = line+1, 1
			}
			text = text[len(string(r)):]
			break
		}
	}
	return out.String(), places
}

// TestParseFaults reads texts with a fault: "«»" stands where it is told, and
// the words after the arrow must be in the message.
func TestParseFaults(t *testing.T) {
	if _, err := Parse("f.yaml", []byte("a: x\xff")); err == nil || !strings.Contains(err.Error(), "f.yaml:1:5: byte 0xff is not UTF-8") {
		t.Errorf("a broken byte: %v", err)
	}
	for _, c := range []struct{ marked, words string }{
		{"a: 1\nb: 2\n«»a: 3\n", `key "a" stands twice, first at 1:1`},
		{"a: {b: 1, «»b: 2}\n", `key "b" stands twice`},
		{"{\"a\": 1,\n\t«»\"a\": 2}", `key "a" stands twice, first at 1:2`},
		{"a: 1\n«»---\nb: 2\n", "second document"},
		{"a: «»&x 1\n", "anchors"},
		{"a: «»*x\n", "aliases"},
		{"«»<<: {}\n", "merge keys"},
		{"a: «»!!str 1\n", "tags"},
		{"a: «»!x 1\n", "tags"},
		{"«»? a\n: b\n", `"?"`},
		{"«»%YAML 1.2\n---\na: 1\n", "directives"},
		{"a:\n«»\tb: 1\n", "tab"},
		{"a:\n  b: 1\n «»\tc: 1\n", "tab"},
		{"«»\ta: 1\n", "tab"},
		{"a: b: c\n", "not valid YAML"},
		{"a: [1\nb: 2\n", "not valid YAML"},
		{"a: «»'x\n", "not valid YAML"},
		{"a: 1\n b: 2\n", "not valid YAML"},
		{"a: «»|2\n   x\n", "indentation mark 2"},
		{"a: «»>0\n", "not valid YAML"},
		{"a: x«»\x00", "control character 0x00"},
		{"a: x\rb: y", "carriage return"},
		{"«»", "empty"},
		{" \n\n", "empty"},
		{"# only a comment\n", "empty"},
		{"«»1: a\n", "key 1 is a number"},
		{"«»true: a\n", "key true is a boolean"},
		{"a: «»x\ty\n", "a tab inside"},
		{"a: \"x\ty\"\nb: 1\n", "write a tab in double quotes as \\t"},
		{"{\"a\": \"«»\\ud800\"}", "half of a character"},
		{strings.Repeat("[", 101) + strings.Repeat("]", 101), "100 levels"},
		{strings.Repeat("- ", 101) + "x", "100 levels"},
		{strings.Repeat(`{"a":`, 101) + "1" + strings.Repeat("}", 101), "100 levels"},
		{strings.Repeat("[", 100000), "100 levels"},
		{strings.Repeat("- ", 100000), "100 levels"},
	} {
		text, places := marks(c.marked)
		_, err := Parse("f.yaml", []byte(text))
		var fault *Error
		if !errors.As(err, &fault) {
			t.Errorf("%.40q: %v, want a fault with %q", text, err, c.words)
			continue
		}
		if want, ok := places[""]; ok && fault.Position != want {
			t.Errorf("%.40q: %v, want it at %v", text, err, want)
		}
		if !strings.Contains(fault.Message, c.words) {
			t.Errorf("%.40q: %v, want %q", text, err, c.words)
		}
	}
}

func TestParseLevels(t *testing.T) {
	for _, text := range []string{
		strings.Repeat("[", 100) + "1" + strings.Repeat("]", 100),
		strings.Repeat("- ", 100) + "x",
	} {
		for _, file := range []string{"f.yaml", "f.json"} {
			if file == "f.json" && text[0] == '-' {
				continue
			}
			if _, err := Parse(file, []byte(text)); err != nil {
				t.Errorf("100 levels in %s: %v", file, err)
			}
		}
	}
}

func TestParseSize(t *testing.T) {
	_, err := Parse("f.yaml", make([]byte, MaxSize+1))
	if err == nil || !strings.Contains(err.Error(), "4 MB") {
		t.Errorf("a file beyond the limit: %v", err)
	}
}

func TestJSONFaults(t *testing.T) {
	for _, c := range []struct{ marked, words string }{
		{"{«»a: 1}", "invalid character 'a'"},
		{"{\"a\": 1«»", "unexpected end"},
		{"{\"a\": 1,\n «»}", "invalid character '}'"},
		{"[1] «»2", "after top-level value"},
		{"[«»'x']", "invalid character"},
		{"[0«»1]", "invalid character"},
	} {
		text, places := marks(c.marked)
		_, err := Parse("f.json", []byte(text))
		var fault *Error
		if !errors.As(err, &fault) || !strings.Contains(fault.Message, c.words) {
			t.Errorf("%q: %v, want %q", text, err, c.words)
			continue
		}
		want := places[""]
		want.File = "f.json"
		if fault.Position != want {
			t.Errorf("%q: %v, want it at %v", text, err, want)
		}
	}
}

func TestExcerpt(t *testing.T) {
	_, err := Parse("study.yaml", []byte("a: 1\n\"é\": {b: 1, b: 2}\n"))
	var fault *Error
	if !errors.As(err, &fault) {
		t.Fatal(err)
	}
	if want := "\"é\": {b: 1, b: 2}\n            ^"; fault.Excerpt != want {
		t.Errorf("excerpt\n%s\nwant\n%s", fault.Excerpt, want)
	}
	long := strings.Repeat("x", 300)
	got := Excerpt([]byte("a\n"+long), Position{Line: 2, Column: 250})
	if want := long[:100] + "\n" + strings.Repeat(" ", 50) + "^"; got != want {
		t.Errorf("long excerpt\n%s\nwant\n%s", got, want)
	}
	if got := Excerpt([]byte("a"), Position{Line: 9, Column: 1}); got != "" {
		t.Errorf("excerpt beyond the end: %q", got)
	}
}

func FuzzParse(f *testing.F) {
	for _, text := range []string{
		"a: 1\nb:\n  - x\n", "{\"a\": [1, 2.5, null, true, \"x\\n\"]}", "a: |\n  x\n", "a: >-\n x\n\n y\n", "a: 'x''y'\n",
		"- - - x", "a: b: c", "\"\\ud834\\udd1e\": [", "{a, b: }", "? x\n: y", "a:\t1\n\tb", "a: &x *x", "- a\n-\n - b", "'a': \"b\\\n  c\"",
	} {
		f.Add([]byte(text))
	}
	more, _ := filepath.Glob("testdata/*.yaml")
	for _, file := range more {
		if data, err := os.ReadFile(file); err == nil {
			f.Add(data)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		for _, file := range []string{"f.yaml", "f.json"} {
			n, err := Parse(file, data)
			if err != nil {
				var fault *Error
				if !errors.As(err, &fault) {
					t.Fatalf("%T is no *Error", err)
				}
				continue
			}
			checkPlaces(t, n, 1)
		}
	})
}

// checkPlaces wants every node inside the text and every text's own place to
// hold its characters.
func checkPlaces(t *testing.T, n *Node, depth int) {
	t.Helper()
	if depth > MaxDepth+1 {
		t.Fatal("too deep")
	}
	if n.Position.Line < 1 || n.Position.Column < 1 || n.Position.Line > len(n.source.lines) {
		t.Fatalf("place %v", n.Position)
	}
	if n.Kind == Text {
		s := n.string(n.Text)
		for line := 1; line < 4; line++ {
			for column := 1; column < 4; column++ {
				if p := s.At(line, column); p.Line < 1 || p.Line > len(n.source.lines) {
					t.Fatalf("place %v in a text", p)
				}
			}
		}
	}
	for _, item := range n.Items {
		checkPlaces(t, item, depth+1)
	}
	for _, p := range n.Pairs {
		checkPlaces(t, p.Value, depth+1)
	}
}

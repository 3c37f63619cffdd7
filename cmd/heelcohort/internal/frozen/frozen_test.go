package frozen

import (
	"bytes"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// The digest is that of the standard's example: FIPS 180-2, appendix B.1, "abc".
func TestWrite(t *testing.T) {
	file := Write([]byte("abc"))
	if !bytes.Contains(file, []byte("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")) {
		t.Errorf("%s", file)
	}
	if plan, err := Read(file); err != nil || string(plan) != "abc" {
		t.Errorf("%q, %v", plan, err)
	}
	for _, bad := range [][]byte{nil, []byte("abc"), append(bytes.Clone(file), 'd'), bytes.Replace(file, []byte("abc"), []byte("abd"), 1), file[:40]} {
		if _, err := Read(bad); err == nil {
			t.Errorf("%q was read", bad)
		}
	}
}

func TestDeviations(t *testing.T) {
	was := "title: A\nlevel: 0.95\nanalyses:\n  - id: one\n  - id: two\n"
	for _, c := range []struct {
		now  string
		want []string
	}{
		{was, nil},
		{"# a remark\n\ntitle: A  \nlevel: 0.95\nanalyses:\n  - id: one\n  - id: two", nil},
		{strings.Replace(was, "0.95", "0.9", 1), []string{`line 2 was "level: 0.95", and is "level: 0.9"`}},
		{was + "  - id: three\n", []string{`line 6 was added: "  - id: three"`}},
		{strings.Replace(was, "  - id: one\n", "", 1), []string{`line 4 of the frozen plan was left out: "  - id: one"`}},
	} {
		var got []string
		for _, d := range Deviations([]byte(was), []byte(c.now)) {
			got = append(got, d.String())
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Error(diff)
		}
	}
}

// What deviates turns the frozen lines into the others: counts of lines added
// up are right, and equal plans have none.
func TestDeviationsAddUp(t *testing.T) {
	text := rapid.SliceOfN(rapid.SampledFrom([]string{"a", "b", "c", "", "# d"}), 0, 12)
	rapid.Check(t, func(t *rapid.T) {
		was, now := strings.Join(text.Draw(t, "was"), "\n"), strings.Join(text.Draw(t, "now"), "\n")
		list := Deviations([]byte(was), []byte(now))
		added, gone := 0, 0
		for _, d := range list {
			if d.Had == 0 {
				added++
			} else if d.Now == "" {
				gone++
			}
		}
		if a, b := len(linesOf([]byte(was))), len(linesOf([]byte(now))); b-a != added-gone {
			t.Fatalf("%d lines, then %d: %v", a, b, list)
		}
		if (len(list) == 0) != cmp.Equal(texts(was), texts(now)) {
			t.Fatalf("%q, %q: %v", was, now, list)
		}
	})
}

func texts(s string) (out []string) {
	for _, l := range linesOf([]byte(s)) {
		out = append(out, l.text)
	}
	return out
}

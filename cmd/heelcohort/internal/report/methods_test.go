package report

import (
	"bytes"
	"strings"
	"testing"
)

func TestGoldenMethods(t *testing.T) {
	var out bytes.Buffer
	if err := Methods(&out, saltmarsh(t)); err != nil {
		t.Fatal(err)
	}
	golden(t, "methods.md", out.Bytes())
	if n := strings.Count(out.String(), "Garwood F."); n != 1 {
		t.Errorf("a reference of two analyses stands %d times", n)
	}
}

func TestMethodsOfStoppedRun(t *testing.T) {
	var out bytes.Buffer
	if err := Methods(&out, stopped(t)); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(out.String(), "Nothing was computed") {
		t.Error("the methods do not say that nothing was computed")
	}
}

// TestMarkdown: the wanted texts read as the originals by CommonMark's rules
// for backslashes.
func TestMarkdown(t *testing.T) {
	for text, want := range map[string]string{
		"participant_id":      "participant_id", // within a word
		"_a_ b":               `\_a\_ b`,
		"<b> & &amp; R&D a*b": `\<b\> & \&amp; R\&D a\*b`,
		"# one\n- two":        `\# one - two`,
		"[x](y) `z` \\":       "\\[x\\](y) \\`z\\` \\\\",
		"Kaplan–Meier ö_ü":    "Kaplan–Meier ö_ü",
		"a | b ~c~":           `a \| b \~c\~`,
	} {
		if got := markdown(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

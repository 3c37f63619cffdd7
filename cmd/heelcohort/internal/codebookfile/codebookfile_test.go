package codebookfile_test

import (
	"bytes"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"heelcohort/cmd/heelcohort/internal/codebookfile"
	"heelcohort/codebook/codebooktest"
	"heelcohort/codebook/document"
	"heelcohort/codebook/document/documenttest"
)

// TestForms wants every document back from each form of a codebook's file, and
// the same bytes the second time.
func TestForms(t *testing.T) {
	documents := codebooktest.Documents(t)
	rapid.Check(t, func(t *rapid.T) {
		n := documents.Draw(t, "document")
		for _, name := range []string{"codebook.xlsx", "codebook.yaml", "codebook.json"} {
			data, err := codebookfile.Encode(name, n)
			if err != nil {
				t.Fatal(err)
			}
			back, err := codebookfile.Document(name, data)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(documenttest.Value(n), documenttest.Value(back)); diff != "" {
				t.Fatalf("%s: %s", name, diff)
			}
			if again, err := codebookfile.Encode(name, n); err != nil || !bytes.Equal(data, again) {
				t.Fatalf("%s: other bytes the second time (%v)", name, err)
			}
		}
	})
}

// TestTooLong wants a text that no cell holds refused at its place.
func TestTooLong(t *testing.T) {
	long := string(bytes.Repeat([]byte("a"), 32768))
	n, err := document.Parse("codebook.yaml", []byte("name: a\ndescription: "+long+"\nresources: []\n"))
	if err != nil {
		t.Fatal(err)
	}
	_, err = codebookfile.Encode("codebook.xlsx", n)
	if want := "codebook.yaml:2:14: takes 32768 characters in a spreadsheet, more than the 32767 of a cell"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

package ooxml

import (
	"archive/zip"
	"bytes"
	"strings"
	"testing"
)

// Members come by name, without folders, and read back; a damaged one does not.
func TestOpenZip(t *testing.T) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, name := range []string{"data/", "data/b.csv", "a.txt"} {
		w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store})
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasSuffix(name, "/") {
			if _, err := w.Write([]byte("content of " + name)); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	read := func(data []byte) (text string, last error) {
		members, err := OpenZip(data)
		if err != nil {
			return "", err
		}
		for _, m := range members {
			var out bytes.Buffer
			if err := CopyMember(&out, m); err != nil {
				last = err
			}
			text += m.Name + ": " + out.String() + "\n"
		}
		return text, last
	}
	const want = "a.txt: content of a.txt\ndata/b.csv: content of data/b.csv\n"
	if got, err := read(b.Bytes()); err != nil || got != want {
		t.Errorf("%q, %v", got, err)
	}
	damaged := bytes.Replace(b.Bytes(), []byte("content of a"), []byte("content Of a"), 1)
	if _, err := read(damaged); err == nil || !strings.Contains(err.Error(), "a.txt") {
		t.Errorf("damaged: %v", err)
	}
	for cut := range b.Len() {
		if _, err := read(b.Bytes()[:cut]); err == nil {
			t.Errorf("cut at %d bytes it was read", cut)
		}
	}
}

package bundle

import (
	"archive/zip"
	"bytes"
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Archives made to do harm are refused, and nothing of them is written, in the
// folder or beside it.
func TestUnpackHostile(t *testing.T) {
	type one struct {
		name, text string
		mode       fs.FileMode
	}
	for name, c := range map[string]struct {
		members []one
		want    string
	}{
		"up and out":            {[]one{{"a.txt", "a", 0}, {"../out.txt", "x", 0}}, "no name of a part"},
		"up within":             {[]one{{"data/../../out.txt", "x", 0}}, "no name of a part"},
		"root":                  {[]one{{"/out.txt", "x", 0}}, "no name of a part"},
		"drive":                 {[]one{{"C:/out.txt", "x", 0}}, "no name of a part"},
		"backslash":             {[]one{{`..\out.txt`, "x", 0}}, "no name of a part"},
		"control":               {[]one{{"a\x1b[2J.txt", "x", 0}}, "no name of a part"},
		"twice":                 {[]one{{"a.txt", "1", 0}, {"a.txt", "2", 0}}, "stands twice"},
		"capitals":              {[]one{{"a.txt", "1", 0}, {"A.txt", "2", 0}}, "differ in case only"},
		"link":                  {[]one{{"a.txt", "/etc/passwd", fs.ModeSymlink | 0o777}}, "no plain file"},
		"device":                {[]one{{"a.txt", "", fs.ModeDevice | 0o600}}, "no plain file"},
		"unpacks without end":   {[]one{{"a.txt", strings.Repeat("\x00", 40<<20), 0}}, "unpacks from"},
		"file and folder":       {[]one{{"a", "1", 0}, {"a/b", "2", 0}}, "a/b"},
		"a folder above a file": {[]one{{"a/b", "2", 0}, {"a", "1", 0}}, "a/b"},
	} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			z := zip.NewWriter(&b)
			for _, m := range c.members {
				head := &zip.FileHeader{Name: m.name, Method: zip.Deflate}
				head.SetMode(max(m.mode, 0o644))
				if m.mode != 0 {
					head.SetMode(m.mode)
				}
				w, err := z.CreateHeader(head)
				if err != nil {
					t.Fatal(err)
				}
				if _, err := w.Write([]byte(m.text)); err != nil {
					t.Fatal(err)
				}
			}
			if err := z.Close(); err != nil {
				t.Fatal(err)
			}
			above := t.TempDir()
			archive, dir := filepath.Join(above, "b.zip"), filepath.Join(above, "in")
			if err := os.WriteFile(archive, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			if err := os.Mkdir(dir, 0o755); err != nil {
				t.Fatal(err)
			}
			err := Unpack(context.Background(), archive, dir)
			if err == nil || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), "b.zip: ") {
				t.Errorf("%v, want %s", err, c.want)
			}
			if entries, err := os.ReadDir(above); err != nil || len(entries) != 2 {
				t.Errorf("beside the folder: %v, %v", entries, err)
			}
			_ = filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
				if err == nil && e.Type()&fs.ModeSymlink != 0 {
					t.Errorf("a link %s", path)
				}
				return err
			})
		})
	}
}

func TestUnpackNoArchive(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "b.zip")
	for _, text := range []string{"", "no archive", "PK\x03\x04"} {
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		if err := Unpack(context.Background(), name, t.TempDir()); err == nil {
			t.Errorf("%q was unpacked", text)
		}
	}
	if err := Unpack(context.Background(), dir, t.TempDir()); err == nil {
		t.Error("a folder was unpacked")
	}
}

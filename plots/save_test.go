package plots

import (
	"bytes"
	"encoding/binary"
	"encoding/xml"
	"errors"
	"image"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
)

// save returns the figure in a format.
func save(t testing.TB, f *Figure, format string) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := f.Save(&b, format); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// The same figure gives the same bytes: drawn again, saved again, on one core
// or many, alone or beside others.
func TestSameBytes(t *testing.T) {
	for _, d := range []func() drawer{
		func() drawer { return sampleRates() }, func() drawer { return sampleForest() }, func() drawer { return sampleSurvival() },
	} {
		for _, format := range Formats {
			was := runtime.GOMAXPROCS(1)
			first := draw(t, d())
			want := save(t, first, format)
			runtime.GOMAXPROCS(4)
			if !bytes.Equal(want, save(t, first, format)) {
				t.Errorf("%T %s: second save differs", d(), format)
			}
			var all sync.WaitGroup
			got := make([][]byte, 4)
			for i := range got {
				all.Go(func() {
					f, err := d().Draw()
					var b bytes.Buffer
					if err == nil {
						err = f.Save(&b, format)
					}
					if err != nil {
						t.Error(err)
					}
					got[i] = b.Bytes()
				})
			}
			all.Wait()
			runtime.GOMAXPROCS(was)
			for _, g := range got {
				if !bytes.Equal(want, g) {
					t.Errorf("%T %s: bytes differ", d(), format)
				}
			}
		}
	}
}

// The SVG is one well-formed element of outlines, with size, title and
// description, and no id unless asked for.
func TestSVG(t *testing.T) {
	r := sampleRates()
	r.Title = `Rates <by> "age" & sport`
	f := draw(t, r)
	data := save(t, f, "svg")
	if !bytes.HasPrefix(data, []byte("<svg ")) {
		t.Errorf("begins with %q", data[:20])
	}
	words := map[string]string{}
	var open []string
	for dec := xml.NewDecoder(bytes.NewReader(data)); ; {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			open = append(open, tok.Name.Local)
			switch tok.Name.Local {
			case "svg", "title", "desc", "g", "path":
			default:
				t.Errorf("element %s", tok.Name.Local)
			}
			for _, a := range tok.Attr {
				if a.Name.Local == "id" {
					t.Errorf("id %q without Figure.ID", a.Value)
				}
				if tok.Name.Local == "svg" {
					words[a.Name.Local] = a.Value
				}
			}
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			words[open[max(0, len(open)-1):][0]] += string(tok)
			if len(open) == 0 {
				break
			}
		}
		if len(open) == 0 {
			open = []string{""}
		}
	}
	if words["role"] != "img" || words["viewBox"] == "" || !strings.HasSuffix(words["width"], "pt") || !strings.HasSuffix(words["height"], "pt") {
		t.Errorf("root attributes %v", words)
	}
	if words["title"] != r.Title {
		t.Errorf("title %q, want %q", words["title"], r.Title)
	}
	for _, part := range []string{"Football 0.7 (0.4 to 1.1)", "Höhenturnen no estimate", "≥ 12", "0.3 (0.1 to unbounded)"} {
		if !strings.Contains(words["desc"], part) {
			t.Errorf("description lacks %q: %s", part, words["desc"])
		}
	}

	f.ID = `table 2"><x`
	data = save(t, f, "svg")
	for _, part := range []string{`aria-labelledby="table_2___x-title"`, `<title id="table_2___x-title">`, `<desc id="table_2___x-desc">`} {
		if !bytes.Contains(data, []byte(part)) {
			t.Errorf("SVG with an ID lacks %s", part)
		}
	}
}

// The PNG has 300 dots an inch and says so: 300/0.0254 = 11811 a metre.
func TestPNG(t *testing.T) {
	r := sampleRates()
	r.Size = Size{Width: SingleColumn}
	data := save(t, draw(t, r), "png")
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	if got := img.Bounds().Dx(); got != 992 { // 84 / 25.4 * 300 = 992.1
		t.Errorf("%d pixels wide, want 992", got)
	}
	i := bytes.Index(data, []byte("pHYs"))
	if i < 0 || i > bytes.Index(data, []byte("IDAT")) {
		t.Fatal("no pHYs chunk before the data")
	}
	x, y := binary.BigEndian.Uint32(data[i+4:]), binary.BigEndian.Uint32(data[i+8:])
	if x != 11811 || y != 11811 || data[i+12] != 1 || binary.BigEndian.Uint32(data[i-4:]) != 9 {
		t.Errorf("pHYs %d x %d, unit %d", x, y, data[i+12])
	}
}

// The PDF has one page of the figure's size and a fixed date.
func TestPDF(t *testing.T) {
	data := save(t, draw(t, sampleSurvival()), "pdf")
	for _, part := range []string{"%PDF-1.4", "/CreationDate (D:20000101", "/ModDate (D:20000101", "493.23"} {
		if !bytes.Contains(data, []byte(part)) {
			t.Errorf("PDF lacks %q", part)
		}
	}
	if bytes.Contains(data, []byte("/FontFile")) || bytes.Contains(data, []byte("/Subtype /TrueType")) {
		t.Error("PDF embeds a font; text should be outlines")
	}
}

func TestSaveRefuses(t *testing.T) {
	f := draw(t, sampleRates())
	if err := f.Save(io.Discard, "eps"); err == nil || !strings.Contains(err.Error(), "svg, pdf, png") {
		t.Errorf("format eps: %v", err)
	}
	if err := new(Figure).Save(io.Discard, "svg"); err == nil {
		t.Error("empty figure: no error")
	}
	var none *Figure
	if err := none.Save(io.Discard, "svg"); err == nil {
		t.Error("nil figure: no error")
	}
	want := errors.New("full")
	if err := f.Save(fails{want}, "svg"); !errors.Is(err, want) {
		t.Errorf("failing writer: %v", err)
	}
}

type fails struct{ err error }

func (w fails) Write([]byte) (int, error) { return 0, w.err }

// The three formats show the same picture: rendered at one resolution by
// independent programs, their pixels agree but for the edges of lines.
func TestFormatsAgree(t *testing.T) {
	for _, tool := range []string{"rsvg-convert", "pdftoppm"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skipf("SKIPPED: formats are not compared with each other, as %s is not installed", tool)
		}
	}
	dir := t.TempDir()
	for name, d := range map[string]drawer{"survival": sampleSurvival(), "rates": sampleRates(), "forest": sampleForest()} {
		f := draw(t, d)
		for _, format := range Formats {
			if err := os.WriteFile(filepath.Join(dir, "f."+format), save(t, f, format), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		run := func(tool string, args ...string) {
			c := exec.Command(tool, args...)
			c.Dir = dir
			if out, err := c.CombinedOutput(); err != nil {
				t.Fatalf("%s: %v\n%s", tool, err, out)
			}
		}
		run("pdftoppm", "-r", "300", "-png", "-singlefile", "f.pdf", "pdf")
		// Dots an inch are 96 for a page in points: 300/96 enlarges to ours.
		run("rsvg-convert", "-z", "3.125", "-o", "svg.png", "f.svg")
		want := decode(t, filepath.Join(dir, "f.png"))
		for _, file := range []string{"pdf.png", "svg.png"} {
			if share := different(want, decode(t, filepath.Join(dir, file))); share > 0.01 {
				t.Errorf("%s: %s differs from the PNG in %.2f%% of its blocks, want at most 1%%", name, file, 100*share)
			}
		}
	}
}

func decode(t *testing.T, file string) image.Image {
	t.Helper()
	r, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	img, err := png.Decode(r)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// different is the share of blocks of 10 by 10 pixels whose mean colour
// differs by more than an eighth: more than the edge of a line may shift.
func different(a, b image.Image) float64 {
	const block = 10
	w, h := min(a.Bounds().Dx(), b.Bounds().Dx()), min(a.Bounds().Dy(), b.Bounds().Dy())
	mean := func(img image.Image, x0, y0 int) (sum [3]int) {
		for x := x0; x < x0+block; x++ {
			for y := y0; y < y0+block; y++ {
				r, g, bl, _ := img.At(x, y).RGBA()
				for i, v := range []uint32{r, g, bl} {
					sum[i] += int(v >> 8)
				}
			}
		}
		return sum
	}
	bad, all := 0, 0
	for x := 0; x+block <= w; x += block {
		for y := 0; y+block <= h; y += block {
			all++
			ma, mb := mean(a, x, y), mean(b, x, y)
			for i := range ma {
				if d := ma[i] - mb[i]; d > 32*block*block || d < -32*block*block {
					bad++
					break
				}
			}
		}
	}
	return float64(bad) / float64(all)
}

// A blank page must not pass for the figure.
func TestDifferentSees(t *testing.T) {
	img, err := png.Decode(bytes.NewReader(save(t, draw(t, sampleSurvival()), "png")))
	if err != nil {
		t.Fatal(err)
	}
	blank := image.NewRGBA(img.Bounds())
	for i := range blank.Pix {
		blank.Pix[i] = 255
	}
	if share := different(img, blank); share < 0.02 {
		t.Errorf("a blank page differs in only %.2f%% of the blocks", 100*share)
	}
	if share := different(img, img); share != 0 {
		t.Errorf("a picture differs from itself by %v", share)
	}
}

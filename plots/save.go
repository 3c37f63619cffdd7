package plots

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"math"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgpdf"
)

// Formats lists what Save writes.
var Formats = []string{"svg", "pdf", "png"}

// dpi is the resolution of PNG.
const dpi = 300

// A PDF carries dates; these make them part of the promise of equal bytes.
func init() {
	epoch := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	fpdf.SetDefaultCreationDate(epoch)
	fpdf.SetDefaultModificationDate(epoch)
	fpdf.SetDefaultCatalogSort(true)
}

// Save writes the figure in format svg, pdf or png. The bytes depend on the
// figure alone.
//
// SVG is one self-contained element, without XML declaration so that it can
// stand inside a page, with size, viewBox, title and description. PDF has one
// page of the figure's size. PNG has 300 dots per inch, and says so.
func (f *Figure) Save(w io.Writer, format string) error {
	if f == nil || f.canvas == nil {
		return errors.New("plots: figure was not made by Draw")
	}
	var data []byte
	var err error
	switch format {
	case "svg":
		data = f.svg()
	case "pdf":
		data, err = f.pdf()
	case "png":
		data, err = f.png()
	default:
		return fmt.Errorf("plots: format %q, want %s", format, strings.Join(Formats, ", "))
	}
	if err != nil {
		return fmt.Errorf("plots: writing %s: %w", format, err)
	}
	_, err = w.Write(data)
	return err
}

func (f *Figure) pdf() ([]byte, error) {
	c := f.canvas
	pdf := vgpdf.New(c.width, c.height)
	c.render(pdf, true)
	var b bytes.Buffer
	_, err := pdf.WriteTo(&b)
	return b.Bytes(), err
}

func (f *Figure) png() ([]byte, error) {
	c := f.canvas
	img := vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(c.width, c.height), vgimg.UseDPI(dpi))}
	c.render(img, false)
	var b bytes.Buffer
	if _, err := img.WriteTo(&b); err != nil {
		return nil, err
	}
	return withResolution(b.Bytes(), dpi)
}

// withResolution adds the chunk pHYs, pixels a metre, after the header of a
// PNG (PNG specification, third edition, 11.3.4.3).
func withResolution(png []byte, perInch float64) ([]byte, error) {
	const header = 8 + 4 + 4 + 13 + 4 // signature, and IHDR with length, type, data, checksum
	if len(png) < header || string(png[12:16]) != "IHDR" {
		return nil, errors.New("backend wrote no PNG header")
	}
	perMetre := uint32(math.Round(perInch / 0.0254))
	chunk := []byte("pHYs")
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1) // the unit is the metre
	out := append([]byte{}, png[:header]...)
	out = binary.BigEndian.AppendUint32(out, uint32(len(chunk)-4))
	out = append(out, chunk...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(chunk))
	return append(out, png[header:]...), nil
}

// newCanvas returns a white canvas of the given width.
func newCanvas(width vg.Length) *canvas { return &canvas{width: width} }

// finish closes a canvas at the given height and paints its ground white.
func (c *canvas) finish(height vg.Length) *canvas {
	c.height = vg.Length(math.Ceil(float64(height)*100) / 100)
	ground := &canvas{}
	ground.rect(0, 0, c.width, c.height, white)
	c.marks = append(ground.marks, c.marks...)
	return c
}

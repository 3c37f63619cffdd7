package ooxml

import (
	"archive/zip"
	"errors"
	"io"
	"strings"
)

// A partReader reads one part and holds it to the size that the directory
// gives for it.
type partReader struct {
	name string
	in   io.ReadCloser
	n    int64
	size int64
}

// open opens a part.
func (a *archive) open(name string) (*partReader, error) {
	f, ok := a.files[fold(name)]
	if !ok {
		return nil, refuse("the archive lacks part %s", quote(name))
	}
	r, err := f.Open()
	if err != nil {
		return nil, &Error{Message: "part " + quote(name) + " cannot be unpacked: " + err.Error(), Err: err}
	}
	return &partReader{name: name, in: r, size: int64(f.UncompressedSize64)}, nil
}

// Read reads on.
func (p *partReader) Read(b []byte) (int, error) {
	n, err := p.in.Read(b)
	p.n += int64(n)
	switch {
	case p.n > p.size:
		return 0, p.wrongSize()
	case errors.Is(err, io.ErrUnexpectedEOF), errors.Is(err, io.EOF) && p.n < p.size:
		return n, refuse("part %s is damaged: it ends after %d bytes of the %d that the archive's directory gives", quote(p.name), p.n, p.size)
	case errors.Is(err, io.EOF):
	case errors.Is(err, zip.ErrFormat): // the library sees the surplus first
		return 0, p.wrongSize()
	case err != nil:
		return n, &Error{Message: "part " + quote(p.name) + " is damaged: it cannot be unpacked: " + strings.TrimPrefix(err.Error(), "zip: "), Err: err}
	}
	return n, err
}

func (p *partReader) wrongSize() error {
	return refuse("part %s unpacks to more than the %d bytes that the archive's directory gives", quote(p.name), p.size)
}

// Close closes the part.
func (p *partReader) Close() error { return p.in.Close() }

// read opens a part of limited size as XML and hands it to use.
func (a *archive) read(name string, limit int64, spaces func(string) bool, use func(*scanner) error) error {
	p, err := a.open(name)
	if err != nil {
		return err
	}
	defer p.Close()
	if p.size > limit {
		return refuse("part %s has %d bytes, more than the %d that are read of such a list", quote(name), p.size, limit)
	}
	return use(newScanner(name, p, spaces))
}

// mainSpace reports whether a name space is that of spreadsheets, transitional
// or strict.
func mainSpace(space string) bool {
	return space == "http://schemas.openxmlformats.org/spreadsheetml/2006/main" ||
		space == "http://purl.oclc.org/ooxml/spreadsheetml/main"
}

// relationshipSpace reports whether a name space is that of relationships.
func relationshipSpace(space string) bool {
	return space == "http://schemas.openxmlformats.org/package/2006/relationships"
}

package ooxml

import (
	"archive/zip"
	"io"
	"slices"
	"strings"
)

// OpenZip reads the directory of any zip archive with the care that workbooks
// are read with: no member is encrypted, stands twice, differs from another in
// capitals only, shares its bytes with another or has a name that leads out of
// the archive, and together they unpack to what is read at most. The members
// come by name, without folders. Errors are *Error.
func OpenZip(data []byte) ([]*zip.File, error) {
	a, err := openArchive(data)
	if err != nil {
		return nil, err
	}
	members := make([]*zip.File, 0, len(a.files))
	for _, f := range a.files {
		members = append(members, f)
	}
	slices.SortFunc(members, func(a, b *zip.File) int { return strings.Compare(a.Name, b.Name) })
	return members, nil
}

// CopyMember writes a member's content, which must be as long as the archive's
// directory says.
func CopyMember(w io.Writer, f *zip.File) error {
	r, err := f.Open()
	if err != nil {
		return &Error{Message: "part " + quote(f.Name) + " cannot be read", Err: err}
	}
	defer r.Close()
	size := int64(f.UncompressedSize64)
	n, err := io.Copy(w, io.LimitReader(r, size+1))
	if err != nil {
		return &Error{Message: "part " + quote(f.Name) + " is damaged", Err: err}
	}
	if n != size {
		return refuse("part %s unpacks to another size than the %d bytes that the archive says", quote(f.Name), size)
	}
	return nil
}

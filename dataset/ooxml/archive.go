package ooxml

import (
	"archive/zip"
	"bytes"
	"cmp"
	"slices"
	"strings"
)

// An archive is the zip archive of a workbook, its members checked: none is
// encrypted, none stands twice or shares its bytes with another, none has a
// name that leads anywhere, and together they unpack to what is read at most.
type archive struct {
	files map[string]*zip.File // by folded name
	names []string             // as written, in the archive's order
}

// fold makes names of parts comparable: they are the same where they differ in
// the case of ASCII letters only.
func fold(name string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'A' && r <= 'Z' {
			return r + ('a' - 'A')
		}
		return r
	}, name)
}

// openArchive reads the archive's directory.
func openArchive(data []byte) (*archive, error) {
	if len(data) == 0 {
		return nil, refuse("the file is empty")
	}
	// The directory is decoded whole, so that its entries are counted first.
	if n := bytes.Count(data, []byte("PK\x01\x02")); n > maxMembers {
		return nil, refuse("the archive has more than the %d members that are read", maxMembers)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, &Error{Message: "not a zip archive: " + strings.TrimPrefix(err.Error(), "zip: "), Err: err}
	}
	a := &archive{files: make(map[string]*zip.File, len(z.File))}
	var total uint64
	for _, f := range z.File {
		if strings.HasSuffix(f.Name, "/") && f.UncompressedSize64 == 0 {
			continue // a folder
		}
		if err := checkMember(f); err != nil {
			return nil, err
		}
		total += f.UncompressedSize64
		if total > maxTotalBytes {
			return nil, refuse("the archive unpacks to more than the %d bytes that are read", int64(maxTotalBytes))
		}
		name := fold(f.Name)
		if other, twice := a.files[name]; twice {
			if other.Name == f.Name {
				return nil, refuse("part %s stands twice in the archive", quote(f.Name))
			}
			return nil, refuse("parts %s and %s of the archive differ in case only", quote(other.Name), quote(f.Name))
		}
		a.files[name] = f
		a.names = append(a.names, f.Name)
	}
	return a, checkOverlap(z.File)
}

// checkMember checks what the directory says of one member.
func checkMember(f *zip.File) error {
	name := quote(f.Name)
	switch {
	case !safeName(f.Name):
		return refuse("the archive has a member named %s, which is no name of a part", name)
	case f.Flags&1 != 0:
		return refuse("part %s is encrypted; save the workbook without a password", name)
	case f.Method != zip.Store && f.Method != zip.Deflate:
		return refuse("part %s is compressed by method %d, which is not read", name, f.Method)
	case f.UncompressedSize64 > maxPartBytes:
		return refuse("part %s unpacks to %d bytes, more than the %d that are read", name, f.UncompressedSize64, int64(maxPartBytes))
	case f.UncompressedSize64 > ratioBytes && f.UncompressedSize64/maxRatio > f.CompressedSize64:
		return refuse("part %s unpacks from %d bytes to %d, as no sheet does", name, f.CompressedSize64, f.UncompressedSize64)
	}
	return nil
}

// safeName reports whether a member's name is that of a part: relative, with
// slashes, without empty or dotted segments.
func safeName(name string) bool {
	if name == "" || len(name) > 1000 || strings.ContainsFunc(name, func(r rune) bool { return r < ' ' || r == '\\' || r == ':' }) {
		return false
	}
	for segment := range strings.SplitSeq(name, "/") {
		if strings.Trim(segment, ".") == "" {
			return false
		}
	}
	return true
}

// checkOverlap refuses members that share bytes of the file, by which a small
// archive unpacks to anything.
func checkOverlap(files []*zip.File) error {
	type span struct {
		from, to int64
		name     string
	}
	var spans []span
	for _, f := range files {
		from, err := f.DataOffset()
		if err != nil {
			return &Error{Message: "part " + quote(f.Name) + " has no beginning in the archive", Err: err}
		}
		// The local header stands right before the data; 30 bytes and the name
		// are the least of it.
		spans = append(spans, span{from - 30 - int64(len(f.Name)), from + int64(f.CompressedSize64), f.Name})
	}
	slices.SortFunc(spans, func(a, b span) int { return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to)) })
	for i := 1; i < len(spans); i++ {
		if spans[i].from < spans[i-1].to {
			return refuse("parts %s and %s overlap in the archive", quote(spans[i-1].name), quote(spans[i].name))
		}
	}
	return nil
}

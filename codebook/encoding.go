package codebook

import (
	"slices"
	"strings"

	"heelcohort/codebook/document"
)

// Encodings lists the encodings of text files, by the names under which the
// internet's registry of character sets has them.
var Encodings = []string{
	"utf-8", "utf-16", "utf-16le", "utf-16be", "windows-1252", "iso-8859-1", "iso-8859-15", "macintosh", "ibm850", "ibm437",
	"windows-1250", "windows-1251", "windows-1253", "windows-1254", "windows-1257", "iso-8859-2",
}

// encodingNames are other names in use.
var encodingNames = map[string]string{
	"utf8": "utf-8", "utf16": "utf-16", "utf16le": "utf-16le", "utf16be": "utf-16be", "ascii": "utf-8", "us-ascii": "utf-8",
	"iso8859-1": "iso-8859-1", "iso_8859-1": "iso-8859-1", "latin1": "iso-8859-1", "latin-1": "iso-8859-1",
	"iso8859-2": "iso-8859-2", "iso_8859-2": "iso-8859-2", "latin2": "iso-8859-2", "latin-2": "iso-8859-2",
	"iso8859-15": "iso-8859-15", "iso_8859-15": "iso-8859-15", "latin9": "iso-8859-15", "latin-9": "iso-8859-15",
	"cp1250": "windows-1250", "cp1251": "windows-1251", "cp1252": "windows-1252", "cp1253": "windows-1253",
	"cp1254": "windows-1254", "cp1257": "windows-1257", "cp850": "ibm850", "cp437": "ibm437",
	"mac-roman": "macintosh", "macroman": "macintosh", "mac": "macintosh",
}

// encoding reads the encoding that a text file is said to have.
func (c *checker) encoding(r *Resource, raw *rawResource) {
	e := raw.Encoding
	if e.Value == "" {
		return
	}
	name := strings.ToLower(e.Value)
	if other, ok := encodingNames[name]; ok {
		name = other
	}
	switch {
	case !slices.Contains(Encodings, name):
		c.text(e, document.Nearest(name, Encodings), "encoding %q is not supported, expected one of %s", e.Value, strings.Join(Encodings, ", "))
	case textFile(r.Path):
		r.Encoding = name
	case name != "utf-8":
		c.text(e, "", "encoding is of text files, and %s is none", r.Path)
	}
}

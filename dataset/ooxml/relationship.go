package ooxml

import (
	"net/url"
	"path"
	"strings"
)

// A Relationship is one line of a part's list of relationships.
type Relationship struct {
	ID       string
	Type     string // an address; its last segment says what the target is
	Target   string // name of a part; of an external one, the address as written
	External bool   // the target lies outside of the workbook
}

// Is reports whether the relationship is of a sort: "worksheet", "styles". The
// name spaces of the two variants of the format differ in what stands before.
func (r Relationship) Is(sort string) bool { return strings.HasSuffix(r.Type, "/"+sort) }

// relationships reads the list of a part, "" being the archive itself. A part
// without a list has none.
func (a *archive) relationships(part string) ([]Relationship, error) {
	dir, base := path.Split(part)
	name := dir + "_rels/" + base + ".rels"
	if _, ok := a.files[fold(name)]; !ok {
		return nil, nil
	}
	var list []Relationship
	err := a.read(name, maxIndexBytes, relationshipSpace, func(s *scanner) error {
		for {
			t, err := s.next()
			if err != nil || t == endOfPart {
				return err
			}
			if t != startTag || !s.ours || s.depth() != 2 || string(s.local) != "Relationship" {
				continue
			}
			if len(list) == maxRelationships {
				return refuse("part %s has more than %d lines", quote(name), maxRelationships)
			}
			r := Relationship{
				ID: s.attribute("Id"), Type: s.attribute("Type"), Target: s.attribute("Target"),
				External: strings.EqualFold(s.attribute("TargetMode"), "External"),
			}
			if !r.External {
				if r.Target, err = a.target(dir, r.Target); err != nil {
					return err
				}
			}
			list = append(list, r)
		}
	})
	return list, err
}

// target resolves a target against the folder of its source. A target that
// leads out of the archive is refused.
func (a *archive) target(dir, target string) (string, error) {
	bad := refuse("a relationship leads to %s, which is no part of the workbook", quote(target))
	name, _, _ := strings.Cut(target, "#") // a place within the part
	if name == "" {
		return "", nil // a place in the workbook itself
	}
	if strings.ContainsAny(name, "\\\x00") || strings.Contains(name, "://") {
		return "", bad
	}
	segments := []string{}
	if !strings.HasPrefix(name, "/") {
		for s := range strings.SplitSeq(strings.Trim(dir, "/"), "/") {
			if s != "" {
				segments = append(segments, s)
			}
		}
	}
	for s := range strings.SplitSeq(strings.TrimPrefix(name, "/"), "/") {
		switch s {
		case "", ".":
		case "..":
			if len(segments) == 0 {
				return "", bad
			}
			segments = segments[:len(segments)-1]
		default:
			segments = append(segments, s)
		}
	}
	full := strings.Join(segments, "/")
	if _, ok := a.files[fold(full)]; !ok && strings.Contains(full, "%") {
		if plain, err := url.PathUnescape(full); err == nil && safeName(plain) {
			full = plain
		}
	}
	if !safeName(full) {
		return "", bad
	}
	return full, nil
}

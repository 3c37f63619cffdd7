package ooxml

import "strconv"

// formats reads from the styles the kind of number format of each style of a
// cell.
func (a *archive) formats(part string) ([]Format, error) {
	codes := make(map[int]Format)
	var ids []int
	section := ""
	err := a.read(part, maxStylesBytes, mainSpace, func(s *scanner) error {
		for {
			t, err := s.next()
			if err != nil || t == endOfPart {
				return err
			}
			if t != startTag || !s.ours {
				continue
			}
			switch depth := s.depth(); {
			case depth == 2:
				section = string(s.local)
			case depth == 3 && section == "numFmts" && string(s.local) == "numFmt":
				if id, err := strconv.Atoi(s.attribute("numFmtId")); err == nil {
					codes[id] = formatOf(s.attribute("formatCode"))
				}
			case depth == 3 && section == "cellXfs" && string(s.local) == "xf":
				id, err := strconv.Atoi(s.attribute("numFmtId"))
				if err != nil {
					id = 0
				}
				ids = append(ids, id)
			}
			if len(codes) > maxStyles || len(ids) > maxStyles {
				return refuse("part %s has more than %d styles", quote(part), maxStyles)
			}
		}
	})
	if err != nil {
		return nil, err
	}
	out := make([]Format, len(ids))
	for i, id := range ids {
		f, own := codes[id]
		if !own {
			f = builtIn(id)
		}
		out[i] = f
	}
	return out, nil
}

// builtIn is the kind of a number format that has no code in the file, by its
// number (ISO/IEC 29500-1, 18.8.30). Those from 27 to 36, 50 to 58 and 71 to 81
// are days and times of East Asian and Thai programs.
func builtIn(id int) Format {
	switch {
	case id >= 14 && id <= 22, id >= 27 && id <= 36, id >= 45 && id <= 47, id >= 50 && id <= 58, id >= 71 && id <= 81:
		return Date
	case id == 9, id == 10, id == 67, id == 68:
		return Percent
	}
	return Plain
}

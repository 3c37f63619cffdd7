package delimited

import (
	"bytes"
	"errors"
	"io"
	"slices"
	"strings"
)

// named honours a first line that names the separator, "sep=;", as some
// spreadsheet programs write it and hide it again. It is no record.
func (r *Reader) named() *Error {
	first := r.text
	if end := bytes.IndexAny(first, "\r\n"); end >= 0 {
		first = first[:end]
	}
	word := first
	if n := len(word); n >= 2 && word[0] == '"' && word[n-1] == '"' {
		word = word[1 : n-1]
	}
	if len(word) != 5 || !bytes.EqualFold(word[:4], []byte("sep=")) {
		return nil
	}
	mark := word[4]
	if SeparatorName(mark) == "separators" {
		return refuse(1, "the line names %q as separator; expected a comma, a semicolon, a tab or a bar", string(rune(mark)))
	}
	if r.found.Delimiter != 0 && r.found.Delimiter != mark {
		return refuse(1, "the line names %s as separator, the codebook says delimiter %s", SeparatorName(mark), separatorValue(r.found.Delimiter))
	}
	r.found.Delimiter, r.found.Named = mark, true
	r.at = len(first)
	if r.at < len(r.text) {
		return r.endLine(r.lineEnd(r.at))
	}
	return nil
}

// A trial is how the text looks with one separator.
type trial struct {
	mark  byte
	width int  // cells of the header
	names int  // known names in it
	even  bool // the records have as many cells as the header
}

// findSeparator chooses the separator where it is not pinned: the one with
// which the header has most of the known names; among equals the one that
// gives records of equal length; and what the file's name promises where no
// separator occurs. Two that remain are refused.
func (r *Reader) findSeparator(h Header) *Error {
	var trials []trial
	for _, s := range separators {
		if s.mark == '|' {
			continue // of texts more often than of tables: read where pinned
		}
		t := r.try(s.mark, h)
		if r.found.DelimiterPinned && t.mark != r.found.Delimiter && t.names > 0 && t.width > 1 {
			if p := r.try(r.found.Delimiter, h); p.width == 1 && p.names < t.names {
				return refuse(max(h.Line, 1), "the columns are separated by %s, the codebook says delimiter %s", s.name, separatorValue(r.found.Delimiter))
			}
		}
		trials = append(trials, t)
	}
	if r.found.Delimiter != 0 {
		return nil
	}
	r.found.Delimiter = r.found.usual
	best := keep(trials, func(t trial) int { return t.names })
	if best[0].names == 0 {
		if t := r.try('|', h); t.names > 0 && t.width > 1 {
			return refuse(max(h.Line, r.line), "the columns are separated by bars; say so in the codebook, dialect: {delimiter: \"|\"}")
		}
		best = keep(best, func(t trial) int { return min(t.width, 2) })
	}
	best = keep(best, func(t trial) int {
		if t.even {
			return 1
		}
		return 0
	})
	best = slices.DeleteFunc(best, func(t trial) bool { return t.width < 2 })
	switch len(best) {
	case 0:
	case 1:
		r.found.Delimiter = best[0].mark
	default:
		return refuse(max(h.Line, r.line), "the columns could be separated by %s or by %s; pin one in the codebook, dialect: {delimiter: %s} or dialect: {delimiter: %s}",
			SeparatorName(best[0].mark), SeparatorName(best[1].mark), separatorValue(best[0].mark), separatorValue(best[1].mark))
	}
	return nil
}

// keep gives the trials with the greatest value.
func keep(trials []trial, value func(trial) int) []trial {
	best := -1
	var kept []trial
	for _, t := range trials {
		switch v := value(t); {
		case v > best:
			best, kept = v, []trial{t}
		case v == best:
			kept = append(kept, t)
		}
	}
	return kept
}

// try reads the header and the first records with one separator.
func (r *Reader) try(mark byte, h Header) trial {
	t := trial{mark: mark, even: true}
	s := &Reader{text: r.text, at: r.at, line: r.line, pinned: r.pinned, single: r.single, found: r.found}
	s.found.Delimiter = mark
	known := make(map[string]bool, len(h.Names))
	for _, n := range h.Names {
		known[n] = true
	}
	for n, rows := 0, 0; n < maxSampleGap && rows < sampleRows; n++ {
		record, err := s.Read()
		if err != nil {
			// The end, or what this separator cannot be right about.
			t.even = t.even && errors.Is(err, io.EOF)
			return t
		}
		if record.Line < h.Line || len(record.Cells) == 0 {
			continue
		}
		if t.width == 0 {
			t.width = len(record.Cells)
			for _, c := range record.Cells {
				if c = strings.TrimSpace(c); known[c] {
					t.names++
					delete(known, c)
				}
			}
			continue
		}
		rows++
		cells := record.Cells
		for len(cells) > t.width && strings.TrimSpace(cells[len(cells)-1]) == "" {
			cells = cells[:len(cells)-1]
		}
		t.even = t.even && len(cells) == t.width
	}
	return t
}

package frozen

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
)

// File is the name of a frozen plan in a study folder.
const File = "plan.frozen"

// The head of the file, before the digest and the plan.
const (
	head  = "A plan as it was frozen. Do not edit. SHA-256 of what follows the line of dashes:\n"
	ruled = "\n----------------------------------------------------------------\n"
)

// errForm is a file that Write did not make.
var errForm = errors.New("is no frozen plan, or was changed since it was written")

// Digest is the SHA-256 of a plan, in hexadecimal.
func Digest(plan []byte) string {
	sum := sha256.Sum256(plan)
	return hex.EncodeToString(sum[:])
}

// Write makes the file of a plan.
func Write(plan []byte) []byte {
	return append([]byte(head+Digest(plan)+ruled), plan...)
}

// Read gives the plan of a file.
func Read(file []byte) (plan []byte, err error) {
	rest, ok := bytes.CutPrefix(file, []byte(head))
	sum, plan, cut := bytes.Cut(rest, []byte(ruled))
	if !ok || !cut || len(sum) != 2*sha256.Size {
		return nil, fmt.Errorf("%s %w", File, errForm)
	}
	if got := Digest(plan); got != string(sum) {
		return nil, fmt.Errorf("%s %w: found a plan with the SHA-256 %s, expected %s", File, errForm, got, sum)
	}
	return plan, nil
}

// A Deviation is a line that a plan has otherwise than the frozen one.
type Deviation struct {
	Line int    // of the plan as it is; for a line left out, the one before it
	Was  string // the line of the frozen plan, "" where it had none
	Now  string // the line of the plan, "" where it was left out
	Had  int    // line of the frozen plan, 0 where it had none
}

// String says it in one sentence.
func (d Deviation) String() string {
	switch {
	case d.Had == 0:
		return fmt.Sprintf("line %d was added: %q", d.Line, d.Now)
	case d.Now == "":
		return fmt.Sprintf("line %d of the frozen plan was left out: %q", d.Had, d.Was)
	}
	return fmt.Sprintf("line %d was %q, and is %q", d.Line, d.Was, d.Now)
}

// Deviations lists the lines that differ, by a longest common sequence of
// lines. Blanks at the ends of lines, empty lines and lines of comment alone do
// not count.
func Deviations(was, now []byte) []Deviation {
	a, b := linesOf(was), linesOf(now)
	common := make([][]int, len(a)+1)
	for i := range common {
		common[i] = make([]int, len(b)+1)
	}
	for i := len(a) - 1; i >= 0; i-- {
		for j := len(b) - 1; j >= 0; j-- {
			if a[i].text == b[j].text {
				common[i][j] = common[i+1][j+1] + 1
			} else {
				common[i][j] = max(common[i+1][j], common[i][j+1])
			}
		}
	}
	var out []Deviation
	for i, j := 0, 0; i < len(a) || j < len(b); {
		if i < len(a) && j < len(b) && a[i].text == b[j].text {
			i, j = i+1, j+1
			continue
		}
		// A block without a common line: its lines are paired in order.
		var gone, come []line
		for i < len(a) || j < len(b) {
			switch {
			case i < len(a) && j < len(b) && a[i].text == b[j].text:
			case j == len(b) || i < len(a) && common[i+1][j] >= common[i][j+1]:
				gone, i = append(gone, a[i]), i+1
				continue
			default:
				come, j = append(come, b[j]), j+1
				continue
			}
			break
		}
		before := 0
		if j-len(come) > 0 {
			before = b[j-len(come)-1].number
		}
		for k := range max(len(gone), len(come)) {
			switch {
			case k >= len(come):
				out = append(out, Deviation{Line: before, Was: gone[k].text, Had: gone[k].number})
			case k >= len(gone):
				before = come[k].number
				out = append(out, Deviation{Line: come[k].number, Now: come[k].text})
			default:
				before = come[k].number
				out = append(out, Deviation{Line: come[k].number, Was: gone[k].text, Now: come[k].text, Had: gone[k].number})
			}
		}
	}
	return out
}

type line struct {
	number int
	text   string
}

func linesOf(text []byte) (out []line) {
	for i, s := range strings.Split(strings.ReplaceAll(string(text), "\r\n", "\n"), "\n") {
		s = strings.TrimRight(s, " \t")
		if trimmed := strings.TrimLeft(s, " \t"); trimmed != "" && trimmed[0] != '#' {
			out = append(out, line{i + 1, s})
		}
	}
	return out
}

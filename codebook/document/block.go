package document

import (
	"regexp"
	"strings"
)

var blockHeader = regexp.MustCompile(`^[|>]([-+]?)([0-9]?)([-+]?)[ \t]*(?:[ \t]#.*)?$`)

// verifyBlock reads a literal or folded block a second time, as verify does
// with other texts, and notes where its text begins.
func (y *yamlReader) verifyBlock(n *Node, header int) error {
	begin := y.source.at(header)
	line := string(y.source.line(begin.Line))[header-y.source.lines[begin.Line-1]:]
	parts := blockHeader.FindStringSubmatch(line)
	switch {
	case parts == nil:
		return y.source.fault(header, "not valid YAML: %s begins a block, so the text begins on the next line", line[:1])
	case parts[2] != "":
		return y.source.fault(header, "an indentation mark %s is not accepted: indent the first line of the block least", parts[2])
	}
	indent := -1
	var lines []string
	last := len(y.source.lines)
	if y.source.lines[last-1] == len(y.source.data) {
		last-- // the file ends with a line end
	}
	for number := begin.Line + 1; number <= last; number++ {
		line := string(y.source.line(number))
		bare := strings.TrimLeft(line, " ")
		lead := len(line) - len(bare)
		if bare == "" {
			if indent >= 0 && lead > indent {
				bare, lead = line[indent:], indent
			}
			lines = append(lines, bare)
			continue
		}
		if indent < 0 {
			indent = lead
			n.start = y.source.lines[number-1] + lead
		}
		if lead < indent {
			break
		}
		lines = append(lines, line[indent:])
	}
	want := chomp(lines, parts[1]+parts[3], n.style == folded)
	if n.Text != want && n.Text+"\n" != want { // at the end of a file without line end
		return y.source.fault(header, "the block can be read in two ways: put the text in double quotes")
	}
	return nil
}

// chomp joins the lines of a block and treats those at its end as the header
// says: "-" drops all, "+" keeps all, "" keeps one.
func chomp(lines []string, mark string, fold bool) string {
	end := len(lines)
	for end > 0 && strings.Trim(lines[end-1], " ") == "" {
		end--
	}
	text := strings.Join(lines[:end], "\n")
	if fold {
		text = foldLines(lines[:end])
	}
	switch {
	case mark == "+" && end == 0:
		return strings.Repeat("\n", len(lines))
	case mark == "+":
		return text + strings.Repeat("\n", len(lines)-end+1)
	case mark == "-" || end == 0:
		return text
	}
	return text + "\n"
}

// foldLines joins lines by blanks. Empty lines become line ends, and lines
// that are indented further keep theirs.
func foldLines(lines []string) string {
	var b strings.Builder
	empty, before := 0, ""
	for i, line := range lines {
		if line == "" {
			empty++
			continue
		}
		further := line[0] == ' ' || line[0] == '\t' || before != "" && (before[0] == ' ' || before[0] == '\t')
		switch {
		case empty == i: // only empty lines so far
			b.WriteString(strings.Repeat("\n", empty))
		case further:
			b.WriteString(strings.Repeat("\n", empty+1))
		case empty > 0:
			b.WriteString(strings.Repeat("\n", empty))
		default:
			b.WriteByte(' ')
		}
		b.WriteString(line)
		empty, before = 0, line
	}
	return b.String()
}

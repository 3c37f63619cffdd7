package codebook

import (
	"fmt"
	"regexp"
	"regexp/syntax"
	"strings"
)

// Limits of patterns. A pattern is matched in a time that grows with its steps
// and with the length of the text alone, whatever it looks like; but a{1000}
// has a thousand steps, and a repeat of a repeat multiplies them.
const (
	maxPatternText  = 1_000     // characters of one pattern
	maxPatternSteps = 20_000    // of one pattern
	maxAllSteps     = 1_000_000 // of all patterns of a codebook
)

// pattern compiles a pattern that matches the whole text, or says what is
// wrong with it.
func (c *checker) pattern(text string) (*regexp.Regexp, error) {
	if n := len([]rune(text)); n > maxPatternText {
		return nil, fmt.Errorf("a pattern of %d characters, expected at most %d", n, maxPatternText)
	}
	// Alone first: "a)|(b" would be sound only inside the parentheses.
	tree, err := syntax.Parse(text, syntax.Perl)
	if err != nil {
		return nil, fmt.Errorf("pattern %q is no regular expression: %s", text, strings.TrimPrefix(err.Error(), "error parsing regexp: "))
	}
	n := patternSteps(tree)
	if n > maxPatternSteps {
		return nil, fmt.Errorf("pattern %q has more than the %d steps that are tried: limit the length by maxLength", text, maxPatternSteps)
	}
	if c.steps += n; c.steps > maxAllSteps {
		return nil, fmt.Errorf("pattern %q: the patterns of this codebook have more than %d steps together", text, maxAllSteps)
	}
	whole, err := regexp.Compile("^(?:" + text + ")$")
	if err != nil {
		return nil, fmt.Errorf("pattern %q is no regular expression: %s", text, strings.TrimPrefix(err.Error(), "error parsing regexp: "))
	}
	return whole, nil
}

// patternSteps is how many steps a pattern compiles to, about: every repeat
// stands as often as it may be taken. It stops counting when there are too
// many.
func patternSteps(tree *syntax.Regexp) int {
	n := 1
	switch tree.Op {
	case syntax.OpLiteral:
		n = len(tree.Rune)
	case syntax.OpCharClass:
		n = 1 + len(tree.Rune)/8 // a class of many ranges takes the room of several steps
	}
	for _, sub := range tree.Sub {
		n = min(n+patternSteps(sub), maxPatternSteps+1)
	}
	if tree.Op == syntax.OpRepeat {
		n *= max(tree.Min, tree.Max, 1)
	}
	return min(n, maxPatternSteps+1)
}

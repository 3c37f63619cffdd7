package codebook

// isWhole reports whether a text is digits with or without a sign.
func isWhole(text string) bool {
	text = unsigned(text)
	n := countDigits(text)
	return n > 0 && n == len(text)
}

// isDecimal reports whether a text is a number with a point and an exponent of
// ten where it has them: 12, -0.5, .5, 3., 1e-3. It stands for the pattern
// [-+]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][-+]?[0-9]+)? on every cell of numbers.
func isDecimal(text string) bool {
	text = unsigned(text)
	n := countDigits(text)
	text = text[n:]
	if len(text) > 0 && text[0] == '.' {
		fraction := countDigits(text[1:])
		n += fraction
		text = text[1+fraction:]
	}
	if n == 0 || text == "" {
		return n > 0
	}
	return (text[0] == 'e' || text[0] == 'E') && isWhole(text[1:])
}

// unsigned drops one sign.
func unsigned(text string) string {
	if text != "" && (text[0] == '-' || text[0] == '+') {
		return text[1:]
	}
	return text
}

// countDigits is the number of digits that a text begins with.
func countDigits(text string) int {
	n := 0
	for n < len(text) && isDigit(text[n]) {
		n++
	}
	return n
}

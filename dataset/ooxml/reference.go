package ooxml

// ColumnLetters is a column's name in a sheet: 1 is A, 27 is AA.
func ColumnLetters(column int) string {
	var b [8]byte
	i := len(b)
	for column > 0 && i > 0 {
		column--
		i--
		b[i] = byte('A' + column%26)
		column /= 26
	}
	return string(b[i:])
}

// ParseCell reads a cell reference such as "B7". It reports false for anything
// that no sheet can hold: small letters, leading zeros, places beyond XFD1048576.
func ParseCell(ref string) (row, column int, ok bool) { return parseCell(ref) }

func parseCell[T string | []byte](ref T) (row, column int, ok bool) {
	i := 0
	for i < len(ref) && i <= 3 && ref[i] >= 'A' && ref[i] <= 'Z' {
		column = column*26 + int(ref[i]-'A') + 1
		i++
	}
	digits := ref[i:]
	if i == 0 || len(digits) == 0 || len(digits) > 7 || digits[0] == '0' {
		return 0, 0, false
	}
	for j := range len(digits) {
		c := digits[j]
		if c < '0' || c > '9' {
			return 0, 0, false
		}
		row = row*10 + int(c-'0')
	}
	if column > MaxColumns || row > MaxRows {
		return 0, 0, false
	}
	return row, column, true
}

// parseIndex reads a number of digits alone, at most the given one.
func parseIndex(text []byte, most int) (int, bool) {
	if len(text) == 0 || len(text) > 10 {
		return 0, false
	}
	n := 0
	for _, c := range text {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, n <= most
}

// An Area is a rectangle of cells, both corners included.
type Area struct{ Top, Left, Bottom, Right int }

// parseArea reads "A1:B2", or "A1" for one cell.
func parseArea(ref string) (Area, bool) {
	from, to := ref, ref
	for i := range len(ref) {
		if ref[i] == ':' {
			from, to = ref[:i], ref[i+1:]
			break
		}
	}
	top, left, ok1 := parseCell(from)
	bottom, right, ok2 := parseCell(to)
	return Area{top, left, bottom, right}, ok1 && ok2 && bottom >= top && right >= left
}

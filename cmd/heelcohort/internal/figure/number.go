package figure

import "strconv"

// plain is x with the fewest digits that read back as x.
func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

package draft

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"heelcohort/cmd/heelcohort/internal/printed"
)

// quote writes a text with double quotes, as JSON and YAML both read it.
func quote(text string) string {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(strings.ToValidUTF8(text, "\ufffd")); err != nil {
		return `""`
	}
	return strings.TrimSuffix(b.String(), "\n")
}

func plural(n int, word string) string { return printed.Plural(n, word) }

// share is "38 of 40 cells", or "all 40 cells".
func share(n, of int) string {
	if n == of {
		return "all " + plural(of, "cell")
	}
	return fmt.Sprintf("%s of %s", printed.Thousands(strconv.Itoa(n)), plural(of, "cell"))
}

func yearOf(days float64) float64 {
	return float64(time.Unix(int64(days)*86400, 0).UTC().Year())
}

// amountText writes a number as YAML and JSON read it.
func amountText(x float64) string {
	if a := max(x, -x); x == 0 || a >= 1e-6 && a < 1e15 {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

package draft

import (
	"regexp"
	"strings"
)

// units are the units that a title in brackets may name, as written there in
// small letters, with the way they are written in the codebook.
var units = map[string]string{
	"mm": "mm", "cm": "cm", "m": "m", "km": "km", "g": "g", "kg": "kg", "n": "N", "nm": "Nm", "%": "%", "percent": "%", "pct": "%",
	"°": "deg", "deg": "deg", "degrees": "deg", "h": "h", "hr": "h", "hrs": "h", "hour": "h", "hours": "h",
	"min": "min", "minutes": "min", "s": "s", "sec": "s", "seconds": "s", "d": "day", "day": "day", "days": "day",
	"week": "week", "weeks": "week", "wk": "week", "wks": "week", "month": "month", "months": "month",
	"year": "year", "years": "year", "yr": "year", "yrs": "year", "y": "year",
	"kg/m2": "kg/m2", "kg/m²": "kg/m2", "bpm": "bpm", "points": "points", "km/h": "km/h", "m/s": "m/s", "cm2": "cm2", "cm²": "cm2",
}

// suffixes are the units that may end a title without brackets. Single letters
// other than h are left out: _m is as often male or mother as metre.
var suffixes = []string{"mm", "cm", "km", "kg", "pct", "percent", "%", "deg", "h", "hrs", "min", "bpm"}

var bracketed = regexp.MustCompile(`[(\[{]\s*([^()\[\]{}]+?)\s*[)\]}]`)

// unitOf guesses the unit from a title: "Height (cm)", "vas_mm", "Adherence %".
// A comma before it counts as brackets: "Height, cm".
func unitOf(title string) string {
	for _, m := range bracketed.FindAllStringSubmatch(title, -1) {
		if u, ok := units[strings.ToLower(m[1])]; ok {
			return u
		}
	}
	if _, after, found := cutLast(title, ","); found {
		if u, ok := units[strings.ToLower(strings.TrimSpace(after))]; ok {
			return u
		}
	}
	lower := strings.ToLower(strings.TrimSpace(title))
	for _, s := range suffixes {
		rest, ok := strings.CutSuffix(lower, s)
		if ok && rest != "" && (strings.HasSuffix(rest, "_") || strings.HasSuffix(rest, " ") || strings.HasSuffix(rest, "-") || s == "%") {
			return units[s]
		}
	}
	return ""
}

func cutLast(text, sep string) (before, after string, found bool) {
	if i := strings.LastIndex(text, sep); i >= 0 {
		return text[:i], text[i+len(sep):], true
	}
	return text, "", false
}

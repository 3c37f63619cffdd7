package document

import "strings"

// Nearest returns the word of words nearest to word by edit distance, or ""
// where none is near enough to be meant. The distance counts inserted,
// deleted, replaced and swapped neighbouring characters, ignoring case; it may
// be at most a third of the word's length, and at least one. Of equally near
// words the first one wins.
func Nearest(word string, words []string) string {
	const longest = 200 // characters; longer ones are no words
	from := []rune(strings.ToLower(word))
	if len(from) == 0 || len(from) > longest {
		return ""
	}
	best, limit := "", max(1, len(from)/3)
	for _, candidate := range words {
		to := []rune(strings.ToLower(candidate))
		if len(to)-len(from) > limit || len(from)-len(to) > limit || len(to) == 0 {
			continue
		}
		// A short word replaced as a whole is no slip.
		if d := distance(from, to); d <= limit && d < max(len(from), len(to)) {
			best, limit = candidate, d-1
			if d == 0 {
				break
			}
		}
	}
	return best
}

// distance is the Damerau–Levenshtein distance in which no part of a word is
// edited twice (optimal string alignment).
func distance(a, b []rune) int {
	before := make([]int, len(b)+1)
	last := make([]int, len(b)+1)
	row := make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}

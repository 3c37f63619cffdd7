package printed

import "testing"

func TestTestName(t *testing.T) {
	for measure, want := range map[string]string{
		"log-rank": "Log-rank test", "tarone-ware": "Tarone-Ware test", "fleming-harrington": "Fleming-Harrington test",
		"Gray's test": "Gray's test", "trend of the log-rank test": "Trend of the log-rank test", "chi-square": "Chi-square test",
	} {
		if got := TestName(measure); got != want {
			t.Errorf("%s: %q, want %q", measure, got, want)
		}
	}
}

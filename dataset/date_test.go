package dataset

import (
	"strconv"
	"testing"
	"time"
)

// serialDate is serialDay with the day as a calendar writes it.
func serialDate(text string, date1904 bool) (date, expected string) {
	days, expected := serialDay(text, date1904, false)
	if expected != "" {
		return "", expected
	}
	return time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, int(days)).Format("2006-01-02"), ""
}

// Every day from 1900-03-01 to 2100, against counting on a calendar. The two
// systems differ by 1462 days.
func TestSerialDate(t *testing.T) {
	day := time.Date(1900, 3, 1, 0, 0, 0, 0, time.UTC)
	for serial := 61; day.Year() < 2100; serial++ {
		want := day.Format("2006-01-02")
		if got, expected := serialDate(strconv.Itoa(serial), false); got != want {
			t.Fatalf("%d is %q (%s), want %s", serial, got, expected, want)
		}
		if serial >= 1462 {
			if got, expected := serialDate(strconv.Itoa(serial-1462), true); got != want {
				t.Fatalf("1904 system: %d is %q (%s), want %s", serial-1462, got, expected, want)
			}
		}
		day = day.AddDate(0, 0, 1)
	}
}

func TestSerialDateRefused(t *testing.T) {
	for _, c := range []struct {
		text string
		from bool
	}{
		{"60", false},
		{"59", false},
		{"0", false},
		{"-1", false},
		{"2958466", false},
		{"44621.25", false},
		{"x", false},
		{"NaN", false},
		{"Inf", false},
		{"1e300", false},
		{"-1", true},
		{"2957004", true},
	} {
		if got, expected := serialDate(c.text, c.from); got != "" || expected == "" {
			t.Errorf("%s, %v: %q, want a refusal", c.text, c.from, got)
		}
	}
	for _, c := range []struct {
		text string
		from bool
		want string
	}{{"2958465", false, "9999-12-31"}, {"2957003", true, "9999-12-31"}, {"61", false, "1900-03-01"}, {"0", true, "1904-01-01"}} {
		if got, _ := serialDate(c.text, c.from); got != c.want {
			t.Errorf("%s, %v: %q, want %s", c.text, c.from, got, c.want)
		}
	}
}

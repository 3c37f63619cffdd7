package stats

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Why rows of times cannot be analysed. Functions wrap these with how many
// rows are concerned and which come first.
var (
	ErrEntryAfterExit = errors.New("entry not before exit")
	ErrNotFinite      = errors.New("a value is not a finite number")
)

// Times are the rows of a time-to-event study, one a spell under observation:
// a row is at risk at t when Entry < t <= Exit. Times are in the caller's unit
// and compared exactly: two times are tied when they are the same number, so
// days or weeks should come as whole numbers and not as quotients.
//
// A nil Entry means that nobody entered late: every row is at risk from the
// origin 0 on, an exit at 0 included. With an Entry, a row whose exit is not
// after its entry was never at risk and is refused with ErrEntryAfterExit.
type Times struct {
	Entry  []float64 // start of observation; nil: the origin
	Exit   []float64 // event or end of observation
	Status []bool    // whether the event happened at Exit
}

// check panics on slices of unequal length and returns an error for rows that
// cannot be analysed.
func (t Times) check() error {
	n := len(t.Exit)
	if len(t.Status) != n || (t.Entry != nil && len(t.Entry) != n) {
		panic(fmt.Sprintf("stats: %d exits, %d statuses, %d entries", n, len(t.Status), len(t.Entry)))
	}
	if n == 0 {
		return fmt.Errorf("times: %w", ErrNoData)
	}
	var wrong, early []int
	for i, exit := range t.Exit {
		entry := t.entry(i)
		switch {
		case !finite(exit) || !finite(entry):
			wrong = append(wrong, i)
		case exit < entry || (t.Entry != nil && exit == entry):
			early = append(early, i)
		}
	}
	if wrong != nil {
		return fmt.Errorf("times: %w: %d of %d rows (%s)", ErrNotFinite, len(wrong), n, firstRows(wrong))
	}
	if early != nil {
		return fmt.Errorf("times: %w: %d of %d rows (%s)", ErrEntryAfterExit, len(early), n, firstRows(early))
	}
	return nil
}

// entry returns the start of observation of row i.
func (t Times) entry(i int) float64 {
	if t.Entry == nil {
		return 0
	}
	return t.Entry[i]
}

// byEntry returns the rows in order of their entry; rows tied keep the caller's
// order.
func (t Times) byEntry() []int { return ordered(len(t.Exit), t.entry) }

// pick returns the rows with the given numbers.
func (t Times) pick(rows []int) Times {
	out := Times{Exit: make([]float64, len(rows)), Status: make([]bool, len(rows))}
	if t.Entry != nil {
		out.Entry = make([]float64, len(rows))
	}
	for k, i := range rows {
		out.Exit[k], out.Status[k] = t.Exit[i], t.Status[i]
		if t.Entry != nil {
			out.Entry[k] = t.Entry[i]
		}
	}
	return out
}

// atRiskAtEvent reports for every row whether it is at risk at the time of
// some event. Other rows bear on no partial likelihood and on no log-rank sum.
func (t Times) atRiskAtEvent() []bool {
	var events []float64
	for i, e := range t.Status {
		if e {
			events = append(events, t.Exit[i])
		}
	}
	used := make([]bool, len(t.Exit))
	if t.Entry == nil && events != nil {
		first := slices.Min(events)
		for i, exit := range t.Exit {
			used[i] = first <= exit
		}
	}
	if t.Entry == nil || events == nil {
		return used
	}
	slices.Sort(events)
	events = slices.Compact(events)
	for i, exit := range t.Exit {
		// The first event after the entry.
		at, exact := slices.BinarySearch(events, t.Entry[i])
		if exact {
			at++
		}
		used[i] = at < len(events) && events[at] <= exit
	}
	return used
}

// finite reports whether x is a number; of one that is not the difference with
// itself is NaN.
func finite(x float64) bool { return x-x == 0 }

func notFinite(x float64) bool { return !finite(x) }

// firstRows names the first few of some rows, counted from 1.
func firstRows(rows []int) string {
	const show = 5
	var b strings.Builder
	b.WriteString("row ")
	for i, r := range rows {
		if i == show {
			b.WriteString(", ...")
			break
		}
		if i > 0 {
			b.WriteString(", ")
		}
		fmt.Fprintf(&b, "%d", r+1)
	}
	return b.String()
}

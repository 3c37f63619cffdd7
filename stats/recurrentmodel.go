package stats

import (
	"fmt"
	"slices"
)

// RecurrentLayout says how rows of recurrent events enter a Cox model.
type RecurrentLayout string

// Layouts of LayOutRecurrent.
const (
	// AndersenGill: the counting process. All events of a child are alike, on
	// the time since the origin; a child is at risk whenever it is observed.
	AndersenGill RecurrentLayout = "Andersen-Gill"
	// PrenticeTotal: of Prentice, Williams and Peterson, on the time since the
	// origin. A child is at risk of its k-th event once it has had k−1, in a
	// stratum of its own for each k.
	PrenticeTotal RecurrentLayout = "Prentice-Williams-Peterson, total time"
	// PrenticeGap: the same strata, on the time since the event before; before
	// the first event that is the time since the origin.
	PrenticeGap RecurrentLayout = "Prentice-Williams-Peterson, gap time"
)

// RecurrentRows are rows laid out for FitCox: of the rows given, in their order.
type RecurrentRows struct {
	Times
	Number []int // which event of its child a row is at risk of, from 1
	Strata []int // Number, held to the largest; nil for AndersenGill
}

// RecurrentOptions are the choices of LayOutRecurrent and FitRecurrent; the zero
// value is the layout AndersenGill, Efron ties and level 0.95.
type RecurrentOptions struct {
	Layout        RecurrentLayout // "" means AndersenGill
	LargestNumber int             // of the events with a stratum of their own; 0: all
	// Number is which event of its child each row is at risk of, from 1, where a
	// child had events before its first row or between rows; nil: counted.
	Number []int
	// Since is, of each row, the time at which PrenticeGap has its clock start,
	// such as the day on which the symptoms of the event before were over; nil:
	// the time of the event before, and 0 before the first.
	Since   []float64
	Ties    string    // TiesEfron (the meaning of "") or TiesBreslow
	Level   float64   // confidence level; 0 means 0.95
	Weights []float64 // case weight of each row, above 0; nil: 1 each
	Cluster []int     // cluster of each row for the errors, any numbers; nil: the child
}

// LayOutRecurrent lays out rows of children under observation, each with an
// event at its exit or none, of any number of rows a child: cut at every event,
// with gaps where the child was not observed or not at risk, and late entry. A
// child's events are counted from its first row on unless Number is given. Of
// numbers above LargestNumber none has a stratum of its own: they are one with
// it; 0 sets no bound. Only Layout, LargestNumber, Number and Since are looked at.
//
// It returns ErrNoData, ErrEntryAfterExit, ErrNotFinite and ErrOverlap for rows
// that cannot be used. Another layout, a negative LargestNumber, numbers of a
// child that do not grow by one at least with each event and never fall, and a
// row that ends before its clock starts are the caller's mistake.
func LayOutRecurrent(t Times, child []int, opts RecurrentOptions) (RecurrentRows, error) {
	layout, largest := opts.Layout, opts.LargestNumber
	if layout == "" {
		layout = AndersenGill
	}
	n := len(t.Exit)
	if layout != AndersenGill && layout != PrenticeTotal && layout != PrenticeGap || largest < 0 ||
		opts.Number != nil && len(opts.Number) != n || opts.Since != nil && len(opts.Since) != n {
		panic(fmt.Sprintf("stats: layout %q with strata up to %d, %d numbers and %d starts of clocks of %d rows",
			string(layout), largest, len(opts.Number), len(opts.Since), n))
	}
	number, children, err := checkChildren("recurrent events", t, child, make([]bool, n))
	if err != nil {
		return RecurrentRows{}, err
	}
	r := RecurrentRows{Times: Times{Entry: make([]float64, n), Exit: slices.Clone(t.Exit), Status: slices.Clone(t.Status)}, Number: make([]int, n)}
	events, last := make([]int, children), make([]float64, children)
	for _, i := range t.byEntry() {
		who := number[i]
		if opts.Number != nil {
			if opts.Number[i] <= events[who] {
				panic(fmt.Sprintf("stats: row %d is at risk of event %d of its child, after event %d", i+1, opts.Number[i], events[who]))
			}
			events[who] = opts.Number[i] - 1
		}
		if opts.Since != nil {
			if !(opts.Since[i] <= t.Exit[i]) {
				panic(fmt.Sprintf("stats: row %d ends at %v, before its clock starts at %v", i+1, t.Exit[i], opts.Since[i]))
			}
			last[who] = opts.Since[i]
		}
		r.Number[i] = events[who] + 1
		r.Entry[i] = t.entry(i)
		if layout == PrenticeGap {
			r.Entry[i] -= last[who]
			r.Exit[i] -= last[who]
		}
		if t.Status[i] {
			events[who]++
			last[who] = t.Exit[i]
		}
	}
	if t.Entry == nil && opts.Since == nil {
		r.Entry = nil // one row a child: an exit at the origin is at risk
	}
	if layout != AndersenGill {
		r.Strata = slices.Clone(r.Number)
		for i, k := range r.Strata {
			if largest > 0 {
				r.Strata[i] = min(k, largest)
			}
		}
	}
	return r, nil
}

// fewAtNumber is the number of children at risk of a k-th event below which its
// stratum is doubted.
const fewAtNumber = 10

// FitRecurrent fits a Cox model of events that come again, with errors robust by
// child, or Cluster (Lin and Wei): its rows may depend on each other in any way.
// The three layouts answer different questions. AndersenGill gives the ratio of
// rates of all events; it takes an event to leave the rate as it was, given the
// columns, for its model-based errors, not for its robust ones. PrenticeTotal
// and PrenticeGap compare children that have had the same number of events: what
// acts through earlier events is taken out, and children left in later strata
// need no longer be alike but for the columns, in a trial neither. Estimates are
// hazard ratios common to all numbers; for one ratio a number lay rows out with
// LayOutRecurrent and give FitCox a column each.
//
// Wald's test and limits are robust. A stratum with fewer than 10 children gives
// the warning few-at-number: pool numbers by LargestNumber. It returns the errors
// of LayOutRecurrent and FitCox.
//
// Andersen PK, Gill RD. Cox's regression model for counting processes: a large
// sample study. Ann Stat 1982;10:1100-1120. Prentice RL, Williams BJ, Peterson
// AV. On the regression analysis of multivariate failure time data. Biometrika
// 1981;68:373-379. Lin DY, Wei LJ, Yang I, Ying Z. Semiparametric regression for
// the mean and rate functions of recurrent events. J R Stat Soc B 2000;62:711-730.
func FitRecurrent(t Times, child []int, x [][]float64, terms []string, opts RecurrentOptions) (Fit, error) {
	if opts.Layout == "" {
		opts.Layout = AndersenGill
	}
	if opts.Ties == TiesExact {
		panic("stats: recurrent events with exact ties, which have no robust errors")
	}
	rows, err := LayOutRecurrent(t, child, opts)
	if err != nil {
		return Fit{}, err
	}
	cluster := opts.Cluster
	if cluster == nil {
		cluster = child
	}
	f, err := FitCox(rows.Times, x, terms, CoxOptions{
		Ties: opts.Ties, Level: opts.Level, Strata: rows.Strata, Weights: opts.Weights, Cluster: cluster,
	})
	if err != nil {
		return Fit{}, fmt.Errorf("%s: %w", opts.Layout, err)
	}
	f.Model = "Cox proportional hazards regression of recurrent events, " + string(opts.Layout)
	if few := rows.fewest(child); few.children < fewAtNumber {
		f.Warnings = append(f.Warnings, Warning{"few-at-number", fmt.Sprintf(
			"Only %d children were at risk of event number %d: hazard ratios among them rest on little.", few.children, few.number)})
	}
	return f, nil
}

type fewAtRisk struct{ number, children int }

// fewest is the stratum with the fewest children, of the lowest number.
func (r RecurrentRows) fewest(child []int) fewAtRisk {
	out := fewAtRisk{0, fewAtNumber}
	there := map[[2]int]bool{}
	count := map[int]int{}
	largest := 0
	for i, k := range r.Strata {
		if key := [2]int{k, child[i]}; !there[key] {
			there[key] = true
			count[k]++
			largest = max(largest, k)
		}
	}
	for k := 1; k <= largest; k++ {
		if count[k] < out.children {
			out = fewAtRisk{k, count[k]}
		}
	}
	return out
}

package stats

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Functions g of time with which a change of a hazard ratio is looked for.
const (
	TimeKaplanMeier = "kaplan-meier" // 1 − S(t−)
	TimeIdentity    = "identity"     // t
	TimeRank        = "rank"         // mean rank of t among the exits of all rows
	TimeLog         = "log"          // log t
)

// ErrTimeNotPositive says that a time has no logarithm.
var ErrTimeNotPositive = errors.New("a time is not above zero")

// timeScale is g at each group of events. The Kaplan-Meier curve and the ranks
// are of all rows given, whatever their stratum or weight.
func (m *coxModel) timeScale(name string) ([]float64, error) {
	g := make([]float64, len(m.groups))
	exits := slices.Concat(m.exit, m.others.Exit)
	slices.Sort(exits)
	switch name {
	case TimeIdentity:
		for k, group := range m.groups {
			g[k] = group.at
		}
	case TimeLog:
		for k, group := range m.groups {
			if !(group.at > 0) {
				return nil, fmt.Errorf("%w: the logarithm of an event's time %g", ErrTimeNotPositive, group.at)
			}
			g[k] = math.Log(group.at)
		}
	case TimeRank:
		for k, group := range m.groups {
			g[k] = float64(1+below(exits, group.at)+upTo(exits, group.at)) / 2
		}
	case TimeKaplanMeier:
		m.kaplanMeierScale(g, exits)
	default:
		panic(fmt.Sprintf("stats: time scale %q, expected kaplan-meier, identity, rank or log", name))
	}
	return g, nil
}

// kaplanMeierScale sets g to 1 − S(t−), S the Kaplan-Meier curve of all rows.
func (m *coxModel) kaplanMeierScale(g, exits []float64) {
	var entries []float64 // nil where nobody enters late
	if m.byEntry != nil {
		entries = slices.Concat(m.entry, m.others.Entry)
		slices.Sort(entries)
	}
	events := map[float64]int{}
	var times []float64
	for _, group := range m.groups {
		if events[group.at] == 0 {
			times = append(times, group.at)
		}
		events[group.at] += len(group.events)
	}
	slices.Sort(times)
	survival, before := 1.0, map[float64]float64{}
	for _, at := range times {
		before[at] = survival
		n := len(exits) - below(exits, at)
		if entries != nil {
			n -= len(entries) - below(entries, at)
		}
		survival *= float64(n-events[at]) / float64(n)
	}
	for k, group := range m.groups {
		g[k] = 1 - before[group.at]
	}
}

// below and upTo count the sorted values below x, and those up to x.
func below(sorted []float64, x float64) int {
	n, _ := slices.BinarySearch(sorted, x)
	return n
}

func upTo(sorted []float64, x float64) int {
	return below(sorted, math.Nextafter(x, math.Inf(1)))
}

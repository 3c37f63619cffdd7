package stats_test

import (
	"fmt"

	"heelcohort/stats"
)

// Four children with heel pain: days in each state up to day 6.
func ExampleStateOccupancy() {
	rows := stats.StateTimes{
		ID:    []int{1, 1, 1, 2, 3, 4, 4},
		Entry: []float64{0, 2, 3, 0, 0, 0, 5},
		Exit:  []float64{2, 3, 9, 4, 4, 5, 9},
		From:  []int{0, 1, 2, 0, 0, 0, 1},
		To:    []int{1, 2, stats.StayedIn, 3, stats.StayedIn, 1, stats.StayedIn},
	}
	o, err := stats.StateOccupancy(rows, []string{"symptomatic", "back in sport", "relapsed", "gave up"}, stats.StateOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for j, e := range o.TimeInStates(6) {
		fmt.Printf("%s: %.2f at day 5, %.2f of 6 days\n", e.Term, o.At(j, 5).Occupancy, e.Value)
	}
	// Output:
	// symptomatic: 0.00 at day 5, 4.00 of 6 days
	// back in sport: 0.50 at day 5, 0.75 of 6 days
	// relapsed: 0.25 at day 5, 0.75 of 6 days
	// gave up: 0.25 at day 5, 0.50 of 6 days
}

package demo

import (
	"context"
	"errors"
	"math"
	"os"
	"reflect"
	"testing"
)

// TestCoverage runs the simulation of coverage, which takes minutes, where
// HEELCOHORT_COVERAGE=1 asks for it, and compares with the stored report.
func TestCoverage(t *testing.T) {
	if os.Getenv("HEELCOHORT_COVERAGE") != "1" {
		t.Skip("set HEELCOHORT_COVERAGE=1 to simulate 2000 registries")
	}
	report, err := Coverage(context.Background(), 2000, 1, StatsMethods())
	if err != nil {
		t.Fatal(err)
	}
	const file = "testdata/coverage.txt"
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(report.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if got := report.String(); got != string(want) {
		t.Errorf("got:\n%s\nwant:\n%s", got, want)
	}
	for _, c := range report.Rows {
		// The standard error of a share of 95 % of 2,000 is 0.5 %.
		if share := c.Share(); share < 0.93 || share > 0.97 {
			t.Errorf("%s: limits cover the truth in %.1f %% of %d registries, want 93 to 97", c.Name, 100*share, c.N)
		}
	}
}

// TestCoverageIsDeterministic simulates a few registries twice.
func TestCoverageIsDeterministic(t *testing.T) {
	a, err := Coverage(context.Background(), 6, 3, StatsMethods())
	if err != nil {
		t.Fatal(err)
	}
	b, err := Coverage(context.Background(), 6, 3, StatsMethods())
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(a, b) {
		t.Errorf("two runs differ:\n%v\n%v", a, b)
	}
	for _, c := range a.Rows {
		if c.N != 6 || c.Hits+c.Low+c.High != c.N {
			t.Errorf("%s: %d registries with limits, %d covered, %d below, %d above", c.Name, c.N, c.Hits, c.Low, c.High)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Coverage(ctx, 6, 3, StatsMethods()); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want %v", err, context.Canceled)
	}
}

// TestAnalysisByHand applies the plan's definitions to a small registry.
func TestAnalysisByHand(t *testing.T) {
	zeros := [2][6]Measure{}
	child := func(consent bool) Participant {
		return Participant{Consent: consent, AgeEnrolled: 9.9, FPI: zeros, LastContact: 400}
	}
	reg := &Registry{
		Participants: []Participant{child(true), child(true), child(false), child(true)},
		Episodes: []Episode{
			// Two heels on one day, then a recurrence: one first episode.
			{Child: 0, Spell: 1, Heel: "right", Onset: 50, SportAtOnset: "football", EndDay: 90, EndType: "returned"},
			{Child: 0, Spell: 1, Heel: "left", Onset: 50, SportAtOnset: "football", EndDay: 80, EndType: "lost"},
			{Child: 0, Spell: 2, Heel: "left", Onset: 200, RecurrenceNo: 1, SportAtOnset: "football", EndDay: 230, EndType: "returned"},
			// Prevalent at enrolment: never at risk of a first episode.
			{Child: 1, Spell: 1, Heel: "left", Onset: -10, SportAtOnset: "football", EndDay: 20, EndType: "returned"},
			// No consent.
			{Child: 2, Spell: 1, Heel: "left", Onset: 30, SportAtOnset: "football", EndDay: 60, EndType: "returned"},
		},
	}
	for i := range reg.Participants {
		reg.Exposures = append(reg.Exposures, Exposure{Child: i, Sport: "football", From: 0, To: 100, HoursTraining: 80, HoursMatch: 20})
	}
	table := firstEpisodes(reg)
	// Child 0 is at risk for 50 hours and child 3 for 100, an hour a day. They
	// turn 10 on day 36.525.
	before, after := 2*36.525, 50-36.525+100-36.525
	if got := table.hours[1][0]; math.Abs(got-before) > 1e-9 {
		t.Errorf("%g hours at 8 to 9, want %g", got, before)
	}
	if got := table.hours[2][0]; math.Abs(got-after) > 1e-9 {
		t.Errorf("%g hours at 10 to 11, want %g", got, after)
	}
	if events, hours := table.sums(-1, -1); events != 1 || table.events[2][0] != 1 || math.Abs(hours-150) > 1e-9 {
		t.Errorf("%d events in %g hours, want 1 in 150", events, hours)
	}
	// Normal arch: child 0 has an episode after enrolment, 1 and 3 have none.
	if got, want := anyEpisode(reg), [3][2]int{{}, {1, 2}, {}}; got != want {
		t.Errorf("children with and without an episode %v, want %v", got, want)
	}
	want := &Returns{
		Entry: []float64{0, 0, 0, 10}, Exit: []float64{40, 30, 30, 30}, Event: []bool{true, false, true, true},
		Arch: []int{1, 1, 1, 1}, Child: []int{0, 0, 0, 1},
	}
	if got := matchReturns(reg); !reflect.DeepEqual(got, want) {
		t.Errorf("returns %v, want %v", got, want)
	}
	if got := oneHeel(reg, 1); !reflect.DeepEqual(got.Exit, []float64{40}) {
		t.Errorf("one heel a child: exits %v, want 40 of the right heel of child 0", got.Exit)
	}
}

// TestMethodsAgree compares package stats with the short implementations on
// generated registries.
func TestMethodsAgree(t *testing.T) {
	for seed := range uint64(5) {
		reg := Generate(Options{Seed: 300 + seed})
		ours, plain := estimands(StatsMethods()), estimands(plainMethods())
		for k, e := range ours {
			got, err := e.of(reg)
			if err != nil {
				t.Fatalf("%s: %v", e.name, err)
			}
			want, err := plain[k].of(reg)
			if err != nil {
				t.Fatalf("%s: %v", e.name, err)
			}
			// Both solve the same equations to about ten digits. The hazard
			// ratio differs by the handling of ties (Efron against Breslow).
			tolerance := 1e-8
			if e.name == "hazard ratio of return, pronated to normal" {
				tolerance = 0.02
			}
			for _, pair := range [][2]float64{{got.Value, want.Value}, {got.Lower, want.Lower}, {got.Upper, want.Upper}} {
				if math.Abs(pair[0]-pair[1]) > tolerance*math.Abs(pair[1]) {
					t.Errorf("seed %d, %s: %v, short implementation %v", seed, e.name, got, want)
					break
				}
			}
		}
	}
}

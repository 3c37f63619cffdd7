package demo

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"testing"
)

var update = flag.Bool("update", false, "write the stored files anew")

// TestStoredTruth recomputes the stored truth: with -update from the whole
// super-population, otherwise from another and smaller one.
func TestStoredTruth(t *testing.T) {
	if *update {
		var b bytes.Buffer
		e := json.NewEncoder(&b)
		e.SetIndent("", " ")
		if err := e.Encode(ComputeTruth(truthSeed, truthChildren)); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile("files/truth.json", b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		truthFile = b.Bytes()
	}
	stored, err := StoredTruth()
	if err != nil {
		t.Fatal(err)
	}
	fresh := ComputeTruth(99, 20_000)
	if len(stored.Quantities) != len(fresh.Quantities) {
		t.Fatalf("stored %d quantities, computed %d", len(stored.Quantities), len(fresh.Quantities))
	}
	for i, want := range stored.Quantities {
		got := fresh.Quantities[i]
		// Four standard errors of the difference; exact values agree to rounding.
		tolerance := 4*math.Hypot(got.MonteCarlo, want.MonteCarlo) + 1e-12
		if got.Name != want.Name || math.Abs(got.Value-want.Value) > tolerance {
			t.Errorf("%s %s %s %s: computed %g, stored %g, tolerance %g", want.Name, want.Age, want.Sport, want.Arch,
				got.Value, want.Value, tolerance)
		}
	}
}

// TestTruthMatchesSimulation counts events and hours in one large registry as
// they were recorded: a second way to the same rates.
func TestTruthMatchesSimulation(t *testing.T) {
	stored, err := StoredTruth()
	if err != nil {
		t.Fatal(err)
	}
	reg := Generate(Options{Seed: 5, Children: 9999})
	first := map[int]int{}
	for _, e := range reg.Episodes {
		if at, ok := first[e.Child]; !ok || e.Onset < at {
			first[e.Child] = e.Onset
		}
	}
	hours, events := map[string]float64{}, map[string]float64{}
	for _, e := range reg.Exposures {
		if onset, ok := first[e.Child]; !ok || e.To <= onset {
			hours[e.Sport] += e.HoursTraining + e.HoursMatch
		} else if e.From < onset {
			t.Fatalf("interval %d to %d spans the onset %d", e.From, e.To, onset)
		}
	}
	for _, e := range reg.Episodes {
		if e.Onset >= 0 && e.Spell == 1 && (e.Heel == "right" || !bilateral(reg, e)) {
			events[e.SportAtOnset]++
		}
	}
	for _, sport := range Sports {
		want, ok := stored.Find("first-episode rate", "", sport, "", 0)
		got := 1000 * events[sport] / hours[sport]
		// Four Poisson standard errors.
		if tolerance := 4 * got / math.Sqrt(events[sport]); !ok || math.Abs(got-want.Value) > tolerance {
			t.Errorf("%s: %g events in %g hours, rate %g, true %g", sport, events[sport], hours[sport], got, want.Value)
		}
	}
}

// bilateral says whether the spell of e has a row for the other heel.
func bilateral(reg *Registry, e Episode) bool {
	for _, other := range reg.Episodes {
		if other.Child == e.Child && other.Spell == e.Spell && other.Heel != e.Heel {
			return true
		}
	}
	return false
}

package stats

import "math/rand/v2"

// A survivalCase is a data set for the comparisons with other programs and
// with a second implementation.
type survivalCase struct {
	Entry   []float64   `json:"entry"`
	Exit    []float64   `json:"exit"`
	Status  []int       `json:"status"`
	Group   []int       `json:"group"`
	Stratum []int       `json:"stratum"`
	Cluster []int       `json:"cluster"`
	X       [][]float64 `json:"x"`
}

func (c survivalCase) times() Times {
	t := Times{Entry: c.Entry, Exit: c.Exit}
	for _, s := range c.Status {
		t.Status = append(t.Status, s == 1)
	}
	return t
}

func (c survivalCase) terms() []string {
	return []string{"binary", "measured", "third"}[:len(c.X[0])]
}

// randomCase makes n rows with times on a coarse grid, so that most are tied,
// entering late when delayed is set, in clusters of about three rows, with one
// to three covariates that bear on the hazard.
func randomCase(r *rand.Rand, n int, delayed bool) survivalCase {
	var c survivalCase
	p := 1 + r.IntN(3)
	groups := 2 + r.IntN(2)
	grid := 3 + r.IntN(20)
	for i := range n {
		x := []float64{float64(r.IntN(2)), float64(r.IntN(41)-20) / 10, float64(r.IntN(3))}[:p]
		hazard := 0.4
		for _, v := range x {
			hazard += 0.3 * v
		}
		entry := 0.0
		if delayed {
			entry = float64(max(0, r.IntN(grid)-grid/2))
		}
		length := 1 + int(r.ExpFloat64()*float64(grid)/max(hazard, 0.1)/3)
		status := 1
		if stop := 1 + r.IntN(2*grid); stop <= length {
			length, status = stop, 0
		}
		c.Entry = append(c.Entry, entry)
		c.Exit = append(c.Exit, entry+float64(length))
		c.Status = append(c.Status, status)
		c.Group = append(c.Group, i%groups)
		c.Stratum = append(c.Stratum, r.IntN(2))
		c.Cluster = append(c.Cluster, r.IntN(1+n/3))
		c.X = append(c.X, x)
	}
	return c
}

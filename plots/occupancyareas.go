package plots

import (
	"image/color"

	"gonum.org/v1/plot/vg"
)

// How the areas of an Occupancy look.
const hatchApart vg.Length = 4

var edgePen = pen{color: black, width: 0.4}

// stateShade is the ground of a state among so many.
func stateShade(state, states int) color.NRGBA {
	if states == 1 {
		return shade(0.5)
	}
	return shade(float64(state) / float64(states-1))
}

// hatched reports whether a state is: every second one, so that neighbours
// differ in more than their shade.
func hatched(state int) bool { return state%2 == 1 }

func statePen(state, states int) pen {
	return pen{color: inkOn(stateShade(state, states)), width: hairline}
}

// A stretch is a part of a panel without a gap: steps of heights from the bottom,
// up to and including each state.
type stretch struct {
	from, to []float64   // of each step
	high     [][]float64 // by state, one a step, in percent
}

// stretches are the parts of a panel.
func (p OccupancyPanel) stretches() (list []stretch) {
	open := false
	for i, t := range p.Time {
		to := p.end()
		if i+1 < len(p.Time) {
			to = p.Time[i+1]
		}
		if open = open && p.known(i); !p.known(i) || to <= t {
			continue
		}
		if !open {
			list, open = append(list, stretch{high: make([][]float64, len(p.Share))}), true
		}
		s := &list[len(list)-1]
		s.from, s.to = append(s.from, t), append(s.to, to)
		sum := 0.0
		for j, shares := range p.Share {
			sum += 100 * shares[i]
			s.high[j] = append(s.high[j], min(sum, 100))
		}
	}
	return list
}

// below is the height beneath a state at a step.
func (s stretch) below(state, step int) float64 {
	if state == 0 {
		return 0
	}
	return s.high[state-1][step]
}

// outline are the points of the upper edge of a state.
func (s stretch) outline(state int, xs, ys scale) (edge []vg.Point) {
	for i, h := range s.high[state] {
		edge = append(edge, vg.Point{X: xs.at(s.from[i]), Y: ys.at(h)}, vg.Point{X: xs.at(s.to[i]), Y: ys.at(h)})
	}
	return edge
}

// areas draws the areas of a panel: from the top down, each to the bottom and over
// the one before, so that no seam shows between them.
func (c *canvas) areas(states []string, p OccupancyPanel, xs, ys scale) {
	n := len(states)
	parts := p.stretches()
	for _, s := range parts {
		for j := n - 1; j >= 0; j-- {
			edge := s.outline(j, xs, ys)
			var path vg.Path
			path.Move(vg.Point{X: edge[0].X, Y: ys.from})
			for _, q := range edge {
				path.Line(q)
			}
			path.Line(vg.Point{X: edge[len(edge)-1].X, Y: ys.from})
			path.Close()
			c.fill(path, stateShade(j, n))
		}
		for j := range n {
			if hatched(j) {
				s.hatch(c, j, n, xs, ys)
			}
		}
		for j := range n - 1 {
			c.line(edgePen, s.outline(j, xs, ys)...)
		}
	}
	for j, name := range states {
		c.stateName(parts, j, n, name, xs, ys)
	}
}

// hatch draws upright lines over a state's area.
func (s stretch) hatch(c *canvas, state, states int, xs, ys scale) {
	var path vg.Path
	for i := range s.from {
		from, to := xs.at(s.from[i]), xs.at(s.to[i])
		low, high := ys.at(s.below(state, i)), ys.at(s.high[state][i])
		if low-high < 0.2 {
			continue
		}
		for k := vg.Length(int((from - xs.from) / hatchApart)); ; k++ { // lines stand at the same places in all steps
			x := xs.from + hatchApart/2 + k*hatchApart
			if x >= to {
				break
			}
			if x >= from {
				path.Move(vg.Point{X: x, Y: low})
				path.Line(vg.Point{X: x, Y: high})
			}
		}
	}
	if len(path) > 0 {
		c.stroke(path, statePen(state, states))
	}
}

// stateName writes the name of a state into its area where it is highest, if it
// fits there.
func (c *canvas) stateName(parts []stretch, state, states int, name string, xs, ys scale) {
	name = clean(name)
	width, height := plain.width(name)+4, plain.line()
	best, at := height, vg.Point{}
	for _, s := range parts {
		for i := range s.from {
			x := xs.at(s.from[i]) + 2
			low, high := ys.from, ys.to // of the room: the lowest of the upper edge, the highest of the lower
			k := i
			for ; k < len(s.from); k++ {
				low, high = min(low, ys.at(s.below(state, k))), max(high, ys.at(s.high[state][k]))
				if xs.at(s.to[k]) >= x+width {
					break
				}
			}
			if k < len(s.from) && low-high > best+0.5 {
				best, at = low-high, vg.Point{X: x + width/2, Y: (low+high)/2 + plain.size*0.35}
			}
		}
	}
	if at == (vg.Point{}) || name == "" {
		return
	}
	ground := stateShade(state, states)
	if hatched(state) {
		c.rect(at.X-width/2, at.Y-plain.size*0.85, at.X+width/2, at.Y+plain.size*0.25, ground)
	}
	c.place(text{s: name, at: at, align: center, style: plain, ink: inkOn(ground)})
}

package plots

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
)

// What figures of curves over a time axis with a table of numbers at risk share:
// survival curves themselves, and others as a Survival of their names, ticks and
// numbers.

// checkFrame refuses a size, a number of curves and ticks that cannot be drawn.
func (s Survival) checkFrame() error {
	if err := s.Size.check(); err != nil {
		return err
	}
	if len(s.Curves) == 0 {
		return fmt.Errorf("plots: %w: no curves", ErrNoData)
	}
	if len(s.Curves) > seriesLimit {
		return fmt.Errorf("plots: %w: %d curves, at most %d can be told apart", ErrNoRoom, len(s.Curves), seriesLimit)
	}
	if len(s.Ticks) == 0 {
		return errors.New("plots: no ticks for the time axis")
	}
	if err := checkTimes("tick", s.Ticks); err != nil {
		return fmt.Errorf("plots: %w", err)
	}
	return nil
}

// checkTimes refuses times that are not finite or do not increase from 0.
func checkTimes(what string, times []float64) error {
	for i, t := range times {
		if !(t >= 0) || math.IsInf(t, 0) || i > 0 && t <= times[i-1] {
			return fmt.Errorf("%s %d is %v, want finite times from 0 that increase", what, i+1, t)
		}
	}
	return nil
}

// checkName refuses a curve among several that has no name.
func (s Survival) checkName(i int) error {
	if clean(s.Curves[i].Name) == "" && len(s.Curves) > 1 {
		return fmt.Errorf("plots: curve %d of %d has no name", i+1, len(s.Curves))
	}
	return nil
}

// checkDrawn refuses a figure in which no curve has an estimate or the time
// axis has no length, and a table that does not fit the ticks.
func (s Survival) checkDrawn(drawn bool, end float64) error {
	if !drawn {
		return fmt.Errorf("plots: %w: no curve has a time with an estimate", ErrNoData)
	}
	if end == 0 {
		return fmt.Errorf("plots: %w: the time axis has no length: every time and tick is 0", ErrNoData)
	}
	for _, b := range s.blocks() {
		for i, counts := range b.counts {
			if len(counts) != len(s.Ticks) {
				return fmt.Errorf("plots: curve %q has %d numbers %q for %d ticks",
					s.Curves[i].Name, len(counts), strings.ToLower(b.name), len(s.Ticks))
			}
		}
	}
	return nil
}

// A timeAxis is the axis of the time with the table beneath it.
type timeAxis struct {
	scale  scale
	labels []string
	table  riskTable
}

// timeAxis lays the axis out, to the right of the labels of the other one. Half
// of the table's last column may stand beyond the axis.
func (s Survival) timeAxis(c *canvas, left vg.Length, end float64) (timeAxis, error) {
	a := timeAxis{labels: make([]string, len(s.Ticks)), table: s.table(c.width)}
	for i, t := range s.Ticks {
		a.labels[i] = tickLabel(t)
	}
	last := len(s.Ticks) - 1
	half := max(a.table.columnWidth(last), plain.width(a.labels[last])) / 2
	a.scale = scale{low: 0, high: end, from: margin + max(left, a.table.left), to: c.width - margin}
	if over := a.scale.at(s.Ticks[last]) + half - (c.width - margin); over > 0 {
		a.scale.to -= over
	}
	for i := 1; i <= last; i++ {
		need := max(plain.width(a.labels[i-1])+plain.width(a.labels[i]),
			a.table.columnWidth(i-1)+a.table.columnWidth(i))/2 + 3
		if a.scale.at(s.Ticks[i])-a.scale.at(s.Ticks[i-1]) < need {
			return a, fmt.Errorf("plots: %w: ticks %s and %s stand too close for their numbers at a width of %.0f mm",
				ErrNoRoom, a.labels[i-1], a.labels[i], float64(c.width/vg.Millimeter))
		}
	}
	return a, nil
}

// under draws the axis at the panel's bottom, its label and the table, and
// returns where they end.
func (a timeAxis) under(c *canvas, bottom vg.Length, s Survival) vg.Length {
	y := c.xAxis(bottom, a.scale, s.Ticks, a.labels)
	y = c.axisLabel(s.XLabel, (a.scale.from+a.scale.to)/2, y)
	return a.table.draw(c, y, a.scale)
}

// words returns the figure in words: each curve, by its number, at the ticks.
func (s Survival) words(what string, at func(curve int, t float64) string) string {
	var b strings.Builder
	b.WriteString(sentence(", by ", sentence(" ", what, s.YLabel), s.XLabel) + ".")
	for n, k := range s.Curves {
		b.WriteString(" " + sentence(" ", k.Name, "at"))
		for i, t := range s.Ticks {
			if i > 0 {
				b.WriteByte(',')
			}
			b.WriteString(" " + tickLabel(t) + ": " + at(n, t))
			if len(k.AtRisk) > 0 && k.AtRisk[i] >= 0 {
				b.WriteString(" with " + strconv.Itoa(k.AtRisk[i]) + " at risk")
			}
		}
		b.WriteByte('.')
	}
	return sentence(" ", b.String(), s.Note)
}

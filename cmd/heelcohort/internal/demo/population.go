package demo

import "math"

// A population sums expected events and hours over a super-population. Given
// a child's exposure the hazards are piecewise constant, so that with the
// cumulative hazard H at the start of a piece and the hazard h a day in it the
// expected days at risk in a piece of d days are exp(-H)(1-exp(-h d))/h, and
// events and hours of a sport follow by multiplying with its daily hazard and
// hours. Only prevalent children are simulated further.
type population struct {
	all    ratio
	bands  [6]ratio
	sports [6]ratio
	cells  [6][6]ratio
	risk   [3]ratio // by arch type: children with an episode over children
}

// A ratio accumulates the sums from which a ratio of means and its Monte Carlo
// error follow.
type ratio struct{ events, hours, ee, eh, hh float64 }

// add adds one child.
func (q *ratio) add(events, hours float64) {
	q.events += events
	q.hours += hours
	q.ee += float64(events * events)
	q.eh += float64(events * hours)
	q.hh += float64(hours * hours)
}

// value is the ratio of the sums with its standard error by the delta method.
func (q *ratio) value() (value, se float64) {
	value = q.events / q.hours
	squares := q.ee - float64(2*value*q.eh) + float64(value*value*q.hh)
	return value, math.Sqrt(math.Max(squares, 0)) / q.hours
}

// newPopulation draws children and sums what is expected of them.
func newPopulation(seed uint64, children int) *population {
	p := &population{}
	for i := range children {
		r := newStream(seed, i)
		c := drawChild(r, i)
		blocks := drawBlocks(r, c)
		s, prevalent := drawPrevalent(r, c)
		if !prevalent {
			p.risk[c.arch].add(p.addChild(c, blocks), 1)
			continue
		}
		any := 0.0
		if len(drawLater(r, c, blocks, s)) > 1 {
			any = 1
		}
		p.risk[c.arch].add(any, 1)
	}
	return p
}

// addChild adds a child at risk and returns its probability of an episode.
func (p *population) addChild(c *child, blocks []block) float64 {
	var events, hours [6][6]float64
	cumulative := 0.0
	for _, piece := range pieces(c, blocks) {
		total, days := piece.total(c), piece.to-piece.from
		atRisk := math.Exp(-cumulative) * days
		if total > 0 {
			atRisk = math.Exp(-cumulative) * -math.Expm1(-total*days) / total
		}
		cumulative += float64(total * days)
		b := piece.block
		for i, s := range b.sports {
			events[piece.band][s] += float64(piece.rate(c, i) * atRisk)
			hours[piece.band][s] += b.hours(i) / float64(b.to-b.from) * atRisk
		}
	}
	var allEvents, allHours float64
	var bySport [6][2]float64
	for a := range events {
		var bandEvents, bandHours float64
		for s := range events[a] {
			p.cells[a][s].add(events[a][s], hours[a][s])
			bandEvents += events[a][s]
			bandHours += hours[a][s]
			bySport[s][0] += events[a][s]
			bySport[s][1] += hours[a][s]
		}
		p.bands[a].add(bandEvents, bandHours)
		allEvents += bandEvents
		allHours += bandHours
	}
	for s := range bySport {
		p.sports[s].add(bySport[s][0], bySport[s][1])
	}
	p.all.add(allEvents, allHours)
	return -math.Expm1(-cumulative)
}

// rates lists the rates of first episodes and their ratios to swimming.
func (p *population) rates() []Quantity {
	quantity := func(q *ratio, band, sport string) Quantity {
		value, se := q.value()
		return Quantity{
			Name: "first-episode rate", Age: band, Sport: sport, Value: 1000 * value, MonteCarlo: 1000 * se,
			Unit: "per 1,000 hours", How: "super-population: expected events over expected hours at risk",
		}
	}
	all := []Quantity{quantity(&p.all, "", "")}
	for s := range p.sports {
		all = append(all, quantity(&p.sports[s], "", Sports[s]))
	}
	for a := range p.bands {
		all = append(all, quantity(&p.bands[a], bandName(a), ""))
		for s := range p.cells[a] {
			all = append(all, quantity(&p.cells[a][s], bandName(a), Sports[s]))
		}
	}
	for s := range len(Sports) - 1 {
		all = append(all, compare("rate ratio to swimming", Sports[s], "", &p.sports[s], &p.sports[len(Sports)-1]))
	}
	return all
}

// compare is the ratio of two ratios; their covariance is neglected in the
// Monte Carlo error, which it makes too large rather than too small.
func compare(name, sport, arch string, of, to *ratio) Quantity {
	a, sa := of.value()
	b, sb := to.value()
	return Quantity{
		Name: name, Sport: sport, Arch: arch, Value: a / b, MonteCarlo: a / b * math.Hypot(sa/a, sb/b), Unit: "ratio",
		How: "super-population",
	}
}

// risks lists the risk of any episode during follow-up by arch type.
func (p *population) risks() []Quantity {
	var all []Quantity
	for arch, name := range Arches {
		value, se := p.risk[arch].value()
		all = append(all, Quantity{
			Name: "risk of any episode during follow-up", Arch: name, Value: value, MonteCarlo: se, Unit: "share",
			How: "super-population: mean of the probabilities given exposure",
		})
	}
	normal, se := p.risk[1].value()
	for arch, name := range Arches {
		if name == "normal" {
			continue
		}
		value, seHere := p.risk[arch].value()
		all = append(all, compare("risk ratio of any episode", "", name, &p.risk[arch], &p.risk[1]), Quantity{
			Name: "odds ratio of any episode", Arch: name, Value: value / (1 - value) / (normal / (1 - normal)), Unit: "ratio",
			MonteCarlo: value / (1 - value) / (normal / (1 - normal)) * math.Hypot(seHere/(value*(1-value)), se/(normal*(1-normal))),
			How:        "super-population: crude, reference normal",
		})
	}
	return all
}

package cohort

import (
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
)

// A measure says of which of several measures that are never pooled a variable
// holds scores: of one pain scale, or of one form of a questionnaire.
type measure struct{ group, member string }

const (
	painScales  = "pain scale"
	oxfordForms = "form of the Oxford ankle foot questionnaire"
)

// noteMeasures notes the measures of every variable that an instrument of the
// plan names, wherever it stands, so that no expression before it may pool.
func (m *Model) noteMeasures(p *plan.Plan) []error {
	var faults []error
	for _, block := range p.Derive {
		for _, d := range block.Value {
			if d.Instrument == nil {
				continue
			}
			switch i := d.Instrument.Instrument.(type) {
			case *plan.PainScore:
				k := measure{painScales, i.Scale}
				m.measures[[2]string{block.Key, d.Name.Value}] = k
				key := [2]string{block.Key, i.Score.Value}
				if known, twice := m.measures[key]; twice && known != k {
					faults = append(faults, i.Score.Errorf(1, 1, "", "%q is a score of the %s %s, expected one scale for a variable", i.Score.Value, known.group, known.member))
					continue
				}
				m.measures[key] = k
			case *plan.OxfordScore:
				k := measure{oxfordForms, i.Form}
				m.measures[[2]string{block.Key, d.Name.Value}] = k
				for _, item := range i.Items {
					key := [2]string{block.Key, item.Value}
					if known, twice := m.measures[key]; twice && known != k {
						faults = append(faults, item.Errorf(1, 1, "", "%q belongs to the %s %s, expected one form for an item", item.Value, known.member, known.group))
						continue
					}
					m.measures[key] = k
				}
			}
		}
	}
	return faults
}

// pooled finds two variables of one expression whose scores are never pooled.
func (m *Model) pooled(table string, variables []expression.Variable) (one, other expression.Variable, group string, found bool) {
	first := map[string]expression.Variable{}
	for _, v := range variables {
		k, measured := m.measureOf(table, v)
		if !measured {
			continue
		}
		if w, there := first[k.group]; there {
			if before, _ := m.measureOf(table, w); before != k {
				return w, v, k.group, true
			}
			continue
		}
		first[k.group] = v
	}
	return one, other, "", false
}

func (m *Model) measureOf(table string, v expression.Variable) (measure, bool) {
	if v.Table != "" {
		table = v.Table
	}
	k, measured := m.measures[[2]string{table, v.Name}]
	return k, measured
}

// inherit notes that a derived variable holds scores of the measure of what it
// was made from. A boolean does not: a score beyond its own threshold is no
// score any more.
func (m *Model) inherit(v Variable, from string, variables []expression.Variable) {
	if v.Kind == value.Bool {
		return
	}
	for _, used := range variables {
		if k, measured := m.measureOf(from, used); measured {
			m.measures[[2]string{v.Table, v.Name}] = k
			return
		}
	}
}

package run

import (
	"context"
	"fmt"
	"slices"
	"strconv"

	"heelcohort/cmd/heelcohort/internal/figure"
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset"
)

// Caution is shown wherever results are shown.
const Caution = "For research on de-identified data. Not for diagnosing or treating a child, nor for deciding whether one may play: licensed clinicians do that. The ethics board, the data-use agreement and local law decide what may be loaded and what may leave the room."

// A Watch is told how far a long computation is; nil functions are not called.
type Watch struct {
	File     func(name string, done, total int64)
	Analysis func(id string, done, total int)
}

// An Outcome is what a run found.
type Outcome struct {
	Results  *result.Results
	Findings []dataset.Finding
	Data     *dataset.Dataset
}

// Faulty reports whether errors in the data stopped the run.
func (o *Outcome) Faulty() bool { return !o.Results.Computed }

// Identified reports whether the data name people. Then nothing is computed
// whatever the plan says, and no results may be written: a copy of the data
// would go with them.
func (o *Outcome) Identified() bool {
	return slices.ContainsFunc(o.Findings, dataset.Finding.Identifies)
}

// Check reads the data, validates them and screens them for identifiers. No
// finding shows the text of a cell that the screen holds identifying.
func (s *Study) Check(ctx context.Context, w Watch) (*dataset.Dataset, []dataset.Finding, error) {
	d, findings, err := dataset.Open(ctx, s.Dir, s.Package, dataset.Options{Progress: w.File})
	if err != nil {
		return nil, nil, err
	}
	more, err := dataset.Validate(ctx, d)
	if err != nil {
		return nil, nil, err
	}
	scores, err := s.model.Inspect(d)
	if err != nil {
		return nil, nil, err
	}
	findings = append(append(findings, more...), scores...)
	findings, err = dataset.Screen(ctx, d, findings)
	if err != nil {
		return nil, nil, err
	}
	return d, findings, nil
}

// randomness says which seeds the numbers depend on.
func (s *Study) randomness() string {
	for _, a := range s.Plan.Analyses {
		_, random := a.(*plan.Burden)
		if a, is := a.(*plan.Agreement); is {
			random = a.Cluster != nil
		}
		if a, is := a.(*plan.Association); is {
			random = a.Misclassification != nil || a.Seed != nil || a.Impute != nil
		}
		if a, is := a.(*plan.TimeToEvent); is {
			random = a.Interval != nil
		}
		if a, is := a.(*plan.Change); is {
			random = a.Threshold != nil
		}
		if random {
			return "one for each bootstrap and each simulation, among the choices of its analysis; nothing else is random"
		}
	}
	return "none: nothing is random"
}

// Compute reads the data, validates them and computes every analysis. Where
// the data have errors and the plan does not set them missing, nothing is
// computed and the results say so; where they name people, nothing is computed
// in any case.
func (s *Study) Compute(ctx context.Context, program string, w Watch) (*Outcome, error) {
	d, findings, err := s.Check(ctx, w)
	if err != nil {
		return nil, err
	}
	level, written := s.Plan.Confidence()
	res := &result.Results{
		Program: program, Title: s.Plan.Title.Value, Plan: s.Plan.File, Codebook: s.Plan.Codebook.Value, Caution: Caution,
		Findings: counts(findings),
	}
	faults := "stop"
	if s.Plan.SetMissing() {
		faults = "set-missing"
	}
	res.Settings = []result.Setting{
		{Key: "level", Value: strconv.FormatFloat(level, 'g', -1, 64), Written: written},
		{Key: "participants", Value: s.model.Participants, Written: s.Plan.Participants != nil},
		{Key: "faults", Value: faults, Written: s.Plan.Faults != ""},
		{Key: "random seed", Value: s.randomness(), Written: false},
	}
	res.Settings = append(res.Settings, s.freeze.settings()...)
	for _, e := range d.Exceptions {
		res.Exceptions = append(res.Exceptions, result.Exception{
			Table: e.Table, Variable: e.Variable, Screen: e.Screen, Cells: e.Cells, Reason: e.Reason,
		})
	}
	o := &Outcome{Results: res, Findings: findings, Data: d}
	if o.Identified() || !s.Plan.SetMissing() && hasErrors(findings) {
		return o, res.Seal()
	}
	c, err := s.model.Build(ctx, d, findings)
	if err != nil {
		return nil, err
	}
	res.Computed, res.Flow, res.Instruments = true, c.Flow, c.Instruments
	for i, a := range s.Plan.Analyses {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		head := a.Common()
		b := &builder{level: level, earlier: res.Rows, Analysis: result.Analysis{
			ID: head.ID.Value, Kind: head.Kind, Title: head.Title, Line: head.Position.Line,
		}}
		if b.Title == "" {
			b.Title = b.ID
		}
		s.freeze.mark(&b.Analysis)
		if w.Analysis != nil {
			w.Analysis(b.ID, i, len(s.Plan.Analyses))
		}
		b.set(MethodSetting, methodVersion(b.Kind), false)
		if err := s.jobs[i].run(ctx, c, b); err != nil {
			return nil, fmt.Errorf("analysis %s: %w", b.ID, err)
		}
		b.Figures = figure.IDs(b.Analysis, b.rows)
		o.add(b.found)
		res.Analyses = append(res.Analyses, b.Analysis)
		res.Rows = append(res.Rows, b.rows...)
	}
	if err := dataset.BoundFindings(o.Findings); err != nil {
		return nil, err
	}
	dataset.SortFindings(d, o.Findings)
	res.Findings = counts(o.Findings)
	return o, res.Seal()
}

// add takes in the findings of an analysis that no other has made, without the
// texts of cells that are not shown.
func (o *Outcome) add(found []dataset.Finding) {
	for _, f := range found {
		if o.Data.Masked(f.Table, f.Variable) {
			f.Found = ""
		}
		if !slices.ContainsFunc(o.Findings, func(g dataset.Finding) bool {
			return g.Rule == f.Rule && g.Where == f.Where && g.Message == f.Message
		}) {
			o.Findings = append(o.Findings, f)
		}
	}
}

func hasErrors(findings []dataset.Finding) bool {
	for _, f := range findings {
		if f.Severity == dataset.Error {
			return true
		}
	}
	return false
}

// counts are the findings by severity and rule, worst first.
func counts(findings []dataset.Finding) []result.Count {
	var list []result.Count
	index := map[[2]string]int{}
	for _, g := range dataset.Group(findings) {
		key := [2]string{g.Severity.String(), g.Rule}
		if i, there := index[key]; there {
			list[i].N += g.Count
			continue
		}
		index[key] = len(list)
		list = append(list, result.Count{
			Severity: key[0], Rule: key[1], N: g.Count, First: g.First[0].Where.String(), Message: g.First[0].Message,
		})
	}
	return list
}

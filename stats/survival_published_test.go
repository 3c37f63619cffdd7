package stats

import (
	"math"
	"slices"
	"testing"

	"heelcohort/stats/internal/published"
)

func trues(column []float64) []bool {
	out := make([]bool, len(column))
	for i, v := range column {
		out[i] = v == 1
	}
	return out
}

// columns makes rows of covariates from columns.
func columns(c ...[]float64) [][]float64 {
	rows := newMatrix(len(c[0]), len(c))
	for j := range c {
		for i, v := range c[j] {
			rows[i][j] = v
		}
	}
	return rows
}

func mustCurve(t testing.TB, rows Times, opts CurveOptions) Curve {
	t.Helper()
	c, err := KaplanMeier(rows, opts)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func mustCox(t testing.TB, rows Times, x [][]float64, terms []string, opts CoxOptions) Fit {
	t.Helper()
	f, err := FitCox(rows, x, terms, opts)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestPublishedSixMP(t *testing.T) {
	p := published.Load(t, "freireich-1963")
	weeks, relapse, arm := p.Floats("weeks"), trues(p.Floats("relapse")), p.Text("group")
	rows := Times{Exit: weeks, Status: relapse}

	var treated Times
	group, placebo := make([]int, len(arm)), make([]float64, len(arm))
	for i, a := range arm {
		if a == "6-MP" {
			treated.Exit = append(treated.Exit, weeks[i])
			treated.Status = append(treated.Status, relapse[i])
			continue
		}
		group[i], placebo[i] = 1, 1
	}
	c := mustCurve(t, treated, CurveOptions{})
	for name, at := range map[string]float64{"6": 6, "7": 7, "10": 10, "13": 13, "16": 16, "22": 22, "23": 23} {
		p.Check("km_S"+name, c.At(at).Survival)
		p.Check("km_se"+name, c.At(at).SE)
	}
	p.Check("km_at_risk_10", float64(c.At(10).AtRisk))
	p.Check("km_at_risk_22", float64(c.At(22).AtRisk))
	p.Check("km_median", c.Quantile(0.5).Value)

	lr, err := LogRank(rows, group, 2, LogRankOptions{})
	if err != nil {
		t.Fatal(err)
	}
	p.Check("lr_logrank", lr.Test.Statistic)
	for quantity, kind := range map[string]WeightKind{"lr_gehan_breslow": GehanBreslow, "lr_tarone_ware": TaroneWare, "lr_peto": PetoPeto} {
		w, err := LogRank(rows, group, 2, LogRankOptions{Weight: LogRankWeight{Kind: kind}})
		must(t, err)
		p.Check(quantity, w.Test.Statistic)
	}
	p.Check("lr_observed_6mp", lr.Observed[0])
	p.Check("lr_observed_placebo", lr.Observed[1])
	p.Check("lr_expected_6mp", lr.Expected[0])
	p.Check("lr_expected_placebo", lr.Expected[1])

	b := CoxOptions{Ties: TiesBreslow}
	m1 := mustCox(t, rows, columns(placebo), []string{"placebo"}, b)
	p.Check("cox_breslow_beta", m1.Coefficients[0])
	p.Check("cox_breslow_se", m1.SE[0])
	p.Check("cox_breslow_hr", m1.Estimates[0].Value)
	p.Check("cox_breslow_minus2loglik", -2*m1.LogLik)
	efron := mustCox(t, rows, columns(placebo), []string{"placebo"}, CoxOptions{})
	p.Check("cox_efron_beta", efron.Coefficients[0])
	p.Check("cox_efron_se", efron.SE[0])
	exact := mustCox(t, rows, columns(placebo), []string{"placebo"}, CoxOptions{Ties: TiesExact})
	p.Check("cox_exact_beta", exact.Coefficients[0])
	p.Check("cox_exact_se", exact.SE[0])

	logWBC := p.Floats("log_wbc")
	m2 := mustCox(t, rows, columns(placebo, logWBC), []string{"placebo", "log wbc"}, b)
	p.Check("cox_m2_rx", m2.Coefficients[0])
	p.Check("cox_m2_rx_se", m2.SE[0])
	p.Check("cox_m2_logwbc", m2.Coefficients[1])
	p.Check("cox_m2_logwbc_se", m2.SE[1])
	p.Check("cox_m2_minus2loglik", -2*m2.LogLik)
	product := make([]float64, len(placebo))
	for i := range product {
		product[i] = placebo[i] * logWBC[i]
	}
	m3 := mustCox(t, rows, columns(placebo, logWBC, product), []string{"placebo", "log wbc", "both"}, b)
	p.Check("cox_m3_rx", m3.Coefficients[0])
	p.Check("cox_m3_rx_se", m3.SE[0])
	p.Check("cox_m3_logwbc", m3.Coefficients[1])
	p.Check("cox_m3_logwbc_se", m3.SE[1])
	p.Check("cox_m3_interaction", m3.Coefficients[2])
	p.Check("cox_m3_interaction_se", m3.SE[2])
	p.Check("cox_m3_minus2loglik", -2*m3.LogLik)
}

func TestPublishedFoundingPaper(t *testing.T) {
	p := published.Load(t, "kaplan-meier-1958")
	c := mustCurve(t, Times{Exit: p.Floats("time"), Status: trues(p.Floats("death"))}, CurveOptions{})
	p.Check("S(0.8)", c.At(0.8).Survival)
	p.Check("S(3.1)", c.At(3.1).Survival)
	p.Check("S(5.4)", c.At(5.4).Survival)
}

func TestPublishedMarrow(t *testing.T) {
	p := published.Load(t, "klein-moeschberger-2003-marrow")
	names := p.Text("group")
	distinct := slices.Clone(names)
	slices.Sort(distinct)
	distinct = slices.Compact(distinct)
	group := make([]int, len(names))
	for i, n := range names {
		group[i] = slices.Index(distinct, n)
	}
	rows := Times{Exit: p.Floats("days_disease_free"), Status: trues(p.Floats("relapse_or_death"))}
	r, err := LogRank(rows, group, len(distinct), LogRankOptions{})
	if err != nil {
		t.Fatal(err)
	}
	p.Check("logrank", r.Test.Statistic)
	p.Check("df", r.Test.DF)
	p.Check("p", r.Test.P)
	w, err := LogRank(rows, group, len(distinct), LogRankOptions{Weight: LogRankWeight{Kind: GehanBreslow}})
	must(t, err)
	p.Check("gehan_wilcoxon", w.Test.Statistic)
	p.Check("p_wilcoxon", w.Test.P)
}

func TestPublishedStain(t *testing.T) {
	p := published.Load(t, "klein-moeschberger-2003-stain")
	rows := Times{Exit: p.Floats("months"), Status: trues(p.Floats("death"))}
	f := mustCox(t, rows, columns(p.Floats("positive")), []string{"positive"}, CoxOptions{})
	p.Check("beta", f.Coefficients[0])
	p.Check("se", f.SE[0])
	p.Check("lr", f.Tests[0].Statistic)
	p.Check("wald", f.Tests[1].Statistic)
	p.Check("score", f.Tests[2].Statistic)
	p.Check("loglik_null", f.NullLogLik)
	p.Check("loglik", f.LogLik)
}

func TestPublishedSixRows(t *testing.T) {
	p := published.Load(t, "therneau-grambsch-2000-six")
	rows := Times{Exit: p.Floats("time"), Status: trues(p.Floats("status"))}
	x := columns(p.Floats("x"))
	f := mustCox(t, rows, x, []string{"x"}, CoxOptions{Ties: TiesBreslow})
	p.Check("breslow_beta", f.Coefficients[0])
	p.Check("breslow_loglik_0", f.NullLogLik)
	p.Check("breslow_loglik", f.LogLik)
	p.Check("breslow_information_0", informationAtZero(rows, x, TiesBreslow))
	if exact := math.Log((3 + math.Sqrt(33)) / 2); !near(f.Coefficients[0], exact, 1e-13) {
		t.Errorf("Breslow maximum %.17g, exactly log((3+sqrt(33))/2) = %.17g", f.Coefficients[0], exact)
	}
	f = mustCox(t, rows, x, []string{"x"}, CoxOptions{})
	p.Check("efron_beta", f.Coefficients[0])
	p.Check("efron_loglik_0", f.NullLogLik)
	p.Check("efron_loglik", f.LogLik)
	if got := informationAtZero(rows, x, TiesEfron); !near(got, 83.0/144, 1e-13) {
		t.Errorf("Efron information at zero %.17g, exactly 83/144", got)
	}
}

// informationAtZero is that of a single covariate in the caller's unit.
func informationAtZero(rows Times, x [][]float64, ties string) float64 {
	m := newCoxModel(rows, x, CoxOptions{Ties: ties})
	_, _, information := m.likelihood([]float64{0})
	return information[0][0] * m.scale[0] * m.scale[0]
}

func TestPublishedTenRowsEntry(t *testing.T) {
	p := published.Load(t, "therneau-grambsch-2000-entry")
	rows := Times{Entry: p.Floats("start"), Exit: p.Floats("stop"), Status: trues(p.Floats("event"))}
	x := columns(p.Floats("x"))
	f := mustCox(t, rows, x, []string{"x"}, CoxOptions{Ties: TiesBreslow})
	p.Check("breslow_beta", f.Coefficients[0])
	p.Check("breslow_loglik", f.LogLik)
	// No printed figure is held for these: R 4.2.2, survival 3.5-3.
	if !near(f.NullLogLik, -9.39266193, 5e-9) {
		t.Errorf("Breslow log likelihood at zero %v", f.NullLogLik)
	}
	f = mustCox(t, rows, x, []string{"x"}, CoxOptions{})
	if !near(f.Coefficients[0], -0.02110521, 5e-9) || !near(f.LogLik, -9.16916646, 1e-8) || !near(f.NullLogLik, -9.16951838, 1e-8) {
		t.Errorf("Efron: coefficient %v, log likelihoods %v %v", f.Coefficients[0], f.NullLogLik, f.LogLik)
	}
}

func TestPublishedBladder(t *testing.T) {
	p := published.Load(t, "wei-lin-weissfeld-1989")
	rows := Times{Exit: p.Floats("months"), Status: trues(p.Floats("recurrence"))}
	order := p.Ints("order")
	for i := range order {
		order[i]--
	}
	x := columns(p.Floats("thiotepa"), p.Floats("number"), p.Floats("size"))
	f, err := FitMarginalCox(rows, x, []string{"thiotepa", "number", "size"}, order, []string{"first", "second", "third", "fourth"},
		CoxOptions{Ties: TiesBreslow, Cluster: p.Ints("patient")})
	if err != nil {
		t.Fatal(err)
	}
	if f.Terms[3] != "thiotepa (fourth)" || f.Clusters != 85 || f.Strata != 4 {
		t.Errorf("terms %v, %d patients, %d strata", f.Terms, f.Clusters, f.Strata)
	}
	for k, name := range []string{"rx1", "rx2", "rx3", "rx4"} {
		p.Check(name, f.Coefficients[k])
		p.Check(name+"_robust_se", f.SE[k])
	}
	four := []int{0, 1, 2, 3}
	p.Check("joint_wald", f.JointTest("treatment", four).Statistic)
	average, weights, err := f.WeightedAverage("thiotepa", four, 0)
	if err != nil {
		t.Fatal(err)
	}
	p.Check("average", average.Value)
	p.Check("average_se", average.SE)
	ratio := f.Ratio("thiotepa", weights, 0)
	if !near(math.Log(ratio.Value), average.Value, 1e-14) || !near(ratio.P, average.P, 1e-14) {
		t.Errorf("ratio %+v of the average %+v", ratio, average)
	}
}

package run

import (
	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/stats"
)

// A chosen method is what a word of the plan stands for: how it is set down in
// the settings, how the methods text says it, and its source. The first of a
// list is the default.
type chosen[M any] struct {
	word     string
	method   M
	setting  string
	sentence string
	cite     []string
}

// choose finds the word's method, the first for "".
func choose[M any](list []chosen[M], word string) chosen[M] {
	for _, c := range list {
		if c.word == word || word == "" {
			return c
		}
	}
	panic("run: no method of limits " + word)
}

var rateLimits = []chosen[stats.RateMethod]{
	{"exact", stats.Garwood, "exact Poisson", "exact Poisson limits", []string{"Garwood 1936"}},
	{"mid-p", stats.PoissonMidP, "mid-P Poisson", "mid-P Poisson limits", []string{"Rothman 1998"}},
	{"byar", stats.Byar, "Byar's approximation", "Byar's approximate Poisson limits", []string{"Breslow 1987"}},
}

var rateRatioLimits = []chosen[stats.RateRatioMethod]{
	{"exact", stats.RatioExact, "exact conditional", "exact conditional limits", []string{"Przyborowski 1940"}},
	{"mid-p", stats.RatioMidP, "mid-P conditional", "mid-P conditional limits", []string{"Berry 1995"}},
	{"score", stats.RatioScore, "score", "score limits", []string{"Graham 2003"}},
	{"log", stats.RatioLog, "log scale", "limits on the log scale", []string{"Rothman 1998"}},
}

var rateDifferenceLimits = []chosen[stats.RateDifferenceMethod]{
	{"normal", stats.DifferenceNormal, "normal", "normal limits", []string{"Rothman 1998"}},
	{"score", stats.DifferenceScore, "score (Miettinen-Nurminen)", "Miettinen and Nurminen's score limits", []string{"Miettinen 1985"}},
}

var standardLimits = []chosen[stats.StandardMethod]{
	{"gamma", stats.FayFeuer, "gamma (Fay-Feuer)", "gamma limits", []string{"Fay 1997"}},
	{"modified-gamma", stats.ModifiedGamma, "modified gamma (Tiwari-Clegg-Zou)", "modified gamma limits", []string{"Tiwari 2006"}},
}

var proportionLimits = []chosen[stats.ProportionMethod]{
	{"wilson", stats.Wilson, "Wilson", "Wilson's limits", []string{"Wilson 1927"}},
	{"exact", stats.ClopperPearson, "exact (Clopper-Pearson)", "exact limits", []string{"Clopper 1934"}},
	{"mid-p", stats.ProportionMidP, "mid-P", "mid-P limits", []string{"Berry 1995"}},
	{"agresti-coull", stats.AgrestiCoull, "Agresti-Coull", "Agresti and Coull's limits", []string{"Brown 2001"}},
	{"jeffreys", stats.Jeffreys, "Jeffreys", "Jeffreys limits", []string{"Brown 2001"}},
	{"wilson-corrected", stats.WilsonCorrected, "Wilson with continuity correction", "Wilson's limits with continuity correction", []string{"Newcombe 1998a"}},
	{"likelihood", stats.ProportionLikelihood, "likelihood", "likelihood limits", []string{"Newcombe 1998a"}},
	{"wald", stats.ProportionWald, "Wald", "Wald limits", []string{"Newcombe 1998a"}},
	{"wald-corrected", stats.ProportionWaldCorrected, "Wald with continuity correction", "Wald limits with continuity correction", []string{"Newcombe 1998a"}},
}

// twoRisks compares the risks of two groups, counts laid out as for
// stats.OddsRatio.
type twoRisks func(a, b, c, d int, opts stats.LimitOptions) (stats.Estimate, error)

var riskDifferenceLimits = []chosen[twoRisks]{
	{"newcombe", stats.RiskDifference, "Newcombe", "Newcombe's hybrid score limits", []string{"Newcombe 1998"}},
	{"score", stats.RiskDifferenceScore, "score (Miettinen-Nurminen)", "Miettinen and Nurminen's score limits", []string{"Miettinen 1985"}},
	{"mee", stats.RiskDifferenceMee, "score (Mee)", "Mee's score limits", []string{"Mee 1984"}},
	{"newcombe-corrected", stats.RiskDifferenceCorrected, "Newcombe with continuity correction", "Newcombe's hybrid score limits with continuity correction", []string{"Newcombe 1998"}},
	{"wald", stats.RiskDifferenceWald, "Wald", "Wald limits", []string{"Newcombe 1998"}},
}

var riskRatioLimits = []chosen[twoRisks]{
	{"log", stats.RiskRatio, "log scale", "limits on the log scale", []string{"Katz 1978"}},
	{"score", stats.RiskRatioScore, "score (Koopman)", "Koopman's score limits", []string{"Koopman 1984"}},
}

var oddsRatioLimits = []chosen[twoRisks]{
	{"woolf", oddsRatio, "Woolf; exact conditional where a count is zero", "Woolf's limits (the exact conditional estimate and limits where a count is zero)", []string{"Woolf 1955", "Cornfield 1956"}},
	{"score", stats.OddsRatioScore, "score (Miettinen-Nurminen)", "Miettinen and Nurminen's score limits", []string{"Miettinen 1985"}},
	{"exact", stats.OddsRatioExact, "exact conditional", "exact conditional limits around the conditional estimate", []string{"Cornfield 1956"}},
	{"mid-p", stats.OddsRatioMidP, "mid-P conditional", "mid-P conditional limits around the conditional estimate", []string{"Cornfield 1956", "Berry 1995"}},
}

// riskLimits notes the methods of risks and of what compares them.
func (b *builder) riskLimits(l plan.RiskLimits) (risk chosen[stats.ProportionMethod], ratio, difference chosen[twoRisks]) {
	risk = choose(proportionLimits, l.Proportion)
	ratio, difference = choose(riskRatioLimits, l.Ratio), choose(riskDifferenceLimits, l.Difference)
	b.set("limits of risks", risk.setting, l.Proportion != "")
	b.set("limits of risk ratios", ratio.setting, l.Ratio != "")
	b.set("limits of risk differences", difference.setting, l.Difference != "")
	return risk, ratio, difference
}

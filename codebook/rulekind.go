package codebook

// The kinds of rules.
const (
	KindCheck     = "check"
	KindUnique    = "unique"
	KindNoOverlap = "no_overlap"
	KindOrder     = "order"
	KindWithin    = "within"
	KindTotal     = "total"
	KindGroup     = "group"
)

// A RuleKind is one kind of rule, named by the key that holds it.
type RuleKind struct {
	Name, Doc string

	given func(raw *rawRule) bool
	read  func(c *ruleReader, raw *rawRule, rule *Rule)
}

// ruleKinds lists the kinds.
var ruleKinds = []RuleKind{
	{
		KindCheck, "A condition that is true on every row.",
		func(raw *rawRule) bool { return raw.Check != nil }, (*ruleReader).check,
	},
	{
		KindUnique, "No two rows are alike in some variables.",
		func(raw *rawRule) bool { return raw.Unique != nil }, (*ruleReader).uniqueRule,
	},
	{
		KindNoOverlap, "No two intervals of a group of rows overlap, and none ends before it begins.",
		func(raw *rawRule) bool { return raw.Overlap != nil }, (*ruleReader).overlap,
	},
	{
		KindOrder, "Days or numbers of a row follow one another.",
		func(raw *rawRule) bool { return raw.Order != nil }, (*ruleReader).order,
	},
	{
		KindWithin, "Days or numbers of a row lie between two others, such as the first and the last day of follow-up.",
		func(raw *rawRule) bool { return raw.Within != nil }, (*ruleReader).within,
	},
	{
		KindTotal, "A number is the sum of others in its row, or the sum or count of the rows that link to it.",
		func(raw *rawRule) bool { return raw.Total != nil }, (*ruleReader).total,
	},
	{
		KindGroup, "A condition that is true of the rows of a group taken together.",
		func(raw *rawRule) bool { return raw.Group != nil }, (*ruleReader).group,
	},
}

// RuleKinds lists the kinds of rules. The caller must not change it.
func RuleKinds() []RuleKind { return ruleKinds }

func kindNames() []string {
	names := make([]string, len(ruleKinds))
	for i, k := range ruleKinds {
		names[i] = k.Name
	}
	return names
}

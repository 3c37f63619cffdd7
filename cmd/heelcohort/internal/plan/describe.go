package plan

import "heelcohort/codebook/document"

// A Describe is an analysis of kind describe.
type Describe struct {
	Head
	Table         *document.String                    `doc:"table" about:"The table; the participants' unless written."`
	By            document.OneOrMore[document.String] `doc:"by" about:"The grouping variable, at most one."`
	Variables     []document.String                   `doc:"variables,required" about:"The variables described, in order."`
	Tests         *DescribeTests                      `doc:"tests" about:"Tests between the groups of by, none unless written: true, or a map. Rows are taken to be independent."`
	Differences   bool                                `doc:"differences" about:"true: standardised differences between the two groups of by, of more groups the largest of any two."`
	Distributions bool                                `doc:"distributions" about:"true: a figure of each variable with categories, its distribution in the groups of by."`
}

// DescribeTests says which tests a description has.
type DescribeTests struct {
	Numbers    string
	Categories string
	Position   document.Position
}

type describeTests struct {
	Numbers    string            `doc:"numbers" enum:"welch|student|rank-sum|none" about:"Of numbers: welch (default), student or rank-sum; of more than two groups Welch's or Fisher's analysis of variance, or Kruskal-Wallis."`
	Categories string            `doc:"categories" enum:"chi-square|fisher|none" about:"Of categories: chi-square (default) or fisher."`
	Position   document.Position `doc:"-"`
}

// UnmarshalDocument reads true or a map.
func (d *DescribeTests) UnmarshalDocument(n *document.Node) error {
	raw := describeTests{Position: n.Position}
	if n.Kind == document.Bool {
		var on bool
		if err := document.Decode(n, &on); err != nil {
			return err
		}
		if !on {
			raw.Numbers, raw.Categories = "none", "none"
		}
	} else if err := document.Decode(n, &raw); err != nil {
		return err
	}
	if raw.Numbers == "" {
		raw.Numbers = "welch"
	}
	if raw.Categories == "" {
		raw.Categories = "chi-square"
	}
	*d = DescribeTests(raw)
	return nil
}

// DocumentSchema is the schema of a boolean or a map.
func (DescribeTests) DocumentSchema() map[string]any {
	return map[string]any{"anyOf": []any{map[string]any{"type": "boolean"}, document.Schema(describeTests{})}}
}

package dataset

import "fmt"

// BoundFindings refuses, as Validate does, data with more findings than anyone
// could work with.
func BoundFindings(findings []Finding) error { return boundFindings(findings) }

// boundFindings refuses data with more findings than anyone could work with:
// the codebook describes another table then, and the list would fill the
// machine. The refusal says what most of them are about.
func boundFindings(findings []Finding) error {
	if len(findings) <= maxFindings {
		return nil
	}
	groups := Group(findings)
	most := groups[0]
	for _, g := range groups[1:] {
		if g.Count > most.Count {
			most = g
		}
	}
	about := fmt.Sprintf("the rule %q", most.Rule)
	if most.Variable != "" {
		about += fmt.Sprintf(" and the variable %q", most.Variable)
	}
	return refuse(most.First[0].Where, "more than %d findings in table %q, most of them (%d, of which this is the first) of %s: the codebook describes another table, or the file is damaged; correct that first",
		maxFindings, most.Table, most.Count, about)
}

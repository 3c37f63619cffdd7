package dataset

import "context"

// Validate checks keys, foreign keys, uniqueness and the codebook's rules, and
// returns findings in order of table, row and column. Faults of single cells
// were found by Open and are not repeated here: a key with an invalid part is
// passed over.
//
// The error is not nil when ctx ended or when a rule of the codebook cannot be
// compiled; it then points into the codebook.
func Validate(ctx context.Context, d *Dataset) ([]Finding, error) {
	var found []Finding
	for _, t := range d.Tables {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		found = append(found, checkKeys(t)...)
		for _, k := range t.Resource.Schema.ForeignKeys {
			found = append(found, checkForeignKey(d, t, k)...)
		}
		rules, err := checkRules(ctx, d, t)
		if err != nil {
			return nil, err
		}
		found = append(found, rules...)
		if err := boundFindings(found); err != nil {
			return nil, err
		}
	}
	suggestEncoding(found, d.Files)
	SortFindings(d, found)
	return found, nil
}

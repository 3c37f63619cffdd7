package plan

import "heelcohort/codebook/document"

// An Expression is a row expression of the plan, such as "onset >= 0". A number
// or a boolean may stand without quotes.
type Expression struct{ document.String }

// UnmarshalDocument reads a text, a number or a boolean.
func (e *Expression) UnmarshalDocument(n *document.Node) error {
	if n.Kind == document.Number || n.Kind == document.Bool {
		e.String = document.String{Value: n.Text, Position: n.Position}
		return nil
	}
	return e.String.UnmarshalDocument(n)
}

// DocumentSchema is the schema of a text, a number or a boolean.
func (Expression) DocumentSchema() map[string]any {
	return map[string]any{"type": []any{"string", "number", "boolean"}}
}

package main

import (
	"fmt"
	"io"

	"heelcohort/codebook/document"
	"heelcohort/dataset"
)

// explainRule says what a rule means; "all" lists every rule.
func explainRule(w io.Writer, name string) error {
	rules := dataset.Rules()
	if name != "all" {
		text, known := dataset.ExplainRule(name)
		if !known {
			var names []string
			for _, r := range rules {
				names = append(names, r.Name)
			}
			nearest := ""
			if n := document.Nearest(name, names); n != "" {
				nearest = fmt.Sprintf("; did you mean %q?", n)
			}
			return fmt.Errorf("no rule %q; --explain all lists them, and a rule that the codebook makes itself is explained there%s", name, nearest)
		}
		rules = []dataset.RuleText{text}
	}
	for i, r := range rules {
		if i > 0 {
			fmt.Fprintln(w)
		}
		fmt.Fprintf(w, "%s\n%s", r.Name, paragraph(r.Sentence+" "+r.Ask))
	}
	return nil
}

package report

import (
	"fmt"
	"io"
	"strings"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset/harmless"
)

// Methods writes methods.md: the methods as a paragraph, the choices behind
// the numbers, and the references, each once.
func Methods(w io.Writer, in Input) error {
	res := in.Results
	refs := collectReferences(res)
	var b strings.Builder
	fmt.Fprintf(&b, "# Methods: %s\n\n", markdown(res.Title))
	if !res.Computed {
		b.WriteString("Nothing was computed: findings in the data stopped the run. What follows is what the plan asks for.\n\n")
	}
	b.WriteString(markdown(methodsParagraph(res)))
	b.WriteString("\n")
	if len(res.Settings) > 0 || len(res.Analyses) > 0 {
		b.WriteString("\n## Choices\n\n")
		b.WriteString("Every choice that the numbers depend on; *default* marks those that the plan leaves to the program.\n")
	}
	writeSettings(&b, "The whole run", res.Settings)
	for _, a := range res.Analyses {
		writeSettings(&b, a.Title+" ("+a.ID+")", a.Settings)
	}
	writeInstruments(&b, res.Instruments)
	writeExceptions(&b, res.Exceptions)
	if len(refs) > 0 {
		b.WriteString("\n## References\n\n")
		for i, r := range refs {
			fmt.Fprintf(&b, "%d. %s\n", i+1, markdown(r.Text))
		}
	}
	fmt.Fprintf(&b, "\n## Software\n\n%s; the versions of Go and of every module are in manifest.json.\n", markdown(res.Program))
	fmt.Fprintf(&b, "\n%s\n", markdown(in.caution()))
	_, err := io.WriteString(w, b.String())
	return err
}

// methodsParagraph joins what the instruments and the analyses say of their
// methods, in their order; a text that two of them share stands once.
func methodsParagraph(res *result.Results) string {
	var texts []string
	for _, i := range res.Instruments {
		texts = append(texts, i.Methods)
	}
	for _, a := range res.Analyses {
		if t := strings.TrimSpace(a.Methods); t != "" {
			texts = append(texts, t)
		}
	}
	if len(texts) == 0 {
		return "No analysis was asked for."
	}
	return strings.Join(unique(texts), " ")
}

// writeSettings writes a list of settings below a heading.
func writeSettings(b *strings.Builder, heading string, settings []result.Setting) {
	if len(settings) == 0 {
		return
	}
	fmt.Fprintf(b, "\n### %s\n\n", markdown(heading))
	for _, s := range settings {
		value := s.Value
		if value == "" {
			value = dash
		}
		fmt.Fprintf(b, "- %s: %s", markdown(s.Key), markdown(value))
		if !s.Written {
			b.WriteString(" (*default*)")
		}
		b.WriteString("\n")
	}
}

// collectReferences lists the references of all instruments and analyses in the
// order of their first mention, each once.
func collectReferences(res *result.Results) []result.Reference {
	var refs []result.Reference
	seen := map[result.Reference]bool{}
	add := func(list []result.Reference) {
		for _, r := range list {
			if !seen[r] {
				seen[r] = true
				refs = append(refs, r)
			}
		}
	}
	for _, i := range res.Instruments {
		add(i.References)
	}
	for _, a := range res.Analyses {
		add(a.References)
	}
	return refs
}

// markdown writes text so that it reads as text in Markdown: signs that would
// be markup get a backslash, line ends become spaces.
func markdown(text string) string {
	text = harmless.Visible(strings.Join(strings.Fields(text), " "))
	runes := []rune(text)
	var b strings.Builder
	for i, r := range runes {
		switch {
		case strings.ContainsRune("\\`*[]<>|~", r),
			r == '_' && !(within(runes, i-1) && within(runes, i+1)),
			r == '&' && i+1 < len(runes) && (runes[i+1] == '#' || within(runes, i+1)),
			i == 0 && strings.ContainsRune("#-+=", r):
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}

// within reports whether a letter or digit stands at i.
func within(runes []rune, i int) bool {
	if i < 0 || i >= len(runes) {
		return false
	}
	r := runes[i]
	return r >= '0' && r <= '9' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r > 127
}

package bundle

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/publish"
)

// Addresses of the form of the metadata.
const (
	crateForm    = "https://w3id.org/ro/crate/1.1"
	crateContext = crateForm + "/context"
	sha256Term   = "http://schema.org/sha256" // younger than the context
)

// An entity is one node of the graph. JSON has its keys in alphabetical order.
type entity map[string]any

// ref refers to an entity.
func ref(id string) entity { return entity{"@id": id} }

// refs refers to several: one alone stands without a list, as compacted
// documents have it.
func refs(ids []string) any {
	if len(ids) == 1 {
		return ref(ids[0])
	}
	list := make([]entity, len(ids))
	for i, id := range ids {
		list[i] = ref(id)
	}
	return list
}

// crateID is the identifier of a file: its path as a relative reference, with
// what acts in one escaped and other letters as they are.
func crateID(name string) string {
	var b strings.Builder
	for i := range len(name) {
		c := name[i]
		switch {
		case c >= 0x80, c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z', c >= '0' && c <= '9', strings.IndexByte("-._~/!$&'()*+,;=@", c) >= 0:
			b.WriteByte(c)
		default:
			fmt.Fprintf(&b, "%%%02X", c)
		}
	}
	return b.String()
}

// noLicence is what stands where the study names none.
const noLicence = "No licence is stated. Ask the study before any use."

// crate is the text of ro-crate-metadata.json.
func (b *Bundle) crate() ([]byte, error) {
	p := b.study.Plan
	var parts, in, out, licences []string
	graph := []entity{nil, nil}
	for _, m := range b.members {
		id := crateID(m.Name)
		e := entity{
			"@id": id, "@type": "File", "name": m.Name, "encodingFormat": mediaType(m.Name),
			"contentSize": strconv.FormatInt(m.Size, 10), "sha256": m.SHA256, "description": b.describe(m),
		}
		parts = append(parts, id)
		graph = append(graph, e)
		switch m.part {
		case partInput:
			in = append(in, id)
		case partOutput:
			out = append(out, id)
		case partLicence:
			licences = append(licences, id)
			if p.License != nil {
				e["description"] = p.License.Value
			}
		}
	}
	for _, w := range b.withheld {
		id := "#withheld/" + crateID(w.Name)
		in = append(in, id)
		var tables []string
		for _, t := range w.Tables {
			tables = append(tables, fmt.Sprintf("table %s, rows: %d", t.Name, t.Rows))
		}
		graph = append(graph, entity{
			"@id": id, "@type": "CreativeWork", "name": w.Name, "encodingFormat": mediaType(w.Name),
			"sha256": w.SHA256, "size": strconv.FormatInt(w.Size, 10) + " bytes",
			"description":        "Data that may not leave and that the archive does not hold; " + strings.Join(tables, "; ") + ".",
			"conditionsOfAccess": "Ask the study.",
		})
	}
	var licence any = noLicence
	switch {
	case len(licences) > 0:
		licence = refs(licences)
	case p.License != nil && isAddress(p.License.Value):
		licence = ref(p.License.Value)
		graph = append(graph, entity{
			"@id": p.License.Value, "@type": "CreativeWork", "name": p.License.Value,
			"description": "The licence that the study's plan names.",
		})
	case p.License != nil:
		licence = p.License.Value
	}
	description := b.study.Package.Description
	if description == "" {
		description = "A study of paediatric heel apophysitis with its analysis plan, codebook and results."
	}
	graph[0] = entity{
		"@id": Crate, "@type": "CreativeWork", "conformsTo": ref(crateForm), "about": ref("./"),
	}
	graph[1] = entity{
		"@id": "./", "@type": "Dataset", "name": p.Title.Value, "description": strings.TrimSpace(description),
		"datePublished": p.Date.Value, "license": licence, "hasPart": refs(parts), "mentions": ref("#run"),
	}
	graph = append(graph, b.action(in, out)...)
	var text bytes.Buffer
	encoder := json.NewEncoder(&text)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", " ")
	err := encoder.Encode(map[string]any{
		"@context": []any{crateContext, map[string]string{"sha256": sha256Term}}, "@graph": graph,
	})
	return text.Bytes(), err
}

// action is the run that made the results, with the program as its manifest
// says it was built.
func (b *Bundle) action(in, out []string) []entity {
	name, version, _ := strings.Cut(b.manifest.Program, " ")
	needs := []string{"#go"}
	software := []entity{{"@id": "#go", "@type": "SoftwareApplication", "name": "Go", "version": b.manifest.Go}}
	for _, m := range b.manifest.Modules {
		id := "#module/" + crateID(m.Path)
		needs = append(needs, id)
		e := entity{"@id": id, "@type": "SoftwareApplication", "name": m.Path, "version": m.Version}
		if m.Sum != "" {
			e["identifier"] = m.Sum
		}
		software = append(software, e)
	}
	return append([]entity{
		{
			"@id": "#run", "@type": "CreateAction", "name": "Computation of the results",
			"description": fmt.Sprintf("Every analysis of the plan %s was computed from the data and written to %s/.", b.study.Plan.File, publish.Folder),
			"instrument":  ref("#program"), "object": refs(in), "result": refs(out),
		},
		{
			"@id": "#program", "@type": "SoftwareApplication", "name": name, "version": version,
			"softwareRequirements": refs(needs),
		},
	}, software...)
}

func isAddress(text string) bool {
	return (strings.HasPrefix(text, "https://") || strings.HasPrefix(text, "http://")) && !strings.ContainsAny(text, " \t\n\"<>")
}

// describe says what a file is.
func (b *Bundle) describe(m member) string {
	in, results := strings.CutPrefix(m.Name, publish.Folder+"/")
	switch {
	case m.Name == b.study.Plan.File:
		return "Analysis plan"
	case m.Name == b.study.Plan.Codebook.Value:
		return "Codebook of the data"
	case m.part == partLicence:
		return "Licence under which the study may be used"
	case m.Name == Withheld:
		return "Names, sizes, SHA-256 and numbers of rows of the data files that the archive does not hold"
	case m.part == partInput:
		return "Input of the analysis"
	case !results:
		return "File of the study"
	case in == "manifest.json":
		return "SHA-256 of every input and output, versions of the program and its modules"
	case in == "results.json":
		return "Every estimate as one row, in full precision"
	case strings.HasPrefix(in, "tables/"):
		return "Estimates of one analysis, one a line"
	case strings.HasPrefix(in, "figures/"):
		return "Figure"
	case strings.HasPrefix(in, "checked/"):
		return "Copy of a data file with the findings of validation marked"
	case strings.HasPrefix(in, publish.Inputs+"/"):
		return "Input as the run read it"
	}
	return "Result of the analysis"
}

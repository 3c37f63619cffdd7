package codebook

import (
	"os"
	"strings"
	"testing"
)

// The rules of the package's description are rules, of every kind.
func TestDescriptionOfRules(t *testing.T) {
	data, err := os.ReadFile("doc.go")
	if err != nil {
		t.Fatal(err)
	}
	_, after, ok := strings.Cut(string(data), "//	rules:\n")
	if !ok {
		t.Fatal("no rules in the description")
	}
	var rules []string
	for _, line := range strings.Split(after, "\n") {
		text, more := strings.CutPrefix(line, "//	")
		if !more {
			break
		}
		rules = append(rules, text)
	}
	p, err := Decode("codebook.yaml", []byte(withTables(`
- name: participants
  path: participants.csv
  schema: {primaryKey: participant_id, fields: [{name: participant_id, type: string}, {name: last_contact, type: integer}]}
- name: exposures
  path: exposures.csv
  schema:
    fields: [{name: episode_id, type: string}, {name: season, type: string}]
    foreignKeys: [{fields: episode_id, reference: {resource: episodes, fields: episode_id}}]
- name: episodes
  path: episodes.csv
  schema:
    primaryKey: episode_id
    fields:
      - {name: episode_id, type: string}
      - {name: participant_id, type: string}
      - {name: site, type: string}
      - {name: sport, type: string}
      - {name: heel, type: string}
      - {name: spell, type: integer}
      - {name: onset, type: integer}
      - {name: diagnosed, type: integer}
      - {name: end_day, type: integer}
      - {name: from_day, type: integer}
      - {name: to_day, type: integer}
      - {name: hours, type: number}
      - {name: seasons_n, type: integer}
      - {name: height_cm, type: number}
      - {name: sitting_height_cm, type: number}
      - {name: fpi_1, type: integer}
      - {name: fpi_2, type: integer}
      - {name: fpi_3, type: integer}
      - {name: fpi_total, type: integer}
    foreignKeys: [{fields: participant_id, reference: {resource: participants, fields: participant_id}}]
  heelcohort:
    rules:
`+indent(strings.Join(rules, "\n"), 4))))
	if err != nil {
		t.Fatal(err)
	}
	kinds := map[string]bool{}
	for _, r := range p.Resource("episodes").Schema.Rules {
		kinds[r.Kind] = true
	}
	if len(kinds) != len(RuleKinds()) {
		t.Errorf("the description shows %d kinds, want %d", len(kinds), len(RuleKinds()))
	}
}

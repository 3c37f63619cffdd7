package codebookpage

import (
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/codebook"
	"heelcohort/dataset"
)

// A tableView is one table on the page.
type tableView struct {
	Name, Title, Description string
	Facts                    []fact
	Keys                     []keyView
	Rules                    []ruleView
	Variables                []variableView
	Data                     bool
}

// A keyView is a key with the rows that break it.
type keyView struct{ What, Fields, Broken string }

// A ruleView is a rule with the rows that break it.
type ruleView struct{ Name, Message, Check, Severity, Broken string }

func tableOf(in Input, r *codebook.Resource) tableView {
	v := tableView{Name: r.Name, Title: r.Title, Description: r.Description, Data: in.Data != nil}
	if v.Title == "" {
		v.Title = r.Name
	}
	v.Facts = append(v.Facts, fact{"File", r.Path})
	if r.Sheet != "" {
		v.Facts = append(v.Facts, fact{"Sheet", r.Sheet})
	}
	if r.HeaderRow > 1 {
		v.Facts = append(v.Facts, fact{"Row of the column names", strconv.Itoa(r.HeaderRow)})
	}
	var t *dataset.Table
	if in.Data != nil {
		t = in.Data.Table(r.Name)
	}
	if t != nil {
		v.Facts = append(v.Facts, fact{"Rows", number(t.Len())})
	}
	v.Facts = append(v.Facts, fact{"Variables", number(len(r.Schema.Fields))})
	found := foundIn(in.Findings, r.Name)
	v.keys(r, found)
	for _, rule := range r.Schema.Rules {
		broken := 0
		for _, f := range found {
			if f.Rule == rule.Name && f.Fields != nil { // a rule of the codebook's own
				broken++
			}
		}
		v.Rules = append(v.Rules, ruleView{rule.Name, rule.Message, demand(rule), rule.Severity, number(broken)})
	}
	for _, f := range r.Schema.Fields {
		var c *dataset.Column
		if t != nil {
			c = t.Column(f.Name)
		}
		v.Variables = append(v.Variables, variableOf(r, f, c, in.Data != nil && in.Data.Masked(r.Name, f.Name), in.Small))
	}
	return v
}

func foundIn(findings []dataset.Finding, table string) (found []dataset.Finding) {
	for _, f := range findings {
		if f.Table == table {
			found = append(found, f)
		}
	}
	return found
}

// keys lists the keys of a table. A row that breaks two keys at one variable
// by the same rule cannot be told apart, so that such keys share their count.
func (v *tableView) keys(r *codebook.Resource, found []dataset.Finding) {
	s := &r.Schema
	broken := func(rule string, fields []string) string {
		rows := map[int]bool{}
		for _, f := range found {
			if f.Rule != rule {
				continue
			}
			for _, name := range fields {
				if f.Variable == name {
					rows[f.Where.Row] = true
				}
			}
		}
		return number(len(rows))
	}
	if len(s.PrimaryKey) > 0 {
		v.Keys = append(v.Keys, keyView{"Primary key: names each row", join(s.PrimaryKey), broken(dataset.RulePrimaryKey, s.PrimaryKey)})
	}
	for _, k := range s.UniqueKeys {
		v.Keys = append(v.Keys, keyView{"Unique: no two rows share", join(k), broken(dataset.RuleUnique, k[:min(1, len(k))])})
	}
	for _, k := range s.ForeignKeys {
		other := k.Resource
		if other == "" {
			other = r.Name
		}
		v.Keys = append(v.Keys, keyView{
			"Names a row of " + other, join(k.Fields) + " → " + other + "." + strings.Join(k.ReferenceFields, ", "+other+"."),
			broken(dataset.RuleForeignKey, k.Fields[:min(1, len(k.Fields))]),
		})
	}
}

func join(names []string) string { return strings.Join(names, ", ") }

// percent is a share of a whole, one decimal from 100 on.
func percent(n, of int) string {
	if of == 0 {
		return printed.Dash
	}
	decimals := 1
	if of < 100 {
		decimals = 0
	}
	switch n {
	case 0:
		return "0%"
	case of:
		return "100%"
	}
	text := printed.Fixed(100*float64(n)/float64(of), decimals)
	if text == "100" || text == "100.0" {
		return ">99" + strings.Repeat(".9", decimals) + "%"
	}
	return text + "%"
}

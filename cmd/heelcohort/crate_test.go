package main

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/url"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func digest(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:])
}

// isoDay is a day in ISO 8601.
var isoDay = regexp.MustCompile(`^\d{4}-\d{2}-\d{2}$`)

// checkCrate holds the metadata against every MUST of the RO-Crate Metadata
// Specification 1.1 (https://w3id.org/ro/crate/1.1) that touches what a bundle
// has; the section stands beside each.
func checkCrate(t *testing.T, files map[string]string) map[string]map[string]any {
	t.Helper()
	// Structure: ro-crate-metadata.json MUST be present in the root.
	text, there := files["ro-crate-metadata.json"]
	if !there {
		t.Fatal("no ro-crate-metadata.json in the root")
	}
	// Structure: it MUST contain a valid JSON-LD document, flattened: entities
	// are direct children of @graph, none nested.
	var doc map[string]any
	if err := json.Unmarshal([]byte(text), &doc); err != nil {
		t.Fatal(err)
	}
	context, _ := doc["@context"].([]any)
	if len(context) == 0 || context[0] != "https://w3id.org/ro/crate/1.1/context" {
		t.Errorf("@context %v", doc["@context"])
	}
	graph, _ := doc["@graph"].([]any)
	entities := map[string]map[string]any{}
	for _, e := range graph {
		e := e.(map[string]any)
		id, _ := e["@id"].(string)
		// Contextual entities: MUST NOT list multiple entities with the same @id.
		if _, twice := entities[id]; twice || id == "" {
			t.Errorf("@id %q is empty or stands twice", id)
		}
		entities[id] = e
		if e["@type"] == nil {
			t.Errorf("%s has no @type", id)
		}
		for key, v := range e {
			checkFlat(t, id+" "+key, v)
		}
	}
	// Root data entity: a descriptor of type CreativeWork with about, which
	// references the root; conformsTo a permalink of the specification.
	descriptor := entities["ro-crate-metadata.json"]
	if descriptor["@type"] != "CreativeWork" || idOf(descriptor["about"]) != "./" || idOf(descriptor["conformsTo"]) != "https://w3id.org/ro/crate/1.1" {
		t.Errorf("descriptor %v", descriptor)
	}
	// Root data entity: @type MUST be Dataset, @id MUST end with /; MUST have
	// name, description, datePublished (a string in ISO 8601) and license.
	root := entities[idOf(descriptor["about"])]
	if root["@type"] != "Dataset" || !strings.HasSuffix(root["@id"].(string), "/") {
		t.Errorf("root %v", root)
	}
	for _, key := range []string{"name", "description", "datePublished"} {
		if s, ok := root[key].(string); !ok || s == "" {
			t.Errorf("root has no %s", key)
		}
	}
	if day, _ := root["datePublished"].(string); !isoDay.MatchString(day) {
		t.Errorf("datePublished %q", root["datePublished"])
	}
	if root["license"] == nil {
		t.Error("root has no license")
	}
	// Data entities: files MUST be linked from the root by hasPart, MUST have
	// File as @type and as @id a URI path relative to the root, and MUST be
	// present within the root. Every file is described.
	parts := map[string]bool{}
	for _, p := range listOf(root["hasPart"]) {
		id := idOf(p)
		parts[id] = true
		e := entities[id]
		if e["@type"] != "File" {
			t.Errorf("%s has @type %v, expected File", id, e["@type"])
		}
		u, err := url.Parse(id)
		if err != nil || u.IsAbs() || u.Host != "" || u.Fragment != "" || u.RawQuery != "" || strings.HasPrefix(id, "/") || strings.Contains(id, "..") {
			t.Errorf("@id %q is no relative path: %v", id, err)
			continue
		}
		content, there := files[u.Path]
		if !there {
			t.Errorf("%s is described and not there", u.Path)
		}
		if e["sha256"] != digest(content) || e["contentSize"] != strconv.Itoa(len(content)) || e["encodingFormat"] == "" || e["encodingFormat"] == nil {
			t.Errorf("%s: %v", u.Path, e)
		}
	}
	for id, e := range entities {
		if e["@type"] == "File" && !parts[id] {
			t.Errorf("%s is no part of the root", id)
		}
	}
	if len(parts) != len(files)-1 {
		t.Errorf("%d files are described of %d", len(parts), len(files)-1)
	}
	// JSON-LD: whatever is referred to within the crate is described in it.
	for id, e := range entities {
		for key, v := range e {
			for _, one := range listOf(v) {
				if to := idOf(one); to != "" && entities[to] == nil && to != "https://w3id.org/ro/crate/1.1" {
					t.Errorf("%s: %s refers to %s, which is not described", id, key, to)
				}
			}
		}
	}
	return entities
}

// checkFlat wants texts, references with @id alone, and lists of them.
func checkFlat(t *testing.T, where string, v any) {
	t.Helper()
	for _, one := range listOf(v) {
		switch one := one.(type) {
		case string:
		case map[string]any:
			if len(one) != 1 || idOf(one) == "" {
				t.Errorf("%s: nested entity %v", where, one)
			}
		default:
			t.Errorf("%s: %v", where, one)
		}
	}
	if list, is := v.([]any); is && len(list) == 1 {
		t.Errorf("%s: a list of one, which compacted documents do not have", where)
	}
}

func listOf(v any) []any {
	if list, is := v.([]any); is {
		return list
	}
	if v == nil {
		return nil
	}
	return []any{v}
}

func idOf(v any) string {
	m, _ := v.(map[string]any)
	id, _ := m["@id"].(string)
	return id
}

func TestCrate(t *testing.T) {
	for name, c := range map[string]struct {
		change  func(t *testing.T, dir string)
		flags   []string
		licence string // identifier, or the text
	}{
		"licence file":    {func(*testing.T, string) {}, nil, "LICENSE"},
		"without data":    {func(*testing.T, string) {}, []string{"--without-data"}, "LICENSE"},
		"licence address": {licence("license: https://creativecommons.org/licenses/by/4.0/"), nil, "https://creativecommons.org/licenses/by/4.0/"},
		"licence text":    {licence("license: Ask us."), nil, "Ask us."},
		"no licence":      {licence(""), nil, "No licence is stated. Ask the study before any use."},
		"names that need escapes": {func(t *testing.T, dir string) {
			put(t, dir, "data/Überblick 50% #1.csv", get(t, dir, "data/children.csv"))
			replace(t, dir, "codebook.yaml", "path: data/children.csv", `path: "data/Überblick 50% #1.csv"`)
		}, nil, "LICENSE"},
	} {
		t.Run(name, func(t *testing.T) {
			dir := smallStudy(t)
			c.change(t, dir)
			heelcohort(t, exitDone, "run", dir)
			out := filepath.Join(t.TempDir(), "b.zip")
			heelcohort(t, exitDone, append([]string{"bundle", "--out", out, dir}, c.flags...)...)
			entities := checkCrate(t, members(t, out))
			root := entities["./"]
			if got := root["license"]; idOf(got) != c.licence && got != c.licence {
				t.Errorf("license %v, want %s", got, c.licence)
			}
			if root["datePublished"] != "2026-03-31" || root["name"] != "Small clubs" || root["description"] != "Invented children of invented clubs." {
				t.Errorf("root %v", root)
			}
			// Provenance: software SHOULD have a version and be the instrument
			// of an action with the inputs as object, the outputs as result.
			run := entities["#run"]
			if run["@type"] != "CreateAction" {
				t.Fatalf("action %v", run)
			}
			software := entities[idOf(run["instrument"])]
			if software["@type"] != "SoftwareApplication" || software["name"] != "heelcohort" || software["version"] != version {
				t.Errorf("instrument %v", software)
			}
			if len(listOf(software["softwareRequirements"])) == 0 {
				t.Error("no modules")
			}
			if n := len(listOf(run["object"])); n != 3 {
				t.Errorf("%d inputs, want plan, codebook and data", n)
			}
			for _, r := range listOf(run["result"]) {
				if !strings.HasPrefix(idOf(r), "results/") {
					t.Errorf("result %v", r)
				}
			}
		})
	}
}

func licence(line string) func(t *testing.T, dir string) {
	return func(t *testing.T, dir string) {
		put(t, dir, "study.yaml", strings.Replace(get(t, dir, "study.yaml"), "date:", line+"\ndate:", 1))
		remove(t, dir, "LICENSE")
	}
}

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const smallPlan = `title: Small clubs
codebook: codebook.yaml
date: 2026-03-31
population:
  - {keep: "age >= 7", otherwise: younger than 7}
analyses:
  - id: table-1
    kind: describe
    by: arch
    variables: [age, pain]
  - id: table-2
    kind: association
    outcome: pain
    exposure: arch
    reference: normal
    limits: {odds: mid-p}
  - id: table-3
    kind: agreement
    ratings: [total, total_second]
    model: two-way-consistency
    cluster: club
    replicates: 100
    seed: 3
  - id: figure-1
    kind: time-to-event
    event: {day: days, when: pain}
    by: arch
`

const smallCodebook = `name: small
description: Invented children of invented clubs.
resources:
  - name: children
    path: data/children.csv
    schema:
      primaryKey: id
      fields:
        - {name: id, type: string}
        - {name: club, type: string, categories: [c1, c2, c3, c4, c5, c6, c7, c8]}
        - name: arch
          type: string
          categories:
            - {value: normal, label: Normal arch}
            - {value: pronated, label: Pronated}
        - {name: pain, type: boolean, trueValues: ["yes"], falseValues: ["no"]}
        - {name: age, type: number, constraints: {minimum: 6, maximum: 17}}
        - {name: days, type: integer, constraints: {minimum: 1}}
        - {name: total, type: number}
        - {name: total_second, type: number}
`

// smallRows are the rows of the small study, each a text without its line end.
func smallRows() []string {
	rows := []string{"id,club,arch,pain,age,days,total,total_second"}
	for i := range 48 {
		arch, pain := "normal", "no"
		if i%3 == 0 {
			arch = "pronated"
		}
		if i%4 == 1 || i%9 == 0 {
			pain = "yes"
		}
		rows = append(rows, fmt.Sprintf("k%02d,c%d,%s,%s,%d,%d,%d,%d", i+1, i%8+1, arch, pain, 7+i%9, 10+(i*37)%90, 3+(i*5)%8, 2+(i*5)%8+i%4))
	}
	return rows
}

// smallStudy writes the small study.
func smallStudy(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "small")
	put(t, dir, "study.yaml", smallPlan)
	put(t, dir, "codebook.yaml", smallCodebook)
	put(t, dir, "LICENSE", "Do with it what you like.\n")
	put(t, dir, "data/children.csv", strings.Join(smallRows(), "\n")+"\n")
	return dir
}

func put(t *testing.T, dir, name, text string) {
	t.Helper()
	full := filepath.Join(dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(full, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func get(t *testing.T, dir, name string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// replace changes the one place of a file where old stands.
func replace(t *testing.T, dir, name, old, by string) {
	t.Helper()
	text := get(t, dir, name)
	if strings.Count(text, old) != 1 {
		t.Fatalf("%s: %q stands %d times", name, old, strings.Count(text, old))
	}
	put(t, dir, name, strings.Replace(text, old, by, 1))
}

func remove(t *testing.T, dir, name string) {
	t.Helper()
	if err := os.Remove(filepath.Join(dir, filepath.FromSlash(name))); err != nil {
		t.Fatal(err)
	}
}

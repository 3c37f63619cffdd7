package plan

import (
	"os"
	"testing"
)

func TestDemo(t *testing.T) {
	data, err := os.ReadFile("../demo/files/study.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p, err := Decode("study.yaml", data)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Analyses) < 4 || len(p.Derive) < 2 {
		t.Errorf("%d analyses, %d tables with derived variables", len(p.Analyses), len(p.Derive))
	}
}

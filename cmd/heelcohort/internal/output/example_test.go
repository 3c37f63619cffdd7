package output_test

import (
	"fmt"
	"os"
	"path/filepath"

	"heelcohort/cmd/heelcohort/internal/output"
)

// A run writes aside and commits once everything is there.
func Example() {
	study, err := os.MkdirTemp("", "study")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer func() { _ = os.RemoveAll(study) }()

	run := func() error {
		stage, err := output.Begin(filepath.Join(study, "results"))
		if err != nil {
			return err
		}
		defer func() { _ = stage.Abort() }() // does nothing after Commit
		if err := stage.WriteFile("methods.md", []byte("# Methods\n")); err != nil {
			return err
		}
		if err := stage.Manifest(output.Manifest{Program: "heelcohort 0.1.0", Plan: "study.yaml", Seed: 1}); err != nil {
			return err
		}
		return stage.Commit()
	}
	fmt.Println(run())
	entries, _ := os.ReadDir(filepath.Join(study, "results"))
	for _, e := range entries {
		fmt.Println(e.Name())
	}
	// Output:
	// <nil>
	// manifest.json
	// methods.md
}

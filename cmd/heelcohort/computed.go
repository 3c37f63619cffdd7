package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"heelcohort/cmd/heelcohort/internal/output"
	"heelcohort/cmd/heelcohort/internal/publish"
	"heelcohort/cmd/heelcohort/internal/result"
)

// readComputed reads the results of a study that were computed, from what lies
// there now: results that were changed since the run, and results of a plan, a
// codebook or data that were, are refused.
func readComputed(dir string) (*result.Results, error) {
	path := filepath.Join(dir, publish.Folder, "results.json")
	f, err := os.Open(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%s is not there, expected the results of: heelcohort run %s", path, dir)
	case err != nil:
		return nil, err
	}
	defer func() { _ = f.Close() }() // only read
	res, err := result.ReadJSON(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if !res.Computed {
		return nil, fmt.Errorf("%s: nothing was computed there, because findings in the data stopped the run; expected results", path)
	}
	return res, unchanged(dir)
}

// unchanged holds the files of a study against the manifest of its results.
func unchanged(dir string) error {
	path := filepath.Join(dir, publish.Folder, "manifest.json")
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("the manifest of the results: %w", err)
	}
	defer func() { _ = f.Close() }() // only read
	m, err := output.ReadManifest(f)
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	for _, want := range m.Inputs {
		got, err := output.InputFile(dir, want.Name)
		switch {
		case errors.Is(err, fs.ErrNotExist):
			continue // results may travel without the data
		case err != nil:
			return err
		case got != want:
			return fmt.Errorf("%s was changed since %s was written, expected the file of that run; run again: heelcohort run %s", filepath.Join(dir, want.Name), publish.Folder, dir)
		}
	}
	for _, want := range m.Outputs {
		if want.Name != "results.json" {
			continue
		}
		got, err := output.InputFile(filepath.Join(dir, publish.Folder), want.Name)
		if err != nil {
			return err
		}
		if got != want {
			return fmt.Errorf("%s was changed since the run, expected it as it was written; run again: heelcohort run %s", filepath.Join(dir, publish.Folder, want.Name), dir)
		}
	}
	return nil
}

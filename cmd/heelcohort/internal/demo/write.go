package demo

import (
	"bytes"
	"context"
	"embed"
	"fmt"
	"os"
	"path/filepath"

	"heelcohort/dataset"
)

// files holds study.yaml, codebook.yaml, README.txt and truth.json.
//
//go:embed files
var files embed.FS

// WriteOptions of Write; the zero value is the published demonstration.
type WriteOptions struct {
	Seed   uint64 // 0 is Seed
	Faulty bool   // plant faults, and list them in faults.csv
}

// Write writes the study folder of a demonstration into the existing and empty
// folder dir: study.yaml, codebook.yaml, truth.json, README.txt,
// data/registry.xlsx and, when faulty, faults.csv.
func Write(ctx context.Context, dir string, opts WriteOptions) error {
	reg := Generate(Options{Seed: opts.Seed})
	sheets := reg.Sheets()
	written := map[string][]byte{}
	var planted *planter
	if opts.Faulty {
		planted = plantFaults(reg, sheets)
		list, err := planted.list()
		if err != nil {
			return err
		}
		written["faults.csv"] = list
	}
	for _, name := range []string{"study.yaml", "codebook.yaml", "README.txt", "truth.json"} {
		data, err := files.ReadFile("files/" + name)
		if err != nil {
			return err
		}
		written[name] = data
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	var book bytes.Buffer
	if err := dataset.WriteWorkbook(&book, sheets); err != nil {
		return fmt.Errorf("registry.xlsx: %w", err)
	}
	written["data/registry.xlsx"] = book.Bytes()
	if planted != nil {
		data, err := planted.rawCells(book.Bytes())
		if err != nil {
			return fmt.Errorf("registry.xlsx: %w", err)
		}
		written["data/registry.xlsx"] = data
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Join(dir, "data"), 0o755); err != nil {
		return err
	}
	for name, data := range written {
		if err := os.WriteFile(filepath.Join(dir, filepath.FromSlash(name)), data, 0o644); err != nil {
			return err
		}
	}
	return nil
}

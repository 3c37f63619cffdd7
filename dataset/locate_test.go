package dataset

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"syscall"
	"testing"
	"time"

	"heelcohort/codebook"
	"heelcohort/codebook/value"
)

// bareColumns reads a sheet into typed columns and keeps nothing of where a
// cell stood: no row numbers, no columns of the sheet, no findings, no hidden
// or left-out rows. It does what readTable does to values and no more.
func bareColumns(s rowSource, r *codebook.Resource) ([]*Column, int, error) {
	var columns []*Column
	for _, f := range r.Schema.Fields {
		columns = append(columns, fieldColumn(f, 0))
	}
	if _, err := s.next(); err != nil {
		return nil, 0, err
	}
	faults := 0
	for rows := 1; ; rows++ {
		row, err := s.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, 0, err
		}
		if rows == checkEvery {
			n, total := s.done()
			for _, c := range columns {
				c.reserve(int(float64(rows)*float64(total)/float64(n)*1.02) + 100)
			}
		}
		for i, f := range r.Schema.Fields {
			var cell rawCell
			if i < len(row.cells) {
				cell = row.cells[i]
			}
			c := columns[i]
			text, fault := cellText(f, cell, false)
			var v value.Value
			if fault == nil {
				v, fault = f.Parse(text)
			}
			switch {
			case fault != nil:
				faults++
				c.add(value.Value{}, Invalid)
			case v.Missing:
				c.add(v, Missing)
			default:
				c.add(v, Present)
			}
			c.addSource(cell.text)
		}
	}
	for _, c := range columns {
		c.filled()
	}
	return columns, faults, nil
}

// BenchmarkLocate sets reading with places beside reading without, in turns on
// the same sheet, and reports the time of the processor that each took and
// what finding places costs: the median over the turns.
func BenchmarkLocate(b *testing.B) {
	name := filepath.Join(b.TempDir(), "data.xlsx")
	writeLarge(b, name, true)
	data, err := os.ReadFile(name)
	if err != nil {
		b.Fatal(err)
	}
	pkg := decode(b, largeYAML())
	resource := pkg.Resources[0]
	source := func() *sheetSource {
		w, err := openWorkbook("data.xlsx", data)
		if err != nil {
			b.Fatal(err)
		}
		s, err := w.rows(0)
		if err != nil {
			b.Fatal(err)
		}
		return s
	}
	used := func(job func()) float64 {
		start := used()
		job()
		return (used() - start).Seconds()
	}
	var with, without, ratio []float64
	for b.Loop() {
		w := used(func() {
			t, found, err := readTable(context.Background(), source(), Origin{File: "data.xlsx", Sheet: "data"}, resource, false, &progress{})
			if err != nil || t.Len() != largeRows || len(found) > 0 {
				b.Fatal(err)
			}
		})
		o := used(func() {
			c, faults, err := bareColumns(source(), resource)
			if err != nil || c[0].Len() != largeRows || faults > 0 {
				b.Fatal(err)
			}
		})
		with, without, ratio = append(with, w), append(without, o), append(ratio, w/o)
	}
	median := func(x []float64) float64 {
		slices.Sort(x)
		return (x[(len(x)-1)/2] + x[len(x)/2]) / 2
	}
	b.ReportMetric(median(with), "cpu-s/located")
	b.ReportMetric(median(without), "cpu-s/bare")
	b.ReportMetric(100*(median(ratio)-1), "%more")
}

// used is the time of the processor that the process took so far.
func used() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

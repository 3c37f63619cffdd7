package stats

import (
	"encoding/binary"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// benchmarkColumns are the columns of a data set for another program's script,
// which reads them as they lie in memory: text would take minutes for millions
// of rows.
type benchmarkColumns struct {
	entry, exit []float64
	status      []bool
	group       []int
	x           [][]float64 // rows
}

// file writes the columns one after the other, as little-endian doubles and
// four-byte integers, and describes them as the scripts expect it:
// "exit:double status:integer x3:double".
func (c benchmarkColumns) file(b *testing.B) (path, described string) {
	var all []byte
	var names []string
	double := func(name string, n int, at func(i int) float64) {
		names = append(names, name+":double")
		for i := range n {
			all = binary.LittleEndian.AppendUint64(all, math.Float64bits(at(i)))
		}
	}
	integer := func(name string, n int, at func(i int) int) {
		names = append(names, name+":integer")
		for i := range n {
			all = binary.LittleEndian.AppendUint32(all, uint32(at(i)))
		}
	}
	if c.entry != nil {
		double("entry", len(c.entry), func(i int) float64 { return c.entry[i] })
	}
	double("exit", len(c.exit), func(i int) float64 { return c.exit[i] })
	if c.status != nil {
		integer("status", len(c.status), func(i int) int {
			if c.status[i] {
				return 1
			}
			return 0
		})
	}
	if c.group != nil {
		integer("group", len(c.group), func(i int) int { return c.group[i] })
	}
	if c.x != nil {
		for j := range c.x[0] {
			double("x"+strconv.Itoa(j+1), len(c.x), func(i int) float64 { return c.x[i][j] })
		}
	}
	path = filepath.Join(b.TempDir(), "columns")
	must(b, os.WriteFile(path, all, 0o600))
	return path, strings.Join(names, " ")
}

// here times a job of ours. "cpu-ns/op" is the work of all cores together, which
// other programs on the machine hardly change; "answer" a number that was found.
func here(b *testing.B, job func() float64) {
	answer, before := 0.0, processorTime()
	for b.Loop() {
		answer = job()
	}
	b.ReportMetric(answer, "answer")
	b.ReportMetric(float64(processorTime()-before)/float64(b.N), "cpu-ns/op")
}

// in lets a script time a job on the columns, without the time to start and to
// read them. The script repeats it for a second, so that one call is enough
// whatever b.N, and prints the seconds of one run, those of the processor, and a
// number that it found, which stands beside ours as "answer".
func (c benchmarkColumns) in(b *testing.B, program, script, job string, more ...string) {
	path, err := exec.LookPath(program)
	if err != nil {
		b.Skipf("%s is not installed", program)
	}
	data, described := c.file(b)
	args := append([]string{filepath.Join("testdata", "crosscheck", script), job, data, strconv.Itoa(len(c.exit)), described}, more...)
	cmd := exec.Command(path, args...)
	cmd.Stderr = os.Stderr
	out, err := cmd.Output()
	if err != nil {
		b.Skipf("%s: %v", script, err)
	}
	said := strings.Fields(string(out))
	if len(said) != 3 {
		b.Fatalf("%s printed %q", script, out)
	}
	for i, metric := range []struct {
		unit  string
		times float64
	}{{"ns/op", 1e9}, {"cpu-ns/op", 1e9}, {"answer", 1}} {
		v, err := strconv.ParseFloat(said[i], 64)
		must(b, err)
		b.ReportMetric(v*metric.times, metric.unit)
	}
}

// inR is in with R and its package survival, or cmprsk for Gray's test.
func (c benchmarkColumns) inR(b *testing.B, job string, more ...string) {
	c.in(b, "Rscript", "benchmark.R", job, more...)
}

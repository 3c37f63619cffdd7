package dataset

import (
	"archive/zip"
	"bufio"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"heelcohort/codebook"
	"heelcohort/codebook/identifier"
)

// A large workbook, as a registry of many clubs over many years would be:
// 200,000 rows of 25 columns, some 190 MB of XML.
const largeRows, largeColumns = 200_000, 25

// largeYAML types its columns: identifier, two dates, five categories, one
// open text, four integers, twelve decimals.
func largeYAML() string {
	var b strings.Builder
	b.WriteString("name: saltmarsh\nresources:\n  - name: visits\n    path: data.xlsx\n    schema:\n      primaryKey: [id]\n      missingValues: [\"\", \"NM\", \"999\"]\n      fields:\n")
	for j := range largeColumns {
		fmt.Fprintf(&b, "        - {name: %s, type: %s}\n", largeName(j), largeType(j))
	}
	return b.String()
}

func largeName(j int) string {
	if j == 0 {
		return "id"
	}
	return fmt.Sprintf("v%d", j)
}

func largeType(j int) string {
	switch {
	case j == 0:
		return "string"
	case j <= 2:
		return "date"
	case j <= 7:
		return "string, categories: [left, right, both, none, not known]"
	case j == 8:
		return "string"
	case j <= 12:
		return "integer"
	}
	return "number"
}

// writeLarge writes the workbook, its texts shared or inline.
func writeLarge(t testing.TB, name string, shared bool) {
	t.Helper()
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z := zip.NewWriter(f)
	var texts []string
	index := map[string]int{}
	for _, p := range bookParts("", "") {
		if p[0] == "xl/sharedStrings.xml" {
			continue
		}
		w, err := z.CreateHeader(&zip.FileHeader{Name: p[0], Method: zip.Deflate})
		if err != nil {
			t.Fatal(err)
		}
		b := bufio.NewWriterSize(w, 1<<20)
		if p[0] != "xl/worksheets/sheet1.xml" {
			b.WriteString(p[1])
			b.Flush()
			continue
		}
		cell := func(ref, s string) {
			if !shared {
				fmt.Fprintf(b, `<c r="%s" t="inlineStr"><is><t>%s</t></is></c>`, ref, s)
				return
			}
			n, ok := index[s]
			if !ok {
				n = len(texts)
				index[s] = n
				texts = append(texts, s)
			}
			fmt.Fprintf(b, `<c r="%s" t="s"><v>%d</v></c>`, ref, n)
		}
		random := rand.New(rand.NewPCG(1, 2))
		b.WriteString(`<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">`)
		for j := range largeColumns {
			cell(columnLetters(j+1)+"1", largeName(j))
		}
		b.WriteString(`</row>`)
		words := []string{"left", "right", "both", "none", "not known"}
		for i := range largeRows {
			row := strconv.Itoa(i + 2)
			b.WriteString(`<row r="` + row + `">`)
			for j := range largeColumns {
				ref := columnLetters(j+1) + row
				switch {
				case j == 0:
					cell(ref, fmt.Sprintf("SM-%06d", i))
				case j <= 2:
					fmt.Fprintf(b, `<c r="%s" s="1"><v>%d</v></c>`, ref, 40000+random.IntN(5000))
				case j <= 7:
					cell(ref, words[random.IntN(len(words))])
				case j == 8:
					cell(ref, fmt.Sprintf("seen %d times", random.IntN(300)))
				case j <= 12:
					fmt.Fprintf(b, `<c r="%s"><v>%d</v></c>`, ref, random.IntN(2000))
				case random.IntN(40) == 0:
					cell(ref, "NM")
				case j%2 == 0:
					fmt.Fprintf(b, `<c r="%s"><v>%s</v></c>`, ref, strconv.FormatFloat(float64(random.IntN(100000))/100, 'f', -1, 64))
				default:
					fmt.Fprintf(b, `<c r="%s"><v>%s</v></c>`, ref, strconv.FormatFloat(100*random.Float64(), 'f', -1, 64))
				}
			}
			b.WriteString(`</row>`)
		}
		b.WriteString(`</sheetData></worksheet>`)
		b.Flush()
	}
	w, err := z.Create("xl/sharedStrings.xml")
	if err != nil {
		t.Fatal(err)
	}
	b := bufio.NewWriter(w)
	b.WriteString(`<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">`)
	for _, s := range texts {
		b.WriteString("<si><t>" + s + "</t></si>")
	}
	b.WriteString("</sst>")
	b.Flush()
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
}

// The jobs that a child process does on a large workbook, by name.
var largeJobs = map[string]func(dir string) error{
	"check": func(dir string) error {
		pkg, err := codebook.Decode("codebook.yaml", []byte(largeYAML()))
		if err != nil {
			return err
		}
		d, found, err := Open(context.Background(), dir, pkg, Options{})
		if err != nil {
			return err
		}
		more, err := Validate(context.Background(), d)
		if err != nil {
			return err
		}
		if found, err = Screen(context.Background(), d, append(found, more...)); err != nil {
			return err
		}
		// The screen asks for study days instead of the two columns of dates.
		if d.Tables[0].Len() != largeRows || len(found) != 2 || found[0].Rule != identifier.CalendarDate {
			return fmt.Errorf("%d rows, %d findings: %+v", d.Tables[0].Len(), len(found), found)
		}
		return nil
	},
	"iterate": func(dir string) error {
		f, err := excelize.OpenFile(filepath.Join(dir, "data.xlsx"), excelize.Options{RawCellValue: true})
		if err != nil {
			return err
		}
		defer f.Close()
		rows, err := f.Rows("data")
		if err != nil {
			return err
		}
		n := 0
		for rows.Next() {
			if _, err := rows.Columns(); err != nil {
				return err
			}
			n++
		}
		if n != largeRows+1 {
			return fmt.Errorf("%d rows", n)
		}
		return rows.Close()
	},
}

// TestLargeJob is the child process's side of BenchmarkLarge and no test.
func TestLargeJob(t *testing.T) {
	name, dir, ok := strings.Cut(os.Getenv("HEELCOHORT_LARGE"), ":")
	if !ok {
		t.Skip("run by BenchmarkLarge alone")
	}
	start := time.Now()
	if err := largeJobs[name](dir); err != nil {
		t.Fatal(err)
	}
	fmt.Printf("took %d ns\n", time.Since(start).Nanoseconds())
}

// inChild does a job in a process of its own and gives its time and the most
// memory that it held.
func inChild(b *testing.B, name, dir string) (took, used time.Duration, peak int64) {
	b.Helper()
	self, err := os.Executable()
	if err != nil {
		b.Fatal(err)
	}
	child := exec.Command(self, "-test.run=^TestLargeJob$", "-test.v")
	child.Env = append(os.Environ(), "HEELCOHORT_LARGE="+name+":"+dir)
	out, err := child.CombinedOutput()
	if err != nil {
		b.Fatalf("%s: %v\n%s", name, err, out)
	}
	_, after, _ := strings.Cut(string(out), "took ")
	var ns int64
	if _, err := fmt.Sscanf(after, "%d ns", &ns); err != nil {
		b.Fatalf("%s: %v\n%s", name, err, out)
	}
	if usage, ok := child.ProcessState.SysUsage().(*syscall.Rusage); ok {
		peak = usage.Maxrss << 10 // kilobytes on Linux
	}
	return time.Duration(ns), child.ProcessState.UserTime() + child.ProcessState.SystemTime(), peak
}

// BenchmarkLarge sets the whole check of a large workbook, cells typed, keys
// checked, faults located, columns screened for identifiers, beside excelize's bare iteration over its texts.
// Each runs in a process of its own, of which the time, the time of all
// processors and the peak of memory are reported.
func BenchmarkLarge(b *testing.B) {
	for _, texts := range []string{"shared", "inline"} {
		dir := b.TempDir()
		writeLarge(b, filepath.Join(dir, "data.xlsx"), texts == "shared")
		for _, job := range []string{"check", "iterate"} {
			b.Run(texts+"/"+job, func(b *testing.B) {
				var took, used time.Duration
				var peak int64
				for b.Loop() {
					t, u, p := inChild(b, job, dir)
					took, used = took+t, used+u
					peak = max(peak, p)
				}
				b.ReportMetric(float64(took.Nanoseconds())/float64(b.N), "ns/op")
				b.ReportMetric(used.Seconds()/float64(b.N), "cpu-s/op")
				b.ReportMetric(float64(peak)/(1<<20), "peak-MB")
			})
		}
	}
}

package delimited

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
)

// benchTable is a table of 20,000 records of 12 cells, every fourth record
// with a cell in quotes.
func benchTable(letter string) string {
	var b strings.Builder
	b.WriteString("id,a,b,c,d,e,f,g,h,i,j,k\n")
	for i := range 20_000 {
		fmt.Fprintf(&b, "SM-%04d,%d.%d,right,2024-03-%02d,true,NM,12,%s,148.5,41.25,3,", i%10_000, i%60, i%10, 1+i%28, letter)
		if i%4 == 0 {
			b.WriteString("\"rests, then \"\"plays\"\"\"")
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func BenchmarkRead(b *testing.B) {
	for _, c := range []struct{ name, encoding, letter string }{
		{"UTF-8", "utf-8", "f"}, {"Windows-1252", "windows-1252", "Mädchen"}, {"UTF-16", "utf-16le", "Mädchen"},
	} {
		data, _ := encode(benchTable(c.letter), c.encoding, false)
		b.Run(c.name, func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				r, err := NewReader(data, Dialect{}, Header{Names: []string{"id", "a"}})
				if err != nil {
					b.Fatal(err)
				}
				for {
					if _, err := r.Read(); errors.Is(err, io.EOF) {
						break
					} else if err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}

func BenchmarkStandardLibrary(b *testing.B) {
	data := []byte(benchTable("f"))
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		r := csv.NewReader(bytes.NewReader(data))
		r.ReuseRecord = true
		for {
			if _, err := r.Read(); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				b.Fatal(err)
			}
		}
	}
}

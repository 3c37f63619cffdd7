package stats

import (
	"runtime"
	"sync"
)

// chunkRows is the number of rows that are added up by themselves, so that
// large sums can be made on several cores. It does not depend on them: sums are
// the same on any number.
const chunkRows = 8192

// inChunks calls work for the rows of each chunk, at once where there are
// several, each with the chunk's number.
func inChunks(n int, work func(chunk, from, to int)) {
	chunks := (n + chunkRows - 1) / chunkRows
	if chunks <= 1 {
		work(0, 0, n)
		return
	}
	workers := min(runtime.GOMAXPROCS(0), chunks)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			for c := w; c < chunks; c += workers {
				work(c, c*chunkRows, min(n, (c+1)*chunkRows))
			}
		})
	}
	wg.Wait()
}

// sumChunks adds up what each chunk of n rows makes of k numbers, in the order of
// the chunks.
func sumChunks(n, k int, work func(sums []float64, from, to int)) []float64 {
	chunks := max(1, (n+chunkRows-1)/chunkRows)
	parts := newMatrix(chunks, k)
	inChunks(n, func(chunk, from, to int) { work(parts[chunk], from, to) })
	for _, part := range parts[1:] {
		for i, v := range part {
			parts[0][i] += v
		}
	}
	return parts[0]
}

// weightedProducts is Σ weight x x' over rows, its lower triangle row by row;
// weights gives those of a stretch of rows.
func weightedProducts(x [][]float64, weights func(from, to int) []float64) []float64 {
	p := len(x[0])
	return sumChunks(len(x), p*(p+1)/2, func(sums []float64, from, to int) {
		weight, rows := weights(from, to), x[from:to]
		for len(rows) >= 4 {
			addFourProducts(sums, rows, weight)
			rows, weight = rows[4:], weight[4:]
		}
		for i, row := range rows {
			at := 0
			for j, v := range row {
				v *= weight[i]
				for k, u := range row[:j+1] {
					sums[at+k] += float64(v * u)
				}
				at += j + 1
			}
		}
	})
}

// addFourProducts adds the products of four rows at once, so that a sum is read
// and written once for them.
func addFourProducts(sums []float64, x [][]float64, weight []float64) {
	p := len(x[0])
	a, b, c, d := x[0][:p], x[1][:p], x[2][:p], x[3][:p]
	for j := range p {
		wa, wb, wc, wd := weight[0]*a[j], weight[1]*b[j], weight[2]*c[j], weight[3]*d[j]
		into := sums[:j+1]
		sums = sums[j+1:]
		a, b, c, d := a[:len(into)], b[:len(into)], c[:len(into)], d[:len(into)]
		for k := range into {
			into[k] += (float64(wa*a[k]) + float64(wb*b[k])) + (float64(wc*c[k]) + float64(wd*d[k]))
		}
	}
}

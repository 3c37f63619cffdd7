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

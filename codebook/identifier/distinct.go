package identifier

// A distinct counts different texts in a fixed space: it keeps the hashes
// whose low bits are 0, and asks for one bit more whenever they become too
// many. Up to distinctSpace texts the count is exact but for equal hashes;
// beyond, its standard error is about 2 percent.
type distinct struct {
	kept map[uint64]struct{}
	mask uint64
	near [64]uint64 // hashes added of late: few words make most columns
}

const distinctSpace = 4096

// add counts a text.
func (d *distinct) add(text string) {
	h := hash(text)
	near := &d.near[h>>58]
	if *near == h || h&d.mask != 0 {
		return
	}
	*near = h
	if d.kept == nil {
		d.kept = make(map[uint64]struct{})
	}
	d.kept[h] = struct{}{}
	for len(d.kept) > distinctSpace {
		d.mask = d.mask<<1 | 1
		for k := range d.kept {
			if k&d.mask != 0 {
				delete(d.kept, k)
			}
		}
	}
}

// count is the number of different texts, or its estimate.
func (d *distinct) count() int { return len(d.kept) * int(d.mask+1) }

// hash is the FNV-1a hash of a text, its bits mixed so that the low ones are
// as good as the others.
func hash(text string) uint64 {
	h := uint64(14695981039346656037)
	for i := range len(text) {
		h = (h ^ uint64(text[i])) * 1099511628211
	}
	h ^= h >> 32
	h *= 0xd6e8feb86659fd93
	return h ^ h>>32
}

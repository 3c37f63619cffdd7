package delimited

// Limits on what is read, far above any table of a study. They keep a damaged
// file, in which one quote was lost perhaps, from being read to its end as one
// cell.
const (
	MaxColumns   = 16384    // cells of a record, as many as a sheet has columns
	MaxCellText  = 100_000  // characters of a cell
	maxRecord    = 16 << 20 // bytes of a record
	sampleRows   = 50       // records looked at to find the separator
	maxSampleGap = 10_000   // lines before the header
)

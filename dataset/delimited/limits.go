package delimited

// Limits on what is read, far above any table of a study. They keep a damaged
// file, in which one quote was lost perhaps, from being read to its end as one
// cell.
const (
	maxLines     = 32 << 20 // lines, empty ones among them
	MaxRecords   = 1048576  // records with a character, as many as a sheet has rows
	MaxColumns   = 16384    // cells of a record, as many as a sheet has columns
	MaxCellText  = 100_000  // characters of a cell
	maxRecord    = 16 << 20 // bytes of a record
	maxWord      = 256      // bytes of a word in Windows-1252 that is detected
	maxSeen      = 5000     // such words that are remembered as weighed
	sampleRows   = 50       // records looked at to find the separator
	maxSampleGap = 10_000   // lines before the header
)

package dataset

import "heelcohort/dataset/ooxml"

// Limits on what is read. They stand far above any study of children's heels
// and keep a damaged or hostile file from filling the machine.
const (
	maxFileBytes     = 256 << 20        // a data file as it lies on the disk
	maxUnzippedBytes = 1 << 30          // all parts of a workbook that is marked, together
	memoryPartBytes  = 16 << 20         // larger parts of such a workbook wait in a temporary file
	maxRows          = ooxml.MaxRows    // rows of a sheet
	maxColumns       = ooxml.MaxColumns // columns of a sheet
	maxCells         = 32 << 20         // cells of one table
	maxTextFile      = 128 << 20        // a text file, whose letters may take three times the room when they are decoded
	maxTextBytes     = 192 << 20        // the texts of a table's cells, those that recur counted once
	maxSpread        = 128 << 20        // cells of a sheet, with the empty ones before others in their row
	maxFindings      = 250_000          // findings of a table
	checkEvery       = 1000             // rows between looks at the context
)

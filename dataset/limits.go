package dataset

// Limits on what is read. They stand far above any study of children's heels
// and keep a damaged or hostile file from filling the machine.
const (
	maxFileBytes     = 512 << 20 // a data file as it lies on the disk
	maxTextBytes     = 128 << 20 // a text file, whose letters may take three times the room when they are decoded
	maxUnzippedBytes = 1 << 30   // all parts of a workbook together
	memoryPartBytes  = 16 << 20  // larger parts of a workbook wait in a temporary file
	maxRows          = 1048576   // rows of a sheet
	maxColumns       = 16384     // columns of a sheet
	maxCells         = 100 << 20 // cells of one table
	checkEvery       = 1000      // rows between looks at the context
)

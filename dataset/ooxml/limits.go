package ooxml

// Limits of a sheet as the format has them.
const (
	MaxRows    = 1048576
	MaxColumns = 16384
)

// Limits on what is read. They stand far above any study's workbook; a sheet
// of 200,000 rows and 25 columns has some 190 MB of XML.
const (
	maxMembers       = 20_000    // members of the archive
	maxPartBytes     = 768 << 20 // one part, unpacked
	maxTotalBytes    = 1 << 30   // all parts, unpacked
	maxIndexBytes    = 16 << 20  // a part that lists others: the workbook, relationships
	maxStylesBytes   = 64 << 20  // the styles
	ratioBytes       = 32 << 20  // parts up to this size may be packed as small as they like
	maxRatio         = 300       // bytes that a larger part may have for each byte packed
	maxTagBytes      = 1 << 20   // a tag, a comment or a section of the XML
	maxDepth         = 100       // elements within each other
	maxAttributes    = 256       // attributes of a tag
	maxCellBytes     = 131072    // the text of a cell; 32,767 characters of up to four bytes
	maxRowBytes      = 16 << 20  // the texts of a row that are not shared
	maxSharedTexts   = 6 << 20   // shared texts
	maxSharedBytes   = 192 << 20 // shared texts, in bytes
	maxMergedAreas   = 1 << 20   // merged areas
	maxSheets        = 4096      // sheets of a workbook
	maxStyles        = 1 << 20   // styles of cells, and number formats
	maxRelationships = 100_000   // lines of a list of relationships
)

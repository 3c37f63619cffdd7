package rerun

import (
	"bytes"
	"encoding/json"
	"io"

	"heelcohort/cmd/heelcohort/internal/bundle"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/dataset/harmless"
)

// FormID identifies the form of the JSON that WriteJSON writes.
const FormID = "urn:heelcohort:rerun:1"

// The verdicts on a row.
const (
	Same   = "same"
	Within = "within tolerance"
	Moved  = "moved"
	Gone   = "gone" // only in the stored results
	New    = "new"  // only in those computed now
)

// A Report says what holds.
type Report struct {
	Form      string  `json:"form"`
	Source    string  `json:"source"` // name of the bundle or folder
	Title     string  `json:"title"`
	Program   string  `json:"program"`  // that computes now
	Recorded  string  `json:"recorded"` // that computed the stored results
	Caution   string  `json:"caution"`
	Tolerance float64 `json:"tolerance"`
	Holds     bool    `json:"holds"`
	// Stopped says why nothing was computed or compared; "" where it was.
	Stopped string        `json:"stopped"`
	Files   []bundle.File `json:"files"`
	Counts  Counts        `json:"counts"`
	Outputs Outputs       `json:"outputs"`
	Changes []Change      `json:"changes"`
	// Apart reports whether causes were told apart by computing from the
	// recorded inputs; where not, each is likely and none is certain.
	Apart bool   `json:"apart"`
	Rows  []Row  `json:"rows"`  // that are not the same
	Words []Word `json:"words"` // settings, labels and sentences that differ
}

// Counts are the rows by verdict.
type Counts struct {
	Same   int `json:"same"`
	Within int `json:"within"`
	Moved  int `json:"moved"`
	Gone   int `json:"gone"`
	New    int `json:"new"`
}

// Outputs compares the files of the results, byte by byte, with those written
// now.
type Outputs struct {
	Same      int      `json:"same"`
	Different []string `json:"different"`
}

// A Row is one row of the results that is not the same.
type Row struct {
	ID       string   `json:"id"`
	Analysis string   `json:"analysis"`
	Verdict  string   `json:"verdict"`
	Numbers  []Number `json:"numbers"` // that differ
	Causes   []string `json:"causes"`  // labels of changes
}

// A Number is one number before, as stored, and after, as computed now.
type Number struct {
	Name     string        `json:"name"`
	Before   result.Number `json:"before"`
	After    result.Number `json:"after"`
	Relative result.Number `json:"relative"` // difference over the larger size
}

// A Word is a text of the results that differs.
type Word struct {
	Where  string `json:"where"` // analysis or row
	What   string `json:"what"`
	Before string `json:"before"`
	After  string `json:"after"`
}

// The kinds of change.
const (
	DataCell       = "data cell"
	RowAdded       = "row added"
	RowDeleted     = "row deleted"
	RowsReordered  = "rows reordered"
	DataColumns    = "columns of data"
	DataTable      = "table of data"
	DataWritten    = "data written differently"
	DataFile       = "data file"
	PlanOption     = "plan option"
	PlanWording    = "plan wording"
	Seed           = "seed"
	CodebookRange  = "codebook range"
	CategoryLabel  = "category label"
	CodebookWords  = "codebook wording"
	CodebookOther  = "codebook"
	Layout         = "layout"
	References     = "table of references"
	ProgramVersion = "program version"
	MethodVersion  = "method version"
	ResultsEdited  = "results edited by hand"
	FigureEdited   = "figure edited"
	Unexplained    = "results do not follow from their inputs"
	MissingFile    = "missing file"
	AdditionalFile = "additional file"
	OtherFile      = "file altered"
)

// A Change is one thing that is not as recorded.
type Change struct {
	Label    string `json:"label"` // "change 1"
	Kind     string `json:"kind"`
	Place    string `json:"place"` // file, with line or cell
	Detail   string `json:"detail"`
	Harmless bool   `json:"harmless"` // changes nothing
	Moved    int    `json:"moved"`    // rows that it moved, or may have moved

	group    group
	analysis string // of the plan; "" of all
	order    bool   // of the data, which by itself changes nothing
	wording  bool
}

// WriteJSON writes the report.
func (r *Report) WriteJSON(w io.Writer) error {
	var b bytes.Buffer
	encoder := json.NewEncoder(&b)
	encoder.SetEscapeHTML(false)
	encoder.SetIndent("", " ")
	if err := encoder.Encode(r); err != nil {
		return err
	}
	_, err := w.Write(harmless.JSON(b.Bytes()))
	return err
}

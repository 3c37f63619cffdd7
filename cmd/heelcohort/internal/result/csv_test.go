package result

import (
	"bytes"
	"encoding/csv"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"heelcohort/dataset/harmless"
)

func TestWriteCSV(t *testing.T) {
	a := NewRow("table-2", "rates", "incidence rate")
	a.Estimate, a.Lower, a.Upper, a.Level, a.Events, a.PersonTime = 0, 0, 3.6888794541139363, 0.95, 0, 1000
	a.Groups = []Group{{"age", "[6, 8)"}, {"sport", "swimming, \"open\" water"}}
	a.Unit, a.Method, a.Line, a.Warnings = "per 1,000 hours", "exact Poisson", 55, []string{"no events", "small"}
	b := NewRow("table-2", "model", "rate ratio")
	b.Variable, b.Term, b.Upper, b.Lower, b.Reason = "age", "[8, 10)", Number(math.Inf(1)), Number(math.Inf(-1)), "separation"
	var out bytes.Buffer
	if err := WriteCSV(&out, []Row{a, b}); err != nil {
		t.Fatal(err)
	}
	want := strings.Join([]string{
		"id,analysis,part,group_1_variable,group_1_level,group_2_variable,group_2_level,variable,term,measure,at,estimate," +
			"lower,upper,se,level,p,statistic,df,n,events,censored,person_time,unit,method,reason,warnings,line",
		`"table-2/rates/age=[6, 8),sport=swimming, ""open"" water/incidence rate",table-2,rates,age,"[6, 8)",sport,` +
			`"swimming, ""open"" water",,,incidence rate,,0,0,3.6888794541139363,,0.95,,,,,0,,1000,"per 1,000 hours",` +
			`exact Poisson,,no events; small,55`,
		`"table-2/model/age:[8, 10)/rate ratio",table-2,model,,,,,age,"[8, 10)",rate ratio,,,unbounded below,unbounded,` +
			`,,,,,,,,,,,separation,,0`,
	}, "\n") + "\n"
	if diff := cmp.Diff(want, out.String()); diff != "" {
		t.Errorf("CSV (-want +got):\n%s", diff)
	}
}

// TestCSVRectangle: any rows give a table in which every record is as long as
// the head and begins with the row's address.
func TestCSVRectangle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		res := drawResults(t)
		if err := res.Seal(); err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		if err := WriteCSV(&out, res.Rows); err != nil {
			t.Fatal(err)
		}
		records, err := csv.NewReader(&out).ReadAll()
		if err != nil || len(records) != len(res.Rows)+1 {
			t.Fatalf("%d records, %v, want %d", len(records), err, len(res.Rows)+1)
		}
		for i, r := range res.Rows {
			// encoding/csv reads a line end within quotes as \n.
			if got, want := records[i+1][0], strings.ReplaceAll(harmless.CSV(r.ID), "\r\n", "\n"); got != want {
				t.Fatalf("record %d is %q, want %q", i+1, got, want)
			}
		}
	})
}

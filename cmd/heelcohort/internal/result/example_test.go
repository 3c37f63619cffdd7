package result_test

import (
	"fmt"
	"os"

	"heelcohort/cmd/heelcohort/internal/result"
)

// A row is made, sealed and found by its key.
func ExampleResults_Find() {
	row := result.NewRow("table-1", "values", "mean")
	row.Variable, row.Estimate, row.N, row.Unit = "age_enrolled", 10.4, 1190, "years"
	res := &result.Results{Analyses: []result.Analysis{{ID: "table-1", Kind: "describe"}}, Rows: []result.Row{row}}
	if err := res.Seal(); err != nil {
		fmt.Println(err)
		return
	}
	found, ok := res.Find("table-1", "values", nil, "age_enrolled", "", "mean", result.None())
	fmt.Println(found.ID, found.Estimate, ok)
	// Output: table-1/values/age_enrolled/mean 10.4 true
}

// Without a group there are no group columns.
func ExampleWriteCSV() {
	row := result.NewRow("table-1", "size", "count")
	row.Estimate = 1190
	if err := result.WriteCSV(os.Stdout, []result.Row{row}); err != nil {
		fmt.Println(err)
	}
	// Output:
	// id,analysis,part,variable,term,measure,at,estimate,lower,upper,se,level,p,statistic,df,n,events,censored,person_time,unit,method,reason,warnings,line
	// table-1/size/count,table-1,size,,,count,,1190,,,,,,,,,,,,,,,,0
}

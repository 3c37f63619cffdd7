package plan_test

import (
	"fmt"

	"heelcohort/cmd/heelcohort/internal/plan"
)

func ExampleDecode() {
	_, err := plan.Decode("study.yaml", []byte(`title: Heels
codebook: codebook.yaml
analyses:
  - {id: table-1, kind: descibe, variables: [age]}
`))
	fmt.Println(err)
	// Output:
	// study.yaml:4:25: unknown kind "descibe", expected one of describe, incidence, proportion, association, paired, time-to-event, recurrence, burden, change, agreement, multiplicity; did you mean "describe"?
}

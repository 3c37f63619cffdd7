package draft

import (
	"sync"

	"heelcohort/codebook"
)

// otherSpellings reports whether a codebook can say under which titles and in
// which column a variable stands in a file, so that its name may be another one
// and titles may be doubled.
var otherSpellings = accepts(`"titles":["A (cm)"],"column":"B"`)

// percentKey reports whether a codebook can say what a percentage is.
var percentKey = accepts(`"percent":"stored"`)

// accepts reports whether the codebook knows keys of heelcohort in a field.
func accepts(keys string) func() bool {
	return sync.OnceValue(func() bool {
		_, err := codebook.Decode("probe.json", []byte(`{"name":"a","resources":[{"name":"a","path":"a.csv","schema":{"fields":[
			{"name":"a","type":"number","heelcohort":{`+keys+`}}]}}]}`))
		return err == nil
	})
}

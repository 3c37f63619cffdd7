package draft

import (
	"sync"

	"heelcohort/codebook"
)

// otherSpellings reports whether a codebook can say under which titles and in
// which column a variable stands in a file, so that its name may be another one
// and titles may be doubled.
var otherSpellings = sync.OnceValue(func() bool {
	const probe = `{"name":"a","resources":[{"name":"a","path":"a.csv","schema":{"fields":[
		{"name":"a","type":"string","heelcohort":{"titles":["A (cm)"],"column":"B"}}]}}]}`
	_, err := codebook.Decode("probe.json", []byte(probe))
	return err == nil
})

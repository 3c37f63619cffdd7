package result

import _ "embed" // the schema is a file of its own

// SchemaID identifies the form of results.json. It changes whenever a key
// comes, goes or changes its meaning.
const SchemaID = "urn:heelcohort:results:3"

//go:embed results.schema.json
var schema []byte

// Schema is the JSON Schema (draft 2020-12) of what WriteJSON writes, as it
// lies beside results.json.
func Schema() []byte { return append([]byte(nil), schema...) }

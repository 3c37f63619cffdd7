package run

import "fmt"

// methodChanges lists, for each kind of analysis, what changed with each version
// of its methods, the first first. A version is added when the numbers of an
// unchanged study may change, and only then: results carry it, and a rerun
// reads here what moved them.
var methodChanges = map[string][]string{
	"describe":     {"first version"},
	"incidence":    {"first version"},
	"proportion":   {"first version"},
	"association":  {"first version"},
	"paired":       {"first version"},
	"multiplicity": {"first version"},
	"time-to-event": {
		"first version",
		"with cluster, tests of the curves allow for dependence within clusters, and curves have no limits while one cluster alone has been at risk; a median has no limit where the curve's is unknown",
	},
	"recurrence": {"first version"},
	"burden":     {"first version"},
	"change":     {"first version"},
	"agreement":  {"first version"},
}

// MethodSetting is the setting of an analysis that holds the version of its
// kind's methods.
const MethodSetting = "method version"

// methodVersion is the version of the methods of a kind.
func methodVersion(kind string) string {
	changes, ok := methodChanges[kind]
	if !ok {
		panic("run: no method version of kind " + kind)
	}
	return fmt.Sprintf("%s %d", kind, len(changes))
}

// MethodChanges says what changed in the methods of a kind after one of its
// versions, as the setting holds it; nothing where it is the version of this
// program, or none that this program knows.
func MethodChanges(kind, version string) (said []string) {
	for i, what := range methodChanges[kind] {
		if fmt.Sprintf("%s %d", kind, i+1) == version {
			said = []string{}
			continue
		}
		if said != nil {
			said = append(said, fmt.Sprintf("version %d: %s", i+1, what))
		}
	}
	return said
}

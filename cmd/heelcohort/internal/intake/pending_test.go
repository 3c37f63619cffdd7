package intake

// pending are entries whose wanted outcome the readers do not give yet, by
// file and what is special, with what they wait for.
var pending = map[string]string{}

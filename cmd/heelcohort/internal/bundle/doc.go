// Package bundle writes a study with its results into one zip archive that
// describes itself, takes such an archive apart with care, and checks every
// digest in it.
//
// # Promise
//
// A bundle is made only of results that are those of its inputs: every input
// and every output has the digest that the results' manifest says. It is not
// made of data that may name people. The same study gives the same bytes:
// members come by name, without times.
//
// # Form
//
// The archive holds the study folder as it is, so that it is one again when it
// is unpacked: plan, codebook, tables of references, data, licence, results/.
// Beside them is ro-crate-metadata.json, an RO-Crate 1.1: each file with its
// media type, size and SHA-256, and the run as an action with its inputs, its
// outputs and the program's modules. The day of publication is the plan's; an
// action's time would be a clock's, so there is none.
//
// Without data, data-withheld.json stands for the data files: their names,
// sizes, SHA-256 and numbers of rows. The results' marked copies of the data
// stay behind with them.
package bundle

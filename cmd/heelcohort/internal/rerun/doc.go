// Package rerun computes the results of a bundle or a study folder anew, aside,
// and says for every number whether it holds and, where not, what changed.
//
// # Promise
//
// Every file is compared with its recorded digest and every number of the
// stored results with the one computed now. Nothing in the folder is changed.
//
// # How causes are found
//
// The results keep plan and codebook as they were read, and copies of the data.
// Where inputs changed and those copies have the recorded digests, the results
// are computed from the recorded inputs too, and once for each sort of input
// with that alone as it is now. A number that the recorded inputs do not give
// was changed in the results, or by the program; one that moves with the plan
// alone was moved by the plan; and so on. Where a copy is not at hand the
// report says that its causes are not told apart.
//
// # Conventions
//
// Two numbers are the same where they are the same float64, or both absent;
// they hold within tolerance where they differ by at most the tolerance times
// the larger of their sizes. An unbounded number is the same as itself alone. A
// number of the account, of the participant flow, of findings and of
// instruments is a number as those of rows are.
package rerun

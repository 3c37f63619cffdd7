// Package stats computes the estimates of outcome studies from plain slices.
//
// Conventions: times and person-times are in the caller's unit. NaN means not
// estimable, ±Inf unbounded; neither is ever written as 0. A caller's mistake
// (slices of unequal length, a level outside (0,1)) panics with the prefix
// "stats: "; data that bear no estimate return one of the package's errors
// with a reason; doubtful results carry a Warning.
package stats

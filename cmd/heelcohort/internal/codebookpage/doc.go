// Package codebookpage writes a codebook as one HTML page for people, with the
// distribution of each variable beside it where the data are at hand.
//
// # Promise
//
// The page is self-contained: it runs no script and fetches nothing, reads in
// print as on the screen, and every drawing has its text.
//
// It shows no row, no identifier, no free text and no value of a text without
// categories. Of identifiers and free text it counts cells alone. Categories
// with fewer cells than a threshold are shown as fewer, and where one such
// alone could be told from the total, the next smallest is hidden with it.
// Numbers are described from the threshold on; their smallest and largest
// value and the histogram only from twenty values on. Of days, and of numbers
// whose unit is the day, no smallest and no largest is shown, quartiles are
// rounded to months and weeks, and the ends of a histogram are drawn together
// until they hold the threshold.
//
// That keeps single children from being read off the page; it does not make
// the page fit to be given away. It says so at its head: it stays within the
// study.
//
// # Conventions
//
// Counts come from the cells as dataset read them, numbers from package stats.
// Rounding is that of package printed. The same input gives the same bytes.
package codebookpage

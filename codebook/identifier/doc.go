// Package identifier screens columns of cells for what names a person: names,
// numbers of authorities, addresses of every kind, dates of birth; and for
// what could single one out together with other things: calendar dates, free
// text, values that hardly any two rows share.
//
// # Promise
//
// Titles and texts go in, verdicts come out. A verdict names a screen, how many
// cells it holds identifying and in which rows they are; it never carries a
// cell's text. Nothing here reads files, and the same cells in the same order
// give the same verdicts. The screen is a net, not a proof: a study without a
// verdict may still hold identifiers, and the codebook's author answers for it.
//
// # How sure it is
//
// Three sorts of evidence are told apart.
//
//   - A title says what the column is ("Vorname", "date of birth"). One cell
//     that could be such a thing is then enough; a column titled so that holds
//     categories, truth values or short codes is not held.
//   - A cell is unmistakable by itself: an e-mail address, a web address, an
//     international phone number, an account number whose check digits and
//     country agree. One cell is enough.
//   - A cell could be one by chance. Then the column must have a run of them.
//     For numbers with check digits the run must be one that numbers drawn at
//     random, of just that shape, would give with a probability below
//     [RunChance]: with a check digit that one number in ten meets, 6 different
//     numbers that all meet it do not suffice and 7 do. At least nine of ten of
//     the numbers of that shape must meet it. As there are ten such schemes, fewer
//     than one in 100,000 columns of random numbers is held wrongly; numbers
//     that a registry counts up meet a check digit as often as random ones do.
//     Names without a title need twenty different cells shaped as names, or
//     three different ones with a given name of the list; addresses, national
//     phone numbers and dates have their runs in runs.go.
//
// The lists of given names, title words and street words were written from
// memory; they are short and of a few European languages.
//
// # What calls for care
//
// A study code made by a scheme with check digits is held for the number that
// it imitates, and a registry that numbers by site, group and child as 201-21-1001 can
// look like a social security number; the codebook can declare an exception.
package identifier

// Package delimited reads tables that are kept as text: records of cells with
// a separator between them, in the encodings, with the separators and with the
// line ends that spreadsheet programs write.
//
// # Promise
//
// What is read is what was written, or nothing. An encoding, a separator or a
// line end may be pinned; what is not pinned is detected and told (see
// [Found]), and where two readings remain the text is refused with both named.
// Every refusal is an *[Error] with the line. No input panics, and none takes
// more memory than a small multiple of its own size.
//
// # Conventions
//
// Lines count from 1 and end at LF, CRLF or CR, inside quotes as outside, so
// that a place is the same in every style of line end. A record's place is the
// line on which it begins. A line end inside quotes is LF in the cell,
// whatever it was in the file. A line without a character is a record without
// cells. Columns count cells, from 1.
//
// # Encodings
//
// A byte order mark decides. Else text that is valid UTF-8 is UTF-8; text with
// zero bytes in every second place is UTF-16. The rest is taken for
// Windows-1252 where that reads every word as a word and neither Macintosh nor
// IBM 850 text could have been meant (see western); otherwise an encoding must
// be pinned. UTF-32, zero bytes and bytes that an encoding does not have are
// refused.
//
// # Separators
//
// Commas, semicolons and tabs are told apart by the names that the header must
// have, then by records of equal length; bars are read where they are pinned.
// A first line "sep=;" names the separator.
//
// # Quotes
//
// A cell may stand in quotes, RFC 4180's way: a quote within is doubled. A
// quote inside a cell that does not begin with one, and text after a closing
// quote, are refused: programs differ in how they read them.
package delimited

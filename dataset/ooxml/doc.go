// Package ooxml reads workbooks in the format of ISO/IEC 29500, transitional
// and strict, as a stream of rows.
//
// # Promise
//
// Every cell that the file holds is given once, in its place, or the workbook
// is refused with a sentence that says where and why. A sheet that is cut
// short, out of order, or not well-formed XML is refused and never read as a
// shorter one. Values are those that are stored; formulas are not computed and
// number formats are not applied. No input makes the package panic, and what
// it holds in memory is bounded whatever the archive says of itself.
//
// # Conventions
//
// Rows and columns count from 1. A number is the text of the file, rewritten in
// the shortest form that reads back as the same float64 (programs store 9.1 as
// 9.0999999999999996). Texts are whole: runs of rich text are joined, phonetic
// readings left out, blanks kept, and codes such as _x000D_ decoded. The kind
// of a cell's number format is given beside its value.
//
// # Not read
//
// Encrypted workbooks, parts in another encoding than UTF-8, documents with a
// DOCTYPE, and members that are compressed in another way than deflate are
// refused.
package ooxml

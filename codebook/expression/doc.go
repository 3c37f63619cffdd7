// Package expression compiles and evaluates the row expressions of a codebook
// and a plan, such as
//
//	age_enrolled >= 6 and sex == "female"
//	foot_posture_class(fpi_total)
//	participants.sex == "male" ? height_cm - 2 : height_cm
//
// # Promise
//
// An expression that compiles has one kind (number, text, boolean or date),
// known before any row is read, and gives on every row either a value of that
// kind or a missing one with the reason. Evaluation never panics, never fails
// and takes bounded time. Whatever would be silently wrong is refused when the
// expression is compiled, with line, column and the nearest valid word: an
// unknown variable, a text compared with a number, a category that the
// variable cannot hold.
//
// # Language
//
//	12  0.5  1e3  "text"  'text'  true  false     literals
//	age_enrolled                                  variable of the row
//	participants.sex                              variable of a linked table
//	+  -  *  /  %  **                             numbers (and dates, see below)
//	==  !=  <  <=  >  >=                          values of one kind
//	6 <= age and age < 17,  6 <= age < 17         the same
//	x in [1, 2],  x not in ["left"]               literals of x's kind
//	and &&  or ||  not !                          booleans
//	condition ? a : b                             branches of one kind
//	band(age, 6, 8, 10)                           functions, see [Functions]
//
// Operators bind in this order, tightest first: ** (to the right), unary + and
// -, then * / %, then + -, then comparisons and in, then and, then or, then
// the ternary. The word not binds tighter than a comparison, so the negation
// of one needs parentheses: not (a == b). The remainder % has the sign of the
// dividend.
//
// Texts are equal or not; they have no order and no arithmetic. A date is
// written date("2024-05-01"); the difference of two dates is a number of days,
// and a whole number of days may be added to a date or taken from it. Numbers
// are compared exactly: 0.1 + 0.2 == 0.3 is false; use between or round.
//
// # Groups
//
// An expression on the rows of a group ([CompileGroup]) has aggregates, such as
// sum(hours) and any(limp), inside of which it is an expression on a row.
//
// # Missing values
//
// Logic has three values. A missing operand leaves "and" and "or" decided
// where the other operand decides them: false and missing is false, true or
// missing is true; everything else with a missing operand is missing.
// "x in [a, b]" is x == a or x == b, and "a < b < c" is a < b and b < c.
//
// Arithmetic, comparisons and functions with a missing operand are missing,
// unless the function's description says otherwise. A ternary whose condition
// is missing is missing, whatever its branches are. The result carries the
// missing code of the first missing operand in the order of the source. An
// operation without a value (division by zero, the logarithm of a negative
// number, a result too large) is missing with [value.CodeUndefined].
//
// # Limits
//
// A source has at most 10,000 characters, 1,000 parts and a depth of 100.
package expression

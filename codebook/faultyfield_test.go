package codebook

import "testing"

// faultyFields are fields that Decode must refuse.
var faultyFields = []book{
	{"unknown key", `- {name: age, type: number, ¦titel: Age} # want: unknown key "titel", expected one of name, type, title … did you mean "title"?`},
	{"unknown key of a constraint", `- {name: age, type: number, constraints: {¦minimun: 6}} # want: unknown key "minimun" … did you mean "minimum"?`},
	{"unknown key of the property", `- {name: age, type: number, heelcohort: {¦units: years}} # want: unknown key "units", expected one of unit, role … did you mean "unit"?`},
	{"unknown role", `- {name: age, type: number, heelcohort: {role: ¦quasi_identifer}} # want: found "quasi_identifer", expected one of identifier, quasi_identifier, free_text; did you mean "quasi_identifier"?`},
	{"exceptions", `
- {name: a, type: string, heelcohort: {exception: {screens: [¦near-uniqe], reason: "study code of the registry"}}} # want: unknown screen "near-uniqe", expected one of person name, … did you mean "near-unique"?
- {name: b, type: string, heelcohort: {exception: {screens: [near-unique], reason: ¦because}} } # want: a reason of 7 characters, expected a sentence of at least 15
- {name: c, type: string, heelcohort: {exception: {screens: [], reason: "¦study code of the registry"}}} # want: screens is empty
- {name: d, type: string, heelcohort: {exception: {screens: [free text, ¦free text], reason: "study code of the registry"}}} # want: screen "free text" stands twice`},
	{"exception without a reason", `- {name: a, type: string, heelcohort: {exception: ¦{screens: [free text]}}} # want: key "reason" is missing`},
	{"key twice", `- {name: age, type: number, ¦type: integer} # want: key "type" stands twice`},
	{"no name", `- ¦{type: number} # want: key "name" is missing`},
	{"no type", `- ¦{name: age} # want: key "type" is missing`},
	{"empty name", `- {name: "¦", type: number} # want: an empty name, expected the name of the variable`},
	{"blank in a name", `- {name: "¦age ", type: number} # want: name "age " begins or ends with a blank; did you mean "age"?`},
	{"control character in a name", `- {name: "¦a\tge", type: number} # want: name "a\tge" holds a control character`},
	{"name is a number", `- {name: ¦2021, type: number} # want: found the number 2021, expected a text: quote it`},
	{"name twice", `
- {name: age, type: number}
- {name: sex, type: string}
- {name: ¦age, type: integer} # want: variable "age" stands twice, first at line 7`},

	{"unknown type", `- {name: age, type: ¦nubmer} # want: unknown type "nubmer", expected one of string, integer, number, boolean, date, datetime, list; did you mean "number"?`},
	{"unsupported types", `
- {name: a, type: ¦yearmonth} # want: type "yearmonth" is not supported, expected one of string, integer, number, boolean, date, datetime, list; did you mean "date"?
- {name: b, type: ¦year} # want: type "year" is not supported … did you mean "integer"?
- {name: c, type: ¦geopoint} # want: type "geopoint" is not supported
- {name: d, type: ¦any} # want: type "any" is not supported … did you mean "string"?
- {name: e, type: ¦array} # want: type "array" is not supported … did you mean "list"?`},
	{"empty type", `- {name: age, type: "¦"} # want: unknown type ""`},
	{"list properties", `
- {name: a, type: string, itemType: ¦integer} # want: itemType of a string, expected a list
- {name: b, type: string, delimiter: "¦;"} # want: delimiter of a string, expected a list`},

	{"format of a number", `- {name: age, type: number, format: ¦currency} # want: format "currency" of a number is not supported`},
	{"format of a text", `- {name: mail, type: string, format: ¦email} # want: format "email" of a string is not supported: limit the text by a pattern`},
	{"formats of dates", `
- {name: a, type: date, format: ¦any} # want: format any guesses which number is the day; expected default or a pattern such as %d.%m.%Y
- {name: b, type: date, format: "¦%d.%m.%y"} # want: %y does not say the century; expected %Y
- {name: c, type: date, format: "¦%d.%m"} # want: format "%d.%m" has %Y 0 times, expected once
- {name: d, type: date, format: "¦%Y-%m-%d %d"} # want: has %d 2 times, expected once
- {name: e, type: date, format: "¦%Y-%m-%d %H"} # want: has %H, expected %Y, %m, %d, %b or %B
- {name: f, type: date, format: "¦%Y-%m-%d %"} # want: ends in %
- {name: g, type: date, format: "¦%Y %m %b %d"} # want: has %m 2 times
- {name: h, type: date, format: "¦%d0%m-%Y"} # want: has a digit right behind %d, which cannot be told from it`},
	{"formats of dates with a time", `
- {name: a, type: datetime, format: ¦any} # want: format any guesses which number is the day
- {name: b, type: datetime, format: "¦%d.%m.%Y"} # want: format "%d.%m.%Y" has no %H; without a time of day the type is date
- {name: c, type: datetime, format: "¦%d.%m.%Y %H:%S"} # want: has %S and no %M
- {name: d, type: datetime, format: "¦%d.%m.%Y %H:%M:%M"} # want: has %M 2 times, expected once
- {name: e, type: datetime, format: "¦%d.%m.%y %H:%M"} # want: %y does not say the century
- {name: f, type: datetime, format: "¦%d.%m.%Y %I:%M"} # want: has %I, expected
- {name: g, type: date, format: "¦%d.%m.%Y %H:%M"} # want: a date with a time of day is of type datetime
- {name: h, type: datetime, constraints: {minimum: ¦"2024-03-31T13:00:00"}} # want: found the time of day 13:00:00 as minimum of h, whose values are days
- {name: i, type: datetime, constraints: {enum: ["2024-03-30", ¦"2024-03-31 00:01"]}} # want: found the time of day 00:01 as enum of i, whose values are days`},

	{"words of a number", `- {name: ¦age, type: number, trueValues: ["x"]} # want: trueValues of a number, expected a boolean`},
	{"no words", `- {name: ¦limp, type: boolean, trueValues: []} # want: trueValues of limp is empty, expected at least one word`},
	{"blank word", `- {name: limp, type: boolean, falseValues: ["¦n "]} # want: "n " in falseValues is empty or has blanks around it`},
	{"true and false", `- {name: ¦limp, type: boolean, trueValues: ["j"], falseValues: ["n", "j"]} # want: "j" says true and false`},
	{"true is false by default", `- {name: ¦limp, type: boolean, trueValues: ["0"]} # want: "0" says true and false`},
	{"unquoted word", `- {name: limp, type: boolean, trueValues: [¦yes]} # want: found yes … quote it`},

	{"decimal mark of a text", `- {name: a, type: string, decimalChar: "¦,"} # want: decimalChar of a string, expected a number`},
	{"decimal mark of an integer", `- {name: a, type: integer, decimalChar: "¦,"} # want: decimalChar of an integer, expected a number`},
	{"decimal mark", `- {name: a, type: number, decimalChar: "¦·"} # want: decimalChar "·", expected "." or ","`},
	{"group mark of a text", `- {name: a, type: string, groupChar: "¦,"} # want: groupChar of a string, expected a number`},
	{"group mark", `- {name: a, type: number, groupChar: "¦_"} # want: groupChar "_", expected a comma, a point, an apostrophe or a space`},
	{"long group mark", `- {name: a, type: number, groupChar: "¦,,"} # want: groupChar ",,", expected`},
	{"group mark without width", `- {name: a, type: number, groupChar: "¦\u200b"} # want: groupChar "\u200b", expected`},
	{"one mark for both", `- {name: a, type: number, groupChar: "¦."} # want: groupChar "." is the decimal mark too`},
	{"one comma for both", `- {name: a, type: number, decimalChar: ",", groupChar: "¦,"} # want: groupChar "," is the decimal mark too`},
	{"unit of a text", `- {name: a, type: string, bareNumber: ¦false} # want: bareNumber of a string, expected a number`},

	{"percent", `- {name: a, type: number, heelcohort: {percent: ¦show}} # want: found "show", expected one of stored, shown; did you mean "shown"?`},
	{"percent of a text", `- {name: ¦a, type: string, heelcohort: {percent: shown}} # want: percent of a string, expected a number`},
	{"percent of categories", `- {name: ¦a, type: integer, categories: [1], heelcohort: {percent: shown}} # want: percent of a, whose categories are its only values`},
	{"percent two ways", `- {name: ¦a, type: number, bareNumber: false, heelcohort: {percent: stored}} # want: percent stored of a contradicts bareNumber false, by which 45 % is 45`},
	{"empty title", `- {name: a, type: number, heelcohort: {titles: [A, "¦ "]}} # want: an empty title, expected a column's title`},
	{"title twice", `- {name: a, type: number, heelcohort: {titles: ["Height (cm)", "¦Height  (cm) "]}} # want: title "Height (cm)" stands twice, first at line 7`},
	{"title is a number", `- {name: a, type: number, heelcohort: {titles: [¦2021]}} # want: found the number 2021, expected a text: quote it`},
	{"title of another variable", `
- {name: left, type: number, heelcohort: {titles: [Angle], column: C}}
- {name: ¦right, type: number, heelcohort: {titles: ["Angle "]}} # want: title "Angle" of right is a title of left too; tell them apart by heelcohort.column`},
	{"title is another variable's name", `
- {name: left, type: number}
- {name: ¦right, type: number, heelcohort: {titles: [left]}} # want: title "left" of right is a title of left too`},
	{"column", `
- {name: a, type: number, heelcohort: {column: ¦f}} # want: column "f", expected the letters of a column from "A" to "XFD"; did you mean "F"?
- {name: b, type: number, heelcohort: {column: ¦XFE}} # want: column "XFE", expected the letters
- {name: c, type: number, heelcohort: {column: "¦3"}} # want: column "3", expected the letters
- {name: d, type: number, heelcohort: {column: "¦"}} # want: column "", expected the letters`},
	{"column of two", `
- {name: a, type: number, heelcohort: {column: F}}
- {name: b, type: number, heelcohort: {column: ¦F}} # want: column "F" of b is that of a too`},

	{"minimum above maximum", `- {name: age, type: number, constraints: ¦{minimum: 17, maximum: 6}} # want: no value of age can meet at least 17 and at most 6`},
	{"exclusive limits meet", `- {name: age, type: number, constraints: ¦{minimum: 6, exclusiveMaximum: 6}} # want: no value of age can meet at least 6 and below 6`},
	{"no integer between", `- {name: count, type: integer, constraints: ¦{exclusiveMinimum: 1, exclusiveMaximum: 2}} # want: no value of count can meet above 1 and below 2`},
	{"dates the wrong way", `- {name: seen, type: date, constraints: ¦{minimum: "2024-03-31", maximum: "2024-03-30"}} # want: no value of seen can meet at least 2024-03-31 and at most 2024-03-30`},
	{"minimum of a text", `- {name: a, type: string, constraints: {minimum: ¦1}} # want: minimum of a, which is a string, does not apply`},
	{"maximum of a boolean", `- {name: a, type: boolean, constraints: {maximum: ¦1}} # want: maximum of a, which is a boolean, does not apply`},
	{"limit in quotes", `- {name: age, type: number, constraints: {minimum: ¦"6"}} # want: found "6" as minimum of age, expected a number without quotes`},
	{"limit with a fraction", `- {name: count, type: integer, constraints: {maximum: ¦1.5}} # want: found 1.5 as maximum of count, expected an integer`},
	{"limit is a word", `- {name: age, type: number, constraints: {maximum: ¦many}} # want: found many as maximum of age, expected a number`},
	{"limit is no date", `- {name: seen, type: date, constraints: {minimum: ¦"2023-02-29"}} # want: found "2023-02-29" as minimum of seen, expected a date in the field's format`},
	{"limit in another format", `- {name: seen, type: date, format: "%d.%m.%Y", constraints: {minimum: ¦"2024-02-29"}} # want: expected a date in the field's format`},

	{"length of a number", `- {name: age, type: number, constraints: {maxLength: ¦3}} # want: maxLength of age, which is a number, does not apply`},
	{"negative length", `- {name: a, type: string, constraints: {minLength: ¦-1}} # want: found -1, expected a length of at least 0`},
	{"broken length", `- {name: a, type: string, constraints: {minLength: ¦1.5}} # want: expected an integer`},
	{"lengths the wrong way", `- {name: a, type: string, constraints: {minLength: 4, maxLength: ¦3}} # want: maxLength 3 is below minLength 4`},

	{"pattern of an integer", `- {name: count, type: integer, constraints: {pattern: "¦[0-9]"}} # want: pattern of count, which is an integer, does not apply`},
	{"pattern does not compile", `- {name: id, type: string, constraints: {pattern: '¦SM-[0-9'}} # want: pattern "SM-[0-9" is no regular expression: missing closing ]`},
	{"pattern closes what it did not open", `- {name: id, type: string, constraints: {pattern: '¦a)|(b'}} # want: pattern "a)|(b" is no regular expression: unexpected )`},
	{"pattern looks ahead", `- {name: id, type: string, constraints: {pattern: '¦(?=a)b'}} # want: is no regular expression`},
	{"schema inside", `- {name: id, type: string, constraints: {jsonSchema: ¦{}}} # want: jsonSchema is not supported`},

	{"enum is empty", `- {name: a, type: string, constraints: ¦{enum: []}} # want: enum of a is empty`},
	{"enum twice", `- {name: a, type: number, constraints: {enum: [1, ¦1.0]}} # want: enum value "1" stands twice`},
	{"enum of another kind", `- {name: a, type: string, constraints: {enum: [¦1]}} # want: found 1 as enum of a, expected a text: quote it`},
	{"enum outside the limits", `- {name: a, type: integer, constraints: {maximum: 3, enum: [1, ¦4]}} # want: enum value 4 of a breaks its maximum`},
	{"enum breaks the pattern", `- {name: a, type: string, constraints: {pattern: "[a-c]", enum: [a, ¦d]}} # want: enum value d of a breaks its pattern`},

	{"categories of a number", `- {name: ¦a, type: number, categories: [1, 2]} # want: categories of a number, expected a string or an integer`},
	{"no category", `- {name: ¦a, type: string, categories: []} # want: categories of a is empty`},
	{"category twice", `- {name: heel, type: string, categories: [left, right, ¦left]} # want: category "left" stands twice`},
	{"label twice", `- {name: heel, type: string, categories: [{value: l, label: Heel}, {value: ¦r, label: Heel}]} # want: label "Heel" stands twice`},
	{"category of another kind", `- {name: site, type: string, categories: [¦1, "2"]} # want: found 1 as category of site, expected a text: quote it`},
	{"integer category in quotes", `- {name: site, type: integer, categories: [1, ¦"2"]} # want: found "2" as category of site, expected an integer without quotes`},
	{"empty category", `- {name: a, type: string, missingValues: [], categories: [x, ¦" "]} # want: an empty category; an empty cell is a missing code`},
	{"category without value", `- {name: a, type: string, categories: [¦{label: X}]} # want: key "value" is missing`},
	{"control character in a category", `- {name: a, type: string, categories: [¦"x\ny"]} # want: holds a control character`},
	{"order without categories", `- {name: a, type: string, categoriesOrdered: ¦true} # want: categoriesOrdered without categories`},
	{"limits beside categories", `- {name: a, type: integer, categories: [1, 2], constraints: {minimum: ¦1}} # want: minimum of a, whose categories are its only values`},
	{"enum beside categories", `- {name: a, type: string, categories: [x], constraints: ¦{enum: [x]}} # want: enum of a, whose categories are its only values`},
}

func TestFaultyFields(t *testing.T) {
	for _, b := range faultyFields {
		b.text = withFields(b.text)
		t.Run(b.name, func(t *testing.T) { checkFaults(t, b) })
	}
}

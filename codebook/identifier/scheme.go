package identifier

import "strings"

// A scheme is a public numbering of people or cards whose numbers carry check
// digits, or a shape of their own.
type scheme struct {
	name   string
	screen string
	chance float64 // that a random number of the shape meets the check
	// check is asked of a number without blanks, points, hyphens and slashes, in
	// capitals; raw is the text itself.
	check func(bare, raw string) (shaped, valid bool)
}

// schemes lists the numberings. Each check is the one that its authority
// publishes; they were written from memory and are tested against published
// examples.
var schemes = []scheme{
	{"NHS number", RecordNumber, 1.0 / 11, nhsNumber},
	{"Swiss AHV number", RecordNumber, 1.0 / 10, ahvNumber},
	{"German insurance number", RecordNumber, 1.0 / 10, kvNumber},
	{"French NIR", RecordNumber, 1.0 / 97, nirNumber},
	{"Swedish personal number", RecordNumber, 1.0 / 10, swedishNumber},
	{"Norwegian birth number", RecordNumber, 1.0 / 100, norwegianNumber},
	{"Danish CPR number", RecordNumber, 0.04, danishNumber},
	{"Finnish personal code", RecordNumber, 1.0 / 31, finnishNumber},
	{"Spanish DNI", RecordNumber, 1.0 / 23, spanishNumber},
	{"number with a Luhn digit", RecordNumber, 1.0 / 10, luhnNumber},
	{"payment card", BankAccount, 1.0 / 10, cardNumber},
}

// bareNumber drops the signs between the digits of a number.
func bareNumber(text string) string {
	clean := true
	for i := range len(text) {
		c := text[i]
		clean = clean && (isDigit(c) || c >= 'A' && c <= 'Z')
	}
	if clean {
		return text
	}
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '.', '-', '/', '+', '\u00a0':
			return -1
		}
		if r >= 'a' && r <= 'z' {
			return r - 32
		}
		return r
	}, text)
}

// weighted is the sum of digits times weights.
func weighted(digits string, weights ...int) int {
	sum := 0
	for i, w := range weights {
		sum += int(digits[i]-'0') * w
	}
	return sum
}

// luhn reports whether a number meets the Luhn check.
func luhn(digits string) bool {
	sum := 0
	for i := range len(digits) {
		d := int(digits[len(digits)-1-i] - '0')
		if i%2 == 1 {
			if d *= 2; d > 9 {
				d -= 9
			}
		}
		sum += d
	}
	return sum%10 == 0
}

// nhsNumber is ten digits of which the last is 11 less the weighted sum modulo
// 11.
func nhsNumber(bare, _ string) (bool, bool) {
	if len(bare) != 10 || !isDigits(bare) {
		return false, false
	}
	c := 11 - weighted(bare, 10, 9, 8, 7, 6, 5, 4, 3, 2)%11
	if c == 11 {
		c = 0
	}
	return true, c == int(bare[9]-'0')
}

// ahvNumber is 756 and ten digits, as an EAN-13.
func ahvNumber(bare, _ string) (bool, bool) {
	if len(bare) != 13 || !isDigits(bare) || bare[:3] != "756" {
		return false, false
	}
	return true, weighted(bare, 1, 3, 1, 3, 1, 3, 1, 3, 1, 3, 1, 3, 1)%10 == 0
}

// kvNumber is a letter and nine digits: the letter's place in the alphabet as
// two digits and the eight digits behind it, weighted 1 and 2 in turn, digits
// of the products added.
func kvNumber(bare, _ string) (bool, bool) {
	if len(bare) != 10 || bare[0] < 'A' || bare[0] > 'Z' || !isDigits(bare[1:]) {
		return false, false
	}
	place := int(bare[0]-'A') + 1
	digits := string([]byte{byte('0' + place/10), byte('0' + place%10)}) + bare[1:9]
	sum := 0
	for i := range len(digits) {
		d := int(digits[i]-'0') * (1 + i%2)
		sum += d/10 + d%10
	}
	return true, sum%10 == int(bare[9]-'0')
}

// nirNumber is 13 digits (2A and 2B stand for Corsica) and a key of 97 less
// their remainder.
func nirNumber(bare, _ string) (bool, bool) {
	if len(bare) != 15 || bare[0] != '1' && bare[0] != '2' {
		return false, false
	}
	switch bare[5:7] {
	case "2A":
		bare = bare[:5] + "19" + bare[7:]
	case "2B":
		bare = bare[:5] + "18" + bare[7:]
	}
	if !isDigits(bare) {
		return false, false
	}
	if month := number(bare[3:5]); month == 0 || month > 12 && month < 20 {
		return false, false
	}
	n := 0
	for i := range 13 {
		n = (n*10 + int(bare[i]-'0')) % 97
	}
	return true, number(bare[13:]) == 97-n
}

// dayIn reports whether six digits are a day, in the order given.
func dayIn(day, month string) bool {
	d, m := number(day), number(month)
	return d >= 1 && d <= 31 && m >= 1 && m <= 12
}

// swedishNumber is YYMMDD or YYYYMMDD and four digits, the last by Luhn over
// ten; 60 may be added to the day.
func swedishNumber(bare, _ string) (bool, bool) {
	if !isDigits(bare) || len(bare) != 10 && len(bare) != 12 {
		return false, false
	}
	bare = bare[len(bare)-10:]
	day := bare[4:6]
	if number(day) > 60 {
		day = string([]byte{day[0] - 6, day[1]})
	}
	if !dayIn(day, bare[2:4]) {
		return false, false
	}
	return true, luhn(bare)
}

// norwegianNumber is DDMMYY, three digits and two check digits; 40 may be added
// to the day.
func norwegianNumber(bare, _ string) (bool, bool) {
	if len(bare) != 11 || !isDigits(bare) {
		return false, false
	}
	first := (11 - weighted(bare, 3, 7, 6, 1, 8, 9, 4, 5, 2)%11) % 11
	second := (11 - weighted(bare, 5, 4, 3, 2, 7, 6, 5, 4, 3, 2)%11) % 11
	return true, first == int(bare[9]-'0') && second == int(bare[10]-'0')
}

// danishNumber is DDMMYY-NNNN. Its check digit is no longer given to all, so
// that the date and the hyphen are the evidence.
func danishNumber(bare, raw string) (bool, bool) {
	if len(bare) != 10 || !isDigits(bare) || len(raw) != 11 || raw[6] != '-' {
		return false, false
	}
	return true, dayIn(bare[:2], bare[2:4])
}

// finnishNumber is DDMMYY, a sign for the century, three digits and a sign for
// their remainder by 31.
func finnishNumber(_, raw string) (bool, bool) {
	raw = strings.ToUpper(raw)
	if len(raw) != 11 || !isDigits(raw[:6]) || !isDigits(raw[7:10]) || strings.IndexByte("-+ABCDEFUVWXY", raw[6]) < 0 || !dayIn(raw[:2], raw[2:4]) {
		return false, false
	}
	n := (number(raw[:6])*1000 + number(raw[7:10])) % 31
	return true, raw[10] == "0123456789ABCDEFHJKLMNPRSTUVWXY"[n]
}

// spanishNumber is eight digits and a letter for their remainder by 23.
func spanishNumber(bare, _ string) (bool, bool) {
	if len(bare) != 9 || !isDigits(bare[:8]) || bare[8] < 'A' || bare[8] > 'Z' {
		return false, false
	}
	return true, bare[8] == "TRWAGMYFPDXBNJZSQVHLCKE"[number(bare[:8])%23]
}

// luhnNumber is nine digits whose last is the Luhn digit, as Canada's social
// insurance numbers have it.
func luhnNumber(bare, _ string) (bool, bool) {
	if len(bare) != 9 || !isDigits(bare) {
		return false, false
	}
	return true, luhn(bare)
}

// cardNumber is 15 or 16 digits by Luhn, the first of them 3 to 6.
func cardNumber(bare, _ string) (bool, bool) {
	if len(bare) != 15 && len(bare) != 16 || !isDigits(bare) || bare[0] < '3' || bare[0] > '6' {
		return false, false
	}
	return true, luhn(bare)
}

// isSSN reports whether a text has the shape of a social security number of the
// United States: 3, 2 and 4 digits with hyphens, none of them all zeros, the
// first not 666 and not above 899.
func isSSN(raw string) bool {
	if len(raw) != 11 || raw[3] != '-' || raw[6] != '-' || !isDigits(raw[:3]) || !isDigits(raw[4:6]) || !isDigits(raw[7:]) {
		return false
	}
	area := raw[:3]
	return area != "000" && area != "666" && area[0] != '9' && raw[4:6] != "00" && raw[7:] != "0000"
}

// ibanLengths are the lengths of account numbers by country.
var ibanLengths = map[string]int{
	"AT": 20, "BE": 16, "CH": 21, "CZ": 24, "DE": 22, "DK": 18, "ES": 24, "FI": 18, "FR": 27, "GB": 22, "IE": 22, "IT": 27,
	"LI": 21, "LU": 20, "NL": 18, "NO": 15, "PL": 28, "PT": 25, "SE": 24,
}

// isIBAN reports whether a number is an international bank account number of a
// known country, of its length and with remainder 1 by 97.
func isIBAN(bare string) bool {
	if len(bare) < 15 || len(bare) > 28 || ibanLengths[bare[:2]] != len(bare) {
		return false
	}
	n := 0
	moved := bare[4:] + bare[:4]
	for i := range len(moved) {
		switch c := moved[i]; {
		case isDigit(c):
			n = (n*10 + int(c-'0')) % 97
		case c >= 'A' && c <= 'Z':
			n = (n*100 + int(c-'A') + 10) % 97
		default:
			return false
		}
	}
	return n == 1
}

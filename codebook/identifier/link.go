package identifier

import (
	"net/netip"
	"strings"
)

// hasEmail reports whether an e-mail address stands in a text: letters, digits
// and . _ % + - before the sign, and behind it a domain with a dot whose last
// part is two letters or more.
func hasEmail(text string) bool {
	for from := 0; ; {
		i := strings.IndexByte(text[from:], '@')
		if i < 0 {
			return false
		}
		i += from
		from = i + 1
		if i == 0 || !isWordByte(text[i-1]) && !strings.ContainsRune("._%+-", rune(text[i-1])) {
			continue
		}
		j := i + 1
		for j < len(text) && (isWordByte(text[j]) || text[j] == '-' || text[j] == '.') {
			j++
		}
		domain := strings.TrimRight(text[i+1:j], ".-")
		dot := strings.LastIndexByte(domain, '.')
		if dot <= 0 || domain[0] == '.' || len(domain)-dot-1 < 2 {
			continue
		}
		letters := true
		for k := dot + 1; k < len(domain); k++ {
			letters = letters && isLetter(domain[k])
		}
		if letters {
			return true
		}
	}
}

// hasWebAddress reports whether a text holds an address with a scheme of the
// web or of a file server, or one that begins with www.
func hasWebAddress(text string) bool {
	lower := strings.ToLower(text)
	for _, scheme := range []string{"http://", "https://", "ftp://", "sftp://", "file://", "smb://"} {
		if i := strings.Index(lower, scheme); i >= 0 && len(lower) > i+len(scheme) && isWordByte(lower[i+len(scheme)]) || i >= 0 && scheme == "file://" {
			return true
		}
	}
	if i := strings.Index(lower, "www."); i >= 0 && (i == 0 || !isWordByte(lower[i-1])) {
		return strings.IndexByte(lower[i+4:], '.') > 0
	}
	return strings.HasPrefix(text, `\\`) && strings.Count(text, `\`) >= 3
}

// isNetworkAddress reports whether a text is an address of the internet's
// protocol, in its version 4 or 6, or of a network card. Four single digits,
// such as the version 1.2.0.4 of a program, are none.
func isNetworkAddress(text string) bool {
	text = strings.TrimSpace(text)
	if a, err := netip.ParseAddr(text); err == nil {
		return a.Is6() || len(text) > len("0.0.0.0")
	}
	if len(text) != len("00:00:00:00:00:00") {
		return false
	}
	for i := range len(text) {
		c := text[i]
		if i%3 == 2 {
			if c != text[2] || c != ':' && c != '-' {
				return false
			}
		} else if !isDigit(c) && (c|0x20 < 'a' || c|0x20 > 'f') {
			return false
		}
	}
	return true
}

// pictureEndings are the endings of the files of pictures and films.
var pictureEndings = []string{".jpg", ".jpeg", ".png", ".heic", ".tif", ".tiff", ".bmp", ".gif", ".dcm", ".mp4", ".mov", ".avi", ".webp"}

// hasPicture reports whether a text names the file of a picture or a film.
func hasPicture(text string) bool {
	lower := strings.ToLower(text)
	for _, ending := range pictureEndings {
		i := strings.Index(lower, ending)
		if i > 0 && isWordByte(lower[i-1]) && (i+len(ending) == len(lower) || !isWordByte(lower[i+len(ending)])) {
			return true
		}
	}
	return false
}

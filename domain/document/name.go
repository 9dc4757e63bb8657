package document

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// longestName is how many characters a file's name has at most, its ending left out.
const longestName = 80

// SafeName is a name under which a file of a type can be kept and saved anywhere: what
// came, without folders, with letters, figures and a few marks only, and with the ending
// of what the file is. A name of which nothing is left becomes "certificate".
func SafeName(came string, t Type) string {
	if i := strings.LastIndexAny(came, `/\`); i >= 0 {
		came = came[i+1:]
	}
	if i := strings.LastIndexByte(came, '.'); i > 0 {
		came = came[:i]
	}
	var name strings.Builder
	n, gap := 0, false
	for _, r := range came {
		switch {
		case n == longestName:
		case r == utf8.RuneError, unicode.IsControl(r):
		case unicode.IsLetter(r), unicode.IsDigit(r), unicode.Is(unicode.Mn, r), strings.ContainsRune("-_()+", r):
			if gap && n > 0 && n < longestName-1 {
				name.WriteByte(' ')
				n++
			}
			gap = false
			name.WriteRune(r)
			n++
		case r == '.' && n > 0:
			gap = false
			name.WriteByte('-')
			n++
		default:
			gap = true
		}
	}
	out := strings.Trim(name.String(), "- ")
	if out == "" || reserved(out) {
		out = strings.TrimSpace("certificate " + out)
	}
	return out + t.Ending()
}

// reserved reports whether a name is that of a device on some computers.
func reserved(name string) bool {
	switch name = strings.ToUpper(name); name {
	case "CON", "PRN", "AUX", "NUL":
		return true
	}
	return len(name) == 4 && (strings.HasPrefix(name, "COM") || strings.HasPrefix(name, "LPT"))
}

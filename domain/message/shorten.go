package message

// Shortened is a name cut to so many letters.
func Shortened(name string, runes int) string {
	n, end := 0, 0
	for at := range name {
		if n++; n == runes {
			end = at
		}
		if n > runes {
			return name[:end] + "\u2026"
		}
	}
	return name
}

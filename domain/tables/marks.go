package tables

import "strings"

// IsError reports whether a cell shows that the sheet itself could not work it
// out: #REF!, #N/A, Err:508.
func IsError(text string) bool {
	switch {
	case text == "":
		return false
	case text[0] == '#':
		switch strings.ToUpper(strings.Trim(text, "#!?")) {
		case "REF", "N/A", "VALUE", "DIV/0", "NAME", "NUM", "NULL", "SPILL", "CALC", "GETTING_DATA", "NV", "VALOR", "NOMBRE", "¡REF", "¡VALOR", "¡DIV/0", "¿NOMBRE", "¡NUM":
			return true
		}
		return strings.Trim(text, "#") == "" && len(text) > 2 // a column too narrow for its figure
	}
	return strings.HasPrefix(text, "Err:")
}

// IsFormula reports whether a text would be run by a spreadsheet program that was
// given it: it begins with = + - @, and is no figure.
func IsFormula(text string) bool {
	if text == "" || !strings.ContainsRune("=+-@", rune(text[0])) {
		return false
	}
	_, err := ParseFigure(text, MarkPoint)
	return err != nil && strings.Trim(text, "-") != ""
}

// Missing reports whether a cell says that there is nothing: empty, a dash, n/a,
// or what loggers write where a sensor gave nothing.
func Missing(text string) bool {
	switch strings.ToLower(text) {
	case "", "-", "--", "---", "–", "—", "na", "n/a", "nan", "null", "none", "err", "error", "open", "no data", "sin dato", "s/d":
		return true
	}
	return false
}

// IsDitto reports whether a text stands for what is above it, in English, Spanish or with a mark.
func IsDitto(text string) bool {
	switch strings.ToLower(text) {
	case "\"", "\"\"", "''", "'", "”", "“", "„", "″", "〃", ",,", "↓", "do", "do.", "ditto", "dto", "dto.", "id", "id.", "idem", "ídem":
		return true
	}
	return false
}

var totals = map[string]bool{
	"total": true, "totals": true, "subtotal": true, "sum": true, "sums": true, "average": true, "avg": true, "mean": true,
	"suma": true, "totales": true, "promedio": true, "media": true, "grand": true, "season": true,
	"summe": true, "gesamt": true, "somme": true, "totaux": true, // in German and French
}

// IsTotal reports whether a cell begins a row of sums: Total, Sum, July total, Promedio.
func IsTotal(text string) bool {
	text = strings.Trim(text, " :.=*")
	words := strings.Fields(strings.ToLower(text))
	if len(words) == 2 && strings.Contains(words[1], "total") && totals[words[1]] {
		return true
	}
	word, _, _ := strings.Cut(strings.ToLower(text), " ")
	word = strings.Trim(word, ":")
	if word == "season" || word == "grand" {
		return strings.Contains(strings.ToLower(text), "total")
	}
	return totals[word]
}

package importing

import (
	"slices"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/tables"
)

// behind lists what may stand behind a figure without changing it, in lower case: the
// field's own unit, or what is counted, in English and Spanish; common practice.
// Weights and temperatures are not here: their units are converted.
var behind = map[Field][]string{
	FieldSupers:       {"box", "boxes", "super", "supers", "alza", "alzas", "caja", "cajas"},
	FieldHivesWorked:  {"hive", "hives", "colony", "colonies", "colmena", "colmenas"},
	FieldHives:        {"hive", "hives", "colony", "colonies", "alive", "colmena", "colmenas", "viva", "vivas"},
	FieldContainers:   {"container", "containers", "drum", "drums", "bucket", "buckets", "pail", "pails", "barrel", "barrels", "envase", "envases", "tambor", "tambores", "bidon", "bidones", "bidón", "cubo", "cubos"},
	FieldFrames:       {"frame", "frames", "a side", "per side", "frames a side", "cuadro", "cuadros", "por lado"},
	FieldLatitude:     {"°"},
	FieldLongitude:    {"°"},
	FieldMoisture:     {"%", "pct", "percent", "por ciento", "g/100g", "g/100 g"},
	FieldRefractive:   {"nd"},
	FieldBrix:         {"%", "°", "brix", "°brix", "° brix", "bx", "°bx"},
	FieldHMF:          {"mg/kg", "ppm"},
	FieldDiastase:     {"gothe", "schade", "dn"},
	FieldColour:       {"mm", "mm pfund", "pfund"},
	FieldConductivity: {"ms/cm"},
	FieldFreeAcidity:  {"meq/kg", "meq"},
	FieldPH:           {"ph"},
	FieldHumidity:     {"%", "% rh", "%rh", "rh", "% hr", "%hr"},
}

// understood reports whether the text behind a figure can be passed over, and asks about
// it where it cannot: "3 dozen" is no 3, and "4O" is hardly a 4.
func (k *taking) understood(c *column, text string, x *tables.Figure) bool {
	if x.Unit == "" {
		return true
	}
	mended, mistyped := tables.Mistyped(text)
	switch {
	case mistyped && c.Unit != Litres: // 23l is 231, or 23 litres
	case c.info.measure != counts && c.info.measure != figures, c.Field == FieldOwn:
		return true
	case slices.Contains(behind[c.Field], x.Unit), c.Of != "" && isKind(x.Unit, c.Of):
		return true
	case c.Field == FieldLatitude || c.Field == FieldLongitude:
		if sign := hemisphere(c.Field, x.Unit); sign != 0 && x.Value >= 0 {
			x.Value *= sign
			return true
		}
	}
	var meant []string
	if mistyped {
		meant = append(meant, mended)
	}
	k.problem(TextBehind, c, message.F("Behind the figure stands %s, and what that means here nobody said. Type the figure alone, or empty the cell.", message.Quoted(x.Unit)), meant...)
	return false
}

// isKind reports whether a word names the kind of box of its column, one or several of it.
func isKind(word, kind string) bool {
	kind = sameName(kind)
	return word == kind || word == kind+"s" || word == kind+"es"
}

// hemisphere is the sign that a letter gives a latitude or longitude, in English and
// Spanish; 0 where it gives none.
func hemisphere(f Field, letter string) float64 {
	letter = strings.Trim(letter, "° ")
	switch {
	case f == FieldLatitude && letter == "n", f == FieldLongitude && letter == "e":
		return 1
	case f == FieldLatitude && letter == "s", f == FieldLongitude && (letter == "w" || letter == "o"):
		return -1
	}
	return 0
}

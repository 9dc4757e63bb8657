package importing

import (
	"regexp"
	"slices"
	"strings"

	"pullbook/domain/tables"
)

// titleWords are further words by which a title says other figures than the ones that it names: what was
// planned, put on or left, a mean. In English, Spanish, German and French; common practice.
var titleWords = wordSet(`supered esperadas previstas planeadas acumuladas leere aufgesetzt kumuliert tot tote back stolen prestadas
	robadas colocadas colocados vendidas extraidas extraidos verkauft geschleudert verbleibend bisher pro je
	posees pose retournees vendues extraites mortes par halb halbe demi
	moved split splits fed treated requeened bought trasladadas movidas divididas alimentadas tratadas compradas
	gefuttert behandelt geteilt zugekauft umgestellt deplacees divisees nourries traitees achetees`)

// perWords say before one of ofEach, places and times, that figures are of what rows or columns are: supers
// per yard.
var (
	perWords = wordSet("per por pro je par each every cada")
	ofEach   = wordSet(`yard yards apiary site place day week month season year truck crew load
		colmenar colmenares apiario dia semana mes temporada ano stand tag woche monat jahr saison rucher jour semaine mois annee`)
)

// saysEach reports whether a word of a title and the next one say what figures are of: per yard, par rucher.
func saysEach(words []string, i int) bool {
	return perWords[words[i]] && i+1 < len(words) && ofEach[words[i+1]]
}

// titledOtherwise reports whether a title says by its words other figures than the one that it names.
func titledOtherwise(title string) bool {
	words := wordsOf(title)
	if untilNow.MatchString(strings.Join(words, " ")) {
		return true
	}
	for i, word := range words {
		if !saysEach(words, i) && (otherwise[word] && !grossWords[word] || notAsItWas[word] || titleWords[word]) {
			return true
		}
	}
	return false
}

// untilNow says of figures that they are sums of all that came before; otherwise has "so far".
var untilNow = regexp.MustCompile(`\b(to date|hasta ahora|a la fecha|hasta la fecha|a ce jour)\b`)

// ofAnother is a title's sign for a share, and for one figure to another: supers / hive.
var ofAnother = regexp.MustCompile(`%|/\s*\p{L}`)

// doubtfulTitle is what stands above the cells of a wide sheet, in its corner or as its name and says of them
// other figures than the one that it names; empty where nothing does.
func doubtfulTitle(t *tables.Table, m *Mapping) (title string, err error) {
	doubt := func(text string) {
		named := slices.ContainsFunc(wordsOf(text), func(word string) bool {
			return figureNamed(strings.TrimSuffix(word, "s")) != "" || figureNamed(word) != ""
		})
		if title == "" && named && (titledOtherwise(text) || ofAnother.MatchString(text)) {
			title = strings.Clone(clip(text))
		}
	}
	doubt(t.Name)
	err = t.Rows(func(row int, cells []string) bool {
		for i, cell := range cells {
			if row < m.HeadingRow && row != m.Wide.Row || i < len(m.Columns) && m.Columns[i].Field != FieldCell {
				doubt(cell)
			}
		}
		return row < m.HeadingRow && title == ""
	})
	return title, err
}

// boxSizes are what boxes are called by their height; common practice.
var boxSizes = wordSet("deep deeps medium mediums shallow shallows full half")

// saysKind reports whether a title is of a kind of box that the outfit does not have, and of nothing else.
func (w *wide) saysKind(title string) bool {
	said := w.guess.cellWords(title)
	size := false
	for _, word := range wordsOf(title) {
		size = size || boxSizes[word]
		if !boxSizes[word] && figureNamed(word) != FieldSupers {
			return false
		}
	}
	return size && !slices.ContainsFunc(said, func(b blockHead) bool { return b.of != "" })
}

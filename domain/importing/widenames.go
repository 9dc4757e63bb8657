package importing

import (
	"regexp"
	"slices"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// reckonedWords are words of what is reckoned, planned or counted otherwise: nobody calls a yard so. In
// English, Spanish, German, French and Portuguese; common practice.
var reckonedWords = anyOf(sumWords, plannedWords, meanWords, differenceWords, rateWords, runningWords, wordSet(`
	variance percentage percentagem per por je pro hives colonies colmenas volker ruches colmeias`))

// thingWords are words of what is counted beside supers, or happens to them: who came along, what was filled
// or put back. In English, Spanish, German and French; common practice.
var thingWords = wordSet(`
	people persons workers helpers staff drums buckets pails barrels moisture fuel diesel petrol gasoline litres liters kg lb lbs hours weather
	empties returned
	personas gente ayudantes trabajadores tambores baldes cubetas bidones humedad gasoil gasolina litros horas clima vacias devueltas kilometros
	leute personen helfer fass fasser eimer feuchte wassergehalt liter stunden wetter zuruckgestellt zuruck leergut kilometer
	personnes aides futs seaux humidite gazole carburant heures meteo vides retournees rendues`)

// reckonedNames are such words where they are all of a name: among others they may be a place's.
var reckonedNames = func() map[string]bool {
	out := map[string]bool{}
	for _, name := range strings.Split(`both,all,left,remaining,remainder,rest,overall,combined,together,everything,last year,previous year,prev year,year before,
		this year,last season,other,others,misc,various,unknown,unclear,tbd,
		otro,otros,otras,varios,varias,desconocido,andere,sonstige,unbekannt,autres,divers,inconnu,outros,so far,to date,year to date,running,change,share,value,cost,
		ambos,ambas,los dos,las dos,todos,todas,todo,quedan,queda,resto,restante,juntos,ano pasado,ano anterior,este ano,hasta ahora,cambio,
		beide,alle,alles,ubrig,vorjahr,letztes jahr,bisher,zusammen,mittel,anteil,
		les deux,tous,tout,reste,ensemble,annee derniere,annee precedente,part,moyen,
		os dois,todas juntas,restam,ano passado,ate agora,juntas`, ",") {
		out[strings.TrimSpace(name)] = true
	}
	return out
}()

// saysReckoned reports whether a name says by its words that what stands with it is a sum, a mean, a
// plan or a rate.
func saysReckoned(name string) bool {
	plain := spelling.Plain(name)
	if plain == "" || reckonedNames[plain] || tables.IsTotal(name) || strings.ContainsAny(name, "%Σ") {
		return true
	}
	words := strings.Fields(plain)
	return slices.ContainsFunc(words, func(word string) bool { return reckonedWords[word] })
}

// saysThing reports whether a name says that figures of something else stand with it: one of its words does,
// or all of them are headings, units and the like, which one alone may be of a place: Honey Creek.
func saysThing(name string) bool {
	words := strings.Fields(spelling.Plain(name))
	return slices.ContainsFunc(words, func(word string) bool { return thingWords[word] }) ||
		!slices.ContainsFunc(words, func(word string) bool { return !saysFigure(word) && !besideWords[word] })
}

// hardlyAName asks about a name of a wide sheet that is to be set up with all the others, where its words
// say that it is none.
func (k *taking) hardlyAName(c *column, noun Noun, name string) bool {
	if k.wide == nil || !k.wide.isKeyOf(c) {
		return false
	}
	if k.isExplained(c, noun, name) {
		return true
	}
	if of := k.wide.beginsWith(noun, name); of != "" {
		k.problem(UnknownName, c, message.F("This begins with the %s %s. If the rest says a kind of box or another figure, do not read what stands with it here; else say that this is a name of its own%s.", noun.text(), message.Quoted(of), message.Option("create")), of)
		return true
	}
	if k.wide.namesSeveral(noun, name) {
		k.problem(UnknownName, c, message.F("This names more than one %s. Part its figures, or say that this is a name of its own%s.", noun.text(), message.Option("create")))
		return true
	}
	if !saysReckoned(name) && !saysThing(name) {
		return false
	}
	k.problem(UnknownName, c, message.F("By its name this is no %s, but a sum, a mean, a plan, a rate or another count. Do not read what stands with it, or say that this is a name of its own%s.", noun.text(), message.Option("create")))
	return true
}

// isKeyOf reports whether a column has the names that figures are of: across or down.
func (w *wide) isKeyOf(c *column) bool {
	return c == w.across || c == w.other || c == w.nameBeside()
}

// beginsWith is the name with which a longer one begins that may say of what its figures are too: Mill
// honey, or Mill medium where others have their kind of box behind them; empty where it is none.
func (w *wide) beginsWith(noun Noun, name string) string {
	words := strings.Fields(name)
	kinds := slices.ContainsFunc(w.block, func(b blockColumn) bool { return b.under != "" && w.figures[b.figure].Of != "" })
	for n := len(words) - 1; n > 0; n-- {
		of := strings.Trim(strings.Join(words[:n], " "), " -:,(")
		rest := strings.Join(words[n:], " ")
		_, known := w.book.Names(kindOf[noun], sameName(of))
		if known && (kinds || rest[0] == '(' || reckonedNames[spelling.Plain(rest)] || slices.ContainsFunc(wordsOf(rest), saysFigure)) {
			return of
		}
	}
	return ""
}

// saysFigure reports whether a word says of what figures are, in some kind of table.
func saysFigure(word string) bool {
	return figureNamed(word) != "" || titledOtherwise(word) || notNames[word]
}

// namesSeveral reports whether a name is made of several of which the outfit has one, or one stands above
// or beside other figures: Mill & Ridge.
func (w *wide) namesSeveral(noun Noun, name string) bool {
	parts := severalNames.Split(name, -1)
	return len(parts) > 1 && slices.ContainsFunc(parts, func(part string) bool {
		_, known := w.book.Names(kindOf[noun], sameName(part))
		return known || sameName(part) != "" && w.names[sameName(part)] != nil
	})
}

// severalNames parts names in English, Spanish, German, French and Portuguese.
var severalNames = regexp.MustCompile(`\s*[&/+;,]\s*|\s+(?:and|y|e|und|et|or|o)\s+`)

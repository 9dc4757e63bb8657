package importing

import (
	"slices"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// Headings of columns that say what was done or what became of it, those of them that are ticked
// where it was done, those that are where the row does not count or does, and the words by which a
// cell says that it was done or was not, in the languages of the headings; common practice.
var (
	headsStates = phrasesOf(`action, activity, status, state, task, job, direction, what was done, work done, in out, on off,
		accion, actividad, estado, tarea, aktion, tatigkeit, zustand, statut, etat, acao, tarefa, situacao`)
	headsTicks = phrasesOf(`done, pulled, taken, taken off, came off, collected, delivered, shipped, sold, moved, pumped, extracted, finished, completed, loaded,
		hecho, entregado, enviado, vendido, sacado, erledigt, geliefert, fait, livre, feito, entregue`)
	headsVoids = phrasesOf(`void, voided, cancelled, canceled, deleted, returned, reversed, ignore, ignored, duplicate, error, rejected, refused, credited, refunded, scrapped, discarded, excluded, withdrawn, do not count,
		anulado, anulada, cancelado, cancelada, devuelto, rechazado, storniert, ungultig, annule, retourne, devolvido`)
	headsValid = phrasesOf(`valid, counts, count it, include, included, use, used, keep, accepted, valido, valida, gultig, valable`)
	saysNo     = phrasesOf(`n, no, not, false, 0, none, nein, nee, non, nao, never`)
	wasDone    = phrasesOf(`x, xx, y, yes, ok, okay, true, done, pull, pulled, off, took off, taken, taken off, took, came off, remove, removed, harvest, harvested, collect, collected, deliver, delivered, ship, shipped, sale, sold, left, gone,
		paid, invoiced, closed, move, moved, pump, pumped, transfer, transferred, extract, extracted, spun, finish, finished, complete, completed, full, load, loaded, confirmed, checked, in,
		si, s, hecho, hecha, sacado, sacada, cosecha, cosechado, entregado, enviado, vendido, pagado, listo, ja, j, erledigt, geerntet, geliefert, verkauft, bezahlt, fertig, oui, o, fait, recolte, livre, vendu, paye, sim, feito, colhido, entregue, vendido, pago`)
)

// tellsStates are the kinds of table whose rows tell of something that was done once.
var tellsStates = map[Kind]bool{Pulls: true, Runs: true, RunSupers: true, Transfers: true, Sales: true}

// otherState is what a column that is not read says of the row at hand, where it says of each what
// was done, and of this one something else than that it was; false where none does. A cell without
// a tick says so too, where others have one.
func (k *taking) otherState() (how message.Text, is bool) {
	if k.wide != nil || k.Mapping.Of == TemperatureLogs {
		return how, false
	}
	for i, c := range k.Mapping.Columns {
		if c.Field != "" || c.Heading == "" {
			continue
		}
		heading, cell := spelling.Plain(c.Heading), ""
		if i < len(k.cells) {
			cell = k.cells[i]
		}
		_, ticked := k.unread.found[i]
		ticks := headsTicks.is(heading)
		switch {
		case headsVoids.is(heading) && !tables.Missing(cell) && !saysNo.is(spelling.Plain(cell)), headsValid.is(heading) && saysNo.is(spelling.Plain(cell)):
			return message.F("says %s", message.Quoted(clip(c.Heading+": "+cell))), true
		case !tellsStates[k.Mapping.Of] || !ticks && !headsStates.is(heading):
		case cell == "" && ticks && ticked && k.unread.done:
			return message.F("has nothing below %s, where others have something", message.Quoted(c.Heading)), true
		case cell != "" && !saysItHappened(cell):
			return message.F("says %s", message.Quoted(clip(c.Heading+": "+cell))), true
		}
	}
	return how, false
}

// saysItHappened reports whether a cell says that something was done, or more than a word about it.
func saysItHappened(cell string) bool {
	const few = 3
	plain := spelling.Plain(cell)
	if plain == "" { // a tick, but for those that say no
		return !slices.Contains([]string{"-", "–", "—", "✗", "✘", "?"}, strings.TrimSpace(cell))
	}
	return wasDone.is(plain) || startsAsFigure(cell) && cell != "0" || isDate(cell) || tables.IsError(cell) || len(strings.Fields(plain)) > few
}

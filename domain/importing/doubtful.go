package importing

import (
	"slices"
	"strings"

	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// phrases are texts in plain letters, of which one is looked for among the words of another.
type phrases []string

// phrasesOf are the phrases of a list, parted by commas.
func phrasesOf(list string) (out phrases) {
	for _, phrase := range strings.Split(list, ",") {
		out = append(out, " "+strings.Join(strings.Fields(phrase), " ")+" ")
	}
	return out
}

// in reports whether one of the phrases stands in a text, and is where one is all of it.
func (p phrases) in(plain string) bool {
	among := " " + plain + " "
	return slices.ContainsFunc(p, func(phrase string) bool { return strings.Contains(among, phrase) })
}

func (p phrases) is(plain string) bool { return slices.Contains(p, " "+plain+" ") }

// What people write beside a figure or name that is wrong, in doubt or of more than the row says, what they head a column with
// for that, and what they write beside a thing that did not happen, in the languages of the
// headings; common practice. The last are all of a cell, or stand among other words of a note.
var (
	putsRight = phrasesOf(`should be, should read, should say, should have been, ought to be, s b, actually, really was, was really, is really, corrected, correct to,
		correct is, correction, wrong, incorrect, typo, mistake, error, misread, mistyped, miscounted, miscount, not right, instead of, make that, amended, revised, reweighed, recounted, recount, reweigh,
		bad sample, bad reading, not calibrated, uncalibrated, out of calibration, off by, reads high, reads low, suspect, suspicious, doubtful, unreliable, discarded, void sample,
		incl, including, includes, excl, excluding, minus, with pallet, less pallet, for both, both days, both yards, both loads, both drums, combined, together with, all together,
		incluye, incluido, incluida, menos, junto con, inkl, zusammen mit, y compris, ensemble avec, incluindo, debe ser, deberia ser, en realidad, corregido, corregida, correccion, equivocado, equivocada, incorrecto, incorrecta,
		sollte sein, korrigiert, korrektur, falsch, devrait etre, corrige, corrigee, en fait, faux, deveria ser, corrigido, corrigida, na verdade, errado, errada`)
	headsRight   = phrasesOf(`should be, corrected, correct, correction, amended, revised, recount, reweigh, reweighed, adjusted, corregido, corregida, correccion, corrigido, korrigiert, korrektur, corrige`)
	didNotHappen = phrasesOf(`ignore, ignored, disregard, duplicate, duplicated, double entry, planned, postponed, to do, todo, tbd, pending, abandoned, aborted, scrapped, omit, skip, skipped,
		ignorar, duplicado, duplicada, planeado, planeada, pendiente, aplazado, aplazada, storniert, doppelt, geplant, annule, annulee, doublon, prevu, prevue, cancelada, adiado, adiada`)
	didNotHappenIn = phrasesOf(`not pulled, not done, not taken, not collected, not delivered, not extracted, not moved, not sold, not shipped, not filled, not used, not counted, did not, didn t, didnt, never happened, rained off, called off,
		ignore this, do not count, don t count, dont count, not to be counted, entered twice, counted twice, already entered, already counted, already above, duplicate of, put off,
		no se hizo, no se saco, no contar, no cuenta, ya contado, nicht zahlen, nicht gemacht, ne pas compter, pas fait, nao contar, nao feito`)
	cameBack = phrasesOf(`returned, came back, sent back, rejected, refused, reserved, credit note, credited, devuelto, devueltos, rechazado, reservado, zuruck, retourne, refuse, devolvido`)
)

// longestNote is how much of a text is looked at for what it says of its row, in bytes: no note is
// so long, and each is looked through some hundred times.
const longestNote = 4000

// saysIn are the texts of the row at hand that speak of the whole of it: notes, comments, and words
// in columns that are not read.
func (k *taking) saysIn(each func(i int, text string) bool) {
	whole := each
	each = func(i int, text string) bool {
		if len(text) > longestNote {
			text = strings.ToValidUTF8(text[:longestNote], "")
		}
		return whole(i, text)
	}
	for i, cell := range k.cells {
		if cell == "" || startsAsFigure(cell) && tables.IsPlain(cell) {
			continue
		}
		if i < len(k.Mapping.Columns) && k.Mapping.Columns[i].Field != "" && k.Mapping.Columns[i].Field != FieldNote {
			continue
		}
		if each(i, cell) {
			return
		}
	}
	for i, remark := range k.table.Remarks[k.row] {
		if each(i, remark) {
			return
		}
	}
}

// saysItDidNotHappen is the text by which the row at hand says that what it tells of did not
// happen, or was taken back; empty where it does not.
func (k *taking) saysItDidNotHappen() (said string) {
	if k.wide != nil || k.Mapping.Of == TemperatureLogs {
		return ""
	}
	k.saysIn(func(_ int, text string) bool {
		plain := spelling.Plain(text)
		if didNotHappen.is(plain) || didNotHappenIn.in(plain) || k.Mapping.Of == Sales && cameBack.in(plain) {
			said = text
		}
		return said != ""
	})
	return said
}

// doubtful asks about a row that says of itself that something in it is otherwise.
func (k *taking) doubtful() bool {
	if k.wide != nil || k.Mapping.Of == TemperatureLogs {
		return false
	}
	said := k.putsRight()
	if said == "" {
		return false
	}
	switch k.answered("") {
	case "":
		k.problem(DoubtfulRow, nil, message.F("The row says %s. Does that put right something in it? Type what is right in its own place; or say that the row holds as it stands, or leave it out%s.", message.Quoted(clip(said)), message.Option("rows: another or leave_out")), string(Another), string(LeftAside))
		return true
	case LeftAside:
		k.LeftOut++
		return true
	}
	return false
}

// putsRight is the text of the row at hand that puts right something else in it: a note, or what
// stands in a column for that; empty where none does.
func (k *taking) putsRight() (said string) {
	for i, c := range k.Mapping.Columns[:min(len(k.cells), len(k.Mapping.Columns))] {
		if c.Field == "" && k.Mapping.Of != Readings && !tables.Missing(k.cells[i]) && headsRight.in(spelling.Plain(c.Heading)) {
			return c.Heading + ": " + k.cells[i]
		}
	}
	k.saysIn(func(_ int, text string) bool {
		if putsRight.in(spelling.Plain(text)) || strings.ContainsAny(text, "0123456789") && (strings.Contains(text, "->") || strings.Contains(text, "→")) {
			said = text
		}
		return said != ""
	})
	return said
}

package importing

import (
	"strings"
	"unicode/utf8"

	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

// TakenOut says what becomes of rows that somebody took out of a sheet without deleting
// them: hid, struck through, or marked void.
type TakenOut string

// What may become of them.
const (
	LeaveOut TakenOut = "leave_out"
	BringIn  TakenOut = "bring_in"
)

// voids are words of a row that does not count, or has yet to happen, in English, Spanish, German and
// French; common practice.
var voids = wordSet(`void voided cancelled canceled deleted planned anulado anulada cancelado cancelada nulo nula previsto prevista planeado planeada
	programado programada storniert gestrichen gelöscht ungültig geplant annulé annulée supprimé supprimée prévu prévue`)

// wasTakenOut says how the row at hand was taken out; false where it was not.
func (k *taking) wasTakenOut() (how message.Text, was bool) {
	switch k.table.Aside[k.row] {
	case tables.Hidden:
		return message.F("is hidden, or a filter leaves it out"), true
	case tables.Struck:
		return message.F("has cells that are struck through"), true
	}
	for i, cell := range k.cells {
		if isVoid(cell) && !k.isAlone(i) {
			return message.F("says %s", message.Quoted(cell)), true
		}
	}
	if said := k.saysItDidNotHappen(); said != "" {
		return message.F("says %s", message.Quoted(clip(said))), true
	}
	return k.otherState()
}

// isAlone reports whether a row has no other cell that is filled: then it speaks of the rows below it.
func (k *taking) isAlone(index int) bool {
	for i, cell := range k.cells {
		if i != index && cell != "" {
			return false
		}
	}
	return true
}

// isVoid looks at the first letter and the length before all others, since it sees every
// cell of a sheet.
func isVoid(cell string) bool {
	const longest = 12
	if len(cell) < len("void") || len(cell) > longest || !strings.ContainsAny(cell[:1], "vVcCdDaAnNpPsSgGuU([") {
		return false
	}
	return voids[strings.ToLower(strings.Trim(cell, "()[].!"))]
}

// takenOut reports whether the row at hand is not to be read, since it was taken out or
// since that has to be asked.
func (k *taking) takenOut() bool {
	if k.Mapping.TakenOut == BringIn {
		return false
	}
	how, was := k.wasTakenOut()
	if !was {
		return false
	}
	if k.Mapping.TakenOut == LeaveOut {
		k.LeftOut++
		return true
	}
	k.problem(RowTakenOut, nil, message.F("The row %s. Does it count? Say whether such rows are left out or brought in%s.", how, message.Option("rows_taken_out: leave_out or bring_in")), string(LeaveOut), string(BringIn))
	return true
}

// remarked is what the note of the row at hand says, and then the comments on its cells.
func (k *taking) remarked() string {
	note := k.word(FieldNote)
	for i, remark := range k.table.Remarks[k.row] {
		if k.wide != nil && !k.wide.concerns(i) {
			continue
		}
		for unseen, found := spelling.Unseen(remark); found; unseen, found = spelling.Unseen(remark) {
			remark = strings.ReplaceAll(remark, string(unseen), "")
		}
		note = strings.TrimSpace(note + " " + remark)
	}
	if utf8.RuneCountInString(note) > longest[FieldNote] {
		k.problem(OutOfRange, k.columns[FieldNote], message.F("The note and the comments on the row's cells are longer than the %s letters that the book keeps: shorten them.", longest[FieldNote]))
		return ""
	}
	return note
}

package importing

import (
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// runRow is a run of the sheet at hand, with what its rows said of it.
type runRow struct {
	id ledger.ID
	// row is the first, framesRow the one that said the frames a side, and waxRow the one
	// that said the wax; 0 where none did.
	row, framesRow, waxRow int
	frames                 int
}

// runOf is the run of the row at hand: that of a row above with the same name and day, or a
// new one, which takes the note. What the row says of the run otherwise than a row above, or
// than the book, is asked about: it would be lost.
func (k *taking) runOf(at time.Time, r *ledger.Run, note *string) (*runRow, error) {
	if k.runs == nil {
		k.runs = map[string]*runRow{}
	}
	day := at.Format(time.DateOnly)
	run := k.runs[day+sameName(r.Name)]
	says := k.columns[FieldFrames] != nil && k.text(FieldFrames) != ""
	if run == nil {
		run = &runRow{row: k.row}
		r.Note, *note = *note, ""
		var err error
		if run.id = k.recordedRun(at, r.Name); run.id != (ledger.ID{}) {
			k.again.says(run.id)
			k.showEntry(&ledger.Entry{Kind: ledger.KindRun, OccurredAt: at, Body: r}, "", true)
		} else if run.id, err = k.put(at, r, day+" "+r.Name, nil); err != nil || k.bad {
			return run, err
		}
		if had := k.book.InForce(run.id); had != nil && had.Number <= k.known {
			k.saysOtherwise(run.id, r.Name, func(e *ledger.Entry) Field { return runDiffers(e, r, says) })
		}
		k.runs[day+sameName(r.Name)] = run
	}
	switch {
	case !says || k.bad:
	case run.framesRow == 0 && run.row == k.row:
		run.framesRow, run.frames = k.row, r.FramesPerSide
	case run.framesRow == 0:
		k.problem(TwoValues, k.columns[FieldFrames], message.F("Row %s is of the same run and does not say the frames a side: say them there, and empty this cell.", run.row))
	case run.frames != r.FramesPerSide:
		k.problem(TwoValues, k.columns[FieldFrames], message.F("Row %s says %s of the same run: put right which one is wrong, or empty this cell.", run.framesRow, saidFrames(run.frames)))
	}
	return run, nil
}

// recordedRun is the run of the book that has a name on a day, whoever recorded it; zero where
// none has.
func (k *taking) recordedRun(at time.Time, name string) (id ledger.ID) {
	k.supplies.lookUp(k)
	for _, r := range k.supplies.named[sameName(name)] {
		if r.day == k.dayOf(at) {
			return r.id
		}
	}
	return id
}

// runDiffers is the field in which a row says of a run what an entry does not; empty where
// the entry says all of it.
func runDiffers(e *ledger.Entry, row *ledger.Run, saysFrames bool) Field {
	had, is := e.Body.(*ledger.Run)
	switch {
	case !is:
		return FieldName
	case saysFrames && row.FramesPerSide != had.FramesPerSide:
		return FieldFrames
	case row.Note != "" && row.Note != had.Note:
		return FieldNote
	}
	return ""
}

package season

import (
	"math"
	"strings"

	"pullbook/domain/ledger"
	"pullbook/domain/say"
)

// Sentence says in plain words what is odd and where; Explanations, what may lie
// behind it.
func Sentence(b *ledger.Book, f ledger.Flag) say.Text {
	where := say.Capital(placeName(b, f.On))
	switch f.Code {
	case ledger.SupersOverrun:
		return say.F("%s of %s went into %s, but only %s of that kind were left. Were they counted right, and is it the right pull?",
			supers(f.Found), placeName(b, f.On), runOf(b, f.Entry), amount(math.Max(f.Expected, 0)))
	case ledger.Overdrawn:
		if f.Expected <= 0 {
			return say.F("%s was empty by the book, but %s more were drawn from it.", where, inQuestion(f))
		}
		return say.F("%s had %s by the book, but %s were drawn from it: %s too much.", where, say.Kg(f.Expected), say.Kg(f.Found), inQuestion(f))
	case ledger.Overfilled:
		return say.F("%s has room for %s, but by the book it has %s in it: %s too much.", where, say.Kg(f.Expected), say.Kg(f.Found), inQuestion(f))
	case ledger.MoistureUnusual:
		return unusualMoisture(where, f)
	case ledger.PullTooHeavy:
		return say.F("%s weighed %s, but its boxes weigh %s at most when full. Are all its boxes written down?", where, say.Kg(f.Found), say.Kg(f.Expected))
	case ledger.PullTooLight:
		return say.F("%s weighed %s, but its boxes alone weigh %s when empty. Are too many boxes written down, or was the tare taken off already?", where, say.Kg(f.Found), say.Kg(f.Expected))
	case ledger.GrossAsNet:
		return say.F("%s is written down with %s net, where %s are usual. Was that the gross weight, with the container in it?", where, say.Kg(f.Found), say.Kg(f.Expected))
	case ledger.PoundsForKilograms:
		return say.F("%s is written down with %s kg, where %s kg are usual. %s", where, amount(f.Found), amount(f.Expected), pounds(f))
	}
	return otherSentence(b, f, where)
}

func otherSentence(b *ledger.Book, f ledger.Flag, where say.Capital) say.Text {
	switch f.Code {
	case ledger.LoadTwice:
		return say.F("%s came %s min after one that looks the same. Is it one load, entered twice?", say.Capital(entryName(b, f.Entry)), amount(f.Found))
	case ledger.RecordedLate:
		return say.F("%s was written down %s after it happened. Are its day and its figures still right?", say.Capital(entryName(b, f.Entry)), say.Plural{N: f.Found, One: "%s day", Other: "%s days"})
	case ledger.RunTooRich:
		return say.F("%s gave %s of honey, but its boxes hold %s at most. Are all its supers written down, and are the weights right?", where, say.Kg(f.Found), say.Kg(f.Expected))
	case ledger.RunWithoutSupers:
		return say.F("%s gave %s of honey, but no supers are written down for it. Which boxes were extracted?", where, say.Kg(f.Found))
	case ledger.WashedFull:
		return say.F("%s was washed, but by the book %s of honey were still in it.", where, say.Kg(f.Found))
	case ledger.RestsOnWithdrawn:
		return say.F("%s names %s, which was withdrawn. Correct it to name what was meant, or withdraw it too.", say.Capital(entryName(b, f.Entry)), placeName(b, f.On))
	case ledger.NotReleased:
		return say.F("%s of honey left for %s, but its lot was not released. Release the lot if its checks allow it; if not, hold it and call the buyer.", say.Kg(f.Found), placeName(b, f.On))
	case ledger.ReadingUnexpected:
		return say.F("%s should have about %s %% moisture by what went into it, but %s %% was read.", where, tenth(f.Expected), tenth(f.Found))
	case ledger.InstrumentDoubtful:
		return doubtSentence(b, f, where)
	case ledger.ContainerEmpty:
		if f.Found == 0 {
			return say.F("%s was empty or gone already by the book. Was another container meant?", where)
		}
		return say.F("%s had %s by the book, but %s were taken from it. Was another container meant?", where, say.Kg(f.Expected), say.Kg(f.Found))
	}
	return wholeBookSentence(b, f, where)
}

// wholeBookSentence is of what only shows beside the rest of the book.
func wholeBookSentence(b *ledger.Book, f ledger.Flag, where say.Capital) say.Text {
	switch f.Code {
	case ledger.StocktakeFarOff:
		return say.F("%s should hold %s by the book, but the stocktake on %s found %s: %s %s.",
			where, say.Kg(f.Expected), day(b, f.Entry), say.Kg(f.Found), inQuestion(f), moreOrLess(f))
	case ledger.MovementTwice:
		return say.F("%s came %s min after one that looks the same.", say.Capital(entryName(b, f.Entry)), amount(f.Found))
	case ledger.RunYieldUnusual:
		return say.F("%s gave %s, where the season's other runs got about %s from such boxes: %s %s.",
			where, say.Kg(f.Found), say.Kg(f.Expected), inQuestion(f), moreOrLess(f))
	case ledger.NetUnusual:
		return say.F("%s has %s net, where others of its kind hold about %s here: %s %s.",
			where, say.Kg(f.Found), say.Kg(f.Expected), inQuestion(f), moreOrLess(f))
	case ledger.NeverExtracted:
		return say.F("%s of %s never went into a run: about %s of honey. Do they still stand somewhere, or was their run not written down?",
			supers(f.Expected-f.Found), placeName(b, f.On), inQuestion(f))
	case ledger.WarmWithoutLog:
		return say.F("%s held honey for %s hours without a temperature log, from %s on.", where, say.Number{V: f.Found}, day(b, f.Entry))
	case ledger.EntryUnreadable:
		return unreadableSentence(b, f)
	}
	return say.F("%s: %s.", where, words(string(f.Code)))
}

// unreadableSentence is of an entry that has no effect, as it cannot be read.
func unreadableSentence(b *ledger.Book, f ledger.Flag) say.Text {
	e := b.Tip(f.Entry)
	if e.Missing() {
		return missingSentence(b, e)
	}
	what := say.F("Entry %s, recorded by %s, cannot be read, so no figure counts it.", e.Number, e.RecordedBy)
	if e.ID != f.Entry {
		what = say.F("Entry %s, recorded by %s, cannot be read, so what it was to correct still counts as it was.", e.Number, e.RecordedBy)
	}
	if e.Body.(*ledger.Unreadable).Was == ledger.KindOperator {
		return say.Join(what, say.F("It was a change of people, tokens, keys, tablets or settings. Make that change once more; then the book says again how things stand."))
	}
	return say.Join(what, say.F("Look at it in the journal, then correct it with what was meant, or withdraw it. If the program was updated lately, first ask whoever keeps it running."))
}

// missingSentence is of a gap in the book that begins with an entry.
func missingSentence(b *ledger.Book, e *ledger.Entry) say.Text {
	what := say.F("Entry %s is missing from the database, so no figure counts it.", e.Number)
	if last := b.MissingUpTo(e); last > e.Number {
		what = say.F("Entries %s to %s are missing from the database, so no figure counts them.", e.Number, last)
	}
	return say.Join(what, say.F("Somebody deleted it in the database itself, past this program. Ask whoever keeps the program running to look for a backup; until then, go on recording."))
}

func unusualMoisture(where say.Capital, f ledger.Flag) say.Text {
	if f.Found < f.Expected {
		return say.F("%s: %s %% moisture was read, and honey seldom has less than %s %%. Was the sample good, and the prism clean?", where, amount(f.Found), amount(f.Expected))
	}
	return say.F("%s: %s %% moisture was read, and honey seldom has more than %s %%. Was the sample good, and the prism clean?", where, amount(f.Found), amount(f.Expected))
}

// doubtSentence is of one reading, or of all that rest on one failed check.
func doubtSentence(b *ledger.Book, f ledger.Flag, where say.Capital) say.Text {
	if c := ledger.Named[ledger.Calibration](b, f.Entry); c != nil {
		name, resting := say.Capital(say.Verbatim(b.Name(c.InstrumentID))), say.Plural{N: float64(len(f.Entries)), One: "%s reading", Other: "%s readings"}
		if c.LeftWrong() {
			return say.F("%s was left showing %s instead of %s on %s. What it read since its last good check and until the next may be off and counts for less: %s.",
				name, amount(c.AsLeft), amount(c.Expected), day(b, f.Entry), resting)
		}
		return say.F("%s showed %s instead of %s when it was checked on %s. What it read since its last good check may be off and counts for less: %s.",
			name, amount(f.Found), amount(f.Expected), day(b, f.Entry), resting)
	}
	text := say.F("%s was read with an instrument that was not checked in time, or that its next check found wrong. The reading counts for less; read again with a checked one.", where)
	if n := len(f.Entries); n > 0 {
		return say.Join(text, say.F("It is the first of %s such readings.", n+1))
	}
	return text
}

func moreOrLess(f ledger.Flag) say.Text {
	if f.Found > f.Expected {
		return say.F("more")
	}
	return say.F("less")
}

func pounds(f ledger.Flag) say.Text {
	if f.Found > f.Expected {
		return say.F("Were pounds written down as kilograms?")
	}
	return say.F("Were kilograms written down as pounds?")
}

func runOf(b *ledger.Book, entry ledger.ID) say.Text {
	if s := ledger.Named[ledger.RunSupers](b, entry); s != nil {
		return placeName(b, ledger.Place{Kind: ledger.PlaceRun, ID: s.RunID})
	}
	return say.F("a run")
}

// placeName is how one speaks of a place: "large tank", "drum 14",
// "the pull from Mill Yard on 3 August 2026".
func placeName(b *ledger.Book, p ledger.Place) say.Text {
	e, _ := b.Entry(p.ID)
	if e == nil {
		return say.F("kind|" + words(string(p.Kind)))
	}
	return entryName(b, p.ID)
}

// entryName is how one speaks of an entry.
func entryName(b *ledger.Book, id ledger.ID) say.Text {
	if f := ledger.Named[ledger.Fill](b, id); f != nil {
		return containerName(b, f)
	}
	if p := ledger.Named[ledger.Pull](b, id); p != nil {
		return onDay(b, id, say.F("the pull from %s", yardName(b, p.YardID)))
	}
	if r := ledger.Named[ledger.Run](b, id); r != nil {
		return say.F("run %s", r.Name)
	}
	if t := ledger.Named[ledger.Tank](b, id); t != nil {
		return say.Verbatim(t.Name)
	}
	if l := ledger.Named[ledger.Lot](b, id); l != nil {
		return say.F("lot %s", l.Code)
	}
	if m := ledger.Named[ledger.Movement](b, id); m != nil {
		return onDay(b, id, movementName(b, m))
	}
	if l := ledger.Named[ledger.Load](b, id); l != nil {
		return say.F("load %s of %s", l.Load, placeName(b, ledger.Place{Kind: ledger.PlaceRun, ID: l.RunID}))
	}
	e, _ := b.Entry(id)
	if e == nil {
		return say.F("an entry that is not in the book")
	}
	return onDay(b, id, otherEntryName(b, e))
}

func otherEntryName(b *ledger.Book, e *ledger.Entry) say.Text {
	tank := func(id ledger.ID) say.Text { return placeName(b, ledger.Place{Kind: ledger.PlaceTank, ID: id}) }
	run := func(id ledger.ID) say.Text { return placeName(b, ledger.Place{Kind: ledger.PlaceRun, ID: id}) }
	switch body := e.Body.(type) {
	case *ledger.Yard:
		return say.Verbatim(body.Name)
	case *ledger.Room:
		return say.Verbatim(body.Name)
	case *ledger.Buyer:
		return say.Verbatim(body.Name)
	case *ledger.Stocktake:
		return say.F("the stocktake of %s", tank(body.TankID))
	case *ledger.Wash:
		return say.F("the wash of %s", tank(body.TankID))
	case *ledger.RunSupers:
		return say.F("the supers booked into %s", run(body.RunID))
	case *ledger.RunEnd:
		return say.F("the end of %s", run(body.RunID))
	case *ledger.Reading:
		return say.F("the reading on %s", placeName(b, body.On))
	case *ledger.TemperatureLog:
		return say.F("the temperature log of %s", placeName(b, body.On))
	case *ledger.HiveCount:
		return say.F("the hive count of %s", yardName(b, body.YardID))
	case *ledger.Dispatch:
		return say.F("the dispatch to %s", buyerName(b, body.BuyerID))
	case *ledger.Calibration:
		return say.F("the calibration")
	}
	return say.F("the %s", e.Kind.Noun())
}

// containerName is "drum 14" where its kind says drum.
func containerName(b *ledger.Book, f *ledger.Fill) say.Text {
	if k := ledger.Named[ledger.ContainerKind](b, f.ContainerKindID); k != nil {
		return say.F("%s %s", k.Name, f.Container)
	}
	return say.F("container %s", f.Container)
}

func movementName(b *ledger.Book, m *ledger.Movement) say.Text {
	to := say.F("waste")
	if m.To.Kind != ledger.PlaceWaste {
		to = placeName(b, m.To)
	}
	if m.MassG == 0 {
		return say.F("all of %s to %s", placeName(b, m.From), to)
	}
	return say.F("%s from %s to %s", say.Kg(kg(m.MassG)), placeName(b, m.From), to)
}

// onDay adds the day that an entry happened on.
func onDay(b *ledger.Book, id ledger.ID, name say.Text) say.Text {
	return say.F("%s on %s", name, day(b, id))
}

func day(b *ledger.Book, id ledger.ID) say.Day {
	e := b.Standing(id)
	if e == nil {
		e, _ = b.Entry(id)
	}
	return say.Day(e.OccurredAt.In(b.Location()))
}

// amount is a figure to a tenth where it is above ten and to a hundredth below,
// without idle noughts.
func amount(v float64) say.Number { return say.Number{V: v, Places: say.MassPlaces(v)} }

func tenth(v float64) say.Number { return say.Number{V: v, Places: 1} }

func supers(n float64) say.Plural { return say.Plural{N: n, One: "%s super", Other: "%s supers"} }

// inQuestion is the honey that a flag is about.
func inQuestion(f ledger.Flag) say.Kg { return say.Kg(kg(f.MassG)) }

func words(s string) string { return strings.ReplaceAll(s, "_", " ") }

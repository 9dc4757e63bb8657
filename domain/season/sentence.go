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
		return say.F("%s: %s went into %s, but only %s were left of that kind.",
			where, supers(f.Found), runOf(b, f.Entry), amount(math.Max(f.Expected, 0)))
	case ledger.Overdrawn:
		return withChance(f, say.F("%s: %s drawn, the book had %s; %s are unexplained.", where, say.Kg(f.Found), say.Kg(f.Expected), inQuestion(f)))
	case ledger.Overfilled:
		return withChance(f, say.F("%s: %s in it, but it holds %s; %s too many.", where, say.Kg(f.Found), say.Kg(f.Expected), inQuestion(f)))
	case ledger.MoistureUnusual:
		return unusualMoisture(where, f)
	case ledger.PullTooHeavy:
		return say.F("%s: weighed %s, more than the %s that its boxes can be when full.", where, say.Kg(f.Found), say.Kg(f.Expected))
	case ledger.PullTooLight:
		return say.F("%s: weighed %s, less than the %s of its empty boxes.", where, say.Kg(f.Found), say.Kg(f.Expected))
	case ledger.GrossAsNet:
		return say.F("%s: a net of %s looks like a gross weight; %s net is usual.", where, say.Kg(f.Found), say.Kg(f.Expected))
	case ledger.PoundsForKilograms:
		return say.F("%s: %s kg against the usual %s looks like %s.", where, amount(f.Found), amount(f.Expected), pounds(f))
	}
	return otherSentence(b, f, where)
}

func otherSentence(b *ledger.Book, f ledger.Flag, where say.Capital) say.Text {
	switch f.Code {
	case ledger.LoadTwice:
		return say.F("%s: %s looks like the same load entered twice, %s min apart.", where, entryName(b, f.Entry), amount(f.Found))
	case ledger.RecordedLate:
		return say.F("%s was recorded %s after it happened.", say.Capital(entryName(b, f.Entry)), say.Plural{N: f.Found, One: "%s day", Other: "%s days"})
	case ledger.RunTooRich:
		return say.F("%s: %s of honey came out, more than the %s that its boxes could hold.", where, say.Kg(f.Found), say.Kg(f.Expected))
	case ledger.RunWithoutSupers:
		return say.F("%s: %s of honey came out, but no supers are booked into it.", where, say.Kg(f.Found))
	case ledger.WashedFull:
		return say.F("%s: washed while the book had %s in it.", where, say.Kg(f.Found))
	case ledger.RestsOnWithdrawn:
		return say.F("%s names %s, which was withdrawn.", say.Capital(entryName(b, f.Entry)), placeName(b, f.On))
	case ledger.NotReleased:
		return say.F("%s left for %s though the lot was not released.", say.Kg(f.Found), placeName(b, f.On))
	case ledger.ReadingUnexpected:
		return withChance(f, say.F("%s: expected %s %%, read %s.", where, tenth(f.Expected), tenth(f.Found)))
	case ledger.InstrumentDoubtful:
		return doubtSentence(b, f, where)
	case ledger.ContainerEmpty:
		if f.Found == 0 {
			return say.F("%s: it is empty or gone already.", where)
		}
		return say.F("%s: %s taken, the book had %s; it is empty or gone.", where, say.Kg(f.Found), say.Kg(f.Expected))
	}
	return wholeBookSentence(b, f, where)
}

// wholeBookSentence is of what only shows beside the rest of the book.
func wholeBookSentence(b *ledger.Book, f ledger.Flag, where say.Capital) say.Text {
	switch f.Code {
	case ledger.StocktakeFarOff:
		return withChance(f, say.F("%s: the book had %s, the stocktake on %s found %s, %s %s.",
			where, say.Kg(f.Expected), day(b, f.Entry), say.Kg(f.Found), inQuestion(f), moreOrLess(f)))
	case ledger.MovementTwice:
		return say.F("%s: %s looks entered twice, %s min apart.", where, entryName(b, f.Entry), amount(f.Found))
	case ledger.RunYieldUnusual:
		return withChance(f, say.F("%s: gave %s, runs of its season would have given %s of such boxes; %s %s.",
			where, say.Kg(f.Found), say.Kg(f.Expected), inQuestion(f), moreOrLess(f)))
	case ledger.NetUnusual:
		return withChance(f, say.F("%s: %s net, its kind holds %s here; %s %s.",
			where, say.Kg(f.Found), say.Kg(f.Expected), inQuestion(f), moreOrLess(f)))
	case ledger.NeverExtracted:
		return say.F("%s: %s of %s went into no run, about %s.", where, supers(f.Expected-f.Found), amount(f.Expected), inQuestion(f))
	case ledger.WarmWithoutLog:
		return say.F("%s: it held honey for %s hours without a temperature log, from %s on.", where, say.Number{V: f.Found}, day(b, f.Entry))
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
	what := say.F("Entry %s, recorded by %s, cannot be read: nothing of what it said is in any figure.", e.Number, e.RecordedBy)
	if e.ID != f.Entry {
		what = say.F("Entry %s, recorded by %s, cannot be read: what it corrected counts as it was before.", e.Number, e.RecordedBy)
	}
	if e.Body.(*ledger.Unreadable).Was == ledger.KindOperator {
		return say.Join(what, say.F("It is about people, tokens, keys, tablets or settings: make that change once more, and the book says again how things stand."))
	}
	return say.Join(what, say.F("Look at it in the journal, and correct it with what was meant, or withdraw it. If the program was changed lately, ask whoever keeps it running first."))
}

// missingSentence is of a gap in the book that begins with an entry.
func missingSentence(b *ledger.Book, e *ledger.Entry) say.Text {
	what := say.F("Entry %s is missing in the database: nothing of what it said is in any figure.", e.Number)
	if last := b.MissingUpTo(e); last > e.Number {
		what = say.F("The entries %s to %s are missing in the database: nothing of what they said is in any figure.", e.Number, last)
	}
	return say.Join(what, say.F("Somebody deleted from the database itself. Ask whoever keeps the program running to look for a backup; until then, go on recording."))
}

func unusualMoisture(where say.Capital, f ledger.Flag) say.Text {
	if f.Found < f.Expected {
		return say.F("%s: moisture %s %% is unusual; honey seldom is below %s %%. Was the sample good, and the prism clean?", where, amount(f.Found), amount(f.Expected))
	}
	return say.F("%s: moisture %s %% is unusual; honey seldom is above %s %%. Was the sample good, and the prism clean?", where, amount(f.Found), amount(f.Expected))
}

// doubtSentence is of one reading, or of all that rest on one failed check.
func doubtSentence(b *ledger.Book, f ledger.Flag, where say.Capital) say.Text {
	if c := ledger.Named[ledger.Calibration](b, f.Entry); c != nil {
		name, resting := say.Capital(say.Verbatim(b.Name(c.InstrumentID))), say.Plural{N: float64(len(f.Entries)), One: "%s reading", Other: "%s readings"}
		if c.LeftWrong() {
			return say.F("%s was left to read %s for %s on %s. Resting on it since its last good check and until the next, and weighing less: %s.",
				name, amount(c.AsLeft), amount(c.Expected), day(b, f.Entry), resting)
		}
		return say.F("%s was found to read %s for %s on %s. Resting on it since its last good check, and weighing less: %s.",
			name, amount(f.Found), amount(f.Expected), day(b, f.Entry), resting)
	}
	text := say.F("%s: the instrument was not checked in time, or its next check found it wrong; the reading weighs less.", where)
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
		return say.F("pounds entered as kilograms")
	}
	return say.F("kilograms entered as pounds")
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
		return say.F("supers into %s", run(body.RunID))
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

package season

import (
	"math"
	"slices"
	"strings"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Sentence says in plain words what is odd and where; Explanations, what may lie
// behind it.
func Sentence(b *ledger.Book, f ledger.Flag) message.Text {
	where := message.Capital(placeName(b, f.On))
	switch f.Code {
	case ledger.SupersOverrun:
		return message.F("%s of %s went into %s, but only %s of that kind were left. Were they counted right, and is it the right pull?",
			supers(f.Found), placeName(b, f.On), runOf(b, f.Entry), amount(math.Max(f.Expected, 0)))
	case ledger.Overdrawn:
		return shortSentence(f, where)
	case ledger.Overfilled:
		return message.F("%s has room for %s, but by the book it has %s in it: %s too much.", where, message.Kg(f.Expected), message.Kg(f.Found), inQuestion(f))
	case ledger.MoistureUnusual:
		return unusualMoisture(where, f)
	case ledger.ResultUnusual, ledger.ResultsDisagree, ledger.ResultUnlikeEarlier, ledger.AnalysedBeforeFilled:
		return oddResult(b, where, f)
	case ledger.SampleTemperatureMissing:
		return message.F("%s was read with an instrument that does not correct for the temperature, and nobody wrote down how warm the sample was. 20 °C was taken, which costs the reading %s points of uncertainty; read again with the temperature.", where, tenth(f.Found))
	case ledger.InstrumentUnlike:
		return message.F("%s: %s shows another scale than the one of this reading. Was it another instrument? Its own uncertainty does not count, that of an ordinary hand-held one does.", where, message.Verbatim(b.Name(instrumentOf(b, f.Entry))))
	case ledger.SettlementOdd:
		return oddSettlement(b, where, f)
	case ledger.TemperatureUnusual:
		return unusualTemperature(b, f)
	case ledger.PullTooHeavy:
		return message.F("%s weighed %s, but its boxes weigh %s at most when full. Are all its boxes written down?", where, message.Kg(f.Found), message.Kg(f.Expected))
	case ledger.PullTooLight:
		return message.F("%s weighed %s, but its boxes alone weigh %s when empty. Are too many boxes written down, or was the tare taken off already?", where, message.Kg(f.Found), message.Kg(f.Expected))
	case ledger.GrossAsNet:
		return message.F("%s is written down with %s net, where %s are usual. Was that the gross weight, with the container in it?", where, message.Kg(f.Found), message.Kg(f.Expected))
	case ledger.PoundsForKilograms:
		return message.F("%s is written down with %s kg, where %s kg are usual. %s", where, amount(f.Found), amount(f.Expected), pounds(f))
	}
	return otherSentence(b, f, where)
}

// shortSentence is of a tank from which more was drawn than it had, once or several times
// while nothing came into it.
func shortSentence(f ledger.Flag, where message.Capital) message.Text {
	switch n := len(f.With); {
	case n > 0 && f.Expected <= 0:
		return message.F("%s was empty by the book, but %s more were drawn from it in %s entries.", where, inQuestion(f), n+1)
	case n > 0:
		return message.F("%s had %s by the book, but %s were drawn from it in %s entries: %s too much.", where, message.Kg(f.Expected), message.Kg(f.Found), n+1, inQuestion(f))
	case f.Expected <= 0:
		return message.F("%s was empty by the book, but %s more were drawn from it.", where, inQuestion(f))
	}
	return message.F("%s had %s by the book, but %s were drawn from it: %s too much.", where, message.Kg(f.Expected), message.Kg(f.Found), inQuestion(f))
}

func otherSentence(b *ledger.Book, f ledger.Flag, where message.Capital) message.Text {
	switch f.Code {
	case ledger.LoadTwice:
		return message.F("%s came %s min after one that looks the same. Is it one load, entered twice?", message.Capital(entryName(b, f.Entry)), amount(f.Found))
	case ledger.RecordedLate:
		return message.F("%s was written down %s after it happened. Are its day and its figures still right?", message.Capital(entryName(b, f.Entry)), message.Plural{N: f.Found, One: "%s day", Other: "%s days"})
	case ledger.RunTooRich:
		return message.F("%s gave %s of honey, but its boxes hold %s at most. Are all its supers written down, and are the weights right?", where, message.Kg(f.Found), message.Kg(f.Expected))
	case ledger.RunWithoutSupers:
		return message.F("%s gave %s of honey, but no supers are written down for it. Which boxes were extracted?", where, message.Kg(f.Found))
	case ledger.WashedFull:
		return message.F("%s was washed, but by the book %s of honey were still in it.", where, message.Kg(f.Found))
	case ledger.RestsOnWithdrawn:
		if n := len(f.With); n > 0 {
			return message.F("%s entries name %s, which was withdrawn. Correct them to name what was meant, or withdraw them too.", n+1, placeName(b, f.On))
		}
		return message.F("%s names %s, which was withdrawn. Correct it to name what was meant, or withdraw it too.", message.Capital(entryName(b, f.Entry)), placeName(b, f.On))
	case ledger.NotReleased:
		return message.F("%s of honey left for %s, but its lot was not released. Release the lot if its checks allow it; if not, hold it and call the buyer.", message.Kg(f.Found), placeName(b, f.On))
	case ledger.ReadingUnexpected:
		return message.F("%s should have about %s %% moisture by what went into it, but %s %% was read.", where, tenth(f.Expected), tenth(f.Found))
	case ledger.ReadEmpty:
		return message.F("%s was read, but by the book it was empty.", where)
	case ledger.InstrumentDoubtful:
		return doubtSentence(b, f, where)
	case ledger.ContainerEmpty:
		if f.Found == 0 {
			return message.F("%s was empty or gone already by the book. Was another container meant?", where)
		}
		return message.F("%s had %s by the book, but %s were taken from it. Was another container meant?", where, message.Kg(f.Expected), message.Kg(f.Found))
	}
	return wholeBookSentence(b, f, where)
}

// wholeBookSentence is of what only shows beside the rest of the book.
func wholeBookSentence(b *ledger.Book, f ledger.Flag, where message.Capital) message.Text {
	switch f.Code {
	case ledger.StocktakeFarOff:
		return message.F("%s should hold %s by the book, but the stocktake on %s found %s: %s %s.",
			where, message.Kg(f.Expected), day(b, f.Entry), message.Kg(f.Found), inQuestion(f), moreOrLess(f))
	case ledger.MovementTwice:
		return message.F("%s came %s min after one that looks the same.", message.Capital(entryName(b, f.Entry)), amount(f.Found))
	case ledger.RunYieldUnusual:
		return message.F("%s gave %s, where the season's other runs got about %s from such boxes: %s %s.",
			where, message.Kg(f.Found), message.Kg(f.Expected), inQuestion(f), moreOrLess(f))
	case ledger.MoreSpun:
		return message.F("The loads of %s have %s frames, but the supers booked into it have %s. Were more supers extracted than are written down?",
			placeName(b, f.On), message.Number{V: f.Found}, message.Number{V: f.Expected})
	case ledger.NetUnusual:
		return message.F("%s has %s net, where others of its kind hold about %s here: %s %s.",
			where, message.Kg(f.Found), message.Kg(f.Expected), inQuestion(f), moreOrLess(f))
	case ledger.NeverExtracted:
		return message.F("%s of %s never went into a run: about %s of honey. Do they still stand somewhere, or was their run not written down?",
			supers(f.Expected-f.Found), placeName(b, f.On), inQuestion(f))
	case ledger.WarmWithoutLog:
		return message.F("%s held honey for %s hours without a temperature log, from %s on.", where, message.Number{V: f.Found}, day(b, f.Entry))
	case ledger.OldStock:
		return message.F("An old sheet (%s) brought in %s with %s that had been filled more than a year before, and the book has no sale of them. Is that honey still here? Then accept that. If it was sold or is gone, bring in a sheet of the sales, or say so of all of it at once.",
			message.Quoted(sheetName(b, f.Entry)), message.Plural{N: f.Found, One: "%s container", Other: "%s containers"}, inQuestion(f))
	case ledger.EntryUnreadable:
		return unreadableSentence(b, f)
	}
	return message.F("%s: %s.", where, words(string(f.Code)))
}

// sheetName is what the file of an import was called.
func sheetName(b *ledger.Book, id ledger.ID) string {
	i := ledger.Named[ledger.Import](b, id)
	if i == nil || i.File == "" {
		return ledger.ContainersOf
	}
	return i.File
}

// unreadableSentence is of an entry that has no effect, as it cannot be read.
func unreadableSentence(b *ledger.Book, f ledger.Flag) message.Text {
	e := lastUnreadable(b, f.Entry)
	if e.Missing() {
		return missingSentence(b, e)
	}
	what := message.F("Entry %s, recorded by %s, cannot be read, so no figure counts it.", e.Number, e.RecordedBy)
	if e.ID != f.Entry {
		what = message.F("Entry %s, recorded by %s, cannot be read, so what it was to correct still counts as it was.", e.Number, e.RecordedBy)
	}
	if u, is := e.Body.(*ledger.Unreadable); is && u.Was == ledger.KindOperator {
		return message.Join(what, message.F("It was a change of people, tokens, keys, tablets or settings. Make that change once more; then the book says again how things stand."))
	}
	return message.Join(what, message.F("Look at it in the journal, then correct it with what was meant, or withdraw it. If the program was updated lately, first ask whoever keeps it running."))
}

// lastUnreadable is the last entry of a chain that cannot be read; others may have put it
// right since.
func lastUnreadable(b *ledger.Book, id ledger.ID) *ledger.Entry {
	for _, e := range slices.Backward(b.Chain(id)) {
		if _, is := e.Body.(*ledger.Unreadable); is {
			return e
		}
	}
	return b.Tip(id)
}

// missingSentence is of a gap in the book that begins with an entry.
func missingSentence(b *ledger.Book, e *ledger.Entry) message.Text {
	what := message.F("Entry %s is missing from the database, so no figure counts it.", e.Number)
	if last := b.MissingUpTo(e); last > e.Number {
		what = message.F("Entries %s to %s are missing from the database, so no figure counts them.", e.Number, last)
	}
	return message.Join(what, message.F("Somebody deleted from the database itself, past this program. Ask whoever keeps the program running to look for a backup; until then, go on recording."))
}

func unusualMoisture(where message.Capital, f ledger.Flag) message.Text {
	if f.Found < f.Expected {
		return message.F("%s: %s %% moisture was read, and honey seldom has less than %s %%. Was the sample good, and the prism clean?", where, amount(f.Found), amount(f.Expected))
	}
	return message.F("%s: %s %% moisture was read, and honey seldom has more than %s %%. Was the sample good, and the prism clean?", where, amount(f.Found), amount(f.Expected))
}

// doubtSentence is of one reading, or of all that rest on one failed check.
func doubtSentence(b *ledger.Book, f ledger.Flag, where message.Capital) message.Text {
	if c := ledger.Named[ledger.Calibration](b, f.Entry); c != nil {
		name, resting := message.Capital(message.Verbatim(b.Name(c.InstrumentID))), message.Plural{N: float64(len(f.Entries)), One: "%s reading", Other: "%s readings"}
		if c.LeftWrong() {
			return message.F("%s was left showing %s instead of %s on %s. What it read since its last good check and until the next may be off and counts for less: %s.",
				name, amount(c.AsLeft), amount(c.Expected), day(b, f.Entry), resting)
		}
		return message.F("%s showed %s instead of %s when it was checked on %s. What it read since its last good check may be off and counts for less: %s.",
			name, amount(f.Found), amount(f.Expected), day(b, f.Entry), resting)
	}
	text := message.F("%s was read with an instrument that nobody checked in time, or whose next check found it wrong. The reading counts for less; read again with a checked one.", where)
	if n := len(f.Entries); n > 0 {
		return message.Join(text, message.F("It is the first of %s such readings.", n+1))
	}
	return text
}

func moreOrLess(f ledger.Flag) message.Text {
	if f.Found > f.Expected {
		return message.F("more")
	}
	return message.F("less")
}

func pounds(f ledger.Flag) message.Text {
	if f.Found > f.Expected {
		return message.F("Were pounds written down as kilograms?")
	}
	return message.F("Were kilograms written down as pounds?")
}

func runOf(b *ledger.Book, entry ledger.ID) message.Text {
	if s := ledger.Named[ledger.RunSupers](b, entry); s != nil {
		return placeName(b, ledger.Place{Kind: ledger.PlaceRun, ID: s.RunID})
	}
	return message.F("a run")
}

// placeName is how one speaks of a place: "large tank", "drum 14",
// "the pull from Mill Yard on 3 August 2026".
func placeName(b *ledger.Book, p ledger.Place) message.Text {
	e, _ := b.Entry(p.ID)
	if e == nil {
		return message.F("kind|" + words(string(p.Kind)))
	}
	return entryName(b, p.ID)
}

// entryName is how one speaks of an entry.
func entryName(b *ledger.Book, id ledger.ID) message.Text {
	if f := ledger.Named[ledger.Fill](b, id); f != nil {
		return containerName(b, f)
	}
	if p := ledger.Named[ledger.Pull](b, id); p != nil {
		return onDay(b, id, message.F("the pull from %s", yardName(b, p.YardID)))
	}
	if r := ledger.Named[ledger.Run](b, id); r != nil {
		return message.F("run %s", r.Name)
	}
	if t := ledger.Named[ledger.Tank](b, id); t != nil {
		return message.Verbatim(t.Name)
	}
	if l := ledger.Named[ledger.Lot](b, id); l != nil {
		return message.F("lot %s", l.Code)
	}
	if m := ledger.Named[ledger.Movement](b, id); m != nil {
		return onDay(b, id, movementName(b, m))
	}
	if l := ledger.Named[ledger.Load](b, id); l != nil {
		return message.F("load %s of %s", l.Load, placeName(b, ledger.Place{Kind: ledger.PlaceRun, ID: l.RunID}))
	}
	e, _ := b.Entry(id)
	if e == nil {
		return message.F("an entry that is not in the book")
	}
	return onDay(b, id, otherEntryName(b, e))
}

func otherEntryName(b *ledger.Book, e *ledger.Entry) message.Text {
	tank := func(id ledger.ID) message.Text { return placeName(b, ledger.Place{Kind: ledger.PlaceTank, ID: id}) }
	run := func(id ledger.ID) message.Text { return placeName(b, ledger.Place{Kind: ledger.PlaceRun, ID: id}) }
	switch body := e.Body.(type) {
	case *ledger.Yard:
		return message.Verbatim(body.Name)
	case *ledger.Room:
		return message.Verbatim(body.Name)
	case *ledger.Buyer:
		return message.Verbatim(body.Name)
	case *ledger.Stocktake:
		return message.F("the stocktake of %s", tank(body.TankID))
	case *ledger.Wash:
		return message.F("the wash of %s", tank(body.TankID))
	case *ledger.RunSupers:
		return message.F("the supers booked into %s", run(body.RunID))
	case *ledger.RunEnd:
		return message.F("the end of %s", run(body.RunID))
	case *ledger.Reading:
		return message.F("the reading on %s", placeName(b, body.On))
	case *ledger.TemperatureLog:
		return message.F("the temperature log of %s", placeName(b, body.On))
	case *ledger.HiveCount:
		return message.F("the hive count of %s", yardName(b, body.YardID))
	case *ledger.Dispatch:
		return message.F("the dispatch to %s", buyerName(b, body.BuyerID))
	case *ledger.PreparedBlend:
		return message.F("the blend prepared for %s", tank(body.TankID))
	case *ledger.AdoptedPlan:
		return message.F("the plan %s", message.Quoted(body.Title))
	case *ledger.Contract:
		return message.F("the contract with %s", buyerName(b, body.BuyerID))
	case *ledger.PreparedDispatch:
		return message.F("the dispatch prepared for %s", buyerName(b, body.BuyerID))
	case *ledger.Calibration:
		return message.F("the calibration")
	}
	return message.F("the %s", e.Kind.Noun())
}

// containerName is "drum 14" where its kind says drum.
func containerName(b *ledger.Book, f *ledger.Fill) message.Text {
	if k := ledger.Named[ledger.ContainerKind](b, f.ContainerKindID); k != nil {
		return message.F("%s %s", k.Name, f.Container)
	}
	return message.F("container %s", f.Container)
}

func movementName(b *ledger.Book, m *ledger.Movement) message.Text {
	to := message.F("waste")
	if m.To.Kind != ledger.PlaceWaste {
		to = placeName(b, m.To)
	}
	if m.MassG == 0 {
		return message.F("all of %s to %s", placeName(b, m.From), to)
	}
	return message.F("%s from %s to %s", message.Kg(kg(m.MassG)), placeName(b, m.From), to)
}

// onDay adds the day that an entry happened on.
func onDay(b *ledger.Book, id ledger.ID, name message.Text) message.Text {
	return message.F("%s on %s", name, day(b, id))
}

func day(b *ledger.Book, id ledger.ID) message.Day {
	e := b.InForce(id)
	if e == nil {
		e, _ = b.Entry(id)
	}
	return message.Day(e.OccurredAt.In(b.Location()))
}

// amount is a figure to a tenth where it is above ten and to a hundredth below,
// without idle zeros.
func amount(v float64) message.Number { return message.Number{V: v, Places: message.MassPlaces(v)} }

func tenth(v float64) message.Number { return message.Number{V: v, Places: 1} }

func supers(n float64) message.Plural {
	return message.Plural{N: n, One: "%s super", Other: "%s supers"}
}

// inQuestion is the honey that a flag is about.
func inQuestion(f ledger.Flag) message.Kg { return message.Kg(kg(f.MassG)) }

func words(s string) string { return strings.ReplaceAll(s, "_", " ") }

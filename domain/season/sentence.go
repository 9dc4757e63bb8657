package season

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"pullbook/domain/ledger"
)

// Sentence says in plain words what is odd and where; Explanations, what may lie
// behind it.
func Sentence(b *ledger.Book, f ledger.Flag) string {
	where, found, expected := capital(placeName(b, f.On)), amount(f.Found), amount(f.Expected)
	switch f.Code {
	case ledger.SupersOverrun:
		return fmt.Sprintf("%s: %s went into %s, but only %s were left of that kind.",
			where, count(f.Found, "super"), runOf(b, f.Entry), amount(math.Max(f.Expected, 0)))
	case ledger.Overdrawn:
		return fmt.Sprintf("%s: %s kg drawn, the book had %s; %s kg are unexplained.", where, found, expected, amount(kg(f.MassG)))
	case ledger.Overfilled:
		return fmt.Sprintf("%s: %s kg in it, but it holds %s; %s kg too many.", where, found, expected, amount(kg(f.MassG)))
	case ledger.MoistureUnusual:
		return fmt.Sprintf("%s: moisture %s %% is unusual; honey seldom is %s %s %%. Was the sample good, and the prism clean?",
			where, found, side(f), expected)
	case ledger.PullTooHeavy:
		return fmt.Sprintf("%s: weighed %s kg, more than the %s kg that its boxes can be when full.", where, found, expected)
	case ledger.PullTooLight:
		return fmt.Sprintf("%s: weighed %s kg, less than the %s kg of its empty boxes.", where, found, expected)
	case ledger.GrossAsNet:
		return fmt.Sprintf("%s: a net of %s kg looks like a gross weight; %s kg net is usual.", where, found, expected)
	case ledger.PoundsForKilograms:
		return fmt.Sprintf("%s: %s kg against the usual %s looks like %s.", where, found, expected, pounds(f))
	}
	return otherSentence(b, f, where, found, expected)
}

func otherSentence(b *ledger.Book, f ledger.Flag, where, found, expected string) string {
	switch f.Code {
	case ledger.LoadTwice:
		return fmt.Sprintf("%s: %s looks like the same load entered twice, %s min apart.", where, entryName(b, f.Entry), found)
	case ledger.RecordedLate:
		return fmt.Sprintf("%s was recorded %s days after it happened.", capital(entryName(b, f.Entry)), found)
	case ledger.RunTooRich:
		return fmt.Sprintf("%s: %s kg of honey came out, more than the %s kg that its boxes could hold.", where, found, expected)
	case ledger.RunWithoutSupers:
		return fmt.Sprintf("%s: %s kg of honey came out, but no supers are booked into it.", where, found)
	case ledger.WashedFull:
		return fmt.Sprintf("%s: washed while the book had %s kg in it.", where, found)
	case ledger.RestsOnWithdrawn:
		return fmt.Sprintf("%s names %s, which was withdrawn.", capital(entryName(b, f.Entry)), placeName(b, f.On))
	case ledger.NotReleased:
		return fmt.Sprintf("%s kg left for %s though the lot was not released.", found, placeName(b, f.On))
	case ledger.ReadingUnexpected:
		return fmt.Sprintf("%s: expected %.1f %%, read %.1f.%s", where, f.Expected, f.Found, byChance(f))
	case ledger.InstrumentDoubtful:
		return doubtSentence(b, f, where)
	case ledger.ContainerEmpty:
		if f.Found == 0 {
			return fmt.Sprintf("%s: it is empty or gone already.", where)
		}
		return fmt.Sprintf("%s: %s kg taken, the book had %s; it is empty or gone.", where, found, expected)
	}
	return wholeBookSentence(b, f, where, found, expected)
}

// wholeBookSentence is of what only shows beside the rest of the book.
func wholeBookSentence(b *ledger.Book, f ledger.Flag, where, found, expected string) string {
	also := byChance(f)
	switch f.Code {
	case ledger.StocktakeFarOff:
		return fmt.Sprintf("%s: the book had %s kg, the stocktake%s found %s, %s kg %s.%s",
			where, expected, day(b, f.Entry), found, amount(kg(f.MassG)), moreOrLess(f), also)
	case ledger.MovementTwice:
		return fmt.Sprintf("%s: %s looks entered twice, %s min apart.", where, entryName(b, f.Entry), found)
	case ledger.RunYieldUnusual:
		return fmt.Sprintf("%s: gave %s kg, runs of its season would have given %s of such boxes; %s kg %s.%s",
			where, found, expected, amount(kg(f.MassG)), moreOrLess(f), also)
	case ledger.NetUnusual:
		return fmt.Sprintf("%s: %s kg net, its kind holds %s here; %s kg %s.%s", where, found, expected, amount(kg(f.MassG)), moreOrLess(f), also)
	case ledger.NeverExtracted:
		return fmt.Sprintf("%s: %s of %s went into no run, about %s kg.",
			where, count(f.Expected-f.Found, "super"), expected, amount(kg(f.MassG)))
	case ledger.WarmWithoutLog:
		return fmt.Sprintf("%s: it held honey for %.0f hours without a temperature log, from %s on.",
			where, f.Found, strings.TrimPrefix(day(b, f.Entry), " on "))
	}
	return fmt.Sprintf("%s: %s.", where, strings.ReplaceAll(string(f.Code), "_", " "))
}

// doubtSentence is of one reading, or of all that rest on one failed check.
func doubtSentence(b *ledger.Book, f ledger.Flag, where string) string {
	if c := ledger.Named[ledger.Calibration](b, f.Entry); c != nil {
		return fmt.Sprintf("%s was found to read %s for %s%s. Resting on it since its last good check, and weighing less: %s.",
			capital(b.Name(c.InstrumentID)), amount(f.Found), amount(f.Expected), day(b, f.Entry), count(float64(len(f.Entries)), "reading"))
	}
	text := fmt.Sprintf("%s: the instrument was not checked in time, or its next check found it wrong; the reading weighs less.", where)
	if n := len(f.Entries); n > 0 {
		text += fmt.Sprintf(" It is the first of %d such readings.", n+1)
	}
	return text
}

func moreOrLess(f ledger.Flag) string {
	if f.Found > f.Expected {
		return "more"
	}
	return "less"
}

func side(f ledger.Flag) string {
	if f.Found < f.Expected {
		return "below"
	}
	return "above"
}

func pounds(f ledger.Flag) string {
	if f.Found > f.Expected {
		return "pounds entered as kilograms"
	}
	return "kilograms entered as pounds"
}

func runOf(b *ledger.Book, entry ledger.ID) string {
	if s := ledger.Named[ledger.RunSupers](b, entry); s != nil {
		return placeName(b, ledger.Place{Kind: ledger.PlaceRun, ID: s.RunID})
	}
	return "a run"
}

// placeName is how one speaks of a place: "large tank", "drum 14",
// "the pull from Mill Yard on 3 August".
func placeName(b *ledger.Book, p ledger.Place) string {
	e, _ := b.Entry(p.ID)
	if e == nil {
		return string(p.Kind)
	}
	return entryName(b, p.ID)
}

// entryName is how one speaks of an entry.
func entryName(b *ledger.Book, id ledger.ID) string {
	on := day(b, id)
	if f := ledger.Named[ledger.Fill](b, id); f != nil {
		return containerName(b, f)
	}
	if p := ledger.Named[ledger.Pull](b, id); p != nil {
		return "the pull from " + yardName(b, p.YardID) + on
	}
	if r := ledger.Named[ledger.Run](b, id); r != nil {
		return "run " + r.Name
	}
	if t := ledger.Named[ledger.Tank](b, id); t != nil {
		return t.Name
	}
	if l := ledger.Named[ledger.Lot](b, id); l != nil {
		return "lot " + l.Code
	}
	if m := ledger.Named[ledger.Movement](b, id); m != nil {
		return movementName(b, m) + on
	}
	if l := ledger.Named[ledger.Load](b, id); l != nil {
		return fmt.Sprintf("load %d of %s", l.Load, placeName(b, ledger.Place{Kind: ledger.PlaceRun, ID: l.RunID}))
	}
	return otherEntryName(b, id) + on
}

func otherEntryName(b *ledger.Book, id ledger.ID) string {
	of := func(what string, p ledger.Place) string { return what + placeName(b, p) }
	tank := func(what string, id ledger.ID) string { return of(what, ledger.Place{Kind: ledger.PlaceTank, ID: id}) }
	run := func(what string, id ledger.ID) string { return of(what, ledger.Place{Kind: ledger.PlaceRun, ID: id}) }
	e, _ := b.Entry(id)
	if e == nil {
		return "an entry that is not in the book"
	}
	switch body := e.Body.(type) {
	case *ledger.Yard:
		return body.Name
	case *ledger.Room:
		return body.Name
	case *ledger.Buyer:
		return body.Name
	case *ledger.Stocktake:
		return tank("the stocktake of ", body.TankID)
	case *ledger.Wash:
		return tank("the wash of ", body.TankID)
	case *ledger.RunSupers:
		return run("supers into ", body.RunID)
	case *ledger.RunEnd:
		return run("the end of ", body.RunID)
	case *ledger.Reading:
		return of("the reading on ", body.On)
	case *ledger.TemperatureLog:
		return of("the temperature log of ", body.On)
	case *ledger.HiveCount:
		return "the hive count of " + yardName(b, body.YardID)
	case *ledger.Dispatch:
		return "the dispatch to " + buyerName(b, body.BuyerID)
	case *ledger.Calibration:
		return "the calibration"
	}
	return "the " + strings.ReplaceAll(string(e.Kind), "_", " ")
}

// containerName is "drum 14" where its kind says drum.
func containerName(b *ledger.Book, f *ledger.Fill) string {
	if k := ledger.Named[ledger.ContainerKind](b, f.ContainerKindID); k != nil {
		return k.Name + " " + f.Container
	}
	return "container " + f.Container
}

func movementName(b *ledger.Book, m *ledger.Movement) string {
	to := "waste"
	if m.To.Kind != ledger.PlaceWaste {
		to = placeName(b, m.To)
	}
	if m.MassG == 0 {
		return fmt.Sprintf("all of %s to %s", placeName(b, m.From), to)
	}
	return fmt.Sprintf("%s kg from %s to %s", amount(kg(m.MassG)), placeName(b, m.From), to)
}

func day(b *ledger.Book, id ledger.ID) string {
	e := b.Standing(id)
	if e == nil {
		if e, _ = b.Entry(id); e == nil {
			return ""
		}
	}
	return " on " + dayText(e.OccurredAt, b.Location())
}

func dayText(at time.Time, loc *time.Location) string { return at.In(loc).Format("2 January 2006") }

// amount writes a figure to a tenth where it is above ten and to a hundredth
// below, without idle zeros.
func amount(v float64) string {
	places := 100.0
	if math.Abs(v) >= 10 {
		places = 10
	}
	return strconv.FormatFloat(math.Round(v*places)/places, 'f', -1, 64)
}

func count(n float64, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return amount(n) + " " + one + "s"
}

func capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	if size == 0 {
		return s
	}
	return string(unicode.ToUpper(first)) + s[size:]
}

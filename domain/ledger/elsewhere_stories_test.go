package ledger_test

import (
	"fmt"
	"slices"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// checked writes a check of a lot as the book has it.
func checked(o *ledgertest.Outfit, hours float64, lot ledger.ID, results ...ledger.RuleSetResult) ledger.ID {
	b, err := o.Open()
	if err != nil {
		panic(err)
	}
	return o.Write(hours, &ledger.Check{LotID: lot, Found: &ledger.Found{Through: b.Len(), Basis: b.Basis(lot, ledgertest.At(1e6)), Results: results}})
}

// reply is what a book of all entries but the last says when that is put to it. It is held
// against two books opened anew, without it and with it.
func reply(t *testing.T, o *ledgertest.Outfit) ledger.Effect {
	t.Helper()
	n := len(o.Entries) - 1
	before, after := mustOpen(t, o.Entries[:n]), mustOpen(t, o.Entries)
	effect, err := mustOpen(t, o.Entries[:n]).Append(o.Entries[n])
	if err != nil {
		t.Fatal(err)
	}
	now := after.Latest()
	if opened := apart(openAt(after, now), openAt(before, now), after.Root(o.Entries[n].ID)); !sameOdd(told(effect.Opened), opened) {
		t.Errorf("it opened %v, not %v", told(effect.Opened), opened)
	}
	if closed := apart(openAt(before, now), openAt(after, now), ledger.ID{}); !sameOdd(told(effect.Closed), closed) {
		t.Errorf("it closed %v, not %v", told(effect.Closed), closed)
	}
	var outdated []ledger.ID
	for _, e := range o.Entries[:n] {
		if e.Kind == ledger.KindCheck && before.Outdated(e.ID).IsEmpty() && !after.Outdated(e.ID).IsEmpty() && after.Root(e.ID) != after.Root(o.Entries[n].ID) {
			outdated = append(outdated, e.ID)
		}
	}
	if got := checksOf(effect); !slices.Equal(got, outdated) {
		t.Errorf("outdated are %v, not %v", got, outdated)
	}
	return effect
}

func checksOf(effect ledger.Effect) (out []ledger.ID) {
	for _, c := range effect.Outdated {
		out = append(out, c.Check.ID)
	}
	return out
}

// lots are two lots with a drum each, read and checked, and what they rest on.
type lots struct {
	*ledgertest.Outfit
	run, lot, drum, reading, calibration, ruleSet, check ledger.ID
	other, otherCheck                                    ledger.ID
}

func twoCheckedLots() *lots {
	l := &lots{Outfit: ledgertest.NewOutfit()}
	_, l.run, _ = harvested(l.Outfit)
	l.ruleSet = l.Write(12, &ledger.RuleSet{})
	l.lot, l.other = l.Lot(13, "26-01"), l.Lot(13, "26-02")
	l.drum = l.Fill(14, l.lot, l.Settling, "1", 90_000)
	otherDrum := l.Fill(15, l.other, l.Settling, "2", 90_000)
	l.calibration = l.Write(15.5, &ledger.Calibration{InstrumentID: l.Refractometer, Reference: "glass", Expected: 17, AsFound: 17, AsLeft: 17, Tolerance: 0.2})
	r := ledgertest.Moisture(ledger.PlaceContainer, l.drum, 17.5)
	r.InstrumentID = l.Refractometer
	l.reading = l.Write(16, r)
	l.Write(16, ledgertest.Moisture(ledger.PlaceContainer, otherDrum, 17.5))
	l.check = checked(l.Outfit, 20, l.lot, ledger.RuleSetResult{Name: "packer's", Version: 1, Entry: l.ruleSet})
	l.otherCheck = checked(l.Outfit, 21, l.other)
	return l
}

// found is a check of the refractometer.
func (l *lots) found(hours, found, left float64) ledger.ID {
	return l.WriteLate(hours, 30, &ledger.Calibration{InstrumentID: l.Refractometer, Reference: "glass", Expected: 17, AsFound: found, AsLeft: left, Tolerance: 0.2})
}

// A check speaks of its lot until something that it rests on comes or changes, and the reply to
// that entry names it; the check of another lot, about which nothing was said, is not named.
func TestTheReplyNamesTheChecksThatSpeakOfTheirLotNoMore(t *testing.T) {
	t.Parallel()
	for what, c := range map[string]struct {
		entry     func(l *lots)
		one, both bool
	}{
		"another drum":                {func(l *lots) { l.Fill(30, l.lot, l.Settling, "3", 90_000) }, true, false},
		"its drum corrected":          {func(l *lots) { l.Correct(l.drum, 14, l.FillBody(l.lot, l.Settling, "1", 91_000)) }, true, false},
		"its drum moved to the other": {func(l *lots) { l.Correct(l.drum, 14, l.FillBody(l.other, l.Settling, "1", 90_000)) }, true, true},
		"a reading of the lot":        {func(l *lots) { l.Write(30, ledgertest.Moisture(ledger.PlaceLot, l.lot, 17.4)) }, true, false},
		"a reading of its drum":       {func(l *lots) { l.Write(30, ledgertest.Moisture(ledger.PlaceContainer, l.drum, 17.4)) }, true, false},
		"a reading of the tank":       {func(l *lots) { l.Write(30, ledgertest.Moisture(ledger.PlaceTank, l.Settling, 17.4)) }, false, false},
		"its reading corrected":       {func(l *lots) { l.Correct(l.reading, 16, ledgertest.Moisture(ledger.PlaceContainer, l.drum, 17.4)) }, true, false},
		"its reading withdrawn":       {func(l *lots) { l.Withdraw(l.reading) }, true, false},
		"honey poured onto its drum": {func(l *lots) {
			l.Write(30, ledgertest.Move(ledger.PlaceTank, l.Settling, ledger.PlaceContainer, l.drum, 10_000))
		}, true, false},
		"some poured out of its drum": {func(l *lots) {
			l.Write(30, ledgertest.Move(ledger.PlaceContainer, l.drum, ledger.PlaceTank, l.Settling, 10_000))
		}, false, false},
		"all poured out of its drum": {func(l *lots) {
			l.Write(30, ledgertest.Move(ledger.PlaceContainer, l.drum, ledger.PlaceTank, l.Settling, 0))
		}, true, false},
		"its drum dispatched":           {func(l *lots) { l.Dispatch(30, l.drum) }, false, false},
		"the lot corrected":             {func(l *lots) { l.Correct(l.lot, 13, &ledger.Lot{Code: "26-03"}) }, true, false},
		"the lot withdrawn":             {func(l *lots) { l.Withdraw(l.lot) }, true, false},
		"its instrument found wrong":    {func(l *lots) { l.found(25, 17.6, 17) }, true, false},
		"its instrument found good":     {func(l *lots) { l.found(25, 17.1, 17) }, false, false},
		"found good, and left wrong":    {func(l *lots) { l.found(25, 17.1, 17.6) }, false, false},
		"left wrong before the reading": {func(l *lots) { l.found(15.8, 17, 17.6) }, true, false},
		"its good check corrected to left wrong": {func(l *lots) {
			l.Correct(l.calibration, 15.5, &ledger.Calibration{InstrumentID: l.Refractometer, Reference: "glass", Expected: 17, AsFound: 17, AsLeft: 17.6, Tolerance: 0.2})
		}, true, false},
		"a good check withdrawn that stood before a bad one": {func(l *lots) {
			good := l.found(18, 17, 17)
			l.found(25, 17.6, 17)
			l.Withdraw(good)
		}, true, false},
		"a reading more, once it speaks of its lot no more": {func(l *lots) {
			l.Write(30, ledgertest.Moisture(ledger.PlaceLot, l.lot, 17.4))
			l.Write(31, ledgertest.Moisture(ledger.PlaceLot, l.lot, 17.4))
		}, false, false},
		"a reading, where an earlier check of the lot was withdrawn": {func(l *lots) {
			first := l.check
			l.check = checked(l.Outfit, 22, l.lot)
			l.Withdraw(first)
			l.Write(30, ledgertest.Moisture(ledger.PlaceLot, l.lot, 17.4))
		}, true, false},
		"its good check withdrawn":     {func(l *lots) { l.Withdraw(l.calibration) }, false, false},
		"the buyer's limits changed":   {func(l *lots) { l.Correct(l.ruleSet, 12, &ledger.RuleSet{}) }, true, false},
		"the buyer's limits withdrawn": {func(l *lots) { l.Withdraw(l.ruleSet) }, true, false},
		"other limits":                 {func(l *lots) { l.Write(30, &ledger.RuleSet{}) }, false, false},
		"the check itself withdrawn":   {func(l *lots) { l.Withdraw(l.check) }, false, false},
		"a pull":                       {func(l *lots) { l.Pull(30, l.Mill, 10, 0) }, false, false},
	} {
		t.Run(what, func(t *testing.T) {
			t.Parallel()
			l := twoCheckedLots()
			c.entry(l)
			var want []ledger.ID
			if c.one {
				want = append(want, l.check)
			}
			if c.both {
				want = append(want, l.otherCheck)
			}
			if got := checksOf(reply(t, l.Outfit)); !slices.Equal(got, want) {
				t.Errorf("outdated are %v, not %v", got, want)
			}
		})
	}
}

// shortOf is a tank from which pails were drawn that it had not, one after the other.
func shortOf(o *ledgertest.Outfit, tank ledger.ID, hours float64, pails int) (drawn []ledger.ID) {
	for i := range pails {
		drawn = append(drawn, o.Write(hours+float64(i)/10, toWaste(tank, 100_000)))
	}
	return drawn
}

// filledUp puts 200 kg into the settling tank, from which two pails of 100 kg are drawn.
func filledUp(o *ledgertest.Outfit) (out ledger.ID) {
	run := o.Run(1, "1")
	o.Supers(2, run, o.Pull(0, o.Mill, 40, 0), 40)
	out = o.Out(3, run, o.Settling, 200_000)
	shortOf(o, o.Settling, 20, 2)
	return out
}

// What an entry opens or closes about others, of findings that are by themselves, that several
// entries are in, and that somebody settled.
func TestTheReplyNamesWhatAnEntryOpensAndClosesElsewhere(t *testing.T) {
	t.Parallel()
	byInstrument := func(o *ledgertest.Outfit, hours float64, with ledger.ID) ledger.ID {
		r := ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.5)
		r.InstrumentID = with
		return o.Write(hours, r)
	}
	wrong := func(o *ledgertest.Outfit, hours float64, with ledger.ID) ledger.ID {
		return o.Write(hours, &ledger.Calibration{InstrumentID: with, Reference: "glass", Expected: 17, AsFound: 17.6, AsLeft: 17, Tolerance: 0.2})
	}
	for what, c := range map[string]struct {
		story          func(o *ledgertest.Outfit)
		opened, closed string
	}{
		"somebody settles it": {func(o *ledgertest.Outfit) {
			o.Accept(40, shortOf(o, o.Settling, 20, 1)[0], ledger.Overdrawn)
		}, "[]", "[drawn_more_than_held]"},
		"and takes that back": {func(o *ledgertest.Outfit) {
			o.Withdraw(o.Accept(40, shortOf(o, o.Settling, 20, 1)[0], ledger.Overdrawn))
		}, "[drawn_more_than_held]", "[]"},
		"one pail more of what was settled": {func(o *ledgertest.Outfit) {
			first := shortOf(o, o.Settling, 20, 1)[0]
			o.Accept(40, first, ledger.Overdrawn)
			shortOf(o, o.Settling, 21, 1)
		}, "[]", "[]"}, // the finding is about the new pail itself
		"one pail of three is corrected": {func(o *ledgertest.Outfit) {
			third := shortOf(o, o.Settling, 20, 3)[2]
			o.Correct(third, 20.2, toWaste(o.Sump, 100))
		}, "[]", "[]"}, // that the sump had not 100 g either is about the entry itself
		"the transfer that was missing": {func(o *ledgertest.Outfit) {
			shortOf(o, o.Settling, 20, 3)
			run := o.Run(1, "1")
			o.Supers(2, run, o.Pull(0, o.Mill, 40, 0), 40)
			o.Out(3, run, o.Settling, 400_000)
		}, "[]", "[drawn_more_than_held]"},
		"it was missing before other odd things": {func(o *ledgertest.Outfit) {
			shortOf(o, o.Settling, 20, 3)
			o.Write(21, ledgertest.Moisture(ledger.PlaceTank, o.Sump, 13))
			o.Write(22, ledgertest.Moisture(ledger.PlaceTank, o.Sump, 13.1))
			o.Write(23, ledgertest.Moisture(ledger.PlaceTank, o.Sump, 13.2))
			run := o.Run(1, "1")
			o.Supers(2, run, o.Pull(0, o.Mill, 40, 0), 40)
			o.Out(3, run, o.Settling, 400_000)
		}, "[]", "[drawn_more_than_held]"},
		"it runs short in two tanks": {func(o *ledgertest.Outfit) {
			small := twoTanks(o)
			shortOf(o, o.Settling, 0.5, 2)
			harvest := o.Run(1, "1")
			o.Supers(2, harvest, o.Pull(0, o.Mill, 40, 0), 40)
			out := o.Out(3, harvest, small, 200_000)
			shortOf(o, small, 30, 2)
			o.Withdraw(out)
		}, "[drawn_more_than_held]", "[]"},
		"a transfer is withdrawn after a pail too many": {func(o *ledgertest.Outfit) {
			shortOf(o, o.Settling, 0.5, 1)
			o.Withdraw(filledUp(o))
		}, "[]", "[]"}, // the pails after it join what was found before
		"a transfer is withdrawn after a pail too many that was settled": {func(o *ledgertest.Outfit) {
			o.Accept(0.7, shortOf(o, o.Settling, 0.5, 1)[0], ledger.Overdrawn)
			o.Withdraw(filledUp(o))
		}, "[drawn_more_than_held]", "[]"},
		"a transfer is withdrawn after ten kilograms too many, which chance explains": {func(o *ledgertest.Outfit) {
			_, run, _ := harvested(o)
			o.Write(13, toWaste(o.Settling, 510_000))
			out := o.Out(15, run, o.Settling, 200_000)
			shortOf(o, o.Settling, 20, 2)
			o.Withdraw(out)
		}, "[drawn_more_than_held]", "[]"},
		"a wash is recorded late, before what ran short": {func(o *ledgertest.Outfit) {
			harvested(o)
			shortOf(o, o.Settling, 20, 3)
			shortOf(o, o.Sump, 25, 1)
			o.WriteLate(15, 30, &ledger.Wash{TankID: o.Settling})
		}, "[drawn_more_than_held]", "[]"},
		"its instrument is found wrong": {func(o *ledgertest.Outfit) {
			harvested(o)
			byInstrument(o, 20, o.Refractometer)
			wrong(o, 30, o.Refractometer)
		}, "[]", "[]"}, // the finding is about the check itself
		"that check is withdrawn": {func(o *ledgertest.Outfit) {
			harvested(o)
			byInstrument(o, 20, o.Refractometer)
			o.Withdraw(wrong(o, 30, o.Refractometer))
		}, "[]", "[instrument_doubtful]"},
		"the reading in doubt is of another instrument": {func(o *ledgertest.Outfit) {
			harvested(o)
			reading := byInstrument(o, 20, o.Refractometer)
			wrong(o, 30, o.Refractometer)
			o.Correct(reading, 20, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.5))
		}, "[]", "[instrument_doubtful]"},
		"one more is found by a reading recorded late": {func(o *ledgertest.Outfit) {
			harvested(o)
			second := o.SetUp(&ledger.Instrument{Name: "second", Scale: "moisture", Compensates: true})
			byInstrument(o, 20, o.Refractometer)
			wrong(o, 30, o.Refractometer)
			wrong(o, 31, second)
			byInstrument(o, 21, second)
		}, "[instrument_doubtful]", "[]"},
		"a dispatch named a drum twice that had gone": {func(o *ledgertest.Outfit) {
			drum := drummed(o, 290_000)
			o.Release(25, o.Entries[len(o.Entries)-2].ID)
			o.Dispatch(30, drum)
			twice := o.Dispatch(31, drum, drum)
			o.Correct(twice, 31, &ledger.Dispatch{BuyerID: o.Buyer, Containers: []ledger.ID{drum}})
		}, "[]", "[]"},
	} {
		t.Run(what, func(t *testing.T) {
			t.Parallel()
			o := ledgertest.NewOutfit()
			c.story(o)
			got := reply(t, o)
			codes := func(flags []*ledger.Flag) string {
				out := []ledger.Code{}
				for _, f := range flags {
					out = append(out, f.Code)
				}
				return fmt.Sprint(out)
			}
			if codes(got.Opened) != c.opened || codes(got.Closed) != c.closed {
				t.Errorf("it opened %s and closed %s, not %s and %s", codes(got.Opened), codes(got.Closed), c.opened, c.closed)
			}
		})
	}
}

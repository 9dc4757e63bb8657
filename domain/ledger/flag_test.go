package ledger_test

import (
	"slices"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// oddity is how a flag comes about, how a correction or withdrawal cures it,
// and what it says.
type oddity struct {
	code            ledger.Code
	name            string
	expected, found float64
	massG           int64
	// raise writes what is odd and gives the entry; cure makes it right.
	raise func(o *ledgertest.Outfit) ledger.ID
	cure  func(o *ledgertest.Outfit, odd ledger.ID)
}

// again corrects the odd entry to another body at the same hour.
func again(hours float64, body func(o *ledgertest.Outfit) ledger.Body) func(*ledgertest.Outfit, ledger.ID) {
	return func(o *ledgertest.Outfit, odd ledger.ID) { o.Correct(odd, hours, body(o)) }
}

func withdraw(o *ledgertest.Outfit, odd ledger.ID) { o.Withdraw(odd) }

// deeps is a pull of ten deep supers: 100 kg empty, 350 kg as usual, 460 kg at
// the fullest.
func deeps(grossG int64) func(o *ledgertest.Outfit) ledger.Body {
	return func(o *ledgertest.Outfit) ledger.Body {
		return &ledger.Pull{YardID: o.Mill, Supers: []ledger.SuperCount{{SuperKindID: o.Deep, Supers: 10}}, GrossG: grossG}
	}
}

// written gives a body that is written at an hour.
func written(hours float64, body func(o *ledgertest.Outfit) ledger.Body) func(*ledgertest.Outfit) ledger.ID {
	return func(o *ledgertest.Outfit) ledger.ID { return o.Write(hours, body(o)) }
}

// drummed fills a drum of a net weight out of 700 kg; 290 kg are usual.
func drummed(o *ledgertest.Outfit, netG int64) ledger.ID {
	pull := o.Pull(0, o.Mill, 20, 0)
	run := o.Run(10, "1")
	o.Supers(11, run, pull, 20)
	o.Out(12, run, o.Settling, 700_000)
	return o.Fill(21, o.Lot(20, "26-01"), o.Settling, "1", netG)
}

func drumOf(netG int64) func(*ledgertest.Outfit) ledger.ID {
	return func(o *ledgertest.Outfit) ledger.ID { return drummed(o, netG) }
}

// usualDrum corrects the fill to what it should have been.
func usualDrum(o *ledgertest.Outfit, odd ledger.ID) {
	for _, e := range o.Entries {
		if e.ID == odd {
			right := *e.Body.(*ledger.Fill)
			right.GrossG = right.TareG + 291_000
			o.Correct(odd, 21, &right)
			return
		}
	}
}

func moisture(pct float64) func(o *ledgertest.Outfit) ledger.Body {
	return func(o *ledgertest.Outfit) ledger.Body { return ledgertest.Moisture(ledger.PlaceTank, o.Settling, pct) }
}

var oddEntries = []oddity{
	{ledger.SupersOverrun, "five supers into a run of a pull that has two left", 2, 5, 3 * 25_000,
		func(o *ledgertest.Outfit) ledger.ID {
			pull := o.Pull(0, o.Mill, 40, 0)
			run := o.Run(10, "1")
			o.Supers(11, run, pull, 38)
			return o.Supers(12, run, pull, 5)
		}, withdraw},
	{ledger.Overdrawn, "580 kg drawn of 500", 500, 580, 80_000,
		func(o *ledgertest.Outfit) ledger.ID {
			harvested(o)
			return o.Write(20, toWaste(o.Settling, 580_000))
		}, again(20, func(o *ledgertest.Outfit) ledger.Body { return toWaste(o.Settling, 500_000) })},
	{ledger.Overfilled, "a sump for 300 kg with 310", 300, 310, 10_000,
		func(o *ledgertest.Outfit) ledger.ID {
			_, run, _ := harvested(o)
			o.Out(13, run, o.Sump, 100_000)
			return o.Pump(14, o.Settling, o.Sump, 210_000)
		}, again(14, func(o *ledgertest.Outfit) ledger.Body {
			return ledgertest.Move(ledger.PlaceTank, o.Settling, ledger.PlaceTank, o.Sump, 200_000)
		})},
	{ledger.MoistureUnusual, "a moisture of 13.0", 14.5, 13, 0,
		written(20, moisture(13)), again(20, moisture(14.5))},
	{ledger.MoistureUnusual, "a moisture of 24 in a tank of 500 kg", 21, 24, 500_000,
		func(o *ledgertest.Outfit) ledger.ID {
			harvested(o)
			return o.Write(20, moisture(24)(o))
		}, again(20, moisture(21))},
	{ledger.PullTooHeavy, "ten deep supers of 500 kg", 460, 500, 40_000, written(0, deeps(500_000)), again(0, deeps(460_000))},
	{ledger.PullTooLight, "ten deep supers of 99 kg", 100, 99, 251_000, written(0, deeps(99_000)), again(0, deeps(0))},
	{ledger.PoundsForKilograms, "ten deep supers of 771 'kg'", 350, 771, 421_000, written(0, deeps(771_000)), again(0, deeps(350_000))},
	{ledger.PoundsForKilograms, "ten deep supers of 158.8 'kg'", 350, 158.8, 191_200, written(0, deeps(158_800)), again(0, deeps(350_000))},
	{ledger.PoundsForKilograms, "a drum of 639 'kg'", 290, 639, 349_000, drumOf(639_000), usualDrum},
	{ledger.GrossAsNet, "a drum whose net is a gross", 290, 308, 18_000, drumOf(308_000), usualDrum},
	{ledger.LoadTwice, "the same load three minutes later", 6, 3, 0,
		func(o *ledgertest.Outfit) ledger.ID {
			run := o.Run(10, "1")
			o.Write(11, &ledger.Load{RunID: run, Load: 1, FramesLeft: 30, FramesRight: 30})
			return o.Write(11.05, &ledger.Load{RunID: run, Load: 2, FramesLeft: 30, FramesRight: 30})
		}, withdraw},
	{ledger.LoadTwice, "a load number that was given before", 6, 120, 0,
		func(o *ledgertest.Outfit) ledger.ID {
			run := o.Run(10, "1")
			o.Write(11, &ledger.Load{RunID: run, Load: 1, FramesLeft: 30, FramesRight: 30})
			return o.Write(13, &ledger.Load{RunID: run, Load: 1, FramesLeft: 29, FramesRight: 30})
		}, withdraw},
	{ledger.RecordedLate, "a wash of five days ago", 3, 5, 0,
		func(o *ledgertest.Outfit) ledger.ID { return o.WriteLate(0, 120, &ledger.Wash{TankID: o.Sump}) },
		// It was written down late because the day was mistyped.
		func(o *ledgertest.Outfit, odd ledger.ID) { o.Correct(odd, 119, &ledger.Wash{TankID: o.Sump}) }},
	{ledger.RunTooRich, "800 kg out of boxes that hold 720", 720, 800, 80_000,
		func(o *ledgertest.Outfit) ledger.ID {
			_, run, _ := harvested(o)
			return o.Out(13, run, o.Settling, 300_000)
		}, withdraw},
	{ledger.RunWithoutSupers, "300 kg out of a run without supers", 0, 300, 300_000,
		func(o *ledgertest.Outfit) ledger.ID { return o.Out(12, o.Run(10, "1"), o.Settling, 300_000) },
		func(o *ledgertest.Outfit, odd ledger.ID) {
			run := o.Entries[len(o.Entries)-2].ID
			o.Supers(11, run, o.Pull(0, o.Mill, 20, 0), 20)
		}},
	{ledger.WashedFull, "a tank for 2,000 kg washed with 500 in it", 0, 500, 500_000,
		func(o *ledgertest.Outfit) ledger.ID {
			harvested(o)
			return o.Write(20, &ledger.Wash{TankID: o.Settling})
		}, func(o *ledgertest.Outfit, _ ledger.ID) { o.Write(19, toWaste(o.Settling, 460_000)) }},
	{ledger.RestsOnWithdrawn, "honey out of a run that was withdrawn", 0, 500, 500_000,
		func(o *ledgertest.Outfit) ledger.ID {
			_, run, out := harvested(o)
			o.Withdraw(run)
			return out
		}, withdraw},
	{ledger.RestsOnWithdrawn, "a withdrawn run taken up again", 0, 500, 500_000,
		func(o *ledgertest.Outfit) ledger.ID {
			_, run, out := harvested(o)
			o.Withdraw(run)
			return out
		}, func(o *ledgertest.Outfit, _ ledger.ID) {
			o.Correct(o.Entries[len(o.Entries)-1].ID, 10, &ledger.Run{Name: "1", FramesPerSide: 30})
		}},
	{ledger.ContainerEmpty, "300 kg out of a drum of 290", 290, 300, 10_000,
		func(o *ledgertest.Outfit) ledger.ID {
			return o.Write(30, ledgertest.Move(ledger.PlaceContainer, drummed(o, 290_000), ledger.PlaceTank, o.Settling, 300_000))
		}, withdraw},
	{ledger.ContainerEmpty, "a drum reworked twice", 0, 0, 0,
		func(o *ledgertest.Outfit) ledger.ID {
			drum := drummed(o, 290_000)
			o.Write(30, ledgertest.Move(ledger.PlaceContainer, drum, ledger.PlaceTank, o.Settling, 0))
			return o.Write(31, ledgertest.Move(ledger.PlaceContainer, drum, ledger.PlaceTank, o.Settling, 0))
		}, withdraw},
	{ledger.ContainerEmpty, "a drum dispatched twice", 0, 0, 0,
		func(o *ledgertest.Outfit) ledger.ID {
			drum := drummed(o, 290_000)
			o.Dispatch(30, drum)
			return o.Dispatch(31, drum)
		}, withdraw},
}

func flagged(b *ledger.Book, code ledger.Code, entry ledger.ID) *ledger.Flag {
	for _, f := range b.State().Findings() {
		if f.Code == code && (f.Entry == entry || slices.Contains(f.With, entry)) {
			return f
		}
	}
	return nil
}

func TestWhatIsOddIsFlaggedUntilItIsCuredOrAccepted(t *testing.T) {
	t.Parallel()
	for _, odd := range oddEntries {
		t.Run(odd.name, func(t *testing.T) {
			t.Parallel()
			odd.hold(t)
		})
	}
}

// hold writes what is odd, accepts it, takes the acceptance back and cures it.
func (odd oddity) hold(t *testing.T) {
	o := ledgertest.NewOutfit()
	id := odd.raise(o)
	f := flagged(open(t, o), odd.code, id)
	if f == nil {
		t.Fatalf("%s is not flagged: %+v", odd.code, open(t, o).State().Flags())
	}
	near(t, "expected", f.Expected, odd.expected)
	near(t, "found", f.Found, odd.found)
	if f.MassG != odd.massG {
		t.Errorf("%d g are in question, and not %d", f.MassG, odd.massG)
	}
	if f.Accepted != nil {
		t.Errorf("accepted by entry %d, and nobody did", f.Accepted.Number)
	}

	accepted := &ledgertest.Outfit{Scribe: ledgertest.Scribe{Entries: o.Entries[:len(o.Entries):len(o.Entries)]}}
	why := accepted.Accept(200, id, odd.code)
	if f := flagged(open(t, accepted), odd.code, id); f == nil || f.Accepted == nil || f.Accepted.ID != why {
		t.Errorf("accepted, and yet the flag is %+v", f)
	}
	accepted.Withdraw(why)
	if f := flagged(open(t, accepted), odd.code, id); f == nil || f.Accepted != nil {
		t.Errorf("the acceptance was withdrawn, and yet the flag is %+v", f)
	}

	odd.cure(o, id)
	if f := flagged(open(t, o), odd.code, id); f != nil {
		t.Errorf("cured, and yet there is %+v", *f)
	}
}

func TestWhatIsOrdinaryIsNotFlagged(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull := o.Pull(0, o.Mill, 20, 700_000)
	run := o.Run(10, "1")
	o.Supers(11, run, pull, 20)
	for i := range 4 {
		at := 11 + 0.2*float64(i) // twelve minutes a load
		o.Write(at, &ledger.Load{RunID: run, Load: i + 1, FramesLeft: 30, FramesRight: 30})
		o.Out(at, run, o.Sump, 125_000)
		o.Pump(at+0.1, o.Sump, o.Settling, 125_000)
	}
	o.Write(13, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 14.5))
	o.Write(13, ledgertest.Moisture(ledger.PlaceTank, o.Sump, 21))
	lot := o.Lot(20, "26-01")
	drum := o.Fill(21, lot, o.Settling, "1", 290_000)
	o.Release(22, lot)
	o.Dispatch(30, drum)
	o.WriteLate(31, 31+72, toWaste(o.Settling, 210_000)) // three days to the hour
	o.WriteLate(32, 50, &ledger.Wash{TankID: o.Settling})
	if flags := open(t, o).State().Findings(); len(flags) != 0 {
		t.Errorf("odd is said to be %+v", flags)
	}
}

// TestACorrectionIsNotLate: the first entry was in time, and what is corrected
// weeks later is not recorded late. Figures of older records are not, either.
func TestACorrectionIsNotLate(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	id := o.Write(0, &ledger.Wash{TankID: o.Sump})
	o.Put(ledger.Entry{OccurredAt: ledgertest.At(1), RecordedAt: ledgertest.At(900), Replaces: id, Reason: "the other tank",
		Body: &ledger.Wash{TankID: o.Settling}})
	o.Put(ledger.Entry{OccurredAt: ledgertest.At(-9000), RecordedAt: ledgertest.At(900), Via: ledger.ViaImport,
		Body: &ledger.Wash{TankID: o.Settling}})
	if flags := open(t, o).State().Findings(); len(flags) != 0 {
		t.Errorf("odd is said to be %+v", flags)
	}
}

// What a dispatch names that is no container, or is empty, takes nothing from those that are.
func TestADispatchTakesItsContainersWhateverElseItNames(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	lot := o.Lot(0, "26-1")
	drum := o.Fill(1, lot, o.Settling, "1", 290_000)
	empty := o.Fill(1, lot, o.Settling, "2", 0)
	o.Release(2, lot)
	o.Dispatch(3, lot, empty, drum)
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	if totals := b.State().Totals(); totals.Dispatched != 290_000 {
		t.Errorf("%+v", totals)
	}
}

// TestADispatchedDrumLeavesOnce: the second dispatch takes nothing.
func TestADispatchedDrumLeavesOnce(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	drum := drummed(o, 290_000)
	first := o.Dispatch(30, drum)
	second := o.Dispatch(31, drum)
	s := open(t, o).State()
	if d := s.Totals().Dispatched; d != 290_000 {
		t.Errorf("%d g were dispatched", d)
	}
	if a, b := s.DispatchedBy(first), s.DispatchedBy(second); a != 290_000 || b != 0 {
		t.Errorf("the first dispatch took %d g, the second %d", a, b)
	}
	if h, _ := s.Holder(drum); h.Gone == nil || h.Gone.ID != first {
		t.Errorf("the drum went with %v", h.Gone)
	}
	if o.Withdraw(first); open(t, o).State().DispatchedBy(second) != 290_000 {
		t.Error("the first dispatch was withdrawn, and the second took nothing")
	}
}

package ledger_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

func open(t *testing.T, o *ledgertest.Outfit) *ledger.Book {
	t.Helper()
	b := mustOpen(t, o.Entries)
	sound(t, b, b.State())
	return b
}

// holds fails unless a tank or container has so many grams.
func holds(t *testing.T, s *ledger.State, id ledger.ID, grams int64) {
	t.Helper()
	if h, _ := s.Holder(id); h.Grams != grams {
		t.Errorf("%v has %d g and should have %d", h.Place, h.Grams, grams)
	}
}

// share is what an origin has of a holder.
func share(s *ledger.State, id, origin ledger.ID) float64 {
	h, _ := s.Holder(id)
	if h.Mix != nil {
		for _, p := range h.Mix.Parts {
			if p.Origin == origin {
				return p.Share
			}
		}
	}
	return 0
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if d := got - want; d > 1e-9 || d < -1e-9 {
		t.Errorf("%s is %v and should be %v", what, got, want)
	}
}

// harvested is 500 kg of Mill's honey in the large tank.
func harvested(o *ledgertest.Outfit) (pull, run, out ledger.ID) {
	pull = o.Pull(0, o.Mill, 20, 0)
	run = o.Run(10, "1")
	o.Supers(11, run, pull, 20)
	return pull, run, o.Out(12, run, o.Settling, 500_000)
}

func toWaste(tank ledger.ID, grams int64) *ledger.Movement {
	return ledgertest.Move(ledger.PlaceTank, tank, ledger.PlaceWaste, ledger.ID{}, grams)
}

func TestMoreDrawnThanHeldIsUnexplainedUntilALateEntryExplainsIt(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	_, run, _ := harvested(o)
	lot := o.Lot(20, "26-01")
	drum := o.Fill(21, lot, o.Settling, "1", 290_000)
	drum2 := o.Fill(22, lot, o.Settling, "2", 230_000)
	s := open(t, o).State()
	holds(t, s, o.Settling, 0)
	holds(t, s, drum, 290_000)
	holds(t, s, drum2, 230_000)
	if u := s.Totals().Unexplained; u != 20_000 {
		t.Errorf("520 kg were drawn of 500, and %d g are unexplained", u)
	}
	near(t, "the unexplained part of the second drum", share(s, drum2, ledger.Unexplained), 20.0/230)

	// The last load had been pumped over and nobody wrote it down.
	o.WriteLate(13, 40, ledgertest.OutBody(run, o.Settling, 60_000))
	s = open(t, o).State()
	holds(t, s, o.Settling, 40_000)
	if u := s.Totals().Unexplained; u != 0 {
		t.Errorf("the late entry explains all, yet %d g are unexplained", u)
	}
	near(t, "the unexplained part of the second drum", share(s, drum2, ledger.Unexplained), 0)
	if len(s.Flags()) != 0 {
		t.Errorf("nothing is odd any more, yet there is %v", s.Flags())
	}
}

func TestAStocktakeSetsTheTankAndBooksTheDifference(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull, _, _ := harvested(o)
	o.Write(20, &ledger.Stocktake{TankID: o.Settling, Method: "dip", MassG: 510_000})
	b := open(t, o)
	holds(t, b.State(), o.Settling, 510_000)
	if g := b.State().Totals().Gained; g != 10_000 {
		t.Errorf("the dip found 10 kg more, and %d g are gained", g)
	}
	near(t, "what the dip found, of the tank", share(b.State(), o.Settling, ledger.Unexplained), 10.0/510)

	o.Write(21, &ledger.Stocktake{TankID: o.Settling, Method: "scale", MassG: 480_000})
	b = open(t, o)
	holds(t, b.State(), o.Settling, 480_000)
	if l := b.State().Totals().Lost; l != 30_000 {
		t.Errorf("the scale found 30 kg less, and %d g are lost", l)
	}
	near(t, "Mill's part, of which as much was lost as of the rest", share(b.State(), o.Settling, pull), 500.0/510)
}

func TestWhatIsWashedOutIsInNothingThatFollows(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull, _, _ := harvested(o)
	o.Write(20, toWaste(o.Settling, 480_000))
	o.Write(21, &ledger.Wash{TankID: o.Settling})
	pull2 := o.Pull(22, o.Ridge, 10, 0)
	run2 := o.Run(23, "2")
	o.Supers(23, run2, pull2, 10)
	o.Out(24, run2, o.Settling, 200_000)
	s := open(t, o).State()
	holds(t, s, o.Settling, 200_000)
	near(t, "Mill's part", share(s, o.Settling, pull), 0)
	near(t, "Ridge's part", share(s, o.Settling, pull2), 1)
	if totals := s.Totals(); totals.Lost != 20_000 || totals.Washed != 20_000 || totals.Wasted != 480_000 {
		t.Errorf("20 kg went with the wash and 480 to waste, the book says %+v", totals)
	}
	if len(s.Flags()) != 0 {
		t.Errorf("20 kg of a tank for 2,000 cling to it; that is not odd, yet there is %v", s.Flags())
	}
}

func TestADrumReworkedGoesBackToTheTankWithItsOwnMakeUp(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull, _, _ := harvested(o)
	lot := o.Lot(20, "26-01")
	drum := o.Fill(21, lot, o.Settling, "1", 290_000)
	o.Write(22, toWaste(o.Settling, 210_000))
	pull2 := o.Pull(22, o.Ridge, 10, 0)
	run2 := o.Run(23, "2")
	o.Supers(23, run2, pull2, 10)
	o.Out(24, run2, o.Settling, 110_000)
	rework := o.Write(25, ledgertest.Move(ledger.PlaceContainer, drum, ledger.PlaceTank, o.Settling, 0))
	s := open(t, o).State()
	holds(t, s, drum, 0)
	holds(t, s, o.Settling, 400_000)
	near(t, "Mill's part", share(s, o.Settling, pull), 290.0/400)
	near(t, "Ridge's part", share(s, o.Settling, pull2), 110.0/400)
	if h, _ := s.Holder(drum); h.Gone == nil || h.Gone.ID != rework {
		t.Errorf("the rework emptied the drum, the book says %v", h.Gone)
	}
	if l := s.Lot(lot); l.FilledG != 290_000 || l.HeldG != 0 || l.DispatchedG != 0 {
		t.Errorf("a reworked lot of 290 kg is %+v", l)
	}
}

func TestTheHoneyOfARunIsSharedAmongTwoYards(t *testing.T) {
	t.Parallel()
	for _, run := range []struct {
		name                  string
		millGross, ridgeGross int64
		mill, ridge           int
		how                   ledger.Allocation
		// millShare is worked out beside each.
		millShare float64
	}{
		// 40 x 35 - 40 x 10 = 1,000 kg net; 20 x 36 - 20 x 10 = 520 kg net.
		{"all boxes weighed", 1_400_000, 720_000, 40, 20, ledger.Weighed, 1000.0 / 1520},
		// Half of Mill's boxes carry half of its weighed honey.
		{"part of a weighed pull", 1_400_000, 720_000, 20, 20, ledger.Weighed, 500.0 / 1020},
		// Not all weighed: by supers times the usual 25 kg, 40 to 20.
		{"one yard not weighed", 1_400_000, 0, 40, 20, ledger.SharedOut, 40.0 / 60},
		{"none weighed", 0, 0, 40, 20, ledger.SharedOut, 40.0 / 60},
		// Ridge's scale shows less than its empty boxes: as good as not weighed.
		{"a weight that cannot be", 1_400_000, 150_000, 40, 20, ledger.SharedOut, 40.0 / 60},
		{"one pull", 1_400_000, 0, 40, 0, ledger.OnePull, 1},
	} {
		o := ledgertest.NewOutfit()
		mill := o.Pull(0, o.Mill, 40, run.millGross)
		ridge := o.Pull(1, o.Ridge, 20, run.ridgeGross)
		id := o.Run(10, "1")
		o.Out(12, id, o.Settling, 300_000) // the supers are written down after the honey
		o.Supers(11, id, mill, run.mill)
		if run.ridge > 0 {
			o.Supers(11, id, ridge, run.ridge)
		}
		b := open(t, o)
		if h := b.Harvest(id); h.How != run.how {
			t.Errorf("%s: the honey is %q, and should be %q", run.name, h.How, run.how)
		}
		near(t, run.name+": Mill's part", share(b.State(), o.Settling, mill), run.millShare)
		near(t, run.name+": Ridge's part", share(b.State(), o.Settling, ridge), 1-run.millShare)
	}
}

func TestSupersOfSeveralKindsAreSharedByWhatTheyUsuallyHold(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	mill := o.Pull(0, o.Mill, 10, 0)
	ridge := o.Write(1, &ledger.Pull{YardID: o.Ridge, Supers: []ledger.SuperCount{{SuperKindID: o.Shallow, Supers: 10}}})
	run := o.Run(10, "1")
	o.Supers(10, run, mill, 10)
	o.Write(10, &ledger.RunSupers{RunID: run, PullID: ridge, SuperCount: ledger.SuperCount{SuperKindID: o.Shallow, Supers: 10}})
	o.Out(12, run, o.Settling, 300_000)
	b := open(t, o)
	// 10 x 25 to 10 x 12.5.
	near(t, "Mill's part", share(b.State(), o.Settling, mill), 2.0/3)

	// The shallow supers were found to hold 25 kg as well: half and half.
	heavier := o.ShallowKind
	heavier.UsualNetG, heavier.FullestNetG = 25_000, 36_000
	o.Correct(o.Shallow, 0, &heavier)
	near(t, "Mill's part", share(open(t, o).State(), o.Settling, mill), 0.5)
}

func TestHoneyOfARunWithoutSupersIsTheRunsOwn(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(10, "1")
	o.Out(12, run, o.Settling, 300_000)
	b := open(t, o)
	if h := b.Harvest(run); h.How != ledger.NoSupers {
		t.Errorf("the honey is %q", h.How)
	}
	near(t, "the run's part", share(b.State(), o.Settling, run), 1)

	// The supers are remembered the next day.
	pull := o.Pull(0, o.Mill, 20, 0)
	o.WriteLate(11, 36, o.SupersBody(run, pull, 20))
	near(t, "Mill's part", share(open(t, o).State(), o.Settling, pull), 1)
}

func TestACorrectionStandsInTheSteadOfWhatItCorrects(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull, run, out := harvested(o)
	fixed := o.Correct(out, 12, ledgertest.OutBody(run, o.Sump, 250_000))
	b := open(t, o)
	holds(t, b.State(), o.Settling, 0)
	holds(t, b.State(), o.Sump, 250_000)
	if e := b.InForce(out); e == nil || e.ID != fixed {
		t.Errorf("entry %s stands as %v", out, e)
	}
	if _, by := b.Entry(out); by == nil || by.ID != fixed {
		t.Errorf("the first entry was replaced by %v", by)
	}

	// A correction of the correction, which moves it to another day.
	again := o.Correct(fixed, 36, ledgertest.OutBody(run, o.Sump, 260_000))
	b = open(t, o)
	holds(t, b.State(), o.Sump, 260_000)
	holds(t, b.StateAt(ledgertest.At(20)), o.Sump, 0)
	if b.Root(again) != out {
		t.Errorf("the correction of the correction is known as %s, not as %s", b.Root(again), out)
	}
	near(t, "Mill's part", share(b.State(), o.Sump, pull), 1)
}

// TestWhatIsWithdrawnNeverHappened withdraws each kind of thing that moves
// honey, and takes it up again by correcting the withdrawal.
func TestWhatIsWithdrawnNeverHappened(t *testing.T) {
	t.Parallel()
	for _, w := range []struct {
		name string
		// last writes one more thing, whose withdrawal undoes it.
		last func(o *ledgertest.Outfit, run, lot, drum ledger.ID) ledger.ID
	}{
		{"a pump", func(o *ledgertest.Outfit, _, _, _ ledger.ID) ledger.ID { return o.Pump(30, o.Settling, o.Sump, 50_000) }},
		{"a spill", func(o *ledgertest.Outfit, _, _, _ ledger.ID) ledger.ID {
			return o.Write(30, toWaste(o.Settling, 50_000))
		}},
		{"a dip", func(o *ledgertest.Outfit, _, _, _ ledger.ID) ledger.ID {
			return o.Write(30, &ledger.Stocktake{TankID: o.Settling, Method: "dip", MassG: 1_000})
		}},
		{"a wash", func(o *ledgertest.Outfit, _, _, _ ledger.ID) ledger.ID {
			return o.Write(30, &ledger.Wash{TankID: o.Settling})
		}},
		{"a fill", func(o *ledgertest.Outfit, _, lot, _ ledger.ID) ledger.ID {
			return o.Fill(30, lot, o.Settling, "2", 100_000)
		}},
		{"a rework", func(o *ledgertest.Outfit, _, _, drum ledger.ID) ledger.ID {
			return o.Write(30, ledgertest.Move(ledger.PlaceContainer, drum, ledger.PlaceTank, o.Settling, 0))
		}},
		{"a dispatch", func(o *ledgertest.Outfit, _, _, drum ledger.ID) ledger.ID { return o.Dispatch(30, drum) }},
		{"a pull", func(o *ledgertest.Outfit, _, _, _ ledger.ID) ledger.ID { return o.Pull(30, o.Ridge, 9, 400_000) }},
		{"supers into a run", func(o *ledgertest.Outfit, run, _, _ ledger.ID) ledger.ID {
			return o.Supers(30, run, o.Pull(29, o.Ridge, 9, 0), 9)
		}},
		{"a reading", func(o *ledgertest.Outfit, _, _, _ ledger.ID) ledger.ID {
			return o.Write(30, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 25))
		}},
	} {
		o := ledgertest.NewOutfit()
		_, run, _ := harvested(o)
		lot := o.Lot(20, "26-01")
		drum := o.Fill(21, lot, o.Settling, "1", 290_000)
		before := pictureOf(open(t, o), open(t, o).State())
		id := w.last(o, run, lot, drum)
		with := pictureOf(open(t, o), open(t, o).State())
		gone := o.Withdraw(id)
		b := open(t, o)
		after := pictureOf(b, b.State())
		if before.Totals != after.Totals || len(before.Flags) != len(after.Flags) {
			t.Errorf("%s withdrawn leaves %+v %v behind", w.name, after.Totals, after.Flags)
		}
		if b.InForce(id) != nil {
			t.Errorf("%s stands though it was withdrawn", w.name)
		}
		first, _ := b.Entry(id)
		o.Correct(gone, 30, first.Body)
		b = open(t, o)
		if d := differ(with, pictureOf(b, b.State())); d != "" && w.name != "a rework" && w.name != "a dispatch" {
			t.Errorf("%s taken up again is not as it was: %s", w.name, d)
		}
		if with.Totals != b.State().Totals() {
			t.Errorf("%s taken up again leads to %+v, not %+v", w.name, b.State().Totals(), with.Totals)
		}
	}
}

func TestALateEntryTakesItsPlaceAmongWhatHappened(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull, _, _ := harvested(o)
	drum := o.Fill(30, o.Lot(30, "26-01"), o.Settling, "1", 290_000)
	near(t, "Mill's part of the drum", share(open(t, o).State(), drum, pull), 1)

	// Ridge's run of the day before was written down the day after.
	pull2 := o.Pull(1, o.Ridge, 20, 0)
	run2 := o.Write(20, &ledger.Run{Name: "2", FramesPerSide: 30})
	o.WriteLate(20, 40, o.SupersBody(run2, pull2, 20))
	o.WriteLate(21, 40, ledgertest.OutBody(run2, o.Settling, 500_000))
	b := open(t, o)
	near(t, "Mill's part of the drum", share(b.State(), drum, pull), 0.5)
	near(t, "Ridge's part of the drum", share(b.State(), drum, pull2), 0.5)
	holds(t, b.State(), o.Settling, 710_000)
}

func TestTheBookTellsWhatItKnewThen(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	_, run, out := harvested(o)
	sold := int64(len(o.Entries))
	o.Put(ledger.Entry{OccurredAt: ledgertest.At(12), RecordedAt: ledgertest.At(60), Replaces: out, Reason: "misread",
		Body: ledgertest.OutBody(run, o.Settling, 400_000)})
	b := open(t, o)
	holds(t, b.State(), o.Settling, 400_000)
	then, err := b.AsKnown(sold)
	if err != nil {
		t.Fatal(err)
	}
	holds(t, then.State(), o.Settling, 500_000)
	if n := b.KnownAt(ledgertest.At(59)); n != sold {
		t.Errorf("at hour 59 the book knew %d entries, not %d", n, sold)
	}
	if n := b.KnownAt(ledgertest.At(60)); n != sold+1 {
		t.Errorf("at hour 60 the book knew %d entries, not %d", n, sold+1)
	}
	for _, n := range []int64{-1, b.Len() + 1} {
		if _, err := b.AsKnown(n); err == nil {
			t.Errorf("the book told what it knew at entry %d", n)
		}
	}
}

func TestAnInstantOfThePastIsHadAgain(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	harvested(o)
	o.Write(20, toWaste(o.Settling, 100_000))
	b := open(t, o)
	for hours, grams := range map[float64]int64{11.9: 0, 12: 500_000, 19.9: 500_000, 20: 400_000, 1000: 400_000} {
		holds(t, b.StateAt(ledgertest.At(hours)), o.Settling, grams)
	}
}

func TestWhatCannotBeInABookIsRefused(t *testing.T) {
	t.Parallel()
	wash := func(o *ledgertest.Outfit) *ledger.Wash { return &ledger.Wash{TankID: o.Sump} }
	for _, bad := range []struct {
		name, says string
		write      func(o *ledgertest.Outfit)
	}{
		{"a number left out", "number 12 is missing", func(o *ledgertest.Outfit) {
			o.Write(0, wash(o))
			o.Entries[len(o.Entries)-1].Number++
		}},
		{"an id twice", "has the id", func(o *ledgertest.Outfit) {
			o.Put(ledger.Entry{ID: o.Mill, Body: wash(o)})
		}},
		{"a correction of nothing", "is not in the book before it", func(o *ledgertest.Outfit) {
			o.Correct(ledgertest.ID(999), 0, wash(o))
		}},
		{"a correction of what was corrected", "has replaced", func(o *ledgertest.Outfit) {
			id := o.Write(0, wash(o))
			o.Correct(id, 1, wash(o))
			o.Correct(id, 2, wash(o))
		}},
		{"a wash in the stead of a yard", "cannot replace", func(o *ledgertest.Outfit) {
			o.Correct(o.Mill, 0, wash(o))
		}},
		{"a yard in the stead of a withdrawn wash", "cannot replace", func(o *ledgertest.Outfit) {
			o.Correct(o.Withdraw(o.Write(0, wash(o))), 0, &ledger.Yard{})
		}},
		{"a kind that is none", "something else", func(o *ledgertest.Outfit) {
			o.Write(0, wash(o))
			o.Entries[len(o.Entries)-1].Kind = "harvest moon"
		}},
		{"a body of another kind", "something else", func(o *ledgertest.Outfit) {
			o.Write(0, wash(o))
			o.Entries[len(o.Entries)-1].Kind = ledger.KindRun
		}},
	} {
		o := ledgertest.NewOutfit()
		b := open(t, o)
		bad.write(o)
		if _, err := ledger.Open(time.UTC, o.Entries); err == nil || !strings.Contains(err.Error(), bad.says) {
			t.Errorf("%s: opening says %v", bad.name, err)
		}
		var refused error
		for _, e := range o.Entries[b.Len():] {
			before, length := b.State().Totals(), b.Len()
			if _, err := b.Append(e); err != nil {
				refused = err
				if b.Len() != length || b.State().Totals() != before {
					t.Errorf("%s: refused, and yet the book changed", bad.name)
				}
			}
		}
		if refused == nil || !strings.Contains(refused.Error(), bad.says) {
			t.Errorf("%s: appending says %v", bad.name, refused)
		}
	}
}

func TestAnEntryTellsWhatItChanged(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	_, run, _ := harvested(o)
	b := open(t, o)
	o.Out(13, run, o.Settling, 305_000)
	effect, err := b.Append(o.Entries[len(o.Entries)-1])
	if err != nil {
		t.Fatal(err)
	}
	want := ledger.Level{Place: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, Name: "large tank",
		BeforeG: 500_000, AfterG: 805_000, CapacityG: 2_000_000}
	if len(effect.Levels) != 1 {
		t.Fatalf("it changed %+v, and should have changed %+v", effect.Levels, want)
	}
	got := effect.Levels[0]
	// Never read, so it is expected to be as honey usually is.
	if got.Expected == nil || math.Abs(got.Expected.Moisture.Mean-17.3) > 1e-9 {
		t.Errorf("%+v is expected of it", got.Expected)
	}
	if got.Expected = nil; got != want {
		t.Errorf("it changed %+v, and should have changed %+v", got, want)
	}
	// 20 deeps hold at most 720 kg.
	if len(effect.Flags) != 1 || effect.Flags[0].Code != ledger.RunTooRich || effect.Flags[0].MassG != 85_000 {
		t.Errorf("odd about it is %+v", effect.Flags)
	}
}

// TestATankThatIsNeverEmptyForgetsWhatIsBelowAMilligram leaves 100 of 600 kg in
// the tank each time: of a pull there is a sixth, a thirty-sixth and so on, and
// below 1e-10 after 13 times.
func TestATankThatIsNeverEmptyForgetsWhatIsBelowAMilligram(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	left := int64(100_000)
	for i := range 60 {
		h := float64(24 * i)
		pull := o.Pull(h, o.Mill, 20, 0)
		run := o.Run(h+1, "1")
		o.Supers(h+1, run, pull, 20)
		o.Out(h+2, run, o.Settling, 500_000+left)
		o.Write(h+3, toWaste(o.Settling, 500_000))
		left = 0
	}
	h, _ := open(t, o).State().Holder(o.Settling)
	if n := len(h.Mix.Parts); n != 13 {
		t.Errorf("the tank remembers %d pulls, not 13", n)
	}
}

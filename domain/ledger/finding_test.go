package ledger_test

import (
	"fmt"
	"slices"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// alikeRuns are nine runs of twenty deep supers that gave 500 kg each, one
// after the other, and where their honey went; the tank is emptied after each.
func alikeRuns(o *ledgertest.Outfit) {
	for i := range 9 {
		gave(o, 24*float64(i), fmt.Sprint("alike ", i), 499_000)
	}
}

// gave is a run of twenty deep supers that gave so much, and ended.
func gave(o *ledgertest.Outfit, hours float64, name string, grams int64) (run, out ledger.ID) {
	run = o.Run(hours+10, name)
	o.Supers(hours+10, run, o.Pull(hours, o.Mill, 20, 0), 20)
	out = o.Out(hours+12, run, o.Settling, grams)
	o.Write(hours+13, &ledger.RunEnd{RunID: run})
	o.Write(hours+14, toWaste(o.Settling, grams))
	return run, out
}

// drums are a dozen drums of 290 kg and one of another net, not the last.
func drums(netG int64) func(o *ledgertest.Outfit) ledger.ID {
	return func(o *ledgertest.Outfit) (odd ledger.ID) {
		lot := o.Lot(0, "26-01")
		for i := range 14 {
			gave := int64(289_600)
			if i == 5 {
				gave = netG
			}
			o.Write(float64(i), &ledger.Stocktake{TankID: o.Settling, MassG: 400_000, UncertaintyG: 200_000})
			id := o.Fill(float64(i)+0.5, lot, o.Settling, fmt.Sprint(i), gave)
			if i == 5 {
				odd = id
			}
		}
		return odd
	}
}

var oddInTheBook = []oddity{
	{ledger.StocktakeFarOff, "350 kg where the book has 500", 500, 350, 150_000,
		func(o *ledgertest.Outfit) ledger.ID {
			harvested(o)
			return o.Write(20, &ledger.Stocktake{TankID: o.Settling, Method: "dip", MassG: 350_000, UncertaintyG: 8_000})
		}, again(20, func(o *ledgertest.Outfit) ledger.Body {
			return &ledger.Stocktake{TankID: o.Settling, Method: "dip", MassG: 505_000, UncertaintyG: 8_000}
		})},
	{ledger.MovementTwice, "a run's honey written down again after twelve minutes", 30, 12, 500_000,
		func(o *ledgertest.Outfit) ledger.ID {
			_, run, _ := harvested(o)
			return o.Out(12.2, run, o.Settling, 500_000)
		}, withdraw},
	{ledger.RunYieldUnusual, "a run that gave half of what the others did", 499, 250, 249_000,
		func(o *ledgertest.Outfit) ledger.ID {
			alikeRuns(o)
			run, _ := gave(o, 240, "odd", 250_000)
			return run
		}, func(o *ledgertest.Outfit, run ledger.ID) { o.Out(252.1, run, o.Settling, 250_000) }},
	{ledger.NetUnusual, "a drum of 250 kg among those of 290", 289.6, 250, 39_600, drums(250_000),
		func(o *ledgertest.Outfit, odd ledger.ID) {
			for _, e := range o.Entries {
				if e.ID == odd {
					right := *e.Body.(*ledger.Fill)
					right.GrossG = right.TareG + 290_000
					o.Correct(odd, 5.5, &right)
					return
				}
			}
		}},
	{ledger.NeverExtracted, "five of twenty supers that never came into a run", 20, 15, 125_000,
		func(o *ledgertest.Outfit) ledger.ID {
			pull := o.Pull(0, o.Mill, 20, 0)
			o.Supers(10, o.Run(10, "1"), pull, 15)
			o.Write(15*24, &ledger.Wash{TankID: o.Sump})
			return pull
		}, func(o *ledgertest.Outfit, pull ledger.ID) { o.Supers(48, o.Run(48, "2"), pull, 5) }},
	{ledger.WarmWithoutLog, "a tank usually at 40 C that held honey for three days unlogged", 48, 72, 0,
		func(o *ledgertest.Outfit) ledger.ID {
			usual := 40.0
			warm := o.SetUp(&ledger.Tank{Name: "warm tank", Use: ledger.Heated, CapacityG: 1_000_000, UsualTemperatureC: &usual})
			harvested(o)
			in := o.Pump(24, o.Settling, warm, 450_000)
			o.Write(96, ledgertest.Move(ledger.PlaceTank, warm, ledger.PlaceWaste, ledger.ID{}, 450_000))
			return in
		}, func(o *ledgertest.Outfit, in ledger.ID) {
			for _, e := range o.Entries {
				if e.ID == in {
					held(o, ledger.PlaceTank, e.Body.(*ledger.Movement).To.ID, 30, 90, 40)
					return
				}
			}
		}},
	{ledger.ReadingUnexpected, "a run read at 19.5 whose boxes were read at 17", 17, 19.5, 0,
		func(o *ledgertest.Outfit) ledger.ID {
			pull := o.Pull(0, o.Mill, 20, 0)
			read(o, 1, ledger.PlacePull, pull, 17)
			run := o.Run(10, "1")
			o.Supers(10, run, pull, 20)
			return read(o, 11, ledger.PlaceRun, run, 19.5)
		}, again(11, func(o *ledgertest.Outfit) ledger.Body {
			for _, e := range o.Entries {
				if e.Kind == ledger.KindRun {
					return ledgertest.Moisture(ledger.PlaceRun, e.ID, 17.1)
				}
			}
			return nil
		})},
	{ledger.ReadingUnexpected, "a tank read at 19.5 that should be at 17", 17, 19.5, 500_000,
		func(o *ledgertest.Outfit) ledger.ID {
			readRun(o, 30, "1", 17, 500_000)
			return read(o, 40, ledger.PlaceTank, o.Settling, 19.5)
		}, again(40, func(o *ledgertest.Outfit) ledger.Body { return ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.2) })},
	{ledger.ReadingUnexpected, "a lot read at 14.3 that should be at 17", 17, 14.3, 580_000,
		func(o *ledgertest.Outfit) ledger.ID {
			readRun(o, 30, "1", 17, 900_000)
			lot := o.Lot(49, "26-01")
			o.Fill(50, lot, o.Settling, "1", 290_000)
			o.Fill(51, lot, o.Settling, "2", 290_000)
			return read(o, 60, ledger.PlaceLot, lot, 14.3)
		}, func(o *ledgertest.Outfit, odd ledger.ID) {
			for _, e := range o.Entries {
				if e.Kind == ledger.KindLot {
					o.Correct(odd, 60, ledgertest.Moisture(ledger.PlaceLot, e.ID, 17.1))
					return
				}
			}
		}},
	{ledger.ReadEmpty, "a reading of a tank that no run ever led to", 0, 17.2, 0,
		func(o *ledgertest.Outfit) ledger.ID {
			readRun(o, 30, "1", 17, 500_000)
			return read(o, 40, ledger.PlaceTank, twoTanks(o), 17.2)
		}, again(40, func(o *ledgertest.Outfit) ledger.Body { return ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.2) })},
	{ledger.MoreSpun, "116 boxes by loads in a run that 60 boxes were booked to", 600, 1160, 1_400_000,
		func(o *ledgertest.Outfit) ledger.ID { return spunRun(o, 60, 116) },
		func(o *ledgertest.Outfit, run ledger.ID) { o.Supers(20, run, o.Pull(0, o.Ridge, 56, 0), 56) }},
	{ledger.InstrumentDoubtful, "a check that finds a refractometer 0.5 too high", 17, 17.5, 0,
		func(o *ledgertest.Outfit) ledger.ID {
			harvested(o)
			r := ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.2)
			r.InstrumentID = o.Refractometer
			o.Write(20, r)
			return o.Write(30, &ledger.Calibration{InstrumentID: o.Refractometer, Expected: 17, AsFound: 17.5, AsLeft: 17, Tolerance: 0.2})
		}, again(30, func(o *ledgertest.Outfit) ledger.Body {
			return &ledger.Calibration{InstrumentID: o.Refractometer, Expected: 17, AsFound: 17.1, AsLeft: 17.1, Tolerance: 0.2}
		})},
}

// spunRun is a run into which so many deep boxes of ten frames went, and loads of so
// many.
func spunRun(o *ledgertest.Outfit, booked, spun int) ledger.ID {
	run := o.Run(10, "1")
	o.Supers(10, run, o.Pull(0, o.Mill, booked, 0), booked)
	for i := 0; spun > 0; i++ {
		boxes := min(6, spun)
		spun -= boxes
		o.Write(11+float64(i)/4, &ledger.Load{RunID: run, Load: i + 1, FramesLeft: 5 * boxes, FramesRight: 5 * boxes})
	}
	return run
}

// A box or two miscounted, loads that nobody wrote down, and a load that was entered
// twice, which is a finding of its own, are no finding about the run.
func TestLoadsThatAboutFitTheirBoxesAreNotFound(t *testing.T) {
	t.Parallel()
	found := func(booked, spun int, twice bool) bool {
		o := ledgertest.NewOutfit()
		run := spunRun(o, booked, spun)
		if twice {
			o.Write(11.02, &ledger.Load{RunID: run, Load: 1, FramesLeft: 30, FramesRight: 30})
		}
		return flagged(open(t, o), ledger.MoreSpun, run) != nil
	}
	for _, spun := range []int{0, 6, 58, 60, 64, 70} {
		if found(60, spun, false) {
			t.Errorf("loads of %d boxes in a run of 60 are said not to add up", spun)
		}
	}
	if found(20, 26, true) {
		t.Error("one load of six boxes more, and the same entered twice, in a run of 20 are said not to add up")
	}
	for _, spun := range []int{76, 90, 116} {
		if !found(60, spun, false) {
			t.Errorf("loads of %d boxes in a run of 60 pass", spun)
		}
	}
	if found(0, 60, false) {
		t.Error("no supers were booked, which is a finding of its own, and the loads are said not to add up")
	}
}

// Kilograms that were taken for pounds show in every kind of container, also where
// nobody said what it usually holds: its volume does.
func TestKilogramsTakenForPoundsShowInEveryKindOfContainer(t *testing.T) {
	t.Parallel()
	for name, k := range map[string]struct{ volumeML, netG int64 }{
		"drum": {208_000, 295_000}, "pail": {20_000, 27_200}, "tote": {1_000_000, 1_400_000}, "jar": {370, 500},
	} {
		for _, usual := range []int64{0, k.netG} {
			o := ledgertest.NewOutfit()
			kind := o.SetUp(&ledger.ContainerKind{Name: name, VolumeML: k.volumeML, TareG: k.netG / 20, UsualNetG: usual})
			harvested(o)
			lot := o.Lot(20, "26-01")
			fill := func(number string, netG int64) bool {
				id := o.Write(21, &ledger.Fill{LotID: lot, TankID: o.Settling, ContainerKindID: kind, Container: number, GrossG: netG})
				return flagged(open(t, o), ledger.PoundsForKilograms, id) != nil
			}
			if fill("1", k.netG) {
				t.Errorf("a full %s (usual %d g) looks like pounds", name, usual)
			}
			if !fill("2", k.netG*45359/100_000) {
				t.Errorf("a %s (usual %d g) with 0.45 of what it holds passes", name, usual)
			}
		}
	}
}

func TestWhatDoesNotAddUpIsFoundUntilItIsCuredOrAccepted(t *testing.T) {
	t.Parallel()
	for _, odd := range oddInTheBook {
		t.Run(odd.name, func(t *testing.T) {
			t.Parallel()
			odd.hold(t)
		})
	}
}

// Every finding is settled by an acceptance that the book takes, and by no
// other; it stays visible.
func TestTheBookTakesAnAcceptanceOfAFinding(t *testing.T) {
	t.Parallel()
	for _, odd := range oddInTheBook {
		o := ledgertest.NewOutfit()
		id := odd.raise(o)
		b := open(t, o)
		accept := func(code ledger.Code) error {
			e := ledger.Entry{Number: b.Len() + 1, ID: o.Next(), OccurredAt: ledgertest.At(900), RecordedAt: ledgertest.At(900), RecordedBy: "Ada",
				Reason: "looked into", Kind: ledger.KindAcceptance, Body: &ledger.Acceptance{EntryID: id, Flag: code}}
			return b.Check(&e, ledgertest.At(901))
		}
		if err := accept(odd.code); err != nil {
			t.Errorf("%s: the book refuses its acceptance: %v", odd.name, err)
		}
		if accept(ledger.WashedFull) == nil {
			t.Errorf("%s: the book takes an acceptance of what was not found", odd.name)
		}
	}
}

// likely is what must be the likeliest explanation, and which entry it names.
type likely struct {
	name  string
	code  ledger.Code
	raise func(o *ledgertest.Outfit) (odd, named ledger.ID)
	why   ledger.Why
	value float64
}

// twoTanks gives a second settling tank beside the large one.
func twoTanks(o *ledgertest.Outfit) ledger.ID {
	return o.SetUp(&ledger.Tank{Name: "small tank", Use: ledger.Settling, CapacityG: 1_000_000})
}

var likelyCauses = []likely{
	{"17.6 written as 16.7 where 17.7 is expected", ledger.ReadingUnexpected,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) {
			readRun(o, 30, "1", 18.6, 500_000)
			read(o, 32, ledger.PlaceTank, o.Settling, 18.6)
			return read(o, 40, ledger.PlaceTank, o.Settling, 16.8), ledger.ID{}
		}, ledger.DigitSlip, 18.6},
	{"21 written as 12, without a decimal point", ledger.ReadingUnexpected,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) {
			readRun(o, 30, "1", 21, 500_000)
			read(o, 32, ledger.PlaceTank, o.Settling, 21)
			return read(o, 40, ledger.PlaceTank, o.Settling, 12), ledger.ID{}
		}, ledger.DigitSlip, 21},
	{"20.1 written as 21 where 20.1 is expected", ledger.ReadingUnexpected,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) {
			readRun(o, 30, "1", 20.1, 500_000)
			read(o, 32, ledger.PlaceTank, o.Settling, 20.1)
			return read(o, 40, ledger.PlaceTank, o.Settling, 21), ledger.ID{}
		}, ledger.DigitSlip, 20.1},
	{"a reading booked to the wrong tank", ledger.ReadingUnexpected,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) {
			small := twoTanks(o)
			readRun(o, 30, "1", 16.5, 500_000)
			o.Pump(32, o.Settling, small, 450_000)
			read(o, 33, ledger.PlaceTank, small, 16.5)
			readRun(o, 40, "2", 19.3, 600_000)
			return read(o, 50, ledger.PlaceTank, o.Settling, 16.5), ledger.ID{}
		}, ledger.OtherTank, 16.5},
	{"honey read in the large tank that was booked into the small one", ledger.ReadingUnexpected,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) {
			small := twoTanks(o)
			readRun(o, 30, "1", 16.5, 500_000)
			read(o, 32, ledger.PlaceTank, o.Settling, 16.5)
			run := o.Run(40, "2")
			o.Supers(40, run, o.Pull(20, o.Mill, 40, 0), 40)
			read(o, 40.5, ledger.PlaceRun, run, 20.5)
			wrong := o.Out(41, run, small, 500_000)
			return read(o, 50, ledger.PlaceTank, o.Settling, 18.5), wrong
		}, ledger.HoseHere, 18.5},
	{"a stocktake that is 400 kg over, and 400 kg went to the small tank", ledger.StocktakeFarOff,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) {
			small := twoTanks(o)
			_, run, _ := harvested(o)
			wrong := o.Out(14, run, small, 400_000)
			return o.Write(20, &ledger.Stocktake{TankID: o.Settling, MassG: 905_000, UncertaintyG: 5_000}), wrong
		}, ledger.HoseHere, 400},
	{"a stocktake that is 500 kg short after 500 kg were written down twice", ledger.StocktakeFarOff,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) {
			_, run, _ := harvested(o)
			twice := o.Out(12.2, run, o.Settling, 500_000)
			return o.Write(20, &ledger.Stocktake{TankID: o.Settling, MassG: 497_000, UncertaintyG: 5_000}), twice
		}, ledger.Twice, 500},
	{"a stocktake that is 600 kg short after 1,100 pounds were taken for kilograms", ledger.StocktakeFarOff,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) {
			run := o.Run(10, "1")
			o.Supers(11, run, o.Pull(0, o.Mill, 20, 0), 20)
			wrong := o.Out(12, run, o.Settling, 1_100_000)
			return o.Write(20, &ledger.Stocktake{TankID: o.Settling, MassG: 499_000, UncertaintyG: 5_000}), wrong
		}, ledger.Pounds, 1100 * 0.45359237},
	{"a run that gave 2.2 times what its boxes should", ledger.RunTooRich,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) {
			run := o.Run(10, "1")
			o.Supers(11, run, o.Pull(0, o.Mill, 20, 0), 20)
			wrong := o.Out(12, run, o.Settling, 1_100_000)
			return wrong, wrong
		}, ledger.Pounds, 1100 * 0.45359237},
	{"honey of a run while a pull has supers left", ledger.RunWithoutSupers,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) {
			pull := o.Pull(0, o.Mill, 20, 0)
			return o.Out(12, o.Run(10, "1"), o.Settling, 500_000), pull
		}, ledger.NotBooked, 20},
	{"supers left that are the same as pulled that day already", ledger.NeverExtracted,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) {
			first := o.Pull(0, o.Mill, 20, 0)
			o.Supers(10, o.Run(10, "1"), first, 20)
			second := o.Pull(3, o.Mill, 20, 0)
			o.Write(30*24, &ledger.Wash{TankID: o.Sump})
			return second, first
		}, ledger.Twice, 0},
	{"a drum with its tare counted as honey", ledger.NetUnusual,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) {
			o.DrumKind.UsualNetG = 0 // nobody said what a drum holds: the others do
			kind := o.SetUp(&ledger.ContainerKind{Name: "barrel", VolumeML: 230_000, TareG: 30_000})
			o.Drum = kind
			return drums(319_600)(o), ledger.ID{}
		}, ledger.TareInNet, 289.6},
	{"a gross of 306.6 kg written down as 360.6", ledger.NetUnusual,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) { return drums(343_600)(o), ledger.ID{} }, ledger.DigitSlip, 306.6},
	{"a drum of 271.7 kg among those of 289.6", ledger.NetUnusual,
		func(o *ledgertest.Outfit) (ledger.ID, ledger.ID) { return drums(271_700)(o), ledger.ID{} }, ledger.NotFull, 17.9},
}

func TestTheLikeliestExplanationComesFirst(t *testing.T) {
	t.Parallel()
	for _, l := range likelyCauses {
		t.Run(l.name, func(t *testing.T) {
			t.Parallel()
			o := ledgertest.NewOutfit()
			odd, named := l.raise(o)
			f := flagged(open(t, o), l.code, odd)
			if f == nil || len(f.Likely) == 0 {
				t.Fatalf("%s is found as %+v", l.code, f)
			}
			first := f.Likely[0]
			if first.Why != l.why || first.Entry != named {
				t.Errorf("the likeliest is %+v, and not %s by %s", first, l.why, named)
			}
			if d := first.Value - l.value; d > 0.05 || d < -0.05 {
				t.Errorf("%s: %v would fit, and not %v", first.Why, first.Value, l.value)
			}
			if named != (ledger.ID{}) && named != odd && !slices.Contains(f.Entries, named) {
				t.Errorf("the entries concerned are %v, without %s", f.Entries, named)
			}
			if slices.Contains(f.Entries, odd) || slices.Contains(f.Entries, ledger.ID{}) {
				t.Errorf("beside %s the entries concerned are %v", odd, f.Entries)
			}
		})
	}
}

// How unlikely it is follows the normal law: 3.29 standard deviations either
// way are one in a thousand (any table of it).
func TestAFindingSaysHowUnlikelyItIs(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	harvested(o)
	// 500 kg, known from the rise between two dips of a tank for 2,000 kg: 14.1 kg.
	id := o.Write(20, &ledger.Stocktake{TankID: o.Settling, MassG: 560_000, UncertaintyG: 4_000})
	f := flagged(open(t, o), ledger.StocktakeFarOff, id)
	if f == nil || f.Unlikely > 1e-4 || f.Unlikely < 1e-5 {
		t.Errorf("60 kg off with 14.7 kg of uncertainty, 4.08 standard deviations, is %+v", f)
	}
	if flagged(open(t, withStocktake(540_000)), ledger.StocktakeFarOff, ledgertest.ID(16)) != nil {
		t.Error("40 kg off, 2.7 standard deviations, is said not to add up")
	}
}

func withStocktake(grams int64) *ledgertest.Outfit {
	o := ledgertest.NewOutfit()
	harvested(o)
	o.Write(20, &ledger.Stocktake{TankID: o.Settling, MassG: grams, UncertaintyG: 4_000})
	return o
}

// Boxes that wait in the hot room of a season that still runs, runs that still
// go, drums that end a tank and tanks that are logged are as they should be.
func TestWhatIsNotFinishedIsNotFound(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	alikeRuns(o)
	o.Pull(230, o.Mill, 20, 0)
	run := o.Run(240, "still running")
	o.Supers(240, run, o.Pull(235, o.Mill, 20, 0), 20)
	o.Out(241, run, o.Settling, 100_000)
	lot := o.Lot(242, "26-02")
	o.Fill(243, lot, o.Settling, "1", 60_000)
	if found := open(t, o).State().Findings(); len(found) != 0 {
		t.Errorf("found was %+v", found)
	}
}

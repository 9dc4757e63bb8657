package ledger_test

import (
	"math"
	"slices"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// flagOf is the flag of a code on an entry; nil where there is none.
func flagOf(t *testing.T, o *ledgertest.Outfit, entry ledger.ID, code ledger.Code) *ledger.Flag {
	t.Helper()
	for _, f := range mustOpen(t, o.Entries).State().FlagsOn(entry) {
		if f.Code == code {
			return &f
		}
	}
	return nil
}

// explained is the figure of an explanation of a flag; false where it has none of the sort.
func explained(f *ledger.Flag, why ledger.Why) (float64, bool) {
	for _, e := range f.Likely {
		if e.Why == why {
			return e.Value, true
		}
	}
	return 0, false
}

// A dip is read to half a hundredth of the tank, 10 kg of 2,000 kg; what a run gave is known to
// the square root of two times that. Four standard deviations of both are 69.3 kg.
func TestAStocktakeIsFarOffFromFourDeviationsOn(t *testing.T) {
	t.Parallel()
	for mass, want := range map[int64]bool{430_000: true, 431_000: false, 569_000: false, 570_000: true} {
		o := ledgertest.NewOutfit()
		harvested(o)
		id := o.Write(20, &ledger.Stocktake{TankID: o.Settling, Method: "dip", MassG: mass})
		f := flagOf(t, o, id, ledger.StocktakeFarOff)
		if (f != nil) != want {
			t.Errorf("%d kg where the book has 500: flagged is %t", mass/1000, f != nil)
		}
		if f != nil && math.Abs(f.Unlikely-math.Erfc(70/math.Sqrt(300)/math.Sqrt2)) > 1e-9 {
			t.Errorf("%d kg are unlikely to %g", mass/1000, f.Unlikely)
		}
	}
}

// A drum is weighed to 0.2 kg and two in a thousand: 0.61 kg of 290 kg. With a scale that is
// good to 1 kg, four standard deviations of both are 4.69 kg.
func TestWhatCameOutOfADrumIsKnownAsTheDrumIs(t *testing.T) {
	t.Parallel()
	for mass, want := range map[int64]bool{285_400: false, 285_200: true} {
		o := ledgertest.NewOutfit()
		harvested(o)
		drum := o.Fill(20, o.Lot(19, "26-01"), o.Settling, "D-1", 290_000)
		o.Write(21, toWaste(o.Settling, 210_000))
		o.Write(22, &ledger.Wash{TankID: o.Settling})
		o.Write(23, ledgertest.Move(ledger.PlaceContainer, drum, ledger.PlaceTank, o.Settling, 290_000))
		id := o.Write(24, &ledger.Stocktake{TankID: o.Settling, Method: "scale", MassG: mass, UncertaintyG: 1000})
		if got := flagOf(t, o, id, ledger.StocktakeFarOff) != nil; got != want {
			t.Errorf("%g kg where a drum of 290 kg was poured in: flagged is %t", float64(mass)/1000, got)
		}
	}
}

// 10.9 cm that were written for 19.0 make 287 kg of 500.
func TestADipWithItsFiguresSwappedIsExplained(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		depth float64
		mass  int64
		want  bool
	}{{10.9, 286_800, true}, {10.8, 286_800, false}, {10.9, 281_000, true}, {10.9, 250_000, false}, {11.1, 286_800, false}, {10.9, 0, false}} {
		o := ledgertest.NewOutfit()
		harvested(o)
		id := o.Write(20, &ledger.Stocktake{TankID: o.Settling, Method: "dip", MassG: c.mass, UncertaintyG: 1_000, DepthCM: &c.depth})
		f := flagOf(t, o, id, ledger.StocktakeFarOff)
		if f == nil {
			t.Errorf("%g cm and %d g: not flagged", c.depth, c.mass)
			continue
		}
		if got, ok := explained(f, ledger.DigitSlip); ok != c.want || ok && got != 19 {
			t.Errorf("%g cm and %d g: explained by %g: %+v", c.depth, c.mass, got, f.Likely)
		}
	}
}

// 54 on a stick without tenths may have been 45, 124.5 may have been 142.5: any two neighbours
// change places, the nought that nobody writes among them (19.0 for 10.9 is 19 for 109).
func TestAnyTwoNeighbouringFiguresOfADipMayBeSwapped(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		depth  float64
		mass   int64
		meant  float64
		unless bool
	}{{54, 600_000, 45, false}, {45, 416_700, 54, false}, {124.5, 436_800, 142.5, false}, {19, 871_600, 10.9, false}, {36.25, 418_400, 0, true}, {32.65, 436_900, 36.25, false}, {30.6, 425_000, 36, false}} {
		o := ledgertest.NewOutfit()
		harvested(o)
		id := o.Write(20, &ledger.Stocktake{TankID: o.Settling, Method: "dip", MassG: c.mass, UncertaintyG: 1_000, DepthCM: &c.depth})
		f := flagOf(t, o, id, ledger.StocktakeFarOff)
		if f == nil {
			t.Errorf("%g cm and %d g: not flagged", c.depth, c.mass)
			continue
		}
		if got, ok := explained(f, ledger.DigitSlip); ok == c.unless || ok && got != c.meant {
			t.Errorf("%g cm and %d g: explained by %g: %+v", c.depth, c.mass, got, f.Likely)
		}
	}
}

// A thousand pounds are 454 kg of the 500 kg that were there. 1,200 lb would be 544 kg, and what
// is short by less than a quarter was no pounds.
func TestMoreDrawnThanThereWasMayBePounds(t *testing.T) {
	t.Parallel()
	for grams, want := range map[int64]float64{1_000_000: 453.6, 1_200_000: 0, 650_000: 0, 680_000: 308.4} {
		o := ledgertest.NewOutfit()
		harvested(o)
		id := o.Write(20, toWaste(o.Settling, grams))
		f := flagOf(t, o, id, ledger.Overdrawn)
		if f == nil {
			t.Fatalf("%d g of 500 kg: not flagged", grams)
		}
		if got, _ := explained(f, ledger.Pounds); math.Abs(got-want) > 0.1 {
			t.Errorf("%d g may be %g kg, want %g", grams, got, want)
		}
		missing := float64(grams)/1000 - 500
		if want := math.Erfc(missing / math.Sqrt(200) / math.Sqrt2); math.Abs(f.Unlikely-want) > 1e-9 {
			t.Errorf("%d g are unlikely to %g, not %g", grams, f.Unlikely, want)
		}
	}
}

// Honey that a tank had not may be of the one other tank that had so much; of two nobody knows
// which.
func TestMoreDrawnThanThereWasMayBeOfAnotherTank(t *testing.T) {
	t.Parallel()
	for what, c := range map[string]struct {
		others []int64
		want   float64
	}{
		"one had so much":      {[]int64{620_000}, 620},
		"one had just so much": {[]int64{600_000}, 600},
		"one had less":         {[]int64{599_000}, 0},
		"two had so much":      {[]int64{620_000, 700_000}, 0},
		"one of two had":       {[]int64{100_000, 700_000}, 700},
	} {
		o := ledgertest.NewOutfit()
		var tanks []ledger.ID
		for range c.others {
			tanks = append(tanks, o.SetUp(&ledger.Tank{Name: "other", Use: ledger.Settling, CapacityG: 2_000_000}))
		}
		_, run, _ := harvested(o)
		for i, grams := range c.others {
			o.Out(13, run, tanks[i], grams)
		}
		f := flagOf(t, o, o.Write(20, toWaste(o.Settling, 600_000)), ledger.Overdrawn)
		if f == nil {
			t.Fatalf("%s: not flagged", what)
		}
		if got, _ := explained(f, ledger.DrawnElsewhere); got != c.want {
			t.Errorf("%s: it may be of one with %g kg, want %g: %+v", what, got, c.want, f.Likely)
		}
	}
}

// A tank of 2,000 kg into which 2,050 kg were booked has 50 kg too many; both movements are known to
// 14.1 kg.
func TestATankThatIsTooFullSaysHowUnlikelyThatIs(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	_, run, _ := harvested(o)
	id := o.Out(20, run, o.Settling, 1_550_000)
	f := flagOf(t, o, id, ledger.Overfilled)
	if f == nil || f.MassG != 50_000 {
		t.Fatalf("flagged is %+v", f)
	}
	if want := math.Erfc(50 / math.Sqrt(400) / math.Sqrt2); math.Abs(f.Unlikely-want) > 1e-9 {
		t.Errorf("it is unlikely to %g, not %g", f.Unlikely, want)
	}
	if got, _ := explained(f, ledger.NotBooked); got != 50 {
		t.Errorf("not booked are %g kg", got)
	}
}

// A tank whose last stocktake is good to 3 kg and this one to 4 is known to 5 kg: 20 kg are just four
// deviations, which good figures may be.
func TestFourDeviationsAreNotYetFarOff(t *testing.T) {
	t.Parallel()
	for mass, want := range map[int64]bool{520_000: false, 520_100: true, 480_000: false} {
		o := ledgertest.NewOutfit()
		harvested(o)
		o.Write(19, &ledger.Stocktake{TankID: o.Settling, Method: "scale", MassG: 500_000, UncertaintyG: 3_000})
		id := o.Write(20, &ledger.Stocktake{TankID: o.Settling, Method: "scale", MassG: mass, UncertaintyG: 4_000})
		if got := flagOf(t, o, id, ledger.StocktakeFarOff) != nil; got != want {
			t.Errorf("%g kg where there are 500 kg: flagged is %t", float64(mass)/1000, got)
		}
	}
}

// A movement that was a few percent off still explains a difference: of 400 kg that a tank has more
// than the book, good to 1.4 kg, 410 kg that were booked to another tank are the likely cause, and
// of 1,000 kg that it has too many 1,040 kg booked into it. The same of 800 kg that it lacks.
func TestAMovementExplainsADifferenceOfAFewPercent(t *testing.T) {
	t.Parallel()
	names := func(f *ledger.Flag, why ledger.Why, entry ledger.ID) bool {
		return f != nil && slices.ContainsFunc(f.Likely, func(e ledger.Explanation) bool { return e.Why == why && e.Entry == entry })
	}
	o := ledgertest.NewOutfit()
	small := twoTanks(o)
	_, run, _ := harvested(o)
	o.Write(13, &ledger.Stocktake{TankID: o.Settling, Method: "scale", MassG: 500_000, UncertaintyG: 1_000})
	other := o.Out(14, run, small, 410_000)
	found := o.Write(20, &ledger.Stocktake{TankID: o.Settling, Method: "scale", MassG: 900_000, UncertaintyG: 1_000})
	if f := flagOf(t, o, found, ledger.StocktakeFarOff); !names(f, ledger.HoseHere, other) {
		t.Errorf("400 kg more than booked: %+v", f)
	}

	o = ledgertest.NewOutfit()
	small = twoTanks(o)
	_, run, _ = harvested(o)
	other = o.Out(14, run, small, 830_000)
	if f := flagOf(t, o, o.Write(20, toWaste(o.Settling, 1_300_000)), ledger.Overdrawn); !names(f, ledger.HoseHere, other) {
		t.Errorf("800 kg more drawn than there were: %+v", f)
	}

	o = ledgertest.NewOutfit()
	twoTanks(o)
	run = o.Run(10, "1")
	o.Supers(11, run, o.Pull(0, o.Mill, 120, 0), 120)
	much := o.Out(12, run, o.Settling, 1_040_000)
	if f := flagOf(t, o, o.Out(13, run, o.Settling, 1_960_000), ledger.Overfilled); f == nil || f.MassG != 1_000_000 || !names(f, ledger.HoseElsewhere, much) {
		t.Errorf("1,000 kg too many: %+v", f)
	}
}

// Of 600 kg 800 were drawn: what is short by no more than a quarter was no pounds. And what a drum
// was weighed at is asked about at the drum, not where it was drawn.
func TestWhatIsShortByAQuarterWasNoPounds(t *testing.T) {
	t.Parallel()
	for grams, want := range map[int64]bool{800_000: false, 801_000: true} {
		o := ledgertest.NewOutfit()
		_, run, _ := harvested(o)
		o.Out(13, run, o.Settling, 100_000)
		f := flagOf(t, o, o.Write(20, toWaste(o.Settling, grams)), ledger.Overdrawn)
		if f == nil {
			t.Fatalf("%d g of 600 kg: not flagged", grams)
		}
		if _, is := explained(f, ledger.Pounds); is != want {
			t.Errorf("%d g of 600 kg: %+v", grams, f.Likely)
		}
	}
	o := ledgertest.NewOutfit()
	harvested(o)
	o.Write(13, toWaste(o.Settling, 100_000))
	drum := o.Fill(20, o.Lot(19, "26-01"), o.Settling, "D-1", 640_000)
	f := flagOf(t, o, drum, ledger.Overdrawn)
	if f == nil {
		t.Fatal("640 kg of 400: not flagged")
	}
	if _, is := explained(f, ledger.Pounds); is {
		t.Errorf("a drum of 640 kg of 400: %+v", f.Likely)
	}
	if flagOf(t, o, drum, ledger.PoundsForKilograms) == nil {
		t.Error("a drum of 640 kg is not asked about")
	}
}

// TestATankThatIsToldOfLaterExplainsWhatWasShortBefore writes down, after a tank ran short,
// that the house has another one, and then that there was honey in it.
func TestATankThatIsToldOfLaterExplainsWhatWasShortBefore(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	o.Write(5, ledgertest.Move(ledger.PlaceTank, o.Sump, ledger.PlaceTank, o.Settling, 40_000))
	b := mustOpen(t, o.Entries)
	known := len(o.Entries)
	third := o.Write(6, &ledger.Tank{Name: "third tank", Use: ledger.Settling, CapacityG: 500_000})
	o.Write(4, &ledger.Stocktake{TankID: third, Method: "dip", MassG: 90_000})
	for _, e := range o.Entries[known:] {
		if _, err := b.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	fresh := mustOpen(t, o.Entries)
	if d := differ(pictureOf(fresh, fresh.State()), pictureOf(b, b.State())); d != "" {
		t.Fatal(d)
	}
	short := o.Entries[known-1].ID
	if flags := b.State().FlagsOn(short); len(flags) != 1 || !slices.ContainsFunc(flags[0].Likely, func(e ledger.Explanation) bool {
		return e.Why == ledger.DrawnElsewhere && e.Place.ID == third
	}) {
		t.Errorf("the transfer is flagged %+v, want that it may have been drawn from the third tank", flags)
	}
}

package ledger_test

import (
	"math"
	"slices"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// The variances that honey and readings have in these books: of the instrument, of a sample that was
// not mixed and of one that was, of frames that were not sampled, of a run beside its boxes.
const (
	instrumentV = 0.1 * 0.1
	sampleV     = 0.35 * 0.35
	mixedV      = sampleV / 4
	framesV     = 0.3 * 0.3
	dryingV     = 0.45 * 0.45
	// runV is of a run whose honey was read once, mixed.
	runV = instrumentV + mixedV + framesV
)

// beyond is the probability that chance alone is so many standard deviations off, either way.
func beyond(z float64) float64 { return math.Erfc(math.Abs(z) / math.Sqrt2) }

// fittingTanks are the other tanks that a flag names, in its order.
func fittingTanks(f *ledger.Flag) (out []ledger.ID) {
	for _, e := range f.Likely {
		if e.Why == ledger.OtherTank {
			out = append(out, e.Place.ID)
		}
	}
	return out
}

// A tank at 17.0 that is read at 14.3: what is not known of its honey, the instrument and the sample
// together are 0.41 points, so that the reading is 6.5 of those away. A lot's drums are as sure as
// their tank, and samples of a lot not mixed.
func TestAReadingSaysHowUnlikelyItIsByAllThatMayBeOff(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	readRun(o, 30, "1", 17, 900_000)
	lot := o.Lot(31.5, "26-01")
	o.Fill(32, lot, o.Settling, "1", 290_000)
	ofLot := o.Write(33, ledgertest.Moisture(ledger.PlaceLot, lot, 19))
	ofTank := read(o, 40, ledger.PlaceTank, o.Settling, 14.3)
	for what, c := range map[string]struct {
		entry   ledger.ID
		z, pct  float64
		kilos   int64
		instead float64
	}{
		"the tank": {ofTank, -2.7 / math.Sqrt(runV+instrumentV+mixedV), 14.3, 610_000, 17},
		"the lot":  {ofLot, 2 / math.Sqrt(runV+instrumentV+sampleV), 19, 290_000, 17},
	} {
		f := flagOf(t, o, c.entry, ledger.ReadingUnexpected)
		if f == nil || f.MassG != c.kilos || f.Found != c.pct || math.Abs(f.Expected-c.instead) > 1e-9 {
			t.Fatalf("%s: %+v", what, f)
		}
		within(t, what, f.Unlikely, beyond(c.z), 1e-6)
	}
}

// A tank that gave its last honey is empty, also to whoever reads it; and what is read of a lot is
// not of the drum that left. A sump that is empty is only on the way.
func TestWhatIsGoneIsNotRead(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	readRun(o, 30, "1", 17, 580_000)
	lot := o.Lot(39, "26-01")
	left, here := o.Fill(40, lot, o.Settling, "1", 290_000), o.Fill(41, lot, o.Settling, "2", 290_000)
	empty := read(o, 42, ledger.PlaceTank, o.Settling, 17)
	sump := read(o, 42, ledger.PlaceTank, o.Sump, 17)
	o.Release(43, lot)
	o.Dispatch(44, left)
	read(o, 50, ledger.PlaceLot, lot, 17.3)
	if f := flagOf(t, o, empty, ledger.ReadEmpty); f == nil || f.Found != 17 {
		t.Errorf("a reading of the emptied tank: %+v", f)
	}
	if f := flagOf(t, o, sump, ledger.ReadEmpty); f != nil {
		t.Errorf("a reading of a sump: %+v", f)
	}
	if m := believed(t, o, left, 51).Moisture.Mean; math.Abs(m-17) > 1e-9 {
		t.Errorf("of the drum that left %g %% is expected", m)
	}
	if m := believed(t, o, here, 51).Moisture.Mean; m <= 17.05 {
		t.Errorf("of the drum that is here %g %% is expected", m)
	}
}

// A tank at 17.0 that is read at 17.5 where 0.51 points are to be expected: samples and frames
// scatter a little less than was thought. By hand, with the part of each in the whole squared as
// what the reading tells of it, beside two readings' worth of what is usual.
func TestAReadingTeachesHowSamplesAndFramesScatter(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	small := twoTanks(o)
	readRun(o, 30, "1", 17, 500_000)
	o.Write(40, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.5))
	run := o.Run(50, "2")
	o.Supers(50, run, o.Pull(45, o.Mill, 40, 0), 40)
	read(o, 50.5, ledger.PlaceRun, run, 17)
	o.Out(51, run, small, 200_000)
	const whole, squared = runV + instrumentV + sampleV, 0.5 * 0.5
	learnt := func(usual float64) float64 {
		tells := usual * usual / (whole * whole)
		return usual + (squared-whole)*tells/(2+tells)
	}
	near(t, "the variance of samples", math.Pow(open(t, o).State().SampleSD(o.Settling), 2), learnt(sampleV))
	near(t, "the variance of the next run", believed(t, o, small, 52).Moisture.Variance, instrumentV+mixedV+learnt(framesV))
}

// A reading names the tanks that it fits, the nearest first, whichever was set up first: none that is
// further than one and a half standard deviations, none without honey, and not its own, however
// unsure of that an earlier slip made the book.
func TestAReadingThatDoesNotFitNamesTheTanksThatItFits(t *testing.T) {
	t.Parallel()
	tank := func(o *ledgertest.Outfit, run string, pct float64) ledger.ID {
		id := o.SetUp(&ledger.Tank{Name: "tank " + run, Use: ledger.Settling, CapacityG: 1_000_000})
		r := o.Run(30, run)
		o.Supers(30, r, o.Pull(10, o.Mill, 40, 0), 40)
		read(o, 30.5, ledger.PlaceRun, r, pct)
		o.Out(31, r, id, 400_000)
		return id
	}
	o := ledgertest.NewOutfit()
	far := tank(o, "1", 17)
	tank(o, "dry", 15)
	second, nearest := tank(o, "2", 19.6), tank(o, "3", 20.1)
	emptied := tank(o, "4", 20)
	o.Write(32, toWaste(emptied, 400_000))
	odd := o.Write(40, ledgertest.Moisture(ledger.PlaceTank, far, 20))
	f := flagOf(t, o, odd, ledger.ReadingUnexpected)
	if f == nil || !slices.Equal(fittingTanks(f), []ledger.ID{nearest, second}) {
		t.Errorf("it may be of %v, not of %s and %s: %+v", fittingTanks(f), nearest, second, f)
	}
	// 0.513 points are one standard deviation of a sample of a tank whose run was read.
	for away, want := range map[float64]bool{0.76: true, 0.78: false} {
		o := ledgertest.NewOutfit()
		id := tank(o, "1", 17)
		unused := o.SetUp(&ledger.Tank{Name: "unused", Use: ledger.Settling, CapacityG: 1_000_000})
		f := flagOf(t, o, o.Write(40, ledgertest.Moisture(ledger.PlaceTank, unused, 17+away)), ledger.ReadEmpty)
		if f == nil || slices.Contains(fittingTanks(f), id) != want {
			t.Errorf("%g points away of 0.513: %+v", away, f)
		}
	}
	o = ledgertest.NewOutfit()
	own := tank(o, "1", 17)
	read(o, 40, ledger.PlaceTank, own, 17)
	read(o, 41, ledger.PlaceTank, own, 19.8)
	odd = read(o, 42, ledger.PlaceTank, own, 18.4)
	if f := flagOf(t, o, odd, ledger.ReadingUnexpected); f == nil || len(fittingTanks(f)) != 0 {
		t.Errorf("of a reading that fits neither what was expected nor the slip: %+v", f)
	}
}

// A first result of 20 ± 1 stands instead of what honeys are; one of 60 ± 6 an hour later is 40 away
// where 6.08 are to be expected, and is told beside 20.0.
func TestALaboratorysSlipSaysHowUnlikelyItIs(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	readRun(o, 30, "1", 17, 900_000)
	tank := ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}
	hmf := func(value, sd float64) ledger.Measured {
		return ledger.Measured{Quantity: "hmf_mg_per_kg", Value: value, StdUncertainty: &sd}
	}
	laboratory(o, 40, tank, hmf(20, 1))
	f := flagOf(t, o, laboratory(o, 40.001, tank, hmf(60, 6)), ledger.ResultUnlikeEarlier)
	if f == nil || f.Expected != 20 || f.Found != 60 {
		t.Fatalf("%+v", f)
	}
	within(t, "how unlikely it is", f.Unlikely, beyond(40/math.Sqrt(1+6*6)), 0.01)
}

// A run is expected at what its boxes were read at, by their shares, give or take how runs differ
// from their boxes: a quarter of them at 16 and three at 18 make 17.5. An earlier run that came out
// half a point drier than its boxes taught that runs differ by a little less.
func TestARunIsHeldAgainstItsBoxesByTheirShares(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	boxes := func(hours float64, run ledger.ID, yard ledger.ID, deeps int, pct float64) {
		pull := o.Pull(hours-20, yard, deeps, 0)
		o.Supers(hours, run, pull, deeps)
		read(o, hours-19, ledger.PlacePull, pull, pct)
	}
	first := o.Run(30, "1")
	boxes(30, first, o.Mill, 40, 17)
	read(o, 31, ledger.PlaceRun, first, 16.5)
	second := o.Run(60, "2")
	boxes(60, second, o.Mill, 10, 16)
	boxes(60, second, o.Ridge, 30, 18)
	odd := read(o, 61, ledger.PlaceRun, second, 20.5)
	const once = instrumentV + mixedV // of one reading of mixed honey
	whole := once + dryingV + once    // of a run beside its boxes
	tells := dryingV * dryingV / (whole * whole)
	drying := dryingV + (0.5*0.5-whole)*tells/(2+tells)
	sd := math.Sqrt((0.25*0.25+0.75*0.75)*once + drying + once)
	f := flagOf(t, o, odd, ledger.ReadingUnexpected)
	if f == nil {
		t.Fatal("a run of 20.5 from boxes at 17.5 is not flagged")
	}
	near(t, "expected", f.Expected, 17.5)
	within(t, "how unlikely it is", f.Unlikely, beyond(3/sd), 1e-6)
}

// A reading that does not fit those before it names them: the last twenty, in their order, and none
// that was of something else than moisture.
func TestAReadingNamesTheReadingsThatItDoesNotFit(t *testing.T) {
	t.Parallel()
	for _, readings := range []int{2, 20, 25} {
		o := ledgertest.NewOutfit()
		pull := o.Pull(0, o.Mill, 40, 0)
		place := ledger.Place{Kind: ledger.PlacePull, ID: pull}
		var before []ledger.ID
		for i := range readings {
			before = append(before, read(o, 1+float64(i)/10, ledger.PlacePull, pull, 17))
			laboratory(o, 1.05+float64(i)/10, place, ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 2})
		}
		f := flagOf(t, o, read(o, 10, ledger.PlacePull, pull, 21), ledger.ReadingUnexpected)
		if f == nil || !slices.Equal(f.Entries, before[max(0, readings-20):]) {
			t.Errorf("after %d readings: %+v", readings, f)
		}
	}
}

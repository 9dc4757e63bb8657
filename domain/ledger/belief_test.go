package ledger_test

import (
	"math"
	"testing"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// read writes a moisture reading of a mixed sample.
func read(o *ledgertest.Outfit, hours float64, on ledger.PlaceKind, id ledger.ID, pct float64) ledger.ID {
	r := ledgertest.Moisture(on, id, pct)
	r.Point = ledger.PointMixed
	return o.Write(hours, r)
}

// readRun is a run of which the honey was read, into the large tank.
func readRun(o *ledgertest.Outfit, hours float64, name string, pct float64, grams int64) {
	run := o.Run(hours, name)
	o.Supers(hours, run, o.Pull(hours-20, o.Mill, 40, 0), 40)
	read(o, hours+0.5, ledger.PlaceRun, run, pct)
	o.Out(hours+1, run, o.Settling, grams)
}

// held writes that a place was held at a temperature.
func held(o *ledgertest.Outfit, on ledger.PlaceKind, id ledger.ID, from, to, celsius float64) ledger.ID {
	return o.Write(to, &ledger.TemperatureLog{On: ledger.Place{Kind: on, ID: id}, Held: true, Points: []ledger.TemperaturePoint{
		{At: ledgertest.At(from), TemperatureC: celsius}, {At: ledgertest.At(to), TemperatureC: celsius}}})
}

func believed(t *testing.T, o *ledgertest.Outfit, id ledger.ID, hours float64) ledger.Belief {
	t.Helper()
	b, ok := open(t, o).State().BeliefAt(id, ledgertest.At(hours))
	if !ok {
		t.Fatalf("nothing is expected of %s", id)
	}
	return b
}

func within(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s is %v and should be %v within %g", what, got, want, relative)
	}
}

// 200 kg at 16.8 % with 100 kg at 19.8 % are 300 kg at 17.80 %: by mass, the
// blending rule of any packer's table.
func TestATanksMoistureMixesByMass(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	readRun(o, 30, "1", 16.8, 200_000)
	readRun(o, 40, "2", 19.8, 100_000)
	near(t, "the tank's moisture", believed(t, o, o.Settling, 41).Moisture.Mean, 17.80)
	drum := o.Fill(50, o.Lot(49, "26-01"), o.Settling, "1", 290_000)
	near(t, "the drum's moisture", believed(t, o, drum, 51).Moisture.Mean, 17.80)
}

// Two runs of which each was read err each by itself, but for the refractometer that
// read both: of the variance of 0.1306 (0.1 of the instrument, half of 0.35 of a mixed
// sample, 0.3 of frames not sampled, each squared) half of all but the instrument's is
// left of two alike. Two parts of one run err alike, and so do parts of a tank.
func TestAMixtureOfKnownPartsScattersNoMoreThanTheyDo(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	small := twoTanks(o)
	readRun(o, 30, "1", 17, 200_000)
	const instrument, rest = 0.1 * 0.1, 0.35*0.35/4 + 0.3*0.3
	near(t, "the variance of one run", believed(t, o, o.Settling, 32).Moisture.Variance, instrument+rest)
	readRun(o, 40, "2", 17, 200_000)
	near(t, "the variance of two alike, mixed", believed(t, o, o.Settling, 42).Moisture.Variance, instrument+rest/2)
	run := o.Run(50, "3")
	o.Supers(50, run, o.Pull(45, o.Mill, 40, 0), 40)
	read(o, 50.5, ledger.PlaceRun, run, 17)
	o.Out(51, run, o.Settling, 200_000)
	near(t, "the variance of three", believed(t, o, o.Settling, 52).Moisture.Variance, instrument+rest/3)
	o.Out(53, run, o.Settling, 200_000)
	near(t, "the variance with another part of the third", believed(t, o, o.Settling, 54).Moisture.Variance, instrument+rest*(1+1+4)/16)
	// The third's own part, of which a third is in the tank, is in the sump as well.
	o.Out(55, run, o.Sump, 200_000)
	o.Pump(56, o.Sump, o.Settling, 200_000)
	near(t, "and one that stood in the sump", believed(t, o, o.Settling, 57).Moisture.Variance, instrument+rest*(1+1+9)/25)
	o.Pump(60, o.Settling, small, 500_000)
	before := believed(t, o, o.Settling, 61).Moisture.Variance
	o.Pump(62, small, o.Settling, 250_000)
	near(t, "the variance with its own honey poured back", believed(t, o, o.Settling, 63).Moisture.Variance, before)
}

// Nobody read the honey, and a wet season is wet on every yard: mixing makes it no
// better known.
func TestMixingHoneyThatNobodyReadMakesNothingMoreCertain(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	harvested(o)
	before := believed(t, o, o.Settling, 13).Moisture.Variance
	run := o.Run(30, "2")
	o.Supers(30, run, o.Pull(20, o.Mill, 40, 0), 40)
	o.Out(31, run, o.Settling, 300_000)
	near(t, "the variance of two unread, mixed", believed(t, o, o.Settling, 32).Moisture.Variance, before)
}

// A run whose honey was read twice at 17.6 and once at 16.7 (two digits swapped) is at
// 17.6, whichever came first; and a run read at 16.7 whose boxes were at 17.6 stays with
// its boxes until it is read again.
func TestASlipOnARunHardlyMovesItsTank(t *testing.T) {
	t.Parallel()
	run := func(boxes float64, readings ...float64) float64 {
		o := ledgertest.NewOutfit()
		pull := o.Pull(10, o.Mill, 40, 0)
		run := o.Run(30, "1")
		o.Supers(30, run, pull, 40)
		if boxes > 0 {
			read(o, 11, ledger.PlacePull, pull, boxes)
			read(o, 12, ledger.PlacePull, pull, boxes)
		}
		for i, pct := range readings {
			read(o, 30.5+float64(i)/10, ledger.PlaceRun, run, pct)
		}
		o.Out(32, run, o.Settling, 500_000)
		return believed(t, o, o.Settling, 33).Moisture.Mean
	}
	near(t, "good, slip, good", run(0, 17.6, 16.7, 17.6), 17.6)
	near(t, "slip, good, good", run(0, 16.7, 17.6, 17.6), 17.6)
	near(t, "boxes at 17.6, and 19.4 beside them", run(17.6, 19.4), 17.6)
	near(t, "and 17.5 after it", run(17.6, 19.4, 17.6), 17.6)
	near(t, "boxes at 17.6, and 19.4 twice", run(17.6, 19.4, 19.4), 19.4)
	near(t, "boxes at 17.6, and 17.2 beside them: they dried", run(17.6, 17.2), 17.2)
}

// A tank at 17.0 was read 19.7 for 17.9: it stays where it was until the next reading,
// says that it is less sure of it, and is then as if the slip had not been. Honey drawn
// meanwhile takes the doubt along.
func TestOneSlipHardlyMovesATank(t *testing.T) {
	t.Parallel()
	with := func(readings ...float64) ledger.Belief {
		o := ledgertest.NewOutfit()
		readRun(o, 30, "1", 17, 500_000)
		for i, pct := range readings {
			o.Write(40+float64(i), ledgertest.Moisture(ledger.PlaceTank, o.Settling, pct))
		}
		drum := o.Fill(50, o.Lot(49, "26-01"), o.Settling, "1", 290_000)
		tank := believed(t, o, o.Settling, 51)
		near(t, "a drum of it", believed(t, o, drum, 51).Moisture.Mean, tank.Moisture.Mean)
		near(t, "how sure that is", believed(t, o, drum, 51).Moisture.Variance, tank.Moisture.Variance)
		return tank
	}
	sure, slip := with(17.1), with(17.1, 19.7)
	near(t, "the tank after the slip", slip.Moisture.Mean, sure.Moisture.Mean)
	near(t, "how sure of it", slip.Moisture.StandardDeviation(), (19.7-sure.Moisture.Mean)/2)
	near(t, "the tank after a good reading more", with(17.1, 19.7, 17.0).Moisture.Mean, with(17.1, 17.0).Moisture.Mean)
	if agreed := with(17.1, 19.7, 19.5).Moisture; math.Abs(agreed.Mean-19.6) > 1e-9 {
		t.Errorf("after 19.7 and 19.5 the tank is at %.2f", agreed.Mean)
	}
}

// A vague expectation says little about how readings scatter: a tank that nobody read
// yet, 1.2 points unsure, and then read 2 points off, leaves the scatter of samples as
// good as it was. One that was read tells more, and is believed.
func TestAVagueExpectationHardlyTeachesHowReadingsScatter(t *testing.T) {
	t.Parallel()
	scatter := func(raise func(o *ledgertest.Outfit)) float64 {
		o := ledgertest.NewOutfit()
		raise(o)
		return open(t, o).State().SampleSD(o.Settling)
	}
	for _, pct := range []float64{15.3, 17.3, 19.3} {
		vague := scatter(func(o *ledgertest.Outfit) {
			harvested(o)
			o.Write(40, ledgertest.Moisture(ledger.PlaceTank, o.Settling, pct))
		})
		if math.Abs(vague-0.35) > 0.02 {
			t.Errorf("an unread tank read at %g makes samples scatter by %.3f points", pct, vague)
		}
	}
	known := scatter(func(o *ledgertest.Outfit) {
		readRun(o, 30, "1", 17, 500_000)
		for i := range 40 {
			o.Write(40+float64(i)/10, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17+0.02*float64(i%2)))
		}
	})
	if known > 0.22 {
		t.Errorf("40 readings within 0.02 points leave the scatter of samples at %.3f points", known)
	}
}

// A tank held at 50 C from Friday evening to Monday morning forms HMF at the
// rate of the kinetics, and loses diastase by them. At 50 C diastase halves in
// 5.38 days (White, Kushnir and Subers 1964, read in a copy).
func TestATankHeldWarmOverAWeekendFormsHMFByTheKinetics(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	readRun(o, 30, "1", 17, 500_000)
	held(o, ledger.PlaceTank, o.Settling, 36, 96, 50) // 60 hours
	before, after := believed(t, o, o.Settling, 36), believed(t, o, o.Settling, 96)
	k := heat.Default()
	within(t, "HMF formed, mg/kg", after.HMF().Mean-before.HMF().Mean, 2.5*k.HMFRate(50), 1e-6)
	within(t, "diastase left", after.Diastase().Mean/before.Diastase().Mean, math.Exp(-2.5*k.DiastaseRate(50)), 1e-6)
	if after.HMF().Variance <= before.HMF().Variance {
		t.Error("the kinetics of one honey are not known well, and yet HMF is as certain as before")
	}

	o = ledgertest.NewOutfit()
	readRun(o, 30, "1", 17, 500_000)
	held(o, ledger.PlaceTank, o.Settling, 36, 36+129.12, 50)
	within(t, "diastase after 5.38 days at 50 C", believed(t, o, o.Settling, 36+129.12).Diastase().Mean,
		believed(t, o, o.Settling, 36).Diastase().Mean/2, 0.01)
}

// A drum at any later date follows the temperature of its store.
func TestADrumFollowsTheTemperatureOfItsStore(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	usual := 15.0
	warm := o.SetUp(&ledger.Room{Name: "tin shed", Use: ledger.Store, UsualTemperatureC: &usual})
	readRun(o, 30, "1", 17, 900_000)
	in := func(code string, store ledger.ID) ledger.ID {
		return o.Fill(50, o.Write(49, &ledger.Lot{Code: code, StoreID: store}), o.Settling, code, 290_000)
	}
	shed, nowhere := in("1", warm), in("2", ledger.ID{})
	held(o, ledger.PlaceRoom, warm, 50, 50+30*24, 35) // thirty days of it
	k := heat.Default()
	grown := func(id ledger.ID, hours float64) float64 {
		return believed(t, o, id, hours).HMF().Mean - believed(t, o, id, 50).HMF().Mean
	}
	within(t, "HMF formed in a shed at 35 C for 30 days", grown(shed, 50+30*24), 30*k.HMFRate(35), 1e-6)
	// The last reading holds for a day, then the usual temperature.
	within(t, "and in 60 days of 15 C after it", grown(shed, 50+90*24)-grown(shed, 50+31*24), 59*k.HMFRate(15), 1e-6)
	within(t, "HMF formed in 90 days where no store is said: 20 C", grown(nowhere, 50+90*24), 90*k.HMFRate(20), 1e-6)
}

// The posterior of two independent figures has the sum of their weights and the
// mean by weight.
func TestAReadingNarrowsWhatIsExpected(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	readRun(o, 30, "1", 17, 500_000)
	prior := believed(t, o, o.Settling, 32).Moisture
	read(o, 33, ledger.PlaceTank, o.Settling, 17.4)
	got := believed(t, o, o.Settling, 34).Moisture
	// Of a mixed sample: a quarter of the usual layering of 0.35 points, and
	// the instrument's 0.1.
	reading := 0.1*0.1 + 0.35*0.35/4
	near(t, "the mean", got.Mean, (prior.Mean/prior.Variance+17.4/reading)/(1/prior.Variance+1/reading))
	near(t, "the variance", got.Variance, 1/(1/prior.Variance+1/reading))
}

func laboratory(o *ledgertest.Outfit, hours float64, on ledger.Place, m ...ledger.Measured) ledger.ID {
	return o.Write(hours, &ledger.Reading{On: on, Laboratory: "Fern Valley Laboratory", Measured: m})
}

// From a laboratory's figure on, warmth is counted from it.
func TestALaboratorysHMFIsWhereWarmthIsCountedFrom(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	readRun(o, 30, "1", 17, 500_000)
	held(o, ledger.PlaceTank, o.Settling, 36, 200, 50)
	tank := ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}
	prior := believed(t, o, o.Settling, 96).HMF()
	laboratory(o, 96, tank, ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 20, StdUncertainty: new(1.0)},
		ledger.Measured{Quantity: "diastase_gothe", Value: 8, StdUncertainty: new(0.5)})
	got := believed(t, o, o.Settling, 96)
	near(t, "HMF", got.HMF().Mean, (prior.Mean/prior.Variance+20)/(1/prior.Variance+1))
	near(t, "its variance", got.HMF().Variance, 1/(1/prior.Variance+1))
	if d := got.Diastase().Mean; math.Abs(d-8) > 0.5 {
		t.Errorf("diastase is expected at %v just after it was measured at 8", d)
	}
	later := believed(t, o, o.Settling, 120)
	within(t, "HMF formed on the day after", later.HMF().Mean-got.HMF().Mean, heat.Default().HMFRate(50), 1e-6)
}

// "Less than 5" is taken for 2.5, as uncertain as it is large.
func TestLessThanALimitIsHalfOfIt(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	readRun(o, 30, "1", 17, 500_000)
	prior := believed(t, o, o.Settling, 40).HMF()
	laboratory(o, 40, ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 5, LessThan: true})
	v := 2.5 * 2.5
	near(t, "HMF", believed(t, o, o.Settling, 40).HMF().Mean, (prior.Mean/prior.Variance+2.5/v)/(1/prior.Variance+1/v))
}

func TestAReadingOfALotReachesEachOfItsContainers(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	readRun(o, 30, "1", 17, 900_000)
	lot := o.Lot(49, "26-01")
	first, second := o.Fill(50, lot, o.Settling, "1", 290_000), o.Fill(51, lot, o.Settling, "2", 290_000)
	before := believed(t, o, second, 60)
	laboratory(o, 60, ledger.Place{Kind: ledger.PlaceLot, ID: lot}, ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 9, StdUncertainty: new(0.5)})
	read(o, 61, ledger.PlaceLot, lot, 17.5)
	for _, drum := range []ledger.ID{first, second} {
		after := believed(t, o, drum, 61)
		if after.HMF().Mean < before.HMF().Mean+1 || after.Moisture.Mean <= before.Moisture.Mean || after.Moisture.Variance >= before.Moisture.Variance {
			t.Errorf("the lot was read, and of a drum is expected %+v as before", after)
		}
	}
}

// A reading by an instrument that is overdue for its check, or was found wrong
// by the next one, weighs less and says so; a check that was in time heals it.
func TestAReadingByADoubtfulInstrumentWeighsLessAndSaysSo(t *testing.T) {
	t.Parallel()
	// narrowed is the variance of the tank after a reading at hour 40.
	narrowed := func(checks func(o *ledgertest.Outfit, with ledger.ID)) (variance float64, reading *ledger.Flag) {
		o := ledgertest.NewOutfit()
		with := o.SetUp(&ledger.Instrument{Name: "hand-held", Scale: "moisture", Compensates: true, CheckEveryDays: 7})
		readRun(o, 30, "1", 17, 500_000)
		r := ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.2)
		r.InstrumentID, r.Point = with, ledger.PointMixed
		id := o.Write(40, r)
		checks(o, with)
		b := open(t, o)
		belief, _ := b.State().BeliefAt(o.Settling, ledgertest.At(41))
		for _, f := range b.State().FlagsOn(id) {
			if f.Code == ledger.InstrumentDoubtful {
				reading = &f
			}
		}
		return belief.Moisture.Variance, reading
	}
	check := func(hours, found float64) func(*ledgertest.Outfit, ledger.ID) {
		return func(o *ledgertest.Outfit, with ledger.ID) {
			o.Write(hours, &ledger.Calibration{InstrumentID: with, Reference: "test liquid", Expected: 17, AsFound: found, AsLeft: 17, Tolerance: 0.2})
		}
	}
	trusted, flag := narrowed(check(20, 17.1))
	if flag != nil {
		t.Errorf("checked 20 hours before, and yet: %+v", flag)
	}
	overdue, flag := narrowed(func(*ledgertest.Outfit, ledger.ID) {})
	if flag == nil || overdue <= trusted {
		t.Errorf("never checked, the variance is %v against %v, the flag %+v", overdue, trusted, flag)
	}
	wrong, flag := narrowed(func(o *ledgertest.Outfit, with ledger.ID) {
		check(20, 17.1)(o, with)
		check(60, 17.6)(o, with) // written down after the reading
	})
	if flag == nil || wrong <= trusted {
		t.Errorf("found wrong by the next check, the variance is %v against %v, the flag %+v", wrong, trusted, flag)
	}
	left := func(o *ledgertest.Outfit, with ledger.ID) {
		o.Write(20, &ledger.Calibration{InstrumentID: with, Reference: "test liquid", Expected: 17, AsFound: 17.6, AsLeft: 17.6, Tolerance: 0.2})
	}
	if variance, flag := narrowed(left); flag == nil || variance != wrong {
		t.Errorf("left 0.6 too high by the last check, the variance is %v, found so by the next %v; the flag %+v", variance, wrong, flag)
	}
	// 20.1 for 19.9 is within 0.2, though it is a little more in binary.
	if variance, flag := narrowed(func(o *ledgertest.Outfit, with ledger.ID) {
		check(20, 17)(o, with)
		o.Write(60, &ledger.Calibration{InstrumentID: with, Reference: "test liquid", Expected: 19.9, AsFound: 20.1, AsLeft: 20.1, Tolerance: 0.2})
	}); flag != nil || variance != trusted {
		t.Errorf("found as far off as is good: variance %v against %v, flag %+v", variance, trusted, flag)
	}
	if late, flag := narrowed(func(o *ledgertest.Outfit, with ledger.ID) {
		o.WriteLate(20, 500, &ledger.Calibration{InstrumentID: with, Reference: "test liquid", Expected: 17, AsFound: 17, AsLeft: 17, Tolerance: 0.2})
	}); flag != nil || late != trusted {
		t.Errorf("the check was only written down late: variance %v against %v, flag %+v", late, trusted, flag)
	}
}

// An index found 0.0010 too high is 0.4 points of moisture (testdata's table, 1.4915
// and 1.4905): the reading weighs as little as one on a honey scale that is off by
// those, not as one that is off by a thousandth of a point.
func TestAnIndexFoundWrongWeighsLessByItsPoints(t *testing.T) {
	t.Parallel()
	after := func(x ledger.Instrument, r ledger.MoistureReading, good, found float64) float64 {
		o := ledgertest.NewOutfit()
		with := o.SetUp(&x)
		readRun(o, 30, "1", 17, 500_000)
		o.Write(40, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, Point: ledger.PointMixed, InstrumentID: with, Moisture: &r})
		o.Write(60, &ledger.Calibration{InstrumentID: with, Reference: "glass", Expected: good, AsFound: found, AsLeft: good, Tolerance: (found - good) / 10})
		belief, _ := open(t, o).State().BeliefAt(o.Settling, ledgertest.At(41))
		return belief.Moisture.Variance
	}
	at20 := 20.0
	index := after(ledger.Instrument{Name: "bench", Scale: ledger.ScaleRefractiveIndex},
		ledger.MoistureReading{Scale: ledger.ScaleRefractiveIndex, AsRead: 1.4915, SampleC: &at20, Pct: 18, StdUncertaintyPct: 0.1}, 1.4910, 1.4920)
	scale := after(ledger.Instrument{Name: "hand-held", Scale: ledger.ScaleMoisture, Compensates: true},
		ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 18, Compensated: true, Pct: 18, StdUncertaintyPct: 0.1}, 17, 17.4)
	if d := index - scale; d < -0.002 || d > 0.002 {
		t.Errorf("the tank's variance is %.4f after the index, %.4f after the honey scale", index, scale)
	}
}

// What is expected of honey that nobody read is what honeys are, and its HMF
// grows in the hot room as its boxes wait.
func TestBoxesAgeInTheHotRoom(t *testing.T) {
	t.Parallel()
	waiting := func(days float64) float64 {
		o := ledgertest.NewOutfit()
		pull := o.Write(0, &ledger.Pull{YardID: o.Mill, RoomID: o.HotRoom, Supers: []ledger.SuperCount{{SuperKindID: o.Deep, Supers: 20}}})
		at := 24 * days
		run := o.Run(at, "1")
		o.Supers(at, run, pull, 20)
		o.Out(at, run, o.Settling, 500_000)
		return believed(t, o, o.Settling, at).HMF().Mean
	}
	within(t, "HMF formed in four days more at 33 C", waiting(5)-waiting(1), 4*heat.Default().HMFRate(33), 1e-6)
}

// Rooms and tanks without a log are taken at what they usually are.
func TestThePlaceOfAMeterIsItsOwn(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	day := func(place ledger.ID) float64 {
		hmf, _ := open(t, o).Meter(place).Between(ledgertest.At(0), ledgertest.At(0).Add(24*time.Hour))
		return hmf
	}
	k := heat.Default()
	within(t, "a day in a tank", day(o.Settling), k.HMFRate(25), 1e-9)
	within(t, "a day in the hot room", day(o.HotRoom), k.HMFRate(33), 1e-9)
}

// A tank measured at 6 mg/kg and 20 diastase numbers, and then at 62 and 55 by a slip, which is
// flagged, is where it would be without the slip, and so is a drum of it. A second result
// like the slip is believed. A lot's slip is flagged once, however many drums it has.
func TestOneSlipOfALaboratoryHardlyMovesATank(t *testing.T) {
	t.Parallel()
	book := func(results ...[2]float64) (*ledgertest.Outfit, []ledger.ID, ledger.ID) {
		o := ledgertest.NewOutfit()
		readRun(o, 30, "1", 17, 900_000)
		var ids []ledger.ID
		for i, x := range results {
			ids = append(ids, laboratory(o, 40+float64(i), ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling},
				ledger.Measured{Quantity: "hmf_mg_per_kg", Value: x[0]}, ledger.Measured{Quantity: "diastase_gothe", Value: x[1]}))
		}
		lot := o.Lot(49, "26-01")
		o.Fill(50, lot, o.Settling, "1", 290_000)
		return o, ids, o.Fill(51, lot, o.Settling, "2", 290_000)
	}
	good, slip := [2]float64{6, 20}, [2]float64{62, 55}
	o, _, drum := book(good)
	sure := believed(t, o, drum, 60)
	o, ids, drum := book(good, slip)
	after := believed(t, o, drum, 60)
	within(t, "HMF after the slip", after.HMF().Mean, sure.HMF().Mean, 1e-3)
	within(t, "diastase after the slip", after.Diastase().Mean, sure.Diastase().Mean, 1e-3)
	if after.HMF().StandardDeviation() < 27 || sure.HMF().StandardDeviation() > 1 {
		t.Errorf("HMF is known to %.1f, and to %.1f after the slip", sure.HMF().StandardDeviation(), after.HMF().StandardDeviation())
	}
	if got := flagsOn(t, o, ids[1]); len(got) != 2 || got[0] != ledger.ResultUnlikeEarlier || got[1] != ledger.ResultUnlikeEarlier {
		t.Errorf("the slip's flags are %v", got)
	}
	o, _, drum = book(good, slip, good)
	third := believed(t, o, drum, 60)
	o, _, drum = book(good, good)
	within(t, "HMF after a good result more", third.HMF().Mean, believed(t, o, drum, 60).HMF().Mean, 1e-2)
	within(t, "how sure that is", third.HMF().Variance, believed(t, o, drum, 60).HMF().Variance, 1e-2)
	o, _, drum = book(good, slip, slip)
	within(t, "HMF where two results say so", believed(t, o, drum, 60).HMF().Mean, 62, 0.01)
	o, _, _ = book(good)
	lot := o.Lot(52, "26-02")
	o.Fill(53, lot, o.Settling, "3", 90_000)
	o.Fill(54, lot, o.Settling, "4", 90_000)
	whole := laboratory(o, 60, ledger.Place{Kind: ledger.PlaceLot, ID: lot}, ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 62})
	if got := flagsOn(t, o, whole); len(got) != 1 {
		t.Errorf("the lot's slip has the flags %v", got)
	}
}

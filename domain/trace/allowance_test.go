package trace_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/trace"
)

// What masses are off in the house of the tests, in kilograms: a dip is good to 0.3 % of a
// tank of 2,000 kg, a movement rests on two; a drum rests on its scale, on the tare of its
// kind, and on how the scale is set.
const (
	dipSD     = 6.0
	drumScale = 0.3
	drumTare  = 0.08 * 17
	drumSet   = 0.0003 * 100
)

var movedSD = math.Sqrt2 * dipSD

// drumsSD is of so many kilograms in drums of 100 kg.
func drumsSD(kg float64) float64 {
	return math.Sqrt(kg / 100 * (drumScale*drumScale + drumTare*drumTare + drumSet*drumSet))
}

// threeSD is three standard deviations of a sum of masses.
func threeSD(sd ...float64) float64 {
	squares := 0.0
	for _, x := range sd {
		squares += x * x
	}
	return 3 * math.Sqrt(squares)
}

// tenDrums fills a lot of ten drums of 100 kg out of the settling tank.
func (h *house) tenDrums(hour float64, code string) ledger.ID {
	lot := h.Lot(hour, code)
	for i := range 10 {
		h.Fill(hour+float64(i)/10, lot, h.Settling, fmt.Sprint(code, "-", i), 100_000)
	}
	return lot
}

// ofYard is what a lot has of a yard.
func ofYard(t *testing.T, tracer *trace.Tracer, lot, yard ledger.ID) trace.Amount {
	t.Helper()
	back, err := tracer.Back(lot)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(back.Yards, func(o trace.Origin) bool { return o.Place.ID == yard })
	if i < 0 {
		t.Fatalf("the lot may have honey of %+v", back.Yards)
	}
	return back.Yards[i].Of
}

// between holds bounds against kilograms that were worked out by hand.
func between(t *testing.T, what string, of trace.Amount, leastKg, mostKg float64) {
	t.Helper()
	if math.Abs(float64(of.LeastG)-1000*leastKg) > 1 || math.Abs(float64(of.MostG)-1000*mostKg) > 1 {
		t.Errorf("%s: %+v, by hand %.3f to %.3f kg", what, of, leastKg, mostKg)
	}
}

// TestWhatALotIsPromisedGivesWayByThreeDips: of 600 kg and 400 kg, each good to two dips, come
// ten drums. By the weights there are 600 kg of the first in them.
func TestWhatALotIsPromisedGivesWayByThreeDips(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Settling, 600_000)
	h.Out(3, h.ridgeRun, h.Settling, 400_000)
	lot := h.tenDrums(4, "L")
	tracer := trace.Open(mustOpen(t, h.Entries))
	between(t, "the mill's", ofYard(t, tracer, lot, h.Mill), 600-threeSD(movedSD, drumsSD(400)), 600+threeSD(movedSD, drumsSD(600)))
	between(t, "the ridge's", ofYard(t, tracer, lot, h.Ridge), 400-threeSD(movedSD, drumsSD(600)), 400+threeSD(movedSD, drumsSD(400)))
}

// TestHoneyOfOneSourceIsItsWholeHoweverItWasWeighed: what came out of the run and what it was
// filled into need not be the same for all of it to be the mill's.
func TestHoneyOfOneSourceIsItsWholeHoweverItWasWeighed(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Sump, 200_000)
	h.Pump(3, h.Sump, h.Settling, 150_000)
	h.Fill(4, h.lot, h.Settling, "D1", 100_000)
	tracer := trace.Open(mustOpen(t, h.Entries))
	between(t, "the mill's", ofYard(t, tracer, h.lot, h.Mill), 100, 100)
	if of := tracer.Forward(trace.Subject{Place: ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}}).OnHand; of.LeastG != 100_000 || of.MostG != 100_000 {
		t.Errorf("of all that was in the tank its drum has %+v", of)
	}
}

// TestCountedBoxesShareARunGiveOrTakeAFifth: boxes that nobody weighed are a fifth fuller or
// emptier than usual, and leave 0.6 % more or less behind, each pull's by itself. So the ratio
// of two is off by a factor, and half of a run may be a third or two thirds of it.
func TestCountedBoxesShareARunGiveOrTakeAFifth(t *testing.T) {
	t.Parallel()
	of := runOfTwo(t, 0, 0, 10)
	factor := math.Exp(3 * math.Sqrt(2*(0.20*0.20+0.006*0.006)))
	most := 1000*factor/(1+factor) + threeSD(movedSD/2, drumsSD(500))
	between(t, "the mill's", of, 1000-most, most)
}

// TestWeighedBoxesShareARunAsTheHoistIsGood: 350 kg gross of ten deeps is 250 kg of honey, good
// to 0.4 % of the gross and to half a kilogram of wood a box.
func TestWeighedBoxesShareARunAsTheHoistIsGood(t *testing.T) {
	t.Parallel()
	of := runOfTwo(t, 350_000, 350_000, 10)
	sd := math.Sqrt(math.Pow(0.004*350, 2)+math.Pow(0.5*math.Sqrt(10), 2)) / 250
	factor := math.Exp(3 * math.Sqrt(2*(sd*sd+0.006*0.006)))
	most := 1000*factor/(1+factor) + threeSD(movedSD/2, drumsSD(500))
	between(t, "the mill's", of, 1000-most, most)
}

// TestBoxesOfAPullThatWentIntoAnotherRunMayHaveBeenTheFullOnes: a box is 15 % fuller or emptier
// than the others of its pull. Of forty boxes ten went into this run.
func TestBoxesOfAPullThatWentIntoAnotherRunMayHaveBeenTheFullOnes(t *testing.T) {
	t.Parallel()
	of := runOfTwo(t, 4*350_000, 4*350_000, 40)
	sd := math.Sqrt(math.Pow(0.004*1400, 2)+math.Pow(0.5*math.Sqrt(40), 2)) / 1000
	split := 0.15 * math.Sqrt(1.0/10-1.0/40)
	factor := math.Exp(3 * math.Sqrt(2*(sd*sd+split*split+0.006*0.006)))
	most := 1000*factor/(1+factor) + threeSD(movedSD/2, drumsSD(500))
	between(t, "the mill's", of, 1000-most, most)
}

// runOfTwo is what a lot has of the mill, where ten boxes of it and ten of the ridge gave all of
// the lot's 1,000 kg. Each pull was of so many boxes and weighed so much.
func runOfTwo(t *testing.T, millG, ridgeG int64, boxes int) trace.Amount {
	t.Helper()
	h := newHouse()
	both := h.Run(1.5, "both")
	h.Supers(1.5, both, h.Pull(-18, h.Mill, boxes, millG), 10)
	h.Supers(1.6, both, h.Pull(-18, h.Ridge, boxes, ridgeG), 10)
	h.Out(2, both, h.Settling, 1_000_000)
	lot := h.tenDrums(4, "L")
	return ofYard(t, trace.Open(mustOpen(t, h.Entries)), lot, h.Mill)
}

// TestADipSaysWhatATankHasFromThenOn: what is left of the mill's honey, which came in two
// movements, was dipped to 2 kg before
// the ridge's came onto it. How well the mill's was weighed before does not matter any more.
func TestADipSaysWhatATankHasFromThenOn(t *testing.T) {
	t.Parallel()
	for _, dipped := range []bool{true, false} {
		h := newHouse()
		h.Out(2, h.millRun, h.Settling, 300_000)
		h.Out(2.2, h.millRun, h.Settling, 300_000)
		h.Fill(2.5, h.lot, h.Settling, "D1", 100_000)
		left, sd := 500.0, math.Hypot(math.Sqrt2*movedSD, drumsSD(100))
		if dipped {
			h.Write(2.7, &ledger.Stocktake{TankID: h.Settling, Method: "dip", MassG: 499_000, UncertaintyG: 2000})
			left, sd = 499, 2
		}
		h.Out(3, h.ridgeRun, h.Settling, 600_000)
		lot := h.tenDrums(4, "L")
		of := ofYard(t, trace.Open(mustOpen(t, h.Entries)), lot, h.Mill)
		between(t, fmt.Sprint("the mill's, dipped ", dipped), of, 400-threeSD(movedSD, drumsSD(600)), left+threeSD(sd, drumsSD(left)))
	}
}

// TestATankThatGaveMoreThanItHadMayStillHaveSome: 100 kg of the mill were booked into the tank
// and 110 kg drawn. There was more than booked, nobody knows how much, and as much as dips are
// off may have stayed for the next lot. A tank that gave just what it had keeps a heel alone,
// and a washed one nothing.
func TestATankThatGaveMoreThanItHadMayStillHaveSome(t *testing.T) {
	t.Parallel()
	next := func(drawnG int64, washed bool) (of trace.Amount, is bool) {
		h := newHouse()
		h.Out(2, h.millRun, h.Settling, 100_000)
		h.Fill(3, h.lot, h.Settling, "D1", drawnG)
		if washed {
			h.Write(3.5, &ledger.Wash{TankID: h.Settling})
		}
		h.Out(4, h.ridgeRun, h.Settling, 1_000_000)
		h.tenDrums(5, "L")
		f := trace.Open(mustOpen(t, h.Entries)).Forward(trace.Subject{Place: ledger.Place{Kind: ledger.PlaceYard, ID: h.Mill}})
		if !isOn(f, "L-0") {
			return trace.Amount{}, false
		}
		return drum(t, f, "L-0").Of, true
	}
	drumSD := math.Sqrt(drumScale*drumScale + drumTare*drumTare + math.Pow(0.0003*110, 2))
	if of, _ := next(110_000, false); math.Abs(float64(of.MostG)-1000*threeSD(movedSD, drumSD)) > 1 || of.LeastG != 0 {
		t.Errorf("after more was drawn than was there, the next drum has %+v", of)
	}
	if of, is := next(100_000, false); !is || of != (trace.Amount{}) {
		t.Errorf("after all was drawn, the next drum has %+v, not a heel", of)
	}
	if of, is := next(110_000, true); is {
		t.Errorf("after a wash the next drum has %+v", of)
	}
}

// TestWhatWeightsMayBeOffMakesNoBoundCloser: with what weights and shares may be off, each least
// is as low and each most as high as without, or further out.
func TestWhatWeightsMayBeOffMakesNoBoundCloser(t *testing.T) {
	t.Parallel()
	wider := 0
	rapid.Check(t, func(t *rapid.T) {
		o := anyBook(t)
		b := mustOpen(t, o.Entries)
		exact, allowing := trace.OpenExact(b), trace.Open(b)
		hold := func(what string, of, is trace.Amount, netG int64) {
			if is.LeastG < 0 || is.LeastG > of.LeastG || is.MostG < of.MostG || is.MostG > netG || is.Grams != of.Grams {
				t.Fatalf("%s of %d g: %+v, exact %+v", what, netG, is, of)
			}
			if is != of {
				wider++
			}
		}
		for _, s := range subjects(t, b) {
			was, is := exact.Forward(s), allowing.Forward(s)
			if was.TotalG != is.TotalG || len(was.Containers) != len(is.Containers) || len(was.Tanks) != len(is.Tanks) {
				t.Fatalf("%s: %d g in %d containers and %d tanks, exact %d g in %d and %d", is.Name,
					is.TotalG, len(is.Containers), len(is.Tanks), was.TotalG, len(was.Containers), len(was.Tanks))
			}
			for i, c := range is.Containers {
				hold(c.Number, was.Containers[i].Of, c.Of, c.NetG)
			}
			for i, x := range is.Tanks {
				hold(x.Name, was.Tanks[i].Of, x.Of, x.HeldG)
			}
			hold("on hand", was.OnHand, is.OnHand, is.OnHandNetG)
			hold("sent", was.Dispatched, is.Dispatched, is.DispatchedNetG)
		}
	})
	if t.Logf("%d bounds are wider", wider); wider < 1000 {
		t.Error("too few bounds are wider to say anything")
	}
}

// TestADrumPouredBackIsKnownAsTheDrumIs: of a drum of 100 kg of the mill's 80 kg were poured onto the
// ridge's 920 kg. Its scale and its tare are what those 80 kg may be off.
func TestADrumPouredBackIsKnownAsTheDrumIs(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Settling, 100_000)
	drum := h.Fill(2.2, h.lot, h.Settling, "D1", 100_000)
	h.Write(2.4, &ledger.Wash{TankID: h.Settling})
	h.Out(3, h.ridgeRun, h.Settling, 920_000)
	h.Write(3.5, ledgertest.Move(ledger.PlaceContainer, drum, ledger.PlaceTank, h.Settling, 80_000))
	lot := h.tenDrums(4, "L")
	of := ofYard(t, trace.Open(mustOpen(t, h.Entries)), lot, h.Mill)
	between(t, "the mill's", of, 80-threeSD(movedSD, drumsSD(920)), 80+threeSD(math.Hypot(drumScale, drumTare), drumsSD(80)))
}

// TestWhatWasThrownAwayIsKnownAsABucketOnAScaleIs: of the mill's 600 kg 200 kg were skimmed off, known
// to 2 % and 0.3 kg, before the ridge's came onto it.
func TestWhatWasThrownAwayIsKnownAsABucketOnAScaleIs(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Settling, 600_000)
	h.Write(2.5, ledgertest.Move(ledger.PlaceTank, h.Settling, ledger.PlaceWaste, ledger.ID{}, 200_000))
	h.Out(3, h.ridgeRun, h.Settling, 600_000)
	lot := h.tenDrums(4, "L")
	of := ofYard(t, trace.Open(mustOpen(t, h.Entries)), lot, h.Mill)
	thrown := math.Hypot(0.02*200, 0.3)
	between(t, "the mill's", of, 400-threeSD(movedSD, drumsSD(600)), 400+threeSD(movedSD, thrown, drumsSD(400)))
}

// TestDrumsOnAFinerScaleAndWithTheirOwnTaresPromiseMore: a balance that is good to 0.05 kg is set up,
// and each drum's own tare was weighed on it: a kilogram more than its kind's.
func TestDrumsOnAFinerScaleAndWithTheirOwnTaresPromiseMore(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.SetUp(&ledger.Instrument{Name: "bench balance", Scale: "kg", StdUncertainty: new(0.05)})
	h.SetUp(&ledger.Instrument{Name: "hoist", Scale: "kg", StdUncertainty: new(1.0)})
	h.Out(2, h.millRun, h.Settling, 600_000)
	h.Out(3, h.ridgeRun, h.Settling, 400_000)
	lot := h.Lot(4, "L")
	for i := range 10 {
		h.Write(4+float64(i)/10, &ledger.Fill{LotID: lot, TankID: h.Settling, ContainerKindID: h.Drum, Container: fmt.Sprint("L-", i), TareG: 18_000, GrossG: 118_000})
	}
	weighed := func(kg float64) float64 { return math.Sqrt(kg / 100 * (0.05*0.05 + drumSet*drumSet)) }
	of := ofYard(t, trace.Open(mustOpen(t, h.Entries)), lot, h.Mill)
	between(t, "the mill's", of, 600-threeSD(movedSD, weighed(400)), 600+threeSD(movedSD, weighed(600)))
}

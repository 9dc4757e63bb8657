package balance_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pullbook/domain/balance"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/message"
)

// wrongInstrument is forty readings of drums with a refractometer that was good
// on the first morning and found off nine days later, after the first of two
// lots had been shipped. A reading before, one after and one with another
// instrument are not in doubt.
type wrongInstrument struct {
	*ledgertest.Outfit
	first, second, shipped, bad ledger.ID
}

func newWrongInstrument(off float64, pct func(i int) float64) *wrongInstrument {
	w := &wrongInstrument{Outfit: ledgertest.NewOutfit()}
	check := func(hours, found float64) ledger.ID {
		return w.Write(hours, &ledger.Calibration{InstrumentID: w.Refractometer, Reference: "reference liquid", Expected: 17,
			AsFound: found, AsLeft: 17, Tolerance: 0.25})
	}
	read := func(hours float64, on ledger.PlaceKind, id ledger.ID, pct float64, with ledger.ID) {
		r := ledgertest.Moisture(on, id, pct)
		r.InstrumentID = with
		w.Write(hours, r)
	}
	other := w.SetUp(&ledger.Instrument{Name: "bench refractometer", Scale: "moisture"})
	run := w.Run(0.1, "1")
	w.Out(0.2, run, w.Settling, 12_000_000)
	read(0.5, ledger.PlaceTank, w.Settling, 30, w.Refractometer) // before the good check
	check(1, 17.1)
	w.first, w.second = w.Lot(2, "26-001"), w.Lot(2, "26-002")
	var drums []ledger.ID
	for i := range 40 {
		lot := w.first
		if i >= 20 {
			lot = w.second
		}
		at := 3 + float64(i)
		drum := w.Fill(at, lot, w.Settling, fmt.Sprint(i), 290_000)
		read(at+0.1, ledger.PlaceContainer, drum, pct(i), w.Refractometer)
		drums = append(drums, drum)
	}
	read(60, ledger.PlaceContainer, drums[0], 17.0, other)
	w.Release(90, w.first)
	w.shipped = w.Dispatch(100, drums[:20]...)
	w.bad = check(216, 17+off)
	read(217, ledger.PlaceContainer, drums[39], 30, w.Refractometer) // after it was set right
	return w
}

func (w *wrongInstrument) report(t *testing.T, limits ...float64) *balance.InstrumentReport {
	t.Helper()
	b, err := w.Open()
	if err != nil {
		t.Fatal(err)
	}
	r, err := balance.Instrument(b, w.Refractometer, limits...)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// It read 0.9 high: drums read as 18.0 to 18.78 are truly 17.1 to 17.88 at the
// driest; those read above 18.6 may be within it.
func TestARefractometerFoundHighAfterFortyReadingsAndALoad(t *testing.T) {
	t.Parallel()
	w := newWrongInstrument(0.9, func(i int) float64 { return 18.0 + 0.02*float64(i) })
	r := w.report(t)
	if len(r.Checks) != 2 || !r.Checks[0].Good || r.Checks[1].Good || len(r.Doubts) != 1 {
		t.Fatalf("%d checks, %d doubts: %s", len(r.Checks), len(r.Doubts), r.Sentence)
	}
	d := r.Doubts[0]
	near(t, "the offset", d.Off, 0.9, 1e-9)
	if len(d.Readings) != 40 || len(d.Lots) != 2 || len(d.Dispatches) != 1 {
		t.Fatalf("in doubt are %d readings, %d lots, %d dispatches", len(d.Readings), len(d.Lots), len(d.Dispatches))
	}
	for i, x := range d.Readings {
		near(t, "as corrected", *x.CorrectedPct, 17.1+0.02*float64(i), 1e-9)
		if crosses := i > 30; slices.Equal(x.Crosses, []float64{18.6}) != crosses {
			t.Errorf("a reading of %.2f crosses %v", *x.MoisturePct, x.Crosses)
		}
	}
	near(t, "at the worst", *d.WorstPct, 18.78, 1e-9)
	first, second := d.Lots[0], d.Lots[1]
	near(t, "the first lot as read", first.MoisturePct, 18.38, 1e-9)
	near(t, "the first lot as corrected", first.CorrectedPct, 17.48, 1e-9)
	if len(first.Fails)+len(first.Passes)+len(second.Fails) != 0 || !slices.Equal(second.Passes, []float64{18.6}) {
		t.Errorf("the lots cross %v %v and %v %v", first.Fails, first.Passes, second.Fails, second.Passes)
	}
	if first.OtherReadings != 1 || *first.OtherWettestPct != 17.0 || second.OtherReadings != 0 {
		t.Errorf("other readings: %d and %d", first.OtherReadings, second.OtherReadings)
	}
	load := d.Dispatches[0]
	if load.DispatchID != w.shipped || load.Containers != 20 || load.Kg != 5800 || load.Buyer != "packer" || !slices.Equal(load.Lots, []string{"26-001"}) {
		t.Errorf("the load is %+v", load)
	}
	for _, want := range []string{"It showed 0.9 too high when it was checked on 10 July", "since its check on 1 July 2026 may be off: 40 readings, in 2 lots and 1 dispatch", "18.8 %"} {
		if !strings.Contains(r.Sentence.String(), want) {
			t.Errorf("it does not say %q: %s", want, r.Sentence)
		}
	}
}

// It read 0.9 low: drums read as 18.0 may be at 18.9, above the 18.6 that they
// passed, and the load has left.
func TestARefractometerFoundLowMayHaveLetWetHoneyOut(t *testing.T) {
	t.Parallel()
	w := newWrongInstrument(-0.9, func(int) float64 { return 18.0 })
	d := w.report(t).Doubts[0]
	near(t, "at the worst", *d.WorstPct, 18.9, 1e-9)
	load := d.Dispatches[0]
	if !slices.Equal(load.Fails, []float64{18.6}) {
		t.Errorf("the load fails %v", load.Fails)
	}
	near(t, "the load at the worst", load.WorstPct, 18.9, 1e-9)
	if !strings.Contains(d.Lots[0].Sentence.String(), "it may be above the limit of 18.6 % that it passed") {
		t.Errorf("it says %q", d.Lots[0].Sentence)
	}
	if d := w.report(t, 18.0).Doubts[0]; !slices.Equal(d.Lots[0].Fails, []float64{18.0}) {
		t.Errorf("against 18.0 it fails %v", d.Lots[0].Fails)
	}
}

// A tank's reading counts for what was filled from it before more came in.
func TestALotRestsOnTheReadingOfItsTank(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(1, "1")
	o.Out(2, run, o.Settling, 1_500_000)
	r := ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.9)
	r.InstrumentID = o.Refractometer
	o.Write(3, r)
	before, after := o.Lot(4, "26-001"), o.Lot(4, "26-002")
	o.Fill(5, before, o.Settling, "1", 290_000)
	o.Out(6, run, o.Settling, 500_000)
	o.Fill(7, after, o.Settling, "2", 290_000)
	o.Write(8, &ledger.Calibration{InstrumentID: o.Refractometer, Expected: 17, AsFound: 16.1, AsLeft: 16.1, Tolerance: 0.2})
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	report, err := balance.Instrument(b, o.Refractometer)
	if err != nil {
		t.Fatal(err)
	}
	d := report.Doubts[0]
	if len(d.Lots) != 1 || d.Lots[0].LotID != before || message.Join(d.Lots[0].How...).String() != "read on its tank" {
		t.Errorf("in doubt are %+v", d.Lots)
	}
	if !d.Since.IsZero() || !d.Check.LeftWrong || !strings.Contains(d.Sentence.String(), "All that it ever read may be off") || !strings.Contains(d.Sentence.String(), "It was not put right") {
		t.Errorf("it says %q", d.Sentence)
	}
}

// An index that reads 0.0010 too high is honey about 0.4 points too dry: by the
// published table 1.4915 is 18.0 and 1.4905 is 18.4 percent (two rows of
// testdata/refractive-index-moisture.csv).
func TestAnIndexIsCorrectedThroughTheTable(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	bench := o.SetUp(&ledger.Instrument{Name: "bench", Scale: "refractive_index"})
	drum := o.Fill(1, o.Lot(0.5, "26-001"), o.Settling, "1", 290_000)
	at20 := 20.0
	o.Write(2, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, InstrumentID: bench,
		Moisture: &ledger.MoistureReading{Scale: ledger.ScaleRefractiveIndex, AsRead: 1.4915, SampleC: &at20, Pct: 18.0, StdUncertaintyPct: 0.1}})
	o.Write(3, &ledger.Calibration{InstrumentID: bench, Expected: 1.4910, AsFound: 1.4920, AsLeft: 1.4910, Tolerance: 0.0005})
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	report, err := balance.Instrument(b, bench)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "as corrected", *report.Doubts[0].Readings[0].CorrectedPct, 18.4, 0.02)
}

// Found 0.9 too high, and left 0.5 too high: the drum read before is 0.9 drier, the one
// read after 0.5, and that of the day when the next check found it good is no matter.
func TestWhatIsReadWithAnInstrumentLeftWrongIsInDoubtToo(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	check := func(hours, found, left float64) ledger.ID {
		return o.Write(hours, &ledger.Calibration{InstrumentID: o.Refractometer, Expected: 17, AsFound: found, AsLeft: left, Tolerance: 0.2})
	}
	lot := o.Lot(0.5, "26-001")
	o.Out(0.6, o.Run(0.1, "1"), o.Settling, 900_000)
	for i, hours := range []float64{2, 5, 9} {
		drum := o.Fill(hours-0.5, lot, o.Settling, fmt.Sprint(i), 290_000)
		r := ledgertest.Moisture(ledger.PlaceContainer, drum, 18)
		r.InstrumentID = o.Refractometer
		o.Write(hours, r)
	}
	check(1, 17, 17)
	bad := check(3, 17.9, 17.5)
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	report, err := balance.Instrument(b, o.Refractometer)
	if err != nil {
		t.Fatal(err)
	}
	if report.Trust != ledger.FoundWrong || len(report.Doubts) != 1 || len(report.Doubts[0].Readings) != 3 {
		t.Fatalf("with no check since, trusted as %s, %d in doubt: %+v", report.Trust, len(report.Doubts), report.Doubts)
	}
	if finding := b.State().FindingsOn(bad); len(finding) != 1 || len(finding[0].Entries) != 3 {
		t.Errorf("the list has %+v", finding)
	}
	check(8, 17, 17)
	if b, err = o.Open(); err != nil {
		t.Fatal(err)
	}
	if report, err = balance.Instrument(b, o.Refractometer); err != nil {
		t.Fatal(err)
	}
	readings := report.Doubts[0].Readings
	if report.Trust != ledger.Trusted || len(readings) != 2 {
		t.Fatalf("with a good check since, trusted as %s, in doubt %+v", report.Trust, readings)
	}
	near(t, "the first drum as corrected", *readings[0].CorrectedPct, 17.1, 1e-9)
	near(t, "the second drum as corrected", *readings[1].CorrectedPct, 17.5, 1e-9)
	if s := report.Doubts[0].Sentence.String(); !strings.Contains(s, "It showed 0.9 too high") || !strings.Contains(s, "It was not put right, and was left 0.5 too high") {
		t.Errorf("it says %q", s)
	}
}

func TestAnInstrumentThatWasNeverWrong(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	r, err := balance.Instrument(b, o.Refractometer)
	if err != nil || r.Sentence.String() != "The refractometer was never checked." || len(r.Doubts) != 0 {
		t.Errorf("%v %+v", err, r)
	}
	if _, err := balance.Instrument(b, o.Mill); err == nil {
		t.Error("a yard was reported as an instrument")
	}
}

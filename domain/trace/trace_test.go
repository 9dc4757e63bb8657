package trace_test

import (
	"slices"
	"sync"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
	"pullbook/domain/trace"
)

// house is an outfit with a pull and a run of each of its two yards.
type house struct {
	*ledgertest.Outfit
	millPull, ridgePull, millRun, ridgeRun, lot ledger.ID
}

func newHouse() *house {
	h := &house{Outfit: ledgertest.NewOutfit()}
	h.millPull, h.ridgePull = h.Pull(-20, h.Mill, 20, 0), h.Pull(-19, h.Ridge, 20, 0)
	h.millRun, h.ridgeRun = h.Run(0, "first"), h.Run(1, "second")
	h.Supers(0, h.millRun, h.millPull, 20)
	h.Supers(1, h.ridgeRun, h.ridgePull, 20)
	h.lot = h.Lot(1, "26-001")
	return h
}

func (h *house) open(t *testing.T) (*ledger.Book, *trace.Tracer) {
	t.Helper()
	b := mustOpen(t, h.Entries)
	return b, trace.OpenExact(b)
}

func forward(t *testing.T, b *ledger.Book, tracer *trace.Tracer, id ledger.ID) *trace.Forward {
	t.Helper()
	s, err := trace.SubjectOf(b, id)
	if err != nil {
		t.Fatal(err)
	}
	return tracer.Forward(s)
}

func drum(t *testing.T, f *trace.Forward, number string) trace.Container {
	t.Helper()
	i := slices.IndexFunc(f.Containers, func(c trace.Container) bool { return c.Number == number })
	if i < 0 {
		t.Fatalf("drum %s is not on the sheet of %s", number, f.Name)
	}
	return f.Containers[i]
}

func isOn(f *trace.Forward, number string) bool {
	return slices.ContainsFunc(f.Containers, func(c trace.Container) bool { return c.Number == number })
}

func TestOfOneSourceLeastAndMostAreTheShare(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Sump, 200_000)
	h.Pump(3, h.Sump, h.Settling, 150_000)
	h.Fill(4, h.lot, h.Settling, "D1", 100_000)
	b, tracer := h.open(t)
	f := forward(t, b, tracer, h.Mill)
	if want := (trace.Amount{Grams: 100_000, LeastG: 100_000, MostG: 100_000}); drum(t, f, "D1").Of != want {
		t.Errorf("the drum has %+v of the mill's honey", drum(t, f, "D1").Of)
	}
}

// TestNoMoreOfAYardIsAnywhereThanItGave: 100 kg of the ridge are in 400 kg that fill
// four drums, of which two are sold. Each drum may be all the ridge's honey, but not
// both that are here, nor both that left, nor the whole lot.
func TestNoMoreOfAYardIsAnywhereThanItGave(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Settling, 300_000)
	h.Out(3, h.ridgeRun, h.Settling, 100_000)
	var drums []ledger.ID
	for i, number := range []string{"D1", "D2", "D3", "D4"} {
		drums = append(drums, h.Fill(4+float64(i)/10, h.lot, h.Settling, number, 100_000))
	}
	h.Release(5, h.lot)
	h.Dispatch(6, drums[0], drums[1])
	b, tracer := h.open(t)
	f := forward(t, b, tracer, h.Ridge)
	half := trace.Amount{Grams: 50_000, MostG: 100_000}
	if drum(t, f, "D1").Of.MostG != 100_000 || f.OnHand != half || f.Dispatched != half || f.Buyers[0].Of != half {
		t.Errorf("of the ridge's 100 kg there are %+v on hand, %+v left, %+v with the buyer", f.OnHand, f.Dispatched, f.Buyers[0].Of)
	}
	back, err := tracer.Back(h.lot)
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range slices.Concat(back.Yards, back.Pulls, back.Runs) {
		if most := map[bool]int64{true: 100_000, false: 300_000}[o.Of.Grams == 100_000]; o.Of.MostG != most {
			t.Errorf("the lot has %+v of %s, which gave %d g", o.Of, o.Name, most)
		}
	}
}

// TestTwoYardsInOneTank: 300 kg of one yard on 100 kg of another. A drum of
// 200 kg has 150 kg of the first under perfect mixing, at least the 100 kg that
// the other cannot make up, and at most its fill.
func TestTwoYardsInOneTank(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Settling, 300_000)
	h.Out(3, h.ridgeRun, h.Settling, 100_000)
	h.Fill(4, h.lot, h.Settling, "D1", 200_000)
	h.Fill(5, h.lot, h.Settling, "D2", 200_000)
	b, tracer := h.open(t)
	for id, want := range map[ledger.ID]trace.Amount{
		h.Mill:      {Grams: 150_000, LeastG: 100_000, MostG: 200_000},
		h.ridgePull: {Grams: 50_000, LeastG: 0, MostG: 100_000},
		h.ridgeRun:  {Grams: 50_000, LeastG: 0, MostG: 100_000},
		h.Settling:  {Grams: 200_000, LeastG: 200_000, MostG: 200_000},
	} {
		f := forward(t, b, tracer, id)
		for _, number := range []string{"D1", "D2"} {
			if got := drum(t, f, number).Of; got != want {
				t.Errorf("of %s there are %+v in %s, not %+v", f.Name, got, number, want)
			}
		}
	}
}

func TestAHeelIsInTheNextLotUnlessTheTankWasWashed(t *testing.T) {
	t.Parallel()
	for _, washed := range []bool{false, true} {
		h := newHouse()
		h.Out(2, h.millRun, h.Settling, 300_000)
		h.Fill(3, h.lot, h.Settling, "D1", 300_000)
		if washed {
			h.Write(4, &ledger.Wash{TankID: h.Settling})
		}
		h.Out(5, h.ridgeRun, h.Settling, 300_000)
		next := h.Fill(6, h.Lot(5, "26-002"), h.Settling, "D2", 300_000)
		b, tracer := h.open(t)
		f := forward(t, b, tracer, h.Mill)
		if isOn(f, "D2") == washed {
			t.Errorf("washed %t: D2 may hold the mill's honey is %t", washed, isOn(f, "D2"))
		}
		if !washed && drum(t, f, "D2").Of != (trace.Amount{}) {
			t.Errorf("a heel is told as %+v, and the book does not know how much it is", drum(t, f, "D2").Of)
		}
		back, err := tracer.Back(next)
		if err != nil {
			t.Fatal(err)
		}
		names := []string{}
		for _, y := range back.Yards {
			names = append(names, y.Name)
		}
		if want := map[bool][]string{false: {"Ridge", "Mill"}, true: {"Ridge"}}[washed]; !slices.Equal(names, want) {
			t.Errorf("washed %t: D2 may hold honey of %v, not %v", washed, names, want)
		}
	}
}

// TestADrumFromATankThatTheBookHasEmpty: nobody wrote down what came into the
// tank, so that all of the drum may be of whatever was in it.
func TestADrumFromATankThatTheBookHasEmpty(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Settling, 100_000)
	h.Fill(3, h.lot, h.Settling, "D1", 100_000)
	h.Fill(4, h.lot, h.Settling, "D2", 200_000)
	b, tracer := h.open(t)
	if got, want := drum(t, forward(t, b, tracer, h.Mill), "D2").Of, (trace.Amount{MostG: 200_000}); got != want {
		t.Errorf("the drum may hold %+v of the mill's honey, not %+v", got, want)
	}
}

func TestReworkedHoneyIsFollowedOn(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Settling, 100_000)
	first := h.Fill(3, h.lot, h.Settling, "D1", 100_000)
	h.Write(3.5, &ledger.Wash{TankID: h.Settling})
	h.Out(4, h.ridgeRun, h.Settling, 300_000)
	h.Write(5, ledgertest.Move(ledger.PlaceContainer, first, ledger.PlaceTank, h.Settling, 0))
	second := h.Fill(6, h.Lot(5, "26-002"), h.Settling, "D2", 200_000)
	b, tracer := h.open(t)
	f := forward(t, b, tracer, h.lot)
	if c := drum(t, f, "D1"); c.State != season.Reworked || c.NetG != 100_000 {
		t.Errorf("the first drum is told as %+v", c)
	}
	if got, want := drum(t, f, "D2").Of, (trace.Amount{Grams: 50_000, LeastG: 0, MostG: 100_000}); got != want {
		t.Errorf("D2 has %+v of lot 26-001, not %+v", got, want)
	}
	back, err := tracer.Back(second)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(back.Passed, func(p trace.Passed) bool { return p.Place.ID == first })
	if i < 0 || back.Passed[i].Grams != 50_000 {
		t.Errorf("back from D2 there is D1 with 50 kg: %+v", back.Passed)
	}
	if len(back.Yards) != 2 || back.Yards[1].Name != "Mill" || back.Yards[1].Of.Grams != 50_000 {
		t.Errorf("the yards of D2 are %+v", back.Yards)
	}
}

func TestATraceNamesDaysInstrumentsAndPeople(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Put(ledger.Entry{OccurredAt: ledgertest.At(2), RecordedBy: "Bea", Body: ledgertest.OutBody(h.millRun, h.Settling, 300_000)})
	read := ledgertest.Moisture(ledger.PlaceTank, h.Settling, 17.2)
	read.InstrumentID = h.Refractometer
	h.Write(3, read)
	filled := h.Fill(30, h.lot, h.Settling, "D1", 200_000)
	other := ledgertest.Moisture(ledger.PlaceTank, h.Sump, 17.2)
	other.InstrumentID = h.Refractometer
	h.Write(4, other)
	_, tracer := h.open(t)
	back, err := tracer.Back(filled)
	if err != nil {
		t.Fatal(err)
	}
	want := []trace.Day{
		{Day: "2026-06-30", Work: trace.WorkPulled, Grams: 200_000},
		{Day: "2026-07-01", Work: trace.WorkExtracted, Grams: 200_000},
		{Day: "2026-07-02", Work: trace.WorkFilled, Grams: 200_000},
	}
	if !slices.Equal(back.Days, want) {
		t.Errorf("the days are %+v", back.Days)
	}
	if len(back.Instruments) != 1 || back.Instruments[0].Readings != 1 {
		t.Errorf("the sump's reading is not of this honey: %+v", back.Instruments)
	}
	if len(back.People) != 2 || back.People[1] != (trace.Person{Name: "Bea", Entries: 1}) {
		t.Errorf("the people are %+v", back.People)
	}
	if len(back.Runs) != 1 || back.Runs[0].Name != "first" || len(back.Passed) != 1 || back.Passed[0].Name != "large tank" {
		t.Errorf("it came by %+v and %+v", back.Runs, back.Passed)
	}
}

func TestARecallSheetOfADay(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Settling, 300_000)
	before := h.Fill(3, h.lot, h.Settling, "D1", 200_000)
	h.Out(26, h.ridgeRun, h.Settling, 100_000)
	sent := h.Fill(27, h.lot, h.Settling, "D2", 100_000)
	h.Fill(50, h.lot, h.Settling, "D3", 100_000)
	h.Release(60, h.lot)
	h.Dispatch(70, sent)
	_ = before
	b, tracer := h.open(t)
	f := tracer.Forward(trace.Subject{Day: "2026-07-02"})
	if isOn(f, "D1") {
		t.Error("D1 was filled the day before")
	}
	if c := drum(t, f, "D2"); c.State != season.Dispatched || c.Buyer != "packer" || c.Of.Grams != 100_000 || !c.GoneAt.Equal(ledgertest.At(70)) {
		t.Errorf("D2, filled that day: %+v", c)
	}
	if c := drum(t, f, "D3"); c.State != season.Held || c.Of.Grams != 50_000 {
		t.Errorf("D3, of which half came into the tank that day: %+v", c)
	}
	if f.OnHandNetG != 100_000 || f.DispatchedNetG != 100_000 || len(f.Buyers) != 1 || f.Buyers[0].NetG != 100_000 {
		t.Errorf("the sums are %+v", f)
	}
	pulled := tracer.Forward(trace.Subject{Day: "2026-06-30", Pulled: true})
	if want := forward(t, b, tracer, h.Mill).TotalG + forward(t, b, tracer, h.Ridge).TotalG; pulled.TotalG != want {
		t.Errorf("of the supers pulled that day came %d g, not %d", pulled.TotalG, want)
	}
}

func TestWhatHasNoTraceIsToldSo(t *testing.T) {
	t.Parallel()
	h := newHouse()
	b, tracer := h.open(t)
	for _, id := range []ledger.ID{h.Buyer, ledgertest.ID(9_999)} {
		if _, err := tracer.Back(id); err == nil {
			t.Errorf("%s has a trace back", id)
		}
		if _, err := trace.SubjectOf(b, id); err == nil {
			t.Errorf("%s can be followed", id)
		}
	}
}

// TestAnyNumberMayTraceAtOnce is for the race detector: a tracer writes nothing
// once it is open.
func TestAnyNumberMayTraceAtOnce(t *testing.T) {
	t.Parallel()
	b := mustOpen(t, busy(3).Entries)
	tracer := trace.Open(b)
	all := drums(b)
	want, err := tracer.Back(all[len(all)-1])
	if err != nil {
		t.Fatal(err)
	}
	var readers sync.WaitGroup
	for range 4 {
		readers.Go(func() {
			for _, s := range subjects(t, b) {
				tracer.Forward(s)
				tracer.DrawForward(s)
			}
			if got, err := tracer.Back(all[len(all)-1]); err != nil || !slices.Equal(got.Yards, want.Yards) || !slices.Equal(got.Steps, want.Steps) {
				t.Errorf("traced beside others, a drum comes from elsewhere: %v", err)
			}
		})
	}
	readers.Wait()
}

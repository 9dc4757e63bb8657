package trace_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
	"pullbook/domain/trace"
)

// tiny writes a house of a few grams, so that every way in which they can have gone can be
// tried.
func tiny(seed uint64) *ledgertest.Outfit {
	b := &busyHouse{Outfit: ledgertest.NewOutfit(), rng: rand.New(rand.NewPCG(seed, 11)), hour: 2}
	b.tanks = []ledger.ID{b.Sump, b.Settling, b.SetUp(&ledger.Tank{Name: "heated", Use: ledger.Heated, CapacityG: 1_000_000})}
	b.lots = []ledger.ID{b.Lot(0, "L0"), b.Lot(0, "L1")}
	for i, yards := range [][]ledger.ID{{b.Mill}, {b.Ridge}, {b.Mill, b.Ridge}} {
		run := b.Run(0, fmt.Sprint("run ", i))
		for _, yard := range yards {
			b.Supers(0, run, b.Pull(-20, yard, 4, 0), 4)
		}
		b.runs = append(b.runs, run)
		// Of the run of both yards come an even number of grams.
		for range 2 {
			b.hour += 0.25
			b.Out(b.hour, run, b.tank(), 1+int64(2*b.rng.IntN(2)))
		}
	}
	for range 5 + b.rng.IntN(6) {
		b.hour += 0.25
		switch n := b.rng.IntN(12); {
		case n < 4:
			if from, to := b.tank(), b.tank(); from != to {
				b.Pump(b.hour, from, to, b.grams(4))
			}
		case n < 8:
			b.drums = append(b.drums, b.Fill(b.hour, b.lots[b.rng.IntN(2)], b.tank(), fmt.Sprint("D", len(b.drums)), b.grams(3)))
		case n == 8 && len(b.drums) > 0:
			b.Write(b.hour, ledgertest.Move(ledger.PlaceContainer, b.drums[b.rng.IntN(len(b.drums))], ledger.PlaceTank, b.tank(), int64(b.rng.IntN(2))))
		case n == 9:
			b.Write(b.hour, &ledger.Stocktake{TankID: b.tank(), Method: "dip", MassG: b.grams(5)})
		case n == 10 && b.rng.IntN(2) == 0:
			b.Write(b.hour, &ledger.Wash{TankID: b.tank()})
		case n == 11 && len(b.drums) > 0:
			b.Dispatch(b.hour, b.drums[b.rng.IntN(len(b.drums))])
		}
	}
	return b.Outfit
}

// everyWay tries every way in which whole grams of a yard can have gone through a book, each
// gram drawn being any of those in the vessel.
type everyWay struct {
	// place is where a holder's grams stand in a way; gone where those that left a container
	// last do.
	place, gone map[ledger.ID]int
	held        []int
	touched     map[ledger.ID]bool
	ways        map[string]bool
}

const mostWays = 60_000

// try returns nil for a book with too many ways.
func try(b *ledger.Book, yard ledger.ID) *everyWay {
	e := &everyWay{place: map[ledger.ID]int{}, gone: map[ledger.ID]int{}, touched: map[ledger.ID]bool{}}
	var first []byte
	slot := func(of map[ledger.ID]int, id ledger.ID, grams, ours int) {
		of[id] = len(first)
		first, e.held = append(first, byte(ours)), append(e.held, grams)
	}
	for h := range b.State().Holders {
		if h.Place.Kind == ledger.PlaceRun {
			ours := shareOf(b, b.Harvest(h.Place.ID).Mix, trace.Subject{Place: ledger.Place{ID: yard}})*float64(h.OutG) + 1e-9
			slot(e.place, h.Place.ID, int(h.OutG), int(ours))
			e.touched[h.Place.ID] = ours > 0.5
			continue
		}
		slot(e.place, h.Place.ID, 0, 0)
		slot(e.gone, h.Place.ID, 0, 0)
	}
	e.ways = map[string]bool{string(first): true}
	for f := range b.Flows {
		if e.flow(f); len(e.ways) > mostWays {
			return nil
		}
	}
	return e
}

func (e *everyWay) flow(f ledger.Flow) {
	whence := f.From.ID
	if f.From.Kind == "" {
		whence = f.To.ID
	}
	known, short := int(f.Grams-f.UnexplainedG), 0
	if e.touched[whence] {
		short = int(f.UnexplainedG)
	}
	from, hasFrom := e.place[f.From.ID]
	to, hasTo := e.place[f.To.ID]
	next := map[string]bool{}
	for way := range e.ways {
		low, high := 0, 0
		if hasFrom {
			ours := int(way[from])
			low, high = max(0, known-(e.held[from]-ours)), min(known, ours)
		}
		for taken := low; taken <= high; taken++ {
			for more := range short + 1 {
				w := []byte(way)
				if hasFrom {
					w[from] -= byte(taken)
				}
				if f.From.Kind == ledger.PlaceContainer && known > 0 {
					w[e.gone[f.From.ID]] = byte(taken + more)
				}
				if hasTo {
					w[to] += byte(taken + more)
				}
				next[string(w)] = true
			}
		}
	}
	e.ways = next
	if hasFrom {
		e.held[from] -= known
	}
	if f.Entry.Kind == ledger.KindWash {
		e.touched[f.From.ID] = false
	}
	if hasTo {
		e.held[to] += int(f.Grams)
		e.touched[f.To.ID] = e.touched[f.To.ID] || e.touched[whence]
	}
}

// of is the least and the most that places have together.
func (e *everyWay) of(places ...int) (least, most int64) {
	least = 1 << 40
	for way := range e.ways {
		var sum int64
		for _, at := range places {
			sum += int64(way[at])
		}
		least, most = min(least, sum), max(most, sum)
	}
	return least, most
}

// TestBoundsAreTheTightestThatTheMovementsAllow holds least and most against every way in
// which the grams of small books can have gone.
func TestBoundsAreTheTightestThatTheMovementsAllow(t *testing.T) {
	t.Parallel()
	tried, told := 0, 0
	for seed := range uint64(400) {
		o := tiny(seed)
		b := mustOpen(t, o.Entries)
		e := try(b, o.Mill)
		if e == nil {
			continue
		}
		tried++
		tracer := trace.OpenExact(b)
		same := func(what string, of trace.Amount, places ...int) {
			told++
			if least, most := e.of(places...); of.LeastG != least || of.MostG != most {
				t.Errorf("book %d, %s: bounds %d to %d, truly %d to %d of %d ways", seed, what, of.LeastG, of.MostG, least, most, len(e.ways))
			}
		}
		f := tracer.Forward(trace.Subject{Place: ledger.Place{Kind: ledger.PlaceYard, ID: o.Mill}})
		var onHand, sent, inTanks []int
		for _, c := range f.Containers {
			at := e.place[c.ID]
			switch c.State {
			case season.Held:
				onHand = append(onHand, at)
			case season.Dispatched:
				at = e.gone[c.ID]
				sent = append(sent, at)
			default:
				at = e.gone[c.ID]
			}
			same(c.Number, c.Of, at)
		}
		for _, x := range f.Tanks {
			inTanks = append(inTanks, e.place[x.ID])
			same(x.Name, x.Of, e.place[x.ID])
		}
		same("on hand", f.OnHand, onHand...)
		same("dispatched", f.Dispatched, sent...)
		same("in tanks", f.InTanks, inTanks...)
		for _, x := range f.Buyers {
			same("sent to "+x.Name, x.Of, sent...)
		}
		b.InForceOf(ledger.KindLot, func(lot ledger.ID, _ *ledger.Entry) bool {
			back, err := tracer.Back(lot)
			if err != nil {
				t.Fatal(err)
			}
			var all []int
			for _, id := range b.State().Lot(lot).Containers {
				if h, _ := b.State().Holder(id); h.Grams > 0 {
					all = append(all, e.place[id])
				} else {
					all = append(all, e.gone[id])
				}
			}
			for _, y := range back.Yards {
				if y.Place.ID == o.Mill && !back.NotTightest {
					same("lot "+back.Name, y.Of, all...)
				}
			}
			return true
		})
	}
	if t.Logf("%d books, %d pairs of bounds", tried, told); tried < 300 {
		t.Errorf("only %d of 400 books have few enough ways to be tried", tried)
	}
}

// TestALotIsPromisedWhatNoSingleDrumIs: 600 kg of the mill under 400 kg of the ridge fill ten
// drums. Each may have none of the mill's honey; the lot has all 600 kg, and of any five drums
// that are sold at least 100 kg are the mill's.
func TestALotIsPromisedWhatNoSingleDrumIs(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Settling, 600_000)
	h.Out(3, h.ridgeRun, h.Settling, 400_000)
	var drums []ledger.ID
	for i := range 10 {
		drums = append(drums, h.Fill(4+float64(i)/10, h.lot, h.Settling, fmt.Sprint("D", i), 100_000))
	}
	h.Release(6, h.lot)
	h.Dispatch(7, drums[1], drums[3], drums[5], drums[7], drums[9])
	b, tracer := h.open(t)
	f := forward(t, b, tracer, h.Mill)
	half := trace.Amount{Grams: 300_000, LeastG: 100_000, MostG: 500_000}
	if one := drum(t, f, "D0").Of; one != (trace.Amount{Grams: 60_000, MostG: 100_000}) || f.OnHand != half || f.Dispatched != half || f.Buyers[0].Of != half {
		t.Errorf("a drum has %+v; on hand are %+v, sent %+v, to the buyer %+v", one, f.OnHand, f.Dispatched, f.Buyers[0].Of)
	}
	back, err := tracer.Back(h.lot)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []int64{600_000, 400_000} {
		if of := back.Yards[i].Of; of != (trace.Amount{Grams: want, LeastG: want, MostG: want}) {
			t.Errorf("the lot has %+v of %s", of, back.Yards[i].Name)
		}
	}
}

// TestHoneyThatWentTwoWaysAndMetAgain: 100 kg of each yard part into two tanks, however they
// lie, and meet in a third. Its drum has the 100 kg of each again.
func TestHoneyThatWentTwoWaysAndMetAgain(t *testing.T) {
	t.Parallel()
	h := newHouse()
	heated := h.SetUp(&ledger.Tank{Name: "heated", Use: ledger.Heated, CapacityG: 1_000_000})
	h.Out(2, h.millRun, h.Sump, 100_000)
	h.Out(3, h.ridgeRun, h.Sump, 100_000)
	h.Pump(4, h.Sump, h.Settling, 70_000)
	h.Pump(5, h.Sump, heated, 130_000)
	h.Pump(6, heated, h.Settling, 130_000)
	h.Fill(7, h.lot, h.Settling, "D1", 200_000)
	b, tracer := h.open(t)
	if of := drum(t, forward(t, b, tracer, h.Mill), "D1").Of; of != (trace.Amount{Grams: 100_000, LeastG: 100_000, MostG: 100_000}) {
		t.Errorf("the drum has %+v of the mill's 100 kg", of)
	}
}

// TestAllThatWasInATankIsItsOwn: 100 kg of the mill are in the sump by the book, and 150 kg
// were pumped out of it onto 100 kg of the ridge. All 150 kg are the sump's, and all that
// fills two drums; 50 kg are of no entry.
func TestAllThatWasInATankIsItsOwn(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Sump, 100_000)
	h.Out(3, h.ridgeRun, h.Settling, 100_000)
	h.Pump(4, h.Sump, h.Settling, 150_000)
	h.Fill(5, h.lot, h.Settling, "D1", 125_000)
	h.Fill(6, h.lot, h.Settling, "D2", 125_000)
	b, tracer := h.open(t)
	f := forward(t, b, tracer, h.Sump)
	if of := f.OnHand; of != (trace.Amount{Grams: 150_000, LeastG: 150_000, MostG: 150_000}) {
		t.Errorf("on hand there are %+v of the sump's honey", of)
	}
	back, err := tracer.Back(h.lot)
	if err != nil {
		t.Fatal(err)
	}
	if of := back.Unexplained; of != (trace.Amount{Grams: 50_000, LeastG: 50_000, MostG: 50_000}) {
		t.Errorf("of no entry are %+v", of)
	}
}

// TestARunOfTwoYardsPumpedTwice: however the honey of a run lay in its two pumpings, half of
// each, its tank has all of it.
func TestARunOfTwoYardsPumpedTwice(t *testing.T) {
	t.Parallel()
	h := newHouse()
	both := h.Run(1.5, "both")
	h.Supers(1.5, both, h.Pull(-18, h.Mill, 10, 0), 10)
	h.Supers(1.6, both, h.Pull(-18, h.Ridge, 10, 0), 10)
	h.Out(2, both, h.Settling, 100_000)
	h.Out(3, both, h.Settling, 100_000)
	h.Fill(4, h.lot, h.Settling, "D1", 150_000)
	b, tracer := h.open(t)
	f := forward(t, b, tracer, h.Mill)
	if of := drum(t, f, "D1").Of; of != (trace.Amount{Grams: 75_000, LeastG: 50_000, MostG: 100_000}) {
		t.Errorf("the drum has %+v of the mill's 100 kg", of)
	}
	if len(f.Tanks) != 1 || f.Tanks[0].Of != (trace.Amount{Grams: 25_000, MostG: 50_000}) {
		t.Errorf("the tank has %+v", f.Tanks)
	}
}

// TestADrumThatWentIntoAnotherOfItsLotCountsInBoth: of 100 kg in a drum that was poured back
// and filled again, a lot of both drums has 200 kg to trace. The bounds hold, and are said
// not to be the tightest.
func TestADrumThatWentIntoAnotherOfItsLotCountsInBoth(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Out(2, h.millRun, h.Settling, 100_000)
	h.Out(2.5, h.ridgeRun, h.Settling, 100_000)
	first := h.Fill(3, h.lot, h.Settling, "D1", 100_000)
	h.Write(5, ledgertest.Move(ledger.PlaceContainer, first, ledger.PlaceTank, h.Settling, 0))
	h.Fill(6, h.lot, h.Settling, "D2", 100_000)
	_, tracer := h.open(t)
	back, err := tracer.Back(h.lot)
	if err != nil {
		t.Fatal(err)
	}
	if back.NetG != 200_000 || !back.NotTightest {
		t.Errorf("%d g are traced, and bounds not the tightest is %t", back.NetG, back.NotTightest)
	}
	for _, y := range back.Yards {
		if y.Of.LeastG != 0 {
			t.Errorf("both drums may have none of %s, not %+v", y.Name, y.Of)
		}
	}
}

// TestMoreThanCanBeWorkedOutIsSaid: in a season whose tank is never emptied the bounds of
// every drum would be too much work. The sums come first.
func TestMoreThanCanBeWorkedOutIsSaid(t *testing.T) {
	t.Parallel()
	b := mustOpen(t, ledgertest.Large(20_000, 1))
	tracer := trace.OpenExact(b)
	var yard ledger.ID
	b.InForceOf(ledger.KindYard, func(root ledger.ID, _ *ledger.Entry) bool { yard = root; return false })
	f := forward(t, b, tracer, yard)
	if !f.NotTightest {
		t.Error("the bounds of all drums were worked out")
	}
	if sum := f.OnHand.LeastG + f.InTanks.LeastG + f.Dispatched.LeastG; sum == 0 || sum > f.TotalG {
		t.Errorf("of %d g the sums promise %d", f.TotalG, sum)
	}
}

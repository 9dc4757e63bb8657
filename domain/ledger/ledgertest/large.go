package ledgertest

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// Large writes a book of n entries as a busy honey house leaves one: about two
// entries in five are readings, one in five fills; the tank and the store are
// logged, the refractometer is checked weekly; two in a hundred are written down
// hours or days late, one in a hundred corrects another. The same seed gives
// the same book.
func Large(n int, seed uint64) []*ledger.Entry {
	l := &large{Outfit: NewOutfit(), rng: rand.New(rand.NewPCG(seed, seed))}
	for run := 0; len(l.Entries) < n; run++ {
		l.day(run)
	}
	return l.asRecorded()[:n]
}

type large struct {
	*Outfit
	rng *rand.Rand
	// stock are full drums, oldest first.
	stock []ledger.ID
}

// runHours is how long a run and what follows from it takes.
const runHours = 3

// write books what happened, now and then late, and now and then corrected.
// What others name is in time: they could not be written down before it.
func (l *large) write(hours float64, body ledger.Body) ledger.ID {
	at := At(hours)
	recorded := at
	switch body.(type) {
	case *ledger.Run, *ledger.Pull, *ledger.Lot, *ledger.Fill:
	default:
		recorded = at.Add(time.Duration(l.rng.IntN(120)) * time.Second)
		if l.rng.IntN(50) == 0 {
			recorded = at.Add(time.Duration(l.rng.IntN(100*3600)) * time.Second)
		}
	}
	id := l.Put(ledger.Entry{OccurredAt: at, RecordedAt: recorded, Body: body})
	if l.rng.IntN(100) == 0 {
		l.Put(ledger.Entry{OccurredAt: at.Add(time.Minute), RecordedAt: recorded.Add(time.Hour),
			Replaces: id, Reason: "typed wrong", Body: body})
	}
	return id
}

// day is one run with what goes before it and follows from it.
func (l *large) day(run int) {
	h := float64(run * runHours)
	id := l.write(h, &ledger.Run{Name: fmt.Sprint(run), FramesPerSide: 30})
	for i, yard := range []ledger.ID{l.Mill, l.Ridge} {
		supers := 30 + l.rng.IntN(20)
		body := &ledger.Pull{YardID: yard, HivesWorked: 20, Supers: []ledger.SuperCount{{SuperKindID: l.Deep, Supers: supers}}}
		if run%2 == 0 {
			body.GrossG = int64(supers) * int64(33_000+l.rng.IntN(4_000))
		}
		pull := l.write(h-20+float64(i), body)
		l.write(h, l.SupersBody(id, pull, supers))
		l.write(h-10, l.read(ledger.PlacePull, pull))
	}
	for i := range 12 {
		at := h + 0.1*float64(i)
		l.write(at, &ledger.Load{RunID: id, Load: i + 1, FramesLeft: 30, FramesRight: 30})
		if i%2 == 1 {
			grams := int64(290_000 + l.rng.IntN(40_000))
			l.write(at, OutBody(id, l.Sump, grams))
			l.write(at+0.05, Move(ledger.PlaceTank, l.Sump, ledger.PlaceTank, l.Settling, grams))
		}
	}
	l.write(h+1.3, &ledger.RunEnd{RunID: id, WaxG: 30_000})
	l.log(h, ledger.PlaceTank, l.Settling, 35)
	if run%8 == 0 {
		l.log(h, ledger.PlaceRoom, l.HotRoom, 20)
	}
	if run%56 == 0 {
		found := 16.9 + 0.2*l.rng.Float64()
		l.write(h, &ledger.Calibration{InstrumentID: l.Refractometer, Reference: "test liquid", Expected: 17, AsFound: found, AsLeft: found, Tolerance: 0.2})
	}
	l.fill(h+1.4, run)
	if run%3 == 2 {
		l.write(h+2.7, &ledger.Stocktake{TankID: l.Settling, Method: "dip", MassG: int64(50_000 + l.rng.IntN(100_000))})
	}
	if len(l.stock) > 200 {
		l.write(h+2.8, &ledger.Dispatch{BuyerID: l.Buyer, Containers: slices.Clone(l.stock[:60])})
		l.stock = l.stock[60:]
	}
}

// read is a reading by the refractometer.
func (l *large) read(on ledger.PlaceKind, id ledger.ID) *ledger.Reading {
	r := Moisture(on, id, 16+3*l.rng.Float64())
	r.InstrumentID = l.Refractometer
	return r
}

// log is two points of a logger.
func (l *large) log(h float64, on ledger.PlaceKind, id ledger.ID, celsius float64) {
	log := &ledger.TemperatureLog{On: ledger.Place{Kind: on, ID: id}}
	for i := range 2 {
		log.Points = append(log.Points, ledger.TemperaturePoint{At: At(h - runHours/2*float64(1-i)), TemperatureC: celsius + 5*l.rng.Float64()})
	}
	l.write(h, log)
}

// fill packs a lot and reads what went into it.
func (l *large) fill(h float64, run int) {
	lot := l.write(h, &ledger.Lot{Code: fmt.Sprint("L", run), StoreID: l.HotRoom})
	for i := range 18 {
		at := h + 0.05*float64(i+1)
		drum := l.write(at, l.FillBody(lot, l.Settling, fmt.Sprint(run, "-", i), int64(95_000+l.rng.IntN(10_000))))
		l.write(at+0.01, l.read(ledger.PlaceContainer, drum))
		l.write(at+0.02, l.read(ledger.PlaceTank, l.Settling))
		l.stock = append(l.stock, drum)
	}
	l.write(h+1.1, ReleaseBody(lot))
}

// asRecorded numbers the entries in the order in which they were recorded.
func (l *large) asRecorded() []*ledger.Entry {
	slices.SortStableFunc(l.Entries, func(a, b *ledger.Entry) int { return a.RecordedAt.Compare(b.RecordedAt) })
	for i, e := range l.Entries {
		e.Number = int64(i + 1)
	}
	return l.Entries
}

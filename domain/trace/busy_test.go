package trace_test

import (
	"fmt"
	"math/rand/v2"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// busy writes a house in which honey goes every way: out of runs into three
// tanks, round among them, into drums, back into tanks, and to the buyer, with
// stocktakes, washes, and draws of more than is there.
func busy(seed uint64) *ledgertest.Outfit {
	b := &busyHouse{Outfit: ledgertest.NewOutfit(), rng: rand.New(rand.NewPCG(seed, 7))}
	b.tanks = []ledger.ID{b.Sump, b.Settling, b.SetUp(&ledger.Tank{Name: "heated", Use: ledger.Heated, CapacityG: 1_000_000})}
	for i := range 2 + b.rng.IntN(6) {
		b.run(i)
	}
	for i := range 2 {
		b.lots = append(b.lots, b.Lot(0, fmt.Sprint("L", i)))
	}
	for range 20 + b.rng.IntN(80) {
		b.hour += 0.25 + b.rng.Float64()
		b.happen()
	}
	return b.Outfit
}

type busyHouse struct {
	*ledgertest.Outfit
	rng               *rand.Rand
	tanks, runs, lots []ledger.ID
	drums             []ledger.ID
	hour              float64
}

func (b *busyHouse) grams(most int) int64 { return int64(1 + b.rng.IntN(most)) }

func (b *busyHouse) tank() ledger.ID { return b.tanks[b.rng.IntN(len(b.tanks))] }

func (b *busyHouse) run(i int) {
	run := b.Run(0, fmt.Sprint("run ", i))
	for range b.rng.IntN(3) {
		yard := []ledger.ID{b.Mill, b.Ridge}[b.rng.IntN(2)]
		supers := 1 + b.rng.IntN(20)
		b.Supers(0, run, b.Pull(-20, yard, supers, 0), supers)
	}
	b.runs = append(b.runs, run)
}

func (b *busyHouse) happen() {
	switch n := b.rng.IntN(20); {
	case n < 6:
		b.Out(b.hour, b.runs[b.rng.IntN(len(b.runs))], b.tank(), b.grams(300_000))
	case n < 10:
		if from, to := b.tank(), b.tank(); from != to {
			b.Pump(b.hour, from, to, b.grams(250_000))
		}
	case n < 15:
		b.drums = append(b.drums, b.Fill(b.hour, b.lots[b.rng.IntN(2)], b.tank(), fmt.Sprint("D", len(b.drums)), b.grams(200_000)))
	case n < 17 && len(b.drums) > 0:
		body := ledgertest.Move(ledger.PlaceContainer, b.drums[b.rng.IntN(len(b.drums))], ledger.PlaceTank, b.tank(), 0)
		if b.rng.IntN(3) == 0 {
			body.MassG = b.grams(100_000)
		}
		b.Write(b.hour, body)
	case n == 17:
		b.Write(b.hour, &ledger.Stocktake{TankID: b.tank(), Method: "dip", MassG: b.grams(300_000)})
	case n == 18 && b.rng.IntN(2) == 0:
		b.Write(b.hour, &ledger.Wash{TankID: b.tank()})
	case n == 19 && len(b.drums) > 1:
		b.Dispatch(b.hour, b.drums[b.rng.IntN(len(b.drums))], b.drums[b.rng.IntN(len(b.drums))])
	}
}

// anyBook draws a book of a busy house, or one in which anything may stand.
func anyBook(t *rapid.T) *ledgertest.Outfit {
	if rapid.Bool().Draw(t, "busy") {
		return busy(rapid.Uint64().Draw(t, "seed"))
	}
	return ledgertest.Random(t, 60)
}

package ledger_test

import (
	"fmt"
	"runtime"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// manyFindings writes books in which something is odd again and again, each finding
// beside as much as it can be looked for among.
var manyFindings = map[ledger.Code]func(o *ledgertest.Outfit, n int){
	ledger.NeverExtracted: func(o *ledgertest.Outfit, n int) {
		for i := range n {
			o.Pull(float64(i)/float64(n), o.Mill, 10, 0) // all within an hour, off one yard
		}
		run := o.Run(1, "1")
		for i := range n {
			o.Out(2+float64(i)/float64(n), run, o.Settling, 1000)
		}
		o.Run(1000, "last")
	},
	ledger.RunWithoutSupers: func(o *ledgertest.Outfit, n int) {
		for i := range n {
			o.Pull(float64(i)/float64(n), o.Mill, 1+i%50, 0)
		}
		for i := range n / 4 {
			run := o.Run(2+float64(i)/float64(n), fmt.Sprint(i))
			for range 4 {
				o.Write(4+float64(i)/float64(n), ledgertest.Move(ledger.PlaceRun, run, ledger.PlaceWaste, ledger.ID{}, 1000))
			}
		}
	},
	ledger.RunTooRich: func(o *ledgertest.Outfit, n int) {
		pull := o.Pull(0, o.Mill, 10, 0)
		run := o.Run(1, "1")
		o.Supers(1, run, pull, 10)
		for i := range n {
			o.Out(2+float64(i)/float64(n), run, o.Settling, 360_000+int64(i%2))
		}
	},
	ledger.RunYieldUnusual: func(o *ledgertest.Outfit, n int) {
		for i := range n {
			h := float64(i) / 10
			pull, run := o.Pull(h, o.Mill, 10, 0), o.Run(h+1, fmt.Sprint(i))
			o.Supers(h+1, run, pull, 10)
			out := int64(250_000)
			if i%3 == 0 {
				out = 100_000
			}
			o.Write(h+2, ledgertest.Move(ledger.PlaceRun, run, ledger.PlaceWaste, ledger.ID{}, out))
			o.Write(h+2, &ledger.RunEnd{RunID: run})
		}
		o.Write(float64(n), &ledger.RunEnd{RunID: o.Run(float64(n), "last")})
	},
	ledger.InstrumentDoubtful: func(o *ledgertest.Outfit, n int) {
		for i := range n {
			h := float64(i) / 10
			found := 17.0
			if i%2 == 0 {
				found = 18
			}
			r := ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17)
			r.InstrumentID = o.Refractometer
			o.Write(h, r)
			o.Write(h+0.05, &ledger.Calibration{InstrumentID: o.Refractometer, Reference: "test liquid", Expected: 17, AsFound: found, AsLeft: 17, Tolerance: 0.2})
		}
	},
	ledger.ReadingUnexpected: func(o *ledgertest.Outfit, n int) {
		pull := o.Pull(0, o.Mill, 10, 0)
		for i := range n {
			o.Write(1+float64(i)/float64(n), ledgertest.Moisture(ledger.PlacePull, pull, 15+float64(5*(i%2))))
		}
	},
	ledger.LoadTwice: func(o *ledgertest.Outfit, n int) {
		run := o.Run(0, "1")
		for i := range n {
			o.Write(1+float64(i)/float64(n), &ledger.Load{RunID: run, Load: i / 2, FramesLeft: 30, FramesRight: 30})
		}
	},
	ledger.MoreSpun: func(o *ledgertest.Outfit, n int) {
		for i := range n / 2 {
			h := float64(i) / 10
			run := o.Run(h, fmt.Sprint(i))
			o.Supers(h, run, o.Pull(h-1, o.Mill, 20, 0), 10)
			for l := range 4 {
				o.Write(h, &ledger.Load{RunID: run, Load: l + 1, FramesLeft: 20 + l, FramesRight: 30})
			}
		}
	},
	ledger.ReadEmpty: func(o *ledgertest.Outfit, n int) {
		for i := range n {
			o.Write(1+float64(i)/float64(n), ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17))
		}
	},
	ledger.NetUnusual: func(o *ledgertest.Outfit, n int) {
		lot := o.Lot(0, "L")
		for i := range n {
			net := int64(290_000)
			if i%4 == 0 {
				net = 250_000
			}
			o.Fill(1+float64(i)/float64(n), lot, o.Settling, fmt.Sprint(i), net)
		}
	},
	ledger.WarmWithoutLog: func(o *ledgertest.Outfit, n int) {
		log := func(h float64) {
			o.Write(h, &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, Points: []ledger.TemperaturePoint{{At: ledgertest.At(h), TemperatureC: 45}}})
		}
		for i := range n {
			h := float64(i) * 100
			log(h)
			o.Write(h, ledgertest.Move(ledger.PlaceTank, o.Sump, ledger.PlaceTank, o.Settling, 1_000_000))
			o.Write(h+60, ledgertest.Move(ledger.PlaceTank, o.Settling, ledger.PlaceWaste, ledger.ID{}, 1_000_000))
		}
	},
	ledger.NotReleased: func(o *ledgertest.Outfit, n int) {
		lot := o.Lot(0, "L")
		for i := range n {
			h := float64(i) / float64(n)
			drum := o.Fill(1+h, lot, o.Settling, fmt.Sprint(i), 290_000)
			o.Write(3+h, &ledger.LotStatus{LotID: lot, Status: ledger.StatusHeld})
			o.Dispatch(5+h, drum)
		}
	},
	ledger.ContainerEmpty: func(o *ledgertest.Outfit, n int) {
		drum := o.Fill(1, o.Lot(0, "L"), o.Settling, "1", 290_000)
		for i := range n {
			o.Dispatch(2+float64(i)/float64(n), drum)
		}
	},
	ledger.StocktakeFarOff: func(o *ledgertest.Outfit, n int) {
		for i := range n {
			o.Write(float64(i)/10, &ledger.Stocktake{TankID: o.Settling, Method: "dip", MassG: int64(500_000 * (1 + i%2))})
		}
	},
	ledger.Overdrawn: func(o *ledgertest.Outfit, n int) {
		for i := range n {
			o.Pump(float64(i)/float64(n), o.Sump, o.Settling, 1000)
		}
	},
	ledger.Overfilled: func(o *ledgertest.Outfit, n int) {
		for i := range n {
			o.Pump(float64(i)/float64(n), o.Settling, o.Sump, 301_000)
		}
	},
	ledger.MovementTwice: func(o *ledgertest.Outfit, n int) {
		pull := o.Pull(0, o.Mill, 10, 0)
		run := o.Run(1, "1")
		o.Supers(1, run, pull, 10)
		for i := range n {
			o.Out(2+float64(i)/float64(n), run, o.Settling, 360_000)
		}
	},
	ledger.RestsOnWithdrawn: func(o *ledgertest.Outfit, n int) {
		yard := o.SetUp(&ledger.Yard{Name: "gone"})
		for i := range n {
			o.Pull(float64(i)/float64(n), yard, 10, 0)
		}
		o.Withdraw(yard)
	},
}

// Nobody waits for the square of what is odd: four times as many odd entries are found
// and explained with about four times the memory.
func TestFindingsTakeMemoryInProportion(t *testing.T) {
	const few, most = 600, 6.5
	for code, write := range manyFindings {
		t.Run(string(code), func(t *testing.T) {
			small, found := allocatedFinding(t, code, write, few)
			if found < few/8 {
				t.Fatalf("%d findings of this sort, want many", found)
			}
			large, again := allocatedFinding(t, code, write, 4*few)
			if again < 3*found {
				t.Fatalf("%d findings in the book that is four times as long, and %d in the other", again, found)
			}
			if grew := float64(large) / float64(small); grew > most {
				t.Errorf("%d findings took %d kB and %d took %d kB: %.1f times as much", found, small>>10, again, large>>10, grew)
			}
		})
	}
}

// allocatedFinding is how many bytes it takes to open a book and find what is odd in
// it, and how many entries findings of a sort are about: one event is one finding, however
// many entries it has.
func allocatedFinding(t *testing.T, code ledger.Code, write func(*ledgertest.Outfit, int), n int) (bytes uint64, found int) {
	t.Helper()
	o := ledgertest.NewOutfit()
	write(o, n)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	findings := b.State().Findings()
	runtime.ReadMemStats(&after)
	for _, f := range findings {
		if f.Code == code {
			found += 1 + len(f.With)
		}
	}
	return after.TotalAlloc - before.TotalAlloc, found
}

package season_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
)

// Filled at hour 2 at 25 C; at 40 C from hour 10 to hour 34, said as held: 24 h warm.
func TestHowLongATankWasWarmSinceItWasFilled(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(1, "first")
	o.Out(2, run, o.Settling, 700_000)
	o.Write(60, &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, Held: true, Points: []ledger.TemperaturePoint{
		{At: ledgertest.At(2), TemperatureC: 25}, {At: ledgertest.At(10), TemperatureC: 40}, {At: ledgertest.At(34), TemperatureC: 30}, {At: ledgertest.At(60), TemperatureC: 30},
	}})
	b := open(t, o)
	w := season.WarmthOf(b, o.Settling, ledgertest.At(60))
	if off := w.Warm - 24*time.Hour; off < -time.Hour || off > time.Hour {
		t.Errorf("warm for %v", w.Warm)
	}
	if !w.Since.Equal(ledgertest.At(2)) || !w.LoggedAt.Equal(ledgertest.At(60)) || w.NowC != 30 {
		t.Errorf("%+v", w)
	}
	if w := season.WarmthOf(b, o.Sump, ledgertest.At(60)); !w.Since.IsZero() || !w.LoggedAt.IsZero() || w.Warm != 0 {
		t.Errorf("a tank of which nothing is known: %+v", w)
	}
}

// However a tank was logged, it was warm for as many hours as are counted one by one.
func TestATankWasWarmForTheHoursThatItWas(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		o := ledgertest.Random(rt, 60)
		b, err := o.Open()
		if err != nil {
			rt.Fatal(err)
		}
		at := ledgertest.At(rapid.Float64Range(0, 300).Draw(rt, "at"))
		for _, tank := range []ledger.ID{o.Settling, o.Sump} {
			var want time.Duration
			since, _ := b.State().HoldsSince(tank)
			for from := since; !since.IsZero() && from.Before(at); from = from.Add(time.Hour) {
				step := min(time.Hour, at.Sub(from))
				if b.Meter(tank).TemperatureC(from.Add(step/2)) >= season.WarmC {
					want += step
				}
			}
			if w := season.WarmthOf(b, tank, at); w.Warm != want {
				rt.Fatalf("warm for %v, and hour by hour for %v", w.Warm, want)
			}
		}
	})
}

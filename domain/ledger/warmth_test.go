package ledger_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// However the logs of a place overlap, its points are those of all logs in order of time,
// and of one instant the one that the last log gives.
func TestLogsThatOverlapAreJoinedInOrderOfTime(t *testing.T) {
	t.Parallel()
	begin := time.Date(2026, time.August, 1, 6, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		var logs []*ledger.TemperatureLog
		var want []heat.Point
		for range rapid.IntRange(0, 8).Draw(t, "logs") {
			log := &ledger.TemperatureLog{}
			minutes := rapid.SliceOfNDistinct(rapid.IntRange(0, 30), 1, 12, rapid.ID).Draw(t, "minutes")
			slices.Sort(minutes)
			for _, m := range minutes {
				p := heat.Point{At: begin.Add(time.Duration(m) * time.Minute), TemperatureC: rapid.Float64Range(10, 40).Draw(t, "celsius")}
				log.Points = append(log.Points, ledger.TemperaturePoint{At: p.At, TemperatureC: p.TemperatureC})
				want = slices.DeleteFunc(want, func(before heat.Point) bool { return before.At.Equal(p.At) })
				want = append(want, p)
			}
			logs = append(logs, log)
		}
		slices.SortFunc(want, func(a, b heat.Point) int { return a.At.Compare(b.At) })
		if len(want) == 1 { // a curve has two points
			want = append(want, heat.Point{At: want[0].At.Add(time.Second), TemperatureC: want[0].TemperatureC})
		}
		if got := ledger.LoggedBy(logs...); !slices.Equal(got, want) {
			t.Fatalf("joined %v, want %v", got, want)
		}
	})
}

// When a place was logged last is what all that was logged of it says.
func TestLastLoggedIsTheLastOfWhatWasLogged(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		o := ledgertest.Random(rt, 60)
		b, err := o.Open()
		if err != nil {
			rt.Fatal(err)
		}
		at := ledgertest.At(rapid.Float64Range(0, 150).Draw(rt, "at"))
		for _, place := range []ledger.ID{o.Settling, o.Sump, o.HotRoom} {
			var want time.Time
			for _, p := range b.Logged(place) {
				if !p.At.After(at) {
					want = p.At
				}
			}
			if got := b.LastLogged(place, at); !got.Equal(want) {
				rt.Fatalf("last logged at %v, and Logged says %v", got, want)
			}
		}
	})
}

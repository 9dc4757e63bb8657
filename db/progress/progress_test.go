package progress_test

import (
	"testing"
	"time"

	"pullbook/db/progress"
)

var began = time.Date(2026, time.December, 1, 8, 0, 0, 0, time.UTC)

// A book is read in three fifths of the time, and replayed in two.
func TestHowLongABookTakesStillFollowsFromItsPace(t *testing.T) {
	w := progress.Begin(progress.Plan{{Step: progress.Read, Weight: 3}, {Step: progress.Replayed, Weight: 2}}, began)
	for _, c := range []struct {
		step        progress.Step
		done, of    int64
		after, left time.Duration
		share       float64
	}{
		{progress.Read, 0, 1000, 2 * time.Second, 0, 0},
		{progress.Read, 500, 1000, 3 * time.Second, 7 * time.Second, 0.3},
		{progress.Read, 1000, 1000, 6 * time.Second, 4 * time.Second, 0.6},
		{progress.Replayed, 500, 1000, 8 * time.Second, 2 * time.Second, 0.8},
		{progress.Replayed, 1000, 1000, 10 * time.Second, 0, 1},
	} {
		w.Tell(c.step, c.done, c.of)
		got := w.At(began.Add(c.after))
		if got.Step != c.step || got.Done != c.done || got.Of != c.of || got.Left.Round(time.Millisecond) != c.left || got.Share != c.share {
			t.Errorf("%d of %d entries %s after %v: %+v, want %v left and the share %v", c.done, c.of, c.step, c.after, got, c.left, c.share)
		}
	}
}

func TestNoTimeIsPromisedBeforeThereIsAPace(t *testing.T) {
	w := progress.Begin(progress.Opening, began)
	w.Tell(progress.Read, 999, 1000)
	if got := w.At(began.Add(999 * time.Millisecond)); got.Left != 0 {
		t.Errorf("%v are left after less than a second", got.Left)
	}
	w = progress.Begin(progress.Opening, began)
	w.Tell(progress.Read, 10, 1000)
	if got := w.At(began.Add(time.Minute)); got.Left != 0 {
		t.Errorf("%v are left by a hundredth of the entries", got.Left)
	}
	w = progress.Begin(progress.Import, began)
	w.Tell(progress.Rows, 20_000, 0)
	if got := w.At(began.Add(time.Minute)); got.Left != 0 || got.Share != 0 || got.Done != 20_000 {
		t.Errorf("of a sheet whose rows nobody counted: %+v", got)
	}
}

// Two goroutines may tell of one step, and the later word may come first.
func TestWorkGoesForwardAlone(t *testing.T) {
	w := progress.Begin(progress.Opening, began)
	w.Tell(progress.Read, 800, 1000)
	w.Tell(progress.Read, 700, 1000)
	w.Tell(progress.Stored, 1, 1000)
	if got := w.At(began); got.Step != progress.Read || got.Done != 800 {
		t.Errorf("it went back to %+v", got)
	}
	w.Tell(progress.Replayed, 1, 1000)
	w.Tell(progress.Read, 900, 1000)
	if got := w.At(began); got.Step != progress.Replayed || got.Done != 1 {
		t.Errorf("it went back to %+v", got)
	}
}

func TestTheOneWhomAContextNamesIsTold(t *testing.T) {
	progress.From(t.Context())(progress.Read, 1, 2) // nobody
	var step progress.Step
	var done, of int64
	tell := progress.Tell(func(s progress.Step, d, o int64) { step, done, of = s, d, o })
	progress.From(progress.With(t.Context(), tell.Of(1000)))(progress.Read, 1, 0)
	if step != progress.Read || done != 1 || of != 1000 {
		t.Errorf("told %s %d of %d", step, done, of)
	}
	tell.In(progress.Stored)(3, 4)
	if step != progress.Stored || done != 3 || of != 4 {
		t.Errorf("told %s %d of %d", step, done, of)
	}
}

package ledger_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// What a course says of an instant is what the state of that instant says, asked
// by itself.
func TestACourseIsWhatEachInstantSaysByItself(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		o := ledgertest.Random(rt, 60)
		b, err := o.Open()
		if err != nil {
			rt.Fatal(err)
		}
		from, until := ledgertest.At(5), ledgertest.At(55)
		course := b.Course(o.Settling, from, until, 7)
		if len(course) < 9 {
			rt.Fatalf("%d moments", len(course))
		}
		for i, m := range course {
			if i > 0 && m.At.Before(course[i-1].At) {
				rt.Fatal("moments are out of order")
			}
			if i+1 < len(course) && course[i+1].At.Equal(m.At) {
				continue // the state of an instant is after all that happened at it
			}
			s := b.StateAt(m.At)
			h, _ := s.Holder(o.Settling)
			if h.Grams != m.Grams {
				rt.Fatalf("%v: %d g, the state has %d", m.At, m.Grams, h.Grams)
			}
			belief, _ := s.BeliefAt(o.Settling, m.At)
			if m.Belief != nil && *m.Belief != belief || m.Belief == nil && m.Grams > 0 {
				rt.Fatalf("%v: expects %v, the state %v", m.At, m.Belief, belief)
			}
		}
	})
}

// The first and the last thing that happened to a tank are those that its course has.
func TestWhatHappenedToATankBeginsAndEndsWithItsCourse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		o := ledgertest.Random(rt, 40)
		b, err := o.Open()
		if err != nil {
			rt.Fatal(err)
		}
		from, until := ledgertest.At(rapid.Float64Range(0, 20).Draw(rt, "from")), ledgertest.At(rapid.Float64Range(20, 45).Draw(rt, "until"))
		var happened []time.Time
		for _, m := range b.Course(o.Settling, from, until, 1) {
			if m.Of != nil {
				happened = append(happened, m.At)
			}
		}
		first, last, any := b.HappenedTo(o.Settling, from, until)
		if any != (len(happened) > 0) || any && (!first.Equal(happened[0]) || !last.Equal(happened[len(happened)-1])) {
			rt.Fatalf("from %v to %v, %t, where the course has %v", first, last, any, happened)
		}
	})
}

// 700 kg come in, 290 go out, a stocktake finds 400: 10 kg less than the book.
func TestACourseShowsWhatWentInAndOut(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull, run := o.Pull(1, o.Mill, 30, 0), o.Run(2, "first")
	o.Supers(2, run, pull, 30)
	o.Out(3, run, o.Settling, 700_000)
	o.Fill(5, o.Lot(4, "A"), o.Settling, "1", 290_000)
	o.Write(6, &ledger.Stocktake{TankID: o.Settling, Method: "dip", MassG: 400_000})
	o.Write(7, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.2))
	o.Write(8, ledgertest.Moisture(ledger.PlaceTank, o.Sump, 17.2))
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	var got []ledger.Moment
	for _, m := range b.Course(o.Settling, ledgertest.At(0), ledgertest.At(9), 0) {
		if m.Of != nil {
			got = append(got, m)
		}
	}
	want := []struct {
		kind           ledger.Kind
		in, out, grams int64
	}{
		{ledger.KindMovement, 700_000, 0, 700_000}, {ledger.KindFill, 0, 290_000, 410_000},
		{ledger.KindStocktake, 0, 10_000, 400_000}, {ledger.KindReading, 0, 0, 400_000},
	}
	if len(got) != len(want) {
		t.Fatalf("%d things happened, not %d", len(got), len(want))
	}
	for i, w := range want {
		if m := got[i]; m.Of.Kind != w.kind || m.InG != w.in || m.OutG != w.out || m.Grams != w.grams {
			t.Errorf("%d: a %s, %d in, %d out, %d g after", i, m.Of.Kind, m.InG, m.OutG, m.Grams)
		}
	}
	if b.Course(o.Mill, ledgertest.At(0), ledgertest.At(9), 3) != nil {
		t.Error("a yard has no course of a tank")
	}
}

func TestATankHoldsHoneySinceItLastCameToHoldMoreThanAHeel(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(1, "first")
	o.Out(2, run, o.Settling, 700_000)
	o.Write(10, &ledger.Wash{TankID: o.Settling})
	o.Out(20, run, o.Settling, 90_000) // a heel of 2,000 kg is 100
	o.Out(21, run, o.Settling, 90_000)
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	if since, ever := b.State().HoldsSince(o.Settling); !ever || !since.Equal(ledgertest.At(21)) {
		t.Errorf("since %v, %v", since.Sub(ledgertest.Start).Round(time.Minute), ever)
	}
	if _, ever := b.State().HoldsSince(o.Sump); ever {
		t.Error("a tank that never held any")
	}
}

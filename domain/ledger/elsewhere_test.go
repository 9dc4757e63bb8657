package ledger_test

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// amongAll are findings that hang on all runs of a season, or all containers of a kind.
var amongAll = []ledger.Code{ledger.RunYieldUnusual, ledger.NetUnusual}

// besideTheBook are findings that the replay does not find: of these the reply names also
// what is about the entry itself.
var besideTheBook = []ledger.Code{ledger.MoreSpun, ledger.NeverExtracted, ledger.WarmWithoutLog, ledger.EntryUnreadable}

type odd struct {
	code      ledger.Code
	entry, on ledger.ID
	quantity  string
}

// openAt are the open findings of an instant, each as what it says of its entries.
func openAt(b *ledger.Book, now time.Time) (out [][]odd) {
	for _, f := range b.State().FindingsAt(now) {
		if f.Accepted != nil || slices.Contains(amongAll, f.Code) {
			continue
		}
		of := []odd{{f.Code, f.Entry, f.On.ID, f.Quantity}}
		for _, with := range f.With {
			of = append(of, odd{f.Code, with, f.On.ID, f.Quantity})
		}
		out = append(out, of)
	}
	return out
}

// apart are the findings that share no entry with one of the same sort in another book.
func apart(list, other [][]odd, butOf ledger.ID) (out []odd) {
	there := slices.Concat(other...)
	for _, of := range list {
		if (of[0].entry != butOf || slices.Contains(besideTheBook, of[0].code)) && !slices.ContainsFunc(of, func(o odd) bool { return slices.Contains(there, o) }) {
			out = append(out, of[0])
		}
	}
	return out
}

func told(flags []*ledger.Flag) (out []odd) {
	for _, f := range flags {
		out = append(out, odd{f.Code, f.Entry, f.On.ID, f.Quantity})
	}
	return out
}

// TestTheReplySaysWhatTwoBooksOpenedAnewDifferIn holds the reply to each entry of random
// seasons against the lists of findings before and after it.
func TestTheReplySaysWhatTwoBooksOpenedAnewDifferIn(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.RandomOver(t, 60, rapid.SampledFrom([]float64{1, 12}).Draw(t, "times as far apart"))
		b, err := ledger.OpenKeeping(time.UTC, nil, rapid.IntRange(1, 20).Draw(t, "kept"))
		if err != nil {
			t.Fatal(err)
		}
		for n, e := range o.Entries {
			effect, err := b.Append(e)
			if err != nil {
				t.Fatalf("entry %d: %v", n+1, err)
			}
			before, after := mustOpen(t, o.Entries[:n]), mustOpen(t, o.Entries[:n+1])
			now := before.Latest()
			if after.Latest().After(now) {
				now = after.Latest()
			}
			opened := apart(openAt(after, now), openAt(before, now), after.Root(e.ID))
			closed := apart(openAt(before, now), openAt(after, now), ledger.ID{})
			if got := told(effect.Opened); !sameOdd(got, opened) {
				t.Fatalf("entry %d (%s) opened %v, not %v", n+1, e.Kind, got, opened)
			}
			if got := told(effect.Closed); !sameOdd(got, closed) {
				t.Fatalf("entry %d (%s) closed %v, not %v", n+1, e.Kind, got, closed)
			}
		}
	})
}

func sameOdd(a, b []odd) bool {
	return len(a) == len(b) && !slices.ContainsFunc(a, func(o odd) bool { return !slices.Contains(b, o) })
}

func TestATransferWrittenDownLateSettlesWhatWasDrawnTooMuch(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	o.Pump(2, o.Settling, o.Sump, 100_000)
	before := mustOpen(t, o.Entries)
	n := len(o.Entries)
	pull, run := o.Pull(0, o.Mill, 20, 0), o.Run(0, "1")
	o.Supers(0, run, pull, 20)
	o.Out(1, run, o.Settling, 200_000)
	var last ledger.Effect
	for _, e := range o.Entries[n:] {
		var err error
		if last, err = before.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	if len(last.Closed) != 1 || last.Closed[0].Code != ledger.Overdrawn || len(last.Opened) != 0 {
		t.Errorf("closed %+v, opened %+v", last.Closed, last.Opened)
	}
}

// replies appends entries to a book of those before them, and returns the last reply.
func replies(t *testing.T, o *ledgertest.Outfit, begun int) (last ledger.Effect) {
	t.Helper()
	b := mustOpen(t, o.Entries[:begun])
	for _, e := range o.Entries[begun:] {
		var err error
		if last, err = b.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	return last
}

// TestTheReplySaysWhatShowsBesideTheBook that an entry opens or closes, written down in
// order or late.
func TestTheReplySaysWhatShowsBesideTheBook(t *testing.T) {
	t.Parallel()
	const day = 24
	for name, c := range map[string]struct {
		before         func(o *ledgertest.Outfit) (of ledger.ID)
		entry          func(o *ledgertest.Outfit, of ledger.ID)
		opened, closed ledger.Code
	}{
		"supers that waited a month are booked into a run": {func(o *ledgertest.Outfit) ledger.ID {
			o.Pull(0, o.Mill, 20, 0)
			return o.Run(30*day, "1")
		}, func(o *ledgertest.Outfit, run ledger.ID) {
			o.Supers(30*day+1, run, o.Entries[len(o.Entries)-2].ID, 20)
		}, "", ledger.NeverExtracted},
		"so are they, on the day, by a note that comes late": {func(o *ledgertest.Outfit) ledger.ID {
			o.Pull(0, o.Mill, 20, 0)
			run := o.Run(1, "1")
			o.Write(40*day, &ledger.RunEnd{RunID: run})
			return run
		}, func(o *ledgertest.Outfit, run ledger.ID) {
			o.WriteLate(2, 41*day, o.SupersBody(run, o.Entries[len(o.Entries)-3].ID, 20))
		}, "", ledger.NeverExtracted},
		"and the booking is withdrawn": {func(o *ledgertest.Outfit) ledger.ID {
			pull, run := o.Pull(0, o.Mill, 20, 0), o.Run(1, "1")
			booked := o.Supers(1, run, pull, 20)
			o.Write(40*day, &ledger.RunEnd{RunID: run})
			return booked
		}, func(o *ledgertest.Outfit, booked ledger.ID) { o.Withdraw(booked) }, ledger.NeverExtracted, ""},
		"a load more than the supers have frames": {func(o *ledgertest.Outfit) ledger.ID {
			run := o.Run(1, "1")
			o.Supers(1, run, o.Pull(0, o.Mill, 10, 0), 10)
			for l := range 3 {
				o.Write(2+float64(l)/4, &ledger.Load{RunID: run, Load: l + 1, FramesLeft: 20 + l, FramesRight: 20})
			}
			return run
		}, func(o *ledgertest.Outfit, run ledger.ID) {
			o.Write(4, &ledger.Load{RunID: run, Load: 9, FramesLeft: 30, FramesRight: 11})
		}, ledger.MoreSpun, ""},
		"the supers that the loads were of": {func(o *ledgertest.Outfit) ledger.ID {
			run := o.Run(1, "1")
			o.Supers(1, run, o.Pull(0, o.Mill, 40, 0), 5)
			for l := range 3 {
				o.Write(2+float64(l)/4, &ledger.Load{RunID: run, Load: l + 1, FramesLeft: 20 + l, FramesRight: 20})
			}
			return run
		}, func(o *ledgertest.Outfit, run ledger.ID) {
			var pull ledger.ID
			for _, e := range o.Entries {
				if e.Kind == ledger.KindPull {
					pull = e.ID
				}
			}
			o.WriteLate(1.5, 9, o.SupersBody(run, pull, 10))
		}, "", ledger.MoreSpun},
		"a log that says what a warm tank had": {func(o *ledgertest.Outfit) ledger.ID {
			warm := o.SetUp(&ledger.Tank{Name: "warm", Use: ledger.Heated, CapacityG: 500_000, UsualTemperatureC: new(42.0)})
			o.Pump(1, o.Settling, warm, 300_000)
			o.Pump(10*day, warm, o.Settling, 290_000)
			return warm
		}, func(o *ledgertest.Outfit, warm ledger.ID) {
			log := &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceTank, ID: warm}}
			for h := 1.0; h < 10*day; h += 12 {
				log.Points = append(log.Points, ledger.TemperaturePoint{At: ledgertest.At(h), TemperatureC: 30})
			}
			o.WriteLate(9*day, 11*day, log)
		}, "", ledger.WarmWithoutLog},
		"the transfer that left honey in a warm tank": {func(o *ledgertest.Outfit) ledger.ID {
			warm := o.SetUp(&ledger.Tank{Name: "warm", Use: ledger.Heated, CapacityG: 500_000, UsualTemperatureC: new(42.0)})
			o.Pump(10*day, o.Settling, o.Sump, 1000)
			return warm
		}, func(o *ledgertest.Outfit, warm ledger.ID) {
			o.WriteLate(1, 11*day, ledgertest.Move(ledger.PlaceTank, o.Settling, ledger.PlaceTank, warm, 300_000))
		}, ledger.WarmWithoutLog, ""},
	} {
		t.Run(name, func(t *testing.T) {
			o := ledgertest.NewOutfit()
			of := c.before(o)
			begun := len(o.Entries)
			c.entry(o, of)
			last := replies(t, o, begun)
			has := func(flags []*ledger.Flag, code ledger.Code) bool {
				return slices.ContainsFunc(flags, func(f *ledger.Flag) bool { return f.Code == code })
			}
			if c.opened != "" && !has(last.Opened, c.opened) || c.closed != "" && !has(last.Closed, c.closed) {
				t.Errorf("it opened %+v and closed %+v", told(last.Opened), told(last.Closed))
			}
		})
	}
}

// TestTimeThatGoesOnIsLaidToNoEntry: supers that wait too long by now were not left by the
// reading that was written down meanwhile.
func TestTimeThatGoesOnIsLaidToNoEntry(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	o.Pull(0, o.Mill, 20, 0)
	begun := len(o.Entries)
	o.Pump(24*40, o.Sump, o.Settling, 1000)
	if last := replies(t, o, begun); len(last.Opened) != 0 {
		t.Errorf("it opened %+v", told(last.Opened))
	}
}

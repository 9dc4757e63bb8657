package ledger_test

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// pails draws so many pails of 20 kg from the large tank, half an hour apart.
func pails(o *ledgertest.Outfit, hours float64, n int) (drawn []ledger.ID) {
	lot := o.Lot(hours, fmt.Sprintf("26-%g", hours))
	for i := range n {
		drawn = append(drawn, o.Fill(hours+float64(i+1)/2, lot, o.Settling, fmt.Sprintf("%g-%d", hours, i), 20_000))
	}
	return drawn
}

// shortages are the findings of more drawn than held.
func shortages(b *ledger.Book) (out []*ledger.Flag) {
	for _, f := range b.State().Findings() {
		if f.Code == ledger.Overdrawn {
			out = append(out, f)
		}
	}
	return out
}

func TestFourPailsFromAnEmptyTankAreOneQuestionAboutOneTransfer(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	drawn := pails(o, 20, 4)
	found := shortages(open(t, o))
	if len(found) != 1 {
		t.Fatalf("four pails are %d questions", len(found))
	}
	f := found[0]
	if f.Entry != drawn[0] || len(f.With) != 3 || f.With[0] != drawn[1] || f.With[2] != drawn[3] || len(f.Entries) < 3 {
		t.Errorf("it is about %v with %v", f.Entry, f.With)
	}
	if f.MassG != 80_000 || f.Expected != 0 || f.Found != 80 {
		t.Errorf("it is about %d g, %v kg held and %v kg drawn", f.MassG, f.Expected, f.Found)
	}
	last := f.Likely[len(f.Likely)-1]
	if last.Why != ledger.NotBooked || last.Value != 80 {
		t.Errorf("what may lie behind it: %+v", f.Likely)
	}
}

// Honey that comes in, a wash and a dip each end the matter: what is short afterwards is
// another question.
func TestWhatRunsShortAfterHoneyCameOrSomebodyLookedIsAnotherQuestion(t *testing.T) {
	t.Parallel()
	for name, between := range map[string]func(o *ledgertest.Outfit){
		"honey": func(o *ledgertest.Outfit) {
			run := o.Run(30, "1")
			o.Supers(30, run, o.Pull(1, o.Mill, 20, 0), 20)
			o.Out(31, run, o.Settling, 20_000)
			o.Write(32, toWaste(o.Settling, 20_000))
		},
		"a wash": func(o *ledgertest.Outfit) { o.Write(31, &ledger.Wash{TankID: o.Settling}) },
		"a dip":  func(o *ledgertest.Outfit) { o.Write(31, &ledger.Stocktake{TankID: o.Settling, UncertaintyG: 1000}) },
	} {
		o := ledgertest.NewOutfit()
		pails(o, 20, 2)
		between(o)
		pails(o, 40, 3)
		found := shortages(open(t, o))
		if len(found) != 2 || found[0].MassG != 40_000 || found[1].MassG != 60_000 {
			t.Errorf("with %s between, they are %d questions: %+v", name, len(found), found)
		}
	}
}

// 500 kg by the rise between two dips of a tank for 2,000 kg, and as much drawn by its
// fall, are known to 20 kg together. 520 kg drawn are one standard deviation too many,
// which chance alone has one time in three (0.317, any table of the normal law).
func TestWhatChanceExplainsIsNoFindingUntilItAddsUp(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	harvested(o)
	once := o.Write(20, toWaste(o.Settling, 520_000))
	b := open(t, o)
	if found := b.State().Findings(); len(found) != 0 {
		t.Errorf("chance has it one time in three, and found is %+v", found[0])
	}
	if f := b.State().FlagsOn(once); len(f) != 0 {
		t.Errorf("the entry's own page says %+v", f)
	}
	for i := range 5 {
		o.Write(21+float64(i), toWaste(o.Settling, 20_000))
	}
	found := shortages(open(t, o))
	if len(found) != 1 || found[0].MassG != 120_000 || found[0].Unlikely > 0.001 {
		t.Errorf("120 kg too many in six draws are %+v", found)
	}
}

// Who settles a question settles it as it was then: a pail that is recorded later asks
// again. An acceptance without the others, as books have it from before, settles one.
func TestAnAcceptanceCoversTheEntriesThatWereFoundThen(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	drawn := pails(o, 20, 4)
	b := open(t, o)
	a := &ledger.Acceptance{EntryID: drawn[0], Flag: ledger.Overdrawn}
	e := ledger.Entry{ID: o.Next(), Kind: a.Kind(), OccurredAt: ledgertest.At(90), Reason: "the transfer was forgotten", Body: a}
	if err := b.Complete(&e); err != nil || len(a.With) != 3 {
		t.Fatalf("the acceptance settles %v with it: %v", a.With, err)
	}
	o.Put(e)
	found := shortages(open(t, o))
	if len(found) != 1 || found[0].Accepted == nil || found[0].MassG != 80_000 {
		t.Fatalf("settled, the question is %+v", found)
	}
	pails(o, 22, 1)
	found = shortages(open(t, o))
	if len(found) != 2 || found[0].Accepted == nil || found[1].Accepted != nil || found[1].MassG != 20_000 {
		t.Errorf("a fifth pail, recorded later: %+v", found)
	}

	old := ledgertest.NewOutfit()
	drawn = pails(old, 20, 4)
	old.Accept(90, drawn[1], ledger.Overdrawn)
	found = shortages(open(t, old))
	if len(found) != 2 || found[0].Accepted != nil || found[0].MassG != 60_000 || found[1].Accepted == nil || found[1].MassG != 20_000 {
		t.Errorf("an acceptance of one pail: %+v", found)
	}
}

// A tank over its capacity is one question, however often something more goes in; that
// it was drawn down below and filled over it again is another.
func TestATankOverItsCapacityIsOneQuestion(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	for i := range 4 {
		o.Pump(float64(i), o.Settling, o.Sump, 110_000)
	}
	over := func() (out []*ledger.Flag) {
		for _, f := range open(t, o).State().Findings() {
			if f.Code == ledger.Overfilled {
				out = append(out, f)
			}
		}
		return out
	}
	if f := over(); len(f) != 1 || f[0].MassG != 140_000 || f[0].Found != 440 || len(f[0].With) != 1 {
		t.Errorf("440 kg in a sump for 300 by two batches: %+v", f)
	}
	o.Write(5, toWaste(o.Sump, 300_000))
	o.Pump(6, o.Settling, o.Sump, 250_000)
	if f := over(); len(f) != 2 || f[1].MassG != 90_000 {
		t.Errorf("filled over again: %+v", f)
	}
}

// Whatever happened, each flag that is open is in one finding and in no second, unless
// chance explains it; and what more was drawn than held comes to as much in all.
func TestEachFlagIsInOneFinding(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 60)
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		type odd struct {
			code  ledger.Code
			entry ledger.ID
			on    ledger.Place
		}
		in, raised := map[odd]int{}, map[odd]int{}
		var drawn int64
		for _, f := range b.State().Findings() {
			for _, id := range append([]ledger.ID{f.Entry}, f.With...) {
				in[odd{f.Code, id, f.On}]++
			}
			if f.Code == ledger.Overdrawn {
				drawn += f.MassG
			}
		}
		for _, f := range b.State().Flags() {
			raised[odd{f.Code, f.Entry, f.On}]++ // a dispatch may name one drum twice
		}
		for _, f := range b.State().Flags() {
			n := in[odd{f.Code, f.Entry, f.On}]
			gathered := f.Code == ledger.InstrumentDoubtful
			chance := f.Unlikely > 0.05 && n == 0
			if f.Code == ledger.Overdrawn {
				if drawn -= f.MassG; chance {
					drawn += f.MassG
				}
			}
			if n != raised[odd{f.Code, f.Entry, f.On}] && !gathered && !chance {
				t.Fatalf("%s of %s is in %d findings", f.Code, f.Entry, n)
			}
		}
		if drawn != 0 {
			t.Fatalf("findings and flags of what was drawn too much differ by %d g", drawn)
		}
	})
}

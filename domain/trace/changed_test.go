package trace_test

import (
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/trace"
)

// sold is a house that has sold a drum of the mill's honey.
func sold() (h *house, out, filled, sent ledger.ID) {
	h = newHouse()
	out = h.Out(2, h.millRun, h.Settling, 300_000)
	filled = h.Fill(3, h.lot, h.Settling, "D1", 200_000)
	h.Release(4, h.lot)
	sent = h.Dispatch(5, filled)
	return h, out, filled, sent
}

func superseded(t *testing.T, h *house, sheets ...trace.Sheet) []trace.Superseding {
	t.Helper()
	out, err := trace.Superseded(mustOpen(t, h.Entries), sheets...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestADispatchRestsOnWhatALateEntryChanged(t *testing.T) {
	t.Parallel()
	h, _, _, sent := sold()
	late := h.WriteLate(2.5, 90, ledgertest.OutBody(h.ridgeRun, h.Settling, 100_000))
	got := superseded(t, h)
	if len(got) != 1 || got[0].By.ID != sent {
		t.Fatalf("%d things rest on superseded facts: %+v", len(got), got)
	}
	if len(got[0].Through) != 1 || got[0].Through[0].ID != late {
		t.Errorf("it changed through %+v", got[0].Through)
	}
	made := map[string][2]*float64{}
	for _, c := range got[0].Changes {
		made[c.Name+" "+c.PartName] = [2]*float64{c.From, c.To}
	}
	mill, ridge := made["made of Mill"], made["made of Ridge"]
	if len(made) != 2 || *mill[0] != 200 || *mill[1] != 150 || ridge[0] != nil || *ridge[1] != 50 {
		t.Errorf("the make-up changed so: %+v", got[0].Changes)
	}
}

func TestWhatHappensAfterADispatchChangesNothingOfIt(t *testing.T) {
	t.Parallel()
	h, _, _, _ := sold()
	h.Out(6, h.ridgeRun, h.Settling, 100_000)
	h.Fill(7, h.lot, h.Settling, "D2", 100_000)
	h.Write(8, ledgertest.Moisture(ledger.PlaceLot, h.lot, 17))
	h.WriteLate(2.5, 90, ledgertest.Moisture(ledger.PlaceTank, h.Sump, 17)) // late, and of other honey
	if got := superseded(t, h); len(got) != 0 {
		t.Errorf("superseded: %+v", got)
	}
}

func TestACorrectionAWithdrawalAndAReadingRipple(t *testing.T) {
	t.Parallel()
	for name, change := range map[string]func(h *house, out, filled ledger.ID) (by ledger.ID, figure string){
		"the movement into the tank was of the other yard": func(h *house, out, _ ledger.ID) (ledger.ID, string) {
			return h.Correct(out, 2, ledgertest.OutBody(h.ridgeRun, h.Settling, 300_000)), "made of"
		},
		"it was withdrawn": func(h *house, out, _ ledger.ID) (ledger.ID, string) { return h.Withdraw(out), "made of" },
		"the net was mistyped": func(h *house, _, filled ledger.ID) (ledger.ID, string) {
			return h.Correct(filled, 3, h.FillBody(h.lot, h.Settling, "D1", 190_000)), "net"
		},
		"the pull was another's": func(h *house, _, _ ledger.ID) (ledger.ID, string) {
			return h.Correct(h.millPull, -20, &ledger.Pull{YardID: h.Ridge, Supers: []ledger.SuperCount{{SuperKindID: h.Deep, Supers: 20}}}), "made of"
		},
		"supers of another pull": func(h *house, _, _ ledger.ID) (ledger.ID, string) {
			return h.WriteLate(0.5, 99, h.SupersBody(h.millRun, h.ridgePull, 10)), "made of"
		},
		"a reading came in late": func(h *house, _, filled ledger.ID) (ledger.ID, string) {
			return h.WriteLate(3.5, 99, ledgertest.Moisture(ledger.PlaceContainer, filled, 19)), "moisture read"
		},
		"the tank had been washed": func(h *house, _, _ ledger.ID) (ledger.ID, string) {
			return h.WriteLate(2.5, 99, &ledger.Wash{TankID: h.Settling}), "made of"
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			h, out, filled, _ := sold()
			by, figure := change(h, out, filled)
			got := superseded(t, h)
			if len(got) != 1 || len(got[0].Through) != 1 || got[0].Through[0].ID != by {
				t.Fatalf("superseded: %+v", got)
			}
			if !slices.ContainsFunc(got[0].Changes, func(c trace.Change) bool { return c.Name == figure }) {
				t.Errorf("of %q is said: %+v", figure, got[0].Changes)
			}
		})
	}
}

func TestAPrintedSheetIsHeldAgainstTheBook(t *testing.T) {
	t.Parallel()
	h, _, _, _ := sold()
	printed := trace.Sheet{Lot: h.lot, Entry: int64(len(h.Entries))}
	if got := superseded(t, h, printed); len(got) != 0 {
		t.Errorf("just printed, and superseded: %+v", got)
	}
	h.WriteLate(2.5, 90, ledgertest.OutBody(h.ridgeRun, h.Settling, 100_000))
	got := superseded(t, h, printed)
	if len(got) != 2 || !slices.ContainsFunc(got, func(s trace.Superseding) bool { return s.By == nil && s.On.ID == h.lot && s.Entry == printed.Entry }) {
		t.Errorf("superseded: %+v", got)
	}
}

func TestChangesNameEachFigureWithTheEntriesThatChangedIt(t *testing.T) {
	t.Parallel()
	h, _, _, _ := sold()
	before := int64(len(h.Entries))
	h.Write(6, ledgertest.Moisture(ledger.PlaceTank, h.Settling, 17)) // changes what is expected of the tank
	h.WriteLate(2.5, 6, ledgertest.OutBody(h.ridgeRun, h.Settling, 100_000))
	h.Fill(7, h.lot, h.Settling, "D2", 40_000)
	got, err := trace.Changes(mustOpen(t, h.Entries), before, before+3)
	if err != nil {
		t.Fatal(err)
	}
	told := map[string]trace.ChangedFigure{}
	for _, c := range got {
		told[c.OfName+"/"+c.Name+"/"+c.PartName] = c
	}
	late, fill := trace.Span{First: before + 2, Last: before + 2}, trace.Span{First: before + 3, Last: before + 3}
	for name, want := range map[string]struct {
		from, to float64
		through  []trace.Span
	}{
		"large tank/held/":     {100, 160, []trace.Span{late, fill}},
		"26-001/net/":          {200, 240, []trace.Span{fill}},
		"26-001/made of/Mill":  {200, 180, []trace.Span{late, fill}},
		"/harvested/":          {300, 400, []trace.Span{late}},
		"26-001/on hand/":      {0, 40, []trace.Span{fill}},
		"/in containers/":      {0, 40, []trace.Span{fill}},
		"Ridge/honey/":         {0, 100, []trace.Span{late}},
		"26-001/made of/Ridge": {0, 60, []trace.Span{late, fill}},
	} {
		c, ok := told[name]
		if !ok {
			t.Errorf("nothing is said of %s", name)
			continue
		}
		from := 0.0
		if c.From != nil {
			from = *c.From
		}
		if from != want.from || *c.To != want.to || !slices.Equal(c.Through, want.through) {
			t.Errorf("%s: %g to %g through %v, not %+v", name, from, *c.To, c.Through, want)
		}
	}
	if _, said := told["Mill/honey/"]; said {
		t.Error("the mill's honey has not changed")
	}
	only, err := trace.Changes(mustOpen(t, h.Entries), before, before+1)
	if err != nil || len(only) != 1 || only[0].Name != "moisture expected" || only[0].OfName != "large tank" || *only[0].From != 17.3 {
		t.Errorf("a reading changed %+v (%v)", only, err)
	}
}

// checked is a house whose lot, of a drum that was read, has been checked.
func checked(t *testing.T) (h *house, out, filled, check ledger.ID) {
	t.Helper()
	h, out, filled, _ = sold()
	reading := ledgertest.Moisture(ledger.PlaceContainer, filled, 17.4)
	reading.InstrumentID = h.Refractometer
	h.Write(5.5, reading)
	basis := mustOpen(t, h.Entries).Basis(h.lot, ledgertest.At(6))
	check = h.Write(6, &ledger.Check{LotID: h.lot, On: "2026-07-01", Found: &ledger.Found{Through: int64(len(h.Entries)), Basis: basis}})
	return h, out, filled, check
}

// TestWhatChangesAnEstimateMarksTheCheckThatRestedOnIt: what is expected of the
// lot changes, though nothing that was read of it or that it is made of does.
func TestWhatChangesAnEstimateMarksTheCheckThatRestedOnIt(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		change func(h *house) ledger.ID
		figure string
	}{
		"a reading of its tank came in late": {func(h *house) ledger.ID {
			return h.WriteLate(2.5, 90, ledgertest.Moisture(ledger.PlaceTank, h.Settling, 15))
		}, "moisture expected"},
		"a reading of its run": {func(h *house) ledger.ID {
			return h.Write(30, ledgertest.Moisture(ledger.PlaceRun, h.millRun, 15))
		}, "moisture expected"},
		"its tank had been hot": {func(h *house) ledger.ID {
			return h.WriteLate(3, 90, &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}, Held: true,
				Points: []ledger.TemperaturePoint{{At: ledgertest.At(2.1), TemperatureC: 85}, {At: ledgertest.At(3), TemperatureC: 85}}})
		}, "HMF expected"},
		"the refractometer was found wrong": {func(h *house) ledger.ID {
			return h.Write(80, &ledger.Calibration{InstrumentID: h.Refractometer, Reference: "oil", Expected: 16, AsFound: 14.8, AsLeft: 16, Tolerance: 0.2})
		}, "readings by instruments found wrong"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			h, _, _, check := checked(t)
			if got := superseded(t, h); len(got) != 0 {
				t.Fatalf("just checked, and superseded: %+v", got)
			}
			by := c.change(h)
			b := mustOpen(t, h.Entries)
			got, err := trace.SupersededBy(b, map[ledger.ID]bool{check: true})
			if err != nil || len(got) != 1 || got[0].By.ID != check || len(got[0].Through) != 1 || got[0].Through[0].ID != by {
				t.Fatalf("superseded: %+v (%v)", got, err)
			}
			if !slices.ContainsFunc(got[0].Changes, func(x trace.Change) bool { return x.Name == c.figure }) {
				t.Errorf("of %q is said: %+v", c.figure, got[0].Changes)
			}
		})
	}
}

// TestACorrectedLaboratoryFigureMarksTheCheckThatRestedOnIt: a colour and a look
// for fermentation are nothing that the book expects, and a check may rest on them all
// the same.
// What changed in the whole book names them too.
func TestACorrectedLaboratoryFigureMarksTheCheckThatRestedOnIt(t *testing.T) {
	t.Parallel()
	h, _, filled, _ := sold()
	certificate := func(mm float64, word string) *ledger.Reading {
		return &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, Laboratory: "Fern Valley",
			Measured: []ledger.Measured{{Quantity: "colour_mm_pfund", Value: mm}, {Quantity: "ph", Value: 4}},
			Observed: []ledger.Observed{{What: "fermentation", Word: word}}}
	}
	id := h.Write(5.5, certificate(52, "absent"))
	drum := h.Write(5.6, ledgertest.Moisture(ledger.PlaceContainer, filled, 17.4))
	check := h.Write(6, &ledger.Check{LotID: h.lot, On: "2026-07-01", Found: &ledger.Found{Through: int64(len(h.Entries)), Basis: mustOpen(t, h.Entries).Basis(h.lot, ledgertest.At(6))}})
	before := int64(len(h.Entries))
	h.Correct(id, 5.5, certificate(92, "present"))
	h.Correct(drum, 5.6, ledgertest.Moisture(ledger.PlaceContainer, filled, 18.3))
	b := mustOpen(t, h.Entries)
	got, err := trace.SupersededBy(b, map[ledger.ID]bool{check: true})
	if err != nil || len(got) != 1 {
		t.Fatalf("superseded: %+v (%v)", got, err)
	}
	whole, err := trace.Changes(b, before, b.Len())
	if err != nil {
		t.Fatal(err)
	}
	var changed []trace.Change
	for _, c := range whole {
		changed = append(changed, c.Change)
	}
	for what, list := range map[string][]trace.Change{"of the check": got[0].Changes, "of the book": changed} {
		told := map[string][2]float64{}
		for _, c := range list {
			var of [2]float64
			for i, p := range []*float64{c.From, c.To} {
				if p != nil {
					of[i] = *p
				}
			}
			told[c.Name] = of
		}
		for name, want := range map[string][2]float64{"colour pfund read": {52, 92}, "moisture read": {17.4, 18.3}, "fermentation seen: absent": {1, 0}, "fermentation seen: present": {0, 1}} {
			if told[name] != want {
				t.Errorf("%s: %s changed from %g to %g, by hand %v", what, name, told[name][0], told[name][1], want)
			}
		}
		if _, said := told["ph read"]; said {
			t.Errorf("%s: the pH is as it was", what)
		}
	}
}

// TestAnInstrumentFoundWrongSaysWhatTheReadingsWouldHaveBeen: it read 1.2 points
// low, so 17.4 was 18.6.
func TestAnInstrumentFoundWrongSaysWhatTheReadingsWouldHaveBeen(t *testing.T) {
	t.Parallel()
	h, _, _, check := checked(t)
	h.Write(80, &ledger.Calibration{InstrumentID: h.Refractometer, Reference: "oil", Expected: 16, AsFound: 14.8, AsLeft: 16, Tolerance: 0.2})
	told := map[string]float64{}
	for _, x := range superseded(t, h) {
		for _, c := range x.Changes {
			if c.To != nil {
				told[c.Name] = *c.To
			}
		}
	}
	right := told["moisture read, put right for instruments found wrong"]
	if right < 18.59 || right > 18.61 || told["readings by instruments found wrong"] != 1 {
		t.Errorf("told: %v", told)
	}
	why := mustOpen(t, h.Entries).Outdated(check)
	if why.String() != fmt.Sprintf("a later check found the refractometer wrong (entry %d): it read 14.8 where 16 was expected", len(h.Entries)) {
		t.Errorf("the check is outdated since %q", why)
	}
	again := h.Write(90, &ledger.Check{LotID: h.lot, On: "2026-07-04", Found: &ledger.Found{Through: int64(len(h.Entries)), Basis: mustOpen(t, h.Entries).Basis(h.lot, ledgertest.At(89))}})
	if why := mustOpen(t, h.Entries).Outdated(again); !why.IsEmpty() {
		t.Errorf("a check that knew of it is outdated since %q", why)
	}
}

// TestATraceAsKnownIsTheTraceOfThatTime: a book as known at an entry answers as
// the book did then.
func TestATraceAsKnownIsTheTraceOfThatTime(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := anyBook(t)
		n := rapid.IntRange(0, len(o.Entries)).Draw(t, "n")
		known, err := mustOpen(t, o.Entries).AsKnown(int64(n))
		if err != nil {
			t.Fatalf("%v", err)
		}
		then := mustOpen(t, o.Entries[:n])
		for _, s := range subjects(t, then) {
			a, b := trace.Open(known).Forward(s), trace.Open(then).Forward(s)
			if a.TotalG != b.TotalG || !slices.Equal(a.Containers, b.Containers) || !slices.Equal(a.Tanks, b.Tanks) {
				t.Fatalf("%s: %+v and %+v", a.Name, a, b)
			}
		}
	})
}

// TestNothingIsSupersededThatNoEntryCameLateFor: where all is written down in
// order, nothing that rested on the book is ever upset.
func TestNothingIsSupersededThatNoEntryCameLateFor(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		got, err := trace.Superseded(mustOpen(t, busy(rapid.Uint64().Draw(t, "seed")).Entries))
		if err != nil || len(got) != 0 {
			t.Fatalf("%+v (%v)", got, err)
		}
	})
}

// TestWhateverChangesAFigureThatADispatchReliedOnIsFound makes any book, and
// compares every dispatch with the book that it knew, the long way.
func TestWhateverChangesAFigureThatADispatchReliedOnIsFound(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := mustOpen(t, anyBook(t).Entries)
		got, err := trace.Superseded(b)
		if err != nil {
			t.Fatalf("%v", err)
		}
		told := map[ledger.ID]bool{}
		for _, s := range got {
			told[s.By.ID] = true
			if len(s.Through) == 0 || len(s.Changes) == 0 {
				t.Fatalf("%+v names no entry or no change", s)
			}
		}
		for _, e := range b.Happened {
			d, ok := e.Body.(*ledger.Dispatch)
			if !ok {
				continue
			}
			then, err := b.AsKnown(e.Number)
			if err != nil {
				t.Fatalf("%v", err)
			}
			if changed := madeOtherwise(b, then, d.Containers); changed != "" && !told[e.ID] {
				t.Fatalf("entry %d sent %s, which is not what it was, and nothing is said", e.Number, changed)
			}
		}
	})
}

// madeOtherwise names a container whose net or make-up by yard is not as it was.
func madeOtherwise(now, then *ledger.Book, containers []ledger.ID) string {
	for _, id := range containers {
		of := func(b *ledger.Book) map[ledger.ID]float64 {
			out := map[ledger.ID]float64{}
			h, _ := b.State().Holder(id)
			if h.Mix == nil || b.InForce(id) == nil {
				return out
			}
			for _, p := range h.Mix.Parts {
				yard := ledger.ID{}
				if pull := ledger.Named[ledger.Pull](b, p.Origin); pull != nil {
					yard = b.Root(pull.YardID)
				}
				out[yard] += p.Share * float64(ledger.Named[ledger.Fill](b, id).NetG())
			}
			return out
		}
		was, is := of(then), of(now)
		for _, yards := range []map[ledger.ID]float64{was, is} {
			for yard := range yards {
				if d := was[yard] - is[yard]; d > 2 || d < -2 {
					return now.Name(id)
				}
			}
		}
	}
	return ""
}

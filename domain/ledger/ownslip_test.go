package ledger_test

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// refusedSlip is why an entry is not put right by somebody at a time; "" where it is.
func refusedSlip(t testing.TB, b *ledger.Book, of ledger.ID, by string, hours float64) string {
	t.Helper()
	body := &ledger.Withdrawal{}
	err := b.OwnSlip(&ledger.Entry{ID: ledgertest.ID(9999), Kind: body.Kind(), Replaces: of, Reason: "typed wrong", RecordedBy: by, Body: body}, ledgertest.At(hours))
	if err == nil {
		return ""
	}
	if fault.CodeOf(err) != fault.NotYours {
		t.Errorf("it is refused as %s: %v", fault.CodeOf(err), err)
	}
	return err.Error()
}

func TestAShiftEndsAtFourInTheMorningOfTheOutfitsClock(t *testing.T) {
	t.Parallel()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	for recorded, want := range map[string]string{
		"2026-08-21 14:00": "2026-08-22 04:00",
		"2026-08-21 23:30": "2026-08-22 04:00",
		"2026-08-22 00:00": "2026-08-22 04:00", // just four hours on
		"2026-08-21 08:00": "2026-08-22 00:00", // 16 hours at the most
		"2026-08-22 03:50": "2026-08-22 19:50", // the working day is over in ten minutes: it is of the next
		"2026-10-31 20:00": "2026-11-01 04:00", // clocks go back at two
	} {
		at, err := time.ParseInLocation("2006-01-02 15:04", recorded, loc)
		if err != nil {
			t.Fatal(err)
		}
		if got := ledger.ShiftEnds(at.UTC(), loc).In(loc).Format("2006-01-02 15:04"); got != want {
			t.Errorf("what is recorded at %s may be put right until %s, want %s", recorded, got, want)
		}
	}
}

func TestAShiftIsNeverShorterThanFourHoursNorLongerThanSixteen(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		loc, err := time.LoadLocation(rapid.SampledFrom([]string{"America/Winnipeg", "Australia/Lord_Howe", "Asia/Kathmandu", "America/Santiago", "UTC"}).Draw(t, "zone"))
		if err != nil {
			t.Fatal(err)
		}
		at := time.Date(2026, 1, 1, 0, rapid.IntRange(0, 525_600).Draw(t, "minute"), 0, 0, time.UTC)
		end := ledger.ShiftEnds(at, loc)
		d := end.Sub(at)
		if d < 4*time.Hour || d > 16*time.Hour || d < 16*time.Hour && end.In(loc).Format("15:04") != "04:00" {
			t.Errorf("recorded at %s, it may be put right until %s", at.In(loc), end.In(loc))
		}
	})
}

func TestWhoRecordedSomethingPutsItRightWithinTheShiftAndNobodyElse(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	_, _, out := harvested(o) // at six in the evening
	b := mustOpen(t, o.Entries)
	for _, row := range []struct {
		by    string
		hours float64
		want  string
	}{
		{"Ada", 12.1, ""},
		{"Ada", 21.9, ""}, // before four
		{"Ada", 22.1, "could be put right by who recorded it until 2 July 2026, 04:00"},
		{"Tam", 12.1, "is Ada's"},
	} {
		got := refusedSlip(t, b, out, row.by, row.hours)
		if row.want == "" && got != "" || !strings.Contains(got, row.want) {
			t.Errorf("%s at %v hours: %q, want %q", row.by, row.hours, got, row.want)
		}
		if got != "" && !strings.Contains(got, "a manager") {
			t.Errorf("it does not say whom to ask: %q", got)
		}
	}
	// Once somebody else put it right, it is theirs.
	corrected := o.Put(ledger.Entry{OccurredAt: ledgertest.At(12), Replaces: out, Reason: "a drum less", RecordedBy: "Tam", Body: o.Entries[len(o.Entries)-1].Body})
	if got := refusedSlip(t, mustOpen(t, o.Entries), corrected, "Ada", 12.5); !strings.Contains(got, "is Tam's") {
		t.Errorf("after Tam corrected it: %q", got)
	}
}

func TestNobodyPutsADecisionOrTheSetUpRightWithoutAManager(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	harvested(o)
	lot := o.Lot(13, "26-01")
	drum := o.Fill(14, lot, o.Settling, "D-1", 290_000)
	held := o.Write(15, &ledger.LotStatus{LotID: lot, Status: ledger.StatusHeld, Why: "finding_unresolved"})
	foam := o.Write(15, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, Observed: []ledger.Observed{{What: "fermentation", Word: "present"}}})
	dry := o.Write(15, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, Observed: []ledger.Observed{{What: "fermentation", Word: "absent"}}})
	b := mustOpen(t, o.Entries)
	for what, row := range map[string]struct {
		id   ledger.ID
		want string
	}{
		"a hold":                           {held, "which a manager alone corrects"},
		"a tank":                           {o.Settling, "which a manager alone corrects"},
		"honey that was seen fermenting":   {foam, "A manager lifts a hold"},
		"honey that was looked at in vain": {dry, ""},
	} {
		if got := refusedSlip(t, b, row.id, "Ada", 15.1); row.want == "" && got != "" || !strings.Contains(got, row.want) {
			t.Errorf("%s: %q, want %q", what, got, row.want)
		}
	}
}

func TestASlipStaysOnceALotWasReleasedOrSentOnIt(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull, run, out := harvested(o)
	seen := o.Write(12.5, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.4))
	lot := o.Lot(13, "26-01")
	drum := o.Fill(13.1, lot, o.Settling, "D-1", 290_000)
	elsewhere := o.Pull(13.2, o.Ridge, 20, 0)
	counted := o.Write(13.3, &ledger.HiveCount{YardID: o.Mill, Hives: 40})
	rests := map[string]ledger.ID{"the pull": pull, "the run": run, "honey out of the run": out, "a reading on the tank": seen, "the lot": lot, "the drum": drum}
	apart := map[string]ledger.ID{"another yard's pull": elsewhere, "the hives of a yard": counted}
	want := func(when, why string) {
		t.Helper()
		b := mustOpen(t, o.Entries)
		for what, id := range rests {
			if got := refusedSlip(t, b, id, "Ada", 15); why == "" && got != "" || !strings.Contains(got, why) {
				t.Errorf("%s, %s: %q, want %q", when, what, got, why)
			}
		}
		for what, id := range apart {
			if got := refusedSlip(t, b, id, "Ada", 15); got != "" {
				t.Errorf("%s, %s: %q", when, what, got)
			}
		}
	}
	want("before anything was decided", "")
	released := o.Release(14, lot)
	want("released", "Lot 26-01 was released since")
	later := o.Fill(14.2, lot, o.Settling, "D-2", 100_000)
	if got := refusedSlip(t, mustOpen(t, o.Entries), later, "Ada", 15); got != "" {
		t.Errorf("a drum that was filled after the release: %q", got)
	}
	o.Withdraw(released)
	want("the release withdrawn", "")
	o.Dispatch(14.5, drum)
	want("sent", "Container D-1 of lot 26-01 was sent off since")
}

// Whatever honey of a pull is in a container that left is found, by another way: by what the
// replay says of where the container's honey comes from.
func TestNoPullIsPutRightOfWhichHoneyHasLeft(t *testing.T) {
	t.Parallel()
	tried := 0
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 30)
		hour := func(label string, from int) float64 { return float64(rapid.IntRange(from, from+20).Draw(t, label)) }
		pull := o.Pull(hour("pulled", 30), o.Ridge, 20, 0)
		run := o.Run(hour("begun", 40), "the last")
		o.Supers(hour("supers in", 50), run, pull, 20) // also after some honey came out
		o.Out(hour("out", 50), run, o.Sump, 200_000)
		o.Pump(hour("pumped", 60), o.Sump, o.Settling, 150_000)
		tank := rapid.SampledFrom([]ledger.ID{o.Sump, o.Settling}).Draw(t, "from")
		lot := o.Lot(81, "of the last")
		o.Dispatch(83, o.Fill(82, lot, tank, "last", 40_000))
		b, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range o.Entries {
			d, is := e.Body.(*ledger.Dispatch)
			if !is || b.InForce(e.ID) != e {
				continue
			}
			for _, id := range d.Containers {
				h, ok := b.State().Holder(id)
				if !ok || h.Mix == nil {
					continue
				}
				for _, part := range h.Mix.Parts {
					pull, _ := b.Entry(part.Origin)
					if pull == nil || pull.Kind != ledger.KindPull || pull.Number > e.Number || b.InForce(pull.ID) == nil {
						continue
					}
					tried++
					latest := o.Latest(pull.ID)
					body := &ledger.Withdrawal{}
					slip := &ledger.Entry{ID: ledgertest.ID(9999), Kind: body.Kind(), Replaces: latest, Reason: "typed wrong", RecordedBy: "Ada", Body: body}
					if err := b.OwnSlip(slip, pull.RecordedAt); err == nil {
						t.Fatalf("pull %d is put right, of which %.3f of what entry %d sent is", pull.Number, part.Share, e.Number)
					}
				}
			}
		}
	})
	if tried == 0 {
		t.Error("no honey of a pull ever left")
	}
}

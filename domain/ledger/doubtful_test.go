package ledger_test

import (
	"math"
	"slices"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// doubts are the findings of readings by instruments that could not be relied on.
func doubts(t *testing.T, o *ledgertest.Outfit) (out []*ledger.Flag) {
	t.Helper()
	for _, f := range mustOpen(t, o.Entries).State().Findings() {
		if f.Code == ledger.InstrumentDoubtful {
			out = append(out, f)
		}
	}
	return out
}

// All readings since the last good check are one finding, of the check that found the
// instrument wrong; what was accepted of one of them stands by itself.
func TestReadingsInDoubtAreOneFindingOfEachBadCheck(t *testing.T) {
	t.Parallel()
	for what, c := range map[string]struct {
		scale string
		unit  string
	}{"in percent": {"moisture", "%"}, "on its scale": {"brix", "on its scale"}} {
		o := ledgertest.NewOutfit()
		harvested(o)
		with := o.SetUp(&ledger.Instrument{Name: "field", Scale: c.scale, Compensates: true})
		read := func(hours float64) ledger.ID {
			r := ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.2)
			r.InstrumentID = with
			return o.Write(hours, r)
		}
		check := func(hours, found, left float64) ledger.ID {
			return o.Write(hours, &ledger.Calibration{InstrumentID: with, Expected: 17, AsFound: found, AsLeft: left, Tolerance: 0.2})
		}
		read(20)
		check(21, 17, 17)
		first, accepted, second := read(22), read(23), read(24)
		wrong := check(30, 17.6, 17)
		inTheMinute := read(30)
		later := read(31)
		worse := check(40, 17.5, 17.9) // found wrong, and left so
		after := read(41)
		check(50, 17.1, 17.1)
		o.Accept(60, accepted, ledger.InstrumentDoubtful)
		got := doubts(t, o)
		if len(got) != 3 {
			t.Fatalf("%s: %d findings: %+v", what, len(got), got)
		}
		at := func(entry ledger.ID) *ledger.Flag {
			i := slices.IndexFunc(got, func(f *ledger.Flag) bool { return f.Entry == entry })
			if i < 0 {
				t.Fatalf("%s: no finding of entry %s among %+v", what, entry, got)
			}
			return got[i]
		}
		if f := at(wrong); f.Expected != 17 || f.Found != 17.6 || f.Unit != c.unit || !slices.Equal(f.Entries, []ledger.ID{first, second}) {
			t.Errorf("%s: the first bad check is %+v", what, f)
		}
		if f := at(worse); f.Found != 17.5 || !slices.Equal(f.Entries, []ledger.ID{inTheMinute, later, after}) {
			t.Errorf("%s: the second bad check is %+v", what, f)
		}
		if f := at(accepted); f.Accepted == nil || len(f.Entries) != 0 {
			t.Errorf("%s: the reading that was accepted is %+v", what, f)
		}
	}
}

// What is read in the very minute of a check was read after it, whichever of the two was
// recorded first: a check that found the instrument wrong and left it right does not doubt it,
// one that left it wrong does. The list of a check and the trust in each reading say the same.
func TestACheckCountsForWhatIsReadInItsMinute(t *testing.T) {
	t.Parallel()
	for _, readFirst := range []bool{false, true} {
		for what, c := range map[string]struct{ found, left, off float64 }{
			"found wrong, left right": {17.6, 17, 0}, "found wrong, left wrong": {17.6, 17.9, 0.9}, "found right, left wrong": {17, 17.9, 0.9}, "found right, left right": {17, 17, 0},
		} {
			o := ledgertest.NewOutfit()
			harvested(o)
			read := func(hours float64) ledger.ID {
				r := ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.2)
				r.InstrumentID = o.Refractometer
				return o.Write(hours, r)
			}
			check := func(hours, found, left float64) ledger.ID {
				return o.Write(hours, &ledger.Calibration{InstrumentID: o.Refractometer, Expected: 17, AsFound: found, AsLeft: left, Tolerance: 0.2})
			}
			check(20, 17, 17)
			first, before := read(20), read(25)
			var asked, same ledger.ID
			if readFirst {
				same = read(30)
				asked = check(30, c.found, c.left)
			} else {
				asked = check(30, c.found, c.left)
				same = read(30)
			}
			check(40, 17, 17)
			next := read(40)
			b := mustOpen(t, o.Entries)
			want := map[ledger.ID]bool{first: c.found != 17, before: c.found != 17, same: c.left != 17, next: false}
			listed := map[ledger.ID]bool{}
			for _, e := range b.InDoubt(asked) {
				listed[e.ID] = true
			}
			for id, doubted := range want {
				trust, off := b.Trust(o.Refractometer, b.InForce(id).OccurredAt)
				if listed[id] != doubted || (trust == ledger.FoundWrong) != doubted {
					t.Errorf("%s, read first %t: hour %s is in the check's list: %t, and its instrument %s", what, readFirst, b.InForce(id).OccurredAt, listed[id], trust)
				}
				if id == same && math.Abs(off-c.off) > 1e-9 {
					t.Errorf("%s: read at its minute it is %g off", what, off)
				}
			}
		}
	}
}

// An instrument that was left wrong puts what is read until the next check in doubt, by the
// figure that it was left at.
func TestAnInstrumentLeftWrongIsInDoubtUntilTheNextCheck(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	harvested(o)
	read := func(hours float64) ledger.ID {
		r := ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.2)
		r.InstrumentID = o.Refractometer
		return o.Write(hours, r)
	}
	left := o.Write(20, &ledger.Calibration{InstrumentID: o.Refractometer, Expected: 17, AsFound: 17, AsLeft: 17.9, Tolerance: 0.2})
	inDoubt := read(21)
	o.Write(30, &ledger.Calibration{InstrumentID: o.Refractometer, Expected: 17, AsFound: 17.1, AsLeft: 17, Tolerance: 0.2})
	read(31)
	got := doubts(t, o)
	if len(got) != 1 || got[0].Entry != left || got[0].Found != 17.9 || !slices.Equal(got[0].Entries, []ledger.ID{inDoubt}) {
		t.Errorf("%+v", got)
	}
}

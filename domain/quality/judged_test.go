package quality_test

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// lotsFound is all that a day says of the lots of a book.
type lotsFound struct {
	Keeps   []quality.Keeps
	Answers map[ledger.ID][]quality.Answer
	Stand   map[ledger.ID]quality.Standing
	Wrong   []string
}

func findLots(day *quality.Day, b *ledger.Book, sets []ledger.Resolved) lotsFound {
	out := lotsFound{Answers: map[ledger.ID][]quality.Answer{}, Stand: map[ledger.ID]quality.Standing{}}
	var lots []ledger.ID
	wrong := func(err error) { out.Wrong = append(out.Wrong, fmt.Sprint(err)) }
	b.InForceOf(ledger.KindLot, func(root ledger.ID, _ *ledger.Entry) bool { lots = append(lots, root); return true })
	for _, lot := range lots {
		var err error
		out.Answers[lot], err = day.Answers(lot, sets)
		wrong(err)
		out.Stand[lot], err = day.Standing(lot)
		wrong(err)
	}
	var err error
	out.Keeps, err = day.Keeping(lots, sets)
	wrong(err)
	return out
}

// rulesOn are the published rule sets in force on a day, and those of the book.
func rulesOn(t interface{ Fatal(...any) }, b *ledger.Book, on standard.Date) (sets []ledger.Resolved) {
	library, err := standard.Published()
	if err != nil {
		t.Fatal(err)
	}
	for _, set := range library.AllInForce(on) {
		sets = append(sets, ledger.Resolved{RuleSet: set})
	}
	b.InForceOf(ledger.KindRuleSet, func(root ledger.ID, _ *ledger.Entry) bool {
		if set, err := b.RuleSet(ledger.RuleSetRef{RuleSetID: root}, on); err == nil {
			sets = append(sets, set)
		}
		return true
	})
	return sets
}

// foundAsIfNothingWereKept fails where what was kept of a book as it was says anything else of
// its lots than looking at all anew.
func foundAsIfNothingWereKept(t interface {
	Fatal(...any)
	Fatalf(string, ...any)
}, b *ledger.Book, kept *quality.Judged, on standard.Date) {
	sets := rulesOn(t, b, on)
	anew := findLots(quality.DayOf(b, on), b, sets)
	if got := findLots(kept.DayOf(b, on), b, sets); !reflect.DeepEqual(got, anew) {
		t.Fatalf("after entry %d, with what was kept, on %s:\n%+v\nanew:\n%+v", b.Len(), on, got, anew)
	}
}

func TestWhatLotsCameToBeforeChangesNothingSaidOfThem(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		entries, kept := ledgertest.Random(rt, 50).Entries, quality.NewJudged()
		from := rapid.IntRange(len(entries)/2, len(entries)-1).Draw(rt, "from")
		b, err := ledger.Open(time.UTC, entries[:from])
		if err != nil {
			rt.Fatal(err)
		}
		days := []standard.Date{"2026-07-02", "2026-08-20"}
		for _, e := range entries[from:] {
			foundAsIfNothingWereKept(rt, b, kept, rapid.SampledFrom(days).Draw(rt, "day"))
			if _, err := b.Append(e); err != nil {
				rt.Fatal(err)
			}
		}
		for _, day := range days {
			foundAsIfNothingWereKept(rt, b, kept, day)
		}
		kept.Forget()
		foundAsIfNothingWereKept(rt, b, kept, days[0])
	})
}

// At a door lots are checked, released by checks, poured into, seen to ferment and sent.
func TestWhatLotsCameToBeforeChangesNothingSaidAtTheDoor(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		d, kept := &door{house: newHouse(t, nil), rt: rt}, quality.NewJudged()
		d.at(10, contractOfWater(d.Buyer))
		d.set = d.at(11, contractOfWater(ledger.ID{}))
		if rapid.Bool().Draw(rt, "released to begin with") {
			d.ready()
		}
		for range rapid.IntRange(4, 16).Draw(rt, "entries") {
			d.step()
			foundAsIfNothingWereKept(rt, d.book, kept, rapid.SampledFrom([]standard.Date{day2, day10, "2026-11-20"}).Draw(rt, "day"))
		}
	})
}

// A lot is judged anew by each single thing that it hangs on: of each of them alone, what was
// kept would tell otherwise than the book does.
func TestEachThingThatALotHangsOnHasItJudgedAnew(t *testing.T) {
	t.Parallel()
	const on = standard.Date("2026-09-20")
	tank := func(h *house) ledger.Place { return ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling} }
	// A drum of it that was read is dry, by rules that do not want each drum read.
	wetTank := func(h *house, u float64) {
		h.readExactly(24.5, tank(h), 21.6, u)
		h.readExactly(40, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, 17.2, 0.1)
		own := contractOfWater(ledger.ID{})
		own.Limits[0].Every, own.Limits[0].Limit = false, "20"
		h.at(41, own)
	}
	usual := func(celsius float64) *ledger.Room {
		return &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &celsius}
	}
	lot := func(h *house) *ledger.Lot { return &ledger.Lot{Code: "26-014", StoreID: h.store} }
	for what, change := range map[string]func(h *house) func(){
		"a reading is corrected": func(h *house) func() {
			id := h.read(40, 0, 17.2, 0.1)
			return func() { h.instead(id, 40, moisture(ledger.PlaceContainer, h.drums[0], 18.9, 0.1)) }
		},
		"a laboratory's figure is corrected": func(h *house) func() {
			id := h.certify(40, hmf(12), diastase(14))
			return func() {
				h.instead(id, 40, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, Laboratory: "Fern Valley", Measured: []ledger.Measured{hmf(38), diastase(14)}, ContainersSampled: 4})
			}
		},
		"a reading is withdrawn and another made": func(h *house) func() {
			h.read(40, 0, 17.2, 0.1)
			id := h.read(41, 1, 17.3, 0.1)
			return func() {
				if _, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(41), Body: &ledger.Withdrawal{}, Replaces: id, Reason: "not ours"}); err != nil {
					h.t.Fatal(err)
				}
				h.read(41, 2, 22, 0.1)
			}
		},
		"a drum gets another number": func(h *house) func() {
			h.read(40, 0, 21, 0.1)
			return func() { h.instead(h.drums[0], 25, h.FillBody(h.lot, h.Settling, "D-9", 290_000)) }
		},
		"a drum is filled again after it was read": func(h *house) func() {
			h.read(40, 0, 17.2, 0.1)
			return func() { h.at(50, ledgertest.Move(ledger.PlaceTank, h.Settling, ledger.PlaceContainer, h.drums[0], 1)) }
		},
		"the lot gets another store": func(h *house) func() {
			h.certify(40, hmf(12), diastase(14))
			warm := h.at(41, &ledger.Room{Name: "loft", Use: ledger.Store, UsualTemperatureC: new(31.0)})
			return func() { x := lot(h); x.StoreID = warm; h.instead(h.lot, 24, x) }
		},
		"the lot declares a kind": func(h *house) func() {
			h.certify(40, hmf(12), diastase(4))
			return func() { x := lot(h); x.Declares = standard.Declaration{"kind": {"citrus"}}; h.instead(h.lot, 24, x) }
		},
		"the store is said to be warmer": func(h *house) func() {
			h.certify(40, hmf(12), diastase(14))
			return func() { h.instead(h.store, 0, usual(31)) }
		},
		"the store was withdrawn at another temperature": func(h *house) func() {
			h.certify(40, hmf(12), diastase(14))
			withdrawn := func(id ledger.ID) ledger.ID {
				id, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(0), Body: &ledger.Withdrawal{}, Replaces: id, Reason: "pulled down"})
				if err != nil {
					h.t.Fatal(err)
				}
				return id
			}
			gone := withdrawn(h.store)
			return func() { withdrawn(h.instead(gone, 0, usual(31))) }
		},
		"the store was warm": func(h *house) func() {
			h.certify(40, hmf(12), diastase(14))
			log := func(celsius float64) *ledger.TemperatureLog {
				return &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceRoom, ID: h.store}, Held: true, Points: []ledger.TemperaturePoint{
					{At: ledgertest.At(60), TemperatureC: celsius}, {At: ledgertest.At(900), TemperatureC: celsius}}}
			}
			id := h.at(60, log(15))
			return func() { h.instead(id, 60, log(38)) }
		},
		"the tank was read before it filled a drum": func(h *house) func() {
			return func() { h.at(24.5, moisture(ledger.PlaceTank, h.Settling, 19.4, 0.1)) }
		},
		"samples of another tank tell that samples differ less": func(h *house) func() {
			h.Out(12, h.Run(10, "2"), h.Sump, 100_000)
			h.open()
			wetTank(h, 0.71)
			return func() {
				for i := range 30 {
					h.readExactly(24+float64(i)/60, ledger.Place{Kind: ledger.PlaceTank, ID: h.Sump}, 17.3, 0.1)
				}
			}
		},
		"a drum is sent": func(h *house) func() {
			h.Release(60, h.lot)
			h.open()
			return func() { h.Dispatch(70, h.drums[0]); h.open() }
		},
		"the outfit's rules are corrected": func(h *house) func() {
			h.read(40, 0, 17.2, 0.1)
			own := h.at(41, contractOfWater(ledger.ID{}))
			return func() {
				x := contractOfWater(ledger.ID{})
				x.Limits[0].Limit = "16.0"
				h.instead(own, 41, x)
			}
		},
	} {
		t.Run(what, func(t *testing.T) {
			h, kept := newHouse(t, nil), quality.NewJudged()
			do := change(h)
			foundAsIfNothingWereKept(t, h.book, kept, on)
			before := findLots(quality.DayOf(h.book, on), h.book, rulesOn(t, h.book, on))
			do()
			foundAsIfNothingWereKept(t, h.book, kept, on)
			if after := findLots(quality.DayOf(h.book, on), h.book, rulesOn(t, h.book, on)); reflect.DeepEqual(before, after) {
				t.Errorf("nothing is said otherwise, so that nothing was tried: %+v", after)
			}
		})
	}
}

func TestWhatNobodyAskedForLongestIsForgottenFirst(t *testing.T) {
	t.Parallel()
	kept := quality.NewJudged()
	third := quality.MostJudged / 3
	for n := range byte(3) {
		kept.KeepSome(n, third)
	}
	if got := kept.KeepSome(2, third); got != 3*third {
		t.Errorf("what is found by two readers counts for %d rule sets of %d", got, 3*third)
	}
	kept.Has(0)
	if got := kept.KeepSome(3, third); got > quality.MostJudged || kept.Has(1) || !kept.Has(0) || !kept.Has(2) || !kept.Has(3) {
		t.Errorf("of %d rule sets %d are kept: %t %t %t %t", quality.MostJudged, got, kept.Has(0), kept.Has(1), kept.Has(2), kept.Has(3))
	}
	kept.Forget()
	if got := kept.KeepSome(4, 1); got != 1 || kept.Has(0) {
		t.Errorf("with all forgotten, %d rule sets are kept", got)
	}
}

// Whoever records chooses the ID of an entry, so that somebody of another outfit may choose the
// same ones for all of a lot.
func TestALotOfAnotherOutfitIsNotTakenForOneOfTheSameIDs(t *testing.T) {
	t.Parallel()
	const on = standard.Date("2026-09-20")
	kept := quality.NewJudged()
	var said []lotsFound
	for _, value := range []float64{12, 38} {
		h := newHouse(t, nil)
		e, _ := h.book.Entry(h.certify(40, hmf(value), diastase(14)))
		_, content, err := ledger.ReadBack(e)
		if err != nil {
			t.Fatal(err)
		}
		e.Digest = ledger.Chain([32]byte{}, e.Number, e.Canonical(content)) // as the database does
		foundAsIfNothingWereKept(t, h.book, kept, on)
		said = append(said, findLots(quality.DayOf(h.book, on), h.book, rulesOn(t, h.book, on)))
	}
	if reflect.DeepEqual(said[0], said[1]) {
		t.Errorf("the same is said of both, so that nothing was tried: %+v", said[0])
	}
}

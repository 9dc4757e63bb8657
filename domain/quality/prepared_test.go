package quality_test

import (
	"errors"
	"strings"
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/quality"
)

// released is the house with its lot released on a manager's word.
func released(t *testing.T) *house {
	t.Helper()
	h := newHouse(t, nil)
	h.at(100, &ledger.LotStatus{LotID: h.lot, Status: ledger.StatusReleased, Override: true, Note: "sold by sample"})
	return h
}

// prepared is drums 1 and 2 by name, for a day after all that happens before.
func (h *house) prepared(hours float64) ledger.ID {
	h.t.Helper()
	return h.at(hours, &ledger.PreparedDispatch{BuyerID: h.Buyer, LeavesOn: "2026-07-06", Containers: h.drums[:2]})
}

// TestWhatIsPreparedMovesNoHoney: only the dispatch that names it does, once, and what was
// prepared is open again when that dispatch is taken back.
func TestWhatIsPreparedMovesNoHoney(t *testing.T) {
	t.Parallel()
	h := released(t)
	before := h.book.State().Totals()
	plan := h.prepared(110)
	if after := h.book.State().Totals(); after != before {
		t.Errorf("preparing turned %+v into %+v", before, after)
	}
	if open := h.book.Prepared(); len(open) != 1 || open[0].ID != plan {
		t.Fatalf("prepared are %v", open)
	}
	truck := h.at(120, &ledger.Dispatch{BuyerID: h.Buyer, PreparedID: plan, Containers: h.drums[:1]})
	if got := h.book.State().Totals().Dispatched; got != 290_000 {
		t.Errorf("one drum of two was loaded, and %d g left", got)
	}
	if open := h.book.Prepared(); len(open) != 0 || h.book.LoadedBy(plan).ID != truck {
		t.Errorf("after loading %v are prepared", open)
	}
	h.refused("loading it twice", fault.Conflict, 121, &ledger.Dispatch{BuyerID: h.Buyer, PreparedID: plan, Containers: h.drums[1:2]}, "/prepared_id", "loaded already")
	if _, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(122), Body: &ledger.PreparedDispatch{BuyerID: h.Buyer, LeavesOn: "2026-07-06", Containers: h.drums[1:2]}, Replaces: plan, Reason: "typed wrong"}); err == nil || !strings.Contains(err.Error(), "was loaded") {
		t.Errorf("correcting what was loaded: %v", err)
	}
	if _, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(123), Body: &ledger.Withdrawal{}, Replaces: truck, Reason: "did not start"}); err != nil {
		t.Fatal(err)
	}
	if open := h.book.Prepared(); len(open) != 1 {
		t.Errorf("the truck did not leave, and %v are prepared", open)
	}
	h.at(124, &ledger.Dispatch{BuyerID: h.Buyer, PreparedID: plan, Containers: h.drums[:2]})
}

// TestAWithdrawnOneIsNotLoaded: whoever comes with it after that is told to ask.
func TestAWithdrawnOneIsNotLoaded(t *testing.T) {
	t.Parallel()
	h := released(t)
	plan := h.prepared(110)
	if _, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(111), Body: &ledger.Withdrawal{}, Replaces: plan, Reason: "the buyer called off"}); err != nil {
		t.Fatal(err)
	}
	h.refused("loading what was withdrawn", fault.Conflict, 120, &ledger.Dispatch{BuyerID: h.Buyer, PreparedID: plan, Containers: h.drums[:2]}, "/prepared_id", "Ask a manager")
}

// TestADispatchGoesWhereItWasPreparedFor, and what is prepared names what there is.
func TestADispatchGoesWhereItWasPreparedFor(t *testing.T) {
	t.Parallel()
	h := released(t)
	plan, other := h.prepared(110), h.at(111, &ledger.Buyer{Name: "Harrow Foods"})
	h.refused("another buyer", fault.Conflict, 120, &ledger.Dispatch{BuyerID: other, PreparedID: plan, Containers: h.drums[:1]}, "/buyer_id", "is for")
	h.refused("another market", fault.Conflict, 120, &ledger.Dispatch{BuyerID: h.Buyer, Market: "eu-honey", PreparedID: plan, Containers: h.drums[:1]}, "/market", "other rules")
	h.refused("a lot in place of it", fault.Invalid, 120, &ledger.Dispatch{BuyerID: h.Buyer, PreparedID: h.lot, Containers: h.drums[:1]}, "/prepared_id", "prepared dispatch")

	of := func(n int) []ledger.LotContainers { return []ledger.LotContainers{{LotID: h.lot, Count: n}} }
	for _, c := range []struct {
		what          string
		code          fault.Code
		body          *ledger.PreparedDispatch
		pointer, says string
	}{
		{"nothing", fault.Invalid, &ledger.PreparedDispatch{}, "/containers", "Nothing is to be loaded"},
		{"a drum twice", fault.Invalid, &ledger.PreparedDispatch{Containers: []ledger.ID{h.drums[0], h.drums[0]}}, "/containers/1", "twice"},
		{"five of four", fault.Conflict, &ledger.PreparedDispatch{Lots: of(5)}, "/lots/0/count", "4 containers here"},
		{"a lot twice", fault.Invalid, &ledger.PreparedDispatch{Lots: append(of(1), of(1)...)}, "/lots/1/lot_id", "twice"},
		{"a drum and its lot", fault.Invalid, &ledger.PreparedDispatch{Lots: of(1), Containers: h.drums[:1]}, "/containers/0", "a number is asked for"},
		{"no lot", fault.Invalid, &ledger.PreparedDispatch{Lots: []ledger.LotContainers{{LotID: h.Buyer, Count: 1}}}, "/lots/0/lot_id", "lot"},
		{"in two years", fault.Invalid, &ledger.PreparedDispatch{Lots: of(1), LeavesOn: "2028-07-01"}, "/leaves_on", "a year ahead"},
	} {
		c.body.BuyerID = h.Buyer
		if c.body.LeavesOn == "" {
			c.body.LeavesOn = "2026-07-06"
		}
		h.refused(c.what, c.code, 121, c.body, c.pointer, c.says)
	}
	h.at(122, &ledger.Dispatch{BuyerID: h.Buyer, Containers: h.drums[3:]})
	h.refused("a drum that is gone", fault.Conflict, 123, &ledger.PreparedDispatch{BuyerID: h.Buyer, LeavesOn: "2026-07-06", Containers: h.drums[3:]}, "/containers/0", "gone already")
	h.refused("four of three", fault.Conflict, 123, &ledger.PreparedDispatch{BuyerID: h.Buyer, LeavesOn: "2026-07-06", Lots: of(4)}, "/lots/0/count", "3 containers here")
}

// TestCrewLoadNoMoreThanAManagerPrepared, by name or by number.
func TestCrewLoadNoMoreThanAManagerPrepared(t *testing.T) {
	t.Parallel()
	h := released(t)
	named := h.prepared(110)
	counted := h.at(111, &ledger.PreparedDispatch{BuyerID: h.Buyer, LeavesOn: "2026-07-06", Lots: []ledger.LotContainers{{LotID: h.lot, Count: 2}}})
	for _, c := range []struct {
		what          string
		d             ledger.Dispatch
		pointer, says string
	}{
		{"both that were named", ledger.Dispatch{PreparedID: named, Containers: h.drums[:2]}, "", ""},
		{"one of them", ledger.Dispatch{PreparedID: named, Containers: h.drums[1:2]}, "", ""},
		{"another one", ledger.Dispatch{PreparedID: named, Containers: h.drums[1:3]}, "/containers/1", "D-3 was not prepared"},
		{"any two of the lot", ledger.Dispatch{PreparedID: counted, Containers: h.drums[2:]}, "", ""},
		{"three of the lot", ledger.Dispatch{PreparedID: counted, Containers: h.drums[1:]}, "/containers/2", "D-4 is one more of lot 26-014"},
		{"without one prepared", ledger.Dispatch{Containers: h.drums[:1]}, "", "A manager sends"},
		{"with an own word", ledger.Dispatch{PreparedID: named, Containers: h.drums[:1], Override: true, Note: "as agreed"}, "", "A manager alone"},
	} {
		c.d.BuyerID = h.Buyer
		err := h.book.AsPrepared(&ledger.Entry{ID: ledgertest.ID(9999), Kind: ledger.KindDispatch, Body: &c.d})
		var f *fault.Error
		switch {
		case c.says == "" && err != nil, c.says != "" && (!errors.As(err, &f) || f.Code != fault.NotYours || !strings.Contains(f.Message.String(), c.says)):
			t.Errorf("crew bring %s: %v", c.what, err)
		case c.pointer != "" && pointers(f.Fields) != c.pointer:
			t.Errorf("crew bring %s: complaints at %s", c.what, pointers(f.Fields))
		}
	}
}

// TestTheDoorAdvisesOnWhatIsPrepared, and changes its mind with the book.
func TestTheDoorAdvisesOnWhatIsPrepared(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(90, contract(h.Buyer, "18.0"))
	p := &ledger.PreparedDispatch{BuyerID: h.Buyer, LeavesOn: "2026-07-06", Containers: h.drums[:2]}
	advice := func() quality.Advice { return quality.AdviseOn(h.book, p, ledgertest.At(110)) }
	if a := advice(); len(a.Staying) != 2 || !strings.Contains(a.Staying[0].Why.String(), "has not been released") || len(a.Judged) != 0 {
		t.Errorf("of drums of an open lot is said %+v", a)
	}
	h.at(100, &ledger.LotStatus{LotID: h.lot, Status: ledger.StatusReleased, Override: true, Note: "sold by sample"})
	if a := advice(); len(a.Staying) != 0 || len(a.Judged) != 1 || a.Judged[0].Passes() || !strings.Contains(a.Judged[0].WhyNot().String(), "HMF") {
		t.Errorf("of drums whose HMF nobody measured is said %+v", a)
	}
	h.read(101, 0, 17.0, 0.1)
	h.read(101, 1, 17.2, 0.1)
	h.read(101, 2, 17.2, 0.1)
	h.read(101, 3, 17.2, 0.1)
	h.certify(102, hmf(8), diastase(15))
	h.at(103, &ledger.LotStatus{LotID: h.lot, Status: ledger.StatusReleased, Override: true, Note: "sold by sample"})
	if a := advice(); a.NotJudged != nil || len(a.Staying) != 0 || len(a.Judged) != 1 || !a.Judged[0].Passes() {
		t.Errorf("of drums that pass is said %+v", a)
	}
	h.at(104, &ledger.Dispatch{BuyerID: h.Buyer, Containers: h.drums[:1], Override: true, Note: "as agreed"})
	if a := advice(); len(a.Staying) != 1 || a.Staying[0].FillID != h.drums[0] || !strings.Contains(a.Staying[0].Why.String(), "gone already") {
		t.Errorf("of a drum that left is said %+v", a)
	}
	h.at(105, &ledger.LotStatus{LotID: h.lot, Status: ledger.StatusHeld, Why: ledger.HeldForRecall, Note: "a spill"})
	if a := advice(); len(a.Staying) != 2 || !strings.Contains(a.Staying[1].Why.String(), "it is held") {
		t.Errorf("of a held lot is said %+v", a)
	}
}

package quality_test

import (
	"strings"
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// ready gives the house a contract that the lot meets, and a check of it.
func (h *house) ready() (set, check ledger.ID) {
	h.t.Helper()
	set = h.at(10, contract(h.Buyer, "18.0"))
	for i := range h.drums {
		h.read(30+float64(i), i, 17.2, 0)
	}
	h.certify(40, hmf(8))
	return set, h.check(200, own(set))
}

func (h *house) check(hours float64, refs ...ledger.RuleSetRef) ledger.ID {
	h.t.Helper()
	return h.at(hours, &ledger.Check{LotID: h.lot, RuleSets: refs, On: "2026-07-09"})
}

func (h *house) status() ledger.Status { return h.book.State().LotStatus(h.lot).Status }

func (h *house) is(t *testing.T, what string, want ledger.Status) {
	t.Helper()
	if got := h.status(); got != want {
		t.Errorf("%s: the lot is %s, not %s", what, got, want)
	}
}

func (h *house) released(check ledger.ID) *ledger.LotStatus {
	return &ledger.LotStatus{LotID: h.lot, Status: ledger.StatusReleased, CheckID: check}
}

func (h *house) overridden() *ledger.LotStatus {
	return &ledger.LotStatus{LotID: h.lot, Status: ledger.StatusReleased, Override: true, Note: "goes to the bakery as agreed"}
}

func (h *house) held(why ledger.HoldReason) *ledger.LotStatus {
	return &ledger.LotStatus{LotID: h.lot, Status: ledger.StatusHeld, Why: why}
}

func (h *house) truck(drums ...int) *ledger.Dispatch {
	d := &ledger.Dispatch{BuyerID: h.Buyer}
	for _, i := range drums {
		d.Containers = append(d.Containers, h.drums[i])
	}
	return d
}

func TestALotIsOpenHeldReleasedOrGone(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	_, check := h.ready()
	h.is(t, "filled", ledger.StatusOpen)
	h.at(201, h.held(ledger.HeldForFinding))
	h.is(t, "held", ledger.StatusHeld)
	h.refused("a truck for what is held", fault.Conflict, 202, h.truck(0), "/containers/0", "held (finding unresolved")
	back := h.released(check)
	h.refused("a release of what is held, without a word on it", fault.Invalid, 203, back, "/note", "how that was settled")
	back.Note = "the screen came back clean"
	h.at(203, back)
	h.is(t, "released", ledger.StatusReleased)
	h.at(204, h.truck(0, 1))
	h.is(t, "half of it gone", ledger.StatusReleased)
	h.at(205, &ledger.LotStatus{LotID: h.lot, Status: ledger.StatusOpen})
	h.refused("a truck for what was opened again", fault.Conflict, 206, h.truck(2), "/containers/0", "not been released")
	h.at(207, h.overridden())
	h.at(208, h.truck(2, 3))
	h.is(t, "all of it gone", ledger.StatusGone)
}

func TestARecallCanHoldWhatIsGone(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(100, h.overridden())
	h.at(101, h.truck(0, 1, 2, 3))
	h.at(102, h.held(ledger.HeldForRecall))
	h.refused("a release of what is gone", fault.Conflict, 103, h.overridden(), "/lot_id", "Nothing of lot 26-014 is left")
	if d := h.book.Decided(h.lot, now); d.Status != ledger.StatusHeld || d.By == nil {
		t.Errorf("of the recalled lot the last decision is %+v", d)
	}
}

// Everything that a release must not rest on, and what is said about it.
func TestAReleaseRestsOnACheckThatMeetsAndHolds(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what    string
		before  func(h *house, set, check ledger.ID) *ledger.LotStatus
		code    fault.Code
		pointer string
		says    string
	}{
		{"neither check nor override", func(h *house, _, _ ledger.ID) *ledger.LotStatus {
			return &ledger.LotStatus{LotID: h.lot, Status: ledger.StatusReleased}
		}, fault.Invalid, "/check_id", "either by a check"},
		{"both", func(h *house, _, check ledger.ID) *ledger.LotStatus {
			x := h.overridden()
			x.CheckID = check
			return x
		}, fault.Invalid, "/check_id", "either by a check"},
		{"an override without a reason", func(h *house, _, _ ledger.ID) *ledger.LotStatus {
			x := h.overridden()
			x.Note = " "
			return x
		}, fault.Invalid, "/note", "needs its reason"},
		{"a check that does not exist", func(h *house, set, _ ledger.ID) *ledger.LotStatus { return h.released(set) }, fault.Invalid, "/check_id", "the id of a check is needed"},
		{"a check that the lot does not meet", func(h *house, _, _ ledger.ID) *ledger.LotStatus {
			return h.released(h.check(201, ledger.RuleSetRef{Standard: "eu-honey"}))
		}, fault.Conflict, "/check_id", "does not meet"},
		{"a reading since", func(h *house, _, check ledger.ID) *ledger.LotStatus {
			h.read(202, 3, 19.9, 0)
			return h.released(check)
		}, fault.Conflict, "/check_id", "readings were added"},
		{"a reading since, of something that no rule set limits", func(h *house, _, check ledger.ID) *ledger.LotStatus {
			h.certify(202, ledger.Measured{Quantity: "ph", Value: 3.9})
			return h.released(check)
		}, fault.Conflict, "/check_id", "readings were added"},
		{"a drum since", func(h *house, _, check ledger.ID) *ledger.LotStatus {
			h.at(202, h.FillBody(h.lot, h.Settling, "D-5", 100_000))
			return h.released(check)
		}, fault.Conflict, "/check_id", "containers changed"},
		{"a declaration since", func(h *house, _, check ledger.ID) *ledger.LotStatus {
			h.instead(h.lot, 24, &ledger.Lot{Code: "26-014", StoreID: h.store, Declares: standard.Declaration{"kind": {"tilia"}}})
			return h.released(check)
		}, fault.Conflict, "/check_id", "lot's entry was changed"},
		{"a version of the contract since", func(h *house, set, check ledger.ID) *ledger.LotStatus {
			h.instead(set, 10, contract(h.Buyer, "17.9"))
			return h.released(check)
		}, fault.Conflict, "/check_id", "version 1 of Northgate drums"},
		{"a check that was withdrawn", func(h *house, _, check ledger.ID) *ledger.LotStatus {
			h.instead(check, 203, &ledger.Withdrawal{})
			return h.released(check)
		}, fault.Conflict, "/check_id", "withdrawn"},
		{"a rule set that the check did not go by", func(h *house, _, check ledger.ID) *ledger.LotStatus {
			x := h.released(check)
			x.RuleSets = []string{"eu-2001-110"}
			return x
		}, fault.Invalid, "/rule_sets/0", "did not go by"},
		{"a check of another lot", func(h *house, set, _ ledger.ID) *ledger.LotStatus {
			other := h.at(24, &ledger.Lot{Code: "26-015"})
			h.at(24.5, h.FillBody(other, h.Settling, "D-9", 50_000))
			return h.released(h.at(204, &ledger.Check{LotID: other, RuleSets: []ledger.RuleSetRef{own(set)}, On: "2026-07-09"}))
		}, fault.Invalid, "/check_id", "another lot"},
	} {
		t.Run(c.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse(t, nil)
			set, check := h.ready()
			h.refused(c.what, c.code, 210, c.before(h, set, check), c.pointer, c.says)
			h.is(t, "refused", ledger.StatusOpen)
		})
	}
}

func TestALotIsReleasedByTheRuleSetsChosen(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set, _ := h.ready()
	both := h.check(201, ledger.RuleSetRef{Standard: "eu-honey"}, own(set))
	h.refused("a release by all", fault.Conflict, 202, h.released(both), "/check_id", "does not meet")
	x := h.released(both)
	x.RuleSets = []string{set.String()}
	h.at(202, x)
	h.is(t, "released by the contract alone", ledger.StatusReleased)
}

func TestWhatIsReleasedOrShippedTwiceIsRefused(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	_, check := h.ready()
	h.at(201, h.released(check))
	h.refused("released twice", fault.Conflict, 202, h.released(check), "/status", "released already (entry")
	h.at(203, h.truck(0))
	h.refused("a drum dispatched twice", fault.Conflict, 204, h.truck(1, 0), "/containers/1", "gone already")
	if left := h.book.State().Lot(h.lot).HeldG; left != 3*290_000 {
		t.Errorf("%d g are left: something of the refused truck was done", left)
	}
	h.refused("the same drum twice on one truck", fault.Invalid, 204, h.truck(1, 1), "/containers/1", "listed twice")
	h.at(205, h.truck(1))
}

func TestAHoldSaysWhy(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.refused("held without a reason", fault.Invalid, 100, &ledger.LotStatus{LotID: h.lot, Status: ledger.StatusHeld}, "/why", "Why is the lot held?")
	h.refused("held for something else", fault.Invalid, 100, h.held(ledger.HeldForOther), "/note", "say it in a few words")
	release := h.overridden()
	release.Why = ledger.HeldForRecall
	h.refused("released with a reason to hold", fault.Invalid, 100, release, "/why", "Only a hold")
	for _, why := range []ledger.HoldReason{ledger.HeldForFermentation, ledger.HeldForLimit, ledger.HeldForFinding, ledger.HeldForRecall} {
		h.at(101, h.held(why))
	}
}

// A drum filled after the release was not checked: the lot is open again.
func TestALateDrumOpensAReleasedLot(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(100, h.overridden())
	h.at(110, h.FillBody(h.lot, h.Settling, "D-5", 100_000))
	h.is(t, "filled after the release", ledger.StatusOpen)
	h.refused("a truck", fault.Conflict, 120, h.truck(0), "/containers/0", "came after its release")
	h.at(105, h.truck(1)) // left before the drum was filled, and is written down now
}

// What was decided holds from when it happened, whenever it was written down.
func TestADispatchGoesByWhatStoodWhenItLeft(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(100, h.overridden())
	h.at(150, h.held(ledger.HeldForRecall))
	h.refused("left after the hold", fault.Conflict, 151, h.truck(0), "/containers/0", "held (recall")
	h.refused("written down after the hold, as if it had left before", fault.Conflict, 120, h.truck(0), "/containers/0", "held (recall")
	sent := h.at(120, h.anyway(h.truck(0)))
	if flags := h.book.State().FlagsOn(sent); len(flags) != 0 {
		t.Errorf("left while released, and yet %+v", flags)
	}
	release := h.book.Decided(h.lot, h.book.InForce(sent).OccurredAt).By.ID
	h.instead(release, 100, &ledger.Withdrawal{})
	flags := h.book.State().FlagsOn(sent)
	if len(flags) != 1 || flags[0].Code != ledger.NotReleased || flags[0].MassG != 290_000 {
		t.Errorf("the release was withdrawn, and of the truck is said %+v", flags)
	}
}

// anyway sends a truck on a manager's word.
func (h *house) anyway(d *ledger.Dispatch) *ledger.Dispatch {
	d.Override, d.Note = true, "agreed by telephone"
	return d
}

// A released lot whose check is outdated says so; nobody has to find out.
func TestAReleaseSaysWhenItsCheckNoLongerHolds(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	_, check := h.ready()
	h.at(201, h.released(check))
	if why := h.book.Outdated(check); !why.IsEmpty() {
		t.Errorf("just released, and the check is outdated: %s", why)
	}
	h.read(300, 2, 19.4, 0)
	if h.book.Outdated(check).IsEmpty() {
		t.Error("a drum was read at 19.4 since, and the check is said to hold")
	}
}

// That the instrument was left wrong before its readings were taken may be written
// down after they were gone by.
func TestACheckFallsWithAnInstrumentThatWasLeftWrong(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what  string
		hours float64
		left  float64
		falls bool
	}{
		{"left wrong before the readings", 20, 17.9, true},
		{"put right before the readings", 20, 17, false},
		{"found wrong after the readings", 250, 17, true},
	} {
		h := newHouse(t, nil)
		r := moisture(ledger.PlaceContainer, h.drums[0], 17.2, 0)
		r.InstrumentID = h.Refractometer
		h.at(29, r)
		_, check := h.ready()
		h.at(c.hours, &ledger.Calibration{InstrumentID: h.Refractometer, Reference: "glass", Expected: 17, AsFound: 17.9, AsLeft: c.left, Tolerance: 0.2})
		if why := h.book.Outdated(check).String(); (why != "") != c.falls || c.falls && !strings.Contains(why, "a later check found the") {
			t.Errorf("%s: of the check is said %q", c.what, why)
		}
	}
}

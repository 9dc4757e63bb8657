package quality_test

import (
	"strings"
	"testing"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// topUp fills a drum up from the tank.
func (h *house) topUp(drum int) *ledger.Movement {
	return ledgertest.Move(ledger.PlaceTank, h.Settling, ledger.PlaceContainer, h.drums[drum], 5_000)
}

// A day's entries are often of one minute: what is held or poured in it counts for the truck.
func TestWhatHappensInTheMinuteOfTheTruckCountsForIt(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(100, h.overridden())
	if got := h.book.Decided(h.lot, ledgertest.At(100)).Status; got != ledger.StatusReleased {
		t.Errorf("at the moment of its release the lot is %s", got)
	}
	h.at(100, h.topUp(0))
	h.refused("topped up in the minute of the release, told after it", fault.Conflict, 100, h.truck(1), "/containers/0", "came after its release")
	h.at(105, h.overridden())
	h.at(105, h.truck(1)) // in the minute of the release
	h.at(110, h.held(ledger.HeldForLimit))
	h.refused("a truck in the minute of the hold, on a manager's word", fault.Conflict, 110, h.anyway(h.truck(0)), "/containers/0", "it is held (")
}

// A release that is made after the truck left says nothing of what is on it.
func TestATruckIsNotCoveredByAReleaseMadeAfterItLeft(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(230, h.overridden())
	h.at(220, h.topUp(0))
	h.at(300, h.overridden())
	h.is(t, "released again", ledger.StatusReleased)
	h.refused("a truck dated before that", fault.Conflict, 250, h.truck(1), "/containers/0", "came after its release")
	h.at(310, h.truck(1))
}

// A correction that sends the same drums to somebody else is held to that buyer's limits.
func TestACorrectionToAnotherBuyerIsHeldToThatBuyersLimits(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.read(30, 0, 18.6, 0)
	strict := h.at(31, &ledger.Buyer{Name: "Millrace"})
	h.at(32, contractOfWater(strict))
	h.at(49, h.overridden())
	sent := h.at(60, h.truck(0))
	for what, d := range map[string]*ledger.Dispatch{
		"to another buyer":  {BuyerID: strict, Containers: h.drums[:1]},
		"to another market": {BuyerID: h.Buyer, Containers: h.drums[:1], Market: "codex-honey"},
	} {
		d.Note = what
		if got := len(h.book.Leaves(&ledger.Entry{Replaces: sent, Body: d})); got != 1 {
			t.Errorf("%s: %d drums are looked at", what, got)
		}
	}
	_, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(60), Body: &ledger.Dispatch{BuyerID: strict, Containers: h.drums[:1]}, Replaces: sent, Reason: "wrong buyer"})
	if err == nil || !strings.Contains(err.Error(), "moisture fails (D-1)") {
		t.Errorf("a drum of 18.6 %% to whoever takes 18 %%: %v", err)
	}
}

// What was seen of a drum and taken back does not give the release before it back.
func TestAReleaseDoesNotComeBackWithASightTakenBack(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	_, check := h.ready()
	h.at(201, h.released(check))
	seen := h.at(210, h.fermenting(0, "present"))
	h.instead(seen, 210, &ledger.Withdrawal{})
	h.is(t, "taken back", ledger.StatusOpen)
}

// A check rests on what was there by its day: what is read at that moment counts, what a
// drum had that was poured back does not.
func TestACheckRestsOnTheDrumsThatAreThere(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	first := h.read(30, 0, 17.2, 0)
	second := h.read(31, 1, 17.4, 0)
	if got := h.book.Basis(h.lot, ledgertest.At(30)).Readings; len(got) != 1 || got[0] != first {
		t.Errorf("at the moment of the first reading it rests on %v", got)
	}
	h.at(50, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, To: ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}})
	if got := h.book.Basis(h.lot, ledgertest.At(60)); len(got.Fills) != 3 || len(got.Readings) != 1 || got.Readings[0] != second {
		t.Errorf("a drum was poured back, and it rests on %+v", got)
	}
}

// What somebody brings for a check, and is none, is said.
func TestOnlyACheckSpeaksOfALot(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	if got := h.book.Outdated(h.read(30, 0, 17.2, 0)).String(); got != "this is not a check" {
		t.Errorf("of a reading is said %q", got)
	}
}

// A check speaks of what was poured before it, and of nothing that was poured since.
func TestACheckIsOutdatedByWhatIsPouredSince(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.ready()
	h.at(50, h.topUp(0))
	check := h.check(202, ledger.RuleSetRef{Standard: "eu-honey"})
	if why := h.book.Outdated(check); !why.IsEmpty() {
		t.Errorf("poured into just before: %s", why)
	}
	h.at(203, h.topUp(0))
	if why := h.book.Outdated(check).String(); why != "honey was poured into its containers since" {
		t.Errorf("poured into since: %q", why)
	}
}

// A check by a published rule set and a contract is outdated with the contract.
func TestACheckIsOutdatedByEachOfItsRuleSets(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set, _ := h.ready()
	both := h.check(201, ledger.RuleSetRef{Standard: "eu-honey"}, own(set))
	h.instead(set, 10, contract(h.Buyer, "17.9"))
	if why := h.book.Outdated(both).String(); !strings.Contains(why, "version 1 of Northgate drums") {
		t.Errorf("the contract has another version, and of the check is said %q", why)
	}
}

// The instrument's check that was known when the lot was checked takes nothing back, nor
// does one that found it right.
func TestOnlyABadCheckOfTheInstrumentThatWasLearnedSinceOutdates(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what              string
		hours             float64
		found, left       float64
		before, outdating bool
	}{
		{"left wrong, and known", 20, 17.9, 17.9, true, false},
		{"found wrong, and known", 150, 17.9, 17, true, false},
		{"found right since", 250, 17, 17, false, false},
		{"put right in the minute of the reading", 30, 17.9, 17, false, false},
		{"left wrong in the minute of the reading", 30, 17.9, 17.9, false, true},
	} {
		h := newHouse(t, nil)
		r := moisture(ledger.PlaceContainer, h.drums[0], 17.2, 0)
		r.InstrumentID = h.Refractometer
		h.at(30, r)
		calibrate := func() {
			h.at(c.hours, &ledger.Calibration{InstrumentID: h.Refractometer, Reference: "glass", Expected: 17, AsFound: c.found, AsLeft: c.left, Tolerance: 0.2})
		}
		if c.before {
			calibrate()
		}
		check := h.check(200, ledger.RuleSetRef{Standard: "eu-honey"})
		if !c.before {
			calibrate()
		}
		if why := h.book.Outdated(check); why.IsEmpty() == c.outdating {
			t.Errorf("%s: of the check is said %q", c.what, why)
		}
	}
}

// A drum's honey is as old as the last that came into it, by the moment that is asked about.
func TestADrumIsAsOldAsWhatCameIntoItLast(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	last := func(by float64) time.Time { return h.book.LastFilled(h.drums[0], ledgertest.At(by)) }
	if got := last(300); !got.Equal(ledgertest.At(25)) {
		t.Errorf("filled at 25 hours, and said is %s", got)
	}
	h.at(60, h.topUp(0))
	h.at(50, h.topUp(0))
	for by, want := range map[float64]float64{40: 25, 50: 50, 55: 50, 60: 60, 300: 60} {
		if got := last(by); !got.Equal(ledgertest.At(want)) {
			t.Errorf("by %g hours honey came into it last at %s, not after %g", by, got, want)
		}
	}
}

// A contract that was taken back and taken up again goes on counting its versions.
func TestAContractTakenUpAgainCountsOn(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	first := h.at(10, contract(h.Buyer, "18.0"))
	back := h.instead(first, 10, &ledger.Withdrawal{})
	again := h.instead(back, 10, contract(h.Buyer, "17.8"))
	for _, c := range []struct {
		id   ledger.ID
		want int
	}{{first, 1}, {again, 2}} {
		e, _ := h.book.Entry(c.id)
		if got := h.book.VersionOf(e); got != c.want {
			t.Errorf("entry %d is version %d, not %d", e.Number, got, c.want)
		}
		if found, n := h.book.RuleSetVersion(first, c.want); found != e || n != c.want {
			t.Errorf("version %d is %v", c.want, found)
		}
	}
	if found, n := h.book.RuleSetVersion(first, 0); found == nil || found.ID != again || n != 2 {
		t.Errorf("version %d stands: %v", n, found)
	}
	if found, _ := h.book.RuleSetVersion(first, 3); found != nil {
		t.Errorf("a third version is %v", found)
	}
}

// Before a decision a lot is open, whatever was decided later: a book that is asked about a
// moment of its season says how the lot stood then.
func TestALotStandsAsItDidAtTheMomentThatIsAskedAbout(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(100, h.overridden())
	h.at(120, h.held(ledger.HeldForLimit))
	for hours, want := range map[float64]ledger.Status{-500: ledger.StatusOpen, 99: ledger.StatusOpen, 100: ledger.StatusReleased, 119: ledger.StatusReleased, 120: ledger.StatusHeld} {
		if err := h.book.Learn(ledgertest.At(hours)); err != nil {
			t.Fatal(err)
		}
		if got := h.decided(h.lot).Status; got != want && !(hours < 0 && got == ledger.StatusGone) {
			t.Errorf("after %g hours the lot is %s, not %s", hours, got, want)
		}
	}
}

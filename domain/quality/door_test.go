package quality_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// onLot is a reading of the whole lot.
func onLot(id ledger.ID, measured ...ledger.Measured) *ledger.Reading {
	return &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: id}, Laboratory: "Fern Valley", Measured: measured, ContainersSampled: 4}
}

// fermenting says that a drum was seen to ferment, or not.
func (h *house) fermenting(drum int, word string) *ledger.Reading {
	return &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[drum]}, Observed: []ledger.Observed{{What: "fermentation", Word: word}}}
}

// checkedOn is a check made so many hours after the start, of that day.
func (h *house) checkedOn(hours float64, refs ...ledger.RuleSetRef) ledger.ID {
	h.t.Helper()
	return h.at(hours, &ledger.Check{LotID: h.lot, RuleSets: refs, On: standard.Date(ledgertest.At(hours).Format(time.DateOnly))})
}

// A figure that was read and fails is not to be read again.
func TestWhatFailsIsNotToBeMeasuredAgain(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(10, contractOfWater(h.Buyer))
	for i := range h.drums {
		h.read(30, i, 22, 0)
	}
	h.at(40, h.overridden())
	_, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(41), Body: h.truck(0)})
	if err == nil || !strings.Contains(err.Error(), "moisture fails (D-1)") || strings.Contains(err.Error(), "too old") {
		t.Errorf("the book says %v", err)
	}
}

// farFuture is later than anything happens in the house.
var farFuture = time.Date(2030, 1, 1, 0, 0, 0, 0, time.UTC)

// lift opens a held lot again.
func (h *house) lift(note string) *ledger.LotStatus {
	return &ledger.LotStatus{LotID: h.lot, Status: ledger.StatusOpen, Note: note}
}

// By hand: at 20 C the middle honey forms 0.030 mg/kg of HMF a day, so that 38 mg/kg are
// 40 after about 67 days, and in a fast honey much earlier.
func TestAReleaseByAnOldFigureLetsNothingGo(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set := h.at(10, &ledger.RuleSet{Name: "shop", Citation: "own", Form: standard.FormLimits, Limits: []standard.Limit{
		{Parameter: "hmf", Unit: "mg/kg", Comparator: standard.AtMost, Limit: "40", Clause: "1"}}})
	h.certify(40, hmf(38))
	check := h.checkedOn(48, own(set))
	h.at(49, h.released(check))
	h.at(72, h.truck(0))
	months := 24.0 * 120
	h.refused("four months later", fault.Conflict, months, h.truck(1), "/containers", "HMF not measured. Nothing of this dispatch was stored")
	h.refused("so that it is measured again", fault.Conflict, months, h.truck(1), "/containers", "What was measured of HMF is too old to say how it is now: have the lot measured again.")
	why, err := quality.NoLongerMeets(h.book, h.released(check), standard.Date(ledgertest.At(months).Format("2006-01-02")))
	if err != nil || !strings.Contains(why.String(), "does not meet shop: HMF not measured") {
		t.Errorf("of the release is said %q, %v", why, err)
	}
	h.at(months, h.lift("to be measured again"))
	h.refused("released again by the old check", fault.Conflict, months+1, h.released(check), "/check_id", "no longer counts")
	h.at(months+2, onLot(h.lot, hmf(24)))
	again := h.checkedOn(months+24, own(set))
	h.at(months+25, h.released(again))
	h.at(months+26, h.truck(1))
}

func TestALotIsHeldToTheBuyersOwnLimits(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	generous := contract(ledger.ID{}, "20.0")
	generous.Name = "any buyer"
	wide := h.at(10, generous)
	h.at(11, contract(h.Buyer, "17.6"))
	h.read(30, 0, 17.2, 0)
	h.read(31, 1, 17.8, 0)
	h.certify(40, hmf(10))
	h.at(49, h.released(h.checkedOn(48, own(wide))))
	h.refused("with a drum too wet for this buyer", fault.Conflict, 60, h.truck(0, 1), "/containers", "moisture fails (D-2)")
	h.refused("sent anyway without a word", fault.Invalid, 60, &ledger.Dispatch{BuyerID: h.Buyer, Containers: h.drums[1:2], Override: true}, "/note", "needs its reason")
	h.at(60, h.truck(0))
	sent := h.at(61, h.anyway(h.truck(1)))
	judged := h.book.InForce(sent).Body.(*ledger.Dispatch).Judged
	if len(judged) != 2 || judged[1].Outcome != "fails" || len(judged[1].NotMet) != 1 || judged[1].NotMet[0].Containers[0] != "D-2" {
		t.Errorf("the book keeps %+v", judged)
	}
	other := h.at(62, &ledger.Buyer{Name: "Millrace"})
	h.refused("to a market that there is not", fault.Conflict, 63, &ledger.Dispatch{BuyerID: other, Containers: h.drums[2:3], Market: "no-such-market"}, "/market", "No published rule set")
	h.refused("a drum nobody read, where each counts", fault.Conflict, 63, &ledger.Dispatch{BuyerID: other, Containers: h.drums[2:3]}, "/containers", "moisture not measured")
}

// Where the rules go by the lot, its mean speaks for a drum that nobody read.
func TestTheLotsMeanSpeaksForADrumNobodyRead(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set := h.at(36, &ledger.RuleSet{Name: "water", Citation: "own", Form: standard.FormLimits, Limits: []standard.Limit{
		{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: "20", Clause: "1"}}})
	h.read(37, 0, 17.0, 0)
	h.at(49, h.released(h.checkedOn(48, own(set))))
	h.at(50, h.truck(2))
	h.read(51, 0, 24.0, 0) // 20.5 on the mean of both: the only drum that was read is wet, and so may the others be
	h.refused("now", fault.Conflict, 52, h.truck(3), "/containers", "moisture fails")
}

func TestALotIsHeldToTheRulesOfWhereItGoes(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.read(30, 0, 20.6, 0)
	h.at(49, h.overridden())
	abroad := h.at(50, &ledger.Buyer{Name: "Overseas", Market: "codex-honey"})
	h.refused("to a buyer abroad", fault.Conflict, 60, &ledger.Dispatch{BuyerID: abroad, Containers: h.drums[:1]}, "/containers", "moisture fails (D-1)")
	h.refused("abroad as the dispatch says", fault.Conflict, 60, &ledger.Dispatch{BuyerID: h.Buyer, Containers: h.drums[:1], Market: "codex-honey"}, "/containers", "moisture fails (D-1)")
	h.at(60, h.truck(0))
}

// One drum of 22 % in a fair mean: it stays, the others go, and once it is poured back the lot passes.
func TestTheWorstDrumStaysAndTheOthersGo(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	for i, pct := range []float64{17.0, 17.1, 17.2, 22.0} {
		h.read(30+float64(i), i, pct, 0)
	}
	set := h.at(36, &ledger.RuleSet{Name: "water", Citation: "own", Form: standard.FormLimits, Limits: []standard.Limit{
		{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: "20", Clause: "1"}}})
	check := h.checkedOn(48, own(set))
	if got := line(t, h.found(check).Results[0], "moisture", ""); got.Outcome != "fails" || !strings.Contains(got.Sentence, "D-4: take them out of the lot, or blend them") {
		t.Errorf("%s", got.Sentence)
	}
	h.refused("released with it", fault.Conflict, 49, h.released(check), "/check_id", "moisture fails")
	h.at(50, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[3]}, To: ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}})
	h.at(60, h.released(h.checkedOn(59, own(set))))
	h.at(61, h.truck(0, 1, 2))
}

func TestAHoldIsLiftedOnPurpose(t *testing.T) {
	t.Parallel()
	for _, why := range []ledger.HoldReason{ledger.HeldForLimit, ledger.HeldForFinding} {
		h := newHouse(t, nil)
		_, check := h.ready()
		h.at(201, h.released(check))
		h.at(210, h.held(why))
		h.refused("opened without a word", fault.Invalid, 220, h.lift(""), "/note", "how that was settled")
		h.refused("opened before it was held", fault.Conflict, 205, h.lift("settled"), "/occurred_at", "is held since")
		h.at(220, h.lift("settled"))
		h.refused("a truck on the release before the hold", fault.Conflict, 221, h.truck(0), "/containers/0", "not been released")
	}
}

func TestARecallAndWhatFermentsAreLiftedByALaterCheckAlone(t *testing.T) {
	t.Parallel()
	for _, hold := range []func(h *house) ledger.Body{
		func(h *house) ledger.Body { return h.held(ledger.HeldForRecall) },
		func(h *house) ledger.Body { return h.held(ledger.HeldForFermentation) },
		func(h *house) ledger.Body { return h.fermenting(0, "present") },
	} {
		h := newHouse(t, nil)
		set, check := h.ready()
		h.at(201, h.released(check))
		h.at(210, hold(h))
		h.is(t, "held", ledger.StatusHeld)
		h.refused("a truck", fault.Conflict, 211, h.truck(1), "/containers/0", "which may not leave: it is held")
		h.refused("a truck on a manager's word", fault.Conflict, 211, h.anyway(h.truck(1)), "/containers/0", "it is held")
		h.refused("opened", fault.Conflict, 220, h.lift("all is well"), "/check_id", "only a check made after that lifts it")
		word := h.overridden()
		h.refused("released on a manager's word", fault.Conflict, 220, word, "/check_id", "only a check made after that lifts it")
		h.at(221, h.fermenting(0, "absent"))
		before := h.released(check)
		before.Note = "looked at again"
		h.refused("released by the check before", fault.Conflict, 222, before, "/check_id", "before lot")
		again := h.released(h.checkedOn(230, own(set)))
		again.Note = "looked at again, and quiet"
		h.at(231, again)
		h.at(232, h.truck(1))
	}
}

// A second hold for a lesser reason does not make a recall easier to lift.
func TestALesserHoldDoesNotHideARecall(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.ready()
	h.at(205, h.held(ledger.HeldForRecall))
	h.at(210, h.held(ledger.HeldForFinding))
	h.refused("opened", fault.Conflict, 220, h.lift("settled"), "/check_id", "held (recall")
}

// A recall recorded after a sight of fermenting is lifted by a check that was made before the
// sight; the sight is not.
func TestEachOfSeveralHoldsIsLifted(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set, _ := h.ready()
	h.at(210, h.fermenting(0, "present"))
	h.at(204, h.held(ledger.HeldForRecall))
	x := h.released(h.checkedOn(205, own(set)))
	x.Note = "settled"
	h.refused("released by a check made before the sight", fault.Conflict, 220, x, "/check_id", "before lot")
	h.at(215, h.fermenting(0, "absent"))
	x = h.released(h.checkedOn(216, own(set)))
	x.Note = "settled"
	h.at(221, x)
}

// A hold that is taken back as mistaken does not give the release before it back.
func TestAReleaseDoesNotComeBackWithAHoldTakenBack(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	_, check := h.ready()
	h.at(201, h.released(check))
	hold := h.at(210, h.held(ledger.HeldForRecall))
	h.instead(hold, 210, &ledger.Withdrawal{})
	h.is(t, "taken back", ledger.StatusOpen)
	h.refused("a truck", fault.Conflict, 211, h.truck(0), "/containers/0", "came after its release")
}

// A release written down after a hold and dated before it lets nothing go.
func TestADecisionDatedBeforeAHoldDoesNotLiftIt(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	_, check := h.ready()
	h.at(210, h.held(ledger.HeldForFinding))
	early := h.released(check)
	early.Note = "settled"
	h.refused("released before the hold", fault.Conflict, 205, early, "/occurred_at", "is held since")
	h.at(215, early)
	h.at(207, h.held(ledger.HeldForFinding)) // told late: somebody had held it before
	h.is(t, "held late", ledger.StatusHeld)
}

// A manager's word covers what was known when it was given.
func TestAManagersWordCoversWhatWasKnown(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what  string
		later func(h *house)
	}{
		{"a reading of a drum", func(h *house) { h.read(110, 2, 21.5, 0) }},
		{"a reading told late", func(h *house) { h.read(90, 2, 21.5, 0) }},
		{"a laboratory's result", func(h *house) { h.certify(110, hmf(90)) }},
		{"a reading withdrawn", func(h *house) { h.instead(h.book.Basis(h.lot, farFuture).Readings[0], 30, &ledger.Withdrawal{}) }},
		{"a drum's weight corrected", func(h *house) { h.instead(h.drums[0], 25, h.FillBody(h.lot, h.Settling, "D-1", 280_000)) }},
	} {
		h := newHouse(t, nil)
		h.read(30, 0, 17.2, 0)
		h.at(100, h.overridden())
		h.is(t, "released", ledger.StatusReleased)
		c.later(h)
		h.is(t, c.what, ledger.StatusOpen)
		h.refused(c.what, fault.Conflict, 120, h.truck(0), "/containers/0", "came after its release")
		h.at(130, h.overridden())
		h.at(131, h.truck(0))
	}
}

// A later bad reading undoes a release by a check: what leaves is looked at again.
func TestALaterBadReadingUndoesARelease(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	_, check := h.ready()
	h.at(201, h.released(check))
	h.read(210, 1, 21.4, 0)
	h.refused("with the drum", fault.Conflict, 220, h.truck(0, 1), "/containers", "moisture fails (D-2)")
	h.refused("dated before the reading", fault.Conflict, 205, h.truck(1), "/containers", "moisture fails (D-2)")
	h.at(220, h.truck(0))
}

// Who mends the note of a truck that left is not asked again whether it may leave.
func TestACorrectionOfWhatLeftIsNotHeldUpByWhatCameSince(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	_, check := h.ready()
	h.at(201, h.released(check))
	sent := h.at(202, h.truck(0))
	h.read(210, 1, 21.4, 0)
	h.at(211, h.held(ledger.HeldForLimit))
	noted := h.truck(0)
	noted.Note = "two pallets"
	h.instead(sent, 202, noted)
	if _, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(202), Body: h.truck(0, 1), Replaces: h.book.InForce(sent).ID, Reason: "one more"}); err == nil {
		t.Error("a drum of a held lot was added to a truck that had left")
	}
}

// A result that came in the post counts from the day on which it was analysed.
func TestAResultIsAsOldAsItsAnalysis(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set := h.at(10, &ledger.RuleSet{Name: "shop", Citation: "own", Form: standard.FormLimits, MeasuredWithinDays: 30, Limits: []standard.Limit{
		{Parameter: "hmf", Unit: "mg/kg", Comparator: standard.AtMost, Limit: "40", Clause: "1"}}})
	late := onLot(h.lot, hmf(20))
	late.AnalysedOn = "2026-07-05"
	h.at(24*60, late)
	if got := line(t, h.found(h.checkedOn(24*61, own(set))).Results[0], "hmf", ""); got.Outcome != "not measured" || !strings.Contains(got.Sentence, "older than the rule set allows") {
		t.Errorf("%s", got.Sentence)
	}
}

// A buyer with a thousand contracts cannot make the book stand still.
func TestADispatchIsHeldToSoManyRuleSetsAtMost(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(20, h.overridden())
	other := h.at(24, &ledger.Lot{Code: "26-015", StoreID: h.store})
	drum := h.at(29, h.FillBody(other, h.Settling, "D-9", 10_000))
	h.at(30, &ledger.LotStatus{LotID: other, Status: ledger.StatusReleased, Override: true, Note: "as agreed"})
	both := func() *ledger.Dispatch {
		d := h.anyway(h.truck(0))
		d.Containers = append(d.Containers, drum)
		return d
	}
	add := func(i int) {
		h.at(21, &ledger.RuleSet{Name: fmt.Sprintf("contract %d", i), BuyerID: h.Buyer, Citation: "own", Form: standard.FormLimits, Limits: []standard.Limit{
			{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: "20", Clause: "1"}}})
	}
	for i := range 1000 {
		add(i)
	}
	h.at(30, h.overridden())
	if sent := h.book.InForce(h.at(40, both())).Body.(*ledger.Dispatch); len(sent.Judged) != 2000 {
		t.Errorf("two lots were held to a thousand contracts, and %d answers are kept", len(sent.Judged))
	}
	add(1000)
	add(1001)
	more := h.at(42, h.FillBody(other, h.Settling, "D-10", 10_000))
	h.at(43, &ledger.LotStatus{LotID: other, Status: ledger.StatusReleased, Override: true, Note: "as agreed"})
	d := h.anyway(h.truck(1))
	d.Containers = append(d.Containers, more)
	h.refused("two lots, to 1002 each", fault.Conflict, 50, d, "/containers", "in several dispatches")
}

// Somebody saw the tank ferment, and a drum was filled up from it after a manager's word and
// before a release by a check that was dated later: neither speaks of that honey.
func TestADecisionLiftsOnlyASightWhoseHoneyHadCome(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	_, check := h.ready()
	h.at(300, h.released(check))
	h.at(205, ledgertest.Move(ledger.PlaceTank, h.Settling, ledger.PlaceContainer, h.drums[0], 5_000))
	h.is(t, "filled up", ledger.StatusOpen)
	h.at(210, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}, Observed: []ledger.Observed{{What: "fermentation", Word: "present"}}})
	h.at(211, h.overridden())
	h.at(220, ledgertest.Move(ledger.PlaceTank, h.Settling, ledger.PlaceContainer, h.drums[0], 5_000))
	h.is(t, "filled up again", ledger.StatusHeld)
	h.refused("a truck on a manager's word", fault.Conflict, 310, h.anyway(h.truck(0)), "/containers/0", "it is held (fermentation risk")
}

// What is seen of a tank in the minute of a pour counts as seen before it.
func TestASightInTheMinuteOfAPourHoldsTheLot(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(210, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: h.Settling}, Observed: []ledger.Observed{{What: "fermentation", Word: "present"}}})
	h.at(210, ledgertest.Move(ledger.PlaceTank, h.Settling, ledger.PlaceContainer, h.drums[0], 5_000))
	h.is(t, "filled up", ledger.StatusHeld)
	h.at(211, h.fermenting(0, "absent"))
	h.is(t, "looked at again", ledger.StatusHeld)
}

// Of two releases one was made after honey came in, and the other recorded after it: the lot
// is open, and can be released again.
func TestTwoHalvesOfAReleaseLetNothingGo(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	_, check := h.ready()
	h.at(300, h.released(check))
	h.at(220, ledgertest.Move(ledger.PlaceTank, h.Settling, ledger.PlaceContainer, h.drums[0], 5_000))
	h.at(210, h.overridden())
	h.is(t, "poured into", ledger.StatusOpen)
	h.refused("a truck", fault.Conflict, 310, h.truck(1), "/containers/0", "came after its release")
	h.at(305, h.overridden())
	h.is(t, "released again", ledger.StatusReleased)
}

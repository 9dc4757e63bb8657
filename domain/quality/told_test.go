package quality_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// told is what the book alone says of an entry, before the service completes it.
func (h *house) told(hours float64, body ledger.Body) (code fault.Code, fields []fault.Field) {
	h.t.Helper()
	e := &ledger.Entry{ID: ledgertest.ID(int(h.book.Len()) + 1), Number: h.book.Len() + 1, Kind: body.Kind(), OccurredAt: ledgertest.At(hours), RecordedAt: ledgertest.At(hours), Body: body}
	var f *fault.Error
	if errors.As(h.book.Check(e, now), &f) {
		return f.Code, f.Fields
	}
	return "", nil
}

func pointers(fields []fault.Field) string {
	var out []string
	for _, f := range fields {
		out = append(out, f.Pointer)
	}
	slices.Sort(out)
	return strings.Join(out, " ")
}

// What is wrong with a contract is told at its field alone, with what came.
func TestWhatIsWrongWithAContractIsToldAtItsField(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	unit, clause := contract(h.Buyer, "18.0"), contract(h.Buyer, "18.0")
	unit.Limits[0].Unit, clause.Limits[0].Clause = "mg/kg", ""
	if _, f := h.told(10, unit); pointers(f) != "/limits/0/unit" || f[0].Sent != "mg/kg" {
		t.Errorf("of a unit that does not fit is said %v", f)
	}
	if _, f := h.told(10, clause); pointers(f) != "/limits/0/clause" || f[0].Sent != nil {
		t.Errorf("of a clause that is missing is said %v", f)
	}
}

// A sample or a check is of a lot with containers, by rule sets that there are; each that
// there is not is told.
func TestASampleAndACheckAreOfALotWithContainers(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	empty := h.at(40, &ledger.Lot{Code: "26-015"})
	eu, none := ledger.RuleSetRef{Standard: "eu-honey"}, ledger.RuleSetRef{Standard: "eu-milk"}
	for what, c := range map[string]struct {
		body     ledger.Body
		code     fault.Code
		pointers string
	}{
		"a sample of a lot without a container": {&ledger.Sample{LotID: empty, RuleSet: eu}, fault.Conflict, "/lot_id"},
		"a sample by no rule set":               {&ledger.Sample{LotID: h.lot, RuleSet: none}, fault.Invalid, "/rule_set/standard"},
		"a sample of no lot":                    {&ledger.Sample{LotID: h.Buyer, RuleSet: eu}, fault.Invalid, "/lot_id"},
		"a check of a lot without a container":  {&ledger.Check{LotID: empty, RuleSets: []ledger.RuleSetRef{eu}, On: day2}, fault.Conflict, "/lot_id"},
		"a check by no rule set, twice":         {&ledger.Check{LotID: h.lot, RuleSets: []ledger.RuleSetRef{none, none}, On: day2}, fault.Invalid, "/rule_sets/0/standard /rule_sets/1/standard"},
		"a check of no lot":                     {&ledger.Check{LotID: h.Buyer, RuleSets: []ledger.RuleSetRef{eu}, On: day2}, fault.Invalid, "/lot_id"},
		"a check as it should be":               {&ledger.Check{LotID: h.lot, RuleSets: []ledger.RuleSetRef{eu}, On: day2}, "", ""},
	} {
		if code, f := h.told(41, c.body); code != c.code || pointers(f) != c.pointers {
			t.Errorf("%s: %s at %q, not %s at %q", what, code, pointers(f), c.code, c.pointers)
		}
	}
}

// A hold or an opening rests on no check, no manager's word and no rule sets: whoever sends
// one of them meant a release.
func TestOnlyAReleaseNamesWhatItRestsOn(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	_, check := h.ready()
	for what, spoil := range map[string]func(x *ledger.LotStatus){
		"a check":          func(x *ledger.LotStatus) { x.CheckID = check },
		"a manager's word": func(x *ledger.LotStatus) { x.Override = true },
		"a rule set":       func(x *ledger.LotStatus) { x.RuleSets = []string{"eu-2001-110"} },
	} {
		hold := h.held(ledger.HeldForLimit)
		spoil(hold)
		h.refused("a hold with "+what, fault.Invalid, 210, hold, "/status", "Only a release names")
	}
}

// The check that lifts a recall was made after it in the order of happening and in that of
// recording.
func TestACheckLiftsARecallThatCameBeforeItBothWays(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set, _ := h.ready()
	before := h.checkedOn(220, own(set)) // dated after the recall, and recorded before it
	h.at(210, h.held(ledger.HeldForRecall))
	early := h.checkedOn(205, own(set)) // recorded after it, and dated before it
	for what, check := range map[string]ledger.ID{"recorded before": before, "dated before": early} {
		x := h.released(check)
		x.Note = "it was another's glass"
		h.refused(what, fault.Conflict, 230, x, "/check_id", "was made before lot 26-014 was held")
	}
	again := h.released(h.checkedOn(225, own(set)))
	again.Note = "it was another's glass"
	h.at(230, again)
}

// A release by one of a check's rule sets is held against that one, wherever it stands among
// them, and is told which lines are in the way, each once.
func TestAReleaseIsHeldAgainstTheRuleSetThatItNames(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set := h.at(10, contract(h.Buyer, "18.0"))
	other := contract(ledger.ID{}, "17.0")
	other.Name, other.Price = "bakery", nil
	strict := h.at(11, other)
	for i := range h.drums {
		h.read(30+float64(i), i, 17.2, 0)
	}
	h.certify(40, hmf(8))
	both := h.check(201, own(set), own(strict))
	x := h.released(both)
	x.RuleSets = []string{strict.String()}
	h.refused("by the stricter", fault.Conflict, 202, x, "/check_id", "Lot 26-014 does not meet bakery: moisture fails.")
	x.RuleSets = []string{set.String()}
	h.at(202, x)
}

// Each entry is found by what it names.
func TestWhatIsSaidOfALotIsFoundByIt(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set, check := h.ready()
	sample := h.at(190, &ledger.Sample{LotID: h.lot, RuleSet: ledger.RuleSetRef{Standard: "eu-honey"}})
	release := h.at(201, h.released(check))
	for _, c := range []struct{ entry, about ledger.ID }{
		{set, h.Buyer}, {check, h.lot}, {check, set}, {sample, h.lot}, {release, h.lot}, {release, check},
	} {
		e, _ := h.book.Entry(c.entry)
		if !h.book.About(e, c.about) {
			t.Errorf("a %s is not found by the %s that it names", e.Kind, h.book.InForce(c.about).Kind)
		}
		if h.book.About(e, h.Mill) {
			t.Errorf("a %s is found by a yard", e.Kind)
		}
	}
}

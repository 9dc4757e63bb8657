package ledger_test

import (
	"errors"
	"strings"
	"testing"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/standard"
)

// agreedHouse is an outfit with limits of its buyer that have a price, ten drums of a lot, and what is
// needed to say what a contract is.
type agreedHouse struct {
	*ledgertest.Outfit
	limits, plain ledger.ID
	drums         []ledger.ID
}

func newAgreedHouse() *agreedHouse {
	h := &agreedHouse{Outfit: ledgertest.NewOutfit()}
	set := func(name string, price *standard.PriceTerms) *ledger.RuleSet {
		return &ledger.RuleSet{Name: name, BuyerID: h.Buyer, Citation: "contract 7", Form: standard.FormLimits, Price: price,
			Limits: []standard.Limit{{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: "18.6", Clause: "2"}}}
	}
	h.limits = h.SetUp(set("drums", &standard.PriceTerms{Currency: "CAD", PricePerKg: standard.MustDecimal("420")}))
	h.plain = h.SetUp(set("no price", nil))
	run := h.Run(1, "1")
	h.Out(2, run, h.Settling, 1_500_000)
	lot := h.Lot(3, "L-1")
	for _, number := range []string{"1", "2", "3", "4"} {
		h.drums = append(h.drums, h.Fill(4, lot, h.Settling, number, 300_000))
	}
	h.Release(5, lot)
	return h
}

func (h *agreedHouse) contract() *ledger.Contract {
	return &ledger.Contract{BuyerID: h.Buyer, RuleSet: ledger.RuleSetRef{RuleSetID: h.limits}, MostG: 900_000}
}

// Each contract that no buyer can have agreed to is refused at the field that is wrong.
func TestAContractThatCannotBeIsRefused(t *testing.T) {
	t.Parallel()
	h := newAgreedHouse()
	other := h.SetUp(&ledger.Buyer{Name: "Harrow Foods"})
	b, err := h.Open()
	if err != nil {
		t.Fatal(err)
	}
	for what, c := range map[string]struct {
		change        func(*ledger.Contract)
		pointer, says string
	}{
		"no such buyer":        {func(x *ledger.Contract) { x.BuyerID = ledgertest.ID(9000) }, "/buyer_id", "buyer"},
		"no limits":            {func(x *ledger.Contract) { x.RuleSet = ledger.RuleSetRef{} }, "/rule_set", "Name either"},
		"limits without price": {func(x *ledger.Contract) { x.RuleSet.RuleSetID = h.plain }, "/rule_set", "has no price"},
		"published limits":     {func(x *ledger.Contract) { x.RuleSet = ledger.RuleSetRef{Standard: "eu-honey"} }, "/rule_set", "has no price"},
		"another's limits":     {func(x *ledger.Contract) { x.BuyerID = other }, "/rule_set/rule_set_id", "limits of packer"},
		"a grade of none":      {func(x *ledger.Contract) { x.Grade = "A" }, "/grade", "no grades"},
		"more than the most":   {func(x *ledger.Contract) { x.PromisedG = 900_001 }, "/promised_kg", "at the most"},
		"over before it began": {func(x *ledger.Contract) { x.LastDay = "2026-06-30" }, "/last_day", "before the day"},
		"a load of nothing":    {func(x *ledger.Contract) { x.FreightPerLoadMinor = 40_000 }, "/load_kg", "a load takes"},
		"a load for nothing":   {func(x *ledger.Contract) { x.LoadG = 20_000_000 }, "/freight_per_load_minor", "what it costs"},
	} {
		x := h.contract()
		c.change(x)
		var f *fault.Error
		err := b.Check(&ledger.Entry{ID: ledgertest.ID(9999), Kind: ledger.KindContract, OccurredAt: ledgertest.At(6), Body: x}, ledgertest.At(7))
		if !errors.As(err, &f) || f.Fields[0].Pointer != c.pointer || !strings.Contains(f.Fields[0].Message.String(), c.says) {
			t.Errorf("%s: %v, want a word about %s", what, err, c.pointer)
		}
	}
	if err := b.Check(&ledger.Entry{ID: ledgertest.ID(9999), Kind: ledger.KindContract, OccurredAt: ledgertest.At(6), Body: h.contract()}, ledgertest.At(7)); err != nil {
		t.Errorf("a contract that can be: %v", err)
	}
}

// What leaves for a buyer fills the contract that ends first, and what is over the next one. What left
// before a contract was agreed counts for none, and a filled one is not open any more.
func TestWhatLeavesFillsTheContractThatEndsFirst(t *testing.T) {
	t.Parallel()
	h := newAgreedHouse()
	before := h.contract()
	h.Dispatch(10, h.drums[0])
	late := h.Write(20, before)
	soon := h.contract()
	soon.MostG, soon.LastDay = 500_000, "2026-07-20"
	first := h.Write(21, soon)
	sent := func(hours float64) map[ledger.ID]int64 {
		t.Helper()
		b, err := h.Open()
		if err != nil {
			t.Fatal(err)
		}
		out := map[ledger.ID]int64{}
		for _, o := range b.OpenContracts(ledgertest.At(hours)) {
			out[o.Root] = o.SentG
		}
		return out
	}
	if got := sent(19); len(got) != 0 {
		t.Errorf("before any was agreed %v are open", got)
	}
	if got := sent(30); len(got) != 2 || got[first] != 0 || got[late] != 0 {
		t.Errorf("what left before counts: %v", got)
	}
	h.Dispatch(40, h.drums[1])
	if got := sent(41); got[first] != 300_000 || got[late] != 0 {
		t.Errorf("after a drum: %v, want it to fill the one that ends first", got)
	}
	h.Dispatch(50, h.drums[2])
	if got := sent(51); len(got) != 1 || got[late] != 100_000 {
		t.Errorf("after two drums: %v, want 100 kg of the second in the one that stays open", got)
	}
	if got := sent(49); got[first] != 300_000 {
		t.Errorf("a moment before: %v", got)
	}
}

// A contract is open until its last day is over, or until somebody closed it.
func TestAContractEndsOnItsLastDayOrWhenItIsClosed(t *testing.T) {
	t.Parallel()
	h := newAgreedHouse()
	x := h.contract()
	x.LastDay = "2026-07-03"
	root := h.Write(20, x)
	open := func(hours float64) int {
		t.Helper()
		b, err := h.Open()
		if err != nil {
			t.Fatal(err)
		}
		return len(b.OpenContracts(ledgertest.At(hours)))
	}
	// The book begins on 1 July at six: 65 hours on it is eleven in the evening of 3 July.
	if open(65) != 1 || open(67) != 0 {
		t.Errorf("%d open on the last day, %d on the day after", open(65), open(67))
	}
	closed := h.contract()
	closed.LastDay, closed.Closed = "2026-07-03", true
	h.Put(ledger.Entry{OccurredAt: ledgertest.At(20), RecordedAt: ledgertest.At(40), Replaces: root, Reason: "the buyer has enough", Body: closed})
	if open(50) != 0 {
		t.Errorf("%d open after it was closed", open(50))
	}
}

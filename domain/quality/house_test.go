package quality_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// house is a honey house with one lot of four drums in a store at 20 C. Entries
// go into its book as they do in the service: completed, checked, appended.
type house struct {
	t *testing.T
	*ledgertest.Outfit
	book  *ledger.Book
	store ledger.ID
	lot   ledger.ID
	drums []ledger.ID
	clock time.Time // the service's
}

// Days of the house's book; the lot is filled on the second.
const (
	day2  = standard.Date("2026-07-02")
	day10 = standard.Date("2026-07-10")
)

func newHouse(t *testing.T, declares standard.Declaration) *house {
	t.Helper()
	h := &house{t: t, Outfit: ledgertest.NewOutfit(), clock: now}
	twenty := 20.0
	h.store = h.SetUp(&ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &twenty})
	pull := h.Pull(0, h.Mill, 60, 0)
	run := h.Run(10, "1")
	h.Supers(10, run, pull, 60)
	h.Out(12, run, h.Settling, 1_400_000)
	h.lot = h.Write(24, &ledger.Lot{Code: "26-014", StoreID: h.store, Declares: declares})
	for i, number := range []string{"D-1", "D-2", "D-3", "D-4"} {
		h.drums = append(h.drums, h.Fill(25+float64(i), h.lot, h.Settling, number, 290_000))
	}
	h.open()
	return h
}

func (h *house) open() {
	h.t.Helper()
	book, err := h.Outfit.Open()
	if err != nil {
		h.t.Fatal(err)
	}
	h.book = book
}

// now is the service's clock in a house: long after all that happens.
var now = ledgertest.At(24 * 150)

// try brings an entry to the book as the service does.
func (h *house) try(e ledger.Entry) (ledger.ID, error) {
	h.t.Helper()
	e.ID, e.Kind, e.Number, e.RecordedBy = ledgertest.ID(int(h.book.Len())+1), e.Body.Kind(), h.book.Len()+1, "Ada"
	if e.RecordedAt.IsZero() {
		e.RecordedAt = e.OccurredAt
	}
	if err := quality.Complete(h.book, &e); err != nil {
		return e.ID, err
	}
	if err := h.book.Check(&e, h.clock); err != nil {
		return e.ID, err
	}
	if _, err := h.book.Append(&e); err != nil {
		h.t.Fatalf("the book takes it and cannot hold it: %v", err)
	}
	return e.ID, nil
}

// at brings what happened so many hours after the start; the book must take it.
func (h *house) at(hours float64, body ledger.Body) ledger.ID {
	h.t.Helper()
	id, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(hours), Body: body})
	if err != nil {
		h.t.Fatalf("a %s is refused: %v", body.Kind(), err)
	}
	return id
}

// instead corrects an entry.
func (h *house) instead(id ledger.ID, hours float64, body ledger.Body) ledger.ID {
	h.t.Helper()
	got, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(hours), Body: body, Replaces: id, Reason: "typed wrong"})
	if err != nil {
		h.t.Fatalf("a correction of a %s is refused: %v", body.Kind(), err)
	}
	return got
}

// refused brings what the book must refuse, and nothing of it may stay. pointer
// is of the field that is at fault, says is part of the sentence.
func (h *house) refused(what string, code fault.Code, hours float64, body ledger.Body, pointer, says string) {
	h.t.Helper()
	before := h.book.Len()
	_, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(hours), Body: body})
	var f *fault.Error
	switch {
	case err == nil:
		h.t.Errorf("%s: the book took it", what)
		return
	case !errors.As(err, &f) || f.Code != code:
		h.t.Errorf("%s: %v is no %s", what, err, code)
		return
	case h.book.Len() != before:
		h.t.Errorf("%s: refused, and %d entries stayed", what, h.book.Len()-before)
	}
	for _, field := range f.Fields {
		if field.Pointer == pointer && strings.Contains(field.Message.String(), says) {
			return
		}
	}
	h.t.Errorf("%s: no complaint at %s about %q in %v", what, pointer, says, err)
}

// read reads moisture on a drum.
func (h *house) read(hours float64, drum int, pct, u float64) ledger.ID {
	h.t.Helper()
	return h.at(hours, moisture(ledger.PlaceContainer, h.drums[drum], pct, u))
}

// certify is a laboratory's certificate of the lot; each figure is a quantity's.
func (h *house) certify(hours float64, measured ...ledger.Measured) ledger.ID {
	h.t.Helper()
	return h.at(hours, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: h.lot}, Laboratory: "Fern Valley", Measured: measured, ContainersSampled: 4})
}

func moisture(kind ledger.PlaceKind, id ledger.ID, pct, u float64) *ledger.Reading {
	return &ledger.Reading{On: ledger.Place{Kind: kind, ID: id}, Moisture: &ledger.MoistureReading{
		Scale: ledger.ScaleMoisture, AsRead: pct, Compensated: true, Pct: pct, StdUncertaintyPct: u, Formula: "as read"}}
}

// readExactly brings a reading with the uncertainty that it says, which the
// service would work out from the instrument.
func (h *house) readExactly(hours float64, on ledger.Place, pct, u float64) {
	h.t.Helper()
	e := &ledger.Entry{OccurredAt: ledgertest.At(hours), RecordedAt: ledgertest.At(hours), RecordedBy: "Ada",
		ID: ledgertest.ID(int(h.book.Len()) + 1), Number: h.book.Len() + 1, Kind: ledger.KindReading, Body: moisture(on.Kind, on.ID, pct, u)}
	if err := h.book.Check(e, h.clock); err != nil {
		h.t.Fatal(err)
	}
	if _, err := h.book.Append(e); err != nil {
		h.t.Fatal(err)
	}
}

func hmf(value float64) ledger.Measured {
	return ledger.Measured{Quantity: "hmf_mg_per_kg", Value: value, StdUncertainty: new(0.5), Method: "HPLC"}
}

func diastase(value float64) ledger.Measured {
	return ledger.Measured{Quantity: "diastase_gothe", Value: value, StdUncertainty: new(1.0), Method: "Schade"}
}

// found is what a check of the lot came to.
func (h *house) found(check ledger.ID) *ledger.Found {
	h.t.Helper()
	return h.book.InForce(check).Body.(*ledger.Check).Found
}

func (h *house) gather(on standard.Date) *quality.Gathered {
	h.t.Helper()
	g, err := quality.Gather(h.book, h.lot, on)
	if err != nil {
		h.t.Fatal(err)
	}
	return g
}

// published finds published rule sets by their ids or families.
func (h *house) published(on standard.Date, ids ...string) []ledger.Resolved {
	h.t.Helper()
	var out []ledger.Resolved
	for _, id := range ids {
		set, err := h.book.RuleSet(ledger.RuleSetRef{Standard: id}, on)
		if err != nil {
			h.t.Fatal(err)
		}
		out = append(out, set)
	}
	return out
}

// line finds the line of a result that applies to a parameter.
func line(t *testing.T, r ledger.RuleSetResult, parameter, grade string) ledger.VerdictLine {
	t.Helper()
	var passedOver ledger.VerdictLine
	for _, l := range r.Lines {
		if l.Parameter == parameter && l.Grade == grade {
			if l.Outcome != standard.DoesNotApply.String() {
				return l
			}
			passedOver = l
		}
	}
	if passedOver.Parameter == "" {
		t.Fatalf("%s has no line for %s %s", r.ID, parameter, grade)
	}
	return passedOver
}

// contract is a buyer's limits: moisture of every drum, HMF, and a price.
func contract(buyer ledger.ID, moisture string) *ledger.RuleSet {
	percent, to := standard.MustDecimal("1.5"), standard.MustDecimal(moisture)
	return &ledger.RuleSet{
		Name: "Northgate drums", BuyerID: buyer, Citation: "contract 14", Form: standard.FormLimits,
		Limits: []standard.Limit{
			{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: moisture, Every: true, Clause: "3.1"},
			{Parameter: "hmf", Unit: "mg/kg", Comparator: standard.AtMost, Limit: "20", Clause: "3.2"},
		},
		Price: &standard.PriceTerms{Currency: "USD", PricePerKg: standard.MustDecimal("410"), Discounts: []standard.Discount{
			{Parameter: "moisture", Unit: "%", Above: standard.MustDecimal("17.5"), UpTo: &to, Percent: &percent, Clause: "5.2"},
		}},
	}
}

func own(id ledger.ID) ledger.RuleSetRef { return ledger.RuleSetRef{RuleSetID: id} }

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.Abs(got-want) > within {
		t.Errorf("%s is %g, by hand it is %g", what, got, want)
	}
}

func daysBetween(t *testing.T, from, to standard.Date) float64 {
	t.Helper()
	a, errA := time.Parse(time.DateOnly, string(from))
	b, errB := time.Parse(time.DateOnly, string(to))
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	return b.Sub(a).Hours() / 24
}

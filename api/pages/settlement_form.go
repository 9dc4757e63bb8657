package pages

import (
	"net/http"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/form"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// settleFormView asks what a buyer found on each container of a dispatch and paid.
type settleFormView struct {
	ID, Path, Title, Mass, When, Paid, Reference, Note string
	// Terms are the outfit's own rule sets that have a price.
	Terms   []choice
	Rows    []settleRow
	Why     string
	Reasons []string
}

// settleRow is a container; what is in it is this outfit's weight until the
// buyer's is typed over it.
type settleRow struct{ ID, Number, OwnNet, Net, Moisture, Colour string }

func (p *pages) settleForm(ctx echo.Context) error {
	var v *settleFormView
	err := p.manage(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		f := request.VoiceFor(ctx, o, b)
		root, e, err := dispatchOf(ctx, b)
		if err != nil {
			return err
		}
		v = settleFormOf(f, b, root, e.Body.(*ledger.Dispatch), nil)
		return nil
	})
	if err != nil {
		return err
	}
	return p.page(ctx, http.StatusOK, "settle.html", v)
}

func settleFormOf(f locale.Voice, b *ledger.Book, root ledger.ID, d *ledger.Dispatch, typed map[string][]string) *settleFormView {
	one := func(name string) string { return strings.Join(typed[name], "") }
	v := &settleFormView{
		ID: uuid.NewString(), Path: dispatchPath(root), Title: season.EntryName(b, root).In(f), Mass: f.Mass,
		When: one("when"), Paid: one("paid"), Reference: one("reference"), Note: one("note"),
	}
	b.InForceOf(ledger.KindRuleSet, func(root ledger.ID, e *ledger.Entry) bool {
		r := e.Body.(*ledger.RuleSet)
		if r.Price != nil {
			chosen := one("terms") == root.String() || typed == nil && b.Root(r.BuyerID) == b.Root(d.BuyerID)
			v.Terms = append(v.Terms, choice{root.String(), r.Name + ", " + r.Price.Currency, chosen})
		}
		return true
	})
	for _, id := range d.Containers {
		fill := ledger.Named[ledger.Fill](b, id)
		of := b.Root(id).String()
		row := settleRow{ID: of, Number: fill.Container, OwnNet: f.Grams(fill.NetG()), Net: ownNet(f, fill), Moisture: one("moisture " + of), Colour: one("colour " + of)}
		if typed != nil {
			row.Net = one("net " + of)
		}
		v.Rows = append(v.Rows, row)
	}
	return v
}

// ownNet is this outfit's net as it stands in the form.
func ownNet(f locale.Voice, fill *ledger.Fill) string {
	return f.Typed(float64(fill.NetG())/f.GramsPerUnit, 3)
}

// newSettlement books what a buyer found and paid.
func (p *pages) newSettlement(ctx echo.Context) error {
	return p.fromForm(ctx, ledger.KindSettlement, "settle.html", func(f locale.Voice, b *ledger.Book, typed map[string][]string) (map[string]any, error) {
		root, e, err := dispatchOf(ctx, b)
		if err != nil {
			return nil, err
		}
		return p.settlementEntry(f, b, root, e.Body.(*ledger.Dispatch), typed)
	}, func(f locale.Voice, b *ledger.Book, typed map[string][]string, why string, reasons []string) (any, error) {
		root, e, err := dispatchOf(ctx, b)
		if err != nil {
			return nil, err
		}
		v := settleFormOf(f, b, root, e.Body.(*ledger.Dispatch), typed)
		v.Why, v.Reasons = why, reasons
		return v, nil
	})
}

// settlementEntry is the entry that a form asks for, as the contract has it. A
// container whose net was left empty is one that the buyer says nothing of.
func (p *pages) settlementEntry(f locale.Voice, b *ledger.Book, dispatch ledger.ID, d *ledger.Dispatch, typed map[string][]string) (map[string]any, error) {
	one := func(name string) string { return strings.TrimSpace(strings.Join(typed[name], "")) }
	at, err := p.typedTime(f, one("when"))
	if err != nil {
		return nil, err
	}
	terms, err := uuid.Parse(one("terms"))
	set := ledger.Named[ledger.RuleSet](b, terms)
	if err != nil || set == nil || set.Price == nil {
		return nil, fault.New(fault.Invalid, "Say by which price it was settled. A price is part of a buyer's limits, in the settings.")
	}
	paid, err := f.TypedMoney(one("paid"), set.Price.Currency)
	if err != nil {
		return nil, fault.New(fault.Invalid, "What was paid: %s", form.SayError(f, err))
	}
	var drums []map[string]any
	for _, id := range d.Containers {
		of := b.Root(id).String()
		drum := map[string]any{"fill_id": of}
		for field, name := range map[string]string{"net_kg": "net ", "moisture_pct": "moisture ", "colour_mm_pfund": "colour "} {
			if one(name+of) == "" {
				continue
			}
			v, err := f.Parse(one(name + of))
			if err != nil {
				return nil, fault.New(fault.Invalid, "Container %s: %s", b.Name(id), form.SayError(f, err))
			}
			drum[field] = form.MeantBy(f, field, v)
		}
		if fill := ledger.Named[ledger.Fill](b, id); one("net "+of) == ownNet(f, fill) {
			drum["net_kg"] = float64(fill.NetG()) / 1000 // to the gram, also in pounds
		}
		if drum["net_kg"] != nil {
			drums = append(drums, drum)
		}
	}
	if len(drums) == 0 {
		return nil, fault.New(fault.Invalid, "The buyer's net of at least one container is needed.")
	}
	value := map[string]any{
		"occurred_at": at, "dispatch_id": dispatch.String(), "paid_minor": paid,
		"rule_set": map[string]any{"rule_set_id": terms.String()}, "drums": drums,
	}
	for _, name := range []string{"reference", "note"} {
		if one(name) != "" {
			value[name] = one(name)
		}
	}
	return value, nil
}

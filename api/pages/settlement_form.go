package pages

import (
	"net/http"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/form"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/season"
)

// settleFormView asks what a buyer found on each container of a dispatch and paid.
type settleFormView struct {
	ID, Path, Title, Mass, When, Paid, Reference, Note string
	// Terms are the outfit's own rule sets that have a price.
	Terms []choice
	Rows  []settleRow
	refusal
}

// settleRow is a container; what is in it is this outfit's weight until the
// buyer's is typed over it.
type settleRow struct{ ID, Number, OwnNet, Net, Moisture, Colour string }

func (p *pages) settleForm(ctx echo.Context) error {
	var f locale.Voice
	var form formView
	err := p.manage(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		root, e, err := dispatchOf(ctx, b)
		if err != nil {
			return err
		}
		f, form = request.VoiceFor(ctx, o, b), settleFormOf(b, root, e.Body.(*ledger.Dispatch), nil)
		return nil
	})
	if err != nil {
		return err
	}
	return p.page(ctx, http.StatusOK, "settle.html", form(f, refusal{}))
}

// settledContainer is a container of a dispatch, whichever version of its filling the
// dispatch names.
type settledContainer struct {
	root ledger.ID
	name string
	fill *ledger.Fill
}

func settledContainers(b *ledger.Book, d *ledger.Dispatch) []settledContainer {
	return wire.Each(d.Containers, func(id ledger.ID) settledContainer {
		return settledContainer{b.Root(id), b.Name(id), ledger.Named[ledger.Fill](b, id)}
	})
}

func settleFormOf(b *ledger.Book, root ledger.ID, d *ledger.Dispatch, typed map[string][]string) formView {
	one := func(name string) string { return strings.Join(typed[name], "") }
	v := &settleFormView{
		ID: uuid.NewString(), Path: dispatchPath(root), When: one("when"), Paid: one("paid"), Reference: one("reference"), Note: one("note"),
	}
	title, containers := season.EntryName(b, root), settledContainers(b, d)
	b.InForceOf(ledger.KindRuleSet, func(root ledger.ID, e *ledger.Entry) bool {
		r := e.Body.(*ledger.RuleSet)
		if r.Price != nil {
			chosen := one("terms") == root.String() || typed == nil && b.Root(r.BuyerID) == b.Root(d.BuyerID)
			v.Terms = append(v.Terms, choice{root.String(), r.Name + ", " + r.Price.Currency, chosen})
		}
		return true
	})
	return func(f locale.Voice, wrong refusal) any {
		v.Title, v.Mass, v.refusal = title.In(f), f.Mass, wrong
		for _, c := range containers {
			of := c.root.String()
			row := settleRow{ID: of, Number: c.fill.Container, OwnNet: f.Grams(c.fill.NetG()), Net: ownNet(f, c.fill), Moisture: one("moisture " + of), Colour: one("colour " + of)}
			if typed != nil {
				row.Net = one("net " + of)
			}
			v.Rows = append(v.Rows, row)
		}
		return v
	}
}

// ownNet is this outfit's net as it stands in the form.
func ownNet(f locale.Voice, fill *ledger.Fill) string {
	return f.Typed(float64(fill.NetG())/f.GramsPerUnit, 3)
}

// newSettlement books what a buyer found and paid.
func (p *pages) newSettlement(ctx echo.Context) error {
	return p.fromForm(ctx, ledger.KindSettlement, "settle.html", func(b *ledger.Book, typed map[string][]string) (formEntry, error) {
		root, e, err := dispatchOf(ctx, b)
		if err != nil {
			return nil, err
		}
		s := sentSettlement{dispatch: root, containers: settledContainers(b, e.Body.(*ledger.Dispatch)), typed: typed}
		if s.terms, err = uuid.Parse(s.one("terms")); err == nil {
			s.set = ledger.Named[ledger.RuleSet](b, s.terms)
		}
		return func(f locale.Voice) (map[string]any, error) { return p.settlementEntry(f, s) }, nil
	}, func(b *ledger.Book, typed map[string][]string) (formView, error) {
		root, e, err := dispatchOf(ctx, b)
		if err != nil {
			return nil, err
		}
		return settleFormOf(b, root, e.Body.(*ledger.Dispatch), typed), nil
	})
}

// sentSettlement is a form of a settlement that was sent, with what the book knows of what
// it names.
type sentSettlement struct {
	dispatch   ledger.ID
	containers []settledContainer
	typed      map[string][]string
	terms      ledger.ID
	// set is nil where terms is no rule set of the outfit.
	set *ledger.RuleSet
}

func (s sentSettlement) one(name string) string {
	return strings.TrimSpace(strings.Join(s.typed[name], ""))
}

// settlementEntry is the entry that a form asks for, as the contract has it.
func (p *pages) settlementEntry(f locale.Voice, s sentSettlement) (map[string]any, error) {
	at, err := p.typedTime(f, s.one("when"))
	if err != nil {
		return nil, err
	}
	if s.set == nil || s.set.Price == nil {
		return nil, fault.New(fault.Invalid, "Say by which price it was settled. A price is part of a buyer's limits, in the settings.")
	}
	paid, err := f.TypedMoney(s.one("paid"), s.set.Price.Currency)
	if err != nil {
		return nil, fault.New(fault.Invalid, "What was paid: %s", form.SayError(f, err))
	}
	drums, err := s.drums(f)
	if err != nil {
		return nil, err
	}
	value := map[string]any{
		"occurred_at": at, "dispatch_id": s.dispatch.String(), "paid_minor": paid,
		"rule_set": map[string]any{"rule_set_id": s.terms.String()}, "drums": drums,
	}
	for _, name := range []string{"reference", "note"} {
		if s.one(name) != "" {
			value[name] = s.one(name)
		}
	}
	return value, nil
}

// drums are what the buyer found, one a container. A container whose net was left empty is
// one that the buyer says nothing of.
func (s sentSettlement) drums(f locale.Voice) (drums []map[string]any, err error) {
	for _, c := range s.containers {
		of := c.root.String()
		drum := map[string]any{"fill_id": of}
		for field, name := range map[string]string{"net_kg": "net ", "moisture_pct": "moisture ", "colour_mm_pfund": "colour "} {
			if s.one(name+of) == "" {
				continue
			}
			v, err := f.Parse(s.one(name + of))
			if err != nil {
				return nil, fault.New(fault.Invalid, "Container %s: %s", c.name, form.SayError(f, err))
			}
			drum[field] = form.MeantBy(f, field, v)
		}
		if s.one("net "+of) == ownNet(f, c.fill) {
			drum["net_kg"] = float64(c.fill.NetG()) / 1000 // to the gram, also in pounds
		}
		if drum["net_kg"] != nil {
			drums = append(drums, drum)
		}
	}
	if len(drums) == 0 {
		return nil, fault.New(fault.Invalid, "The buyer's net of at least one container is needed.")
	}
	return drums, nil
}

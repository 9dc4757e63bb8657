package pages

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/entries"
	"pullbook/api/locale"
	"pullbook/api/pages/form"
	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
	"pullbook/domain/standard"
)

// dispatchFormView asks which containers leave for whom.
type dispatchFormView struct {
	ID, Mass, When, Reference, Note string
	Buyers, Markets                 []choice
	// Prepares is true where it is to be loaded later, on Day; else PreparedID names what is
	// sent off, if somebody prepared it.
	Prepares        bool
	Day, PreparedID string
	// Override is ticked where it goes on a manager's word.
	Override bool
	Lots     []lotToSend
	// Waiting are lots with containers here that nobody released.
	Waiting []lotLink
	refusal
}

// refusal is what was wrong with what came, in words; empty where nothing was.
type refusal struct {
	Why     string
	Reasons []string
}

// refusalOf says why the book refused what a form held. A reason that only repeats the whole
// is left out.
func refusalOf(f locale.Voice, refused *fault.Error) refusal {
	r := refusal{Why: refused.Message.In(f)}
	for _, x := range refused.Fields {
		if said := x.Message.In(f); said != r.Why {
			r.Reasons = append(r.Reasons, said)
		}
	}
	return r
}

type lotLink struct{ Path, Code string }

// lotToSend is a released lot with what of it is here.
type lotToSend struct {
	ID, Code, Product, Path string
	// Here says how many containers are here, and how much.
	Here string
	// Count is how many of it were asked for, whichever, and Most how many there are.
	Count string
	Most  int
	// NotReleased is true where nobody released it yet: it may be prepared all the same.
	NotReleased bool
	// All takes everything; Some means that containers are ticked one by one.
	All, Some  bool
	Containers []containerToSend
}

type containerToSend struct {
	ID, Number, Kind, Net string
	Ticked                bool
}

func (p *pages) dispatchForm(ctx echo.Context) error {
	var f locale.Voice
	var form formView
	err := p.manage(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		f = request.VoiceFor(ctx, o, b)
		form, err = p.dispatchFormOf(b, dispatchAskedFor(b, ctx.QueryParams()))
		return err
	})
	if err != nil {
		return err
	}
	return p.page(ctx, http.StatusOK, "dispatch-form.html", form(f, refusal{}))
}

// dispatchAskedFor is what an address begins the form with: lots, or what a manager prepared.
func dispatchAskedFor(b *ledger.Book, query url.Values) map[string][]string {
	typed := map[string][]string{"all": query["lot"]}
	id, err := uuid.Parse(query.Get("prepared"))
	x := ledger.Named[ledger.PreparedDispatch](b, id)
	if err != nil || x == nil {
		return typed
	}
	for _, c := range x.Containers {
		typed["container"] = append(typed["container"], b.Root(c).String())
	}
	typed["prepared_id"], typed["buyer"] = []string{b.Root(id).String()}, []string{b.Root(x.BuyerID).String()}
	typed["market"], typed["reference"] = []string{x.Market}, []string{x.Reference}
	return typed
}

// dispatchFormOf is the form with what was typed in it.
func (p *pages) dispatchFormOf(b *ledger.Book, typed map[string][]string) (formView, error) {
	return p.dispatchFormFor(b, typed, false)
}

// dispatchFormFor is the form of a dispatch, or of one that is prepared.
func (p *pages) dispatchFormFor(b *ledger.Book, typed map[string][]string, prepares bool) (formView, error) {
	library, err := standard.Published()
	if err != nil {
		return nil, err
	}
	markets := library.AllInForce(reports.OnDay(p.Service, b, nil))
	one := func(name string) string { return strings.Join(typed[name], "") }
	v := &dispatchFormView{ID: uuid.NewString(), When: one("when"), Reference: one("reference"), Note: one("note"), Override: one("override") != "", Prepares: prepares, Day: one("day"), PreparedID: one("prepared_id")}
	b.InForceOf(ledger.KindBuyer, func(root ledger.ID, e *ledger.Entry) bool {
		v.Buyers = append(v.Buyers, choice{root.String(), e.Body.(*ledger.Buyer).Name, one("buyer") == root.String()})
		return true
	})
	var offered []*season.LotReport
	for r := range season.EveryLot(b) {
		switch {
		case r.HeldG == 0:
		case b.State().LotStatus(r.LotID).Status != ledger.StatusReleased && !prepares:
			v.Waiting = append(v.Waiting, lotLink{lotPath(r.LotID), r.Code})
		default:
			offered = append(offered, r)
		}
	}
	released := map[ledger.ID]bool{}
	for _, r := range offered {
		released[r.LotID] = b.State().LotStatus(r.LotID).Status == ledger.StatusReleased
	}
	return func(f locale.Voice, wrong refusal) any {
		v.Mass, v.refusal = f.Mass, wrong
		for _, set := range markets {
			if set.Form == standard.FormLimits {
				v.Markets = append(v.Markets, choice{set.Family, set.Said().In(f), one("market") == set.Family})
			}
		}
		for _, r := range offered {
			lot := lotToSendOf(f, r, typed)
			lot.NotReleased = !released[r.LotID]
			v.Lots = append(v.Lots, lot)
		}
		return v
	}, nil
}

// lotToSendOf offers what is here of a released lot, with what was ticked.
func lotToSendOf(f locale.Voice, r *season.LotReport, typed map[string][]string) lotToSend {
	lot := lotToSend{ID: r.LotID.String(), Code: r.Code, Product: r.Product, Path: lotPath(r.LotID), All: slices.Contains(typed["all"], r.LotID.String())}
	lot.Count = strings.Join(typed[countOf+lot.ID], "")
	for _, c := range r.Containers {
		if c.State != season.Held {
			continue
		}
		lot.Most++
		ticked := slices.Contains(typed["container"], c.ID.String())
		lot.Some = lot.Some || ticked
		lot.Containers = append(lot.Containers, containerToSend{c.ID.String(), c.Number, c.Kind, f.Grams(c.HeldG), ticked})
	}
	lot.Here = f.Say("All that is here: %s, %s", message.Plural{N: float64(len(lot.Containers)), One: "%s container", Other: "%s containers"}, message.Kg(float64(r.HeldG)/1000))
	return lot
}

// containersOf are those that a form takes: all of some lots, and those ticked.
func containersOf(b *ledger.Book, typed map[string][]string) []string {
	out := slices.Clone(typed["container"])
	for _, id := range typed["all"] {
		lot, err := uuid.Parse(id)
		if err != nil {
			continue
		}
		r, err := season.Lot(b, lot)
		if err != nil {
			continue
		}
		for _, c := range r.Containers {
			if c.State == season.Held && !slices.Contains(out, c.ID.String()) {
				out = append(out, c.ID.String())
			}
		}
	}
	return out
}

// newDispatch books what a form sends off.
func (p *pages) newDispatch(ctx echo.Context) error {
	return p.fromForm(ctx, ledger.KindDispatch, "dispatch-form.html", func(b *ledger.Book, typed map[string][]string) (formEntry, error) {
		containers := containersOf(b, typed)
		return func(f locale.Voice) (map[string]any, error) { return p.dispatchEntry(f, containers, typed) }, nil
	}, p.dispatchFormOf)
}

// dispatchEntry is the entry that a form asks for, as the contract has it.
func (p *pages) dispatchEntry(f locale.Voice, containers []string, typed map[string][]string) (map[string]any, error) {
	one := func(name string) string { return strings.TrimSpace(strings.Join(typed[name], "")) }
	if len(containers) == 0 {
		return nil, fault.New(fault.Invalid, "Nothing is chosen: take all of a lot, or tick containers.")
	}
	if one("buyer") == "" {
		return nil, fault.New(fault.Invalid, "Say who the buyer is.")
	}
	at, err := p.typedTime(f, one("when"))
	if err != nil {
		return nil, err
	}
	value := map[string]any{"occurred_at": at, "buyer_id": one("buyer"), "containers": containers}
	if one("override") != "" {
		value["override"] = true
	}
	for _, name := range []string{"market", "reference", "note", "prepared_id"} {
		if one(name) != "" {
			value[name] = one(name)
		}
	}
	return value, nil
}

// typedTime is when something happened, as the contract has it; left empty it is
// now, to the second: what was decided this very minute comes before it.
func (p *pages) typedTime(f locale.Voice, typed string) (string, error) {
	if typed == "" {
		return p.Now().Format(time.RFC3339Nano), nil
	}
	at, err := form.NewMaker(f, form.Things{}).Moment(typed)
	return at.Format(time.RFC3339Nano), err
}

// takenForm takes from a book what a form of an entry is about; typed is what was typed in
// it. What it returns reads or shows the form once the book is free.
type takenForm[T any] func(b *ledger.Book, typed map[string][]string) (T, error)

type (
	// formEntry reads a form: it makes the entry that the form asks for.
	formEntry func(locale.Voice) (map[string]any, error)
	// formView shows a form with what was typed, and with what was wrong with that.
	formView func(locale.Voice, refusal) any
)

// fromForm makes an entry of what a manager's form holds and records it. What is refused
// is shown again with why.
func (p *pages) fromForm(ctx echo.Context, kind ledger.Kind, template string, entry takenForm[formEntry], again takenForm[formView]) error {
	typed, err := ctx.FormParams()
	if err != nil {
		return fault.New(fault.Malformed, "The form did not arrive whole. Please send it again.")
	}
	var who db.Principal
	var f locale.Voice
	var read formEntry
	var value map[string]any
	had := false
	var refused error
	err = p.manage(ctx, func(w db.Principal, o db.Outfit, b *ledger.Book) error {
		who = w
		if id, err := uuid.Parse(typed.Get("id")); err == nil {
			e, _ := b.Entry(id)
			had = e != nil // sent twice
		}
		if !had {
			f = request.VoiceFor(ctx, o, b)
			read, refused = entry(b, typed)
		}
		return nil
	})
	if err != nil {
		return err
	}
	if !had && refused == nil {
		value, refused = read(f)
	}
	if !had && refused == nil {
		value["id"], value["via"] = typed.Get("id"), "paper"
		refused = entries.Record(p.Service, ctx, who, kind, value)
	}
	var x *fault.Error
	switch {
	case errors.As(refused, &x) && (x.Code == fault.Invalid || x.Code == fault.Conflict || x.Code == fault.Malformed || x.Code == fault.NotFound):
		return p.formRefused(ctx, x, template, typed, again)
	case refused != nil:
		return refused
	}
	return ctx.Redirect(http.StatusSeeOther, p.bookedAt(kind, typed.Get("id"), value))
}

// bookedAt is where what was booked is shown.
func (p *pages) bookedAt(kind ledger.Kind, id string, value map[string]any) string {
	if kind == ledger.KindPreparedDispatch {
		return preparedPath + "/" + id
	}
	if kind == ledger.KindDispatch {
		return recordedOn(dispatchesPath+"/"+id, id)
	}
	if of, ok := value["dispatch_id"].(string); ok {
		return recordedOn(dispatchesPath+"/"+of, id)
	}
	return recordedPath(id, id)
}

func (p *pages) formRefused(ctx echo.Context, refused *fault.Error, template string, typed map[string][]string, again takenForm[formView]) error {
	var f locale.Voice
	var form formView
	err := p.manage(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		f = request.VoiceFor(ctx, o, b)
		form, err = again(b, typed)
		return err
	})
	if err != nil {
		return err
	}
	return p.page(ctx, request.ProblemOf[refused.Code].Status, template, form(f, refusalOf(f, refused)))
}

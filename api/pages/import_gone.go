package pages

import (
	"net/http"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/certificate"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// goneRoute is where it is said what became of the containers of an old sheet that were
// never sold.
const goneRoute = request.ImportPath + "/:id/gone"

func gonePath(importID ledger.ID) string {
	return request.ImportPath + "/" + importID.String() + "/gone"
}

// mostInDispatch is how many containers one dispatch may have.
const mostInDispatch = 2000

// goneView asks what became of them: they are still here, or went to somebody.
type goneView struct {
	ID, Path, Import, File, Mass string
	// Count is 0 where all of them are gone, or it was said that they are here.
	Count       int
	Net, Filled string
	Flag        string
	Buyers      []choice
	Day, Note   string
	refusal
}

func (p *pages) gone(ctx echo.Context) error {
	var f locale.Voice
	var form formView
	err := p.manage(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		f = request.VoiceFor(ctx, o, b)
		form, err = goneFormOf(ctx, b, nil)
		return err
	})
	if err != nil {
		return err
	}
	return p.page(ctx, http.StatusOK, "import-gone.html", form(f, refusal{}))
}

// goneOf is the import that an address names, with its containers that are here unsold.
func goneOf(ctx echo.Context, b *ledger.Book) (root ledger.ID, i *ledger.Import, unsold []ledger.ID, err error) {
	id, err := uuid.Parse(ctx.Param("id"))
	if err == nil {
		i = ledger.Named[ledger.Import](b, id)
	}
	if i == nil {
		return root, nil, nil, fault.New(fault.NotFound, "The outfit has no such import.")
	}
	return b.Root(id), i, b.Unsold(id), nil
}

func goneFormOf(ctx echo.Context, b *ledger.Book, typed map[string][]string) (formView, error) {
	root, i, unsold, err := goneOf(ctx, b)
	if err != nil {
		return nil, err
	}
	one := func(name string) string {
		if len(typed[name]) == 0 {
			return ""
		}
		return typed[name][0]
	}
	v := &goneView{ID: uuid.NewString(), Path: gonePath(root), Import: root.String(), File: i.File, Count: len(unsold), Flag: string(ledger.OldStock), Day: one("day"), Note: one("note")}
	b.InForceOf(ledger.KindBuyer, func(root ledger.ID, e *ledger.Entry) bool {
		v.Buyers = append(v.Buyers, choice{root.String(), e.Body.(*ledger.Buyer).Name, one("buyer") == root.String()})
		return true
	})
	first, last := filledBetween(b, unsold)
	net := netOf(b, unsold)
	return func(f locale.Voice, wrong refusal) any {
		v.Mass, v.Net, v.refusal = f.Mass, f.Grams(net), wrong
		if v.Count > 0 {
			v.Filled = certificate.Span(f, first, last)
		}
		return v
	}, nil
}

// filledBetween are the first and the last instant at which containers were filled.
func filledBetween(b *ledger.Book, containers []ledger.ID) (first, last time.Time) {
	for _, id := range containers {
		e := b.InForce(id)
		if e == nil {
			continue
		}
		if first.IsZero() || e.OccurredAt.Before(first) {
			first = e.OccurredAt
		}
		if e.OccurredAt.After(last) {
			last = e.OccurredAt
		}
	}
	return first, last
}

// newGone makes one dispatch of all of them, as left before the book began.
func (p *pages) newGone(ctx echo.Context) error {
	return p.fromForm(ctx, ledger.KindDispatch, "import-gone.html", func(b *ledger.Book, typed map[string][]string) (formEntry, error) {
		_, _, unsold, err := goneOf(ctx, b)
		if err != nil {
			return nil, err
		}
		unsold = unsold[:min(len(unsold), mostInDispatch)]
		_, last := filledBetween(b, unsold)
		zone := b.Location()
		return func(f locale.Voice) (map[string]any, error) { return p.goneEntry(f, unsold, last.In(zone), typed) }, nil
	}, func(b *ledger.Book, typed map[string][]string) (formView, error) { return goneFormOf(ctx, b, typed) })
}

func (p *pages) goneEntry(f locale.Voice, unsold []ledger.ID, last time.Time, typed map[string][]string) (map[string]any, error) {
	one := func(name string) string {
		if len(typed[name]) == 0 {
			return ""
		}
		return typed[name][0]
	}
	switch day := one("day"); {
	case len(unsold) == 0:
		return nil, fault.New(fault.Invalid, "None of these containers is here any more.")
	case one("buyer") == "":
		return nil, fault.New(fault.Invalid, "Say who the buyer is.")
	case one("note") == "":
		return nil, fault.New(fault.Invalid, "Say in a few words how it is known that they are gone.")
	case day < last.Format(time.DateOnly):
		return nil, fault.New(fault.Invalid, "The last of them was filled on %s: give a day after that.", message.Day(last))
	default:
		at, err := p.typedTime(f, day+"T23:00")
		if err != nil {
			return nil, err
		}
		var containers []string
		for _, id := range unsold {
			containers = append(containers, id.String())
		}
		return map[string]any{"occurred_at": at, "buyer_id": one("buyer"), "containers": containers, "before_book": true, "note": one("note")}, nil
	}
}

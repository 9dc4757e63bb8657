package pages

import (
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/season"
)

const (
	preparePath  = dispatchesPath + "/prepare"
	preparedPath = dispatchesPath + "/prepared"
)

// preparedRow is a dispatch that was prepared and not loaded yet.
type preparedRow struct {
	Path, Day, Buyer, Reference string
	Asked                       int
}

// preparedRows lists what waits to be loaded, the earliest day first.
func preparedRows(b *ledger.Book) (out []func(locale.Voice) preparedRow) {
	for _, e := range b.Prepared() {
		p := e.Body.(*ledger.PreparedDispatch)
		row := preparedRow{Path: preparedPath + "/" + b.Root(e.ID).String(), Buyer: b.Name(p.BuyerID), Reference: p.Reference, Asked: p.Asked()}
		out = append(out, func(f locale.Voice) preparedRow {
			row.Day = dayOf(f, p.LeavesOn)
			return row
		})
	}
	return out
}

// dayOf is a day of the outfit's calendar as the reader writes it.
func dayOf(f locale.Voice, d ledger.Date) string {
	return message.F("%s", message.Date(d)).In(f)
}

// preparedView is what is to be loaded, with what the door would say of it now.
type preparedView struct {
	Title, Day, Buyer, Reference, Note, By, Mass string
	Entry                                        entryLink
	Manages                                      bool
	// SendPath sends it off on the page; LoadedPath leads to the dispatch that loaded it.
	SendPath, LoadedPath string
	Asked                int
	Containers           []preparedContainer
	Lots                 []preparedLot
	Advice               []string
}

type preparedContainer struct{ Number, Net, Lot, LotPath, Stays string }

type preparedLot struct {
	Code, Path string
	Count      int
}

// preparedPage shows one that was prepared, also after it was loaded.
func (p *pages) preparedPage(ctx echo.Context) error {
	return p.kept(ctx, "prepared.html", func(who db.Principal, b *ledger.Book) (wording, error) {
		id, err := uuid.Parse(ctx.Param("id"))
		e := b.InForce(id)
		if err != nil || e == nil || e.Kind != ledger.KindPreparedDispatch {
			return nil, fault.New(fault.NotFound, "The book has no such prepared dispatch. A manager may have withdrawn it; the journal has what became of it.")
		}
		root, x := b.Root(id), e.Body.(*ledger.PreparedDispatch)
		v := &preparedView{Buyer: b.Name(x.BuyerID), Reference: x.Reference, Note: x.Note, By: e.RecordedBy, Manages: who.Role == db.Manager, Asked: x.Asked()}
		for _, lot := range x.Lots {
			v.Lots = append(v.Lots, preparedLot{b.Name(lot.LotID), lotPath(b.Root(lot.LotID)), lot.Count})
		}
		var advice quality.Advice
		if by := b.LoadedBy(root); by != nil {
			v.LoadedPath = dispatchPath(b.Root(by.ID))
		} else {
			v.SendPath = dispatchesPath + "/new?prepared=" + root.String()
			advice = quality.AdviseOn(b, x, p.Now())
		}
		title, l := season.EntryName(b, root), links{}
		l.add(b, root)
		containers, says := preparedContainers(b, x, advice)
		return func(f locale.Voice) any {
			v.Title, v.Day, v.Mass, v.Entry = title.In(f), dayOf(f, x.LeavesOn), f.Mass, l.to(f, root)
			for _, c := range containers {
				v.Containers = append(v.Containers, c(f))
			}
			for _, s := range says {
				v.Advice = append(v.Advice, s.In(f))
			}
			return v
		}, nil
	})
}

// preparedContainers are the containers that were prepared by name, and what the door
// would say of the rest.
func preparedContainers(b *ledger.Book, x *ledger.PreparedDispatch, advice quality.Advice) (rows []func(locale.Voice) preparedContainer, says []message.Text) {
	stays := map[ledger.ID]message.Text{}
	for _, s := range advice.Staying {
		stays[s.FillID] = s.Why
	}
	for _, id := range x.Containers {
		fill := ledger.Named[ledger.Fill](b, id)
		if fill == nil {
			continue // it cannot be read any more
		}
		row, why := preparedContainer{Number: fill.Container, Lot: b.Name(fill.LotID), LotPath: lotPath(b.Root(fill.LotID))}, stays[b.Root(id)]
		delete(stays, b.Root(id))
		rows = append(rows, func(f locale.Voice) preparedContainer {
			row.Net = f.Grams(fill.NetG())
			if !why.IsEmpty() {
				row.Stays = why.In(f)
			}
			return row
		})
	}
	says = advice.Says(b)
	if n := len(stays); n > 0 {
		says = append(says, message.F("Of the lots that are counted, %s may not leave as they are now.", message.Plural{N: float64(n), One: "%s container", Other: "%s containers"}))
	}
	return rows, says
}

func (p *pages) prepareForm(ctx echo.Context) error {
	var f locale.Voice
	var form formView
	err := p.manage(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) (err error) {
		f = request.VoiceFor(ctx, o, b)
		asked := ctx.QueryParams()
		form, err = p.prepareFormOf(b, map[string][]string{"all": asked["lot"], "container": asked["container"], "buyer": asked["buyer"], "reference": asked["reference"]})
		return err
	})
	if err != nil {
		return err
	}
	return p.page(ctx, http.StatusOK, "dispatch-form.html", form(f, refusal{}))
}

// prepareFormOf is the form of a dispatch that is to be loaded later.
func (p *pages) prepareFormOf(b *ledger.Book, typed map[string][]string) (formView, error) {
	return p.dispatchFormFor(b, typed, true)
}

// newPrepared books what is to be loaded.
func (p *pages) newPrepared(ctx echo.Context) error {
	return p.fromForm(ctx, ledger.KindPreparedDispatch, "dispatch-form.html", func(b *ledger.Book, typed map[string][]string) (formEntry, error) {
		containers := containersOf(b, typed)
		return func(f locale.Voice) (map[string]any, error) { return p.preparedEntry(f, containers, typed) }, nil
	}, p.prepareFormOf)
}

// countOf begins the names of the fields that ask how many of a lot.
const countOf = "count-"

// preparedEntry is the entry that a form asks for, as the contract has it.
func (p *pages) preparedEntry(f locale.Voice, containers []string, typed map[string][]string) (map[string]any, error) {
	one := func(name string) string { return strings.TrimSpace(strings.Join(typed[name], "")) }
	var lots []map[string]any
	for name := range typed {
		lot, counts := strings.CutPrefix(name, countOf)
		if !counts || one(name) == "" {
			continue
		}
		n, err := strconv.Atoi(one(name))
		if err != nil || n < 1 {
			return nil, fault.New(fault.Invalid, "How many of a lot is a whole number from 1 on; %s came.", message.Quoted(one(name)))
		}
		lots = append(lots, map[string]any{"lot_id": lot, "count": n})
	}
	switch {
	case len(containers) == 0 && len(lots) == 0:
		return nil, fault.New(fault.Invalid, "Nothing is chosen: take all of a lot, tick containers, or say how many of a lot.")
	case one("buyer") == "":
		return nil, fault.New(fault.Invalid, "Say who the buyer is.")
	case one("day") == "":
		return nil, fault.New(fault.Invalid, "Say on which day it is to leave.")
	}
	value := map[string]any{"occurred_at": p.Now().Format(time.RFC3339Nano), "buyer_id": one("buyer"), "leaves_on": one("day")}
	if len(containers) > 0 {
		value["containers"] = containers
	}
	if len(lots) > 0 {
		value["lots"] = lots
	}
	for _, name := range []string{"market", "reference", "note"} {
		if one(name) != "" {
			value[name] = one(name)
		}
	}
	return value, nil
}

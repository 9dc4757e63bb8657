package pages

import (
	"slices"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/quality"
	"pullbook/domain/season"
)

const dispatchesPath = "/dispatches"

func dispatchPath(dispatch ledger.ID) string { return dispatchesPath + "/" + dispatch.String() }

// routeDispatches serves what left for buyers, and what they found and paid.
func (p *pages) routeDispatches(e *echo.Echo, squeezed echo.MiddlewareFunc) {
	e.GET(dispatchesPath, p.dispatches, squeezed)
	e.GET(dispatchesPath+"/new", p.dispatchForm, squeezed)
	e.POST(dispatchesPath+"/new", p.newDispatch, squeezed)
	e.GET(preparePath, p.prepareForm, squeezed)
	e.POST(preparePath, p.newPrepared, squeezed)
	e.GET(preparedPath+"/:id", p.preparedPage, squeezed)
	e.GET(dispatchesPath+"/:id", p.dispatch, squeezed)
	e.GET(dispatchesPath+"/:id/settle", p.settleForm, squeezed)
	e.POST(dispatchesPath+"/:id/settle", p.newSettlement, squeezed)
}

// dispatchesView is what left, the latest first.
type dispatchesView struct {
	Mass    string
	Manages bool
	// Prepared wait to be loaded.
	Prepared []preparedRow
	Rows     []dispatchRow
	// Any: something left, whatever is asked for.
	Any  bool
	Sift siftView
}

// dispatchRow is one dispatch; Paid is empty while no settlement is in the book.
type dispatchRow struct {
	Path, When, Buyer, Lots, Reference, Net, Paid string
	Containers                                    int
}

func (p *pages) dispatches(ctx echo.Context) error {
	asked, err := siftingAsked(ctx)
	if err != nil {
		return err
	}
	return p.kept(ctx, "dispatches.html", func(who db.Principal, b *ledger.Book) (wording, error) {
		var rows []func(locale.Voice) dispatchRow
		of := 0
		settled, waiting := settlementsBy(b), preparedRows(b)
		b.InForceOf(ledger.KindDispatch, func(root ledger.ID, e *ledger.Entry) bool {
			if of++; !asked.day(e.OccurredAt.In(b.Location())) {
				return true
			}
			d := e.Body.(*ledger.Dispatch)
			row, net := dispatchRow{Path: dispatchPath(root), Buyer: b.Name(d.BuyerID), Reference: d.Reference, Containers: len(d.Containers), Lots: lotsSent(b, d)}, netOf(b, d.Containers)
			var paid *quality.Settled
			for _, id := range settled[root] {
				if s, err := quality.SettlementOf(b, id); err == nil { // else its terms cannot be read any more
					paid = s
				}
			}
			rows = append(rows, func(f locale.Voice) dispatchRow {
				if row.When, row.Net = f.Day(e.OccurredAt), f.Grams(net); paid != nil {
					row.Paid = f.Money(paid.Paid, paid.Currency)
				}
				return row
			})
			return true
		})
		return func(f locale.Voice) any {
			v := &dispatchesView{Mass: f.Mass, Manages: who.Role == db.Manager, Any: of > 0}
			for _, row := range waiting {
				v.Prepared = append(v.Prepared, row(f))
			}
			for _, said := range slices.Backward(rows) {
				if row := said(f); asked.holds(row.When, row.Buyer, row.Lots, row.Reference) {
					v.Rows = append(v.Rows, row)
				}
			}
			v.Sift = asked.view(f, dispatchesPath, len(v.Rows), of)
			return v
		}, nil
	})
}

// settlementsBy are the settlements that stand, by the dispatch they are of.
func settlementsBy(b *ledger.Book) map[ledger.ID][]ledger.ID {
	out := map[ledger.ID][]ledger.ID{}
	b.InForceOf(ledger.KindSettlement, func(root ledger.ID, e *ledger.Entry) bool {
		of := b.Root(e.Body.(*ledger.Settlement).DispatchID)
		out[of] = append(out[of], root)
		return true
	})
	return out
}

func netOf(b *ledger.Book, containers []ledger.ID) (grams int64) {
	for _, id := range containers {
		grams += ledger.Named[ledger.Fill](b, id).NetG()
	}
	return grams
}

// lotsSent names the lots of a dispatch, each once.
func lotsSent(b *ledger.Book, d *ledger.Dispatch) string {
	var names []string
	for _, id := range d.Containers {
		if name := b.Name(ledger.Named[ledger.Fill](b, id).LotID); !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return strings.Join(names, ", ")
}

// dispatchView is one dispatch with what the buyer found.
type dispatchView struct {
	// Elsewhere is nil except right after the dispatch or a settlement was recorded.
	Elsewhere                                                *elsewhereView
	Path, Mass, Title, When, Buyer, Reference, Note, Net, By string
	Manages, Stands, Override, BeforeBook                    bool
	Judged                                                   []judgedLot
	Entry                                                    entryLink
	Containers                                               []dispatchedContainer
	// PreparedPath leads to what a manager prepared of it, of Asked containers; empty where nobody did.
	PreparedPath string
	Asked        int
	Settlements  []settlementView
}

// judgedLot is how the containers of one lot stood against one rule set as they left.
type judgedLot struct {
	Lot, LotPath, RuleSet string
	mark
	NotMet []string
}

type dispatchedContainer struct{ Number, Kind, Net, Lot, LotPath string }

// settlementView sets what a buyer found and paid beside the outfit's own figures.
type settlementView struct {
	Entry                                 entryLink
	When, Terms, Paid, ByOwn, ByBuyer     string
	ShortOfOwn, ShortOfBuyer, NotReported string
	OwnNet, BuyerNet                      string
	Drums                                 []settlementDrum
}

type settlementDrum struct {
	Number, OwnNet, BuyerNet, OwnMoisture, BuyerMoisture, OwnColour, BuyerColour, ByOwn, ByBuyer string
	Differences                                                                                  []string
}

func (p *pages) dispatch(ctx echo.Context) error {
	reply, err := p.replyShown(ctx)
	if err != nil {
		return err
	}
	return p.kept(ctx, "dispatch.html", func(who db.Principal, b *ledger.Book) (wording, error) {
		root, e, err := dispatchOf(ctx, b)
		if err != nil {
			return nil, err
		}
		d := e.Body.(*ledger.Dispatch)
		v := &dispatchView{
			Path: dispatchPath(root), Buyer: b.Name(d.BuyerID), Reference: d.Reference, Note: d.Note, By: e.RecordedBy, Manages: who.Role == db.Manager, Override: d.Override, BeforeBook: d.BeforeBook,
		}
		if x := ledger.Named[ledger.PreparedDispatch](b, d.PreparedID); x != nil {
			v.PreparedPath, v.Asked = preparedPath+"/"+b.Root(d.PreparedID).String(), x.Asked()
		}
		for _, x := range d.Judged {
			v.Judged = append(v.Judged, judgedLot{Lot: b.Name(x.LotID), LotPath: lotPath(x.LotID)})
		}
		title, net, l := season.EntryName(b, root), netOf(b, d.Containers), links{}
		l.add(b, root)
		var fills []*ledger.Fill
		for _, id := range d.Containers {
			fill := ledger.Named[ledger.Fill](b, id)
			fills = append(fills, fill)
			v.Containers = append(v.Containers, dispatchedContainer{
				Number: fill.Container, Kind: b.Name(fill.ContainerKindID), Lot: b.Name(fill.LotID), LotPath: lotPath(b.Root(fill.LotID)),
			})
		}
		var settled []*quality.Settled
		for _, id := range settlementsBy(b)[root] {
			s, err := quality.SettlementOf(b, id)
			if err != nil {
				return nil, err
			}
			l.add(b, s.Entry)
			settled = append(settled, s)
		}
		return func(f locale.Voice) any {
			v.Elsewhere = elsewhereViewOf(f, reply)
			v.Mass, v.Title, v.When, v.Net, v.Entry = f.Mass, title.In(f), f.Minute(e.OccurredAt), f.Grams(net), l.to(f, root)
			for i, x := range d.Judged {
				v.Judged[i].RuleSet, v.Judged[i].mark = x.SaidName().In(f), outcome(f, x.Outcome)
				for _, line := range x.NotMet {
					v.Judged[i].NotMet = append(v.Judged[i].NotMet, line.Said().In(f))
				}
			}
			for i, fill := range fills {
				v.Containers[i].Net = f.Grams(fill.NetG())
			}
			for _, s := range settled {
				v.Settlements = append(v.Settlements, settlementOf(f, l, s))
			}
			return v
		}, nil
	})
}

// dispatchOf is the dispatch in the address.
func dispatchOf(ctx echo.Context, b *ledger.Book) (ledger.ID, *ledger.Entry, error) {
	id, err := uuid.Parse(ctx.Param("id"))
	if err == nil {
		if e := b.InForce(id); e != nil && e.Kind == ledger.KindDispatch {
			return b.Root(id), e, nil
		}
	}
	return id, nil, fault.New(fault.NotFound, "The book has no such dispatch.")
}

func settlementOf(f locale.Voice, l links, s *quality.Settled) settlementView {
	v := settlementView{
		Entry: l.to(f, s.Entry), Terms: s.Terms, Paid: f.Money(s.Paid, s.Currency),
		OwnNet: f.Grams(s.OwnNetG), BuyerNet: f.Grams(s.BuyerNetG), NotReported: strings.Join(s.NotReported, ", "),
	}
	if e := l[s.Entry]; e != nil {
		v.When = f.Day(e.OccurredAt)
	}
	v.ByOwn, v.ShortOfOwn = owed(f, s.ByOwn, s.Paid, s.Currency)
	v.ByBuyer, v.ShortOfBuyer = owed(f, s.ByBuyer, s.Paid, s.Currency)
	for _, d := range s.Drums {
		row := settlementDrum{
			Number: d.Container, OwnNet: f.Grams(d.OwnNetG), BuyerNet: f.Grams(d.BuyerNetG), OwnMoisture: f.Percent(d.OwnMoisturePct), BuyerMoisture: f.Percent(d.BuyerMoisturePct),
			OwnColour: f.Percent(d.OwnColour), BuyerColour: f.Percent(d.BuyerColour), Differences: f.SayEach(d.Differences),
		}
		row.ByOwn, _ = owed(f, d.ByOwn, 0, s.Currency)
		row.ByBuyer, _ = owed(f, d.ByBuyer, 0, s.Currency)
		v.Drums = append(v.Drums, row)
	}
	return v
}

// owed is what terms come to, and how much less was paid; nothing where a figure
// that the price asks for is missing.
func owed(f locale.Voice, minor *int64, paid int64, currency string) (comesTo, short string) {
	if minor == nil {
		return locale.Missing, locale.Missing
	}
	return f.Money(*minor, currency), f.Money(*minor-paid, currency)
}

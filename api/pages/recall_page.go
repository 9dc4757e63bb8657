package pages

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"github.com/labstack/echo/v4"

	"pullbook/api/locale"
	"pullbook/api/pages/certificate"
	"pullbook/api/pages/chart"
	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/trace"
)

const (
	recallPath        = "/recall"
	recallCSVPath     = recallPath + "/sheet.csv"
	recallDrawingPath = recallPath + "/drawing.svg"
)

// routeRecall serves the recall sheet as a page to print, its table for a
// spreadsheet and its drawing.
func (p *pages) routeRecall(e *echo.Echo, squeezed echo.MiddlewareFunc) {
	e.GET(recallPath, p.recallPage, squeezed)
	e.GET(recallCSVPath, p.recallSheet, squeezed)
	e.GET(recallDrawingPath, p.recallDrawing, squeezed)
}

// recallView is a recall sheet as the page shows it.
type recallView struct {
	Groups []recallGroup
	Day    string
	Pulled bool
	AsOf   string
	Mass   string
	// Name is empty where nothing was asked for yet.
	Name, Through, Printed string
	// Total is all honey of the subject, Sums where it is.
	Total string
	Sums  []recallSum
	// OnHand and Sent are containers, HeldNet and SentNet their whole honey.
	OnHand, Sent, Elsewhere recallTable
	HeldNet, SentNet        string
	OnHandCount, SentCount  string
	Tanks, Buyers           []recallRow
	CSV, Drawing            string
	Bands                   []bandRow
	// NotDrawn is empty where all is drawn.
	NotDrawn string
}

type recallGroup struct {
	Name    string
	Choices []seasonChoice
}

// recallTable is a table of containers, with what it is called.
type recallTable struct {
	Label string
	Rows  []recallRow
}

type recallRow struct{ Name, Lot, Net, Share, Least, Most, When, State string }

type recallSum struct{ Name, Mass string }

type bandRow struct{ From, To, Mass string }

// recalled is the subject that a page's query asks for; false where it asks for
// none.
func recalled(ctx echo.Context, b *ledger.Book) (trace.Subject, bool, error) {
	of := ctx.QueryParam("of")
	if of == "" {
		of = ctx.QueryParam("day")
	}
	if of == "" {
		return trace.Subject{}, false, nil
	}
	subject, err := reports.SubjectOf(b, of, ctx.QueryParam("pulled") != "")
	return subject, true, err
}

// recallOf looks at what a page's query asks to be recalled.
func (p *pages) recallOf(ctx echo.Context, f func(db.Outfit, *ledger.Book, *trace.Tracer, trace.Subject, bool) error) error {
	return p.lookAsOf(ctx, func(_ db.Principal, o db.Outfit, b *ledger.Book) error {
		subject, any, err := recalled(ctx, b)
		if err != nil {
			return err
		}
		return f(o, b, reports.Tracer(p.Service, ctx, o, b), subject, any)
	})
}

func (p *pages) recallPage(ctx echo.Context) error {
	v := &recallView{Day: ctx.QueryParam("day"), Pulled: ctx.QueryParam("pulled") != "", AsOf: ctx.QueryParam("as_of")}
	err := p.recallOf(ctx, func(o db.Outfit, b *ledger.Book, t *trace.Tracer, s trace.Subject, any bool) error {
		f := request.VoiceFor(ctx, o, b)
		v.Mass, v.Groups = f.Mass, recallGroups(f, b, s)
		if !any {
			return nil
		}
		d, err := reports.DrawingOf(t, s)
		if err != nil {
			return err
		}
		v.sheet(f, t.Forward(s))
		v.Name = s.Said(b).In(f)
		v.draw(f, d)
		v.Printed = f.Minute(p.Now())
		query := url.Values{"as_of": {strconv.FormatInt(b.Len(), 10)}}
		for _, name := range []string{"of", "day", "pulled"} {
			if value := ctx.QueryParam(name); value != "" {
				query.Set(name, value)
			}
		}
		v.CSV, v.Drawing = recallCSVPath+"?"+query.Encode(), recallDrawingPath+"?"+query.Encode()
		return nil
	})
	if err != nil {
		return err
	}
	return p.page(ctx, http.StatusOK, "recall.html", v)
}

// recallGroups are the things that a recall may start from.
func recallGroups(f locale.Voice, b *ledger.Book, chosen trace.Subject) []recallGroup {
	var out []recallGroup
	for _, g := range []struct {
		name string
		kind ledger.Kind
	}{{f.Say("Yards"), ledger.KindYard}, {f.Say("Tanks"), ledger.KindTank}, {f.Say("Lots"), ledger.KindLot}, {f.Say("Runs"), ledger.KindRun}} {
		group := recallGroup{Name: g.name}
		b.InForceOf(g.kind, func(root ledger.ID, _ *ledger.Entry) bool {
			group.Choices = append(group.Choices, seasonChoice{root.String(), b.Name(root), root == chosen.Place.ID})
			return true
		})
		if len(group.Choices) > 0 {
			out = append(out, group)
		}
	}
	return out
}

func (v *recallView) sheet(f locale.Voice, r *trace.Forward) {
	v.OnHand.Label, v.Sent.Label, v.Elsewhere.Label = f.Say("containers on hand"), f.Say("containers dispatched"), f.Say("containers emptied")
	v.Through, v.Total = f.Count(int(r.Through)), f.Grams(r.TotalG)
	for _, c := range r.Containers {
		row := amountRow(f, c.Of)
		row.Name, row.Lot, row.Net, row.State = c.Number, c.Lot, f.Grams(c.NetG), certificate.ContainerState(f, string(c.State))
		if c.Buyer != "" {
			row.State = f.Say("%s to %s", row.State, c.Buyer)
		}
		if !c.GoneAt.IsZero() {
			row.When = f.Day(c.GoneAt)
		}
		switch c.State {
		case "held":
			v.OnHand.Rows = append(v.OnHand.Rows, row)
		case "dispatched":
			v.Sent.Rows = append(v.Sent.Rows, row)
		default:
			v.Elsewhere.Rows = append(v.Elsewhere.Rows, row)
		}
	}
	for _, t := range r.Tanks {
		row := amountRow(f, t.Of)
		row.Name, row.Net = t.Name, f.Grams(t.HeldG)
		v.Tanks = append(v.Tanks, row)
	}
	for _, b := range r.Buyers {
		row := amountRow(f, b.Of)
		row.Name, row.Net, row.State = b.Name, f.Grams(b.NetG), f.Count(b.Containers)
		v.Buyers = append(v.Buyers, row)
	}
	v.OnHandCount, v.SentCount = f.Count(len(v.OnHand.Rows)), f.Count(len(v.Sent.Rows))
	v.HeldNet, v.SentNet = f.Grams(r.OnHandNetG), f.Grams(r.DispatchedNetG)
	v.Sums = []recallSum{
		{f.Say("in containers on hand"), f.Grams(r.OnHand.Grams)}, {f.Say("in containers dispatched"), f.Grams(r.Dispatched.Grams)}, {f.Say("in tanks"), f.Grams(r.InTanks.Grams)},
		{f.Say("thrown out"), f.Grams(r.WastedG)}, {f.Say("gone with washes and stocktakes"), f.Grams(r.LostG)},
	}
}

func amountRow(f locale.Voice, a trace.Amount) recallRow {
	if a.MostG == 0 {
		return recallRow{Share: f.Say("a heel"), Least: locale.Missing, Most: locale.Missing}
	}
	return recallRow{Share: f.Grams(a.Grams), Least: f.Grams(a.LeastG), Most: f.Grams(a.MostG)}
}

// draw puts the drawing's bands into words and figures.
func (v *recallView) draw(f locale.Voice, d *trace.Drawing) {
	for _, b := range d.Bands {
		v.Bands = append(v.Bands, bandRow{d.Nodes[b.From].Said.In(f), d.Nodes[b.To].Said.In(f), f.Grams(b.Grams)})
	}
	if d.NotDrawnG > 0 {
		v.NotDrawn = f.Kg(wire.Kg(d.NotDrawnG))
	}
}

func (p *pages) recallSheet(ctx echo.Context) error {
	var sheet []byte
	err := p.recallOf(ctx, func(_ db.Outfit, b *ledger.Book, t *trace.Tracer, s trace.Subject, any bool) (err error) {
		if !any {
			return request.ParameterFault("of", "", "Say what to recall.")
		}
		sheet, err = reports.RecallCSV(t.Forward(s), b.Location())
		return err
	})
	if err != nil {
		return err
	}
	reports.Attach(ctx, "recall.csv")
	ctx.Response().Header().Set("Cache-Control", "no-store")
	return ctx.Blob(http.StatusOK, reports.CSVType, sheet)
}

func (p *pages) recallDrawing(ctx echo.Context) error {
	var svg []byte
	err := p.recallOf(ctx, func(o db.Outfit, b *ledger.Book, t *trace.Tracer, s trace.Subject, any bool) error {
		if !any {
			return request.ParameterFault("of", "", "Say which honey to draw: give a container, lot or tank, for example.")
		}
		d, err := reports.DrawingOf(t, s)
		if err != nil {
			return err
		}
		if svg, err = chart.Flows(request.VoiceFor(ctx, o, b), d); err != nil {
			return fmt.Errorf("recall: %w", err)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return sendChart(ctx, svg)
}

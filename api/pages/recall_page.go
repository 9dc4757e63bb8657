package pages

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/feeds"
	"pullbook/api/locale"
	"pullbook/api/pages/certificate"
	"pullbook/api/pages/chart"
	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
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
	// CSV is the table for a spreadsheet, with either decimal mark, the likely one first.
	CSV     []recallCSV
	Drawing string
	Bands   []bandRow
	// NotDrawn is empty where all is drawn.
	NotDrawn string
	// NotTightest tells that some bounds could be tighter.
	NotTightest bool
}

// recallCSV is a table for a spreadsheet that writes figures like Like.
type recallCSV struct{ Address, Like string }

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

type recallSum struct{ Name, Mass, Least, Most string }

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
	var f locale.Voice
	var groups func(locale.Voice) []recallGroup
	tell := func(locale.Voice, *recallView) {} // of nothing, where nothing is asked for
	err := p.recallOf(ctx, func(o db.Outfit, b *ledger.Book, t *trace.Tracer, s trace.Subject, any bool) error {
		f, groups = request.VoiceFor(ctx, o, b), recallGroups(b, s)
		if !any {
			return nil
		}
		mark, err := decimalMarkOf(ctx, o, request.LanguageOf(ctx))
		if err != nil {
			return err
		}
		d, err := reports.DrawingOf(t, s)
		if err != nil {
			return err
		}
		went, name, through := t.Forward(s), s.Said(b), b.Len()
		tell = func(f locale.Voice, v *recallView) {
			v.sheet(f, went)
			v.draw(f, d)
			v.Name, v.Printed = name.In(f), f.Minute(p.Now())
			v.lead(ctx.QueryParams(), through, mark)
		}
		return nil
	})
	if err != nil {
		return err
	}
	v := &recallView{Day: ctx.QueryParam("day"), Pulled: ctx.QueryParam("pulled") != "", AsOf: ctx.QueryParam("as_of"), Mass: f.Mass, Groups: groups(f)}
	tell(f, v)
	return p.page(ctx, http.StatusOK, "recall.html", v)
}

// lead links to the table and the drawing of what was asked for, of the book up to the same
// entry. The table is there with the given decimal mark, and with the other one.
func (v *recallView) lead(asked url.Values, through int64, mark decimalMark) {
	query := url.Values{"as_of": {strconv.FormatInt(through, 10)}}
	for _, name := range []string{"of", "day", "pulled"} {
		if value := asked.Get(name); value != "" {
			query.Set(name, value)
		}
	}
	v.Drawing = recallDrawingPath + "?" + query.Encode()
	for _, m := range []decimalMark{mark, mark.Other()} {
		query.Set(markParameter, m.Mark)
		v.CSV = append(v.CSV, recallCSV{recallCSVPath + "?" + query.Encode(), m.Like()})
	}
}

// recallGroups takes from a book the things that a recall may start from, and returns what
// names their groups.
func recallGroups(b *ledger.Book, chosen trace.Subject) func(locale.Voice) []recallGroup {
	var names []message.Text
	var things [][]seasonChoice
	for _, g := range []struct {
		name message.Text
		kind ledger.Kind
	}{{message.F("Yards"), ledger.KindYard}, {message.F("Tanks"), ledger.KindTank}, {message.F("Lots"), ledger.KindLot}, {message.F("Runs"), ledger.KindRun}} {
		var choices []seasonChoice
		b.InForceOf(g.kind, func(root ledger.ID, _ *ledger.Entry) bool {
			choices = append(choices, seasonChoice{root.String(), b.Name(root), root == chosen.Place.ID})
			return true
		})
		if len(choices) > 0 {
			names, things = append(names, g.name), append(things, choices)
		}
	}
	return func(f locale.Voice) (out []recallGroup) {
		for i, name := range names {
			out = append(out, recallGroup{name.In(f), things[i]})
		}
		return out
	}
}

func (v *recallView) sheet(f locale.Voice, r *trace.Forward) {
	v.OnHand.Label, v.Sent.Label, v.Elsewhere.Label = f.Say("containers on hand"), f.Say("containers dispatched"), f.Say("containers emptied")
	v.NotTightest = r.NotTightest
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
		sumRow(f, f.Say("in containers on hand"), r.OnHand), sumRow(f, f.Say("in containers dispatched"), r.Dispatched), sumRow(f, f.Say("in tanks"), r.InTanks),
		{f.Say("thrown out"), f.Grams(r.WastedG), locale.Missing, locale.Missing}, {f.Say("gone with washes and stocktakes"), f.Grams(r.LostG), locale.Missing, locale.Missing},
	}
}

func sumRow(f locale.Voice, name string, a trace.Amount) recallSum {
	return recallSum{name, f.Grams(a.Grams), f.Grams(a.LeastG), f.Grams(a.MostG)}
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
	var went *trace.Forward
	var loc *time.Location
	var o db.Outfit
	err := p.recallOf(ctx, func(of db.Outfit, b *ledger.Book, t *trace.Tracer, s trace.Subject, any bool) error {
		if !any {
			return request.ParameterFault("of", "", "Say what to recall.")
		}
		went, loc, o = t.Forward(s), b.Location(), of
		return nil
	})
	if err != nil {
		return err
	}
	mark, err := decimalMarkOf(ctx, o, request.LanguageOf(ctx))
	if err != nil {
		return err
	}
	return feeds.SendRecall(ctx, went, loc, mark.Mark == db.Comma)
}

func (p *pages) recallDrawing(ctx echo.Context) error {
	var f locale.Voice
	var d *trace.Drawing
	err := p.recallOf(ctx, func(o db.Outfit, b *ledger.Book, t *trace.Tracer, s trace.Subject, any bool) (err error) {
		if !any {
			return request.ParameterFault("of", "", "Say which honey to draw: give a container, lot or tank, for example.")
		}
		f = request.VoiceFor(ctx, o, b)
		d, err = reports.DrawingOf(t, s)
		return err
	})
	if err != nil {
		return err
	}
	svg, err := chart.Flows(f, d)
	if err != nil {
		return fmt.Errorf("recall: %w", err)
	}
	return sendChart(ctx, svg)
}

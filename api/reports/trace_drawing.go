package reports

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/pages/chart"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/trace"
	"pullbook/openapi"
)

// DrawingOf is the way of a subject's honey: for a lot from its yards, for all
// else on to the buyers.
func DrawingOf(t *trace.Tracer, s trace.Subject) (*trace.Drawing, error) {
	if s.Place.Kind == ledger.PlaceLot {
		d, err := t.DrawBack(s.Place.ID)
		return d, err
	}
	return t.DrawForward(s), nil
}

// GetTraceDrawing is the way that honey went as places and bands, in figures.
func (s Handler) GetTraceDrawing(ctx echo.Context, params openapi.GetTraceDrawingParams) error {
	return s.Read(ctx, func(o db.Outfit, b *ledger.Book) (any, error) {
		subject, err := SubjectOf(b, params.Of, wire.OrZero(params.Pulled))
		if err != nil {
			return nil, err
		}
		d, err := DrawingOf(Tracer(s.Service, ctx, o, b), subject)
		if err != nil {
			return nil, err
		}
		return drawingOut(d), nil
	})
}

func drawingOut(d *trace.Drawing) openapi.TraceDrawing {
	out := openapi.TraceDrawing{Name: d.Name, ThroughEntry: d.Through, NotDrawnKg: wire.Kg(d.NotDrawnG),
		Nodes: make([]openapi.DrawingNode, len(d.Nodes)), Bands: make([]openapi.DrawingBand, len(d.Bands))}
	for i, n := range d.Nodes {
		out.Nodes[i] = openapi.DrawingNode{Name: n.Name, Kind: wire.OrNil(string(n.Kind)), ID: wire.OrNil(n.Place.ID), Column: n.Column, MassKg: wire.Kg(n.Grams)}
	}
	for i, b := range d.Bands {
		out.Bands[i] = openapi.DrawingBand{From: b.From, To: b.To, MassKg: wire.Kg(b.Grams)}
	}
	return out
}

// GetTraceDrawingSVG is the same as a picture.
func (s Handler) GetTraceDrawingSVG(ctx echo.Context, params openapi.GetTraceDrawingSVGParams) error {
	ctx.Response().Header().Set(echo.HeaderContentSecurityPolicy, drawingPolicy)
	return s.ReadAs(ctx, "image/svg+xml", "", func(o db.Outfit, b *ledger.Book) (request.Write, error) {
		subject, err := SubjectOf(b, params.Of, wire.OrZero(params.Pulled))
		if err != nil {
			return nil, err
		}
		d, err := DrawingOf(Tracer(s.Service, ctx, o, b), subject)
		if err != nil {
			return nil, err
		}
		f := request.VoiceFor(ctx, o, b)
		return func() ([]byte, error) { return chart.Flows(f, d) }, nil
	})
}

// drawingPolicy allows a drawing the style attributes that the library writes.
const drawingPolicy = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"

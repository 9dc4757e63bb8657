package feeds

import (
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/trace"
	"pullbook/openapi"
)

// GetRecallCSV is a recall sheet for a spreadsheet.
func (s Handler) GetRecallCSV(ctx echo.Context, params openapi.GetRecallCSVParams) error {
	reports.Attach(ctx, RecallFile)
	form := csvForm{comma: wire.OrZero(params.Decimal) == openapi.GetRecallCSVParamsDecimalComma}
	return s.ReadAs(ctx, mimeOf["csv"], "", func(o db.Outfit, b *ledger.Book) (request.Write, error) {
		subject, err := reports.SubjectOf(b, params.Of, wire.OrZero(params.Pulled))
		if err != nil {
			return nil, err
		}
		went, loc := reports.Tracer(s.Service, ctx, o, b).Forward(subject), b.Location()
		return func() ([]byte, error) { return recallCSV(went, loc, form) }, nil
	})
}

// RecallFile is what a browser calls the recall sheet that it stores.
const RecallFile = "recall.csv"

// SendRecall answers with a recall sheet for somebody's spreadsheet program, in which
// decimals stand behind a comma or a point.
func SendRecall(ctx echo.Context, went *trace.Forward, loc *time.Location, comma bool) error {
	sheet, err := recallCSV(went, loc, csvForm{mark: true, comma: comma})
	if err != nil {
		return err
	}
	reports.Attach(ctx, RecallFile)
	ctx.Response().Header().Set("Cache-Control", "no-store")
	return ctx.Blob(200, mimeOf["csv"], sheet)
}

var recallColumns = []string{"kind", "number_or_name", "lot", "state", "net_kg", "of_it_kg", "least_kg", "most_kg", "heel_only", "buyer", "left_on", "id", "recall_of", "through_entry"}

// recallCSV lists containers and tanks, one a line, with the header first.
func recallCSV(went *trace.Forward, loc *time.Location, form csvForm) ([]byte, error) {
	out := newCSV(loc, recallColumns, form)
	add := func(kind, name, lot, state string, netG int64, of trace.Amount, buyer string, left ledger.Date, id ledger.ID) error {
		out.begin()
		for _, text := range []string{kind, name, lot, state} {
			out.text(text)
		}
		for _, grams := range []int64{netG, of.Grams, of.LeastG, of.MostG} {
			out.decimal(wire.Kg(grams), 3)
		}
		out.text(strconv.FormatBool(of.MostG == 0))
		out.text(buyer)
		out.day(left)
		out.id(id)
		out.text(went.Name)
		out.whole(went.Through)
		return out.end()
	}
	for _, c := range went.Containers {
		left := ledger.Date("")
		if !c.GoneAt.IsZero() {
			left = ledger.Date(c.GoneAt.In(loc).Format(time.DateOnly))
		}
		if err := add("container", c.Number, c.Lot, string(c.State), c.NetG, c.Of, c.Buyer, left, c.ID); err != nil {
			return nil, err
		}
	}
	for _, t := range went.Tanks {
		if err := add("tank", t.Name, "", "held", t.HeldG, t.Of, "", "", t.ID); err != nil {
			return nil, err
		}
	}
	return out.buf, nil
}

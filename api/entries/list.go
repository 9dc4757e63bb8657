package entries

import (
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/reports"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// filter is what a list is narrowed to. KnownParameters has checked that the list
// has each parameter, and its form.
type filter struct {
	about    []ledger.ID
	from, to ledger.Date
	season   *ledger.Season
	after    int64
	limit    int
	all      bool
}

func (s Handler) filterOf(ctx echo.Context, b *ledger.Book) (filter, error) {
	f := filter{limit: request.DefaultLimit}
	var err error
	if f.from, f.to, err = request.DatesOf(ctx); err != nil {
		return f, err
	}
	for _, kind := range []ledger.Kind{ledger.KindYard, ledger.KindTank, ledger.KindLot, ledger.KindRun, ledger.KindPull} {
		if text := ctx.QueryParam(string(kind)); text != "" {
			id, err := reports.Named(b, kind, text)
			if err != nil {
				return f, err
			}
			f.about = append(f.about, id)
		}
	}
	if text := ctx.QueryParam("season"); text != "" {
		id, err := reports.NamedSeason(s.Service, b, text)
		if err != nil {
			return f, err
		}
		f.season = ledger.Named[ledger.Season](b, id)
	}
	f.after, _ = strconv.ParseInt(ctx.QueryParam("after"), 10, 64)
	if text := ctx.QueryParam("limit"); text != "" {
		f.limit, _ = strconv.Atoi(text)
	}
	f.all, _ = strconv.ParseBool(ctx.QueryParam("all"))
	return f, nil
}

func (f filter) takes(b *ledger.Book, e *ledger.Entry) bool {
	day := ledger.Date(e.OccurredAt.In(b.Location()).Format(time.DateOnly))
	if f.from != "" && day < f.from || f.to != "" && day > f.to {
		return false
	}
	if f.season != nil && !f.season.Holds(e.OccurredAt, b.Location()) {
		return false
	}
	for _, id := range f.about {
		if !b.About(e, id) {
			return false
		}
	}
	return f.all || !b.Overtaken(e.ID) && !b.TakenBack(e.ID)
}

// list answers with the entries of a kind, in order of their numbers.
func (s Handler) list(ctx echo.Context, kind ledger.Kind) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		f, err := s.filterOf(ctx, b)
		if err != nil {
			return nil, err
		}
		out := []listed{}
		for e := range b.RecordedOf(kind, f.after) {
			if !f.takes(b, e) {
				continue
			}
			if len(out) == f.limit {
				request.NextPage(ctx, out[len(out)-1].added.Number)
				break
			}
			item, err := listedOut(b, e)
			if err != nil {
				return nil, err
			}
			out = append(out, item)
		}
		return out, markSuperseded(b, kind, out)
	})
}

// markSuperseded marks checks and dispatches that rest on figures which changed
// since.
func markSuperseded(b *ledger.Book, kind ledger.Kind, listed []listed) error {
	if kind != ledger.KindCheck && kind != ledger.KindDispatch {
		return nil
	}
	by := map[ledger.ID]bool{}
	for _, l := range listed {
		by[l.id] = true
	}
	found, err := reports.SupersededBy(b, by)
	for i, l := range listed {
		listed[i].added.Superseded = found[l.id]
	}
	return err
}

func (s Handler) ListSeasons(ctx echo.Context, _ openapi.ListSeasonsParams) error {
	return s.list(ctx, ledger.KindSeason)
}

func (s Handler) ListYards(ctx echo.Context, _ openapi.ListYardsParams) error {
	return s.list(ctx, ledger.KindYard)
}

func (s Handler) ListSuperKinds(ctx echo.Context, _ openapi.ListSuperKindsParams) error {
	return s.list(ctx, ledger.KindSuperKind)
}

func (s Handler) ListContainerKinds(ctx echo.Context, _ openapi.ListContainerKindsParams) error {
	return s.list(ctx, ledger.KindContainerKind)
}

func (s Handler) ListRooms(ctx echo.Context, _ openapi.ListRoomsParams) error {
	return s.list(ctx, ledger.KindRoom)
}

func (s Handler) ListTanks(ctx echo.Context, _ openapi.ListTanksParams) error {
	return s.list(ctx, ledger.KindTank)
}

func (s Handler) ListInstruments(ctx echo.Context, _ openapi.ListInstrumentsParams) error {
	return s.list(ctx, ledger.KindInstrument)
}

func (s Handler) ListBuyers(ctx echo.Context, _ openapi.ListBuyersParams) error {
	return s.list(ctx, ledger.KindBuyer)
}

func (s Handler) ListHiveCounts(ctx echo.Context, _ openapi.ListHiveCountsParams) error {
	return s.list(ctx, ledger.KindHiveCount)
}

func (s Handler) ListPulls(ctx echo.Context, _ openapi.ListPullsParams) error {
	return s.list(ctx, ledger.KindPull)
}

func (s Handler) ListRuns(ctx echo.Context, _ openapi.ListRunsParams) error {
	return s.list(ctx, ledger.KindRun)
}

func (s Handler) ListRunSupers(ctx echo.Context, _ openapi.ListRunSupersParams) error {
	return s.list(ctx, ledger.KindRunSupers)
}

func (s Handler) ListLoads(ctx echo.Context, _ openapi.ListLoadsParams) error {
	return s.list(ctx, ledger.KindLoad)
}

func (s Handler) ListRunEnds(ctx echo.Context, _ openapi.ListRunEndsParams) error {
	return s.list(ctx, ledger.KindRunEnd)
}

func (s Handler) ListMovements(ctx echo.Context, _ openapi.ListMovementsParams) error {
	return s.list(ctx, ledger.KindMovement)
}

func (s Handler) ListStocktakes(ctx echo.Context, _ openapi.ListStocktakesParams) error {
	return s.list(ctx, ledger.KindStocktake)
}

func (s Handler) ListWashes(ctx echo.Context, _ openapi.ListWashesParams) error {
	return s.list(ctx, ledger.KindWash)
}

func (s Handler) ListLots(ctx echo.Context, _ openapi.ListLotsParams) error {
	return s.list(ctx, ledger.KindLot)
}

func (s Handler) ListFills(ctx echo.Context, _ openapi.ListFillsParams) error {
	return s.list(ctx, ledger.KindFill)
}

func (s Handler) ListReadings(ctx echo.Context, _ openapi.ListReadingsParams) error {
	return s.list(ctx, ledger.KindReading)
}

func (s Handler) ListCalibrations(ctx echo.Context, _ openapi.ListCalibrationsParams) error {
	return s.list(ctx, ledger.KindCalibration)
}

func (s Handler) ListTemperatureLogs(ctx echo.Context, _ openapi.ListTemperatureLogsParams) error {
	return s.list(ctx, ledger.KindTemperatureLog)
}

func (s Handler) ListDispatches(ctx echo.Context, _ openapi.ListDispatchesParams) error {
	return s.list(ctx, ledger.KindDispatch)
}

func (s Handler) ListAcceptances(ctx echo.Context, _ openapi.ListAcceptancesParams) error {
	return s.list(ctx, ledger.KindAcceptance)
}

func (s Handler) ListWithdrawals(ctx echo.Context, _ openapi.ListWithdrawalsParams) error {
	return s.list(ctx, ledger.KindWithdrawal)
}

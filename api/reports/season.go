package reports

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/season"
	"pullbook/openapi"
)

// GetSeasonReport is a season by yard and by pull, and its balance.
func (s Handler) GetSeasonReport(ctx echo.Context, params openapi.GetSeasonReportParams) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		id, err := SeasonOf(s.Service, params.Season, b)
		if err != nil {
			return nil, err
		}
		var options []season.Option
		if params.HiveCount != nil {
			options = append(options, season.PerHiveOf(*params.HiveCount))
		}
		r, err := season.Of(b, id, options...)
		if err != nil {
			return nil, err
		}
		return seasonOut(b, r), nil
	})
}

func seasonOut(b *ledger.Book, r *season.Report) openapi.SeasonReport {
	out := openapi.SeasonReport{
		SeasonID: r.SeasonID, Name: r.Season.Name, First: wire.DateOut(r.Season.First), Last: wire.DateOut(r.Season.Last),
		ThroughEntry: b.Len(), HoneyKg: wire.Kg(r.HoneyG), NoPullKg: wire.Kg(r.NoPullG), Balance: balanceOut(r.Balance),
		Yards: wire.Each(r.Yards, yardOut), Pulls: wire.Each(r.Pulls, pullOut),
	}
	if r.Before != nil {
		out.Before = &r.Before.Name
	}
	return out
}

func pullOut(p season.PullLine) openapi.PullLine {
	return openapi.PullLine{
		PullID: p.PullID, YardID: p.YardID, Yard: p.Yard, PulledAt: p.PulledAt, Supers: wire.Each(p.Supers, kindOut),
		SupersPulled: p.SupersPulled, SupersExtracted: p.SupersExtracted, SupersLeft: p.SupersLeft, HivesWorked: p.HivesWorked,
		GrossKg: wire.OrNil(wire.Kg(p.GrossG)), HoneyKg: kgKnown(p.KnownG()), HoneyAtLeastKg: kgKnown(p.AtLeastG()), KgPerSuper: p.KgPerSuper, Share: p.Share, MoisturePct: p.MoisturePct,
		Allocation: wire.OrNil(string(p.How)), OtherSeason: p.OtherSeason, Withdrawn: p.Withdrawn,
	}
}

func yardOut(y season.YardLine) openapi.YardLine {
	out := openapi.YardLine{
		YardID: y.YardID, Name: y.Name, Rank: wire.OrNil(y.Rank), RankPerHive: wire.OrNil(y.RankPerHive), Supers: wire.Each(y.Supers, kindOut),
		SupersPulled: y.SupersPulled, SupersExtracted: y.SupersExtracted, HivesWorked: y.HivesWorked,
		HoneyKg: kgKnown(y.KnownG()), HoneyAtLeastKg: kgKnown(y.AtLeastG()), KgPerSuper: y.KgPerSuper, KgPerHive: y.KgPerHive, Share: y.Share, MoisturePct: y.MoisturePct,
		Allocation: wire.OrNil(string(y.How)), ChangePct: y.ChangePct,
	}
	if y.Hives != nil {
		out.Hives, out.HiveCount, out.CountedAt = &y.Hives.Hives, &y.Hives.Name, &y.Hives.CountedAt
	}
	if y.LastSeason != nil {
		out.LastSeasonKg = kgKnown(y.LastSeason.KnownG())
	}
	out.ChangeKg = kgKnown(y.ChangeG)
	return out
}

// kgKnown is grams in kilograms; nil where they are not known.
func kgKnown(grams *int64) *float64 {
	if grams == nil {
		return nil
	}
	return new(wire.Kg(*grams))
}

func kindOut(k season.KindCount) openapi.KindCount {
	return openapi.KindCount{SuperKind: k.Name, Supers: k.Supers}
}

func balanceOut(b season.Balance) openapi.Balance {
	return openapi.Balance{
		SupersPulled: b.SupersPulled, SupersExtracted: b.SupersExtracted, SupersLeft: b.SupersLeft, SupersFromOthers: b.SupersFromOthers,
		InTanksBeforeKg: wire.Kg(b.InTanksBeforeG), InContainersBeforeKg: wire.Kg(b.InContainersBeforeG), HarvestedKg: wire.Kg(b.HarvestedG),
		UnexplainedKg: wire.Kg(b.UnexplainedG), GainedKg: wire.Kg(b.StocktakeGainedG), LostKg: wire.Kg(b.StocktakeLostG),
		InTanksKg: wire.Kg(b.InTanksG), InContainersKg: wire.Kg(b.InContainersG), FilledKg: wire.Kg(b.FilledG), DispatchedKg: wire.Kg(b.DispatchedG),
		WastedKg: wire.Kg(b.WastedG), WashedKg: wire.Kg(b.WashedG), WaxKg: wire.Kg(b.WaxG), UnaccountedKg: wire.Kg(b.UnaccountedG),
		UnexplainedPct: b.UnexplainedPct, UnaccountedPct: b.UnaccountedPct, WaxPct: b.WaxPct, Buyers: wire.Each(b.Buyers, buyerOut),
	}
}

func buyerOut(x season.BuyerLine) openapi.BuyerLine {
	return openapi.BuyerLine{BuyerID: x.BuyerID, Name: x.Name, MassKg: wire.Kg(x.Grams), Containers: x.Containers}
}

func sourceOut(x season.Source) openapi.Source {
	out := openapi.Source{Name: x.Name, Share: x.Share, MassKg: wire.Kg(x.Grams)}
	if x.From.Kind == ledger.PlaceYard {
		out.YardID = &x.From.ID
	}
	if len(x.Pulls) > 0 {
		out.Pulls = new(wire.Each(x.Pulls, pullPartOut))
	}
	return out
}

// GetRunsReport is the runs of a season.
func (s Handler) GetRunsReport(ctx echo.Context, params openapi.GetRunsReportParams) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		id, err := SeasonOf(s.Service, params.Season, b)
		if err != nil {
			return nil, err
		}
		runs, err := season.Runs(b, id)
		return wire.Each(runs, runOut), err
	})
}

func runOut(r season.RunLine) openapi.RunLine {
	return openapi.RunLine{
		RunID: r.RunID, Name: r.Name, StartedAt: r.StartedAt, Supers: wire.Each(r.Supers, kindOut), SupersIn: r.SupersTotal,
		Loads: r.Loads, Frames: r.Frames, Boxes: r.BoxesByFrames, HoneyKg: wire.Kg(r.HoneyG), KgPerSuper: r.KgPerSuper,
		WaxKg: wire.OrNil(wire.Kg(r.WaxG)), WaxPct: r.WaxPct, Allocation: string(r.How), Makeup: wire.Each(r.MakeUp, sourceOut),
	}
}

// GetTanksReport is what is in each tank.
func (s Handler) GetTanksReport(ctx echo.Context, _ openapi.GetTanksReportParams) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		return wire.Each(season.Tanks(b), tankOut), nil
	})
}

func tankOut(t season.TankLine) openapi.TankLine {
	out := openapi.TankLine{
		TankID: t.TankID, Name: t.Name, Use: string(t.Use), HeldKg: wire.Kg(t.Grams), CapacityKg: wire.Kg(t.CapacityG), FullPct: t.FullPct,
		Expected: ExpectedOut(t.Expected), LastMovedAt: wire.OrNil(t.LastMoved), Makeup: wire.Each(t.MakeUp, sourceOut),
	}
	if m := t.Moisture; m != nil {
		out.LastMoisturePct, out.LastReadAt = &m.Pct, &m.At
	}
	return out
}

// GetLotsReport is the lots of a season in short.
func (s Handler) GetLotsReport(ctx echo.Context, params openapi.GetLotsReportParams) error {
	return s.ReadThen(ctx, func(_ db.Outfit, b *ledger.Book) (func() any, error) {
		id, err := SeasonOf(s.Service, params.Season, b)
		if err != nil {
			return nil, err
		}
		lots, err := season.Lots(b, id)
		if err != nil {
			return nil, err
		}
		today := s.Judged.DayOf(b, OnDay(s.Service, b, nil))
		out, outdated := make([]openapi.LotLine, len(lots)), make([]message.Text, len(lots))
		for i, l := range lots {
			standing, err := today.Standing(l.LotID)
			if err != nil {
				return nil, err
			}
			outdated[i] = standing.Outdated
			out[i] = openapi.LotLine{
				LotID: l.LotID, Code: l.Code, Product: wire.OrNil(l.Product), Containers: len(l.Containers), NetKg: wire.Kg(l.NetG),
				HeldKg: wire.Kg(l.HeldG), DispatchedKg: wire.Kg(l.DispatchedG), FirstFilledAt: wire.OrNil(l.FirstFill), LastFilledAt: wire.OrNil(l.LastFill),
				MoisturePct: l.MoisturePct, Yards: YardsIn(l.MakeUp), Status: new(openapi.LotLineStatus(standing.Status)),
			}
		}
		return func() any {
			for i := range out {
				out[i].Outdated = wire.OrNil(outdated[i].String())
			}
			return out
		}, nil
	})
}

// YardsIn counts the yards among sources.
func YardsIn(sources []season.Source) int {
	n := 0
	for _, x := range sources {
		if x.From.Kind == ledger.PlaceYard {
			n++
		}
	}
	return n
}

// GetLotReport is one lot with its containers, readings and make-up.
func (s Handler) GetLotReport(ctx echo.Context, lot string, _ openapi.GetLotReportParams) error {
	return s.ReadThen(ctx, func(_ db.Outfit, b *ledger.Book) (func() any, error) {
		id, err := InPath(b, ledger.KindLot, lot)
		if err != nil {
			return nil, err
		}
		l, err := season.Lot(b, id)
		if err != nil {
			return nil, err
		}
		decision, err := lotDecisionOf(b, l.LotID, OnDay(s.Service, b, nil))
		if err != nil {
			return nil, err
		}
		out := openapi.LotReport{
			LotID: l.LotID, Code: l.Code, Product: wire.OrNil(l.Product), NetKg: wire.Kg(l.NetG), HeldKg: wire.Kg(l.HeldG), DispatchedKg: wire.Kg(l.DispatchedG),
			ReworkedKg: wire.Kg(l.NetG - l.HeldG - l.DispatchedG), FirstFilledAt: wire.OrNil(l.FirstFill), LastFilledAt: wire.OrNil(l.LastFill),
			Expected: ExpectedOut(l.Expected), Containers: make([]openapi.LotContainer, len(l.Containers)), Readings: []openapi.LotReading{}, Makeup: wire.Each(l.MakeUp, sourceOut),
		}
		number := map[ledger.ID]string{l.LotID: l.Code}
		for i, c := range l.Containers {
			number[c.ID] = c.Number
			out.Containers[i] = openapi.LotContainer{
				FillID: c.ID, Container: c.Number, ContainerKind: c.Kind, FilledAt: c.FilledAt, TareKg: wire.Kg(c.TareG), GrossKg: wire.Kg(c.GrossG),
				NetKg: wire.Kg(c.NetG), HeldKg: wire.Kg(c.HeldG), State: string(c.State), Buyer: wire.OrNil(c.Buyer), Seal: wire.OrNil(c.Seal), Expected: ExpectedOut(c.Expected),
			}
		}
		for e := range b.RecordedOf(ledger.KindReading, 0) {
			reading := e.Body.(*ledger.Reading)
			on, mine := number[b.Root(reading.On.ID)]
			if b.InForce(e.ID) == e && mine {
				out.Readings = append(out.Readings, lotReadingOut(b, e, reading, on))
			}
		}
		return func() any {
			out.Decision = new(decision.out())
			return out
		}, nil
	})
}

func lotReadingOut(b *ledger.Book, e *ledger.Entry, r *ledger.Reading, on string) openapi.LotReading {
	out := openapi.LotReading{
		EntryID: e.ID, ReadAt: e.OccurredAt, MeasuredOn: on, Point: wire.OrNil(string(r.Point)), Laboratory: wire.OrNil(r.Laboratory),
	}
	if i := ledger.Named[ledger.Instrument](b, r.InstrumentID); i != nil {
		out.Instrument = &i.Name
	}
	if m := r.Moisture; m != nil {
		out.MoisturePct, out.StdUncertaintyPct = &m.Pct, &m.StdUncertaintyPct
	}
	if len(r.Measured) > 0 {
		out.Measured = new(wire.Each(r.Measured, measuredOut))
	}
	return out
}

// GetHolderReport is what is in a tank, container or lot at an instant, which may be
// yet to come.
func (s Handler) GetHolderReport(ctx echo.Context, holder string, params openapi.GetHolderReportParams) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		asked := request.Asked{Pointer: "path:holder", Sent: holder}
		id, err := tracedBy(b, asked, asked.Missing("The outfit has no tank, lot or container of this name."), ledger.KindTank, ledger.KindLot, ledger.KindFill)
		if err != nil {
			return nil, err
		}
		at := wire.OrDefault(params.At, b.Latest())
		state := stateAt(b, at)
		if ledger.Named[ledger.Lot](b, id) != nil {
			return lotHolderOut(b, state, b.Root(id), at), nil
		}
		h, ok := state.Holder(id)
		if !ok || h.Place.Kind == ledger.PlaceRun {
			return nil, fault.New(fault.NotFound, "The outfit has no tank, container or lot %s.", id)
		}
		out := openapi.HolderReport{
			Place: placeOf(b, h.Place), HeldKg: wire.Kg(h.Grams), InKg: wire.Kg(h.InG), OutKg: wire.Kg(h.OutG), Makeup: wire.Each(season.MakeUp(b, h.Mix, h.Grams), sourceOut),
		}
		if belief, known := state.BeliefAt(id, at); known && h.Grams > 0 {
			out.Expected = ExpectedOut(&belief)
		}
		return out, nil
	})
}

// stateAt is the state at an instant, which may be yet to come.
func stateAt(b *ledger.Book, at time.Time) *ledger.State {
	if !b.Latest().After(at) {
		return b.State()
	}
	return b.StateAt(at)
}

func lotHolderOut(b *ledger.Book, state *ledger.State, lot ledger.ID, at time.Time) openapi.HolderReport {
	l := state.Lot(lot)
	out := openapi.HolderReport{
		Place:  placeOf(b, ledger.Place{Kind: ledger.PlaceLot, ID: lot}),
		HeldKg: wire.Kg(l.HeldG), InKg: wire.Kg(l.FilledG), OutKg: wire.Kg(l.FilledG - l.HeldG), Makeup: wire.Each(season.MakeUp(b, l.HeldMix, l.HeldG), sourceOut),
	}
	if belief, known := state.BeliefOfLot(lot, at); known && l.HeldG > 0 {
		out.Expected = ExpectedOut(&belief)
	}
	return out
}

func placeOf(b *ledger.Book, p ledger.Place) openapi.Place {
	return openapi.Place{Kind: openapi.PlaceKind(p.Kind), ID: &p.ID, Name: wire.OrNil(b.Name(p.ID))}
}

// GetFindingsReport is what looks odd, most honey first, page by page.
func (s Handler) GetFindingsReport(ctx echo.Context, params openapi.GetFindingsReportParams) error {
	return s.ReadThen(ctx, func(_ db.Outfit, b *ledger.Book) (func() any, error) {
		list := season.Evening(b)
		from := min(int(wire.OrZero(params.Skip)), list.Len())
		to := min(from+int(wire.OrDefault(params.Limit, request.DefaultLimit)), list.Len())
		if to < list.Len() {
			moreOf(ctx, b, to, list.Len()-to)
		}
		var odd []findingOn
		for i := from; i < to; i++ {
			o := season.OddOf(b, list.At(i))
			if e := b.InForce(o.Entry); e != nil {
				o.Entries = slices.Clone(o.Entries)
				odd = append(odd, findingOn{o, e.Number})
			}
		}
		return func() any { return wire.Each(odd, findingOut) }, nil
	})
}

// findingOn is a finding with the number of the entry that it is about.
type findingOn struct {
	season.Odd
	number int64
}

func findingOut(o findingOn) openapi.Finding {
	return openapi.Finding{
		Flag: FlagOut(message.English{}, o.Flag, o.Sentence, o.Why), EntryNumber: o.number, OccurredAt: o.OccurredAt, RecordedBy: o.RecordedBy,
		Settled: o.Accepted != nil, SettledReason: wire.OrNil(o.Reason), SettledBy: wire.OrNil(o.SettledBy),
	}
}

// moreOf links to the rest of the evening list, as the book had it when this part of
// it was read.
func moreOf(ctx echo.Context, b *ledger.Book, skip, more int) {
	u := url.URL{Path: ctx.Request().URL.Path}
	q := ctx.Request().URL.Query()
	q.Set("skip", strconv.Itoa(skip))
	if !q.Has("known_at") {
		q.Set("as_of", strconv.FormatInt(b.Len(), 10))
	}
	u.RawQuery = q.Encode()
	header := ctx.Response().Header()
	header.Set(request.LinkHeader, fmt.Sprintf(`<%s>; rel="next"`, u.String()))
	header.Set(request.MoreHeader, strconv.Itoa(more))
}

// GetTotalsReport is every gram that the book knows of.
func (s Handler) GetTotalsReport(ctx echo.Context, params openapi.GetTotalsReportParams) error {
	return s.Read(ctx, func(_ db.Outfit, b *ledger.Book) (any, error) {
		t := stateAt(b, wire.OrDefault(params.At, b.Latest())).Totals()
		return openapi.TotalsReport{
			HarvestedKg: wire.Kg(t.Harvested), UnexplainedKg: wire.Kg(t.Unexplained), GainedKg: wire.Kg(t.Gained), LostKg: wire.Kg(t.Lost),
			HeldKg: wire.Kg(t.Held), DispatchedKg: wire.Kg(t.Dispatched), WastedKg: wire.Kg(t.Wasted), Balanced: t.Balanced(), ThroughEntry: b.Len(),
		}, nil
	})
}

func pullPartOut(p season.SourcePull) openapi.SourcePull {
	return openapi.SourcePull{PullID: p.PullID, PulledAt: p.PulledAt, MassKg: wire.Kg(p.Grams), Share: p.Share}
}

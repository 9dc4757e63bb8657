package reports

import (
	"math"
	"time"

	"github.com/labstack/echo/v4"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"pullbook/api/request"
	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/balance"
	"pullbook/domain/chance"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/reconcile"
	"pullbook/openapi"
)

// GetReconciliationReport makes the weights of a season or a day agree.
func (s Handler) GetReconciliationReport(ctx echo.Context, params openapi.GetReconciliationReportParams) error {
	return s.ReadThen(ctx, func(_ db.Outfit, b *ledger.Book) (func() any, error) {
		p, err := s.periodOf(b, params)
		if err != nil {
			return nil, err
		}
		read := balance.Read(b, &s.Solved)
		r, err := read.Reconcile(p)
		if err != nil {
			return nil, err
		}
		var days []balance.DayLine
		switch {
		case params.Yard != nil:
			yard, err := reported(b, ledger.KindYard, *params.Yard)
			if err != nil {
				return nil, err
			}
			if r, err = r.OfYard(yard); err != nil {
				return nil, err
			}
		case params.Day == nil:
			if days, err = read.Days(p); err != nil {
				return nil, err
			}
		}
		through := b.Len()
		return func() any { return reconciliationOut(through, r, days) }, nil
	})
}

// periodOf is the day that a request asks for, or its season.
func (s Handler) periodOf(b *ledger.Book, params openapi.GetReconciliationReportParams) (balance.Period, error) {
	if params.Day != nil {
		if params.Season != nil {
			return balance.Period{}, request.ParameterFault("day", params.Day.Format(time.DateOnly), "Ask for a day or for a season, not for both.")
		}
		return balance.Day(b, wire.DateIn(*params.Day))
	}
	return s.seasonPeriod(b, params.Season)
}

func (s Handler) seasonPeriod(b *ledger.Book, asked *string) (balance.Period, error) {
	id, err := SeasonOf(s.Service, asked, b)
	if err != nil {
		return balance.Period{}, err
	}
	p, err := balance.Season(b, id)
	return p, err
}

func reconciliationOut(through int64, r *balance.Report, days []balance.DayLine) openapi.ReconciliationReport {
	out := openapi.ReconciliationReport{
		Period: r.Name, From: r.From, Until: r.To, ThroughEntry: through, Statement: r.Statement.String(), Unseen: r.Unseen.String(),
		Test: globalOut(r.Global), Suspects: []openapi.ReconciliationSuspect{},
		Flows: wire.Each(r.Flows, flowOut), Balances: make([]openapi.ReconciledBalance, len(r.Nodes)),
		Claims: wire.Each(r.Claims, claimOut), Yards: make([]openapi.ReconciledYard, len(r.Yards)), Days: wire.Each(days, dayOut),
	}
	for _, p := range r.Parts {
		if p.Suspect != nil {
			out.Suspects = append(out.Suspects, suspectOut(p.Suspect))
		}
	}
	for i, n := range r.Nodes {
		out.Balances[i] = openapi.ReconciledBalance{
			Name: n.Name, ImbalanceKg: n.ImbalanceKg, StdUncertaintyKg: n.UncertaintyKg, Deviations: n.Standardised, StandsOut: n.Flagged, Sentence: n.Statement(),
		}
	}
	for i, y := range r.Yards {
		out.Yards[i] = openapi.ReconciledYard{
			YardID: y.YardID, Name: y.Name, WeighedShare: y.WeighedShare, MeasuredKg: y.MeasuredKg, StdUncertaintyKg: y.UncertaintyKg,
			AdjustedKg: y.AdjustedKg, AdjustedStdUncertaintyKg: y.AdjustedUncertaintyKg, Factor: y.Factor,
			Deviations: y.Standardised, StandsOut: y.Flagged, Sentence: y.Sentence.String(),
		}
	}
	return out
}

func dayOut(d balance.DayLine) openapi.ReconciledDay {
	return openapi.ReconciledDay{
		Day: wire.DateOut(d.Day), Test: globalOut(d.Global), Claims: wire.Each(d.Claims, claimOut), Statement: d.Statement.String(),
	}
}

func globalOut(g reconcile.GlobalTest) openapi.ReconciliationTest {
	return openapi.ReconciliationTest{
		ChiSquare: g.Statistic, DegreesOfFreedom: g.DegreesOfFreedom, UpTo: g.Critical, PValue: g.PValue, Chance: GlobalChance(g).String(), Agree: g.Passed,
	}
}

// GlobalChance says a test in words; nothing where no weight checks another.
func GlobalChance(g reconcile.GlobalTest) message.Text {
	if g.DegreesOfFreedom == 0 {
		return message.Text{}
	}
	return chance.InWords(max(g.PValue, math.SmallestNonzeroFloat64)) // it may be too small for a float64
}

func claimOut(c balance.Claim) openapi.HarvestClaim {
	return openapi.HarvestClaim{
		By: openapi.HarvestClaimBy(c.Name), Complete: c.Complete, MeasuredKg: c.MeasuredKg, StdUncertaintyKg: c.UncertaintyKg,
		AdjustedKg: c.AdjustedKg, Sentence: c.Sentence.String(),
	}
}

// flowOut shows a figure only where there is one: what nobody weighed has no
// measured figure, what cannot be told no adjusted one.
func flowOut(f balance.Flow) openapi.ReconciledFlow {
	out := openapi.ReconciledFlow{
		Name: f.Name, From: wire.OrNil(f.From), To: wire.OrNil(f.To), Kind: string(f.Kind), Basis: openapi.ReconciledFlowBasis(f.Basis),
		Class: openapi.ReconciledFlowClass(f.Class), EntryIds: append([]openapi_types.UUID{}, f.Entries...), StandsOut: f.Flagged, Sentence: f.Sentence.String(),
		YardID: wire.OrNil(f.Yard), RunID: wire.OrNil(f.Run), TankID: wire.OrNil(f.Tank), LotID: wire.OrNil(f.Lot),
	}
	if f.Basis != balance.Unseen {
		out.MeasuredKg, out.StdUncertaintyKg = &f.MeasuredKg, &f.MeasuredUncertaintyKg
	}
	if f.Known() {
		out.AdjustedKg, out.AdjustedStdUncertaintyKg = &f.ReconciledKg, &f.ReconciledUncertaintyKg
	}
	if f.Bound != reconcile.Free {
		out.Bound, out.UnboundedKg = new(openapi.ReconciledFlowBound(f.Bound)), &f.FreeKg
	}
	if f.Class == reconcile.Redundant {
		out.AdjustmentKg, out.Deviations, out.DetectableKg = &f.AdjustmentKg, &f.Standardised, &f.DetectableKg
	}
	return out
}

func suspectOut(s *balance.Suspect) openapi.ReconciliationSuspect {
	return openapi.ReconciliationSuspect{
		Flow: flowOut(s.Flow), TooHighKg: s.GrossErrorKg, Cause: wire.OrNil(s.Cause.String()), RightTankID: wire.OrNil(s.RightTank), ChiSquareLess: wire.OrNil(s.Gain),
		Others: wire.Each(s.Others, func(f balance.Flow) string { return f.Name }), Sentence: s.Sentence.String(),
	}
}

// GetDryingReport is the hot rooms of a season: how the stacks dry, and in what air.
func (s Handler) GetDryingReport(ctx echo.Context, params openapi.GetDryingReportParams) error {
	return s.ReadThen(ctx, func(_ db.Outfit, b *ledger.Book) (func() any, error) {
		p, err := s.seasonPeriod(b, params.Season)
		if err != nil {
			return nil, err
		}
		target := wire.OrDefault(params.TargetPct, balance.DryEnoughPct)
		rooms, err := balance.Drying(b, p, target)
		if err != nil {
			return nil, err
		}
		return func() any {
			return wire.Each(rooms, func(r balance.Room) openapi.DryingRoom { return hotRoomOut(r, target) })
		}, nil
	})
}

func hotRoomOut(r balance.Room, target float64) openapi.DryingRoom {
	return openapi.DryingRoom{
		RoomID: r.RoomID, Name: r.Name, TargetPct: target, MeanTemperatureC: r.MeanTemperatureC, HottestC: r.HottestC,
		MeanHumidityPct: r.MeanHumidityPct, WettestHumidityPct: r.WettestPct, EquilibriumMoisturePct: r.EquilibriumPct,
		WettingHours: r.WettingHours, LoggedHours: r.LoggedHours, CollectedKg: r.CollectedKg, LostKg: r.LostKg, LostStdUncertaintyKg: r.LostUncertaintyKg,
		Sentences: request.Said(r.Sentences), Stacks: wire.Each(r.Stacks, stackOut),
	}
}

func stackOut(x balance.Stack) openapi.DryingStack {
	return openapi.DryingStack{
		PullID: x.PullID, YardID: x.YardID, Yard: x.Yard, EnteredAt: x.In, LeftAt: wire.OrNil(x.Out), Boxes: x.Boxes, HoneyKg: x.HoneyKg,
		DryAt: x.DryAt, Earliest: x.Earliest, Latest: x.Latest, WaterKg: x.WaterKg, WaterStdUncertaintyKg: x.WaterUncertaintyKg,
		Sentence: x.Sentence.String(), Cautions: request.Said(x.Cautions), Layers: wire.Each(x.Layers, layerOut),
	}
}

func layerOut(l balance.LayerLine) openapi.DryingLayer {
	out := openapi.DryingLayer{
		Layer: openapi.DryingLayerLayer(l.Layer), SlopePointsPerDay: l.Slope, SlopeStdUncertaintyPointsPerDay: l.SlopeUncertainty,
		LastPct: l.LastPct, LastStdUncertaintyPct: l.LastUncertaintyPct, Readings: make([]openapi.DryingReading, len(l.Readings)),
	}
	for i, r := range l.Readings {
		out.Readings[i] = openapi.DryingReading{EntryID: r.EntryID, ReadAt: r.At, MoisturePct: r.MoisturePct}
	}
	return out
}

// GetInstrumentReport is an instrument's checks, and what rests on those that it
// failed.
func (s Handler) GetInstrumentReport(ctx echo.Context, instrument string, params openapi.GetInstrumentReportParams) error {
	return s.ReadThen(ctx, func(_ db.Outfit, b *ledger.Book) (func() any, error) {
		id, err := InPath(b, ledger.KindInstrument, instrument)
		if err != nil {
			return nil, err
		}
		var limits []float64
		if params.LimitPct != nil {
			limits = append(limits, *params.LimitPct)
		}
		r, err := balance.Instrument(b, id, limits...)
		if err != nil {
			return nil, err
		}
		return func() any { return instrumentOut(r) }, nil
	})
}

func instrumentOut(r *balance.InstrumentReport) openapi.InstrumentReport {
	return openapi.InstrumentReport{
		InstrumentID: r.InstrumentID, Name: r.Instrument.Name, Scale: r.Instrument.Scale, Trust: openapi.InstrumentReportTrust(r.Trust),
		Sentence: r.Sentence.String(), Checks: wire.Each(r.Checks, checkOut), Doubts: wire.Each(r.Doubts, doubtOut),
	}
}

func checkOut(c balance.CheckLine) openapi.InstrumentCheck {
	return openapi.InstrumentCheck{
		EntryID: c.EntryID, CheckedAt: c.At, CheckedBy: c.By, Reference: c.Reference, Expected: c.Expected, AsFound: c.AsFound,
		AsLeft: c.AsLeft, Tolerance: c.Tolerance, Good: c.Good, LeftWrong: c.LeftWrong,
	}
}

func doubtOut(d balance.Doubt) openapi.InstrumentDoubt {
	out := openapi.InstrumentDoubt{
		CheckID: d.Check.EntryID, Since: wire.OrNil(d.Since), Until: d.Check.At, ReadHighBy: d.Off, WorstPct: d.WorstPct, Sentence: d.Sentence.String(),
		Readings: make([]openapi.DoubtfulReading, len(d.Readings)), Lots: make([]openapi.DoubtfulLot, len(d.Lots)),
		Dispatches: make([]openapi.DoubtfulDispatch, len(d.Dispatches)),
	}
	if d.Check.LeftWrong {
		out.LeftHighBy = &d.OffAfter
	}
	for i, r := range d.Readings {
		out.Readings[i] = openapi.DoubtfulReading{
			EntryID: r.EntryID, ReadAt: r.At, MeasuredOn: openapi.Place{Kind: openapi.PlaceKind(r.On.Kind), ID: wire.OrNil(r.On.ID), Name: wire.OrNil(r.OnName.String())},
			Point: wire.OrNil(string(r.Point)), MoisturePct: r.MoisturePct, CorrectedPct: r.CorrectedPct, WorstPct: r.WorstPct, Crosses: limitsOut(r.Crosses),
		}
	}
	for i, l := range d.Lots {
		out.Lots[i] = openapi.DoubtfulLot{
			LotID: l.LotID, Code: l.Code, Status: string(l.Status), EntryIds: l.Readings, How: request.Said(l.How), MoisturePct: l.MoisturePct,
			CorrectedPct: l.CorrectedPct, WorstPct: l.WorstPct, OtherReadings: l.OtherReadings, OtherWettestPct: l.OtherWettestPct,
			MayFail: limitsOut(l.Fails), MayPass: limitsOut(l.Passes), Sentence: l.Sentence.String(),
		}
	}
	for i, x := range d.Dispatches {
		out.Dispatches[i] = openapi.DoubtfulDispatch{
			DispatchID: x.DispatchID, LeftAt: x.At, Buyer: x.Buyer, Containers: x.Containers, MassKg: x.Kg, Lots: x.Lots,
			WorstPct: x.WorstPct, MayFail: limitsOut(x.Fails),
		}
	}
	return out
}

func limitsOut(in []float64) []float64 { return append([]float64{}, in...) }

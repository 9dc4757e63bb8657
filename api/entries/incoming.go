package entries

import (
	"encoding/json"

	"pullbook/api/wire"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
	"pullbook/openapi"
)

// The usual sixty-frame line: ten frames to a box, thirty a side. Defaults,
// not constants.
const (
	usualFramesPerSuper = 10
	usualFramesPerSide  = 30
)

// incoming makes an entry of each kind. bind reads what was sent into the contract's type
// for the kind.
var incoming = map[ledger.Kind]func(bind func(any) error) (*ledger.Entry, error){
	ledger.KindSeason: taken(func(in *openapi.NewSeason) (ledger.Body, error) {
		return &ledger.Season{Name: in.Name, First: wire.DateIn(in.First), Last: wire.DateIn(in.Last)}, nil
	}),
	ledger.KindYard: taken(func(in *openapi.NewYard) (ledger.Body, error) {
		return &ledger.Yard{
			Name: in.Name, Registration: wire.OrZero(in.Registration), Latitude: in.LatitudeDeg, Longitude: in.LongitudeDeg, Note: wire.OrZero(in.Note),
		}, nil
	}),
	ledger.KindSuperKind: taken(func(in *openapi.NewSuperKind) (ledger.Body, error) {
		frames := usualFramesPerSuper
		if in.FramesPerSuper != nil {
			frames = *in.FramesPerSuper
		}
		return &ledger.SuperKind{
			Name: in.Name, FramesPerSuper: frames,
			TareG: wire.Grams(in.TareKg), UsualNetG: wire.Grams(in.UsualNetKg), FullestNetG: wire.Grams(in.FullestNetKg),
		}, nil
	}),
	ledger.KindContainerKind: taken(func(in *openapi.NewContainerKind) (ledger.Body, error) {
		return &ledger.ContainerKind{
			Name: in.Name, VolumeML: wire.Grams(in.VolumeL), TareG: wire.Grams(in.UsualTareKg), UsualNetG: wire.Grams(in.UsualNetKg),
		}, nil
	}),
	ledger.KindRoom: taken(func(in *openapi.NewRoom) (ledger.Body, error) {
		return &ledger.Room{Name: in.Name, Use: ledger.RoomUse(in.Use), UsualTemperatureC: in.UsualTemperatureC}, nil
	}),
	ledger.KindTank: taken(func(in *openapi.NewTank) (ledger.Body, error) {
		return &ledger.Tank{
			Name: in.Name, Use: ledger.TankUse(in.Use), CapacityG: wire.Grams(in.CapacityKg), HeaterW: wire.OrZero(in.HeaterW),
			HoseMark: wire.OrZero(in.HoseMark), Shape: shapeIn(in.Shape), UsualTemperatureC: in.UsualTemperatureC,
			FeedsTankID: wire.OrZero(in.FeedsTankID),
		}, nil
	}),
	ledger.KindInstrument: taken(func(in *openapi.NewInstrument) (ledger.Body, error) {
		return &ledger.Instrument{
			Name: in.Name, Scale: string(in.Scale), Compensates: in.CompensatesTemperature,
			StdUncertainty: wire.OrZero(in.StdUncertainty), CheckEveryDays: wire.OrZero(in.CheckEveryDays),
		}, nil
	}),
	ledger.KindBuyer: taken(func(in *openapi.NewBuyer) (ledger.Body, error) {
		return &ledger.Buyer{Name: in.Name, Address: wire.OrZero(in.Address)}, nil
	}),
	ledger.KindHiveCount: taken(func(in *openapi.NewHiveCount) (ledger.Body, error) {
		return &ledger.HiveCount{YardID: in.YardID, Name: in.Name, Hives: in.Hives}, nil
	}),
	ledger.KindPull: taken(func(in *openapi.NewPull) (ledger.Body, error) {
		out := &ledger.Pull{
			YardID: in.YardID, HivesWorked: wire.OrZero(in.HivesWorked), GrossG: wire.Grams(wire.OrZero(in.GrossKg)),
			RoomID: wire.OrZero(in.RoomID), Note: wire.OrZero(in.Note),
		}
		for _, c := range in.Supers {
			out.Supers = append(out.Supers, ledger.SuperCount{SuperKindID: c.SuperKindID, Supers: c.Supers})
		}
		return out, nil
	}),
	ledger.KindRun: taken(func(in *openapi.NewRun) (ledger.Body, error) {
		frames := usualFramesPerSide
		if in.FramesPerSide != nil {
			frames = *in.FramesPerSide
		}
		return &ledger.Run{Name: in.Name, FramesPerSide: frames, Note: wire.OrZero(in.Note)}, nil
	}),
	ledger.KindRunSupers: taken(func(in *openapi.NewRunSupers) (ledger.Body, error) {
		return &ledger.RunSupers{
			RunID: in.RunID, PullID: in.PullID,
			SuperCount: ledger.SuperCount{SuperKindID: in.SuperKindID, Supers: in.Supers},
		}, nil
	}),
	ledger.KindLoad: taken(func(in *openapi.NewLoad) (ledger.Body, error) {
		return &ledger.Load{
			RunID: in.RunID, Load: in.Load, FramesLeft: in.FramesLeft, FramesRight: in.FramesRight, Note: wire.OrZero(in.Note),
		}, nil
	}),
	ledger.KindRunEnd: taken(func(in *openapi.NewRunEnd) (ledger.Body, error) {
		return &ledger.RunEnd{
			RunID: in.RunID, WaxG: wire.Grams(wire.OrZero(in.WaxKg)), EmptiesG: wire.Grams(wire.OrZero(in.EmptiesKg)),
			SetAsideFrames: wire.OrZero(in.SetAsideFrames), Note: wire.OrZero(in.Note),
		}, nil
	}),
	ledger.KindMovement: taken(func(in *openapi.NewMovement) (ledger.Body, error) {
		return &ledger.Movement{
			From:  ledger.Place{Kind: ledger.PlaceKind(in.From.Kind), ID: in.From.ID},
			To:    ledger.Place{Kind: ledger.PlaceKind(in.To.Kind), ID: wire.OrZero(in.To.ID)},
			MassG: wire.Grams(wire.OrZero(in.MassKg)), Note: wire.OrZero(in.Note),
		}, nil
	}),
	ledger.KindStocktake: taken(func(in *openapi.NewStocktake) (ledger.Body, error) {
		return &ledger.Stocktake{
			TankID: in.TankID, Method: string(in.Method), MassG: wire.Grams(wire.OrZero(in.MassKg)), MassFromDip: in.MassKg == nil,
			UncertaintyG: wire.Grams(wire.OrZero(in.UncertaintyKg)), DepthCM: in.DepthCm, FoamCM: in.FoamCm, TemperatureC: in.TemperatureC,
			Note: wire.OrZero(in.Note),
		}, nil
	}),
	ledger.KindWash: taken(func(in *openapi.NewWash) (ledger.Body, error) {
		return &ledger.Wash{TankID: in.TankID, With: wire.OrZero(in.With), Note: wire.OrZero(in.Note)}, nil
	}),
	ledger.KindTemperatureLog: taken(func(in *openapi.NewTemperatureLog) (ledger.Body, error) {
		out := &ledger.TemperatureLog{
			On:   ledger.Place{Kind: ledger.PlaceKind(in.On.Kind), ID: in.On.ID},
			Held: wire.OrZero(in.Held), WaterG: wire.Grams(wire.OrZero(in.WaterKg)), Note: wire.OrZero(in.Note),
		}
		for _, p := range in.Points {
			out.Points = append(out.Points, ledger.TemperaturePoint{At: p.At.UTC(), TemperatureC: p.TemperatureC, HumidityPct: p.HumidityPct})
		}
		return out, nil
	}),
	ledger.KindLot: taken(func(in *openapi.NewLot) (ledger.Body, error) {
		return &ledger.Lot{
			Code: in.Code, Product: wire.OrZero(in.Product), StoreID: wire.OrZero(in.StoreID), Note: wire.OrZero(in.Note), Declares: wire.OrZero(in.Declares),
		}, nil
	}),
	ledger.KindFill: taken(func(in *openapi.NewFill) (ledger.Body, error) {
		return &ledger.Fill{
			LotID: in.LotID, TankID: in.TankID, ContainerKindID: in.ContainerKindID, Container: in.Container,
			TareG: wire.Grams(in.TareKg), GrossG: wire.Grams(in.GrossKg), Seal: wire.OrZero(in.Seal), Note: wire.OrZero(in.Note),
		}, nil
	}),
	ledger.KindDispatch: taken(func(in *openapi.NewDispatch) (ledger.Body, error) {
		return &ledger.Dispatch{
			BuyerID: in.BuyerID, Containers: in.Containers, Reference: wire.OrZero(in.Reference), Note: wire.OrZero(in.Note),
		}, nil
	}),
	ledger.KindReading: taken(func(in *openapi.NewReading) (ledger.Body, error) {
		out := &ledger.Reading{
			On:    ledger.Place{Kind: ledger.PlaceKind(in.On.Kind), ID: in.On.ID},
			Point: ledger.Point(wire.OrZero(in.Point)), InstrumentID: wire.OrZero(in.InstrumentID), Laboratory: wire.OrZero(in.Laboratory),
			Moisture: shownIn(in), Granulated: wire.OrZero(in.Granulated), Note: wire.OrZero(in.Note),
			ContainersSampled: wire.OrZero(in.ContainersSampled),
		}
		for _, o := range wire.OrZero(in.Observed) {
			out.Observed = append(out.Observed, ledger.Observed{What: o.What, Word: o.Word})
		}
		for _, m := range wire.OrZero(in.Measured) {
			out.Measured = append(out.Measured, ledger.Measured{
				Quantity: string(m.Quantity), Value: m.Value, StdUncertainty: wire.OrZero(m.StdUncertainty),
				LessThan: wire.OrZero(m.LessThan), Method: wire.OrZero(m.Method),
			})
		}
		return out, nil
	}),
	ledger.KindCalibration: taken(func(in *openapi.NewCalibration) (ledger.Body, error) {
		return &ledger.Calibration{
			InstrumentID: in.InstrumentID, Reference: in.Reference, Expected: in.Expected,
			AsFound: in.AsFound, AsLeft: in.AsLeft, Tolerance: in.Tolerance, Note: wire.OrZero(in.Note),
		}, nil
	}),
	ledger.KindRuleSet: taken(func(in *openapi.NewRuleSet) (ledger.Body, error) {
		// The contract and the book give the lines of a rule set the same form.
		text, err := json.Marshal(in)
		if err != nil {
			return nil, err
		}
		out := new(ledger.RuleSet)
		if err := json.Unmarshal(text, out); err != nil {
			return nil, fault.New(fault.Invalid, "The rule set could not be read: %s.", err)
		}
		return out, nil
	}),
	ledger.KindSample: taken(func(in *openapi.NewSample) (ledger.Body, error) {
		return &ledger.Sample{LotID: in.LotID, RuleSet: refIn(in.RuleSet), Seed: wire.OrZero(in.Seed)}, nil
	}),
	ledger.KindCheck: taken(func(in *openapi.NewCheck) (ledger.Body, error) {
		out := &ledger.Check{LotID: in.LotID, On: standard.Date(wire.DateIn(in.On)), Note: wire.OrZero(in.Note)}
		for _, r := range in.RuleSets {
			out.RuleSets = append(out.RuleSets, refIn(r))
		}
		if d := in.Decision; d != nil {
			out.Decision = &standard.DecisionRule{AcceptR: wire.OrZero(d.AcceptR), RejectR: wire.OrZero(d.RejectR), CoverageFactor: wire.OrZero(d.CoverageFactor)}
		}
		return out, nil
	}),
	ledger.KindLotStatus: taken(func(in *openapi.NewLotStatus) (ledger.Body, error) {
		return &ledger.LotStatus{
			LotID: in.LotID, Status: ledger.Status(in.Status), Why: ledger.HoldReason(wire.OrZero(in.Why)),
			CheckID: wire.OrZero(in.CheckID), RuleSets: wire.OrZero(in.RuleSets), Override: wire.OrZero(in.Override), Note: wire.OrZero(in.Note),
		}, nil
	}),
	ledger.KindSettlement: taken(func(in *openapi.NewSettlement) (ledger.Body, error) {
		out := &ledger.Settlement{
			DispatchID: in.DispatchID, RuleSet: refIn(in.RuleSet), PaidMinor: in.PaidMinor,
			Reference: wire.OrZero(in.Reference), Note: wire.OrZero(in.Note),
		}
		for _, d := range in.Drums {
			out.Drums = append(out.Drums, ledger.BuyerFound{
				FillID: d.FillID, NetG: wire.Grams(d.NetKg), MoisturePct: d.MoisturePct, ColourPfund: d.ColourMmPfund, Note: wire.OrZero(d.Note),
			})
		}
		return out, nil
	}),
	ledger.KindAcceptance: taken(func(in *openapi.NewAcceptance) (ledger.Body, error) {
		return &ledger.Acceptance{EntryID: in.EntryID, Flag: ledger.Code(in.Flag)}, nil
	}),
	ledger.KindWithdrawal: taken(func(in *openapi.NewWithdrawal) (ledger.Body, error) {
		return &ledger.Withdrawal{}, nil
	}),
}

// taken makes an entry of what bind reads into a type of the contract, by what of it is
// the kind's own and what every entry brings with it.
func taken[T any, P interface {
	*T
	Shared() *openapi.NewEntry
}](body func(P) (ledger.Body, error)) func(bind func(any) error) (*ledger.Entry, error) {
	return func(bind func(any) error) (*ledger.Entry, error) {
		in := P(new(T))
		if err := bind(in); err != nil {
			return nil, err
		}
		made, err := body(in)
		if err != nil {
			return nil, err
		}
		shared := in.Shared()
		return &ledger.Entry{
			ID: shared.ID, Kind: made.Kind(), OccurredAt: shared.OccurredAt, Replaces: wire.OrZero(shared.Replaces), Reason: wire.OrZero(shared.Reason),
			AsEntered: wire.OrZero(shared.AsEntered), Via: ledger.Via(wire.OrZero(shared.Via)), Body: made,
		}, nil
	}
}

func shapeIn(in *openapi.TankShape) *ledger.TankShape {
	if in == nil {
		return nil
	}
	out := &ledger.TankShape{
		Form: string(in.Form), DiameterCM: wire.OrZero(in.DiameterCm), LengthCM: wire.OrZero(in.LengthCm),
		WidthCM: wire.OrZero(in.WidthCm), HeightCM: wire.OrZero(in.HeightCm), DishDepthCM: wire.OrZero(in.DishDepthCm),
	}
	for _, row := range wire.OrZero(in.DipTable) {
		out.DipTable = append(out.DipTable, ledger.DipPoint{DepthCM: row.DepthCm, Litres: row.Litres})
	}
	return out
}

// shownIn is what the refractometer showed; the book works out the rest.
func shownIn(in *openapi.NewReading) *ledger.MoistureReading {
	m := &ledger.MoistureReading{SampleC: in.SampleTemperatureC, CompensatedAsSent: in.Compensated}
	switch {
	case in.MoisturePct != nil:
		m.Scale, m.AsRead = ledger.ScaleMoisture, *in.MoisturePct
	case in.RefractiveIndex != nil:
		m.Scale, m.AsRead = ledger.ScaleRefractiveIndex, *in.RefractiveIndex
	case in.BrixDeg != nil:
		m.Scale, m.AsRead = ledger.ScaleBrix, *in.BrixDeg
	default:
		return nil
	}
	return m
}

func refIn(in openapi.RuleSetRef) ledger.RuleSetRef {
	return ledger.RuleSetRef{Standard: wire.OrZero(in.Standard), RuleSetID: wire.OrZero(in.RuleSetID), Version: wire.OrZero(in.Version)}
}

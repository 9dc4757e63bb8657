package entries

import (
	"encoding/json"
	"fmt"
	"time"

	"pullbook/api/reports"
	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// Value returns an entry as the contract's JSON has it, as what encoding/json reads: what
// Request returns, in another form.
func Value(e *ledger.Entry) (map[string]any, error) {
	if e.Kind == ledger.KindUnreadable { // nothing of it is known but when it happened
		return map[string]any{"occurred_at": e.OccurredAt.Format(time.RFC3339Nano)}, nil
	}
	content, err := Request(e)
	if err != nil {
		return nil, err
	}
	data, err := json.Marshal(content)
	if err != nil {
		return nil, err
	}
	out := map[string]any{}
	return out, json.Unmarshal(data, &out)
}

// Request is an entry in the form in which the contract takes it: what a client
// would send to record the same. It is a pointer to one of the contract's New
// types.
func Request(e *ledger.Entry) (any, error) {
	shared := sharedOut(e)
	switch x := e.Body.(type) {
	case *ledger.Season:
		return &openapi.NewSeason{
			NewEntry: shared,
			Name:     x.Name, First: wire.DateOut(x.First), Last: wire.DateOut(x.Last),
		}, nil
	case *ledger.Yard:
		return &openapi.NewYard{
			NewEntry: shared,
			Name:     x.Name, Registration: wire.OrNil(x.Registration), LatitudeDeg: x.Latitude, LongitudeDeg: x.Longitude, Note: wire.OrNil(x.Note),
		}, nil
	case *ledger.SuperKind:
		return &openapi.NewSuperKind{
			NewEntry: shared,
			Name:     x.Name, FramesPerSuper: &x.FramesPerSuper, TareKg: wire.Kg(x.TareG), UsualNetKg: wire.Kg(x.UsualNetG), FullestNetKg: wire.Kg(x.FullestNetG),
		}, nil
	case *ledger.ContainerKind:
		return &openapi.NewContainerKind{
			NewEntry: shared,
			Name:     x.Name, VolumeL: wire.Kg(x.VolumeML), UsualTareKg: wire.Kg(x.TareG), UsualNetKg: wire.Kg(x.UsualNetG),
		}, nil
	case *ledger.Room:
		return &openapi.NewRoom{
			NewEntry: shared,
			Name:     x.Name, Use: openapi.RoomUse(x.Use), UsualTemperatureC: x.UsualTemperatureC,
		}, nil
	case *ledger.Tank:
		return &openapi.NewTank{
			NewEntry: shared,
			Name:     x.Name, Use: openapi.TankUse(x.Use), CapacityKg: wire.Kg(x.CapacityG), HeaterW: wire.OrNil(x.HeaterW),
			HoseMark: wire.OrNil(x.HoseMark), Shape: shapeOut(x.Shape), UsualTemperatureC: x.UsualTemperatureC,
			FeedsTankID: wire.OrNil(x.FeedsTankID),
		}, nil
	case *ledger.Instrument:
		return &openapi.NewInstrument{
			NewEntry: shared,
			Name:     x.Name, Scale: openapi.InstrumentScale(x.Scale), CompensatesTemperature: x.Compensates,
			StdUncertainty: wire.OrNil(x.StdUncertainty), CheckEveryDays: wire.OrNil(x.CheckEveryDays),
		}, nil
	case *ledger.Buyer:
		return &openapi.NewBuyer{
			NewEntry: shared,
			Name:     x.Name, Address: wire.OrNil(x.Address),
		}, nil
	case *ledger.HiveCount:
		return &openapi.NewHiveCount{
			NewEntry: shared,
			YardID:   x.YardID, Name: x.Name, Hives: x.Hives,
		}, nil
	case *ledger.Pull:
		return &openapi.NewPull{
			NewEntry: shared,
			YardID:   x.YardID, Supers: supersOut(x.Supers), HivesWorked: wire.OrNil(x.HivesWorked),
			GrossKg: wire.OrNil(wire.Kg(x.GrossG)), RoomID: wire.OrNil(x.RoomID), Note: wire.OrNil(x.Note),
		}, nil
	case *ledger.Run:
		return &openapi.NewRun{
			NewEntry: shared,
			Name:     x.Name, FramesPerSide: &x.FramesPerSide, Note: wire.OrNil(x.Note),
		}, nil
	case *ledger.RunSupers:
		return &openapi.NewRunSupers{
			NewEntry: shared,
			RunID:    x.RunID, PullID: x.PullID, SuperKindID: x.SuperKindID, Supers: x.Supers,
		}, nil
	case *ledger.Load:
		return &openapi.NewLoad{
			NewEntry: shared,
			RunID:    x.RunID, Load: x.Load, FramesLeft: x.FramesLeft, FramesRight: x.FramesRight, Note: wire.OrNil(x.Note),
		}, nil
	case *ledger.RunEnd:
		return &openapi.NewRunEnd{
			NewEntry: shared,
			RunID:    x.RunID, WaxKg: wire.OrNil(wire.Kg(x.WaxG)), EmptiesKg: wire.OrNil(wire.Kg(x.EmptiesG)),
			SetAsideFrames: wire.OrNil(x.SetAsideFrames), Note: wire.OrNil(x.Note),
		}, nil
	case *ledger.Movement:
		return &openapi.NewMovement{
			NewEntry: shared,
			From:     openapi.MovementFrom{Kind: openapi.MovementFromKind(x.From.Kind), ID: x.From.ID},
			To:       openapi.MovementTo{Kind: openapi.MovementToKind(x.To.Kind), ID: wire.OrNil(x.To.ID)},
			MassKg:   wire.OrNil(wire.Kg(x.MassG)), Note: wire.OrNil(x.Note),
		}, nil
	case *ledger.Stocktake:
		return &openapi.NewStocktake{
			NewEntry: shared,
			TankID:   x.TankID, Method: openapi.StocktakeMethod(x.Method), MassKg: massOut(x), UncertaintyKg: uncertaintyOut(x),
			DepthCm: x.DepthCM, FoamCm: x.FoamCM, TemperatureC: x.TemperatureC, Note: wire.OrNil(x.Note),
		}, nil
	case *ledger.Wash:
		return &openapi.NewWash{
			NewEntry: shared,
			TankID:   x.TankID, With: wire.OrNil(x.With), Note: wire.OrNil(x.Note),
		}, nil
	case *ledger.Lot:
		return &openapi.NewLot{
			NewEntry: shared,
			Code:     x.Code, Product: wire.OrNil(x.Product), StoreID: wire.OrNil(x.StoreID), Note: wire.OrNil(x.Note), Declares: declaresOut(x.Declares),
		}, nil
	case *ledger.Fill:
		return &openapi.NewFill{
			NewEntry: shared,
			LotID:    x.LotID, TankID: x.TankID, ContainerKindID: x.ContainerKindID, Container: x.Container,
			TareKg: wire.Kg(x.TareG), GrossKg: wire.Kg(x.GrossG), Seal: wire.OrNil(x.Seal), Note: wire.OrNil(x.Note),
		}, nil
	case *ledger.Calibration:
		return &openapi.NewCalibration{
			NewEntry:     shared,
			InstrumentID: x.InstrumentID, Reference: x.Reference, Expected: x.Expected,
			AsFound: x.AsFound, AsLeft: x.AsLeft, Tolerance: x.Tolerance, Note: wire.OrNil(x.Note),
		}, nil
	case *ledger.TemperatureLog:
		return &openapi.NewTemperatureLog{
			NewEntry: shared,
			On:       openapi.LogOn{Kind: openapi.LogOnKind(x.On.Kind), ID: x.On.ID}, Points: pointsOut(x.Points),
			Held: wire.OrNil(x.Held), WaterKg: wire.OrNil(wire.Kg(x.WaterG)), Note: wire.OrNil(x.Note),
		}, nil
	case *ledger.Dispatch:
		return &openapi.NewDispatch{
			NewEntry: shared,
			BuyerID:  x.BuyerID, Containers: x.Containers, Reference: wire.OrNil(x.Reference), Note: wire.OrNil(x.Note),
		}, nil
	case *ledger.Acceptance:
		return &openapi.NewAcceptance{
			NewEntry: shared,
			EntryID:  x.EntryID, Flag: string(x.Flag),
		}, nil
	case *ledger.Reading:
		r := readingOut(x)
		r.NewEntry = shared
		return r, nil
	case *ledger.Withdrawal:
		return &openapi.NewWithdrawal{NewEntry: shared}, nil
	}
	if out, err := qualityRequest(e, shared); out != nil || err != nil {
		return out, err
	}
	return nil, fmt.Errorf("a %s has no form in the contract", e.Kind)
}

// sharedOut is what a client sends of an entry whatever its kind.
func sharedOut(e *ledger.Entry) openapi.NewEntry {
	out := openapi.NewEntry{
		ID: e.ID, OccurredAt: e.OccurredAt, Replaces: wire.OrNil(e.Replaces), Reason: wire.OrNil(e.Reason), Via: wire.OrNil(openapi.Via(e.Via)),
	}
	if len(e.AsEntered) > 0 {
		out.AsEntered = &e.AsEntered
	}
	return out
}

func supersOut(in []ledger.SuperCount) []openapi.SuperCount {
	out := make([]openapi.SuperCount, len(in))
	for i, c := range in {
		out[i] = openapi.SuperCount{SuperKindID: c.SuperKindID, Supers: c.Supers}
	}
	return out
}

func massOut(x *ledger.Stocktake) *float64 {
	if x.MassFromDip {
		return nil
	}
	return new(wire.Kg(x.MassG))
}

func uncertaintyOut(x *ledger.Stocktake) *float64 {
	if x.MassFromDip {
		return nil
	}
	return wire.OrNil(wire.Kg(x.UncertaintyG))
}

func pointsOut(in []ledger.TemperaturePoint) []openapi.TemperaturePoint {
	out := make([]openapi.TemperaturePoint, len(in))
	for i, p := range in {
		out[i] = openapi.TemperaturePoint{At: p.At, TemperatureC: p.TemperatureC, HumidityPct: p.HumidityPct}
	}
	return out
}

func readingOut(x *ledger.Reading) *openapi.NewReading {
	out := &openapi.NewReading{
		On:    openapi.ReadingOn{Kind: openapi.ReadingOnKind(x.On.Kind), ID: x.On.ID},
		Point: wire.OrNil(openapi.ReadingPoint(x.Point)), InstrumentID: wire.OrNil(x.InstrumentID), Laboratory: wire.OrNil(x.Laboratory),
		Granulated: wire.OrNil(x.Granulated), Note: wire.OrNil(x.Note), ContainersSampled: wire.OrNil(x.ContainersSampled),
	}
	if len(x.Observed) > 0 {
		seen := make([]openapi.Observed, len(x.Observed))
		for i, o := range x.Observed {
			seen[i] = openapi.Observed{What: o.What, Word: o.Word}
		}
		out.Observed = &seen
	}
	if m := x.Moisture; m != nil {
		out.SampleTemperatureC, out.Compensated = m.SampleC, m.CompensatedAsSent
		switch m.Scale {
		case ledger.ScaleMoisture:
			out.MoisturePct = &m.AsRead
		case ledger.ScaleRefractiveIndex:
			out.RefractiveIndex = &m.AsRead
		case ledger.ScaleBrix:
			out.BrixDeg = &m.AsRead
		}
	}
	if len(x.Measured) > 0 {
		out.Measured = new(reports.MeasuredOut(x.Measured))
	}
	return out
}

func shapeOut(in *ledger.TankShape) *openapi.TankShape {
	if in == nil {
		return nil
	}
	out := &openapi.TankShape{
		Form: openapi.TankShapeForm(in.Form), DiameterCm: wire.OrNil(in.DiameterCM), LengthCm: wire.OrNil(in.LengthCM),
		WidthCm: wire.OrNil(in.WidthCM), HeightCm: wire.OrNil(in.HeightCM), DishDepthCm: wire.OrNil(in.DishDepthCM),
	}
	if len(in.DipTable) > 0 {
		rows := make([]openapi.DipPoint, len(in.DipTable))
		for i, r := range in.DipTable {
			rows[i] = openapi.DipPoint{DepthCm: r.DepthCM, Litres: r.Litres}
		}
		out.DipTable = &rows
	}
	return out
}

package entries

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// The usual sixty-frame line: ten frames to a box, thirty a side. Defaults,
// not constants.
const (
	usualFramesPerSuper = 10
	usualFramesPerSide  = 30
)

func (s Handler) RecordSeason(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewSeason) (ledger.Body, error) {
		return &ledger.Season{
			Name: in.Name, First: wire.DateIn(in.First), Last: wire.DateIn(in.Last),
		}, nil
	})
}

func (s Handler) RecordYard(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewYard) (ledger.Body, error) {
		return &ledger.Yard{
			Name: in.Name, Registration: wire.OrZero(in.Registration), Latitude: in.LatitudeDeg, Longitude: in.LongitudeDeg, Note: wire.OrZero(in.Note),
		}, nil
	})
}

func (s Handler) RecordSuperKind(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewSuperKind) (ledger.Body, error) {
		frames := usualFramesPerSuper
		if in.FramesPerSuper != nil {
			frames = *in.FramesPerSuper
		}
		return &ledger.SuperKind{
			Name: in.Name, FramesPerSuper: frames,
			TareG: wire.Grams(in.TareKg), UsualNetG: wire.Grams(in.UsualNetKg), FullestNetG: wire.Grams(in.FullestNetKg),
		}, nil
	})
}

func (s Handler) RecordContainerKind(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewContainerKind) (ledger.Body, error) {
		return &ledger.ContainerKind{
			Name: in.Name, VolumeML: wire.Grams(in.VolumeL), TareG: wire.Grams(in.UsualTareKg), UsualNetG: wire.Grams(in.UsualNetKg),
		}, nil
	})
}

func (s Handler) RecordRoom(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewRoom) (ledger.Body, error) {
		return &ledger.Room{
			Name: in.Name, Use: ledger.RoomUse(in.Use), UsualTemperatureC: in.UsualTemperatureC,
		}, nil
	})
}

func (s Handler) RecordTank(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewTank) (ledger.Body, error) {
		return &ledger.Tank{
			Name: in.Name, Use: ledger.TankUse(in.Use), CapacityG: wire.Grams(in.CapacityKg), HeaterW: wire.OrZero(in.HeaterW),
			HoseMark: wire.OrZero(in.HoseMark), Shape: shapeIn(in.Shape), UsualTemperatureC: in.UsualTemperatureC,
			FeedsTankID: wire.OrZero(in.FeedsTankID),
		}, nil
	})
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

func (s Handler) RecordInstrument(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewInstrument) (ledger.Body, error) {
		return &ledger.Instrument{
			Name: in.Name, Scale: string(in.Scale), Compensates: in.CompensatesTemperature,
			StdUncertainty: wire.OrZero(in.StdUncertainty), CheckEveryDays: wire.OrZero(in.CheckEveryDays),
		}, nil
	})
}

func (s Handler) RecordBuyer(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewBuyer) (ledger.Body, error) {
		return &ledger.Buyer{
			Name: in.Name, Address: wire.OrZero(in.Address),
		}, nil
	})
}

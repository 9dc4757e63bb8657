package entries

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

func (s Handler) RecordReading(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewReading) (ledger.Body, error) {
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
	})
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

func (s Handler) RecordCalibration(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewCalibration) (ledger.Body, error) {
		return &ledger.Calibration{
			InstrumentID: in.InstrumentID, Reference: in.Reference, Expected: in.Expected,
			AsFound: in.AsFound, AsLeft: in.AsLeft, Tolerance: in.Tolerance, Note: wire.OrZero(in.Note),
		}, nil
	})
}

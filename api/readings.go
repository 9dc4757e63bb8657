package api

import (
	"github.com/labstack/echo/v4"

	"pullbook/domain/ledger"
	"pullbook/openapi"
)

func (s *Server) RecordReading(ctx echo.Context) error {
	return record(s, ctx, func(in *openapi.NewReading) (ledger.Body, error) {
		out := &ledger.Reading{
			On:    ledger.Place{Kind: ledger.PlaceKind(in.On.Kind), ID: in.On.ID},
			Point: ledger.Point(orZero(in.Point)), InstrumentID: orZero(in.InstrumentID), Laboratory: orZero(in.Laboratory),
			Moisture: shownIn(in), Granulated: orZero(in.Granulated), Note: orZero(in.Note),
			ContainersSampled: orZero(in.ContainersSampled),
		}
		for _, o := range orZero(in.Observed) {
			out.Observed = append(out.Observed, ledger.Observed{What: o.What, Word: o.Word})
		}
		for _, m := range orZero(in.Measured) {
			out.Measured = append(out.Measured, ledger.Measured{
				Quantity: string(m.Quantity), Value: m.Value, StdUncertainty: orZero(m.StdUncertainty),
				LessThan: orZero(m.LessThan), Method: orZero(m.Method),
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

func (s *Server) RecordCalibration(ctx echo.Context) error {
	return record(s, ctx, func(in *openapi.NewCalibration) (ledger.Body, error) {
		return &ledger.Calibration{
			InstrumentID: in.InstrumentID, Reference: in.Reference, Expected: in.Expected,
			AsFound: in.AsFound, AsLeft: in.AsLeft, Tolerance: in.Tolerance, Note: orZero(in.Note),
		}, nil
	})
}

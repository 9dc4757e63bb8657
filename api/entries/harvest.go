package entries

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

func (s Handler) RecordHiveCount(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewHiveCount) (ledger.Body, error) {
		return &ledger.HiveCount{
			YardID: in.YardID, Name: in.Name, Hives: in.Hives,
		}, nil
	})
}

func (s Handler) RecordPull(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewPull) (ledger.Body, error) {
		out := &ledger.Pull{
			YardID: in.YardID, HivesWorked: wire.OrZero(in.HivesWorked), GrossG: wire.Grams(wire.OrZero(in.GrossKg)),
			RoomID: wire.OrZero(in.RoomID), Note: wire.OrZero(in.Note),
		}
		for _, c := range in.Supers {
			out.Supers = append(out.Supers, ledger.SuperCount{SuperKindID: c.SuperKindID, Supers: c.Supers})
		}
		return out, nil
	})
}

func (s Handler) RecordRun(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewRun) (ledger.Body, error) {
		frames := usualFramesPerSide
		if in.FramesPerSide != nil {
			frames = *in.FramesPerSide
		}
		return &ledger.Run{
			Name: in.Name, FramesPerSide: frames, Note: wire.OrZero(in.Note),
		}, nil
	})
}

func (s Handler) RecordRunSupers(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewRunSupers) (ledger.Body, error) {
		return &ledger.RunSupers{
			RunID: in.RunID, PullID: in.PullID,
			SuperCount: ledger.SuperCount{SuperKindID: in.SuperKindID, Supers: in.Supers},
		}, nil
	})
}

func (s Handler) RecordLoad(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewLoad) (ledger.Body, error) {
		return &ledger.Load{
			RunID: in.RunID, Load: in.Load, FramesLeft: in.FramesLeft, FramesRight: in.FramesRight, Note: wire.OrZero(in.Note),
		}, nil
	})
}

func (s Handler) RecordRunEnd(ctx echo.Context) error {
	return record(s.Service, ctx, func(in *openapi.NewRunEnd) (ledger.Body, error) {
		return &ledger.RunEnd{
			RunID: in.RunID, WaxG: wire.Grams(wire.OrZero(in.WaxKg)), EmptiesG: wire.Grams(wire.OrZero(in.EmptiesKg)),
			SetAsideFrames: wire.OrZero(in.SetAsideFrames), Note: wire.OrZero(in.Note),
		}, nil
	})
}

package reports

import (
	"github.com/labstack/echo/v4"

	"pullbook/api/wire"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/trace"
	"pullbook/openapi"
)

// GetRecall is where the honey of a yard, pull, run, tank, lot, container or day
// is and went.
func (s Handler) GetRecall(ctx echo.Context, params openapi.GetRecallParams) error {
	return s.Read(ctx, func(o db.Outfit, b *ledger.Book) (any, error) {
		subject, err := SubjectOf(b, params.Of, wire.OrZero(params.Pulled))
		if err != nil {
			return nil, err
		}
		return recallOut(Tracer(s.Service, ctx, o, b).Forward(subject)), nil
	})
}

func recallOut(f *trace.Forward) openapi.Recall {
	out := openapi.Recall{
		Name: f.Name, ThroughEntry: f.Through, TotalKg: wire.Kg(f.TotalG), WastedKg: wire.Kg(f.WastedG), LostKg: wire.Kg(f.LostG),
		OnHand: amountOut(f.OnHand), InTanks: amountOut(f.InTanks), Dispatched: amountOut(f.Dispatched),
		BoundsNotTightest: wire.OrNil(f.NotTightest), OnHandNetKg: wire.Kg(f.OnHandNetG), DispatchedNetKg: wire.Kg(f.DispatchedNetG),
		Containers: make([]openapi.RecallContainer, len(f.Containers)), Tanks: make([]openapi.RecallTank, len(f.Tanks)), Buyers: make([]openapi.RecallBuyer, len(f.Buyers)),
	}
	for i, c := range f.Containers {
		out.Containers[i] = openapi.RecallContainer{
			FillID: c.ID, Container: c.Number, LotID: c.LotID, Lot: c.Lot, State: openapi.RecallContainerState(c.State), NetKg: wire.Kg(c.NetG),
			MassKg: wire.Kg(c.Of.Grams), LeastKg: wire.Kg(c.Of.LeastG), MostKg: wire.Kg(c.Of.MostG), HeelOnly: c.Of.MostG == 0,
			Buyer: wire.OrNil(c.Buyer), GoneAt: wire.OrNil(c.GoneAt),
		}
	}
	for i, t := range f.Tanks {
		out.Tanks[i] = openapi.RecallTank{TankID: t.ID, Name: t.Name, HeldKg: wire.Kg(t.HeldG),
			MassKg: wire.Kg(t.Of.Grams), LeastKg: wire.Kg(t.Of.LeastG), MostKg: wire.Kg(t.Of.MostG), HeelOnly: t.Of.MostG == 0}
	}
	for i, x := range f.Buyers {
		out.Buyers[i] = openapi.RecallBuyer{BuyerID: x.ID, Name: x.Name, Containers: x.Containers, NetKg: wire.Kg(x.NetG),
			MassKg: wire.Kg(x.Of.Grams), LeastKg: wire.Kg(x.Of.LeastG), MostKg: wire.Kg(x.Of.MostG)}
	}
	return out
}

// Attach has a browser store an answer under a name.
func Attach(ctx echo.Context, name string) {
	ctx.Response().Header().Set(echo.HeaderContentDisposition, `attachment; filename="`+name+`"`)
}

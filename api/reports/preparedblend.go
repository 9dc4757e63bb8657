package reports

import (
	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// shedBlend is what a device must know to pour a blend that was prepared.
func shedBlend(b *ledger.Book, e *ledger.Entry) openapi.ShedBlend {
	p := e.Body.(*ledger.PreparedBlend)
	out := openapi.ShedBlend{BlendID: b.Root(e.ID), Title: p.Title, TankID: b.Root(p.TankID), Tank: b.Name(p.TankID), Note: wire.OrNil(p.Note), Takes: []openapi.ShedBlendTake{}}
	for _, t := range b.Taken(e) {
		take := openapi.ShedBlendTake{
			Kind: openapi.ShedBlendTakeKind(t.From.Kind), ID: b.Root(t.From.ID), Name: b.Name(t.From.ID), MassKg: wire.Kg(t.MassG), Done: t.Done(),
		}
		if fill := ledger.Named[ledger.Fill](b, t.From.ID); fill != nil {
			take.Lot, take.MassKg = new(b.Name(fill.LotID)), wire.Kg(fill.NetG())
		}
		if t.MovedG > 0 {
			take.PouredKg = new(wire.Kg(t.MovedG))
		}
		out.Takes = append(out.Takes, take)
	}
	return out
}

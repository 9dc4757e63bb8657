package reports

import (
	"time"

	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/openapi"
)

const (
	// mostPrepared is of how many prepared dispatches a device is told.
	mostPrepared = 12
	// mostToLoad is how many containers of one it is told: as many as a dispatch may have.
	mostToLoad = 2000
)

// advised is a prepared dispatch with what the door would say of it, not in words yet.
type advised struct {
	shed  openapi.ShedPrepared
	stays map[ledger.ID]message.Text
	says  []message.Text
}

// preparedIn takes from a book what a device must know to load what was prepared.
func preparedIn(b *ledger.Book, e *ledger.Entry, now time.Time) advised {
	p := e.Body.(*ledger.PreparedDispatch)
	out := advised{stays: map[ledger.ID]message.Text{}, shed: openapi.ShedPrepared{
		PreparedID: b.Root(e.ID), BuyerID: p.BuyerID, Buyer: b.Name(p.BuyerID), LeavesOn: wire.DateOut(p.LeavesOn), Market: wire.OrNil(p.Market),
		Reference: wire.OrNil(p.Reference), Note: wire.OrNil(p.Note), Asked: p.Asked(), Lots: []openapi.LotContainers{}, Advice: []string{}, Containers: []openapi.ShedPreparedContainer{},
	}}
	for _, l := range p.Lots {
		out.shed.Lots = append(out.shed.Lots, openapi.LotContainers{LotID: b.Root(l.LotID), Count: l.Count})
	}
	ids := b.MayLoad(p)
	for _, id := range ids[:min(len(ids), mostToLoad)] {
		fill := ledger.Named[ledger.Fill](b, id)
		if fill == nil {
			continue // it cannot be read any more
		}
		out.shed.Containers = append(out.shed.Containers, openapi.ShedPreparedContainer{
			FillID: id, Container: fill.Container, LotID: b.Root(fill.LotID), Lot: b.Name(fill.LotID),
		})
	}
	advice := quality.AdviseOn(b, p, now)
	for _, s := range advice.Staying {
		out.stays[s.FillID] = s.Why
	}
	out.says = advice.Says(b)
	return out
}

func (a advised) out(v message.Voice) openapi.ShedPrepared {
	for i := range a.shed.Containers {
		c := &a.shed.Containers[i]
		if why, stays := a.stays[c.FillID]; stays {
			c.Stays = new(message.F("%s.", message.Capital(why)).In(v))
		}
	}
	for _, says := range a.says {
		a.shed.Advice = append(a.shed.Advice, says.In(v))
	}
	return a.shed
}

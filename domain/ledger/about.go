package ledger

import "slices"

// About reports whether an entry is about the thing that id names: whether it
// names it, or names a pull of that yard or a container of that lot.
func (b *Book) About(e *Entry, id ID) bool {
	id = b.rootID(id)
	return slices.ContainsFunc(b.named(e), func(n ID) bool { return b.rootID(n) == id })
}

// named lists what an entry is about.
func (b *Book) named(e *Entry) []ID {
	switch x := e.Body.(type) {
	case *HiveCount:
		return []ID{x.YardID}
	case *Pull:
		return []ID{x.YardID, x.RoomID}
	case *RunSupers:
		return append(b.withYard(x.PullID), x.RunID)
	case *Load:
		return []ID{x.RunID}
	case *RunEnd:
		return []ID{x.RunID}
	case *Movement:
		return append(b.withLot(x.From.ID), b.withLot(x.To.ID)...)
	case *Stocktake:
		return []ID{x.TankID}
	case *Wash:
		return []ID{x.TankID}
	case *Lot:
		return []ID{x.StoreID}
	case *Fill:
		return []ID{x.LotID, x.TankID}
	case *Reading:
		return append(append(b.withLot(x.On.ID), b.withYard(x.On.ID)...), x.InstrumentID)
	case *LaboratoryCertificate:
		if r := body[Reading](b, x.ReadingID); r != nil {
			return append(append(b.withLot(r.On.ID), b.withYard(r.On.ID)...), x.ReadingID)
		}
		return []ID{x.ReadingID}
	case *Photo:
		if f := b.fact(x.EntryID); f != nil && f.root.pictured() {
			return append(b.named(f.root.last.Entry), f.root.ID)
		}
		return []ID{x.EntryID}
	case *Calibration:
		return []ID{x.InstrumentID}
	case *TemperatureLog:
		return []ID{x.On.ID}
	case *PreparedBlend:
		out := []ID{x.TankID}
		for _, t := range x.Takes {
			if t.From.Kind == PlaceContainer {
				out = append(out, b.withLot(t.From.ID)...)
			} else {
				out = append(out, t.From.ID)
			}
		}
		return out
	case *AdoptedPlan:
		return x.abouts()
	case *Contract:
		return []ID{x.BuyerID, x.RuleSet.RuleSetID}
	case *PreparedDispatch:
		out := []ID{x.BuyerID}
		for _, l := range x.Lots {
			out = append(out, l.LotID)
		}
		for _, c := range x.Containers {
			out = append(out, b.withLot(c)...)
		}
		return out
	case *Dispatch:
		out := []ID{x.BuyerID, x.PreparedID}
		for _, c := range x.Containers {
			out = append(out, b.withLot(c)...)
		}
		return out
	case *Acceptance:
		return append([]ID{x.EntryID}, x.With...)
	case *Settlement:
		return []ID{x.DispatchID, x.RuleSet.RuleSetID}
	}
	return qualityNames(nil, e.Body)
}

func (b *Book) withLot(container ID) []ID {
	if f := body[Fill](b, container); f != nil {
		return []ID{container, f.LotID}
	}
	return []ID{container}
}

func (b *Book) withYard(pull ID) []ID {
	if p := body[Pull](b, pull); p != nil {
		return []ID{pull, p.YardID}
	}
	return []ID{pull}
}

package ledger

import "math"

// A container is compared with the others of its kind where there are enough.
// They differ by half a percent at best: tare and scale (common practice).
const (
	fewestNets = 12
	netsAlike  = 0.005
)

// nets finds containers whose net is far from what their kind holds in this
// outfit. The last of a lot out of a tank may be as little full as it is.
func (v *survey) nets() {
	type lotTank struct{ lot, tank ID }
	fills := v.happened(KindFill)
	of, last := map[ID][]float64{}, map[lotTank]*fact{}
	for _, f := range fills {
		fill := f.Body.(*Fill)
		kind := v.book.rootID(fill.ContainerKindID)
		of[kind] = append(of[kind], kg(fill.NetG()))
		last[lotTank{v.book.rootID(fill.LotID), v.book.rootID(fill.TankID)}] = f
	}
	usual := make(map[ID]spread, len(of))
	for kind, sample := range of {
		u := spreadOf(sample)
		u.sd = max(u.sd, netsAlike*u.middle)
		usual[kind] = u
	}
	flagged := v.oddFills()
	for _, f := range fills {
		fill := f.Body.(*Fill)
		kind := v.book.rootID(fill.ContainerKindID)
		u, net := usual[kind], kg(fill.NetG())
		z := (net - u.middle) / u.sd
		if len(of[kind]) < fewestNets || math.Abs(z) <= farOff || flagged[f.root.ID] {
			continue
		}
		if net < u.middle && last[lotTank{v.book.rootID(fill.LotID), v.book.rootID(fill.TankID)}] == f {
			continue // the rest of its tank
		}
		v.add(Flag{Code: NetUnusual, Entry: f.root.ID, On: Place{PlaceContainer, f.root.ID}, Unit: "kg",
			Expected: u.middle, Found: net, MassG: int64(1000 * math.Abs(net-u.middle)), Unlikely: unlikely(z),
			Likely: v.whyNet(fill, u)})
	}
}

// oddFills are the fills that were flagged by themselves.
func (v *survey) oddFills() map[ID]bool {
	out := map[ID]bool{}
	for _, f := range v.found {
		if f.Code == GrossAsNet || f.Code == PoundsForKilograms {
			out[f.Entry] = true
		}
	}
	return out
}

// whyNet says what may lie behind a net unlike the others.
func (v *survey) whyNet(fill *Fill, u spread) (out []Explanation) {
	fits := func(net float64) bool { return math.Abs(net-u.middle) < Fitting*u.sd }
	net, gross, tare := kg(fill.NetG()), kg(fill.GrossG), kg(fill.TareG)
	usualTare := tare
	if k := body[ContainerKind](v.book, fill.ContainerKindID); k != nil {
		usualTare = kg(k.TareG)
	}
	switch {
	case fits(net - usualTare):
		out = append(out, Explanation{Why: TareInNet, Value: net - usualTare})
	case fits(net * poundsPerKilogram):
		out = append(out, Explanation{Why: Pounds, Value: net * poundsPerKilogram})
	case fits(net / poundsPerKilogram):
		out = append(out, Explanation{Why: Pounds, Value: net / poundsPerKilogram})
	}
	if swapped, ok := swapIn(gross, tenths, func(g float64) bool { return fits(g - tare) }); ok {
		out = append(out, Explanation{Why: DigitSlip, Value: swapped})
	}
	if net < u.middle {
		out = append(out, Explanation{Why: NotFull, Value: u.middle - net})
	}
	return out
}

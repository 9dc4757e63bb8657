package plan

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/ledger"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// Came is what came of a property that a prepared blend was expected to have.
type Came struct {
	ledger.BlendExpected
	// On is the tank or the lot on which it was measured since the last of the blend was poured;
	// empty while nobody did.
	On string
	// Measured is that figure, MeasuredSD how far it may be off.
	Measured, MeasuredSD float64
	// Chance is how likely chance alone explains a difference as large.
	Chance float64
}

// mostLotsLooked is in how many lots that were filled from a tank a figure is looked for.
const mostLotsLooked = 20

// CameOf holds what was measured since a blend was poured against what was expected of it: on its
// tank, or on the lots that were filled from there. Nothing came before all of it was poured.
func CameOf(b *ledger.Book, e *ledger.Entry, on standard.Date, now time.Time) ([]Came, error) {
	p := e.Body.(*ledger.PreparedBlend)
	var out []Came
	for _, x := range p.Expects {
		out = append(out, Came{BlendExpected: x})
	}
	since := e.OccurredAt
	for _, t := range b.Taken(e) {
		if !t.Done() {
			return out, nil
		}
		for _, by := range t.By {
			since = later(since, by.OccurredAt)
		}
	}
	tank := b.Root(p.TankID)
	if r := b.LastReading(tank, later(now, b.Latest()), func(r *ledger.Reading) bool { return r.Moisture != nil }); r != nil && r.OccurredAt.After(since) {
		m := r.Body.(*ledger.Reading).Moisture
		setMeasured(out, "moisture", b.Name(tank), m.Pct, usualSD("moisture", m.Pct))
	}
	lots := lotsFilledFrom(b, tank, since)
	climate := quality.ClimateOf(b)
	for _, lot := range lots[:min(len(lots), mostLotsLooked)] {
		g, err := quality.Gather(b, lot, on)
		if err != nil {
			return nil, err
		}
		evidence, err := g.EvidenceOn(climate, on)
		if err != nil {
			return nil, err
		}
		for i := range out {
			if estimates := evidence.Estimates(out[i].Parameter); len(estimates) > 0 {
				v := estimates[0]
				mean := (v.Low.Float64() + v.High.Float64()) / 2
				setMeasured(out, out[i].Parameter, b.Name(lot), mean, known(v.UncertaintyKnown, v.StdUncertainty, out[i].Parameter, mean, 1))
			}
		}
	}
	return out, nil
}

func later(a, b time.Time) time.Time {
	if b.After(a) {
		return b
	}
	return a
}

// setMeasured notes the figure of a parameter that has none yet.
func setMeasured(out []Came, parameter, on string, v, sd float64) {
	for i := range out {
		if out[i].Parameter == parameter && out[i].On == "" {
			out[i].On, out[i].Measured, out[i].MeasuredSD = on, v, sd
			off := math.Hypot(sd, out[i].StdUncertainty)
			out[i].Chance = 2 * distuv.UnitNormal.CDF(-math.Abs(v-out[i].Value)/max(off, 1e-9))
		}
	}
}

// lotsFilledFrom are the lots that were filled from a tank since a moment, in that order.
func lotsFilledFrom(b *ledger.Book, tank ledger.ID, since time.Time) (out []ledger.ID) {
	b.HappenedIn(since, time.UnixMicro(math.MaxInt64), func(_ ledger.ID, e *ledger.Entry) bool {
		if fill, fills := e.Body.(*ledger.Fill); fills && b.Root(fill.TankID) == tank && !slices.Contains(out, b.Root(fill.LotID)) {
			out = append(out, b.Root(fill.LotID))
		}
		return true
	})
	return out
}

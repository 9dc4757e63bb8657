package quality

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"pullbook/domain/heat"
	"pullbook/domain/honey"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Risk is how likely one container is to ferment within a year, why, and what
// would lower that.
type Risk struct {
	standard.KeepingRisk
	FillID ledger.ID
	// Basis says where the moisture is from.
	Basis MoistureBasis
	Lower []Remedy
}

// MoistureBasis says where a container's moisture is from.
type MoistureBasis string

const (
	// MeasuredHere: the wettest reading on the container.
	MeasuredHere MoistureBasis = "measured"
	// SampleOfLot: the wettest reading of a sample of the whole lot.
	SampleOfLot MoistureBasis = "sample of the lot"
	// WettestExpected: what to expect of the wettest container that was not read,
	// from how much those that were read differ.
	WettestExpected MoistureBasis = "expected of the wettest not read"
	// TankEstimate: the last reading of the tank it was filled from.
	TankEstimate MoistureBasis = "estimate from the tank"
)

// Remedy is one thing that would lower a risk, with its figures; those that do
// not belong to its kind are zero.
type Remedy struct {
	// Kind is blend, dry, warm, liquefy, store_cold, count_yeast or sell_first.
	Kind string
	Text message.Text
	// Kg is the drier honey that is needed, or the water to be taken out.
	Kg float64
	// WithLot is the code of the drier lot.
	WithLot               string
	TemperatureC, Minutes float64
	HMFRise               heat.Band
}

// Fermentation is a lot's risk, container by container, worst first.
type Fermentation struct {
	LotID ledger.ID
	Code  string
	// Worst is the risk of the container that goes first.
	Worst standard.FermentationRisk
	Risks []Risk
	// Unknown are containers of which no moisture is known at all.
	Unknown []string
	StoreC  *float64
}

// crystalsPct is taken of honey that is seen to granulate, since nobody weighs
// crystals: 15 % of glucose monohydrate (common practice). Honey of 18 % then
// has 19.6 % in its liquid part.
const crystalsPct = 15

// targetPct is the moisture that honey is brought to so that it keeps: at 17.0
// and below it does whatever its yeast (Lochhead).
const targetPct = 17.0

// FermentationOf judges the containers of a lot that are here; Advise says what
// would help.
func FermentationOf(b *ledger.Book, g *Gathered, c *Climate, on standard.Date) (*Fermentation, error) {
	now := endOf(on, b.Location())
	f := &Fermentation{LotID: g.LotID, Code: g.Lot.Code, StoreC: c.at(g.Lot.StoreID, now)}
	seen := observe(b, g)
	var containers []standard.KeepingContainer
	basis := map[string]MoistureBasis{}
	for _, number := range g.Numbers {
		h, _ := b.State().Holder(g.FillOf[number])
		if h.Grams == 0 {
			continue
		}
		k, from, ok := seen.container(b, g, number)
		if !ok {
			f.Unknown = append(f.Unknown, number)
			continue
		}
		k.NetGrams, k.StoreTemperatureC = h.Grams, f.StoreC
		containers, basis[number] = append(containers, k), from
	}
	risks, err := standard.FermentationRisks(containers)
	if err != nil {
		return nil, err
	}
	for _, r := range risks {
		f.Worst = max(f.Worst, r.Risk)
		f.Risks = append(f.Risks, Risk{KeepingRisk: r, FillID: g.FillOf[r.Container.ContainerID], Basis: basis[r.Container.ContainerID]})
	}
	return f, nil
}

// Advise adds to each risk what would lower it.
func (f *Fermentation) Advise(b *ledger.Book, g *Gathered, on standard.Date) {
	if f.Worst == standard.RiskLow {
		return
	}
	with := drierThan(b, g, on)
	for i := range f.Risks {
		if f.Risks[i].Risk > standard.RiskLow {
			f.Risks[i].Lower = lower(f.Risks[i].KeepingRisk, with, g)
		}
	}
}

// observed is what the readings of a lot say that bears on fermenting; the
// empty container number stands for the lot as a whole.
type observed struct {
	wettest  map[string]*ledger.MoistureReading
	yeast    map[string]ledger.Measured
	activity map[string]ledger.Measured
	// granulated is as last seen.
	granulated map[string]bool
	expected   *float64
}

func observe(b *ledger.Book, g *Gathered) observed {
	o := observed{map[string]*ledger.MoistureReading{}, map[string]ledger.Measured{}, map[string]ledger.Measured{}, map[string]bool{}, nil}
	for _, id := range g.Basis.Readings {
		e, _ := b.Entry(id)
		r := e.Body.(*ledger.Reading)
		number := ""
		if r.On.Kind == ledger.PlaceContainer {
			number = b.Name(r.On.ID)
		}
		if m := r.Moisture; m != nil && (o.wettest[number] == nil || m.Pct > o.wettest[number].Pct) {
			o.wettest[number] = m
		}
		o.granulated[number] = r.Granulated
		for _, m := range r.Measured {
			switch m.Quantity {
			case "yeast_per_g":
				o.yeast[number] = m
			case "water_activity":
				o.activity[number] = m
			}
		}
	}
	for _, e := range g.Evidence.Estimates("moisture") {
		if e.HighestUnmeasuredKnown {
			o.expected = &e.HighestUnmeasured
		}
	}
	return o
}

// container is what is known of one container; false where its moisture is not.
func (o observed) container(b *ledger.Book, g *Gathered, number string) (standard.KeepingContainer, MoistureBasis, bool) {
	k := standard.KeepingContainer{ContainerID: number, Granulating: o.granulated[number] || o.granulated[""]}
	pct, from := 0.0, MeasuredHere
	switch {
	case o.wettest[number] != nil:
		pct, k.MoistureU = o.wettest[number].Pct, o.wettest[number].StdUncertaintyPct
	case o.expected != nil:
		pct, from = *o.expected, WettestExpected
	case o.wettest[""] != nil:
		pct, k.MoistureU, from = o.wettest[""].Pct, o.wettest[""].StdUncertaintyPct, SampleOfLot
	default:
		m := tankReading(b, g.FillOf[number])
		if m == nil {
			return k, "", false
		}
		pct, k.MoistureU, from = m.Pct, m.StdUncertaintyPct, TankEstimate
	}
	k.MoisturePct = decimalOf(pct, 2)
	if y, ok := either(o.yeast, number); ok {
		count := decimalOf(y.Value, -1)
		k.YeastPerG, k.YeastLessThan = &count, y.LessThan
	}
	k.WaterActivity = o.waterActivity(number, pct, k.Granulating)
	if k.Granulating {
		if liquid, err := honey.LiquidMoisturePct(pct, crystalsPct); err == nil {
			d := decimalOf(liquid, 2)
			k.LiquidMoisturePct = &d
		}
	}
	return k, from, true
}

func either(of map[string]ledger.Measured, number string) (ledger.Measured, bool) {
	m, ok := of[number]
	if !ok {
		m, ok = of[""]
	}
	return m, ok
}

// activityAtC is the temperature that water activities are published for.
const activityAtC = 25

// waterActivity is as measured, or else as the surveys have it for such a
// moisture; nil outside what they cover. A book may hold figures that are no water
// activity, from when it took them.
func (o observed) waterActivity(number string, pct float64, granulating bool) *standard.WaterActivityEstimate {
	if m, ok := either(o.activity, number); ok && !m.LessThan && m.Value > 0 && m.Value <= 1 {
		return &standard.WaterActivityEstimate{Value: m.Value, HalfWidth: 2 * m.StdUncertainty}
	}
	state := honey.Liquid
	if granulating {
		state = honey.Granulated
	}
	a, err := honey.WaterActivity(pct, activityAtC, state)
	if err != nil {
		return nil
	}
	return &standard.WaterActivityEstimate{Value: a, HalfWidth: honey.WaterActivityStdUncertainty}
}

// tankReading is the last moisture read on the tank before a container was
// filled from it.
func tankReading(b *ledger.Book, fillID ledger.ID) *ledger.MoistureReading {
	fill := b.InForce(fillID)
	if fill == nil {
		return nil
	}
	return b.LastMoisture(fill.Body.(*ledger.Fill).TankID, fill.OccurredAt)
}

// drier is the driest other lot that stands here, with what is left of it.
type drier struct {
	code string
	pct  float64
	kg   float64
}

// drierThan looks for honey to blend with; an empty code where there is none.
func drierThan(b *ledger.Book, g *Gathered, on standard.Date) drier {
	best := drier{pct: targetPct}
	b.InForceOf(ledger.KindLot, func(root ledger.ID, _ *ledger.Entry) bool {
		held := b.State().LotMass(root).HeldG
		if root == g.LotID || held == 0 || b.State().LotStatus(root).Status == ledger.StatusHeld {
			return true
		}
		other, err := Gather(b, root, on)
		if err != nil {
			return true
		}
		// Where its drums and a sample of it all disagree, the wetter counts.
		if pct, ok := other.worst("moisture", true); ok && pct < best.pct {
			best = drier{other.Lot.Code, pct, float64(held) / 1000}
		}
		return true
	})
	return best
}

// lower lists what would lower a container's risk, with figures.
func lower(r standard.KeepingRisk, with drier, g *Gathered) []Remedy {
	var out []Remedy
	net, w := float64(r.Container.NetGrams)/1000, r.Container.MoisturePct.Float64()
	if w > targetPct {
		if with.code != "" {
			need := net * (w - targetPct) / (targetPct - with.pct)
			text := message.F("blend it with %s of lot %s (%s %%, %s here), which brings it to %s %%; that does not lower the yeast count", wholeKg(need), with.code, tenths(with.pct), wholeKg(with.kg), tenths(targetPct))
			if need > with.kg {
				text = message.F("%s; only %s are here", text, wholeKg(with.kg))
			}
			out = append(out, Remedy{Kind: "blend", Text: text, Kg: need, WithLot: with.code})
		}
		water := net * (w - targetPct) / (100 - targetPct)
		out = append(out, Remedy{Kind: "dry", Text: message.F("dry it to %s %%: %s of water out of %s", tenths(targetPct), message.Kg(water), wholeKg(net)), Kg: water})
	}
	out = append(out, warming(g, net, w)...)
	if r.Container.Granulating {
		out = append(out, Remedy{Kind: "liquefy", Text: message.F("liquefy it, which takes the liquid part back to %s %%", r.Container.MoisturePct.Said())})
	}
	if r.Container.YeastPerG == nil && !r.Class.Danger {
		out = append(out, Remedy{Kind: "count_yeast", Text: message.F("have its yeast counted: below the count of its moisture class it keeps a year")})
	}
	return append(out,
		Remedy{Kind: "store_cold", Text: message.F("store it at %s or colder, where yeast rests", message.Celsius(10)), TemperatureC: 10},
		Remedy{Kind: "sell_first", Text: message.F("sell it first, for use soon")})
}

func tenths(v float64) message.Number { return message.Number{V: v, Places: 1} }

func wholeKg(v float64) message.Kg { return message.Kg(math.Round(v)) }

// twoDigits is a figure that is known to two digits or less.
func twoDigits(v float64) message.Number {
	if v == 0 {
		return message.Number{}
	}
	places := max(0, 1-int(math.Floor(math.Log10(math.Abs(v)))))
	return message.Number{V: v, Places: places}
}

// killC are temperatures at which packers hold honey to kill its yeast.
var killC = []float64{54.4, 62.8}

// warming is what killing the yeast of a container costs in HMF, on the way there
// and back as well.
func warming(g *Gathered, kg, moisturePct float64) []Remedy {
	var out []Remedy
	for _, celsius := range killC {
		kill, err := heat.YeastKill(celsius)
		if err != nil {
			continue
		}
		cost, err := costOfWarming(kg, moisturePct, celsius, kill.AdvisedMinutes)
		if err != nil {
			continue
		}
		rise := cost.rise
		text := message.F("hold all of it at %s for %s min to kill the yeast, which adds %s (%s to %s) mg/kg HMF", message.Celsius(celsius), message.Number{V: kill.AdvisedMinutes}, twoDigits(rise.Middle), twoDigits(rise.Low), twoDigits(rise.High))
		if had, ok := g.worst("hmf", true); ok {
			text = message.F("%s, and it had %s when it was measured on %s", text, tenths(had), g.day(g.last("hmf")).Said())
		}
		text = message.F("%s: %s while it is held, the rest while it warms from %s in %s h by %s W and cools in the air for two days; quicker ways cost less", text, twoDigits(cost.holding), message.Celsius(roomC), message.Number{V: cost.hours}, message.Number{V: cost.watts})
		out = append(out, Remedy{Kind: "warm", Text: text, TemperatureC: celsius, Minutes: kill.AdvisedMinutes, HMFRise: rise})
	}
	return out
}

// What warming is reckoned with: a bare drum of 290 kg, of 2.1 m2, by a belt of
// 1 kW, in a room of 20 C, and left to cool for two days (common practice); other
// containers by their surface.
const (
	drumKg, drumM2, drumW = 290.0, 2.1, 1000.0
	roomC                 = 20.0
	coolingHours          = 48.0
	longestWarmingHours   = 72.0
)

type warmingCost struct {
	// rise is of all the way, holding the middle of it that is formed meanwhile,
	// in mg/kg; hours and watts are of warming.
	rise         heat.Band
	holding      float64
	hours, watts float64
}

// costOfWarming follows a container up to a temperature, through holding, and
// down again.
func costOfWarming(kg, moisturePct, celsius, minutes float64) (c warmingCost, err error) {
	part := math.Pow(kg/drumKg, 2.0/3) // surface by mass
	loss, err := heat.LossOfSurface(drumM2*part, 0, 0)
	if err != nil {
		return c, err
	}
	tank := heat.Tank{MassKg: kg, MoisturePct: moisturePct, LossWPerK: loss}
	c.watts = drumW * part
	up := heat.Stage{Hours: longestWarmingHours, HeaterW: c.watts, ControlC: celsius, AmbientC: roomC}
	way, err := heat.Warm(tank, roomC, []heat.Stage{up})
	if err != nil {
		return c, err
	}
	reached := false
	if c.hours, reached = way.HoursTo(celsius); !reached {
		return c, fmt.Errorf("%.0f kg do not come to %g C within %g h", kg, celsius, longestWarmingHours)
	}
	up.Hours = c.hours + minutes/60
	whole, err := heat.Warm(tank, roomC, []heat.Stage{up, {Hours: coolingHours, AmbientC: roomC}})
	if err != nil {
		return c, err
	}
	kinetics := heat.Default()
	effect, err := whole.Effect(kinetics, heat.State{})
	if err != nil {
		return c, err
	}
	c.rise, c.holding = effect.Mean.HMFMgPerKg, kinetics.HMFRate(celsius)*minutes/(24*60)
	return c, nil
}

// worst is the highest or lowest of a parameter's combined values, in its first
// unit; false where it was not measured.
func (g *Gathered) worst(parameter string, highest bool) (float64, bool) {
	estimates := g.Evidence.Estimates(parameter)
	if len(estimates) == 0 {
		return 0, false
	}
	values := make([]float64, len(estimates))
	for i, e := range estimates {
		if values[i] = e.Low.Float64(); highest {
			values[i] = e.High.Float64()
		}
	}
	if highest {
		return slices.Max(values), true
	}
	return slices.Min(values), true
}

// decimalOf is a figure to so many places after the point; -1 is as many as it
// has.
func decimalOf(x float64, places int) standard.Decimal {
	return standard.MustDecimal(strconv.FormatFloat(x, 'f', places, 64))
}

package quality

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"time"

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
	// NotRead: nobody read it, its lot or its tank.
	NotRead MoistureBasis = "not known"
)

// Remedy is one thing that would lower a risk, with its figures; those that do
// not belong to its kind are zero.
type Remedy struct {
	// Kind is set_apart, read_moisture, blend, do_not_blend, dry, warm, liquefy,
	// store_cold, count_yeast or sell_first.
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
	// Worst is the risk of the container that goes first; not known where none is here.
	Worst standard.FermentationRisk
	Risks []Risk
	// Unknown are containers of which no moisture is known at all. They are among the
	// risks too.
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
	whole := observe(b, g, time.Time{})
	var containers []standard.KeepingContainer
	basis := map[string]MoistureBasis{}
	for _, number := range g.Numbers {
		h, _ := b.State().Holder(g.FillOf[number])
		if h.Grams == 0 {
			continue
		}
		known := whole
		if g.sampledBefore(g.since[number]) {
			known = observe(b, g, g.since[number])
		}
		k, from := known.container(b, g, number, f.StoreC)
		if from == NotRead {
			f.Unknown = append(f.Unknown, number)
		}
		k.NetGrams = h.Grams
		containers, basis[number] = append(containers, k), from
	}
	risks, err := standard.FermentationRisks(containers)
	if err != nil {
		return nil, err
	}
	f.Worst = standard.RiskOf(risks)
	for _, r := range risks {
		f.Risks = append(f.Risks, Risk{KeepingRisk: r, FillID: g.FillOf[r.Container.ContainerID], Basis: basis[r.Container.ContainerID]})
	}
	return f, nil
}

// SeenFermenting reports whether somebody saw a container ferment that is here.
func (f *Fermentation) SeenFermenting() bool {
	return len(f.Risks) > 0 && f.Risks[0].Container.SeenFermenting
}

// Advise adds to each risk what would lower it. sets are the rule sets that a lot
// which honey may be blended into has to meet afterwards as well as now.
func (f *Fermentation) Advise(b *ledger.Book, g *Gathered, on standard.Date, sets ...ledger.Resolved) {
	if f.Worst == standard.RiskLow {
		return
	}
	with := drierThan(b, g, on)
	for i := range f.Risks {
		if f.Risks[i].Risk > standard.RiskLow {
			f.Risks[i].Lower = lower(f.Risks[i].KeepingRisk, with, g, sets, on)
		}
	}
}

// observed is what the readings of a lot say that bears on fermenting; the
// empty container number stands for the lot as a whole.
type observed struct {
	wettest  map[string]*ledger.MoistureReading
	yeast    map[string]ledger.Measured
	activity map[string]ledger.Measured
	sugars   map[string]honey.Sugars
	// granulated is as last seen, fermenting and smells too.
	granulated         map[string]bool
	fermenting, smells map[string]looked
	expected           *float64
}

// looked is the last answer about something that somebody looks at: whether it was
// there, and which reading said so.
type looked struct {
	present bool
	reading int
}

// seen reports whether something was there when a container was last looked at, or
// later the lot as a whole.
func seen(of map[string]looked, number string) bool {
	own, looked := of[number]
	whole, wholeLooked := of[""]
	return own.present || wholeLooked && whole.present && (!looked || own.reading < whole.reading)
}

// looked reports whether anybody looked whether a container or its lot ferments.
func (o observed) looked(number string) bool {
	_, looked := either(o.fermenting, number)
	return looked
}

// observe collects what was seen of a lot's containers, and of the lot as a whole since an
// instant.
func observe(b *ledger.Book, g *Gathered, since time.Time) observed {
	o := observed{map[string]*ledger.MoistureReading{}, map[string]ledger.Measured{}, map[string]ledger.Measured{}, map[string]honey.Sugars{},
		map[string]bool{}, map[string]looked{}, map[string]looked{}, nil}
	for i, id := range g.Basis.Readings {
		e, _ := b.Entry(id)
		r := e.Body.(*ledger.Reading)
		number := ""
		if r.On.Kind == ledger.PlaceContainer {
			number = b.Name(r.On.ID)
		}
		if !g.before(number, e.OccurredAt) && (number != "" || !e.OccurredAt.Before(since)) {
			o.add(number, r, i)
		}
	}
	for _, e := range g.Evidence.Estimates("moisture") {
		if e.HighestUnmeasuredKnown {
			o.expected = &e.HighestUnmeasured
		}
	}
	return o
}

func (o *observed) add(number string, r *ledger.Reading, reading int) {
	if m := r.Moisture; m != nil && (o.wettest[number] == nil || m.Pct > o.wettest[number].Pct) {
		o.wettest[number] = m
	}
	o.granulated[number] = r.Granulated
	for _, m := range r.Measured {
		s := o.sugars[number]
		switch m.Quantity {
		case "yeast_per_g":
			o.yeast[number] = m
		case "water_activity":
			o.activity[number] = m
		case "fructose_to_glucose":
			s.FructoseToGlucose = m.Value
		case "fructose_plus_glucose_g_per_100g":
			s.FructosePlusGlucosePct = m.Value
		}
		o.sugars[number] = s
	}
	for _, x := range r.Observed {
		switch x.What {
		case "fermentation":
			o.fermenting[number] = looked{x.Word == "present", reading}
		case "objectionable_flavour_aroma_taint":
			o.smells[number] = looked{x.Word == "present", reading}
		}
	}
}

// container is what is known of one container in a store of some temperature.
func (o observed) container(b *ledger.Book, g *Gathered, number string, storeC *float64) (standard.KeepingContainer, MoistureBasis) {
	k := standard.KeepingContainer{
		ContainerID: number, Granulating: o.granulated[number] || o.granulated[""], StoreTemperatureC: storeC,
		SeenFermenting: seen(o.fermenting, number) || !o.looked(number) && b.State().CameFermenting(g.FillOf[number]), OffSmell: seen(o.smells, number),
	}
	if y, ok := either(o.yeast, number); ok {
		count := decimalOf(y.Value, -1)
		k.YeastPerG, k.YeastLessThan = &count, y.LessThan
	}
	pct, u, from := o.moisture(b, g, number)
	if from == NotRead {
		return k, from
	}
	moisture := decimalOf(pct, 2)
	k.MoisturePct, k.MoistureU = &moisture, u
	k.WaterActivity = o.waterActivity(number, pct, k.Granulating)
	k.Granulation = o.granulationAhead(number, pct, storeC)
	if k.Granulating || k.Granulation != standard.NotExpected {
		if liquid, err := honey.LiquidMoisturePct(pct, crystalsPct); err == nil {
			d := decimalOf(liquid, 2)
			k.LiquidMoisturePct = &d
		}
	}
	return k, from
}

// moisture is a container's moisture and its standard uncertainty, 0 where not
// known, with where they are from.
func (o observed) moisture(b *ledger.Book, g *Gathered, number string) (pct, u float64, from MoistureBasis) {
	switch {
	case o.wettest[number] != nil:
		return o.wettest[number].Pct, o.wettest[number].StdUncertaintyPct, MeasuredHere
	case o.expected != nil:
		return *o.expected, 0, WettestExpected
	case o.wettest[""] != nil:
		return o.wettest[""].Pct, o.wettest[""].StdUncertaintyPct, SampleOfLot
	}
	if m, layers := tankReading(b, g.FillOf[number]); m != nil {
		return m.Pct, math.Hypot(m.StdUncertaintyPct, layers), TankEstimate
	}
	return 0, 0, NotRead
}

// granulationAhead is whether honey that nobody saw granulate is to be expected to,
// by its sugars where they are known and by its store.
func (o observed) granulationAhead(number string, pct float64, storeC *float64) standard.GranulationAhead {
	sugars, ok := either(o.sugars, number)
	if !ok {
		sugars = honey.Sugars{}
	}
	tendency := honey.GranulationTendency(sugars, pct)
	switch {
	case storeC == nil && tendency == honey.GranulatesFast:
		return standard.BySugars
	case storeC == nil || !tendency.LikelyAt(*storeC):
		return standard.NotExpected
	case tendency == honey.TendencyNotKnown:
		return standard.ByStore
	}
	return standard.BySugars
}

// either is what is known of a container, or else of the lot as a whole.
func either[T any](of map[string]T, number string) (T, bool) {
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
		return &standard.WaterActivityEstimate{Value: m.Value, HalfWidth: 2 * m.SD(), Measured: true}
	}
	state := honey.Liquid
	if granulating {
		state = honey.Granulated
	}
	a, err := honey.WaterActivity(pct, activityAtC, state)
	if err != nil {
		return nil
	}
	return &standard.WaterActivityEstimate{Value: a, HalfWidth: honey.WaterActivityStdUncertaintyAt(pct)}
}

// tankReading is the last moisture read on the tank before a container was filled
// from it, while that held the same honey, and how far one sample may be from the tank's
// mean, in points; nil where there is none.
func tankReading(b *ledger.Book, fillID ledger.ID) (m *ledger.MoistureReading, layers float64) {
	fill := b.InForce(fillID)
	if fill == nil {
		return nil, 0
	}
	e := b.LastReading(fill.Body.(*ledger.Fill).TankID, fill.OccurredAt, func(r *ledger.Reading) bool { return r.Moisture != nil })
	if e == nil || fill.OccurredAt.Sub(e.OccurredAt) > ledger.SameHoney {
		return nil, 0
	}
	r := e.Body.(*ledger.Reading)
	return r.Moisture, b.State().SampleSD(r.On.ID)
}

// lower lists what would lower a container's risk, with figures.
func lower(r standard.KeepingRisk, with []drier, g *Gathered, sets []ledger.Resolved, on standard.Date) []Remedy {
	coldest := Remedy{Kind: "store_cold", Text: message.F("store it at %s or colder, where yeast rests", message.Celsius(10)), TemperatureC: 10}
	if r.Container.MoisturePct == nil && !r.Container.SeenFermenting {
		return []Remedy{{Kind: "read_moisture", Text: message.F("read its moisture: until then it counts as honey that may ferment")}, coldest}
	}
	var out []Remedy
	net := float64(r.Container.NetGrams) / 1000
	w := 0.0
	if m := r.Container.MoisturePct; m != nil {
		w = m.Float64()
	}
	switch {
	case r.Container.SeenFermenting:
		out = append(out, Remedy{Kind: "set_apart", Text: message.F("set it apart and leave its lid a vent, since gas builds up; blend it with nothing, or its yeast goes on in that")})
	case w > targetPct:
		out = append(out, blending(r, with, g, sets, on)...)
		water := net * (w - targetPct) / (100 - targetPct)
		out = append(out, Remedy{Kind: "dry", Text: message.F("dry it to %s %%: %s of water out of %s", tenths(targetPct), message.Kg(water), wholeKg(net)), Kg: water})
	}
	out = append(out, warming(g, net, w)...)
	if r.Container.Granulating && r.Container.MoisturePct != nil {
		out = append(out, Remedy{Kind: "liquefy", Text: message.F("liquefy it, which takes the liquid part back to %s %%", r.Container.MoisturePct.Said())})
	}
	if r.Container.SeenFermenting {
		return append(out, coldest)
	}
	if r.Container.YeastPerG == nil && !r.Class.Danger {
		out = append(out, Remedy{Kind: "count_yeast", Text: message.F("have its yeast counted: below the count of its moisture class it keeps a year")})
	}
	return append(out, coldest, Remedy{Kind: "sell_first", Text: message.F("sell it first, for use soon")})
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
// and back as well; none where the moisture is not known (0).
func warming(g *Gathered, kg, moisturePct float64) []Remedy {
	var out []Remedy
	if moisturePct == 0 {
		return nil
	}
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

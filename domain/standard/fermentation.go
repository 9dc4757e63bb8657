package standard

import (
	"cmp"
	"fmt"
	"slices"

	"pullbook/domain/honey"
	"pullbook/domain/message"
)

// FermentationRisk is how likely honey is to ferment within a year.
type FermentationRisk int

// The levels of risk, in the order in which honey is to be looked at. Honey of which
// nothing is known may be as bad as any, so it comes before what is only watched.
const (
	RiskLow FermentationRisk = iota
	RiskWatch
	RiskNotKnown
	RiskHigh
)

func (r FermentationRisk) String() string {
	return [...]string{"low", "watch", "not_known", "high"}[r]
}

// KeepingContainer is what is known of one container that bears on fermenting.
type KeepingContainer struct {
	ContainerID string
	// MoisturePct is nil where nobody read it and nothing tells it.
	MoisturePct *Decimal
	// MoistureU is the standard uncertainty of the moisture in points, 0 when not known.
	MoistureU float64
	// YeastPerG is a count of yeasts per gram; nil when not counted.
	YeastPerG *Decimal
	// YeastLessThan marks a count reported only as "less than YeastPerG".
	YeastLessThan bool
	// SeenFermenting: somebody saw foam or gas or smelled it. OffSmell: somebody
	// found an objectionable smell or taste, of which fermenting is one cause.
	SeenFermenting, OffSmell bool
	// WaterActivity is measured or estimated, and raises the risk where yeast was
	// not counted; nil when there is none.
	WaterActivity *WaterActivityEstimate
	// Granulating: crystals were seen. LiquidMoisturePct is the moisture of what is
	// still liquid when crystals have formed, nil when it is not known.
	Granulating       bool
	LiquidMoisturePct *Decimal
	// Granulation says whether it is to be expected to granulate before anybody
	// sees it do so.
	Granulation GranulationAhead
	// StoreTemperatureC is the temperature of the store, nil when not known.
	StoreTemperatureC *float64
	NetGrams          int64
}

// GranulationAhead is whether honey that nobody saw granulate is to be expected to.
type GranulationAhead int

const (
	// NotExpected: its sugars or its store keep it liquid, or nothing is known.
	NotExpected GranulationAhead = iota
	// ByStore: its store is as cold as honey granulates in; its sugars are not known.
	ByStore
	// BySugars: its sugars say so, and its store does not keep it from it.
	BySugars
)

// WaterActivityEstimate is a water activity with the half width of its band.
// Measured is false where it follows from the moisture, so that it knows no more
// than the moisture does.
type WaterActivityEstimate struct {
	Value, HalfWidth float64
	Measured         bool
}

// KeepingRisk is the answer for one container.
type KeepingRisk struct {
	Container KeepingContainer
	Risk      FermentationRisk
	// Class is by the moisture that counts, MoisturePct: that of the liquid part when
	// granulating. Both say nothing where no moisture is known.
	Class       LochheadClass
	MoisturePct *Decimal
	Why         []message.Text
}

const (
	// Below this no yeast that lives in honey grows: common design line, from
	// memory; a minimum of 0.61 to 0.62 was read for osmotolerant yeasts.
	criticalWaterActivity = 0.60
	// Yeast stops at 11 C and below.
	yeastRestsAtC = 11.0
)

// Without a count 10 to 1,000 yeasts a gram is assumed (from memory): at least
// 10 means that the lines above 18.0 % are in danger.
var assumedYeastPerG = MustDecimal("10")

// FermentationRisks judges every container and puts first what must be dealt
// with first: what was seen fermenting, then the highest risk, and within it the
// wettest.
func FermentationRisks(containers []KeepingContainer) ([]KeepingRisk, error) {
	var p problems
	risks := make([]KeepingRisk, len(containers))
	for i, c := range containers {
		c.validate(fmt.Sprintf("containers/%d", i), &p)
		risks[i] = c.assess()
	}
	if len(p) > 0 {
		return nil, p.err()
	}
	slices.SortStableFunc(risks, func(a, b KeepingRisk) int {
		return cmp.Or(seenFirst(b.Container.SeenFermenting)-seenFirst(a.Container.SeenFermenting),
			cmp.Compare(b.Risk, a.Risk), WetterFirst(a.MoisturePct, b.MoisturePct))
	})
	return risks, nil
}

func seenFirst(seen bool) int {
	if seen {
		return 1
	}
	return 0
}

// WetterFirst puts the wetter of two moistures first, and one that is not known before
// both.
func WetterFirst(a, b *Decimal) int {
	switch {
	case a == nil && b == nil:
		return 0
	case a == nil:
		return -1
	case b == nil:
		return 1
	}
	return b.Cmp(*a)
}

// RiskOf is the risk of honey in several containers: the worst of them; not known
// where there are none.
func RiskOf(risks []KeepingRisk) FermentationRisk {
	if len(risks) == 0 {
		return RiskNotKnown
	}
	worst := RiskLow
	for _, r := range risks {
		worst = max(worst, r.Risk)
	}
	return worst
}

func (c KeepingContainer) validate(field string, p *problems) {
	checkMoisture := func(name string, m *Decimal) {
		if m != nil && (m.Sign() < 0 || m.Cmp(MustDecimal("100")) > 0) {
			p.add(field+"/"+name, m.String(), "a moisture from 0 to 100 %%")
		}
	}
	checkMoisture("moisture_pct", c.MoisturePct)
	checkMoisture("liquid_moisture_pct", c.LiquidMoisturePct)
	if c.YeastPerG != nil && c.YeastPerG.Sign() < 0 {
		p.add(field+"/yeast_per_g", c.YeastPerG.String(), "a count of 0 or more")
	}
	if a := c.WaterActivity; a != nil && !(a.Value > 0 && a.Value <= 1 && a.HalfWidth >= 0) {
		p.add(field+"/water_activity", fmt.Sprint(a.Value), "a water activity above 0 and at most 1, with a band of 0 or more")
	}
}

// assess takes the risk at the moisture that counts, and raises it for an
// uncertain moisture and for granulation. What somebody saw goes before all figures.
func (c KeepingContainer) assess() KeepingRisk {
	r := KeepingRisk{Container: c, MoisturePct: c.MoisturePct}
	if c.SeenFermenting {
		r.because(message.F("somebody saw it ferment: foam, gas or the smell of it, which counts whatever the figures say"))
	}
	if c.MoisturePct == nil {
		r.because(message.F("nobody read its moisture, so the risk is not known: read it"))
		r.Risk = RiskNotKnown
	} else {
		r.assessFigures()
	}
	if c.OffSmell {
		r.because(message.F("somebody found an objectionable smell or taste, of which fermenting is one cause: look and smell again"))
		r.Risk = max(r.Risk, RiskWatch)
	}
	if c.SeenFermenting {
		r.Risk = RiskHigh
	}
	return r
}

func (r *KeepingRisk) assessFigures() {
	c := r.Container
	if c.Granulating && c.LiquidMoisturePct != nil && c.LiquidMoisturePct.Cmp(*c.MoisturePct) > 0 {
		r.MoisturePct = c.LiquidMoisturePct
		r.because(message.F("it is granulating, so the part still liquid holds %s %% moisture where the whole holds %s %%", r.MoisturePct.Said(), c.MoisturePct.Said()))
	}
	r.Class = LochheadClassOf(*r.MoisturePct)
	r.Risk = c.riskAt(*r.MoisturePct, r)
	r.raiseForUncertainty()
	r.raiseForGranulation()
	r.raiseForGranulationAhead()
}

func (r *KeepingRisk) because(why message.Text) { r.Why = append(r.Why, why) }

// riskAt goes by Lochhead's table: by the count where there is one, otherwise by the
// count that is to be expected. A water activity may raise what was not counted and
// never lowers it, since the table asks for a count.
func (c KeepingContainer) riskAt(moisture Decimal, r *KeepingRisk) FermentationRisk {
	class := LochheadClassOf(moisture)
	switch {
	case class.Danger:
		r.because(message.F("at %s %% (%s) honey is always in danger (Lochhead)", moisture.Said(), class.Text))
		return RiskHigh
	case c.YeastPerG != nil:
		return c.riskByCount(moisture, class, r)
	}
	risk := RiskLow
	if class.YeastPerG == nil {
		r.because(message.F("at %s %% (%s) honey keeps a year whatever its yeast (Lochhead)", moisture.Said(), class.Text))
	} else {
		r.because(message.F("yeast was not counted; at %s %% (%s) it keeps only below %s yeasts/g, and 10 to 1000 is to be expected (from memory)", moisture.Said(), class.Text, class.YeastPerG.Said()))
		if risk = RiskWatch; !class.Safe(assumedYeastPerG) {
			risk = RiskHigh
		}
	}
	return max(risk, c.riskByWaterActivity(class, r))
}

func (c KeepingContainer) riskByCount(moisture Decimal, class LochheadClass, r *KeepingRisk) FermentationRisk {
	count := message.F("%s", c.YeastPerG.Said())
	// "Less than 10" is below a limit of 10; "less than 100" says nothing about it.
	below := class.Safe(*c.YeastPerG) || c.YeastLessThan && class.YeastPerG != nil && c.YeastPerG.Cmp(*class.YeastPerG) <= 0
	if c.YeastLessThan {
		count = message.F("less than %s", count)
	}
	switch {
	case class.YeastPerG == nil:
		r.because(message.F("at %s %% (%s) honey keeps a year whatever its yeast (Lochhead)", moisture.Said(), class.Text))
		return RiskLow
	case below:
		r.because(message.F("at %s %% (%s) it keeps a year below %s yeasts/g and holds %s (Lochhead)", moisture.Said(), class.Text, class.YeastPerG.Said(), count))
		if class.YeastPerG.Cmp(decimalOne) == 0 {
			r.because(message.F("Agriculture Handbook 335 expects honey above 19 %% to ferment even with one yeast a gram"))
			return RiskWatch
		}
		return RiskLow
	case c.YeastLessThan:
		r.because(message.F("at %s %% (%s) it keeps only below %s yeasts/g, and a count of %s does not show that", moisture.Said(), class.Text, class.YeastPerG.Said(), count))
		return RiskWatch
	}
	r.because(message.F("at %s %% (%s) it keeps only below %s yeasts/g and holds %s (Lochhead)", moisture.Said(), class.Text, class.YeastPerG.Said(), count))
	return RiskHigh
}

// riskByWaterActivity is what a water activity says by itself; low where there is
// none. One that follows from the moisture says nothing of honey that keeps whatever
// its yeast.
func (c KeepingContainer) riskByWaterActivity(class LochheadClass, r *KeepingRisk) FermentationRisk {
	a := c.WaterActivity
	if a == nil || !a.Measured && class.YeastPerG == nil {
		return RiskLow
	}
	low, high := a.Value-a.HalfWidth, a.Value+a.HalfWidth
	if a.Measured {
		r.because(message.F("measured water activity %s (%s to %s) against %s, below which yeast does not grow", hundredths(a.Value), hundredths(low), hundredths(high), hundredths(criticalWaterActivity)))
	} else {
		r.because(message.F("estimated water activity %s (%s to %s) against %s, below which yeast does not grow", hundredths(a.Value), hundredths(low), hundredths(high), hundredths(criticalWaterActivity)))
	}
	switch {
	case low >= criticalWaterActivity:
		return RiskHigh
	case high >= criticalWaterActivity:
		return RiskWatch
	}
	return RiskLow
}

// raiseForUncertainty watches honey whose moisture may lie in a worse class.
func (r *KeepingRisk) raiseForUncertainty() {
	if r.Container.MoistureU <= 0 || r.Risk >= RiskWatch {
		return
	}
	highest := r.MoisturePct.Add(decimalFromFloat(defaultCoverageFactor * r.Container.MoistureU))
	worse := r.Container.riskAt(highest, &KeepingRisk{})
	if worse > r.Risk {
		r.Risk = RiskWatch
		r.because(message.F("the reading may be off, and the moisture as high as %s %%, where the risk is higher", Decimal{highest.d.Round(2)}.Said()))
	}
}

// raiseForGranulation raises the risk by one level while crystals form at
// temperatures where honey granulates, and says when cold holds the yeast back.
func (r *KeepingRisk) raiseForGranulation() {
	c := r.Container
	if !c.Granulating {
		return
	}
	if c.StoreTemperatureC == nil {
		r.because(message.F("it is granulating and the temperature of the store is not known"))
	} else if t := *c.StoreTemperatureC; t < honey.GranulatesFromC || t > honey.GranulatesToC {
		return
	} else {
		if t <= yeastRestsAtC {
			r.because(message.F("at %s yeast rests, and starts once the honey is warmer", message.Celsius(t)))
		}
		r.because(message.F("it is granulating at %s, within %s to %s where honey granulates and its liquid part grows wetter", message.Celsius(t), message.Celsius(honey.GranulatesFromC), message.Celsius(honey.GranulatesToC)))
	}
	// Very dry honey stays safe: even its liquid part is known to be so.
	if r.Class.YeastPerG == nil && !r.Class.Danger && c.LiquidMoisturePct != nil {
		return
	}
	r.Risk = raised(r.Risk)
}

// raised is the next level of a risk that is known.
func raised(r FermentationRisk) FermentationRisk {
	if r == RiskLow {
		return RiskWatch
	}
	return RiskHigh
}

// raiseForGranulationAhead raises the risk of honey that is to be expected to
// granulate, where its liquid part would then be of a worse class, before anybody has
// seen a crystal. Where only the store says so, low honey is watched and no more: most
// stores are cold, and not every honey granulates. Dry honey is then left alone.
func (r *KeepingRisk) raiseForGranulationAhead() {
	c := r.Container
	if c.Granulating || c.Granulation == NotExpected || c.LiquidMoisturePct == nil {
		return
	}
	dry := r.Class.YeastPerG == nil && !r.Class.Danger
	if c.Granulation == ByStore && dry || c.riskAt(*c.LiquidMoisturePct, &KeepingRisk{}) <= r.Risk {
		return
	}
	switch {
	case c.Granulation == BySugars:
		r.Risk = raised(r.Risk)
		r.because(message.F("by its sugars it is likely to granulate, which leaves %s %% moisture in the part still liquid: look for crystals", c.LiquidMoisturePct.Said()))
	case r.Risk == RiskLow:
		r.Risk = RiskWatch
		fallthrough
	default:
		r.because(message.F("its store is as cold as honey granulates in, which leaves %s %% moisture in the part still liquid: look for crystals", c.LiquidMoisturePct.Said()))
	}
}

func hundredths(v float64) message.Number { return message.Number{V: v, Places: 2} }

package standard

import (
	"cmp"
	"fmt"
	"slices"

	"pullbook/domain/message"
)

// FermentationRisk is how likely honey is to ferment within a year.
type FermentationRisk int

// The levels of risk.
const (
	RiskLow FermentationRisk = iota
	RiskWatch
	RiskHigh
)

func (r FermentationRisk) String() string { return [...]string{"low", "watch", "high"}[r] }

// KeepingContainer is what is known of one container that bears on fermenting.
type KeepingContainer struct {
	ContainerID string
	MoisturePct Decimal
	// MoistureU is the standard uncertainty of the moisture in points, 0 when not known.
	MoistureU float64
	// YeastPerG is a count of yeasts per gram; nil when not counted.
	YeastPerG *Decimal
	// YeastLessThan marks a count reported only as "less than YeastPerG".
	YeastLessThan bool
	// WaterActivity estimates the water activity, used when yeast was not counted;
	// nil when there is no estimate.
	WaterActivity *WaterActivityEstimate
	// Granulating: crystals are forming. LiquidMoisturePct is then the moisture
	// of what is still liquid, nil when it is not known.
	Granulating       bool
	LiquidMoisturePct *Decimal
	// StoreTemperatureC is the temperature of the store, nil when not known.
	StoreTemperatureC *float64
	NetGrams          int64
}

// WaterActivityEstimate is a water activity with the half width of its band.
type WaterActivityEstimate struct{ Value, HalfWidth float64 }

// KeepingRisk is the answer for one container.
type KeepingRisk struct {
	Container KeepingContainer
	Risk      FermentationRisk
	Class     LochheadClass // by the moisture that counts
	// MoisturePct is the moisture that counts: of the liquid part when granulating.
	MoisturePct Decimal
	Why         []message.Text
}

const (
	// Below this no yeast that lives in honey grows: common design line, from
	// memory; a minimum of 0.61 to 0.62 was read for osmotolerant yeasts.
	criticalWaterActivity = 0.60
	// Honey granulates fastest near 14 C; yeast stops at 11 C and below.
	granulationFromC, granulationToC = 10.0, 18.0
	yeastRestsAtC                    = 11.0
)

// Without a count 10 to 1,000 yeasts a gram is assumed (from memory): at least
// 10 means that the lines above 18.0 % are in danger.
var assumedYeastPerG = MustDecimal("10")

// FermentationRisks judges every container and puts first what must be dealt
// with first: the highest risk, and within it the wettest.
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
		return cmp.Or(cmp.Compare(b.Risk, a.Risk), b.MoisturePct.Cmp(a.MoisturePct))
	})
	return risks, nil
}

func (c KeepingContainer) validate(field string, p *problems) {
	checkMoisture := func(name string, m *Decimal) {
		if m != nil && (m.Sign() < 0 || m.Cmp(MustDecimal("100")) > 0) {
			p.add(field+"/"+name, m.String(), "a moisture from 0 to 100 %%")
		}
	}
	checkMoisture("moisture_pct", &c.MoisturePct)
	checkMoisture("liquid_moisture_pct", c.LiquidMoisturePct)
	if c.YeastPerG != nil && c.YeastPerG.Sign() < 0 {
		p.add(field+"/yeast_per_g", c.YeastPerG.String(), "a count of 0 or more")
	}
	if a := c.WaterActivity; a != nil && !(a.Value > 0 && a.Value <= 1 && a.HalfWidth >= 0) {
		p.add(field+"/water_activity", fmt.Sprint(a.Value), "a water activity above 0 and at most 1, with a band of 0 or more")
	}
}

// assess takes the risk at the moisture that counts, and raises it for an
// uncertain moisture and for granulation.
func (c KeepingContainer) assess() KeepingRisk {
	r := KeepingRisk{Container: c, MoisturePct: c.MoisturePct}
	if c.Granulating && c.LiquidMoisturePct != nil && c.LiquidMoisturePct.Cmp(c.MoisturePct) > 0 {
		r.MoisturePct = *c.LiquidMoisturePct
		r.because(message.F("it is granulating, so the part still liquid holds %s %% moisture where the whole holds %s %%", r.MoisturePct.Said(), c.MoisturePct.Said()))
	}
	r.Class = LochheadClassOf(r.MoisturePct)
	r.Risk = c.riskAt(r.MoisturePct, &r)
	r.raiseForUncertainty()
	r.raiseForGranulation()
	return r
}

func (r *KeepingRisk) because(why message.Text) { r.Why = append(r.Why, why) }

// riskAt goes by the count where there is one, by water activity otherwise; the
// ends of Lochhead's table hold whatever the count.
func (c KeepingContainer) riskAt(moisture Decimal, r *KeepingRisk) FermentationRisk {
	class := LochheadClassOf(moisture)
	switch {
	case class.Danger:
		r.because(message.F("at %s %% (%s) honey is always in danger (Lochhead)", moisture.Said(), class.Text))
		return RiskHigh
	case c.YeastPerG != nil:
		return c.riskByCount(moisture, class, r)
	case c.WaterActivity != nil:
		return c.riskByWaterActivity(moisture, class, r)
	case class.YeastPerG == nil:
		r.because(message.F("at %s %% (%s) honey keeps a year whatever its yeast (Lochhead)", moisture.Said(), class.Text))
		return RiskLow
	}
	r.because(message.F("yeast was not counted and no water activity is known; at %s %% (%s) it keeps only below %s yeasts/g, and 10 to 1000 is to be expected (from memory)", moisture.Said(), class.Text, class.YeastPerG.Said()))
	if class.Safe(assumedYeastPerG) {
		return RiskWatch
	}
	return RiskHigh
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

func (c KeepingContainer) riskByWaterActivity(moisture Decimal, class LochheadClass, r *KeepingRisk) FermentationRisk {
	a := *c.WaterActivity
	low, high := a.Value-a.HalfWidth, a.Value+a.HalfWidth
	r.because(message.F("yeast was not counted; estimated water activity %s (%s to %s) against %s, below which yeast does not grow", hundredths(a.Value), hundredths(low), hundredths(high), hundredths(criticalWaterActivity)))
	switch {
	case low >= criticalWaterActivity:
		return RiskHigh
	case high >= criticalWaterActivity:
		return RiskWatch
	case class.YeastPerG != nil && !class.Safe(assumedYeastPerG):
		r.because(message.F("at %s %% (%s) it keeps only below %s yeasts/g (Lochhead), so a count would tell", moisture.Said(), class.Text, class.YeastPerG.Said()))
		return RiskWatch
	}
	return RiskLow
}

// raiseForUncertainty watches honey whose moisture may lie in a worse class.
func (r *KeepingRisk) raiseForUncertainty() {
	if r.Container.MoistureU <= 0 || r.Risk >= RiskWatch {
		return
	}
	wetter := r.MoisturePct.Add(decimalFromFloat(defaultCoverageFactor * r.Container.MoistureU))
	worse := r.Container.riskAt(wetter, &KeepingRisk{})
	if worse > r.Risk {
		r.Risk = RiskWatch
		r.because(message.F("the reading may be off, and the moisture as high as %s %%, where the risk is higher", Decimal{wetter.d.Round(2)}.Said()))
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
	} else if t := *c.StoreTemperatureC; t < granulationFromC || t > granulationToC {
		return
	} else {
		if t <= yeastRestsAtC {
			r.because(message.F("at %s yeast rests, and starts once the honey is warmer", message.Celsius(t)))
		}
		r.because(message.F("it is granulating at %s, within %s to %s where honey granulates and its liquid part grows wetter", message.Celsius(t), message.Celsius(granulationFromC), message.Celsius(granulationToC)))
	}
	// Very dry honey stays safe: even its liquid part is known to be so.
	if r.Class.YeastPerG == nil && !r.Class.Danger && c.LiquidMoisturePct != nil {
		return
	}
	r.Risk = min(r.Risk+1, RiskHigh)
}

func hundredths(v float64) message.Number { return message.Number{V: v, Places: 2} }

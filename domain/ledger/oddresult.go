package ledger

import (
	"math"
	"slices"

	"pullbook/domain/honey"
)

// oddResults flags figures of a reading that honey seldom has, that do not go
// together, or that go against time.
func (s *State) oddResults(f *fact, r *Reading) {
	if len(r.Measured) == 0 {
		return
	}
	flag := Flag{Entry: f.root.ID, On: r.On}
	if h, ok := s.Holder(r.On.ID); ok {
		flag.MassG = h.Grams
	}
	for _, m := range r.Measured {
		if p, known := plausibles[m.Quantity]; known && !p.usual(m) {
			odd := flag
			odd.Code, odd.Quantity, odd.Unit, odd.Expected, odd.Found = ResultUnusual, m.Quantity, m.unit(), p.low, m.Value
			if m.Value > p.high {
				odd.Expected = p.high
			}
			s.flag(odd)
		}
		s.againstTime(f, r, m, flag)
	}
	s.disagreeing(r, flag)
}

// How far apart two figures of one reading may be before one of them is odd.
const (
	// pointsApart is of a total score and its parts, beyond rounding.
	pointsApart = 0.5
	// densityApart is in kg/L: four points of moisture at one temperature, or 35
	// degrees at one moisture (domain/honey/README.md), so that what is not known of
	// the temperature passes.
	densityApart = 0.03
	// activityApart is three times how far single honeys lie from the line
	// (domain/honey/README.md).
	activityApart = 3 * honey.WaterActivityStdUncertainty
	// activityReadAtC is the temperature that water activities are measured at.
	activityReadAtC = 25
)

// disagreeing flags figures of one reading that cannot all be right, or hardly.
func (s *State) disagreeing(r *Reading, flag Flag) {
	flag.Code = ResultsDisagree
	say := func(quantity string, expected, found float64) {
		flag.Quantity, flag.Unit, flag.Expected, flag.Found = quantity, Measured{Quantity: quantity}.unit(), expected, found
		s.flag(flag)
	}
	if sum, largest := r.together(); largest >= 0 && sum > 100 {
		say(r.Measured[largest].Quantity, 100, sum)
	}
	of := map[string]float64{}
	for _, m := range r.Measured {
		if !m.LessThan {
			of[m.Quantity] = m.Value
		}
	}
	parts := of["fructose_plus_glucose_g_per_100g"] + of["maltose_g_per_100g"] + of["trehalulose_g_per_100g"]
	if reducing, known := of["reducing_sugars_g_per_100g"]; known && parts > reducing+overfull {
		say("reducing_sugars_g_per_100g", parts, reducing)
	}
	_, flavour := of["flavour_points"]
	_, defects := of["defects_points"]
	_, clarity := of["clarity_points"]
	total, whole := of["total_points"]
	if parts := of["flavour_points"] + of["defects_points"] + of["clarity_points"]; flavour && defects && clarity && whole && math.Abs(parts-total) > pointsApart {
		say("total_points", parts, total)
	}
	if r.Moisture == nil {
		return
	}
	temperatureC := float64(usualSampleC)
	if t, known := of["temperature_c"]; known {
		temperatureC = t
	}
	if found, known := of["density_kg_per_l"]; known {
		if expected, err := honey.DensityKgPerL(r.Moisture.Pct, temperatureC); err == nil && math.Abs(found-expected) > densityApart {
			say("density_kg_per_l", math.Round(expected*1000)/1000, found)
		}
	}
	if found, known := of["water_activity"]; known {
		state := honey.Liquid
		if r.Granulated {
			state = honey.Granulated
		}
		if expected, err := honey.WaterActivity(r.Moisture.Pct, activityReadAtC, state); err == nil && math.Abs(found-expected) > activityApart {
			say("water_activity", math.Round(expected*100)/100, found)
		}
	}
}

// goesOneWay are the quantities that time only raises (1) or lowers (-1) in honey that
// nothing is added to, with how well a laboratory measures them where it does not say,
// as in correctLaboratory, and the least that it can tell apart.
var goesOneWay = map[string]struct {
	way             float64
	relative, least float64
}{
	"hmf_mg_per_kg":  {1, hmfLaboratorySD, 1},
	"diastase_gothe": {-1, diastaseLaboratorySD, 0.5},
}

// mostLookedBack bounds how many readings of a place are gone through for an earlier
// result: a place may have very many.
const mostLookedBack = 100

// againstTime flags an HMF that is below an earlier one of the same lot or container,
// or a diastase above, by more than laboratories may differ.
func (s *State) againstTime(f *fact, r *Reading, m Measured, flag Flag) {
	one, known := goesOneWay[m.Quantity]
	if !known || m.LessThan && one.way < 0 || r.On.Kind != PlaceLot && r.On.Kind != PlaceContainer {
		return
	}
	before, at := s.resultBefore(f, r.On.ID, m.Quantity)
	if at == nil {
		return
	}
	sd := func(m Measured) float64 {
		if u := m.SD(); u > 0 {
			return u
		}
		return max(one.relative*m.Value, one.least)
	}
	u := math.Hypot(sd(before), sd(m))
	if before.Method != m.Method {
		u *= 2 // methods differ, White and Winkler by up to a fifth
	}
	if back := one.way * (before.Value - m.Value); back > 0 && back > Unfitting*u {
		flag.Code, flag.Quantity, flag.Unit, flag.Expected, flag.Found = ResultUnlikeEarlier, m.Quantity, m.unit(), before.Value, m.Value
		flag.Entries, flag.Unlikely = []ID{at.root.ID}, unlikely(back/u)
		s.flag(flag)
	}
}

// flagOnce flags a figure of a reading: once for all containers of a lot, and not where it
// is odd beside one earlier result as well.
func (s *State) flagOnce(odd Flag) {
	for _, flag := range slices.Backward(s.flags) {
		if flag.Entry != odd.Entry {
			break
		}
		if flag.Code == odd.Code && flag.Quantity == odd.Quantity {
			return
		}
	}
	s.flag(odd)
}

// resultBefore is the last result of a quantity on a place before a reading; nil where
// none is, or none that says how much.
func (s *State) resultBefore(f *fact, on ID, quantity string) (Measured, *fact) {
	readings := s.book.readings[s.book.rootID(on)]
	i, _ := slices.BinarySearchFunc(readings, f, order)
	for looked := 0; i > 0 && looked < mostLookedBack; looked++ {
		i--
		for _, m := range readings[i].Body.(*Reading).Measured {
			if m.Quantity == quantity && !m.LessThan {
				return m, readings[i]
			}
		}
	}
	return Measured{}, nil
}

// oddTemperatures flags the first point of a log that no place with honey has: of a
// log in Fahrenheit most are so.
func (s *State) oddTemperatures(f *fact, t *TemperatureLog) {
	p := plausibles["temperature_c"]
	for _, point := range t.Points {
		if p.low <= point.TemperatureC && point.TemperatureC <= p.high {
			continue
		}
		flag := Flag{Code: TemperatureUnusual, Entry: f.root.ID, On: t.On, Unit: "C", Expected: p.low, Found: point.TemperatureC}
		if point.TemperatureC > p.high {
			flag.Expected = p.high
		}
		s.flag(flag)
		return
	}
}

// refractometers are the scales of an instrument that shows how moist honey is.
var refractometers = map[string]bool{ScaleMoisture: true, ScaleRefractiveIndex: true, ScaleBrix: true}

// oddInstrument flags a figure in another scale than the instrument's, and one of an
// uncompensated instrument without the sample's temperature, with what that costs in
// points of moisture.
func (s *State) oddInstrument(f *fact, r *Reading) {
	m := r.Moisture
	if m == nil {
		return
	}
	if i := body[Instrument](s.book, r.InstrumentID); i != nil && refractometers[i.Scale] && i.Scale != m.Scale {
		s.flag(Flag{Code: InstrumentUnlike, Entry: f.root.ID, On: r.On})
	}
	if !m.Compensated && m.SampleC == nil {
		s.flag(Flag{Code: SampleTemperatureMissing, Entry: f.root.ID, On: r.On, Unit: "%", Found: math.Round(10*UnsaidSampleSDC*drierPerC) / 10})
	}
}

// drierPerC is by how many points honey reads drier for each degree above 20 C (AOAC
// 969.38).
const drierPerC = 0.09

package ledger

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"pullbook/domain/fault"
	"pullbook/domain/message"
	"pullbook/domain/standard"
	"pullbook/domain/units"
)

// plausible refuses figures of a reading that cannot be: by themselves, twice in one
// reading, or beside each other.
func (c *checker) plausible(r *Reading) {
	first := map[string]int{}
	for i, m := range r.Measured {
		at := fmt.Sprintf("/measured/%d", i)
		c.scale(at, m)
		c.vague(at, m)
		named := m.Quantity + " " + m.Parameter
		if j, again := first[named]; again {
			c.wrong(at+"/quantity", m.Quantity, "%s stands in this reading already, with %s. Record a second sample, or a second method, as a reading of its own; leave this out if it was typed twice.",
				message.Capital(m.SaidName()), message.Figure(r.Measured[j].Value))
			continue
		}
		first[named] = i
	}
	looked := map[string]string{}
	for i, o := range r.Observed {
		if before, again := looked[o.What]; again {
			c.wrong(fmt.Sprintf("/observed/%d/what", i), o.What, "%s is answered in this reading already, with %s. Leave one of the two.", message.Capital(standard.SayLabelled(o.What, o.Label)), message.Quoted(before))
			continue
		}
		looked[o.What] = o.Word
	}
	if m := r.Moisture; m != nil && m.StdUncertaintyAsSent != nil && *m.StdUncertaintyAsSent > wettestOrdinary-driestOrdinary {
		c.tooVague("/moisture_std_uncertainty_pct", *m.StdUncertaintyAsSent)
	}
	c.solids(r)
	c.certificate(r)
}

// vague refuses an uncertainty above the figure and above all that honey usually has of it.
func (c *checker) vague(at string, m Measured) {
	p, known := plausibles[m.Quantity]
	if u := m.StdUncertainty; known && u != nil && *u > math.Abs(m.Value) && *u > p.high-p.low {
		c.tooVague(at+"/std_uncertainty", *u)
	}
}

// tooVague refuses an uncertainty that is more likely another figure, or of another unit: next
// to anything would meet a limit by it.
func (c *checker) tooVague(at string, u float64) {
	c.wrong(at, u, "A standard uncertainty of %s is more than honeys differ by, so the figure would say nothing. Is it in percent of the figure, or the figure itself?", message.Figure(u))
}

// certificate refuses what no laboratory's certificate says.
func (c *checker) certificate(r *Reading) {
	ofLaboratory := map[string]bool{"/certificate_number": r.CertificateNumber != "", "/accreditation": r.Accreditation != "",
		"/analysed_on": r.AnalysedOn != "", "/moisture_std_uncertainty_pct": r.Moisture != nil && r.Moisture.StdUncertaintyAsSent != nil}
	for _, pointer := range slices.Sorted(maps.Keys(ofLaboratory)) {
		if ofLaboratory[pointer] && r.Laboratory == "" {
			c.wrong(pointer, nil, "Only a laboratory's result has this. Name the laboratory, or leave this out.")
		}
	}
	if r.AnalysedOn > c.book.dayOf(c.entry.OccurredAt.Add(futureAllowance)) {
		c.wrong("/analysed_on", string(r.AnalysedOn), "This is after the result itself, %s. Was another date meant?", c.day())
	}
	for i, m := range r.Measured {
		if loq := m.LimitOfQuantification; loq != nil && m.Value < *loq {
			c.wrong(fmt.Sprintf("/measured/%d/limit_of_quantification", i), *loq, "The laboratory cannot measure less than %s, and %s is less. Record it as less than %s, or put the limit right.", message.Figure(*loq), message.Figure(m.Value), message.Figure(*loq))
		}
	}
}

// SaidName is the quantity's name in a sentence, without its unit.
func (m Measured) SaidName() message.Text {
	switch m.Quantity {
	case OwnQuantity:
		name, _ := m.Said()
		return message.Verbatim(name)
	case "ph":
		return message.F("pH")
	case "water_activity":
		return message.F("water activity")
	case "density_kg_per_l":
		return message.F("density")
	case "temperature_c":
		return message.F("temperature")
	}
	if q, limited := quantities[m.Quantity]; limited {
		return standard.SayParameter(q.parameter)
	}
	return message.Verbatim(words(m.Quantity))
}

// unit is the quantity's unit, as the contract has it.
func (m Measured) unit() string {
	switch q := quantities[m.Quantity]; {
	case m.Quantity == OwnQuantity:
		return m.Unit
	case q.unit != "":
		return q.unit
	case m.Quantity == "density_kg_per_l":
		return "kg/L"
	case m.Quantity == "temperature_c":
		return "C"
	case m.Quantity == "ph":
		return "pH"
	}
	return "ratio"
}

// SaidFigure is a figure of the quantity with its unit, where it has one.
func (m Measured) SaidFigure(v float64) message.Text {
	switch unit := m.unit(); unit {
	case "ratio", "pH", "invertase number (old unit)":
		return message.F("%s", message.Figure(v))
	case "C":
		return message.F("%s", message.Celsius(v))
	default:
		return message.F("%s %s", message.Figure(v), standard.SayUnit(unit))
	}
}

const (
	microsiemens, perCent = 1000, 100
	gramsPerLitre         = 1000
)

// scale refuses a figure that cannot be of the scale that it is said to be of, and
// says which it may be of.
func (c *checker) scale(at string, m Measured) {
	p, known := plausibles[m.Quantity]
	if !known || p.possible(m.Value) {
		c.atLeastSome(at, m)
		return
	}
	f := fault.Field{Pointer: at + "/value", Sent: m.Value}
	switch figure, v := message.Figure(m.Value), m.Value; {
	case m.Quantity == "colour_mm_pfund":
		f.Message = message.F("The Pfund scale ends at %s mm. Is this from another scale?", message.Figure(p.most))
	case m.Quantity == "colour_od_560nm" && v > 0:
		f.Message = message.F("No honey has an optical density of %s; this looks like mm Pfund: record it as colour_mm_pfund.", figure)
	case m.Quantity == "conductivity_ms_per_cm" && v > 0:
		f.DidYouMean = v / microsiemens
		f.Message = message.F("No honey conducts %s mS/cm; this looks like µS/cm, a thousand of which are one mS/cm.", figure)
	case m.Quantity == "ph" && (v < 0 || v > 14):
		f.Message = message.F("No honey has a pH of %s: the scale goes from 0 to %s.", figure, 14)
	case m.Quantity == "water_activity" && v > 1 && v <= perCent:
		f.DidYouMean = v / perCent
		f.Message = message.F("A water activity is above 0 and at most 1; %s looks like percent.", figure)
	case m.Quantity == "water_activity":
		f.Message = message.F("A water activity is above 0 and at most 1, not %s.", figure)
	case m.Quantity == "density_kg_per_l" && p.possible(v/gramsPerLitre):
		f.DidYouMean = v / gramsPerLitre
		f.Message = message.F("No honey has a density of %s kg/L; this looks like kg/m3.", figure)
	case m.Quantity == "temperature_c" && v > p.most && p.possible(units.Celsius(v)):
		celsius := math.Round(units.Celsius(v)*10) / 10
		f.DidYouMean = celsius
		f.Message = message.F("No honey is at %s °C; this looks like Fahrenheit: %s °F is %s °C.", figure, figure, message.Figure(celsius))
	case c.told(f.Pointer):
		return
	default:
		f.Message = message.F("%s of %s cannot be of honey: from %s to %s can be recorded.", message.Capital(m.SaidName()), m.SaidFigure(m.Value), message.Figure(p.least), message.Figure(p.most))
		if meant, ok := p.slipped(v); ok {
			f.DidYouMean = meant
			f.Message = message.Join(f.Message, message.F("Was %s meant?", message.Figure(meant)))
		}
	}
	c.fields = append(c.fields, f)
}

// told reports whether a field is named already in what is wrong.
func (c *checker) told(pointer string) bool {
	return slices.ContainsFunc(c.fields, func(f fault.Field) bool { return f.Pointer == pointer })
}

// atLeastSome refuses a water activity of nothing, the one end of a scale that is not
// on it.
func (c *checker) atLeastSome(at string, m Measured) {
	if m.Quantity == "water_activity" && m.Value == 0 {
		c.wrong(at+"/value", m.Value, "A water activity is above 0 and at most 1, not %s.", message.Figure(m.Value))
	}
}

// overfull is by how much sugars and water may come to more than the honey that they
// are of, in g of 100 g, before one of them cannot be: twice the standard deviation of
// fructose and glucose together, 38 and 31 g each to 3 % (Horwitz).
const overfull = 3

// dry are the quantities that are parts of honey's dry matter, in g of 100 g. Reducing
// sugars count fructose, glucose, maltose and trehalulose too.
var dry = []string{"fructose_plus_glucose_g_per_100g", "reducing_sugars_g_per_100g", "sucrose_g_per_100g", "maltose_g_per_100g", "trehalulose_g_per_100g", "insoluble_g_per_100g", "ash_g_per_100g"}

// together is what water and all parts that were measured come to, in g of 100 g, and
// which figure is the largest part; -1 where water and sugars were not both measured.
func (r *Reading) together() (sum float64, largest int) {
	part := map[string]float64{}
	largest = -1
	for i, m := range r.Measured {
		for _, quantity := range dry {
			if m.Quantity != quantity || m.LessThan {
				continue
			}
			part[quantity] = m.Value
			if largest < 0 || m.Value > r.Measured[largest].Value {
				largest = i
			}
		}
	}
	if largest < 0 {
		return 0, largest
	}
	if r.Moisture != nil {
		sum = r.Moisture.Pct
	}
	reducing := math.Max(part["fructose_plus_glucose_g_per_100g"]+part["maltose_g_per_100g"]+part["trehalulose_g_per_100g"], part["reducing_sugars_g_per_100g"])
	return sum + reducing + part["sucrose_g_per_100g"] + part["insoluble_g_per_100g"] + part["ash_g_per_100g"], largest
}

// solids refuses sugars and water that are more than the honey that they are in.
func (c *checker) solids(r *Reading) {
	if sum, largest := r.together(); largest >= 0 && sum > 100+overfull {
		c.wrong(fmt.Sprintf("/measured/%d/value", largest), r.Measured[largest].Value,
			"The sugars, the water and the rest of this reading come to %s g in 100 g of honey. One of them cannot be right: compare each with the certificate.", message.Figure(math.Round(sum*10)/10))
	}
}

package importing

import (
	"slices"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// ThingField is one thing that has to be said of what is set up in passing.
type ThingField struct {
	// Name is what a Thing calls it: "tare_kg".
	Name string
	// Words are those of which it is one; nil where it is a figure, or yes or no.
	Words []string
	// Least and Most are the figures that the book takes; both 0 where it is none. Whole is
	// true where it takes none with decimals.
	Least, Most float64
	Whole       bool
	// Optional is true where it need not be said.
	Optional bool
	said     message.Text
	value    func(*Thing) any
}

// The bounds of the contract.
const (
	leastKg = 0.001
	mostKg  = mostGrams / 1000
	leastL  = 0.01
	mostL   = 50_000
)

var (
	tareOf = ThingField{Name: "tare_kg", Least: leastKg, Most: mostKg, said: message.F("field|tare"), value: func(t *Thing) any { return t.TareKg }}
	netOf  = ThingField{Name: "usual_net_kg", Least: leastKg, Most: mostKg, said: message.F("field|usual net"), value: func(t *Thing) any { return t.UsualNetKg }}
)

// thingFields lists what has to be said, by noun; of a yard, a lot and a buyer nothing has.
var thingFields = map[Noun][]ThingField{
	NounYard: {}, NounLot: {}, NounBuyer: {},
	NounRoom: {useOf(ledger.HotRoom, ledger.Store)},
	NounTank: {
		useOf(ledger.Sump, ledger.Settling, ledger.Heated, ledger.Bulk),
		{Name: "capacity_kg", Least: leastKg, Most: mostKg, said: message.F("field|capacity"), value: func(t *Thing) any { return t.CapacityKg }},
	},
	NounSuperKind: {
		tareOf, netOf,
		{Name: "fullest_net_kg", Least: leastKg, Most: mostKg, said: message.F("field|fullest net"), value: func(t *Thing) any { return t.FullestNetKg }},
	},
	NounContainerKind: {
		{Name: "volume_l", Least: leastL, Most: mostL, said: message.F("field|volume"), value: func(t *Thing) any { return t.VolumeL }},
		tareOf, netOf,
	},
	NounInstrument: {
		{Name: "scale", Words: []string{ledger.ScaleMoisture, ledger.ScaleRefractiveIndex, ledger.ScaleBrix, "kg", "celsius", "other"}, said: message.F("field|scale"), value: func(t *Thing) any { return t.Scale }},
		{Name: "compensates_temperature", said: message.F("field|corrects for temperature by itself"), value: func(t *Thing) any { return t.CompensatesTemperature }},
		{Name: "std_uncertainty", Most: 1000, Optional: true, said: message.F("field|standard uncertainty"), value: func(t *Thing) any { return t.StdUncertainty }},
		{Name: "check_every_days", Least: 1, Most: 3660, Whole: true, Optional: true, said: message.F("field|a good check holds for, days"), value: func(t *Thing) any { return t.CheckEveryDays }},
	},
}

func useOf[U ~string](uses ...U) ThingField {
	f := ThingField{Name: "use", said: message.F("field|use"), value: func(t *Thing) any { return t.Use }}
	for _, u := range uses {
		f.Words = append(f.Words, string(u))
	}
	return f
}

// ThingFields lists what has to be said of a thing to set it up; can is false where a sheet
// sets up none of its kind in passing.
func ThingFields(n Noun) (out []ThingField, can bool) {
	out, can = thingFields[n]
	return out, can
}

// Wrong says by name what is missing of a thing, or will not do.
func (t *Thing) Wrong(n Noun) map[string]message.Text {
	out := map[string]message.Text{}
	for _, f := range thingFields[n] {
		if why := f.wrong(t); !why.IsEmpty() {
			out[f.Name] = why
		}
	}
	return out
}

func (f *ThingField) wrong(t *Thing) (why message.Text) {
	switch v := f.value(t).(type) {
	case *bool:
		if v == nil {
			return message.F("Say whether it corrects for the temperature of the sample by itself.")
		}
	case string:
		if v == "" {
			return message.F("This is missing: choose one.")
		}
		if !slices.Contains(f.Words, v) {
			return message.F("%s will not do here: choose one of %s.", message.Quoted(v), verbatims(f.Words))
		}
	case *float64:
		if v != nil && !(f.Least <= *v && *v <= f.Most) {
			return message.F("The book takes only %s to %s here.", message.Figure(f.Least), message.Figure(f.Most))
		}
	case int:
		if v != 0 && !(f.Least <= float64(v) && float64(v) <= f.Most) {
			return message.F("A whole number from %s to %s is needed here.", message.Figure(f.Least), message.Figure(f.Most))
		}
	case float64:
		switch {
		case v == 0:
			return message.F("This is missing: type a figure.")
		case !(f.Least <= v && v <= f.Most) && f.Name == "volume_l":
			return message.F("The book takes volumes from %s to %s.", message.Litres(f.Least), message.Litres(f.Most))
		case !(f.Least <= v && v <= f.Most):
			return message.F("The book takes weights from %s to %s.", message.Kg(f.Least), message.Kg(f.Most))
		}
	}
	return why
}

func verbatims(words []string) (out message.Either) {
	for _, w := range words {
		out = append(out, message.Verbatim(w))
	}
	return out
}

// cannotSetUp notes what is missing of a thing, or will not do, at the cell that names it.
func (k *taking) cannotSetUp(c *column, noun Noun, name string, t *Thing) (bad bool) {
	for _, f := range thingFields[noun] {
		if why := f.wrong(t); !why.IsEmpty() {
			k.problem(MissingField, c, message.F("To set up the %s %s, say of it: %s%s. %s", noun.text(), name, f.said, message.Option(f.Name), why))
			bad = true
		}
	}
	return bad
}

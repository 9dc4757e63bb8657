package pages

import (
	"math"
	"strings"
	"time"

	"pullbook/api/locale"
	"pullbook/api/wire"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/plan/warm"
	"pullbook/openapi"
)

// warmable are what may be warmed, and where.
type warmable struct{ tanks, lots, rooms []choice }

// warmableOf are the tanks with honey, the lots of which something is here, and the rooms.
func warmableOf(b *ledger.Book) (w warmable) {
	b.InForceOf(ledger.KindTank, func(root ledger.ID, _ *ledger.Entry) bool {
		if h, ok := b.State().Holder(root); ok && h.Grams > 0 {
			w.tanks = append(w.tanks, choice{Value: root.String(), Name: b.Name(root)})
		}
		return true
	})
	b.InForceOf(ledger.KindLot, func(root ledger.ID, _ *ledger.Entry) bool {
		if len(b.Here(root)) > 0 {
			w.lots = append(w.lots, choice{Value: root.String(), Name: b.Name(root)})
		}
		return true
	})
	w.rooms = choicesOf(b, ledger.KindRoom)
	return w
}

// What an option of what is warmed begins with.
const ofTank, ofLot = "tank ", "lot "

// planWarmingForm asks how hot and how long.
func planWarmingForm(f locale.Voice, w warmable) *askForm {
	form := &askForm{figures: f, ID: "plan-warming", Button: f.Say("Find how hot and how long"), Inputs: []askInput{
		{Name: "what", Label: f.Say("To be warmed")},
		{Name: "to", Label: f.Say("What it is to be"), Value: string(warm.Liquid), Options: []askOption{
			{Value: string(warm.Liquid), Label: f.Say("liquid")}, {Value: string(warm.Pumpable), Label: f.Say("pumpable")},
			{Value: string(warm.Clear), Label: f.Say("clear, and slow to set again")}, {Value: string(warm.YeastKilled), Label: f.Say("rid of yeasts")},
		}},
		askInput{Name: "most_pa_s", Label: f.Say("How thick at most"), Unit: "Pa·s"}.may(f.Say("Only of pumpable honey. Honey of 17 %% moisture has about 16 at %s and 1.5 at %s.", message.Celsius(20), message.Celsius(40))),
		{Name: "hours", Label: f.Say("Within"), Unit: f.Say("hours"), Value: "48"},
		emptyInUnit(f, "°C", "hottest_c", f.Say("Set point at most")).may(f.Say("Left empty, %s; to clear it %s, for yeasts %s.", hottest(warm.Liquid), hottest(warm.Clear), hottest(warm.YeastKilled))),
		emptyInUnit(f, "°C", "start_temperature_c", f.Say("Honey is at")).may(f.Say("Left empty, as it was logged in the last two days.")),
		emptyInUnit(f, "°C", "around_c", f.Say("Around it")).may(""),
		askInput{Name: "moisture_pct", Label: f.Say("Moisture"), Unit: "%"}.may(f.Say("Left empty, as the book expects it.")),
		askInput{Name: "crystals_pct", Label: f.Say("Set to crystals"), Unit: "%"}.may(f.Say("set honey has 10 to 25")),
		askInput{Name: "heater_w", Label: f.Say("Heater"), Unit: "W"}.may(f.Say("Left empty, as in the tank's set-up.")),
		askInput{Name: "loss_w_per_k", Label: f.Say("Loss of the tank or room"), Unit: "W/K"}.may(f.Say("Left empty, as the tank's log shows it.")),
		{Name: "room", Label: f.Say("Room for containers"), Options: []askOption{{Label: locale.Missing}}},
		{Name: "around", Label: f.Say("Around containers"), Value: "still_air", Options: []askOption{
			{Value: "still_air", Label: f.Say("still air")}, {Value: "blown_air", Label: f.Say("air from a fan")}, {Value: "water", Label: f.Say("water")},
		}},
		emptyInUnit(f, "cm", "diameter_cm", f.Say("Diameter of a container")).may(""),
		emptyInUnit(f, "cm", "height_cm", f.Say("Height of the honey")).may(""),
		{Name: "probability", Label: f.Say("How sure it is to be so by then"), Value: f.Typed(warm.DefaultProbability, 3)},
		askInput{Name: "kwh_price", Label: f.Say("Price of a kWh")}.may(""),
		{Name: "hmf_kwh", Label: f.Say("A mg/kg of HMF in a tonne counts as"), Unit: "kWh", Value: f.Typed(warm.DefaultHMFKWh, 0)},
	}}
	offer := func(name, value, label string) {
		in := form.input(name)
		in.Options = append(in.Options, askOption{Value: value, Label: label})
	}
	for _, t := range w.tanks {
		offer("what", ofTank+t.Value, t.Name)
	}
	for _, l := range w.lots {
		offer("what", ofLot+l.Value, f.Say("containers of %s", l.Name))
	}
	for _, r := range w.rooms {
		offer("room", r.Value, r.Name)
	}
	for _, chance := range []float64{0.5, warm.DefaultProbability, 0.9, 0.95} {
		offer("probability", f.Typed(chance, 3), f.Say("%s %%", message.Significant(100*chance, 3)))
	}
	return form
}

func hottest(s warm.State) message.Celsius { return message.Celsius(warm.HottestOf(s)) }

// planWarmingParams are the question that a form asks at an instant; nil where something is wrong with it.
func planWarmingParams(form *askForm, now time.Time) *openapi.GetWarmingPlanParams {
	out := &openapi.GetWarmingPlanParams{
		To: openapi.GetWarmingPlanParamsTo(form.text("to")), MostPaS: form.number("most_pa_s"), StartTemperatureC: form.number("start_temperature_c"), AroundC: form.number("around_c"),
		MoisturePct: form.number("moisture_pct"), CrystalsPct: form.number("crystals_pct"), HeaterW: form.number("heater_w"), LossWPerK: form.number("loss_w_per_k"), Room: form.chosen("room"),
		Around: new(openapi.GetWarmingPlanParamsAround(form.text("around"))), DiameterCm: form.number("diameter_cm"), HeightCm: form.number("height_cm"),
		Probability: form.number("probability"), KwhPrice: form.number("kwh_price"), HmfKwh: form.number("hmf_kwh"),
	}
	if id, is := strings.CutPrefix(form.text("what"), ofTank); is {
		out.Tank = &id
	} else if id, is := strings.CutPrefix(form.text("what"), ofLot); is {
		out.Lot = &id
	}
	if c := form.number("hottest_c"); c != nil {
		out.HottestC = new(int(math.Floor(min(max(*c, -100), 1000) + 1e-9))) // a set point is a whole degree Celsius
	}
	hours := wire.OrZero(form.whole("hours", warm.MostHours))
	begins := now.Truncate(time.Hour)
	if begins.Before(now) {
		begins = begins.Add(time.Hour)
	}
	out.By = begins.Add(time.Duration(hours) * time.Hour)
	if !form.complete() {
		return nil
	}
	return out
}

package warm

import (
	"errors"
	"math"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/heat"
	"pullbook/domain/honey"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// Question is what somebody wants to warm. What is nil is taken from the book.
type Question struct {
	// Tank or Lot is what is warmed; of a lot the containers that are here, in a room.
	Tank, Lot ledger.ID
	Aim       Aim
	By        time.Time
	// Probability, HottestC and HMFKWh are as in Spec.
	Probability float64
	HottestC    int
	HMFKWh      float64
	// Room is that in which containers are warmed; zero where it is not said.
	Room ledger.ID
	// FilmWPerM2K is how well heat comes to containers (heat.FilmStillAir).
	FilmWPerM2K float64

	StartC, AroundC, HeaterW, LossWPerK, CrystalsPct, MoisturePct *float64
	DiameterCM, HeightCM                                          *float64
}

// Asked is a question with what the book has for it.
type Asked struct {
	Spec Spec
	// HeatedID is the tank or room whose heater is set, zero where the book does not know it; HoneyID is the tank or lot.
	HeatedID, HoneyID ledger.ID
	// Name is the tank's, or the lot's code; Containers is how many are warmed.
	Name       string
	Containers int
	MassKg     float64
	// From is when the plan begins: a whole hour.
	From time.Time
	// RestsOn says what is taken for what, and where it comes from.
	RestsOn []message.Text
}

// What stands in where neither the book nor the question says it (common practice).
const (
	usualAroundC = 20.0
	// usualCrystalsPct is the middle of 10 to 25 % of the mass in set honey (from memory).
	usualCrystalsPct = 15.0
	usualWallK       = 10.0
	usualWallShare   = 0.1
)

// Ask takes from the book what a question is about. The error is a fault.Error that names parameters.
func Ask(b *ledger.Book, q Question, now time.Time) (*Asked, error) {
	a := &Asked{From: now.Truncate(time.Hour)}
	if a.From.Before(now) {
		a.From = a.From.Add(time.Hour)
	}
	a.Spec = Spec{
		Aim: q.Aim, Hours: int(math.Floor(q.By.Sub(a.From).Hours())), Probability: q.Probability, HottestC: q.HottestC,
		HMFKWh: q.HMFKWh, Kinetics: heat.Default(),
	}
	if err := a.Spec.Check(); err != nil {
		var f *fault.Error
		if errors.As(err, &f) {
			for i := range f.Fields {
				if f.Fields[i].Pointer == "query:by" {
					f.Fields[i].Sent = q.By.Format(time.RFC3339)
				}
			}
		}
		return nil, err
	}
	if q.Lot != (ledger.ID{}) {
		return a, a.lot(b, &q, now)
	}
	return a, a.tank(b, &q, now)
}

// refused is a question that cannot be answered, by one of its parameters.
func refused(parameter string, sent any, says message.Text) error {
	return &fault.Error{Code: fault.Invalid, Message: message.F("This warming cannot be asked for."), Fields: []fault.Field{{Pointer: "query:" + parameter, Sent: sent, Message: says}}}
}

func (a *Asked) rests(on message.Text) { a.RestsOn = append(a.RestsOn, on) }

// begins takes what the book expects of the honey.
func (a *Asked) begins(known ledger.Belief) {
	hmf, diastase := known.HMF(), known.Diastase()
	a.Spec.Begins = Begins{max(0, hmf.Mean), hmf.StandardDeviation(), max(0, diastase.Mean), diastase.StandardDeviation()}
	a.rests(message.F("HMF begins at %s mg/kg and diastase at %s Gothe, as the book expects them.", message.Number{V: hmf.Mean, Places: 1}, message.Number{V: diastase.Mean, Places: 1}))
}

// crystals are what is said, or what set honey has where it is to be made liquid.
func (a *Asked) crystals(q *Question) float64 {
	switch {
	case q.CrystalsPct != nil:
		return *q.CrystalsPct
	case q.Aim.State == Liquid || q.Aim.State == Clear:
		a.rests(message.F("Nobody said how much has set%s: %s %% of the mass is taken, the middle of what set honey has (from memory).", message.Option("crystals_pct"), message.Figure(usualCrystalsPct)))
		return usualCrystalsPct
	}
	a.rests(message.F("The honey is taken as liquid: nobody said how much has set%s.", message.Option("crystals_pct")))
	return 0
}

func (a *Asked) moisture(q *Question, known ledger.Belief) float64 {
	if q.MoisturePct != nil {
		return *q.MoisturePct
	}
	return known.Moisture.Mean
}

// startOf is how warm a place is now: by its last log of two days, else by what it is said to be usually.
func (a *Asked) startOf(b *ledger.Book, place ledger.ID, usual *float64, said *float64, now time.Time) (float64, error) {
	if said != nil {
		return *said, nil
	}
	points := b.Logged(place)
	for i := len(points) - 1; i >= 0; i-- {
		if p := points[i]; !p.At.After(now) {
			if now.Sub(p.At) <= 2*heat.LongestJoin {
				a.rests(message.F("The honey begins at %s, as last logged.", message.Celsius(p.TemperatureC)))
				return p.TemperatureC, nil
			}
			break
		}
	}
	if usual != nil {
		a.rests(message.F("The honey begins at %s, which is usual there: nothing was logged in the last two days.", message.Celsius(*usual)))
		return *usual, nil
	}
	return 0, refused("start_temperature_c", nil, message.F("nothing was logged of how warm the honey is: measure it, and say it%s", message.Option("start_temperature_c")))
}

func (a *Asked) around(q *Question, otherwise float64) float64 {
	if q.AroundC != nil {
		return *q.AroundC
	}
	a.rests(message.F("Nobody said how warm it is around it%s: %s is taken.", message.Option("around_c"), message.Celsius(otherwise)))
	return otherwise
}

// now adds what a thermostat held last.
func (a *Asked) now(points []heat.Point, aroundC float64, now time.Time) {
	for len(points) > 0 && points[len(points)-1].At.After(now) {
		points = points[:len(points)-1]
	}
	held, ok := lastHeld(points, aroundC)
	if !ok {
		a.rests(message.F("No log shows a temperature that was held, so what is done now is not known."))
		return
	}
	a.Spec.NowC = min(max(held.SetC, LeastSetC), MostSetC)
	a.rests(message.F("As things are done now is %s, which the log held last.", message.Celsius(float64(a.Spec.NowC))))
}

func (a *Asked) tank(b *ledger.Book, q *Question, now time.Time) error {
	t := b.InForce(q.Tank).Body.(*ledger.Tank)
	a.Name, a.HeatedID, a.HoneyID = t.Name, b.Root(q.Tank), b.Root(q.Tank)
	holder, _ := b.State().Holder(q.Tank)
	known, ok := b.State().BeliefAt(q.Tank, now)
	if holder.Grams <= 0 || !ok {
		return refused("tank", t.Name, message.F("%s is empty: there is no honey in it to warm", message.Quoted(t.Name)))
	}
	a.MassKg = float64(holder.Grams) / 1000
	heaterW := t.HeaterW
	if q.HeaterW != nil {
		heaterW = *q.HeaterW
	}
	if !(heaterW > 0) {
		return refused("heater_w", heaterW, message.F("%s has no power of a heater in its set-up: say it in watts, above 0%s", message.Quoted(t.Name), message.Option("heater_w")))
	}
	start, err := a.startOf(b, q.Tank, t.UsualTemperatureC, q.StartC, now)
	if err != nil {
		return err
	}
	around := a.around(q, usualAroundC)
	moisture := a.moisture(q, known)
	a.begins(known)
	loss := Loss{}
	if q.LossWPerK != nil {
		loss.WPerK = *q.LossWPerK
	} else if loss, err = lossOf(b, q.Tank, t, holder.Grams, moisture, around, now); err != nil {
		return err
	} else if loss.Coolings > 0 {
		a.rests(message.F("The tank loses %s ± %s W a kelvin, learned from %s of its log.", message.Significant(loss.WPerK, 2), message.Significant(loss.SDWPerK, 1),
			message.Plural{N: float64(loss.Coolings), One: "%s cooling", Other: "%s coolings"}))
	} else {
		a.rests(message.F("No cooling was logged: the tank is taken to lose %s ± %s W a kelvin, as its size without insulation does.", message.Significant(loss.WPerK, 2), message.Significant(loss.SDWPerK, 1)))
	}
	v, err := NewTank(Tank{Tank: heat.Tank{
		MassKg: a.MassKg, MoisturePct: moisture, LossWPerK: loss.WPerK, WallAllowanceK: usualWallK, WallShare: usualWallShare, CrystalsPct: a.crystals(q),
	}, LossSDWPerK: loss.SDWPerK, HeaterW: heaterW, AroundC: around, StartC: start})
	if err != nil {
		return inQuestion(err)
	}
	a.rests(message.F("The honey is stirred. A tenth of it is up to %s hotter at the heated wall.", message.Measured{V: usualWallK, Unit: "K"}))
	a.now(b.Logged(q.Tank), around, now)
	return a.take(v)
}

// take has a vessel warmed, if what is asked can be said of its honey.
func (a *Asked) take(v Vessel) error {
	a.Spec.Vessel = v
	moisture, crystals := v.honeyPct()
	if _, err := targetOf(a.Spec.Aim, a.Spec.Probability, moisture, crystals); err != nil {
		return inQuestion(err)
	}
	return nil
}

// parameterOf are the parameters by which a figure came that is out of range.
var parameterOf = map[string]string{
	"heater power": "heater_w", "loss coefficient": "loss_w_per_k", "crystals": "crystals_pct", "temperature at the start": "start_temperature_c",
	"temperature around the tank": "around_c", "moisture": "moisture_pct", "radius of the honey": "diameter_cm", "height of the honey": "height_cm", "mass": "tank", "temperature": "start_temperature_c",
}

// inQuestion names the parameter of a figure that is out of range.
func inQuestion(err error) error {
	var outside *honey.RangeError
	if !errors.As(err, &outside) {
		return err
	}
	parameter, known := parameterOf[outside.Quantity]
	if !known {
		return err
	}
	return refused(parameter, outside.Got, ledger.Outside(outside))
}

func (a *Asked) lot(b *ledger.Book, q *Question, now time.Time) error {
	l := b.InForce(q.Lot).Body.(*ledger.Lot)
	a.Name, a.HeatedID, a.HoneyID = l.Code, q.Room, b.Root(q.Lot)
	here := b.Here(q.Lot)
	if len(here) == 0 {
		return refused("lot", l.Code, message.F("no container of %s is here: there is nothing to warm", message.Quoted(l.Code)))
	}
	known, ok := b.State().BeliefOfLot(q.Lot, now)
	if !ok {
		return refused("lot", l.Code, message.F("no container of %s is here: there is nothing to warm", message.Quoted(l.Code)))
	}
	var store *ledger.Room
	var usual *float64
	if e := b.InForce(l.StoreID); e != nil {
		if store, ok = e.Body.(*ledger.Room); ok {
			usual = store.UsualTemperatureC
			if a.HeatedID == (ledger.ID{}) {
				a.HeatedID = b.Root(l.StoreID)
			}
		}
	}
	start, err := a.startOf(b, l.StoreID, usual, q.StartC, now)
	if err != nil {
		return err
	}
	v := Containers{Standing: heat.Standing{MoisturePct: a.moisture(q, known), FilmWPerM2K: q.FilmWPerM2K}, StartC: start, AroundC: a.around(q, start)}
	if q.LossWPerK != nil {
		v.RoomLossWPerK = *q.LossWPerK
	} else {
		a.rests(message.F("Nobody said what the room itself loses%s: that heat is left out.", message.Option("loss_w_per_k")))
	}
	a.begins(known)
	if err := q.sizes(); err != nil {
		return err
	}
	a.containers(b, q, here, &v)
	v.CrystalsPct = a.crystals(q)
	if g, err := quality.Gather(b, q.Lot, standard.Date(now.In(b.Location()).Format(time.DateOnly))); err == nil {
		a.Spec.Kinetics = quality.KineticsOf(g, quality.ClimateOf(b))
	}
	if err := v.check(); err != nil {
		return inQuestion(err)
	}
	if q.Room != (ledger.ID{}) {
		a.now(b.Logged(q.Room), v.AroundC, now)
	}
	return a.take(v)
}

// sizes checks what is said of a container.
func (q *Question) sizes() error {
	for _, of := range []struct {
		parameter string
		cm        *float64
		most      float64
	}{{"diameter_cm", q.DiameterCM, 200}, {"height_cm", q.HeightCM, 300}} {
		if of.cm != nil && !(*of.cm >= 2 && *of.cm <= of.most) {
			return refused(of.parameter, *of.cm, message.F("the honey in a container is from %s to %s across or high", message.Measured{V: 2, Unit: "cm"}, message.Measured{V: of.most, Unit: "cm"}))
		}
	}
	return nil
}

// containers takes the widest kind of what is here, which is warm last.
func (a *Asked) containers(b *ledger.Book, q *Question, here []ledger.ID, v *Containers) {
	var widest *ledger.ContainerKind
	var grams int64
	for _, id := range here {
		if h, ok := b.State().Holder(id); ok {
			grams += h.Grams
		}
		kind := b.InForce(id).Body.(*ledger.Fill).ContainerKindID
		if e := b.InForce(kind); e != nil {
			if k, ok := e.Body.(*ledger.ContainerKind); ok && (widest == nil || k.VolumeML > widest.VolumeML) {
				widest = k
			}
		}
	}
	a.Containers, a.MassKg = len(here), float64(grams)/1000
	v.Count, v.NetKg = len(here), a.MassKg/float64(len(here))
	litres, name := v.NetKg/1.42, ""
	if widest != nil && widest.VolumeML > 0 {
		litres, name = float64(widest.VolumeML)/1000, widest.Name
	}
	v.RadiusM, v.HeightM = roundOf(litres)
	if q.DiameterCM != nil {
		v.RadiusM = *q.DiameterCM / 200
		v.HeightM = litres / 1000 / math.Pi / (v.RadiusM * v.RadiusM)
	}
	if q.HeightCM != nil {
		v.HeightM = *q.HeightCM / 100
		if q.DiameterCM == nil {
			v.RadiusM = math.Sqrt(litres / 1000 / math.Pi / v.HeightM)
		}
	}
	if q.DiameterCM == nil && q.HeightCM == nil {
		a.rests(message.F("Nobody said how wide and high the honey in a container is%s%s. Each %s is taken as %s and %s, as such containers are.",
			message.Option("diameter_cm"), message.Option("height_cm"), message.Quoted(name), message.Measured{V: math.Round(200 * v.RadiusM), Unit: "cm"}, message.Measured{V: math.Round(100 * v.HeightM), Unit: "cm"}))
	}
	a.rests(message.F("The honey in them stands still, and the room has its set point at once."))
}

// roundOf are the radius and height of a container of so many litres: drums are about three times as
// high as their radius is wide, pails 2.4 times (0.286 by 0.85 m and 0.145 by 0.35 m; from memory).
func roundOf(litres float64) (radiusM, heightM float64) {
	slender := 2.4
	if litres > 60 {
		slender = 3.0
	}
	radiusM = math.Cbrt(litres / 1000 / math.Pi / slender)
	return radiusM, slender * radiusM
}

// check is of what containers are.
func (c Containers) check() error {
	if !(c.RoomLossWPerK >= 0 && c.RoomLossWPerK <= 50_000) {
		return &honey.RangeError{Quantity: "loss coefficient", Unit: "W/K", Got: c.RoomLossWPerK, Min: 0, Max: 50_000}
	}
	if !(c.AroundC >= heat.ColdestC && c.AroundC <= 60) {
		return &honey.RangeError{Quantity: "temperature around the tank", Unit: "C", Got: c.AroundC, Min: heat.ColdestC, Max: 60}
	}
	_, _, _, err := c.Responses(c.StartC, (c.StartC+heat.MeltsToC)/2)
	return err
}

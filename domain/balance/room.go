package balance

import (
	"fmt"
	"math"
	"slices"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/honey"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// WettingPct is the relative humidity above which a hot room wets honey rather
// than drying it: above about 55 percent honey cannot be held below about 18
// (a beekeeping handbook; equilibrium of 17.5 percent at 55, Doull and Mew 1977).
const WettingPct = 55.0

// Comb slumps in a room that is too warm: above 100 to 107 F unwired comb falls
// (beekeepers' reports); 38 and 41 C are those.
const (
	warmC  = 38.0
	slumpC = 41.0
)

// Room is a hot room over a period.
type Room struct {
	RoomID ledger.ID
	Name   string
	Stacks []Stack
	// MeanTemperatureC and so on are of all logged points; nil where none were.
	MeanTemperatureC, HottestC, MeanHumidityPct, WettestPct *float64
	// EquilibriumPct is the moisture of honey in balance with the mean humidity;
	// nil where no humidity was logged or it is outside the published range.
	EquilibriumPct *float64
	// WettingHours is how long the humidity was above WettingPct, of LoggedHours.
	WettingHours, LoggedHours float64
	// CollectedKg was emptied from the dehumidifier while the stacks were between
	// their first and last readings; LostKg is the water that the readings say
	// they lost. Nil where nothing can be said.
	CollectedKg, LostKg, LostUncertaintyKg *float64
	Sentences                              []message.Text
}

// drying is the book as the hot rooms see it.
type drying struct {
	*house
	Period
	target   float64
	readings map[ledger.ID]map[Layer][]LayerReading
	emptied  map[ledger.ID]time.Time
	logs     map[ledger.ID][]*ledger.TemperatureLog
}

// Drying reports the hot rooms of a period: how the boxes pulled in it dry
// towards a moisture in percent, between 13 and 21, and what the rooms' air does
// to them.
func Drying(b *ledger.Book, p Period, targetPct float64) ([]Room, error) {
	if !(targetPct >= 13 && targetPct <= 21) {
		return nil, fmt.Errorf("the moisture to dry to is %v percent: give one from 13 to 21", targetPct)
	}
	d := &drying{house: gather(b), Period: p, target: targetPct, readings: map[ledger.ID]map[Layer][]LayerReading{},
		emptied: map[ledger.ID]time.Time{}, logs: map[ledger.ID][]*ledger.TemperatureLog{}}
	for _, e := range b.Happened {
		d.note(e)
	}
	var out []Room
	b.InForceOf(ledger.KindRoom, func(root ledger.ID, e *ledger.Entry) bool {
		if r := e.Body.(*ledger.Room); r.Use == ledger.HotRoom {
			out = append(out, d.room(root, r))
		}
		return true
	})
	return out, nil
}

func (d *drying) note(e *ledger.Entry) {
	switch x := e.Body.(type) {
	case *ledger.Reading:
		if x.On.Kind == ledger.PlacePull && x.Moisture != nil {
			d.read(d.book.Root(x.On.ID), e, x)
		}
	case *ledger.RunSupers:
		d.emptied[d.book.Root(x.PullID)] = e.OccurredAt
	case *ledger.TemperatureLog:
		if x.On.Kind == ledger.PlaceRoom {
			on := d.book.Root(x.On.ID)
			d.logs[on] = append(d.logs[on], x)
		}
	}
}

func (d *drying) read(pull ledger.ID, e *ledger.Entry, x *ledger.Reading) {
	layer := Elsewhere
	switch x.Point {
	case ledger.PointTop:
		layer = Top
	case ledger.PointBottom, ledger.PointGate:
		layer = Bottom
	}
	if d.readings[pull] == nil {
		d.readings[pull] = map[Layer][]LayerReading{}
	}
	sd := x.Moisture.StdUncertaintyPct
	if trust, off := d.book.Trust(x.InstrumentID, e.OccurredAt); trust == ledger.FoundWrong {
		sd = math.Hypot(sd, x.Moisture.PointsOff(off))
	}
	d.readings[pull][layer] = append(d.readings[pull][layer],
		LayerReading{EntryID: e.ID, At: e.OccurredAt, MoisturePct: x.Moisture.Pct, sd: math.Hypot(sd, sampleSD)})
}

func (d *drying) room(root ledger.ID, x *ledger.Room) Room {
	r := Room{RoomID: root, Name: x.Name, Stacks: d.stacks(root)}
	r.air(d.points(root))
	d.waterOf(&r)
	r.say(d.target)
	return r
}

// points are what was logged of a room in the period, in order of time, from
// however many logs: whoever notes the air by hand writes a log of one point each
// time.
func (d *drying) points(room ledger.ID) []ledger.TemperaturePoint {
	var out []ledger.TemperaturePoint
	for _, log := range d.logs[room] {
		for _, p := range log.Points {
			if d.holds(p.At) {
				out = append(out, p)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b ledger.TemperaturePoint) int { return a.At.Compare(b.At) })
	return out
}

// air sums up what was logged. Each point stands for the time half way to its
// neighbours, where they are not more than a day away.
func (r *Room) air(points []ledger.TemperaturePoint) {
	var temperature, humidity weighted
	half := func(i int) float64 { // of the time from the i-th point to the next
		if i < 0 || i+1 >= len(points) {
			return 0
		}
		gap := points[i+1].At.Sub(points[i].At)
		if gap > heat.LongestJoin {
			return 0
		}
		return gap.Hours() / 2
	}
	for i, p := range points {
		hours := half(i-1) + half(i)
		temperature.add(p.TemperatureC, hours)
		if p.HumidityPct == nil {
			continue
		}
		humidity.add(*p.HumidityPct, hours)
		r.LoggedHours += hours
		if *p.HumidityPct > WettingPct {
			r.WettingHours += hours
		}
	}
	r.MeanTemperatureC, r.HottestC = temperature.mean(), temperature.most
	r.MeanHumidityPct, r.WettestPct = humidity.mean(), humidity.most
	if r.MeanHumidityPct != nil {
		r.EquilibriumPct = equilibrium(*r.MeanHumidityPct)
	}
}

// weighted is a mean by time, and the largest.
type weighted struct {
	sum, weight, plain float64
	n                  int
	most               *float64
}

func (w *weighted) add(x, weight float64) {
	w.sum, w.weight, w.plain, w.n = w.sum+x*weight, w.weight+weight, w.plain+x, w.n+1
	if w.most == nil || x > *w.most {
		w.most = &x
	}
}

func (w *weighted) mean() *float64 {
	switch m := w.sum / w.weight; {
	case w.n == 0:
		return nil
	case w.weight == 0:
		m = w.plain / float64(w.n)
		return &m
	default:
		return &m
	}
}

// equilibrium is the moisture of honey that a relative humidity neither wets nor
// dries: where its water activity is that of the air.
func equilibrium(humidityPct float64) *float64 {
	pct, err := honey.EquilibriumMoisturePct(humidityPct)
	if err != nil || !honey.WaterActivityMoisture.Covers(pct) {
		return nil
	}
	return &pct
}

// waterOf holds the water collected against what the readings say was lost. The
// water counts while any stack of the room was between its first and last
// reading.
func (d *drying) waterOf(r *Room) {
	var lost, variance float64
	var spans []span
	for _, s := range r.Stacks {
		if s.WaterKg == nil {
			continue
		}
		lost += *s.WaterKg
		variance += *s.WaterUncertaintyKg * *s.WaterUncertaintyKg
		for _, l := range s.Layers {
			spans = append(spans, span{from: l.Readings[0].At, to: l.lastAt})
		}
	}
	if len(spans) == 0 {
		return
	}
	sd := math.Sqrt(variance)
	r.LostKg, r.LostUncertaintyKg = &lost, &sd
	collected, any := 0.0, false
	for _, log := range d.logs[r.RoomID] {
		from, to := log.Points[0].At, log.Points[len(log.Points)-1].At
		if log.WaterG > 0 {
			any = true
			collected += kg(log.WaterG) * shareWithin(from, to, spans)
		}
	}
	if any {
		r.CollectedKg = &collected
	}
}

// shareWithin is the part of the time from one instant to another that lies
// within any of the spans; an instant counts whole.
func shareWithin(from, to time.Time, spans []span) float64 {
	slices.SortFunc(spans, func(a, b span) int { return a.from.Compare(b.from) })
	whole := to.Sub(from)
	if whole <= 0 {
		if slices.ContainsFunc(spans, func(s span) bool { return !from.Before(s.from) && !from.After(s.to) }) {
			return 1
		}
		return 0
	}
	in, done := time.Duration(0), from
	for _, s := range spans {
		a, b := later(s.from, done), earlier(s.to, to)
		if b.After(a) {
			in += b.Sub(a)
			done = b
		}
	}
	return float64(in) / float64(whole)
}

// say puts what the room does into sentences.
func (r *Room) say(target float64) {
	add := func(t message.Text) { r.Sentences = append(r.Sentences, t) }
	wetting := message.Number{V: WettingPct}
	switch {
	case r.MeanHumidityPct != nil && *r.MeanHumidityPct > WettingPct:
		add(message.F("At %s %% relative humidity on average the room wets the honey instead of drying it; above about %s %% honey takes up water. Dry or warm the air.", message.Number{V: *r.MeanHumidityPct}, wetting))
	case r.WettingHours > 0:
		add(message.F("For %s of %s hours the air was above about %s %% relative humidity and wetted the honey.", message.Number{V: r.WettingHours}, message.Number{V: r.LoggedHours}, wetting))
	}
	if e := r.EquilibriumPct; e != nil && *e > target {
		add(message.F("Honey in that air ends at about %s %% moisture, so it does not come down to %s %%.", pct(*e), pct(target)))
	}
	switch hot := r.HottestC; {
	case hot == nil:
	case *hot > slumpC:
		add(message.F("It was %s at the hottest: comb slumps above %s to %s.", message.Celsius(*hot), message.Celsius(warmC), message.Celsius(slumpC)))
	case *hot > warmC:
		add(message.F("It was %s at the hottest: unwired comb may slump above %s.", message.Celsius(*hot), message.Celsius(warmC)))
	}
	r.sayWater(add)
}

// sayWater holds what was collected against what was lost.
func (r *Room) sayWater(add func(message.Text)) {
	if r.LostKg == nil || r.CollectedKg == nil {
		return
	}
	lost, sd, collected := *r.LostKg, *r.LostUncertaintyKg, *r.CollectedKg
	said := message.F("The readings say that the honey lost %s of water; %s was collected.", message.WithSD(lost, sd), message.RoundKg(collected))
	switch {
	case collected-lost > 2*sd+0.1*collected:
		add(message.F("%s The rest came from elsewhere: outside air leaks in, or boxes that nobody read are drying too.", said))
	case lost-collected > 2*sd+0.1*lost:
		add(message.F("%s The rest went out with the air, or the dehumidifier was full and stood still.", said))
	default:
		add(message.F("%s They agree.", said))
	}
}

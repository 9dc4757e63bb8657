package rest

import (
	"cmp"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Question is how many days are left, with what somebody knows better than the book; nil leaves it to the book.
type Question struct {
	Now time.Time
	// SupersOut are still on the yards, HotRoom is how many supers the hot rooms take.
	SupersOut, HotRoom *int
	// SupersAnHour go through the line.
	SupersAnHour *float64
	// DrumsArriving come DrumsInDays days from now, beside DrumsOnHand: both or none.
	DrumsOnHand, DrumsArriving, DrumsInDays *int
	// EveningHours are worked after the usual shift.
	EveningHours float64
}

// Bounds of a question.
const (
	MostSupers       = 50_000
	MostDrums        = 100_000
	MostDrumDays     = 365
	MostEveningHours = 8
	mostAnHour       = 1000
)

// Asked is a question with what the book has for it.
type Asked struct {
	Season string
	House  House
	// Basis says what the answer rests on, and where each figure comes from.
	Basis []Basis
	// Yards are those that may be pulled next, the first choice first.
	Yards []NextYard
	// Before is how many earlier seasons the book has whole. Where it has none, nobody can tell how late supers come, and
	// the bands say no more than how the known ones may go on. Counted is true where somebody says how many are out.
	Before  int
	Counted bool
	// Waiting are supers in the hot rooms, TankKg is honey in tanks.
	Waiting int
	TankKg  float64
	// ByThumb is how many days are left by a rule of thumb: the supers that are left, out and in the hot rooms, over
	// those that were extracted a day so far: Done in SoFarDays.
	ByThumb, SoFarDays float64
	Out, Done          int
	// ContainerKg is the mean of what was filled this season, of whatever kind; what a drum takes where nothing was.
	ContainerKg float64
	// drum is the kind of container that takes most of the honey; empty where nothing was filled yet.
	drum  string
	notes []message.Text
}

// Basis is one figure that an answer rests on.
type Basis struct {
	What  message.Text
	Value float64
	Unit  string
	From  message.Text
}

// Ask takes from the book what a question is about. The error is a fault.Error that says what to enter.
func Ask(b *ledger.Book, q Question) (*Asked, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	season := b.SeasonOf(q.Now)
	if season == nil {
		return nil, fault.New(fault.NotFound, "No season holds %s: set up the season first.", message.Day(q.Now.In(b.Location())))
	}
	r := recordOf(b, season, q.Now.In(b.Location()))
	a := &Asked{Season: season.Name, House: House{Lines: 1}, Before: len(r.before), Counted: q.SupersOut != nil}
	a.House.From, a.House.EveningHours = r.now, q.EveningHours
	for _, step := range []func(*record, *Question) error{a.yards, a.hotRooms, a.line, a.tanks} {
		if err := step(r, &q); err != nil {
			return nil, err
		}
	}
	a.drums(r, &q)
	if a.House.supers() > MostSupers {
		return nil, fault.New(fault.TooLarge, "A season is played with at most %s supers still to be extracted, and the book has %s: settle the pulls that were extracted long ago.", MostSupers, int(a.House.supers()))
	}
	a.Yards = r.nextYards(a.House.Courses)
	a.byThumb(r)
	return a, nil
}

// check refuses what cannot be.
func (q *Question) check() error {
	var wrong []fault.Field
	whole := func(name string, v *int, least, most int) {
		if v != nil && (*v < least || *v > most) {
			wrong = append(wrong, fault.Field{Pointer: "query:" + name, Sent: *v, Message: message.F("a whole number from %s to %s", least, most)})
		}
	}
	whole("supers_out", q.SupersOut, 0, MostSupers)
	whole("hot_room_supers", q.HotRoom, 1, MostSupers)
	whole("drums_on_hand", q.DrumsOnHand, 0, MostDrums)
	if v := q.SupersAnHour; v != nil && !(*v > 0 && *v <= mostAnHour) {
		wrong = append(wrong, fault.Field{Pointer: "query:supers_an_hour", Sent: *v, Message: message.F("above 0 and up to %s supers an hour", mostAnHour)})
	}
	if v := q.EveningHours; !(v >= 0 && v <= MostEveningHours) {
		wrong = append(wrong, fault.Field{Pointer: "query:evening_hours", Sent: v, Message: message.F("from 0 to %s hours", MostEveningHours)})
	}
	whole("drums_arriving", q.DrumsArriving, 1, MostDrums)
	whole("drums_in_days", q.DrumsInDays, 0, MostDrumDays)
	for _, one := range []struct {
		name  string
		is    *int
		needs *int
		says  message.Text
	}{
		{"drums_on_hand", q.DrumsOnHand, q.DrumsArriving, message.F("say how many are on hand as well, 0 if none")},
		{"drums_arriving", q.DrumsArriving, q.DrumsInDays, message.F("say how many arrive")},
		{"drums_in_days", q.DrumsInDays, q.DrumsArriving, message.F("say in how many days they arrive")},
	} {
		if one.needs != nil && one.is == nil {
			wrong = append(wrong, fault.Field{Pointer: "query:" + one.name, Message: one.says})
		}
	}
	if len(wrong) == 0 {
		return nil
	}
	return &fault.Error{Code: fault.Invalid, Message: message.F("The days left cannot be told for this."), Fields: wrong}
}

// rests notes a figure that the answer rests on.
func (a *Asked) rests(what message.Text, value float64, unit string, from message.Text) {
	a.Basis = append(a.Basis, Basis{what, value, unit, from})
}

// told is where a figure comes from that came with the question.
func told() message.Text { return message.F("as it was asked") }

// yards asks what is still out there.
func (a *Asked) yards(r *record, q *Question) error {
	if len(r.this.pulls) == 0 {
		return fault.New(fault.NotFound, "Nothing was pulled in season %s yet: record the first pull, and ask again.", r.this.season.Name)
	}
	if len(r.this.hives) == 0 && q.SupersOut == nil {
		return asksFor("supers_out", message.F("no hives were counted in season %s, so nobody can tell how many supers are still out: record a count of hives, or say how many supers are out", r.this.season.Name))
	}
	h := &a.House
	h.Courses = r.courses(q.SupersOut)
	h.Out, h.Late = r.spread()
	from := told()
	switch {
	case q.SupersOut != nil:
		h.Out = Spread{countedSD}
	case len(r.before) > 0:
		from = message.F("what came after this day in %s, for as many hives as were counted this season", earlierSeasons(len(r.before)))
	case len(r.partial) > 0:
		from = message.F("the part of a season that came after this day in %s", earlierSeasons(len(r.partial)))
		a.notes = append(a.notes, message.F("No earlier season has as many pulls in the book as this one has by now. How many supers are out may be off by half: say it where you know it."))
	default:
		from = message.F("the hives of yards that were not pulled yet, by what a hive gave so far")
		a.notes = append(a.notes, message.F("The book has no earlier season, so it cannot tell whether yards that were pulled will be pulled again. Say how many supers are out where you know it."))
	}
	out := 0.0
	for _, c := range h.Courses {
		out += c.Supers / float64(len(h.Courses))
	}
	a.Out = int(math.Round(out))
	a.rests(message.F("supers still on the yards"), math.Round(out), "", from)
	if out < 1 && q.SupersOut == nil {
		a.notes = append(a.notes, message.F("By the book no more supers come from the yards this season. Say how many are out where you know better."))
	}
	for _, y := range append(slices.Clone(r.before), r.this) {
		byDay := map[int]int{}
		for _, p := range y.pulls {
			byDay[daysBetween(r.now, p.at, r.book.Location())] += p.supers
		}
		for _, n := range byDay {
			h.MostADay = max(h.MostADay, n)
		}
	}
	a.rests(message.F("supers that the trucks bring in on a day, at most"), float64(h.MostADay), "", message.F("the day on which most were pulled"))
	return nil
}

func earlierSeasons(n int) message.Plural {
	return message.Plural{N: float64(n), One: "%s earlier season", Other: "%s earlier seasons"}
}

func asksFor(parameter string, what message.Text) error {
	return &fault.Error{Code: fault.Invalid, Message: message.F("The days left cannot be told for this."), Fields: []fault.Field{{Pointer: "query:" + parameter, Message: what}}}
}

// usualDryHours is how long supers stand in a hot room where the book does not say: a day or two (common practice).
var usualDryHours = []float64{24, 36, 48}

// hotRooms asks what stands in the hot rooms, how much has room there and how long it dries.
func (a *Asked) hotRooms(r *record, q *Question) error {
	h := &a.House
	h.Waiting = together(r.waiting)
	for _, s := range h.Waiting {
		a.Waiting += s.Supers
	}
	a.rests(message.F("supers in the hot rooms"), float64(a.Waiting), "", message.F("pulls of this season that went into no run"))
	from := message.F("the most that stood there at once, or what two of the busiest days brought, where that is more")
	if h.HotRoom = max(r.mostWaiting, 2*h.MostADay); q.HotRoom != nil {
		h.HotRoom, from = *q.HotRoom, told()
	}
	a.rests(message.F("supers that the hot rooms take"), float64(h.HotRoom), "", from)
	// The longer half of the waits were for the line, not for the honey.
	from = message.F("from the pull to the run; of the waits of this season the shorter half")
	if h.DryHours = shorterHalf(r.dryHours); len(h.DryHours) == 0 {
		h.DryHours, from = usualDryHours, message.F("common practice: a day or two; the book has no run that names its pulls")
	}
	a.rests(message.F("hours in the hot room before a run, in the middle"), math.Round(middle(h.DryHours)), "h", from)
	return nil
}

// mostStacks is how many stacks are told apart.
const mostStacks = 200

// together puts pulls that followed one another together where there are very many.
func together(stacks []Stack) (out []Stack) {
	for some := range slices.Chunk(stacks, 1+(len(stacks)-1)/mostStacks) {
		one := Stack{}
		for _, s := range some {
			one.Supers, one.Hours = one.Supers+s.Supers, one.Hours+float64(s.Supers)*s.Hours
		}
		one.Hours /= float64(one.Supers)
		out = append(out, one)
	}
	return out
}

// shorterHalf are the figures up to the middle one, in order.
func shorterHalf(figures []float64) []float64 {
	sorted := slices.Sorted(slices.Values(figures))
	return sorted[:(len(sorted)+1)/2]
}

func middle(figures []float64) float64 {
	return stat.Quantile(0.5, stat.Empirical, slices.Sorted(slices.Values(figures)), nil)
}

// tanks asks which tanks there are, what they hold and how long honey settles.
func (a *Asked) tanks(r *record, _ *Question) error {
	h := &a.House
	capacity := 0.0
	r.book.InForceOf(ledger.KindTank, func(root ledger.ID, e *ledger.Entry) bool {
		t := e.Body.(*ledger.Tank)
		if t.Use == ledger.Sump || t.CapacityG <= 0 {
			return true
		}
		holder, _ := r.state.Holder(root)
		one := Tank{Name: t.Name, CapacityKg: float64(t.CapacityG) / 1000, Kg: float64(max(0, holder.Grams)) / 1000}
		if in, had := r.lastIn[root]; had {
			one.IdleHours = r.now.Sub(in).Hours()
		}
		h.Tanks = append(h.Tanks, one)
		capacity, a.TankKg = capacity+one.CapacityKg, a.TankKg+one.Kg
		return true
	})
	if len(h.Tanks) == 0 {
		return fault.New(fault.NotFound, "The book has no tank for settling, heating or bulk: set up a tank with what it holds, and ask again.")
	}
	a.rests(message.F("honey that the tanks hold"), capacity, "kg", message.F("the set-up of %s, without sumps", message.Plural{N: float64(len(h.Tanks)), One: "%s tank", Other: "%s tanks"}))
	most := slices.MaxFunc(h.Tanks, func(x, y Tank) int { return cmp.Compare(x.CapacityKg, y.CapacityKg) }).CapacityKg
	perSuper := slices.Max(h.KgPerSuper) * math.Exp(4*h.KgSD)
	if h.Load = min(h.Load, int(most/perSuper)); h.Load < 1 {
		return fault.New(fault.Invalid, "No tank takes the honey of one super, %s: look at what the tanks hold, and at the runs.", message.Kg(perSuper))
	}
	a.fullAt(r)
	from := message.F("from the last honey into a tank to the first container out of it, this season")
	if h.SettleHours = r.settleHours; len(h.SettleHours) == 0 {
		h.SettleHours, from = usualSettleHours, message.F("common practice: a day or two; no container was filled this season")
	}
	a.rests(message.F("hours of settling, in the middle"), math.Round(middle(h.SettleHours)), "h", from)
	ended := 0
	if h.EndHours, h.End, ended = r.ending(); ended > 0 {
		a.rests(message.F("hours from the last honey of a season to its last container"), math.Round(h.EndHours), "h", message.F("the last days of %s", earlierSeasons(ended)))
	}
	return nil
}

// leastEmptied is the part of a tank from which on containers count as its emptying, and not as a few for the door (a
// judgement).
const leastEmptied = 0.1

// fullAt asks how full tanks are when containers are filled from them.
func (a *Asked) fullAt(r *record) {
	sum := 0.0
	for _, e := range r.emptyings {
		t := ledger.Named[ledger.Tank](r.book, e.tank)
		if t == nil || t.CapacityG <= 0 || t.Use == ledger.Sump {
			continue
		}
		if part := e.kg * 1000 / float64(t.CapacityG); part >= leastEmptied {
			a.House.FullAt = append(a.House.FullAt, min(1, part))
			sum += min(1, part)
		}
	}
	if n := len(a.House.FullAt); n > 0 {
		a.rests(message.F("part of a tank that is filled from at a time"), math.Round(100*sum/float64(n)), "%", message.F("the mean of %s, in all seasons", message.Plural{N: float64(n), One: "%s time", Other: "%s times"}))
	}
}

// usualSettleHours are common practice.
var usualSettleHours = []float64{24, 36, 48}

// What is usual of filling: a steel drum of 55 US gallons takes 640 to 663 lb (common practice); four drums an hour
// are a judgement.
const (
	usualDrumKg       = 295
	usualFillKgAnHour = 4 * usualDrumKg
	longestFill       = time.Hour
)

// drums asks what goes into drums, and how fast.
func (a *Asked) drums(r *record, q *Question) {
	h := &a.House
	byKind, all := map[ledger.ID]float64{}, 0.0
	counts := map[ledger.ID]int{}
	var rates []float64
	for i, f := range r.fills {
		byKind[f.kind], counts[f.kind], all = byKind[f.kind]+f.kg, counts[f.kind]+1, all+f.kg
		if i > 0 && r.fills[i-1].tank == f.tank {
			if took := f.at.Sub(r.fills[i-1].at); took > 0 && took <= longestFill && f.kg > 0 {
				rates = append(rates, f.kg/took.Hours())
			}
		}
	}
	h.FillKgPerHour, h.DrumKg, h.DrumShare = usualFillKgAnHour, usualDrumKg, 1
	what, from, drum := message.F("honey in a drum"), message.F("common practice: 55 US gallons; nothing was filled this season"), ledger.ID{}
	for _, f := range r.fills {
		if drum == (ledger.ID{}) || byKind[f.kind] > byKind[drum] {
			drum = f.kind
		}
	}
	a.ContainerKg = usualDrumKg
	if len(r.fills) > 0 && all > 0 {
		a.ContainerKg = all / float64(len(r.fills))
	}
	if n := counts[drum]; n > 0 && byKind[drum] > 0 {
		h.DrumKg, h.DrumShare, a.drum = byKind[drum]/float64(n), byKind[drum]/all, r.book.Name(drum)
		what = message.F("honey in a container of kind %s", message.Quoted(a.drum))
		from = message.F("the mean of %s filled this season", message.Plural{N: float64(n), One: "%s container", Other: "%s containers"})
		a.rests(message.F("part of the honey that goes into containers of kind %s", message.Quoted(a.drum)), rounded(100*h.DrumShare, 1), "%", message.F("by what was filled this season"))
	}
	a.rests(what, rounded(h.DrumKg, 1), "kg", from)
	a.drumsOnHand(q)
	from = message.F("a judgement: four drums an hour")
	if len(rates) > 0 {
		h.FillKgPerHour, from = middle(rates), message.F("the time between containers of one tank")
	}
	a.rests(message.F("honey filled in an hour"), math.Round(h.FillKgPerHour), "kg/h", from)
	h.FillKgPerHour *= h.Lines
}

// orderDays is how long drums take that are ordered as the last one is used (a judgement).
const orderDays = 7

// drumsOnHand notes what is said of empty drums.
func (a *Asked) drumsOnHand(q *Question) {
	h := &a.House
	if h.DrumsOnHand = q.DrumsOnHand; h.DrumsOnHand == nil {
		return
	}
	a.rests(message.F("empty containers on hand"), float64(*h.DrumsOnHand), "", told())
	if q.DrumsArriving != nil {
		h.DrumsArriving = *q.DrumsArriving
		h.ArriveHours = h.From.AddDate(0, 0, *q.DrumsInDays).Sub(h.From).Hours()
		a.rests(message.F("containers on the way"), float64(h.DrumsArriving), "", told())
		a.rests(message.F("days until they arrive"), float64(*q.DrumsInDays), "", told())
	}
	h.OrderHours = 24 * orderDays
	a.rests(message.F("days that containers take which are ordered as the last one is used"), orderDays, "", message.F("a judgement"))
}

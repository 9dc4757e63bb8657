package rest

import "math"

// play is the rest of a season while it is played.
type play struct {
	h        *House
	calendar *calendar
	clock    *Clock
	draws    *draws
	rest     Rest

	// ripe are supers that may be pulled by the day from which on, out all that are on the yards, ready
	// those that might have been pulled already.
	ripe       []int
	out, ready int
	// inRoom stand in the hot rooms: drying, or dry.
	inRoom, drying, dry int

	line *Station
	// loads are those that wait, by their supers; running is true until none does.
	loads   []int
	running bool
	load    int
	loadKg  float64

	tanks   []tank
	current int
	filling *Station
	settled int
	fulls   int
	drums   drums
}

// tank is a tank while a rest is played. A closed one settles, or is filled from.
type tank struct {
	kg, lastIn float64
	// fullKg is how much it holds when it is closed, if it has room for as much.
	fullKg float64
	// filling is true while containers are filled from it.
	closed, filling bool
}

const none = -1

// begin sets all going.
func (p *play) begin() {
	p.ripe, p.out = p.draws.due(), p.draws.supers
	p.rest.Out = p.out
	for i, s := range p.h.Waiting {
		p.inRoom += s.Supers
		p.stand(s.Supers, p.draws.dry.at(i)-s.Hours)
	}
	p.goOut(0)
	p.closeAtTheEnd()
	for i := range p.tanks {
		p.closeFull(i)
	}
	if p.drums.coming {
		p.drumsCome(p.h.ArriveHours, float64(p.h.DrumsArriving))
	}
}

// held notes that a way holds up the work.
func (p *play) held(w Way) { p.rest.First[w] = min(p.rest.First[w], p.clock.Now) }

// today is what is done on the day of the clock.
func (p *play) today() *Worked {
	day := p.calendar.day(p.clock.Now)
	for len(p.rest.Days) <= day {
		p.rest.Days = append(p.rest.Days, Worked{})
	}
	return &p.rest.Days[day]
}

// goOut has the trucks come in in the middle of a working day, the calendar's n-th from now.
func (p *play) goOut(n int) {
	if n < len(p.calendar.days) && p.out > 0 {
		p.clock.At(p.calendar.noons[n], func() {
			p.bringIn(n)
			p.goOut(n + 1)
		})
	}
}

// bringIn takes in the supers that the trucks can bring and the hot rooms can take.
func (p *play) bringIn(n int) {
	from := 0
	if n > 0 {
		from = p.calendar.days[n-1] + 1
	}
	for day := from; day <= p.calendar.days[n]; day++ {
		p.ready += p.ripe[day]
	}
	supers := p.ready
	if supers > p.h.MostADay {
		p.held(Trucks)
		supers = p.h.MostADay
	}
	if room := max(0, p.h.HotRoom-p.inRoom); room < supers {
		p.held(HotRoom)
		supers = room
	}
	day := p.calendar.days[n]
	if float64(p.dry) > p.draws.rate.at(day)*(p.calendar.ends[n]-p.calendar.starts[n]) {
		p.held(Line)
	}
	if supers > 0 {
		p.ready, p.out, p.inRoom = p.ready-supers, p.out-supers, p.inRoom+supers
		p.today().In += float64(supers)
		p.stand(supers, p.draws.dry.at(len(p.h.Waiting)+day))
	}
}

// stand has supers of one pull dry, and then go to the line, a load at a time.
func (p *play) stand(supers int, hours float64) {
	p.drying += supers
	p.clock.At(p.clock.Now+max(0, hours), func() {
		p.drying -= supers
		p.dry += supers
		for supers > 0 {
			load := min(supers, p.h.Load)
			p.loads = append(p.loads, load)
			supers -= load
		}
		for range p.loads[p.line.Waiting():] {
			p.line.Come(Job{p.beginLoad, p.endLoad})
		}
	})
}

// mayExtract is when the next load may go in.
func (p *play) mayExtract() float64 {
	now := p.clock.Now
	if at := p.calendar.open(now); at > now {
		return at
	}
	if !p.running && p.dry < p.h.Batch && p.out+p.drying > 0 {
		return math.Inf(1)
	}
	if p.chooseTank(float64(p.loads[0])*p.draws.kgPerSuper(p.calendar.day(now))) == none {
		p.held(Tanks)
		return math.Inf(1)
	}
	return now
}

func (p *play) beginLoad() float64 {
	day := p.calendar.day(p.clock.Now)
	p.load, p.loads, p.running = p.loads[0], p.loads[1:], true
	p.dry, p.inRoom = p.dry-p.load, p.inRoom-p.load
	p.loadKg = float64(p.load) * p.draws.kgPerSuper(day)
	hours := float64(p.load) / p.draws.rate.at(day)
	p.rest.WorkedHours += hours
	return hours
}

func (p *play) endLoad() {
	t := &p.tanks[p.current]
	t.kg, t.lastIn = t.kg+p.loadKg, p.clock.Now
	p.rest.Extracted, p.rest.Kg, p.rest.ExtractedAt = p.rest.Extracted+p.load, p.rest.Kg+p.loadKg, p.clock.Now
	on := p.today()
	on.Extracted, on.Kg = on.Extracted+float64(p.load), on.Kg+p.loadKg
	p.running = len(p.loads) > 0
	p.closeAtTheEnd()
	p.closeFull(p.current)
}

// chooseTank is the tank for some honey: the one that was pumped into, else the fullest that has room. A tank
// that has no room for it is closed.
func (p *play) chooseTank(kg float64) int {
	best := none
	for i := range p.tanks {
		t := &p.tanks[i]
		switch {
		case t.closed:
		case t.kg+kg > p.h.Tanks[i].CapacityKg:
			p.closeTank(i)
		case best == none || i == p.current || best != p.current && t.kg > p.tanks[best].kg:
			best = i
		}
	}
	p.current = best
	return best
}

// fullKg is how much a tank holds when it is closed next.
func (p *play) fullKg(i int) float64 {
	if len(p.h.FullAt) == 0 {
		return math.Inf(1)
	}
	p.fulls++
	return p.draws.full.at(p.fulls) * p.h.Tanks[i].CapacityKg
}

// closeFull closes a tank that holds as much as is filled at a time.
func (p *play) closeFull(i int) {
	if t := &p.tanks[i]; t.kg >= t.fullKg {
		p.closeTank(i)
	}
}

// closeTank has a tank settle and be filled from. One without honey stays open.
func (p *play) closeTank(i int) {
	t := &p.tanks[i]
	if t.kg <= 0 || t.closed {
		return
	}
	t.closed = true
	hours := p.draws.settled.at(p.settled)
	p.settled++
	p.clock.At(t.lastIn+hours, func() { p.fill(i) })
}

// fill has containers filled from a tank, as far as there are any; the rest waits for more.
func (p *play) fill(i int) {
	t := &p.tanks[i]
	var kg float64
	p.filling.Come(Job{
		Begin: func() float64 {
			kg, t.filling = min(t.kg, p.drums.roomKg), true
			p.use(kg)
			return min(mostDays*24, p.calendar.after(p.clock.Now, kg/p.h.FillKgPerHour)-p.clock.Now)
		},
		Done: func() {
			t.filling = false
			if p.emptied(i, kg); t.kg > 0 {
				p.fill(i)
			}
		},
	})
}

// emptied notes that some of a tank's honey is in containers.
func (p *play) emptied(i int, kg float64) {
	t := &p.tanks[i]
	if kg == 0 {
		return // it was emptied while it waited
	}
	p.rest.FilledKg, p.rest.EndsAt = p.rest.FilledKg+kg, p.clock.Now
	p.today().FilledKg += kg
	p.order()
	if t.kg -= kg; t.kg <= crumbKg {
		t.kg, t.closed, t.fullKg = 0, false, p.fullKg(i)
		p.line.Look()
	}
}

// extracted reports whether no super is left anywhere.
func (p *play) extracted() bool { return p.out+p.inRoom == 0 && p.line.Idle() }

// closeAtTheEnd closes the tanks once nothing more comes into them, or has all of them be emptied as long after the last
// honey as in earlier seasons.
func (p *play) closeAtTheEnd() {
	if !p.extracted() {
		return
	}
	last := math.Inf(-1)
	for i := range p.tanks {
		last = max(last, p.tanks[i].lastIn)
		if p.draws.endHours == 0 {
			p.closeTank(i)
		}
	}
	if p.draws.endHours > 0 {
		p.clock.At(max(p.clock.Now, last+p.draws.endHours), p.emptyAll)
	}
}

// emptyAll has the last honey be in containers. What is filled until then, and nights and Sundays, are in the hours that
// earlier seasons took. What has no drum waits for one.
func (p *play) emptyAll() {
	for i := range p.tanks {
		switch t := &p.tanks[i]; {
		case t.filling || t.kg == 0:
		case t.kg <= p.drums.roomKg:
			kg := t.kg
			p.use(kg)
			p.emptied(i, kg)
		case !t.closed:
			t.closed = true
			p.fill(i)
		}
	}
}

func (p *play) outcome() Rest {
	for _, t := range p.tanks {
		p.rest.LeftKg += t.kg
	}
	p.rest.Over = p.extracted() && p.rest.LeftKg == 0
	return p.rest
}

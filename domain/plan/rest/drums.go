package rest

import "math"

// drums are the empty drums of a rest while it is played.
type drums struct {
	// roomKg is how much honey may still be filled until the last drum is used, what goes elsewhere counted;
	// usedKg went into drums.
	roomKg, usedKg float64
	// coming is true while more are on the way.
	coming bool
}

// crumbKg is less than anybody fills.
const crumbKg = 1e-6

// stock lays in the drums on hand.
func (p *play) stock() {
	p.drums.roomKg = math.Inf(1)
	if p.h.DrumsOnHand != nil && p.h.DrumShare > 0 {
		p.drums.roomKg = p.kgOf(float64(*p.h.DrumsOnHand + p.h.DrumsSpare))
		p.drums.coming = p.h.DrumsArriving > 0
	}
}

// kgOf is how much honey may be filled with so many drums.
func (p *play) kgOf(drums float64) float64 { return drums * p.h.DrumKg / p.h.DrumShare }

// use takes the drums for some honey.
func (p *play) use(kg float64) {
	if kg == 0 {
		return
	}
	p.drums.roomKg -= kg
	p.drums.usedKg += kg * p.h.DrumShare
	before := p.rest.Drums
	p.rest.Drums = int(math.Ceil(p.drums.usedKg/p.h.DrumKg - 1e-9))
	p.today().Drums += float64(p.rest.Drums - before)
}

// mayFill is when the next tank may be filled from.
func (p *play) mayFill() float64 {
	now := p.clock.Now
	if at := p.calendar.open(now); at > now {
		return at
	}
	if p.drums.roomKg > crumbKg {
		return now
	}
	p.held(Drums)
	p.order()
	return math.Inf(1)
}

// order has more drums come where the last but the spare ones is used and none are on the way.
func (p *play) order() {
	if p.drums.roomKg <= p.kgOf(float64(p.h.DrumsSpare))+crumbKg && !p.drums.coming && p.h.OrderHours > 0 {
		p.drums.coming = true
		p.drumsCome(p.clock.Now+p.h.OrderHours, math.Inf(1))
	}
}

// drumsCome has so many drums come at a time.
func (p *play) drumsCome(at, n float64) {
	p.clock.At(max(p.clock.Now, at), func() {
		p.drums.coming = false
		p.drums.roomKg += p.kgOf(n)
		p.filling.Look()
	})
}

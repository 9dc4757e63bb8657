package demo

import (
	"fmt"
	"math"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// truck is containers of one kind going to one buyer.
type truck struct {
	month time.Month
	day   int
	buyer ledger.ID
	kind  ledger.ID
	most  int
}

func (s *shared) trucks() []truck {
	return []truck{
		{time.August, 20, s.bakery, s.pail, 20}, {time.August, 27, s.packers, s.drum, 32},
		{time.September, 10, s.packers, s.drum, 32}, {time.September, 17, s.farmGate, s.pail, 8},
		{time.September, 24, s.packers, s.tote, 4}, {time.October, 8, s.packers, s.drum, 40},
		{time.October, 15, s.bakery, s.pail, 40}, {time.October, 22, s.bakery, s.drum, 4},
		{time.November, 5, s.farmGate, s.pail, 12}, {time.November, 12, s.packers, s.drum, 32},
	}
}

// keptDrums is how many drums the outfit keeps back over the winter, the last
// that were filled.
const keptDrums = 12

// settledFor is how long a container stands before it leaves.
const settledFor = 9 * 24 * time.Hour

// dispatchAll sends trucks until the middle of November.
func (s *season) dispatchAll() {
	slices.SortStableFunc(s.h.containers, func(a, b *container) int { return a.filled.Compare(b.filled) })
	kept := s.keptBack()
	paid := false
	for i, t := range s.s.trucks() {
		at := s.at(t.month, t.day, 11, 0).Add(s.minutes(0, 150))
		d := &ledger.Dispatch{BuyerID: t.buyer, Reference: fmt.Sprintf("%s%d-%02d", houseCode(s.h.number), s.year, i+1)}
		for _, c := range s.h.containers {
			fits := t.buyer != s.s.packers || c.honey.moisturePct < wettestForPackers
			if len(d.Containers) < t.most && fits && !c.gone && !kept[c] && c.kind == t.kind && at.Sub(c.filled) > settledFor {
				c.gone = true
				d.Containers = append(d.Containers, c.id)
			}
		}
		if len(d.Containers) == 0 {
			continue
		}
		if t.buyer == s.s.packers && !s.allAnalysed(at, d.Containers) {
			d.Override, d.Note = true, "the packers sample each drum as it comes in, and pay by their own figures"
		}
		if t.buyer == s.s.bakery && s.asksForResidue() && !s.clean(at, d.Containers) {
			d.Override, d.Note = true, "the bakers take these before the residue figures are in, and keep them apart until then"
		}
		s.release(at.Add(-2*time.Hour), d.Containers)
		sent := s.add(at, owner, d)
		if s.eventful && !paid && t.buyer == s.s.packers {
			s.paid(at, sent.ID, d.Containers)
			paid = true
		}
	}
	s.holdLast(s.at(time.November, 13, 9, 0))
	s.h.containers = slices.DeleteFunc(s.h.containers, func(c *container) bool { return c.gone })
}

// prepareNext prepares a last truck, which nobody has loaded yet.
func (s *season) prepareNext() {
	if !s.eventful {
		return
	}
	const most = 4
	p := &ledger.PreparedDispatch{BuyerID: s.s.packers, LeavesOn: ledger.Date(fmt.Sprintf("%d-12-03", s.year)), Reference: fmt.Sprintf("%s%d-next", houseCode(s.h.number), s.year), Note: "the packers' driver comes at eight"}
	for _, c := range s.h.containers {
		if c.kind == s.s.drum && !c.gone && len(p.Containers) < most {
			p.Containers = append(p.Containers, c.id)
		}
	}
	if len(p.Containers) > 0 {
		s.w.add(s.at(time.November, 14, 9, 0), 2*time.Minute, owner, p)
	}
}

// prepareBlend prepares a blend of two drums of the winter store in the small tank, which nobody has poured yet.
func (s *season) prepareBlend() {
	if !s.eventful {
		return
	}
	var takes []ledger.BlendTake
	var kg, water float64
	for _, c := range slices.Backward(s.h.containers) {
		if c.kind == s.s.drum && !c.gone && len(takes) < 2 {
			takes = append(takes, ledger.BlendTake{From: ledger.Place{Kind: ledger.PlaceContainer, ID: c.id}})
			kg, water = kg+c.honey.kg, water+c.honey.kg*c.honey.moisturePct
		}
	}
	if len(takes) < 2 {
		return
	}
	moisture := math.Round(100*water/kg) / 100
	s.w.add(s.at(time.November, 14, 10, 0), 2*time.Minute, owner, &ledger.PreparedBlend{
		Title: "two drums for the bakery", TankID: s.h.small.id, Takes: takes, Note: "stir it for an hour before anything is filled",
		Expects: []ledger.BlendExpected{{Parameter: "moisture", Value: moisture, StdUncertainty: 0.15, High: new(18.5)}},
	})
}

// agree is what the packers take of the season's drums, by the limits and the price of their terms.
func (s *season) agree() {
	if !s.eventful {
		return
	}
	s.w.add(s.at(time.July, 2, 10, 0), 5*time.Minute, owner, &ledger.Contract{
		BuyerID: s.s.packers, RuleSet: ledger.RuleSetRef{RuleSetID: s.s.contract}, PromisedG: 20_000_000, MostG: 80_000_000,
		FreightPerContainerMinor: 900, Reference: fmt.Sprintf("order %s%d", houseCode(s.h.number), s.year),
	})
}

// wettestForPackers is the moisture in percent up to which drums go to the packers: a
// refractometer may read a little more than there is, and their contract ends at 18.6.
const wettestForPackers = 18.2

// allAnalysed reports whether the laboratory found the lots of all containers well inside
// the packers' contract before a truck left.
func (s *season) allAnalysed(at time.Time, containers []ledger.ID) bool {
	for _, c := range s.h.containers {
		if found := s.h.analysed[c.lot]; slices.Contains(containers, c.id) && !(found.meets && found.at.Before(at)) {
			return false
		}
	}
	return true
}

// keptBack are the drums that no truck takes.
func (s *season) keptBack() map[*container]bool {
	kept := map[*container]bool{}
	for _, c := range slices.Backward(s.h.containers) {
		if c.kind == s.s.drum && !c.gone && len(kept) < keptDrums {
			kept[c] = true
		}
	}
	return kept
}

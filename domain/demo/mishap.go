package demo

import (
	"fmt"
	"time"

	"pullbook/domain/ledger"
)

// mishaps are what goes wrong in an eventful season and how the crew deals with
// it.
type mishaps struct {
	// setRight is when the hand-held refractometer was found wrong.
	setRight time.Time
	wet      []*ledger.Entry
	// lastPumped and late are the entry whose sheet is lost for a while.
	lastPumped, late *ledger.Entry
	lateAt           time.Time
	short            bool
	shortWas         bool
	drums            int
	doubled          bool
}

// driftPct is how much too wet the hand-held refractometer reads from 15 July
// until it is checked on a Monday.
const driftPct = 0.4

func (m *mishaps) drift(s *season, at time.Time) float64 {
	if s.eventful && at.After(s.at(time.July, 15, 12, 0)) && (m.setRight.IsZero() || !at.After(m.setRight)) {
		return driftPct
	}
	return 0
}

// loaded writes a load down twice, once, and takes it back the next morning.
func (m *mishaps) loaded(s *season, e *ledger.Entry) {
	l := e.Body.(*ledger.Load)
	if !s.eventful || m.doubled || s.runs != 1+s.o.Runs/3 || l.Load != 3 {
		return
	}
	m.doubled = true
	again := *l
	twice := s.add(e.OccurredAt.Add(2*time.Minute), packer, &again)
	w := s.add(s.clock(e.OccurredAt, 1, 8, 5), owner, &ledger.Withdrawal{})
	w.Replaces, w.Reason = twice.ID, fmt.Sprintf("load %d was written down by both of us", l.Load)
}

// latePack, lateDays and correctedDrum place the late entry and the corrected drum in the
// season.
const (
	latePack      = 5
	lateDays      = 5
	correctedDrum = 60
)

// noDip is true for the tank that nobody dips, so that the book finds out for
// itself.
func (m *mishaps) noDip(s *season, t *tank) bool {
	if !s.eventful {
		return false
	}
	cycle := t.emptyings
	if !t.closed {
		cycle++
	}
	return t == s.h.large && cycle == latePack || t == s.h.small && m.short
}

// pumped remembers the last honey that went into the tank that nobody dips.
func (m *mishaps) pumped(s *season, e *ledger.Entry, to *tank) {
	if s.eventful && m.late == nil && to == s.h.large && to.emptyings == latePack-1 {
		m.lastPumped = e
	}
}

// hold keeps that entry back: its sheet is found five days later, when the
// tank has long been packed off.
func (m *mishaps) hold(s *season) {
	m.late, m.lateAt = m.lastPumped, m.lastPumped.OccurredAt.Add(lateDays*24*time.Hour)
	m.late.Via = ""
	m.late.Body.(*ledger.Movement).Note = "sheet found in the truck"
	for i := len(s.w.drafts) - 1; ; i-- {
		if d := &s.w.drafts[i]; d.entry == m.late {
			d.recordedAt = m.lateAt
			return
		}
	}
}

// shortfallKg is honey that went over to the small tank and was not written
// down.
func (m *mishaps) shortfallKg(s *season) float64 {
	if !s.eventful || m.shortWas || s.h.small.emptyings < 2 {
		return 0
	}
	m.short, m.shortWas = true, true
	return 90
}

func (m *mishaps) packed(s *season, t *tank) {
	if t == s.h.small {
		m.short = false
	}
	if t == s.h.large && t.emptyings == latePack && m.lastPumped != nil {
		m.hold(s)
	}
}

// filled misreads one drum and corrects it the next day.
func (m *mishaps) filled(s *season, e *ledger.Entry, letter byte) {
	if !s.eventful || letter != 'D' {
		return
	}
	if m.drums++; m.drums != correctedDrum {
		return
	}
	wrong := e.Body.(*ledger.Fill)
	right := *wrong
	wrong.GrossG -= 10_000
	c := &ledger.Entry{ID: s.w.nextID(), Kind: e.Kind, OccurredAt: e.OccurredAt, RecordedBy: owner, Via: e.Via, Replaces: e.ID,
		Reason: fmt.Sprintf("read %.1f off a wet lid; the scale slip says %.1f", kgOf(wrong.GrossG), kgOf(right.GrossG)), Body: &right}
	s.w.record(c, s.clock(e.OccurredAt, 1, 18, 30))
}

// read remembers readings that the book will ask about.
func (m *mishaps) read(s *season, e *ledger.Entry) {
	if r := e.Body.(*ledger.Reading); s.eventful && r.Moisture.Pct > 21 && r.On.Kind == ledger.PlacePull {
		m.wet = append(m.wet, e)
	}
}

// settle accepts the late entry and the wet readings; where there are several,
// the last is left open.
func (m *mishaps) settle(s *season) {
	accept := func(e *ledger.Entry, code ledger.Code, at time.Time, why string) {
		s.add(at, owner, &ledger.Acceptance{EntryID: e.ID, Flag: code}).Reason = why
	}
	if m.late != nil {
		accept(m.late, ledger.RecordedLate, m.lateAt.Add(time.Hour), "the tally sheet lay in the truck; figures checked against the tank")
	}
	for i, e := range m.wet {
		if i == 0 || i+1 < len(m.wet) {
			accept(e, ledger.MoistureUnusual, s.clock(e.OccurredAt, 1, 20, 0), "read again on three frames: that yard is so wet, boxes go to the dry side of the hot room")
		}
	}
}

package rest

import (
	"bytes"
	"cmp"
	"slices"
	"time"

	"pullbook/domain/balance"
	"pullbook/domain/ledger"
)

// NextYard is a yard that may be pulled next.
type NextYard struct {
	ID   ledger.ID
	Name string
	// Supers may be pulled there within Days days, as far as one knows.
	Supers float64
	Days   int
	// PulledAt is when it last was, this season; zero where it was not.
	PulledAt time.Time
	// MoisturePct is what its honey was last read at this season; nil where it was not read.
	MoisturePct *float64
}

// Wet reports whether its honey was too wet when it was last read, so that it had better ripen.
func (y *NextYard) Wet() bool { return y.MoisturePct != nil && *y.MoisturePct > balance.DryEnoughPct }

const (
	soonDays  = 14
	nextYards = 3
)

// nextYards are the yards to pull next: those first whose honey was not wet, of these the one with the most supers
// that may be pulled soon, and of as many the one that was pulled longest ago.
func (r *record) nextYards(courses []Course) []NextYard {
	for _, days := range []int{soonDays, mostDays} {
		if out := r.yardsWithin(courses, days); len(out) > 0 {
			return out[:min(len(out), nextYards)]
		}
	}
	return nil
}

func (r *record) yardsWithin(courses []Course, days int) []NextYard {
	supers := map[ledger.ID]float64{}
	for _, c := range courses {
		for _, d := range c.Due {
			if d.Day <= float64(days) {
				supers[d.Yard] += d.Supers / float64(len(courses))
			}
		}
	}
	var out []NextYard
	for yard, n := range supers {
		if n < 1 {
			continue
		}
		y := NextYard{ID: yard, Name: r.book.Name(yard), Supers: n, Days: days}
		for _, p := range r.this.pulls {
			if p.yard == yard {
				y.PulledAt = p.at
			}
		}
		if m, was := r.moisture[yard]; was {
			y.MoisturePct = &m.pct
		}
		out = append(out, y)
	}
	wet := func(y *NextYard) int {
		if y.Wet() {
			return 1
		}
		return 0
	}
	slices.SortFunc(out, func(a, b NextYard) int {
		return cmp.Or(wet(&a)-wet(&b), cmp.Compare(b.Supers, a.Supers), a.PulledAt.Compare(b.PulledAt), bytes.Compare(a.ID[:], b.ID[:]))
	})
	return out
}

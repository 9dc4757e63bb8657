package rest

import (
	"time"

	"pullbook/domain/ledger"
)

// ByDay is what is done on a day, on average over all rests, and what is done by its end since the question.
type ByDay struct {
	On ledger.Date
	// Ends is the midnight after it.
	Ends time.Time
	Worked
	// ExtractedBy are supers, FilledKgBy kilograms of honey in containers, DrumsBy drums, since the question.
	ExtractedBy, FilledKgBy, DrumsBy Band
}

// byDay counts some rests day by day until a time.
func (h *House) byDay(rests []Rest, until float64) []ByDay {
	y, m, first := h.From.Date()
	out := make([]ByDay, 0, 64)
	sums := make([]Worked, len(rests))
	figures := make([]float64, len(rests))
	by := func(of func(Worked) float64) Band {
		for i := range sums {
			figures[i] = of(sums[i])
		}
		return bandOf(figures)
	}
	for day := range h.calendar().day(until) + 1 {
		on := time.Date(y, m, first+day, 0, 0, 0, 0, time.UTC)
		one := ByDay{On: ledger.Date(on.Format(time.DateOnly)), Ends: time.Date(y, m, first+day+1, 0, 0, 0, 0, h.From.Location())}
		for i := range rests {
			if day < len(rests[i].Days) {
				w := rests[i].Days[day]
				one.add(w)
				sums[i].add(w)
			}
		}
		n := float64(len(rests))
		one.Worked = Worked{one.In / n, one.Extracted / n, one.Kg / n, one.FilledKg / n, one.Drums / n}
		one.ExtractedBy, one.FilledKgBy = by(func(w Worked) float64 { return w.Extracted }), by(func(w Worked) float64 { return w.FilledKg })
		one.DrumsBy = by(func(w Worked) float64 { return w.Drums })
		out = append(out, one)
	}
	for len(out) > 0 && out[len(out)-1].Worked == (Worked{}) {
		out = out[:len(out)-1]
	}
	return out
}

// add has more be done.
func (w *Worked) add(more Worked) {
	w.In, w.Extracted, w.Kg, w.FilledKg, w.Drums = w.In+more.In, w.Extracted+more.Extracted, w.Kg+more.Kg, w.FilledKg+more.FilledKg, w.Drums+more.Drums
}

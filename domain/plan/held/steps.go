package held

import (
	"slices"
	"strings"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
)

// Step is a step of a plan with what came of it.
type Step struct {
	ledger.PlanStep
	// About and To are the names of what it is about, and of the contract to which it goes.
	About, To string
	// Until is when the next step of the same heater begins; zero where none does.
	Until time.Time
	// LastDay is that of the contract to which it goes; empty where there is none.
	LastDay ledger.Date
	// Count is how many supers were pulled or containers delivered since the plan was adopted.
	Count int
	// Logged is the last temperature that was logged in the time of a step that heats; nil where none was.
	Logged *heat.Point
	// By are the entries that did it.
	By []ledger.ID
	// Done is true where nothing of it is left to do, Lapsed where it was not done and its time is over.
	Done, Lapsed bool
}

// How long a step may wait to be done.
const (
	heats    = 48 * time.Hour // the last set point of a heater, and one that is off
	pulls    = 60 * 24 * time.Hour
	delivers = 400 * 24 * time.Hour
	moves    = 400 * 24 * time.Hour
)

// Planned are the steps of a plan before anything came of them.
func Planned(b *ledger.Book, p *ledger.AdoptedPlan) []Step {
	out := make([]Step, len(p.Steps))
	for i, s := range p.Steps {
		out[i] = Step{PlanStep: s, About: nameOf(b, s.AboutID), To: nameOf(b, s.ContractID)}
		if c := ledger.Named[ledger.Contract](b, s.ContractID); c != nil {
			out[i].LastDay = c.LastDay
		}
	}
	return out
}

// Steps are the steps of a plan with what came of each up to now. Supers that are pulled or containers that
// are delivered count for the first step that they fit and that is not done.
func Steps(b *ledger.Book, e *ledger.Entry, now time.Time) []Step {
	out := Planned(b, e.Body.(*ledger.AdoptedPlan))
	for i := range out {
		if s := &out[i]; s.Does == ledger.PlanHeats {
			s.heated(b, out[i+1:], now)
		}
	}
	if !slices.ContainsFunc(out, func(s Step) bool { return s.Does != ledger.PlanHeats }) {
		return out
	}
	b.HappenedIn(e.OccurredAt, now.Add(time.Microsecond), func(root ledger.ID, d *ledger.Entry) bool {
		switch x := d.Body.(type) {
		case *ledger.Pull:
			supers := 0
			for _, c := range x.Supers {
				supers += c.Supers
			}
			add(b, out, ledger.PlanPulls, x.YardID, supers, root)
		case *ledger.HiveCount:
			if x.Hives == 0 {
				add(b, out, ledger.PlanMoves, x.YardID, 0, root)
			}
		case *ledger.Dispatch:
			delivered(b, out, x, root)
		}
		return true
	})
	for i := range out {
		if s := &out[i]; s.Does != ledger.PlanHeats {
			s.Done = len(s.By) > 0 && s.Count >= s.PlanStep.Count
			s.Lapsed = !s.Done && (now.Sub(e.OccurredAt) > s.waits() || s.LastDay != "" && s.LastDay < ledger.Date(now.In(b.Location()).Format(time.DateOnly)))
		}
	}
	return out
}

// nameOf is what the crew calls what a step or figure is about: a contract by its buyer and reference, the rest by name.
func nameOf(b *ledger.Book, id ledger.ID) string {
	if c := ledger.Named[ledger.Contract](b, id); c != nil {
		return strings.TrimSpace(b.Name(c.BuyerID) + " " + c.Reference)
	}
	return b.Name(id)
}

// Lapsed reports whether nothing of a plan can be left to do, since all its steps have waited too long.
func Lapsed(p *ledger.AdoptedPlan, since, now time.Time) bool {
	for i := range p.Steps {
		s := Step{PlanStep: p.Steps[i]}
		from := since
		if s.At != nil && s.At.After(since) {
			from = *s.At
		}
		if now.Sub(from) <= s.waits() {
			return false
		}
	}
	return true
}

func (s *Step) waits() time.Duration {
	switch s.Does {
	case ledger.PlanHeats:
		return heats
	case ledger.PlanPulls:
		return pulls
	case ledger.PlanMoves:
		return moves
	}
	return delivers
}

// heated looks for what was logged in the time of a step. A heater that was set leaves no entry of its own: a
// temperature that was logged since says that somebody was there.
func (s *Step) heated(b *ledger.Book, later []Step, now time.Time) {
	for _, l := range later {
		if l.Does == ledger.PlanHeats && b.Root(l.AboutID) == b.Root(s.AboutID) && l.At.After(*s.At) {
			s.Until = *l.At
			break
		}
	}
	end := s.Until
	if end.IsZero() {
		end = s.At.Add(heats)
	}
	for _, p := range b.Logged(s.AboutID) {
		if !p.At.Before(*s.At) && p.At.Before(end) && !p.At.After(now) {
			s.Logged = &p
		}
	}
	s.Done = s.Logged != nil
	s.Lapsed = !s.Done && now.After(end)
}

// add counts something for the first step that is not full, or for the last that fits.
func add(b *ledger.Book, steps []Step, does ledger.PlanDoes, about ledger.ID, count int, by ledger.ID) {
	var fits *Step
	for i := range steps {
		if s := &steps[i]; s.Does == does && b.Root(s.AboutID) == b.Root(about) {
			if fits = s; len(s.By) == 0 || s.Count < s.PlanStep.Count {
				break
			}
		}
	}
	if fits != nil {
		fits.Count += count
		fits.By = append(fits.By, by)
	}
}

// delivered counts the containers of a dispatch for what was to go to a contract of its buyer, lot by lot.
func delivered(b *ledger.Book, steps []Step, d *ledger.Dispatch, by ledger.ID) {
	left := map[ledger.ID]int{}
	for _, id := range d.Containers {
		if fill := ledger.Named[ledger.Fill](b, id); fill != nil {
			left[b.Root(fill.LotID)]++
		}
	}
	for i := range steps {
		s := &steps[i]
		if s.Does != ledger.PlanDelivers {
			continue
		}
		lot, contract := b.Root(s.AboutID), ledger.Named[ledger.Contract](b, s.ContractID)
		if contract == nil || b.Root(contract.BuyerID) != b.Root(d.BuyerID) || left[lot] == 0 {
			continue
		}
		if takes := min(left[lot], s.PlanStep.Count-s.Count); takes > 0 {
			s.Count, left[lot], s.By = s.Count+takes, left[lot]-takes, append(s.By, by)
		}
	}
}

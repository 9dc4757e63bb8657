package season

import (
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// Shed is the work that somebody in the honey house may be in the middle of:
// what a page has to know to record more of it.
type Shed struct {
	// Runs were begun and not ended, the latest first.
	Runs []OpenRun
	// Pulls have supers that went into no run, the latest first.
	Pulls []WaitingPull
	// Lots can be filled still, the latest first.
	Lots []OpenLot
	// Stock are the lots of which containers hold honey here, released or not, the latest
	// first: somebody may see one of them ferment.
	Stock []StockedLot
}

// StockedLot is a lot with its containers that hold honey, the latest first.
type StockedLot struct {
	LotID      ledger.ID
	Code       string
	Containers []StockedContainer
}

// StockedContainer is a container, known by its fill.
type StockedContainer struct {
	FillID ledger.ID
	Number string
}

// OpenRun is a run that was begun and not ended.
type OpenRun struct {
	RunID     ledger.ID
	Run       *ledger.Run
	StartedAt time.Time
	// LastAt is when something of it last happened.
	LastAt time.Time
	// LastLoad is the highest number of its loads; 0 where none was entered.
	LastLoad int
	SupersIn int
	// HoneyG came out of it so far.
	HoneyG int64
}

// WaitingPull is a pull that has supers left.
type WaitingPull struct {
	PullID, YardID ledger.ID
	Yard           string
	PulledAt       time.Time
	// Room is the hot room they stand in; the zero ID where that was not said.
	Room ledger.ID
	// Left are the supers that went into no run.
	Left []ledger.SuperCount
}

// Supers is how many are left, and usualG the honey that so many usually hold.
func (w *WaitingPull) Supers(b *ledger.Book) (n int, usualG int64) {
	for _, c := range w.Left {
		n += c.Supers
		if k := ledger.Named[ledger.SuperKind](b, c.SuperKindID); k != nil {
			usualG += int64(c.Supers) * k.UsualNetG
		}
	}
	return n, usualG
}

// OpenLot is a lot that is not released, nor gone.
type OpenLot struct {
	LotID  ledger.ID
	Lot    *ledger.Lot
	Status ledger.Status
	// LastFill is its latest fill; nil where it has none.
	LastFill *ledger.Fill
}

// A run that was never ended, and a lot that nobody packed, are not offered for
// ever: a month is longer than any of them is worked at (common practice).
const (
	worksFor  = 31 * 24 * time.Hour
	mostLots  = 20
	mostRuns  = 8
	mostPulls = 60
	// mostStocked containers are told of: what is older is found on its lot's page.
	mostStocked = 300
)

// ShedOf gathers what is open as the book has it.
func ShedOf(b *ledger.Book) Shed {
	var s Shed
	var stocked []ledger.ID
	runs := map[ledger.ID]*OpenRun{}
	ended := map[ledger.ID]bool{}
	lots := map[ledger.ID]*OpenLot{}
	since := b.Latest().Add(-worksFor)
	of := func(run ledger.ID, e *ledger.Entry) *OpenRun {
		r := runs[b.Root(run)]
		if r != nil {
			r.LastAt = e.OccurredAt
		}
		return r
	}
	working := b.HappenedOf(ledger.KindRun, ledger.KindRunSupers, ledger.KindLoad, ledger.KindMovement, ledger.KindRunEnd,
		ledger.KindPull, ledger.KindLot, ledger.KindFill)
	for root, e := range working {
		switch x := e.Body.(type) {
		case *ledger.Run:
			if e.OccurredAt.After(since) {
				runs[root] = &OpenRun{RunID: root, Run: x, StartedAt: e.OccurredAt, LastAt: e.OccurredAt}
			}
		case *ledger.RunSupers:
			if r := of(x.RunID, e); r != nil {
				r.SupersIn += x.Supers
			}
		case *ledger.Load:
			if r := of(x.RunID, e); r != nil {
				r.LastLoad = max(r.LastLoad, x.Load)
			}
		case *ledger.Movement:
			if r := of(x.From.ID, e); r != nil {
				r.HoneyG += x.MassG
			}
		case *ledger.RunEnd:
			ended[b.Root(x.RunID)] = true
		case *ledger.Pull:
			if p := waiting(b, root, e, x); p != nil {
				s.Pulls = append(s.Pulls, *p)
			}
		case *ledger.Lot:
			if d := b.State().LotStatus(root); d.Status == ledger.StatusOpen || d.Status == ledger.StatusHeld {
				lots[root] = &OpenLot{LotID: root, Lot: x, Status: d.Status}
				s.Lots = append(s.Lots, OpenLot{LotID: root})
			}
		case *ledger.Fill:
			if l := lots[b.Root(x.LotID)]; l != nil {
				l.LastFill = x
			}
			if h, ok := b.State().Holder(root); ok && h.Grams > 0 {
				stocked = append(stocked, root)
			}
		}
	}
	for root, r := range runs {
		if !ended[root] {
			s.Runs = append(s.Runs, *r)
		}
	}
	slices.SortFunc(s.Runs, func(a, c OpenRun) int { return c.StartedAt.Compare(a.StartedAt) })
	for i := range s.Lots {
		s.Lots[i] = *lots[s.Lots[i].LotID]
	}
	slices.Reverse(s.Lots)
	slices.Reverse(s.Pulls)
	s.Stock = latestStock(b, stocked)
	s.Runs, s.Pulls, s.Lots = atMost(s.Runs, mostRuns), atMost(s.Pulls, mostPulls), atMost(s.Lots, mostLots)
	return s
}

// latestStock puts the latest of some containers to their lots.
func latestStock(b *ledger.Book, fills []ledger.ID) (out []StockedLot) {
	at := map[ledger.ID]int{}
	slices.Reverse(fills)
	for _, id := range atMost(fills, mostStocked) {
		fill := ledger.Named[ledger.Fill](b, id)
		lot := b.Root(fill.LotID)
		i, there := at[lot]
		if !there {
			i = len(out)
			at[lot] = i
			out = append(out, StockedLot{LotID: lot, Code: b.Name(lot)})
		}
		out[i].Containers = append(out[i].Containers, StockedContainer{id, fill.Container})
	}
	return out
}

// waiting is a pull of the season that the book is in, if it has supers left and
// it was not settled that they are never extracted.
func waiting(b *ledger.Book, root ledger.ID, e *ledger.Entry, p *ledger.Pull) *WaitingPull {
	if e.OccurredAt.Before(b.Latest().AddDate(0, -6, 0)) || b.Accepted(root, ledger.NeverExtracted) {
		return nil
	}
	yard := b.Root(p.YardID)
	out := WaitingPull{PullID: root, YardID: yard, Yard: yardName(b, yard), PulledAt: e.OccurredAt, Room: b.Root(p.RoomID)}
	for _, c := range p.Supers {
		kind := b.Root(c.SuperKindID)
		if left := b.State().SupersLeft(root, kind); left > 0 {
			out.Left = append(out.Left, ledger.SuperCount{SuperKindID: kind, Supers: left})
		}
	}
	if len(out.Left) == 0 {
		return nil
	}
	return &out
}

func atMost[T any](list []T, most int) []T { return list[:min(len(list), most)] }

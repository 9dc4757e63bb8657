package demo

import (
	"cmp"
	"encoding/binary"
	"slices"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/ledger"
)

// writer collects what is written down and puts it into the order of
// recording.
type writer struct {
	options Options
	drafts  []draft
	// recorded is when each thing that others name was recorded.
	recorded map[ledger.ID]time.Time
	truth    Truth
	count    uint64
}

type draft struct {
	entry      *ledger.Entry
	recordedAt time.Time
}

func newWriter(o Options) *writer {
	return &writer{options: o, recorded: map[ledger.ID]time.Time{}, truth: Truth{
		HoneyG: map[ledger.ID]int64{}, MoisturePct: map[ledger.ID]float64{},
		LevelG: map[ledger.ID]int64{}, PullShares: map[ledger.ID]map[ledger.ID]float64{}, Tanks: map[ledger.ID][]TankTruth{},
	}}
}

// nextID is version 5 of the seed and a count: the same options give the same
// ids, and no two entries share one.
func (w *writer) nextID() ledger.ID {
	w.count++
	var name [16]byte
	binary.BigEndian.PutUint64(name[:8], w.options.Seed)
	binary.BigEndian.PutUint64(name[8:], w.count)
	return uuid.NewSHA1(idSpace, name[:])
}

// add writes an entry down some minutes after it happened.
func (w *writer) add(at time.Time, delay time.Duration, by string, body ledger.Body) *ledger.Entry {
	at = at.Truncate(time.Second)
	e := &ledger.Entry{ID: w.nextID(), Kind: body.Kind(), OccurredAt: at.UTC(), RecordedBy: by, Body: body}
	if w.options.Import {
		e.Via = ledger.ViaImport
	}
	w.record(e, at.Add(delay))
	return e
}

// record puts an entry among the others, after all that it names.
func (w *writer) record(e *ledger.Entry, at time.Time) {
	for _, id := range named(e) {
		if t, ok := w.recorded[id]; ok && !at.After(t) {
			at = t.Add(time.Second)
		}
	}
	if nameable(e.Kind) {
		w.recorded[e.ID] = at
	}
	w.drafts = append(w.drafts, draft{e, at})
}

// nameable reports whether other entries name those of this kind.
func nameable(k ledger.Kind) bool {
	switch k {
	case ledger.KindPull, ledger.KindRun, ledger.KindLot, ledger.KindFill, ledger.KindCheck, ledger.KindLotStatus, ledger.KindDispatch:
		return true
	}
	return k.SetUp()
}

// named lists the pulls, runs, lots, fills, checks and dispatches that an entry
// names, and what it replaces; the set-up comes before everything anyway.
func named(e *ledger.Entry) []ledger.ID {
	var out []ledger.ID
	if e.Replaces != (ledger.ID{}) {
		out = append(out, e.Replaces)
	}
	switch x := e.Body.(type) {
	case *ledger.RunSupers:
		out = append(out, x.RunID, x.PullID)
	case *ledger.Load:
		out = append(out, x.RunID)
	case *ledger.RunEnd:
		out = append(out, x.RunID)
	case *ledger.Movement:
		out = append(out, x.From.ID, x.To.ID)
	case *ledger.Fill:
		out = append(out, x.LotID)
	case *ledger.Reading:
		out = append(out, x.On.ID)
	case *ledger.PreparedBlend:
		for _, t := range x.Takes {
			out = append(out, t.From.ID)
		}
	case *ledger.AdoptedPlan:
		for _, step := range x.Steps {
			out = append(out, step.AboutID)
		}
	case *ledger.PreparedDispatch:
		out = append(out, x.Containers...)
	case *ledger.Dispatch:
		out = append(out, x.Containers...)
	case *ledger.Sample:
		out = append(out, x.LotID)
	case *ledger.Check:
		out = append(out, x.LotID)
	case *ledger.LotStatus:
		out = append(out, x.LotID, x.CheckID)
	case *ledger.Settlement:
		out = append(out, x.DispatchID)
	case *ledger.Acceptance:
		out = append(out, x.EntryID)
	}
	return out
}

func (w *writer) book() *Book {
	slices.SortStableFunc(w.drafts, func(a, b draft) int {
		// Set-up is recorded before anything names it.
		if c := cmp.Compare(order(a), order(b)); c != 0 {
			return c
		}
		return a.recordedAt.Compare(b.recordedAt)
	})
	b := &Book{Name: w.options.Name, Location: w.options.Location, Truth: w.truth,
		Entries: make([]*ledger.Entry, len(w.drafts)), Delays: make([]time.Duration, len(w.drafts))}
	for i, d := range w.drafts {
		b.Entries[i] = d.entry
		b.Delays[i] = d.recordedAt.Sub(d.entry.OccurredAt)
	}
	return b
}

func order(d draft) int {
	if d.entry.Kind.SetUp() {
		return 0
	}
	return 1
}

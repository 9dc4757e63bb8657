package ledger

import (
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/message"
)

// How long a shift may be, by the outfit's clock: its working day ends at four in the
// morning, since who extracts late is done by then, and nobody has begun (common practice).
const (
	shiftEndsAt   = 4 // o'clock
	shortestShift = 4 * time.Hour
	longestShift  = 16 * time.Hour
)

// ShiftEnds is until when who recorded something may put it right without a manager: the
// next end of a working day that is four hours on at least, and 16 hours on at the most.
// recorded is when the book learned of it, loc the outfit's time zone.
func ShiftEnds(recorded time.Time, loc *time.Location) time.Time {
	earliest, latest := recorded.Add(shortestShift), recorded.Add(longestShift)
	y, m, d := earliest.In(loc).Date()
	for days := range 2 {
		if end := time.Date(y, m, d+days, shiftEndsAt, 0, 0, 0, loc); !end.Before(earliest) && end.Before(latest) {
			return end
		}
	}
	return latest
}

// OwnSlip says why an entry that corrects or withdraws another one needs a manager; nil
// where who brings it puts the own slip right within the shift, before a lot was released or
// sent on it. now is the service's clock. Whether the entry is possible is for Check to say.
func (b *Book) OwnSlip(e *Entry, now time.Time) error {
	old := b.fact(e.Replaces)
	if old == nil || b.fact(e.ID) != nil {
		return nil // Check says that there is no such entry, or that this one came before
	}
	root, no := old.root, old.Number
	for f := root; f != nil; f = f.by {
		if f.RecordedBy != e.RecordedBy {
			return fault.New(fault.NotYours, "Entry %s is %s's. Who records something may put the own slips right. Ask %s, or a manager, to correct or withdraw it.", f.Number, f.RecordedBy, f.RecordedBy)
		}
	}
	switch {
	case !slips(root.Kind):
		return fault.New(fault.NotYours, "Entry %s is a %s, which a manager alone corrects or withdraws: ask one.", no, root.Kind.Noun())
	case root.takenBack || b.importOf(root) != nil:
		return fault.New(fault.NotYours, "Entry %s came in with a sheet. Ask a manager to correct or withdraw it.", no)
	case root.holds():
		return fault.New(fault.NotYours, "Entry %s says that somebody saw honey ferment, and holds what it is about. A manager lifts a hold: ask one to look at it.", no)
	}
	if end := ShiftEnds(root.RecordedAt, b.loc); now.After(end) {
		return fault.New(fault.NotYours, "Entry %s could be put right by who recorded it until %s, when that shift was over. Ask a manager to correct or withdraw it.", no, message.Minute(end.In(b.loc)))
	}
	return b.reliedOn(root)
}

// slips reports whether entries of a kind may be put right by who recorded them: what is
// typed in the shed, and no decision about a lot.
func slips(k Kind) bool {
	switch k {
	case KindHiveCount, KindPull, KindRun, KindRunSupers, KindLoad, KindRunEnd, KindMovement, KindStocktake, KindWash,
		KindLot, KindFill, KindReading, KindCalibration, KindTemperatureLog, KindPhoto:
		return true
	}
	return false
}

// holds reports whether an entry of a chain says that honey was seen fermenting.
func (f *fact) holds() bool {
	for ; f != nil; f = f.by {
		if r, is := f.Body.(*Reading); is && r.SeenFermenting() {
			return true
		}
	}
	return false
}

// reliedOn says which lot was released or sent since the book learned of an entry, with
// honey that the entry is about or that came after it.
func (b *Book) reliedOn(root *fact) error {
	r := b.reachOf(root)
	for lot := range r.lots() {
		for _, d := range b.decisions[lot] {
			if d.Body.(*LotStatus).Status == StatusReleased && d.Number > root.Number {
				return fault.New(fault.NotYours, "Lot %s was released since (entry %s), and rests on entry %s. Ask a manager to correct or withdraw it: the lot may have to be looked at again.", b.Name(lot), d.Number, root.Number)
			}
		}
	}
	sent := b.ofKind[kindIndex[KindDispatch]]
	for i := len(sent) - 1; i >= 0 && sent[i].Number > root.Number; i-- {
		if sent[i].by != nil || sent[i].root.withdrawn() {
			continue
		}
		for _, id := range sent[i].Body.(*Dispatch).Containers {
			if fill := body[Fill](b, id); fill != nil && (r.has(id) || r.hasLot(b.rootID(fill.LotID))) {
				return fault.New(fault.NotYours, "Container %s of lot %s was sent off since (entry %s), and rests on entry %s. Ask a manager to correct or withdraw it: the buyer may have to hear of it.", fill.Container, b.Name(fill.LotID), sent[i].Number, root.Number)
			}
		}
	}
	return nil
}

// reach is what an entry may have changed: tanks, runs, pulls, containers, lots, rooms and
// instruments, by root. It rather has more than less.
type reach struct {
	*Book
	to map[ID]bool
}

func (r reach) has(id ID) bool { return id != (ID{}) && r.to[r.rootID(id)] }

func (r reach) add(ids ...ID) {
	for _, id := range ids {
		if id == (ID{}) {
			continue
		}
		r.to[r.rootID(id)] = true
		if f := body[Fill](r.Book, id); f != nil {
			r.to[r.rootID(f.LotID)] = true
		}
		for _, s := range r.pulls[r.rootID(id)] { // also of honey that was out before its supers were booked
			r.to[r.rootID(s.Body.(*RunSupers).RunID)] = true
		}
	}
}

// hasLot reports whether a lot is reached, or the room where it is stored.
func (r reach) hasLot(lot ID) bool {
	l := body[Lot](r.Book, lot)
	return r.has(lot) || l != nil && r.has(l.StoreID)
}

func (r reach) lots() map[ID]bool {
	out := map[ID]bool{}
	for _, f := range r.roots[kindIndex[KindLot]] {
		if r.hasLot(f.ID) {
			out[f.ID] = true
		}
	}
	return out
}

// reachOf follows the honey from what an entry is about through all that happened after it.
func (b *Book) reachOf(root *fact) reach {
	r := reach{b, map[ID]bool{}}
	first := len(b.line)
	for f := root; f != nil; f = f.by {
		if f.Entry.Kind != KindWithdrawal {
			first = min(first, b.firstChanged(f))
			r.begin(f)
		}
	}
	for _, f := range b.line[first:] {
		r.through(f.root.ID, f.Body)
	}
	return r
}

// begin adds what an entry is about.
func (r reach) begin(f *fact) {
	switch x := f.Body.(type) {
	case *Pull, *Run, *Lot:
		r.add(f.root.ID)
	case *RunSupers:
		r.add(x.PullID, x.RunID)
	case *Load:
		r.add(x.RunID)
	case *RunEnd:
		r.add(x.RunID)
	case *Movement:
		r.add(x.From.ID, x.To.ID)
	case *Stocktake:
		r.add(x.TankID)
	case *Wash:
		r.add(x.TankID)
	case *Fill:
		r.add(f.root.ID, x.LotID, x.TankID)
	case *Reading:
		r.add(x.On.ID)
	case *TemperatureLog:
		r.add(x.On.ID)
	case *Calibration:
		r.add(x.InstrumentID)
	}
}

// through carries on what was reached before.
func (r reach) through(id ID, x Body) {
	switch x := x.(type) {
	case *RunSupers:
		if p := body[Pull](r.Book, x.PullID); r.has(x.PullID) || p != nil && r.has(p.RoomID) {
			r.add(x.RunID)
		}
	case *Movement:
		if from := body[Fill](r.Book, x.From.ID); r.has(x.From.ID) || from != nil && r.has(from.LotID) {
			r.add(x.To.ID)
		}
	case *Fill:
		if r.has(x.TankID) {
			r.add(id, x.LotID)
		}
	case *Reading:
		if r.has(x.InstrumentID) {
			r.add(x.On.ID)
		}
	}
}

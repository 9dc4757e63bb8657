package balance

import (
	"math"
	"slices"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Limits that readings are held against where no other is asked for: grades A
// and B of the US standard take 18.6 percent, Codex 20 (both in domain/standard).
var usualLimitsPct = []float64{18.6, 20}

// InstrumentReport is an instrument with its checks, and what those that it
// failed have touched.
type InstrumentReport struct {
	InstrumentID ledger.ID
	Instrument   *ledger.Instrument
	Checks       []CheckLine
	// Trust is how far it can be relied on at the last thing that happened.
	Trust ledger.Trust
	// Doubts are the checks that it failed, earliest first.
	Doubts []Doubt
	// Sentence sums up.
	Sentence message.Text
}

// CheckLine is one check.
type CheckLine struct {
	EntryID ledger.ID
	At      time.Time
	By      string
	*ledger.Calibration
	Good bool
	// LeftWrong is true where it was not put right: what was read after it is off
	// too.
	LeftWrong bool
}

// Doubt is what rests on an instrument between its last good check and one that
// it failed, and up to the next where it was not put right.
type Doubt struct {
	Check CheckLine
	// Since is the last good check; the zero time where there was none.
	Since time.Time
	// Off is by how much it read high, in its own scale; OffAfter by how much it
	// was left to.
	Off, OffAfter float64
	Readings      []DoubtfulReading
	Lots          []DoubtfulLot
	// Dispatches had left when the check was made, or left since.
	Dispatches []DoubtfulDispatch
	// WorstPct is the wettest that any of the honey may be; nil where no moisture
	// was read.
	WorstPct *float64
	Sentence message.Text
}

// DoubtfulReading is a reading as it was and as it would have been.
type DoubtfulReading struct {
	EntryID ledger.ID
	At      time.Time
	On      ledger.Place
	OnName  message.Text
	Point   ledger.Point
	// MoisturePct is as it was read. CorrectedPct is what it would have been had
	// the instrument been off all that time as it was found; nobody knows when it
	// went off, so the truth lies between the two, and WorstPct is the wetter.
	MoisturePct, CorrectedPct, WorstPct *float64
	// Crosses are the limits that MoisturePct and CorrectedPct lie on two sides of.
	Crosses []float64
}

// DoubtfulLot is a lot that rested on such readings.
type DoubtfulLot struct {
	LotID  ledger.ID
	Code   string
	Status ledger.Status
	// Readings are those that it rests on, with how.
	Readings []ledger.ID
	How      []message.Text
	// MoisturePct is the wettest of those readings as read, CorrectedPct as
	// corrected, WorstPct the wetter of the two.
	MoisturePct, CorrectedPct, WorstPct float64
	// OtherReadings were taken of it with other instruments; OtherWettestPct is
	// the wettest of them.
	OtherReadings   int
	OtherWettestPct *float64
	// Fails are limits that it passes as read and may not pass in truth, Passes
	// those that it fails as read and may pass in truth.
	Fails, Passes []float64
	Sentence      message.Text
}

// DoubtfulDispatch is a load with containers of such lots.
type DoubtfulDispatch struct {
	DispatchID ledger.ID
	At         time.Time
	Buyer      string
	Containers int
	Kg         float64
	Lots       []string
	WorstPct   float64
	Fails      []float64
}

// Instrument reports an instrument against limits of moisture in percent, or the
// usual ones where none are given. It fails as not found where none stands by
// that id.
func Instrument(b *ledger.Book, id ledger.ID, limitsPct ...float64) (*InstrumentReport, error) {
	e := b.InForce(id)
	if e == nil || e.Kind != ledger.KindInstrument {
		return nil, fault.New(fault.NotFound, "The book has no instrument %s.", id)
	}
	if len(limitsPct) == 0 {
		limitsPct = usualLimitsPct
	}
	t := &touched{book: b, id: b.Root(id), limits: limitsPct}
	out := &InstrumentReport{InstrumentID: t.id, Instrument: e.Body.(*ledger.Instrument)}
	var last time.Time
	for root, e := range b.Happened {
		last = e.OccurredAt
		if c, ok := e.Body.(*ledger.Calibration); ok && b.Root(c.InstrumentID) == t.id {
			out.Checks = append(out.Checks, checkLine(root, e, c))
		}
		t.line = append(t.line, happened{root, e})
	}
	out.Trust, _ = b.Trust(id, last)
	var good time.Time
	for i, c := range out.Checks {
		if i > 0 {
			good = out.Checks[i-1].At
		}
		if !c.Good || c.LeftWrong {
			out.Doubts = append(out.Doubts, t.doubt(c, good))
		}
	}
	out.Sentence = out.sentence()
	return out, nil
}

func checkLine(root ledger.ID, e *ledger.Entry, c *ledger.Calibration) CheckLine {
	return CheckLine{EntryID: root, At: e.OccurredAt, By: e.RecordedBy, Calibration: c, Good: c.Good(), LeftWrong: c.LeftWrong()}
}

type happened struct {
	root ledger.ID
	*ledger.Entry
}

// touched finds what rests on an instrument.
type touched struct {
	book   *ledger.Book
	id     ledger.ID
	limits []float64
	line   []happened
}

func (t *touched) doubt(c CheckLine, since time.Time) Doubt {
	d := Doubt{Check: c, Since: since, Off: c.AsFound - c.Expected, OffAfter: c.AsLeft - c.Expected}
	for _, e := range t.book.InDoubt(c.EntryID) {
		off := d.Off
		if e.OccurredAt.After(c.At) {
			off = d.OffAfter
		}
		d.Readings = append(d.Readings, t.reading(e, off))
	}
	for _, r := range d.Readings {
		if r.WorstPct != nil && (d.WorstPct == nil || *r.WorstPct > *d.WorstPct) {
			d.WorstPct = r.WorstPct
		}
	}
	d.Lots = t.lots(d.Readings)
	d.Dispatches = t.dispatches(d.Lots)
	d.Sentence = d.sentence(t.book.Location())
	return d
}

func (t *touched) reading(e *ledger.Entry, off float64) DoubtfulReading {
	x := e.Body.(*ledger.Reading)
	on := ledger.Place{Kind: x.On.Kind, ID: t.book.Root(x.On.ID)}
	r := DoubtfulReading{EntryID: t.book.Root(e.ID), At: e.OccurredAt, On: on, OnName: t.nameOf(on), Point: x.Point}
	if x.Moisture == nil {
		return r
	}
	read := x.Moisture.Pct
	corrected := read - x.Moisture.PointsOff(off)
	worst := max(read, corrected)
	r.MoisturePct, r.CorrectedPct, r.WorstPct = &read, &corrected, &worst
	for _, limit := range t.limits {
		if passes(read, limit) != passes(corrected, limit) {
			r.Crosses = append(r.Crosses, limit)
		}
	}
	return r
}

// nameOf is what a place is called: a pull by its yard and day.
func (t *touched) nameOf(p ledger.Place) message.Text {
	if x := ledger.Named[ledger.Pull](t.book, p.ID); x != nil {
		e, _ := t.book.Entry(p.ID)
		return message.F("%s, pulled on %s", t.book.Name(x.YardID), message.DayInYear(e.OccurredAt.In(t.book.Location())))
	}
	return message.Verbatim(t.book.Name(p.ID))
}

// passes reports whether a moisture is at or below a limit, to the tenth of a
// point to which limits are written.
func passes(pct, limit float64) bool { return pct <= limit+1e-9 }

// lots are those that rested on any of the readings.
func (t *touched) lots(readings []DoubtfulReading) []DoubtfulLot {
	inDoubt := map[ledger.ID]DoubtfulReading{}
	for _, r := range readings {
		if r.MoisturePct != nil {
			inDoubt[r.EntryID] = r
		}
	}
	found := &lotsFound{of: map[ledger.ID]*DoubtfulLot{}}
	for i, h := range t.line {
		switch x := h.Body.(type) {
		case *ledger.Reading:
			if r, ok := inDoubt[h.root]; ok {
				t.restOn(found, i, r)
			}
		case *ledger.Check:
			if x.Found == nil {
				continue
			}
			for _, id := range x.Found.Readings {
				if r, ok := inDoubt[t.book.Root(id)]; ok {
					found.add(t.book.Root(x.LotID), r, message.F("a check rested on it"))
				}
			}
		}
	}
	var out []DoubtfulLot
	for _, id := range found.order {
		l := *found.of[id]
		t.finishLot(&l)
		out = append(out, l)
	}
	return out
}

type lotsFound struct {
	of    map[ledger.ID]*DoubtfulLot
	order []ledger.ID
}

func (f *lotsFound) add(lot ledger.ID, r DoubtfulReading, how message.Text) {
	l := f.of[lot]
	if l == nil {
		l = &DoubtfulLot{LotID: lot, MoisturePct: math.Inf(-1), CorrectedPct: math.Inf(-1)}
		f.of[lot] = l
		f.order = append(f.order, lot)
	}
	if !slices.Contains(l.Readings, r.EntryID) {
		l.Readings = append(l.Readings, r.EntryID)
	}
	if !slices.ContainsFunc(l.How, func(t message.Text) bool { return t.Format == how.Format }) {
		l.How = append(l.How, how)
	}
	l.MoisturePct, l.CorrectedPct = max(l.MoisturePct, *r.MoisturePct), max(l.CorrectedPct, *r.CorrectedPct)
}

// restOn finds the lots that rest on a reading: the lot or container that it was
// taken of, or what was filled from its tank before anything else went in.
func (t *touched) restOn(found *lotsFound, i int, r DoubtfulReading) {
	switch r.On.Kind {
	case ledger.PlaceLot:
		found.add(r.On.ID, r, message.F("read on the lot"))
	case ledger.PlaceContainer:
		if f := ledger.Named[ledger.Fill](t.book, r.On.ID); f != nil {
			found.add(t.book.Root(f.LotID), r, message.F("read on a container"))
		}
	case ledger.PlaceTank:
		for _, h := range t.line[i+1:] {
			switch x := h.Body.(type) {
			case *ledger.Fill:
				if t.book.Root(x.TankID) == r.On.ID {
					found.add(t.book.Root(x.LotID), r, message.F("read on its tank"))
				}
				continue
			case *ledger.Movement:
				if t.book.Root(x.To.ID) == r.On.ID {
					return
				}
			case *ledger.Wash:
				if t.book.Root(x.TankID) == r.On.ID {
					return
				}
			}
		}
	}
}

// finishLot says what else is known of a lot, and what the doubt means for it.
func (t *touched) finishLot(l *DoubtfulLot) {
	l.Code, l.Status = t.book.Name(l.LotID), t.book.State().LotStatus(l.LotID).Status
	l.WorstPct = max(l.MoisturePct, l.CorrectedPct)
	for _, h := range t.line {
		x, ok := h.Body.(*ledger.Reading)
		if !ok || x.Moisture == nil || t.book.Root(x.InstrumentID) == t.id {
			continue
		}
		on := t.book.Root(x.On.ID)
		if f := ledger.Named[ledger.Fill](t.book, on); f != nil {
			on = t.book.Root(f.LotID)
		}
		if on == l.LotID {
			l.OtherReadings++
			if l.OtherWettestPct == nil || x.Moisture.Pct > *l.OtherWettestPct {
				l.OtherWettestPct = &x.Moisture.Pct
			}
		}
	}
	for _, limit := range t.limits {
		switch asRead, inTruth := passes(l.MoisturePct, limit), passes(l.CorrectedPct, limit); {
		case asRead && !inTruth:
			l.Fails = append(l.Fails, limit)
		case !asRead && inTruth:
			l.Passes = append(l.Passes, limit)
		}
	}
	l.Sentence = l.sentence()
}

func (t *touched) dispatches(lots []DoubtfulLot) []DoubtfulDispatch {
	var out []DoubtfulDispatch
	for _, h := range t.line {
		x, ok := h.Body.(*ledger.Dispatch)
		if !ok {
			continue
		}
		d := DoubtfulDispatch{DispatchID: h.root, At: h.OccurredAt, Buyer: t.book.Name(x.BuyerID), WorstPct: math.Inf(-1)}
		for _, c := range x.Containers {
			f := ledger.Named[ledger.Fill](t.book, c)
			if f == nil {
				continue
			}
			i := slices.IndexFunc(lots, func(l DoubtfulLot) bool { return l.LotID == t.book.Root(f.LotID) })
			if i < 0 {
				continue
			}
			d.Containers++
			d.Kg += kg(f.NetG())
			d.WorstPct = max(d.WorstPct, lots[i].WorstPct)
			if !slices.Contains(d.Lots, lots[i].Code) {
				d.Lots = append(d.Lots, lots[i].Code)
				d.Fails = append(d.Fails, lots[i].Fails...)
			}
		}
		if d.Containers > 0 {
			slices.Sort(d.Fails)
			d.Fails = slices.Compact(d.Fails)
			out = append(out, d)
		}
	}
	return out
}

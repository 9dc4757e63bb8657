package balance

import (
	"time"

	"pullbook/domain/ledger"
)

// house is what the book says about boxes, runs and tanks, read once.
type house struct {
	book             *ledger.Book
	finest, coarsest float64
	pulls            map[ledger.ID]*pull
	// runs are in order of occurrence.
	runs  []*run
	runOf map[ledger.ID]*run
	// tanks are in the order in which they were set up.
	tanks  []*tank
	tankOf map[ledger.ID]*tank
	// fills are the containers that stand.
	fills map[ledger.ID]*filled
	// moves are what went on at tanks, in order of occurrence.
	moves []move
	// last is when the last thing happened.
	last time.Time
}

type pull struct {
	id      ledger.ID
	at      time.Time
	yard    ledger.ID
	grossKg float64
	boxes   int
	tareKg  float64
	usualKg float64
	// used is how many boxes went into runs.
	used int
}

// put is boxes of one pull in one run.
type put struct {
	pull    *pull
	entries []ledger.ID
	boxes   int
	tareKg  float64
	usualKg float64
}

type run struct {
	id    ledger.ID
	at    time.Time
	name  string
	puts  []*put
	end   *ledger.RunEnd
	endID ledger.ID
	out   int
}

type tank struct {
	id ledger.ID
	*ledger.Tank
	// feeds is where its float pump leads; linked is true at both ends.
	feeds  *tank
	linked bool
	moves  []int
	// cuts are the stocktakes and washes of the period.
	cuts []int
}

type filled struct {
	id ledger.ID
	at time.Time
	*ledger.Fill
	// pouredAt is when it was emptied whole into a tank; the zero time where it was
	// not, or not from full.
	pouredAt time.Time
	// takenG was taken out of it in part.
	takenG int64
}

// leftKg is what is poured out of it when it is emptied.
func (f *filled) leftKg() float64 { return kg(f.NetG() - f.takenG) }

// move is an entry that changed a tank or container, or said what is in a tank.
type move struct {
	id   ledger.ID
	at   time.Time
	body ledger.Body
}

func gather(b *ledger.Book) *house {
	h := &house{book: b, pulls: map[ledger.ID]*pull{}, runOf: map[ledger.ID]*run{},
		tankOf: map[ledger.ID]*tank{}, fills: map[ledger.ID]*filled{}}
	h.finest, h.coarsest = balances(b)
	b.InForceOf(ledger.KindTank, func(root ledger.ID, e *ledger.Entry) bool {
		t := &tank{id: root, Tank: e.Body.(*ledger.Tank)}
		h.tanks = append(h.tanks, t)
		h.tankOf[root] = t
		return true
	})
	for _, t := range h.tanks {
		if to := h.tankAt(t.FeedsTankID); to != nil && to != t {
			t.feeds, t.linked, to.linked = to, true, true
		}
	}
	for root, e := range b.Happened {
		h.last = e.OccurredAt
		switch x := e.Body.(type) {
		case *ledger.Pull:
			h.addPull(root, e.OccurredAt, x)
		case *ledger.Run:
			r := &run{id: root, at: e.OccurredAt, name: x.Name}
			h.runs = append(h.runs, r)
			h.runOf[root] = r
		case *ledger.Fill:
			h.fills[root] = &filled{id: root, at: e.OccurredAt, Fill: x}
			h.moved(root, e, x.TankID)
		case *ledger.Movement:
			h.moved(root, e, x.From.ID, x.To.ID)
		case *ledger.Stocktake:
			h.moved(root, e, x.TankID)
		case *ledger.Wash:
			h.moved(root, e, x.TankID)
		}
	}
	for root, e := range b.Happened {
		h.attach(root, e)
	}
	return h
}

func (h *house) tankAt(id ledger.ID) *tank { return h.tankOf[h.book.Root(id)] }

func (h *house) moved(root ledger.ID, e *ledger.Entry, tanks ...ledger.ID) {
	h.moves = append(h.moves, move{root, e.OccurredAt, e.Body})
	for i, id := range tanks {
		if t := h.tankAt(id); t != nil && (i == 0 || t != h.tankAt(tanks[0])) {
			t.moves = append(t.moves, len(h.moves)-1)
		}
	}
}

func (h *house) addPull(root ledger.ID, at time.Time, x *ledger.Pull) {
	p := &pull{id: root, at: at, yard: h.book.Root(x.YardID), grossKg: kg(x.GrossG)}
	for _, c := range x.Supers {
		tare, usual := h.box(c)
		p.boxes += c.Supers
		p.tareKg += tare
		p.usualKg += usual
	}
	h.pulls[root] = p
}

// box is the tare and the usual honey of some boxes, in kilograms.
func (h *house) box(c ledger.SuperCount) (tareKg, usualKg float64) {
	k := ledger.Named[ledger.SuperKind](h.book, c.SuperKindID)
	if k == nil {
		return 0, 0
	}
	return float64(c.Supers) * kg(k.TareG), float64(c.Supers) * kg(k.UsualNetG)
}

// attach adds an entry to what it names.
func (h *house) attach(root ledger.ID, e *ledger.Entry) {
	switch x := e.Body.(type) {
	case *ledger.RunSupers:
		r, p := h.runOf[h.book.Root(x.RunID)], h.pulls[h.book.Root(x.PullID)]
		if r != nil && p != nil && x.Supers > 0 {
			r.put(p).add(root, h, x.SuperCount)
			p.used += x.Supers
		}
	case *ledger.RunEnd:
		if r := h.runOf[h.book.Root(x.RunID)]; r != nil {
			r.end, r.endID = x, root
		}
	case *ledger.Movement:
		if r := h.runOf[h.book.Root(x.From.ID)]; r != nil {
			r.out++
		}
		if f := h.fills[h.book.Root(x.From.ID)]; f != nil {
			f.takenG += x.MassG
			if f.pouredAt = (time.Time{}); x.MassG == 0 && f.takenG == 0 && h.tankAt(x.To.ID) != nil {
				f.pouredAt = e.OccurredAt
			}
		}
	}
}

// put is the boxes of a pull in the run.
func (r *run) put(p *pull) *put {
	for _, q := range r.puts {
		if q.pull == p {
			return q
		}
	}
	q := &put{pull: p}
	r.puts = append(r.puts, q)
	return q
}

func (q *put) add(id ledger.ID, h *house, c ledger.SuperCount) {
	tare, usual := h.box(c)
	q.entries = append(q.entries, id)
	q.boxes += c.Supers
	q.tareKg += tare
	q.usualKg += usual
}

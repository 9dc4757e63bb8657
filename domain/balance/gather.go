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
	// cutNames are the names of nodes, by the place in moves of the cut up to which they go.
	cutNames map[int]string
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
	// used is how many boxes went into runs, and puts are these, in order of the runs.
	used int
	puts []*put
}

// put is boxes of one pull in one run.
type put struct {
	pull    *pull
	run     *run
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
	// levels is what it held before each of moves and after the last; nil until it is asked for.
	levels []level
	// first and past are where those of moves begin and end that are of the period, and cuts
	// are the stocktakes and washes among them.
	first, past int
	cuts        []int
}

// lately are the moves at the tank in the period.
func (t *tank) lately() []int { return t.moves[t.first:t.past] }

// end is the name of the node after the last cut.
func (t *tank) end() string { return t.Name + " at the end" }

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
	// from and to are the tanks that honey left and came to, and out is the container that it
	// was taken out of; nil where it was none.
	from, to *tank
	out      *filled
}

func gather(b *ledger.Book) *house {
	h := &house{book: b, pulls: map[ledger.ID]*pull{}, runOf: map[ledger.ID]*run{},
		tankOf: map[ledger.ID]*tank{}, fills: map[ledger.ID]*filled{}, cutNames: map[int]string{}}
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
	var attached []attachment
	h.last = b.Latest()
	weighing := b.HappenedOf(ledger.KindPull, ledger.KindRun, ledger.KindFill, ledger.KindMovement, ledger.KindStocktake, ledger.KindWash,
		ledger.KindRunSupers, ledger.KindRunEnd)
	for root, e := range weighing {
		switch x := e.Body.(type) {
		case *ledger.Pull:
			h.addPull(root, e.OccurredAt, x)
		case *ledger.Run:
			r := &run{id: root, at: e.OccurredAt, name: x.Name}
			h.runs = append(h.runs, r)
			h.runOf[root] = r
		case *ledger.Fill:
			h.fills[root] = &filled{id: root, at: e.OccurredAt, Fill: x}
			h.moved(root, e, h.tankAt(x.TankID), nil)
		case *ledger.Movement:
			h.moved(root, e, h.tankAt(x.From.ID), h.tankAt(x.To.ID))
			attached = append(attached, attachment{root, e, len(h.moves) - 1})
		case *ledger.Stocktake:
			h.moved(root, e, h.tankAt(x.TankID), nil)
		case *ledger.Wash:
			h.moved(root, e, h.tankAt(x.TankID), nil)
		case *ledger.RunSupers, *ledger.RunEnd:
			attached = append(attached, attachment{root, e, -1})
		}
	}
	for _, a := range attached {
		h.attach(a)
	}
	for _, r := range h.runs {
		for _, q := range r.puts {
			q.pull.puts = append(q.pull.puts, q)
		}
	}
	return h
}

// attachment is an entry that says something of a run, or of a container, that may come after
// it; a movement with its place in moves.
type attachment struct {
	root ledger.ID
	*ledger.Entry
	move int
}

func (h *house) tankAt(id ledger.ID) *tank { return h.tankOf[h.book.Root(id)] }

func (h *house) moved(root ledger.ID, e *ledger.Entry, from, to *tank) {
	h.moves = append(h.moves, move{id: root, at: e.OccurredAt, body: e.Body, from: from, to: to})
	if from != nil {
		from.moves = append(from.moves, len(h.moves)-1)
	}
	if to != nil && to != from {
		to.moves = append(to.moves, len(h.moves)-1)
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
func (h *house) attach(e attachment) {
	switch x := e.Body.(type) {
	case *ledger.RunSupers:
		r, p := h.runOf[h.book.Root(x.RunID)], h.pulls[h.book.Root(x.PullID)]
		if r != nil && p != nil && x.Supers > 0 {
			r.put(p).add(e.root, h, x.SuperCount)
			p.used += x.Supers
		}
	case *ledger.RunEnd:
		if r := h.runOf[h.book.Root(x.RunID)]; r != nil {
			r.end, r.endID = x, e.root
		}
	case *ledger.Movement:
		m := &h.moves[e.move]
		if m.from != nil {
			return // out of a tank
		}
		from := h.book.Root(x.From.ID)
		if r := h.runOf[from]; r != nil {
			r.out++
		}
		if f := h.fills[from]; f != nil {
			m.out = f
			f.takenG += x.MassG
			if f.pouredAt = (time.Time{}); x.MassG == 0 && f.takenG == 0 && m.to != nil {
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
	q := &put{pull: p, run: r}
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

package balance

import (
	"crypto/sha256"
	"encoding/binary"
	"math"
	"sync"

	"pullbook/domain/ledger"
	"pullbook/domain/reconcile"
)

// Solved keeps what reconciliations came to, each by all the weights that it was had from. So
// an entry has only those solved again that hang together with what it changed. It holds no
// figure of its own: with everything forgotten, a report comes out the same. The zero Solved is
// ready. Any number of goroutines may use it at once.
type Solved struct {
	mu sync.Mutex
	// young are what was asked for lately, and old what was asked for before that.
	young, old generation
}

// weights is a digest of all that a reconciliation looks at.
type weights [sha256.Size]byte

// solution is what some weights came to: a reconciliation, or a chi-square alone.
type solution struct {
	result reconcile.Result
	chi    float64
	err    error
	// flows is how many it keeps.
	flows int
}

type generation struct {
	of    map[weights]solution
	flows int
}

// mostSolved bounds a generation, in flows of some 400 bytes. A season of 50,000 entries has
// some 10,000, and as many again day by day.
const mostSolved = 40_000

// Forget throws all of it away.
func (s *Solved) Forget() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.young, s.old = generation{}, generation{}
}

// solve returns what is kept of some weights, or else what work makes of them.
func (s *Solved) solve(key weights, work func() solution) solution {
	s.mu.Lock()
	had, known := s.young.of[key]
	if !known {
		if had, known = s.old.of[key]; known {
			s.keep(key, had)
		}
	}
	s.mu.Unlock()
	if known {
		return had
	}
	made := work()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.keep(key, made)
	return made
}

func (s *Solved) keep(key weights, made solution) {
	if s.young.of == nil || s.young.flows+made.flows > mostSolved {
		s.young, s.old = generation{of: map[weights]solution{}}, s.young
	}
	s.young.of[key] = made
	s.young.flows += made.flows
}

// reconcile is reconcile.Reconcile of flows.
func (s *Solved) reconcile(flows []*flow) (reconcile.Result, error) {
	made := s.solve(digest(flows), func() (made solution) {
		made.flows = len(flows)
		made.result, made.err = reconcile.Reconcile(network(flows), Significance)
		return made
	})
	return made.result, made.err
}

// chiSquare is reconcile.ChiSquare of flows once a change was made of their network, which
// words tell.
func (s *Solved) chiSquare(flows []*flow, change func(*reconcile.Network), words ...string) (float64, error) {
	made := s.solve(digest(flows, words...), func() solution {
		n := network(flows)
		change(&n)
		chi, err := reconcile.ChiSquare(n)
		return solution{chi: chi, err: err, flows: 1}
	})
	return made.chi, made.err
}

// digest is of all that network makes of flows, and of words beside.
func digest(flows []*flow, words ...string) weights {
	const each = 512 // about what one takes
	room := make([]byte, 0, each*len(flows))
	text := func(s string) { room = append(binary.AppendUvarint(room, uint64(len(s))), s...) }
	number := func(v float64) { room = binary.LittleEndian.AppendUint64(room, math.Float64bits(v)) }
	for _, f := range flows {
		text(f.name)
		text(f.from)
		text(f.to)
		text(string(f.basis))
		number(f.kg)
		number(f.mostKg)
		number(f.own)
		room = binary.AppendUvarint(room, uint64(len(f.common)))
		for _, p := range f.common {
			text(p.source)
			number(p.kg)
		}
	}
	for _, w := range words {
		text(w)
	}
	return sha256.Sum256(room)
}

// Book is what a book says about boxes, runs and tanks, read once for several reports. It holds
// for as long as nothing is appended, and is for one goroutine.
type Book struct {
	house  *house
	solved *Solved
}

// Read reads a book. What its reports have to solve is taken from solved where it is kept
// there, and kept; nil keeps nothing.
func Read(b *ledger.Book, solved *Solved) *Book {
	if solved == nil {
		solved = new(Solved)
	}
	return &Book{gather(b), solved}
}

package trace_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/season"
	"pullbook/domain/trace"
)

func mustOpen(t interface{ Fatalf(string, ...any) }, entries []*ledger.Entry) *ledger.Book {
	b, err := ledger.Open(time.UTC, entries)
	if err != nil {
		t.Fatalf("the book does not open: %v", err)
	}
	return b
}

// dense works out the make-up of all that was ever in a holder, by pull, from
// one linear system over all movements at once.
type dense struct {
	// rows are the pours, columns the origins.
	shares  *mat.Dense
	origins []ledger.Origin
	// last is the row of each holder's latest pour.
	last map[ledger.ID]int
}

// solve sets up a balance for each pour and solves them together:
//
//	(held + poured) x = held x_before + poured x_of_where_it_came_from
func solve(b *ledger.Book) (*dense, error) {
	type pour struct {
		into, from    ledger.Place
		held          int64
		grams, short  int64
		before, where int
	}
	var pours []pour
	d := &dense{last: map[ledger.ID]int{}}
	held := map[ledger.ID]int64{}
	for f := range b.Flows {
		where := -1
		if at, any := d.last[f.From.ID]; any {
			where = at
		}
		if f.From.Kind == ledger.PlaceTank || f.From.Kind == ledger.PlaceContainer {
			held[f.From.ID] -= f.Grams - f.UnexplainedG
		}
		if f.To.Kind != ledger.PlaceTank && f.To.Kind != ledger.PlaceContainer {
			continue
		}
		before := -1
		if at, any := d.last[f.To.ID]; any {
			before = at
		}
		d.last[f.To.ID] = len(pours)
		pours = append(pours, pour{f.To, f.From, held[f.To.ID], f.Grams, f.UnexplainedG, before, where})
		held[f.To.ID] += f.Grams
	}
	column := map[ledger.Origin]int{ledger.Unexplained: 0}
	d.origins = []ledger.Origin{ledger.Unexplained}
	for _, p := range pours {
		if p.from.Kind == ledger.PlaceRun {
			for _, part := range b.Harvest(p.from.ID).Mix.Parts {
				if _, has := column[part.Origin]; !has {
					column[part.Origin] = len(d.origins)
					d.origins = append(d.origins, part.Origin)
				}
			}
		}
	}
	if len(pours) == 0 {
		return d, nil
	}
	a, rhs := mat.NewDense(len(pours), len(pours), nil), mat.NewDense(len(pours), len(d.origins), nil)
	for i, p := range pours {
		sum := float64(p.held + p.grams)
		add := func(m *mat.Dense, j int, v float64) { m.Set(i, j, m.At(i, j)+v/sum) }
		add(a, i, sum)
		if p.held > 0 {
			add(a, p.before, -float64(p.held))
		}
		add(rhs, 0, float64(p.short))
		switch {
		case p.from.Kind == ledger.PlaceRun:
			for _, part := range b.Harvest(p.from.ID).Mix.Parts {
				add(rhs, column[part.Origin], part.Share*float64(p.grams))
			}
		case p.grams > p.short:
			add(a, p.where, -float64(p.grams-p.short))
		}
	}
	d.shares = new(mat.Dense)
	err := d.shares.Solve(a, rhs)
	if ill := mat.Condition(0); errors.As(err, &ill) {
		err = nil
	}
	return d, err
}

// TestADenseSolverAgreesWithTheReplay holds the make-up of every holder of a
// thousand random books against the solution of one linear system for each.
func TestADenseSolverAgreesWithTheReplay(t *testing.T) {
	t.Parallel()
	const books = 1000
	worst, holders := 0.0, 0
	for seed := range books {
		b := mustOpen(t, busy(uint64(seed)).Entries)
		d, err := solve(b)
		if err != nil {
			t.Fatalf("book %d: %v", seed, err)
		}
		for h := range b.State().Holders {
			row, any := d.last[h.Place.ID]
			if h.Grams == 0 || !any {
				continue
			}
			holders++
			shares := map[ledger.Origin]float64{}
			for _, p := range h.Mix.Parts {
				shares[p.Origin] = p.Share
			}
			for j, o := range d.origins {
				off := math.Abs(d.shares.At(row, j) - shares[o])
				worst = max(worst, off)
				if off > 1e-9 {
					t.Fatalf("book %d: of %v in %v the solver has %.12f, the replay %.12f", seed, o, h.Place, d.shares.At(row, j), shares[o])
				}
			}
		}
	}
	t.Logf("%d books, %d holders, largest difference of a share %.2g", books, holders, worst)
	if holders < books {
		t.Errorf("the books have only %d holders with honey between them", holders)
	}
}

// subjects are all that can be followed forward in a book.
func subjects(t interface{ Fatalf(string, ...any) }, b *ledger.Book) []trace.Subject {
	out := []trace.Subject{{Day: "2026-07-01"}, {Day: "2026-07-02"}, {Day: "2026-07-01", Pulled: true}}
	for _, kind := range []ledger.Kind{ledger.KindYard, ledger.KindPull, ledger.KindRun, ledger.KindTank, ledger.KindLot, ledger.KindFill} {
		b.InForceOf(kind, func(root ledger.ID, _ *ledger.Entry) bool {
			s, err := trace.SubjectOf(b, root)
			if err != nil {
				t.Fatalf("%v", err)
			}
			out = append(out, s)
			return true
		})
	}
	return out
}

// TestEveryGramOfASubjectIsAccountedFor: what is on hand, in tanks, sent, thrown
// out and lost is the whole, and each share lies between its least and its most.
func TestEveryGramOfASubjectIsAccountedFor(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := mustOpen(t, anyBook(t).Entries)
		tracer := trace.OpenExact(b)
		for _, s := range subjects(t, b) {
			f := tracer.Forward(s)
			for _, c := range f.Containers {
				within(t, f.Name, c.Of, c.NetG)
			}
			for _, c := range f.Tanks {
				within(t, f.Name, c.Of, c.HeldG)
			}
			sum := f.OnHand.Grams + f.InTanks.Grams + f.Dispatched.Grams + f.WastedG + f.LostG
			if d := sum - f.TotalG; d < -5 || d > 5 {
				t.Fatalf("%s: %d g are accounted for of %d", f.Name, sum, f.TotalG)
			}
		}
	})
}

func within(t *rapid.T, what string, of trace.Amount, netG int64) {
	if of.LeastG < 0 || of.LeastG > of.Grams || of.Grams > of.MostG || of.MostG > netG {
		t.Fatalf("%s: %+v in %d g", what, of, netG)
	}
}

// TestForwardIsTheLedgersMakeUp holds the share of each yard and pull in each
// holder against the ledger's own.
func TestForwardIsTheLedgersMakeUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := mustOpen(t, anyBook(t).Entries)
		tracer := trace.OpenExact(b)
		for _, s := range subjects(t, b) {
			if s.Place.Kind != ledger.PlaceYard && s.Place.Kind != ledger.PlacePull {
				continue
			}
			f := tracer.Forward(s)
			got := map[ledger.ID]int64{}
			for _, x := range f.Tanks {
				got[x.ID] = x.Of.Grams
			}
			for _, x := range f.Containers {
				if x.State == season.Held {
					got[x.ID] = x.Of.Grams
				}
			}
			for h := range b.State().Holders {
				if h.Place.Kind == ledger.PlaceRun || h.Grams == 0 {
					continue
				}
				if want := float64(h.Grams) * shareOf(b, h.Mix, s); math.Abs(float64(got[h.Place.ID])-want) > 0.51 {
					t.Fatalf("%s in %v: %d g, by the ledger %.3f", f.Name, h.Place, got[h.Place.ID], want)
				}
			}
		}
	})
}

func shareOf(b *ledger.Book, mix *ledger.Mix, s trace.Subject) float64 {
	var share float64
	for _, p := range mix.Parts {
		pull := ledger.Named[ledger.Pull](b, p.Origin)
		if p.Origin == s.Place.ID || pull != nil && b.Root(pull.YardID) == s.Place.ID {
			share += p.Share
		}
	}
	return share
}

// TestBackAndForwardAgree traces each container both ways.
func TestBackAndForwardAgree(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := mustOpen(t, anyBook(t).Entries)
		tracer := trace.OpenExact(b)
		forward := map[ledger.ID]map[ledger.ID]trace.Container{}
		for _, s := range subjects(t, b) {
			of := map[ledger.ID]trace.Container{}
			for _, c := range tracer.Forward(s).Containers {
				of[c.ID] = c
			}
			forward[s.Place.ID] = of
		}
		b.InForceOf(ledger.KindFill, func(fill ledger.ID, _ *ledger.Entry) bool {
			back, err := tracer.Back(fill)
			if err != nil {
				t.Fatalf("%v", err)
			}
			h, _ := b.State().Holder(fill)
			for _, o := range slices.Concat(back.Yards, back.Pulls, back.Runs) {
				of, standing := forward[o.Place.ID]
				if !standing {
					continue // withdrawn
				}
				c, has := of[fill]
				if !has {
					t.Fatalf("back from %s comes to %s, forward does not", b.Name(fill), o.Name)
				}
				// Backwards it is known which honey of no entry can have come here, so
				// that the most may be less; half a gram may be rounded either way.
				apart := c.Of.Grams - o.Of.Grams
				if h.Grams > 0 && (apart < -1 || apart > 1 || c.Of.LeastG != o.Of.LeastG || c.Of.MostG != o.Of.MostG) {
					t.Fatalf("%s in %s: back %+v, forward %+v", o.Name, b.Name(fill), o.Of, c.Of)
				}
			}
			return true
		})
	})
}

// TestTheWayBackBringsAllTheHoney: the steps into a container bring all of it,
// and its yards, runs without pulls and unexplained honey are the whole.
func TestTheWayBackBringsAllTheHoney(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		b := mustOpen(t, anyBook(t).Entries)
		tracer := trace.OpenExact(b)
		b.InForceOf(ledger.KindFill, func(fill ledger.ID, _ *ledger.Entry) bool {
			back, err := tracer.Back(fill)
			if err != nil {
				t.Fatalf("%v", err)
			}
			var into, out, runs, ends int64
			for _, s := range back.Steps {
				if s.To.ID == fill {
					into += s.Grams
				}
				if s.From.ID == fill { // also into itself, which the book refuses and the replay knows
					out += s.Grams - s.UnexplainedG
				}
				if s.From.Kind == ledger.PlaceRun {
					runs += s.Grams
				}
			}
			near := func(what string, got, want int64) {
				if d := got - want; d < -int64(len(back.Steps))-2 || d > int64(len(back.Steps))+2 {
					t.Fatalf("%s: %d g, not %d: %+v", what, got, want, back)
				}
			}
			near("what came in less what went round", into-out, back.NetG)
			for _, o := range back.Runs {
				ends += o.Of.Grams
			}
			near("what the runs gave", ends, runs)
			near("runs and unexplained", ends+back.Unexplained.Grams, back.NetG)
			for _, p := range back.Passed {
				if p.Grams < 0 || p.Grams > back.NetG {
					t.Fatalf("%d g of %d were in %s", p.Grams, back.NetG, p.Name)
				}
			}
			return true
		})
	})
}

// badMixing walks a book with tanks that mix as badly as chance will have it.
type badMixing struct {
	b   *ledger.Book
	rng *rand.Rand
	// in holds the grams in each holder that are the subject's and that are not.
	in map[ledger.ID][2]float64
	// touched says which tanks the subject's honey may have been in since they
	// were washed.
	touched map[ledger.ID]bool
	yard    ledger.ID
}

// draw takes grams out of a holder with as much of the subject's as chance has
// it, at either end as often as between.
func (m *badMixing) draw(id ledger.ID, grams float64) [2]float64 {
	has := m.in[id]
	low, high := max(0, grams-has[1]), min(grams, has[0])
	ours := low + (high-low)*min(1, max(0, 2*m.rng.Float64()-0.5))
	m.in[id] = [2]float64{max(0, has[0]-ours), max(0, has[1]-(grams-ours))}
	return [2]float64{ours, grams - ours}
}

func (m *badMixing) flow(f ledger.Flow) [2]float64 {
	carried := [2]float64{}
	if f.From.Kind != "" {
		carried = m.draw(f.From.ID, float64(f.Grams-f.UnexplainedG))
	}
	whence := f.From.ID
	if f.From.Kind == "" {
		whence = f.To.ID
	}
	ours := 0.0
	if m.touched[whence] {
		ours = m.rng.Float64() * float64(f.UnexplainedG)
	}
	carried[0] += ours
	carried[1] += float64(f.UnexplainedG) - ours
	if f.Entry.Kind == ledger.KindWash {
		m.in[f.From.ID], m.touched[f.From.ID] = [2]float64{}, false
	}
	if f.To.Kind == ledger.PlaceTank || f.To.Kind == ledger.PlaceContainer {
		has := m.in[f.To.ID]
		m.in[f.To.ID] = [2]float64{has[0] + carried[0], has[1] + carried[1]}
		m.touched[f.To.ID] = m.touched[f.To.ID] || m.touched[whence]
	}
	return carried
}

// fillRuns puts into each run all that ever comes out of it.
func (m *badMixing) fillRuns() {
	for h := range m.b.State().Holders {
		if h.Place.Kind == ledger.PlaceRun {
			share := shareOf(m.b, m.b.Harvest(h.Place.ID).Mix, trace.Subject{Place: ledger.Place{ID: m.yard}})
			m.in[h.Place.ID] = [2]float64{share * float64(h.OutG), (1 - share) * float64(h.OutG)}
			m.touched[h.Place.ID] = share > 0
		}
	}
}

// TestHoweverBadlyTanksMixTheBoundsHold draws honey from tanks in which the
// honey of a yard lies as chance has it.
func TestHoweverBadlyTanksMixTheBoundsHold(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := anyBook(t)
		b := mustOpen(t, o.Entries)
		tracer := trace.OpenExact(b)
		bounds := tracer.Forward(trace.Subject{Place: ledger.Place{Kind: ledger.PlaceYard, ID: o.Mill}})
		m := &badMixing{b: b, rng: rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "mixing"), 1)),
			in: map[ledger.ID][2]float64{}, touched: map[ledger.ID]bool{}, yard: o.Mill}
		m.fillRuns()
		sent := map[ledger.ID][2]float64{}
		for f := range b.Flows {
			carried := m.flow(f)
			if f.From.Kind == ledger.PlaceContainer && f.Grams > f.UnexplainedG {
				sent[f.From.ID] = carried
			}
		}
		const rounding = 1e-3
		holds := func(what string, of trace.Amount, truly float64) {
			if truly < float64(of.LeastG)-rounding || truly > float64(of.MostG)+rounding {
				t.Fatalf("%s: truly %.3f g, bounds %+v", what, truly, of)
			}
		}
		told := map[ledger.ID]bool{}
		sums := map[season.ContainerState]float64{}
		for _, c := range bounds.Containers {
			told[c.ID] = true
			truly := m.in[c.ID][0]
			if c.State != season.Held {
				truly = sent[c.ID][0]
			}
			holds(c.Number, c.Of, truly)
			sums[c.State] += truly
			if c.State != season.Held || c.NetG == 0 {
				continue
			}
			back, err := tracer.Back(c.ID)
			if err != nil {
				t.Fatalf("%v", err)
			}
			for _, y := range back.Yards {
				if y.Place.ID == o.Mill {
					holds("back from "+c.Number, y.Of, truly)
				}
			}
		}
		inTanks := 0.0
		for _, x := range bounds.Tanks {
			told[x.ID] = true
			holds(x.Name, x.Of, m.in[x.ID][0])
			inTanks += m.in[x.ID][0]
		}
		holds("on hand", bounds.OnHand, sums[season.Held])
		holds("dispatched", bounds.Dispatched, sums[season.Dispatched])
		holds("in tanks", bounds.InTanks, inTanks)
		for id, has := range m.in {
			if e, _ := b.Entry(id); e.Kind != ledger.KindRun && has[0] > rounding && !told[id] {
				t.Fatalf("%v has %.3f g that the trace does not tell of", id, has[0])
			}
		}
	})
}

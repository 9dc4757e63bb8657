package balance

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/reconcile"
	"pullbook/domain/units"
)

// Significance is the chance of a false alarm of each kind of test.
const Significance = reconcile.DefaultSignificance

// Report is the weights of a period, made to agree. Masses are kilograms,
// uncertainties one standard deviation.
type Report struct {
	Period
	// Statement says whether the weights agree and which is most likely wrong,
	// Unseen what can be known of the flows that nobody weighed.
	Statement, Unseen message.Text
	// Global takes the tests of all parts together.
	Global reconcile.GlobalTest
	// Parts hang together; no weight of one can check one of another.
	Parts []Part
	// Flows are all measured and inferred flows.
	Flows []Flow
	// Nodes are the balances as measured, where every flow was weighed.
	Nodes []reconcile.NodeResult
	// Claims are the weights that claim to be the harvest.
	Claims []Claim
	Yards  []YardLine
}

// Part is some of the flows that hang together.
type Part struct {
	Global  reconcile.GlobalTest
	Flows   int
	Suspect *Suspect
}

// Flow is what is said of one flow.
type Flow struct {
	reconcile.StreamResult
	Kind  Kind
	Basis Basis
	// Entries are those that it was had from, by their roots.
	Entries              []ledger.ID
	Yard, Run, Tank, Lot ledger.ID
	// Said is its name in words.
	Said, Sentence message.Text
}

// Suspect is the measurement most likely wrong.
type Suspect struct {
	Flow
	// Cause is what the size of the error looks like; empty where like nothing.
	Cause message.Text
	// Others are flows that the balances cannot tell apart from it, the likelier
	// first: the less their weight would have to change for its size.
	Others []Flow
	// RightTank is set where the weights agree best if the honey went into
	// another tank than was written down, and Gain is by how much less their
	// chi-square then is.
	RightTank ledger.ID
	Gain      float64
	Sentence  message.Text
}

// Reconcile makes the weights of a period agree. It fails as invalid where so many hang
// together that it would take minutes.
func Reconcile(b *ledger.Book, p Period) (*Report, error) { return Read(b, nil).Reconcile(p) }

// Reconcile is the Reconcile of a book that was read.
func (b *Book) Reconcile(p Period) (*Report, error) {
	out, w, err := b.solve(p)
	if err != nil {
		return nil, err
	}
	out.Flows = make([]Flow, 0, len(w.flows))
	for _, f := range w.flows {
		if f.kind != Yard {
			out.Flows = append(out.Flows, tell(f, f.solved))
		}
	}
	out.Nodes = slices.DeleteFunc(out.Nodes, func(n reconcile.NodeResult) bool { return !n.Testable })
	out.Claims = claims(w)
	out.Yards = yardLines(w)
	out.Statement, out.Unseen = out.statement(), out.unseen()
	return out, nil
}

// inShort is Reconcile for whoever reads the tests, the claims and the statement alone.
func (b *Book) inShort(p Period) (*Report, error) {
	out, w, err := b.solve(p)
	if err != nil {
		return nil, err
	}
	out.Flows = make([]Flow, 0, len(w.flows))
	for _, f := range w.flows {
		if f.kind != Yard {
			out.Flows = append(out.Flows, Flow{StreamResult: f.solved, Said: f.said})
		}
	}
	out.Claims = claims(w)
	out.Statement = out.statement()
	return out, nil
}

// solve writes the flows of a period and makes them agree, part by part.
func (b *Book) solve(p Period) (*Report, *writer, error) {
	w := &writer{house: b.house, Period: p, names: map[string]bool{}}
	w.cutTanks()
	w.writeRuns()
	w.writeTanks()
	out := &Report{Period: p, Global: reconcile.GlobalTest{PValue: 1, Passed: true}}
	var all []*solvedPart
	for _, flows := range parts(w.flows) {
		if err := p.bounded(flows); err != nil {
			return nil, nil, err
		}
		r, err := b.solved.reconcile(flows)
		if err != nil {
			return nil, nil, err
		}
		for i, f := range flows {
			f.solved = r.Streams[i]
		}
		out.Nodes = append(out.Nodes, r.Nodes...)
		all = append(all, &solvedPart{flows, r, suspect(flows, r)})
		out.Global.Statistic += r.Global.Statistic
		out.Global.DegreesOfFreedom += r.Global.DegreesOfFreedom
		out.Global.AtBounds += r.Global.AtBounds
		out.Global.Bounds += r.Global.Bounds
	}
	reroute(all, b.solved)
	for _, p := range all {
		out.Parts = append(out.Parts, Part{Global: p.result.Global, Flows: len(p.flows), Suspect: p.suspect})
	}
	out.test()
	return out, w, nil
}

// test makes one test of those of the parts, whose weights err apart.
func (r *Report) test() {
	g := &r.Global
	if g.DegreesOfFreedom == 0 {
		return
	}
	chi := distuv.ChiSquared{K: float64(g.DegreesOfFreedom)}
	g.Critical, g.PValue = chi.Quantile(1-Significance), chi.Survival(g.Statistic)
	g.Passed = g.Statistic <= g.Critical
}

func tell(f *flow, s reconcile.StreamResult) Flow {
	return Flow{StreamResult: s, Kind: f.kind, Basis: f.basis, Entries: f.entries,
		Yard: f.yard, Run: f.run, Tank: f.tank, Lot: f.lot, Said: f.said, Sentence: flowSentence(f, s)}
}

// suspect is the weight of a part most likely wrong, if any.
func suspect(flows []*flow, r reconcile.Result) *Suspect {
	if len(r.MostLikelyWrong) == 0 {
		return nil
	}
	var list []candidate
	for i, f := range flows {
		if slices.Contains(r.MostLikelyWrong, f.name) {
			list = append(list, candidate{f, r.Streams[i], causeOf(f, r.Streams[i])})
		}
	}
	slices.SortStableFunc(list, candidate.likelier)
	first := list[0]
	out := &Suspect{Flow: tell(first.flow, first.result), Cause: first.cause}
	for _, c := range list[1:] {
		out.Others = append(out.Others, tell(c.flow, c.result))
	}
	out.Sentence = out.sentence()
	return out
}

type candidate struct {
	*flow
	result reconcile.StreamResult
	cause  message.Text
}

// likelier puts first what the size of the error explains, then what would have
// to change least for its size.
func (c candidate) likelier(o candidate) int {
	if c.cause.IsEmpty() != o.cause.IsEmpty() {
		if o.cause.IsEmpty() {
			return -1
		}
		return 1
	}
	change := func(c candidate) float64 { return math.Abs(c.result.GrossErrorKg) / max(math.Abs(c.kg), 1) }
	switch a, b := change(c), change(o); {
	case a < b*(1-1e-9):
		return -1
	case b < a*(1-1e-9):
		return 1
	}
	return 0
}

// Within this many of its own standard deviations the size of an error is what
// it looks like, so long as it is known to a fifth.
const (
	looksLike   = 2.0
	knownEnough = 0.2
)

// causeOf is what the size of an error looks like.
func causeOf(f *flow, s reconcile.StreamResult) message.Text {
	off := s.GrossErrorKg
	sd := math.Abs(off / s.Standardised)
	if f.basis != Weighed || sd > knownEnough*math.Abs(off) {
		return message.Text{}
	}
	like := func(kg float64) bool { return math.Abs(off-kg) <= looksLike*sd }
	switch {
	case f.kind == Containers && like(f.tareKg):
		return message.F("it is off by a container's tare, as when a gross weight is written down as net")
	case like(f.kg):
		return message.F("it is off by all of it, as when something is written down twice or in the wrong place")
	case like(f.kg * (1 - units.KilogramsPerPound)):
		return message.F("the figure fits if pounds were written down as kilograms")
	case like(f.kg * (1 - 1/units.KilogramsPerPound)):
		return message.F("the figure fits if kilograms were written down as pounds")
	}
	return message.Text{}
}

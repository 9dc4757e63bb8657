package season

import (
	"bytes"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// ShareLine is what one pull has in one run's honey, and what that was worked out from.
type ShareLine struct {
	RunID     ledger.ID
	Run       string
	StartedAt time.Time
	// PullID is of the pull whose supers went in; the zero ID for honey of no known pull.
	PullID   ledger.ID
	PulledAt time.Time
	YardID   ledger.ID
	Yard     string
	// Pull is as it stands, or as it last stood; nil where there is none.
	Pull *ledger.Pull
	// Supers of the pull went into the run, which usually hold UsualG.
	Supers int
	UsualG int64
	// PullNetG is what was weighed of the whole pull less its empty boxes, and PullUsualG what
	// all of its boxes usually hold. PullNetG is 0 where nobody weighed it.
	PullNetG, PullUsualG int64
	// HoneyG is its part of the run's honey, and Share that of 1.
	HoneyG int64
	Share  float64
	How    ledger.Allocation
}

// Shares lists how the honey of a season's runs was shared among pulls, by run in order of
// occurrence. The honey of a run's lines sums to the run's. It fails where seasonID names no
// season that stands.
func Shares(b *ledger.Book, seasonID ledger.ID) ([]ShareLine, error) {
	s, err := inForce[ledger.Season](b, seasonID, "season")
	if err != nil {
		return nil, err
	}
	g := gather(b)
	usual := map[[2]ledger.ID]int64{}
	for _, e := range b.HappenedOf(ledger.KindRunSupers) {
		in := e.Body.(*ledger.RunSupers)
		usual[[2]ledger.ID{b.Root(in.RunID), b.Root(in.PullID)}] += g.boxes([]ledger.SuperCount{in.SuperCount}, usualNetG)
	}
	var out []ShareLine
	for _, r := range g.runsInOrder {
		if !s.Holds(r.at, b.Location()) {
			continue
		}
		for _, l := range g.sharesOf(r) {
			l.UsualG = usual[[2]ledger.ID{r.id, l.PullID}]
			out = append(out, l)
		}
	}
	return out, nil
}

// sharesOf lists the pulls that have a part in a run's honey, then those of which supers went in
// that count for nothing.
func (g *gathered) sharesOf(r *runFacts) (out []ShareLine) {
	line := func(origin ledger.Origin, honeyG int64, share float64) {
		l := ShareLine{RunID: r.id, Run: r.run.Name, StartedAt: r.at, HoneyG: honeyG, Share: share, How: r.harvest.How}
		if p := g.pullOf(origin); p != nil {
			l.PullID, l.PulledAt, l.YardID, l.Yard, l.Pull = p.id, p.at, p.yard, yardName(g.book, p.yard), p.pull
			l.Supers, l.PullUsualG = r.fromPulls[p.id], g.boxes(p.pull.Supers, usualNetG)
			if p.pull.GrossG > 0 {
				l.PullNetG = p.pull.GrossG - g.boxes(p.pull.Supers, tareG)
			}
		}
		out = append(out, l)
	}
	has := map[ledger.ID]bool{}
	for i, part := range r.harvest.Mix.Parts {
		has[part.Origin] = true
		line(part.Origin, r.perPull[i], part.Share)
	}
	from := len(out)
	for id := range r.fromPulls {
		if !has[id] && g.pullOf(id) != nil {
			line(id, 0, 0)
		}
	}
	slices.SortFunc(out[from:], func(a, b ShareLine) int { return bytes.Compare(a.PullID[:], b.PullID[:]) })
	return out
}

func tareG(k *ledger.SuperKind) int64     { return k.TareG }
func usualNetG(k *ledger.SuperKind) int64 { return k.UsualNetG }

// boxes sums what each of some boxes is.
func (g *gathered) boxes(of []ledger.SuperCount, each func(*ledger.SuperKind) int64) (sum int64) {
	for _, c := range of {
		if k := ledger.Named[ledger.SuperKind](g.book, c.SuperKindID); k != nil {
			sum += int64(c.Supers) * each(k)
		}
	}
	return sum
}

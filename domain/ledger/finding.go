package ledger

import (
	"bytes"
	"cmp"
	"math"
	"slices"
)

// Findings is everything that does not add up: what is odd about an entry by
// itself (Flags), and what only shows beside the rest of the book: runs that
// give unlike the others, containers unlike their kind, supers that were never
// extracted, old stock that was never sold, loads with more frames than their run's supers, tanks warm without a log. What came last in time stands in for the
// present. What chance explains is left out, and the flags of one
// event are one finding.
//
// They are in order of the occurrence of the entries that they are about. There may be as
// many as entries, so that most are the state's own flags: nobody may change them, and they
// are valid until the next Append.
func (s *State) Findings() []*Flag {
	if s.done == 0 {
		return s.findings(math.MinInt64)
	}
	return s.findings(s.book.line[s.done-1].at)
}

// findings is Findings with another instant for the present.
func (s *State) findings(now int64) []*Flag {
	v := survey{book: s.book, state: s, now: now, from: math.MinInt64, to: math.MaxInt64, found: s.flagged(), runs: map[*fact]*runYield{}}
	v.unreadable()
	if s.done == 0 {
		return v.found
	}
	v.doubtful()
	v.explainRuns()
	v.events()
	v.yields()
	v.nets()
	v.spun()
	v.unextracted()
	v.unlogged()
	v.unsoldStock()
	return s.book.inOrder(v.found)
}

// inOrder puts findings in order of the occurrence of the entries that they are about. Those
// that are alike stay as they came.
func (b *Book) inOrder(found []*Flag) []*Flag {
	type placedFlag struct {
		*Flag
		about *fact
		came  int
	}
	placed := make([]placedFlag, len(found))
	for i, f := range found {
		placed[i] = placedFlag{f, b.fact(f.Entry).last, i}
	}
	slices.SortFunc(placed, func(a, c placedFlag) int {
		if a.about != c.about {
			if n := order(a.about, c.about); n != 0 {
				return n
			}
		}
		return cmp.Or(cmp.Compare(a.Code, c.Code), bytes.Compare(a.On.ID[:], c.On.ID[:]), a.came-c.came)
	})
	for i := range placed {
		found[i] = placed[i].Flag
	}
	return found
}

// FindingsOn is those of Findings that are about one entry.
func (s *State) FindingsOn(id ID) []*Flag {
	f := s.book.at(id)
	if f == nil {
		return nil
	}
	return slices.DeleteFunc(s.Findings(), func(flag *Flag) bool { return flag.Entry != f.ID })
}

// survey looks over the whole book for what does not add up.
//
// A book may have as many findings as entries. So what may lie behind one is
// looked up in what was gathered once, never looked for all over the book.
type survey struct {
	book  *Book
	state *State
	now   int64
	// from and to are between when tanks are looked at.
	from, to int64
	found    []*Flag
	// byKind is what happened, pulls what pulled gathered, and runs what yieldOf did.
	byKind [][]*fact
	pulls  *pulled
	runs   map[*fact]*runYield
}

// surveyed are the kinds that are looked at all over the book.
var surveyed = func() []bool {
	out := make([]bool, len(kindIndex))
	for _, k := range []Kind{KindPull, KindRun, KindRunSupers, KindLoad, KindRunEnd, KindFill} {
		out[kindIndex[k]] = true
	}
	return out
}()

// happened gives the facts of a surveyed kind in the state's part of the line. The line is
// walked once for all of them.
func (v *survey) happened(k Kind) []*fact {
	if v.byKind == nil {
		v.byKind = make([][]*fact, len(kindIndex))
		for _, f := range v.book.line[:v.state.done] {
			if surveyed[f.kind] {
				v.byKind[f.kind] = append(v.byKind[f.kind], f)
			}
		}
	}
	return v.byKind[kindIndex[k]]
}

func (v *survey) add(f Flag) {
	f = f.trimmed()
	f.Accepted = v.book.settled(f)
	v.found = append(v.found, &f)
}

// spread is the middle of a sample and its standard deviation, both had so that
// a few values that are far off do not matter: the median, and 1.4826 times the
// median of the distances from it (Hampel 1974, J. Am. Stat. Assoc. 69, 383).
type spread struct{ middle, sd float64 }

func spreadOf(sample []float64) spread {
	m := median(sample)
	away := make([]float64, len(sample))
	for i, x := range sample {
		away[i] = math.Abs(x - m)
	}
	return spread{m, 1.4826 * median(away)}
}

// median sorts a copy. An empty sample has none: 0.
func median(sample []float64) float64 {
	if len(sample) == 0 {
		return 0
	}
	s := slices.Clone(sample)
	slices.Sort(s)
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

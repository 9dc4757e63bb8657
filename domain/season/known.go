package season

import "pullbook/domain/ledger"

// Where no entry says which pulls went into a run, its honey may be of any yard whose
// supers are not all accounted for. Such a yard has at least what known runs gave, and
// nobody knows how much more: nothing would be wrong to say, and so would a rank.

// allKnown reports whether entries say of all of the season's honey which pulls gave it.
func (y *yields) allKnown() bool { return y.noPullG == 0 }

// isKnown reports whether a pull can have given nothing beside what known runs say: all
// its supers went into runs that say so.
func (p *pullYield) isKnown() bool {
	if p.withdrawn {
		return true // it has no supers of its own
	}
	n := 0
	for _, c := range p.pull.Supers {
		n += c.Supers
	}
	return n <= p.used.total()
}

// yardsKnown are the yards that can have given nothing beside what known runs say: those
// that were pulled in the season, and of whose pulls each is known.
func (y *yields) yardsKnown() map[ledger.ID]bool {
	out := map[ledger.ID]bool{}
	for _, p := range y.pulls {
		if known, seen := out[p.yard]; !p.otherSeason {
			out[p.yard] = p.isKnown() && (known || !seen)
		}
	}
	return out
}

// KnownG is a yield's honey, or nil where it is not known by yard.
func (y Yield) KnownG() *int64 {
	if y.NotKnown {
		return nil
	}
	return &y.HoneyG
}

// AtLeastG is what known runs gave of honey that is not known by yard: nil where it is
// known, or where no known run gave any.
func (y Yield) AtLeastG() *int64 {
	if !y.NotKnown || y.HoneyG == 0 {
		return nil
	}
	return &y.HoneyG
}

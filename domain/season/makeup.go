// Package season reads a season off the book: what each yard gave, what became
// of it, what lots and tanks are made of, and what is odd.
//
// Every report is a pure function of a *ledger.Book. Honey is whole grams, and
// the parts of a sum add up to it exactly. A holder's honey is taken as
// perfectly mixed, so a share of a tank or lot is a share of that mixture.
package season

import (
	"time"

	"pullbook/domain/ledger"
)

// Source is honey of one yard in a tank, run or lot; or of a run that names no
// pull; or honey that no entry brings.
type Source struct {
	// From is a yard, a run, or the zero place for unexplained honey.
	From ledger.Place
	Name string
	// Grams is this source's part; the parts of a make-up sum to the whole.
	Grams int64
	// Share is its part of the whole, 0 to 1.
	Share float64
	// Pulls are the yard's pulls that gave it, earliest first.
	Pulls []SourcePull
}

// SourcePull is one pull's part of a Source.
type SourcePull struct {
	PullID   ledger.ID
	PulledAt time.Time
	Grams    int64
	Share    float64
}

// unexplainedName is how honey that no entry brings is called.
const unexplainedName = "unexplained"

// makeUp splits grams of a mix by yard and pull, most first. Grams are
// apportioned to pulls by largest remainder and then summed to yards.
func makeUp(b *ledger.Book, mix *ledger.Mix, grams int64) []Source {
	if mix == nil {
		return nil
	}
	var out []Source
	at := map[ledger.Place]int{}
	for i, g := range apportion(mix, grams) {
		part := mix.Parts[i]
		from, name := origin(b, part.Origin)
		k, seen := at[from]
		if !seen {
			k = len(out)
			at[from] = k
			out = append(out, Source{From: from, Name: name})
		}
		out[k].Grams += g
		out[k].Share += part.Share
		if from.Kind == ledger.PlaceYard {
			out[k].Pulls = append(out[k].Pulls, SourcePull{part.Origin, pulledAt(b, part.Origin), g, part.Share})
		}
	}
	sortSources(out)
	return out
}

func apportion(mix *ledger.Mix, grams int64) []int64 {
	shares := make([]float64, len(mix.Parts))
	for i, p := range mix.Parts {
		shares[i] = p.Share
	}
	return ledger.Apportion(grams, shares)
}

// origin says which yard honey came from, or what stands in for a yard.
func origin(b *ledger.Book, o ledger.Origin) (ledger.Place, string) {
	if o == ledger.Unexplained {
		return ledger.Place{}, unexplainedName
	}
	if p := ledger.Named[ledger.Pull](b, o); p != nil {
		yard := b.Root(p.YardID)
		return ledger.Place{Kind: ledger.PlaceYard, ID: yard}, yardName(b, yard)
	}
	if r := ledger.Named[ledger.Run](b, o); r != nil {
		return ledger.Place{Kind: ledger.PlaceRun, ID: o}, "run " + r.Name + ", no supers booked"
	}
	return ledger.Place{Kind: ledger.PlacePull, ID: o}, "a pull that is not in the book"
}

func yardName(b *ledger.Book, id ledger.ID) string {
	if y := ledger.Named[ledger.Yard](b, id); y != nil {
		return y.Name
	}
	return "a yard that is not in the book"
}

// pulledAt is when a pull was made, also where it was withdrawn since.
func pulledAt(b *ledger.Book, pull ledger.ID) time.Time {
	if e := b.InForce(pull); e != nil {
		return e.OccurredAt
	}
	if e, _ := b.Entry(pull); e != nil {
		return e.OccurredAt
	}
	return time.Time{}
}

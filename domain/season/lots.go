package season

import (
	"cmp"
	"iter"
	"slices"
	"time"

	"pullbook/domain/ledger"
)

// Lots reports the lots that were opened in a season, in order of their first
// fill, those without any last, and without what is expected of their honey, which Lot says.
// It fails where seasonID names no season that stands.
func Lots(b *ledger.Book, seasonID ledger.ID) ([]*LotReport, error) {
	s, err := inForce[ledger.Season](b, seasonID, "season")
	if err != nil {
		return nil, err
	}
	out := slices.Collect(lots(b, func(opened time.Time) bool { return s.Holds(opened, b.Location()) }))
	slices.SortStableFunc(out, func(a, c *LotReport) int {
		if a.FirstFill.IsZero() != c.FirstFill.IsZero() {
			return cmp.Compare(len(c.Containers), len(a.Containers))
		}
		return a.FirstFill.Compare(c.FirstFill)
	})
	return out, nil
}

// Stock is Lots without what they are made of; they come in order of their opening.
func Stock(b *ledger.Book, seasonID ledger.ID) ([]*LotReport, error) {
	s, err := inForce[ledger.Season](b, seasonID, "season")
	if err != nil {
		return nil, err
	}
	return slices.Collect(stock(b, func(opened time.Time) bool { return s.Holds(opened, b.Location()) })), nil
}

// EveryStock is Stock for the lots of all times, one by one.
func EveryStock(b *ledger.Book) iter.Seq[*LotReport] {
	return stock(b, func(time.Time) bool { return true })
}

func stock(b *ledger.Book, take func(opened time.Time) bool) iter.Seq[*LotReport] {
	return lotsBy(b, take, func(root ledger.ID, lot *ledger.Lot) *LotReport {
		return lotStock(b, root, lot, b.State().LotMass(root))
	})
}

// EveryLot reports the lots of all times one by one, in order of their opening.
func EveryLot(b *ledger.Book) iter.Seq[*LotReport] {
	return lots(b, func(time.Time) bool { return true })
}

// lots reports the lots that were opened when take says.
func lots(b *ledger.Book, take func(opened time.Time) bool) iter.Seq[*LotReport] {
	return lotsBy(b, take, func(root ledger.ID, lot *ledger.Lot) *LotReport { return lotReport(b, root, lot) })
}

func lotsBy(b *ledger.Book, take func(opened time.Time) bool, report func(ledger.ID, *ledger.Lot) *LotReport) iter.Seq[*LotReport] {
	return func(yield func(*LotReport) bool) {
		for root, e := range b.HappenedOf(ledger.KindLot) {
			if take(e.OccurredAt) && !yield(report(root, e.Body.(*ledger.Lot))) {
				return
			}
		}
	}
}

// MakeUp splits grams of a mix by yard and pull, most first.
func MakeUp(b *ledger.Book, mix *ledger.Mix, grams int64) []Source { return makeUp(b, mix, grams) }

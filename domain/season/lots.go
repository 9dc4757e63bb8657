package season

import (
	"cmp"
	"slices"

	"pullbook/domain/ledger"
)

// Lots reports the lots that were opened in a season, in order of their first
// fill, those without any last. It fails where seasonID names no season that
// stands.
func Lots(b *ledger.Book, seasonID ledger.ID) ([]*LotReport, error) {
	s, err := standing[ledger.Season](b, seasonID, "season")
	if err != nil {
		return nil, err
	}
	var out []*LotReport
	for root, e := range b.Happened {
		if e.Kind != ledger.KindLot || !s.Holds(e.OccurredAt, b.Location()) {
			continue
		}
		l, err := Lot(b, root)
		if err != nil {
			return nil, err
		}
		out = append(out, l)
	}
	slices.SortStableFunc(out, func(a, c *LotReport) int {
		if a.FirstFill.IsZero() != c.FirstFill.IsZero() {
			return cmp.Compare(len(c.Containers), len(a.Containers))
		}
		return a.FirstFill.Compare(c.FirstFill)
	})
	return out, nil
}

// MakeUp splits grams of a mix by yard and pull, most first.
func MakeUp(b *ledger.Book, mix *ledger.Mix, grams int64) []Source { return makeUp(b, mix, grams) }

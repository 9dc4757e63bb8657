package plan

import (
	"slices"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// Hand is the honey on hand in containers, whatever is known of it.
type Hand struct {
	// Stock has those figures of the parameters asked for that are known.
	Stock []Stock
	// LeftOut is what may go to nobody, such as a lot that is held.
	LeftOut []LeftOut
	// Fails is, by rule set as asked for and by lot, what the lot fails by itself that no mix
	// makes good.
	Fails []map[string]message.Text
}

// Containers takes from the book what is here in containers on a day, with what is known of some
// parameters, and holds each lot against some rule sets.
func Containers(b *ledger.Book, parameters []string, sets []ledger.Resolved, on standard.Date, at time.Time) (*Hand, error) {
	h := &hand{book: b, climate: quality.ClimateOf(b), on: on, at: at, asked: parameters, partly: true, promised: promised(b)}
	out := &Hand{Fails: make([]map[string]message.Text, len(sets))}
	var each []int // sets, each once
	for i := range sets {
		if had := slices.IndexFunc(sets[:i], func(other ledger.Resolved) bool {
			return other.RuleSet == sets[i].RuleSet || other.Own() && other.Entry == sets[i].Entry
		}); had >= 0 {
			out.Fails[i] = out.Fails[had]
			continue
		}
		each, out.Fails[i] = append(each, i), map[string]message.Text{}
	}
	var err error
	b.InForceOf(ledger.KindLot, func(root ledger.ID, e *ledger.Entry) bool {
		var l *handLot
		if l, err = h.lot(root, e.Body.(*ledger.Lot)); l == nil {
			return err == nil
		}
		h.containers(*l)
		for _, i := range each {
			h.each = sets[i : i+1]
			var why message.Text
			if why, err = h.failsBySelf(l.evidence); !why.IsEmpty() {
				out.Fails[i][l.Code] = why
			}
			if err != nil {
				return false
			}
		}
		h.each = nil
		return true
	})
	out.Stock, out.LeftOut = h.stock, h.out
	return out, err
}

package week

import (
	"cmp"
	"slices"

	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/standard"
)

// Sort is what kind of work an item is.
type Sort string

const (
	Load   Sort = "load"   // a dispatch that is prepared
	Pour   Sort = "pour"   // a blend that is prepared
	Do     Sort = "do"     // a step of a plan that somebody goes by
	Send   Sort = "send"   // a lot that keeps no longer
	Fulfil Sort = "fulfil" // a contract that is promised
	Pull   Sort = "pull"   // a yard to pull next
	Order  Sort = "order"  // drums to order
	Clear  Sort = "clear"  // what holds up the work first
	Look   Sort = "look"   // a finding
	Check  Sort = "check"  // an instrument
	Move   Sort = "move"   // a yard to move
)

// Item is one thing to do.
type Item struct {
	Sort Sort
	// Of is what it is about: a dispatch or blend that is prepared, a plan that is gone by, a lot, a contract, a yard, an
	// instrument, or the entry of a finding, whose Code is set then.
	Of   ledger.ID
	Code ledger.Code
	// Do says what to do, Why for what reason, Waits what waiting costs.
	Do, Why, Waits message.Text
	// By is the day by which it has to be done; empty where none is known.
	By standard.Date
	// Kg is the honey at stake; 0 where none is.
	Kg float64
}

// rank puts what no day decides in order: what moves the season before what looks back.
var rank = []Sort{Load, Pour, Do, Send, Fulfil, Pull, Clear, Order, Look, Check, Move}

// inOrder sorts items: by the day on which they are due, those without one last; of one day by the honey at
// stake, and then by what sort they are.
func inOrder(items []Item) {
	slices.SortStableFunc(items, func(x, y Item) int {
		return cmp.Or(cmp.Compare(cmp.Or(x.By, "9999-12-31"), cmp.Or(y.By, "9999-12-31")), cmp.Compare(slices.Index(rank, x.Sort), slices.Index(rank, y.Sort)), cmp.Compare(y.Kg, x.Kg))
	})
}

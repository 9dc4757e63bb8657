package ledger

import "cmp"

// Flow is honey going from one place to another, as the replay carries it out.
type Flow struct {
	// Entry is the movement, fill, dispatch, stocktake or wash that stands for
	// it, and Root the ID by which that is known.
	Entry *Entry
	Root  ID
	// From is a run, tank or container; the zero Place where a stocktake found
	// more than the book had.
	From Place
	// To is a tank, container, buyer or waste; the zero Place where a stocktake
	// or wash found honey gone.
	To    Place
	Grams int64
	// UnexplainedG is the part of Grams that From had not got, or that a
	// stocktake found.
	UnexplainedG int64
}

// Flows gives every flow of honey in order of occurrence, and each wash, that
// of an empty tank too.
func (b *Book) Flows(yield func(Flow) bool) {
	w := b.FlowsAsKnown()
	for w.some(b, len(b.line), yield) {
	}
}

// FlowsAsKnown begins to give the flows as the book knows them now. The book may go on
// meanwhile.
func (b *Book) FlowsAsKnown() *FlowWalk {
	w := &FlowWalk{number: b.Len(), held: map[ID]int64{}, unknown: map[ID]bool{}}
	if w.number > 0 {
		w.first = b.facts[0]
	}
	for _, f := range b.line {
		if kindsMovingHoney[f.kind] {
			w.line = append(w.line, uint32(f.Number))
		}
	}
	return w
}

// FlowWalk follows the grams along the book, and nothing else of the honey, by the rules of
// the replay. It holds four bytes for each entry that moves honey, and what is in the tanks
// and containers that are not empty.
type FlowWalk struct {
	// number is that of the book's last entry when the walk began.
	number int64
	// line holds the numbers of the entries that move honey, in order of occurrence.
	line []uint32
	// done counts those that were followed.
	done int
	held map[ID]int64
	// unknown are what they named and the book had not got.
	unknown map[ID]bool
	// first tells a book that had to be opened anew.
	first *fact
}

// GoOn takes in what the book learned since the walk began, and reports whether it could: all
// of that has to come after what the walk follows, and may change none of it. A walk that could
// not go on is as before.
func (w *FlowWalk) GoOn(b *Book) bool {
	if w.first == nil || b.Len() < w.number || b.facts[0] != w.first {
		return false
	}
	line := w.line
	for _, f := range b.facts[w.number:] {
		if f.Replaces != (ID{}) || w.unknown[f.ID] || !changesNoFlow(f.Kind) {
			return false
		}
		if !movesHoney(f.Body) {
			continue
		}
		if n := len(line); n > 0 && !b.facts[line[n-1]-1].precedes(f) {
			return false
		}
		line = append(line, uint32(f.Number))
	}
	w.line, w.number = line, b.Len()
	return true
}

// changesNoFlow reports whether an entry of a kind leaves all flows before it as they were.
func changesNoFlow(k Kind) bool {
	switch k {
	case KindMovement, KindFill, KindDispatch, KindStocktake, KindWash, KindLot,
		KindReading, KindCalibration, KindTemperatureLog, KindSample, KindCheck, KindLotStatus, KindAcceptance:
		return true
	}
	return false
}

// Some gives the flows of the next entries, not more than so many, and reports whether
// there may be more. b is the book from which the walk began, or that book gone on.
func (w *FlowWalk) Some(b *Book, most int) (flows []Flow, more bool) {
	more = w.some(b, most, func(f Flow) bool {
		flows = append(flows, f)
		return true
	})
	return flows, more
}

func (w *FlowWalk) some(b *Book, most int, yield func(Flow) bool) (more bool) {
	for ; most > 0 && w.done < len(w.line); most-- {
		f := b.facts[w.line[w.done]-1]
		w.done++
		for _, flow := range w.follow(b, f) {
			if !yield(flow) {
				return false
			}
		}
	}
	return w.done < len(w.line)
}

// kindsMovingHoney says which kinds do, by their rank.
var kindsMovingHoney = func() []bool {
	out := make([]bool, len(kindIndex))
	for i, k := range kinds {
		out[i] = movesHoney(k.body())
	}
	return out
}()

func movesHoney(body Body) bool {
	switch body.(type) {
	case *Movement, *Fill, *Dispatch, *Stocktake, *Wash:
		return true
	}
	return false
}

// follow carries out what an entry moves.
func (w *FlowWalk) follow(b *Book, f *fact) []Flow {
	switch body := f.Body.(type) {
	case *Movement:
		from := w.place(b, body.From.ID)
		return w.carry(f, from, w.whereTo(b, body.To), cmp.Or(body.MassG, w.held[from.ID]))
	case *Fill:
		drum := Place{PlaceContainer, f.root.ID}
		if tank := w.place(b, body.TankID); tank.Kind == PlaceTank {
			return w.carry(f, tank, drum, body.NetG())
		}
		w.put(drum, body.NetG())
		return []Flow{{Entry: f.Entry, Root: f.root.ID, To: drum, Grams: body.NetG(), UnexplainedG: body.NetG()}}
	case *Dispatch:
		var out []Flow
		for _, id := range body.Containers {
			if drum := w.place(b, id); drum.Kind == PlaceContainer {
				out = append(out, w.carry(f, drum, Place{PlaceBuyer, b.rootID(body.BuyerID)}, w.held[drum.ID])...)
			}
		}
		return out
	case *Stocktake:
		return w.set(f, w.place(b, body.TankID), body.MassG)
	case *Wash:
		return w.set(f, w.place(b, body.TankID), 0)
	}
	return nil
}

// carry moves grams from a run, tank or container. What a tank or container has not got
// comes from nowhere.
func (w *FlowWalk) carry(f *fact, from, to Place, grams int64) []Flow {
	if from.Kind == "" || grams == 0 {
		return nil
	}
	flow := Flow{Entry: f.Entry, Root: f.root.ID, From: from, To: to, Grams: grams}
	if from.Kind != PlaceRun {
		had := w.held[from.ID]
		flow.UnexplainedG = max(0, grams-had)
		w.put(from, flow.UnexplainedG-grams)
	}
	w.put(to, grams)
	return []Flow{flow}
}

// set sets a tank to a level, as a stocktake or a wash does.
func (w *FlowWalk) set(f *fact, tank Place, grams int64) []Flow {
	if tank.Kind != PlaceTank {
		return nil
	}
	flow := Flow{Entry: f.Entry, Root: f.root.ID, From: tank, Grams: w.held[tank.ID] - grams}
	w.put(tank, -flow.Grams)
	if flow.Grams < 0 {
		flow.From, flow.To = Place{}, flow.From
		flow.Grams = -flow.Grams
		flow.UnexplainedG = flow.Grams
	}
	if flow.Grams == 0 && f.Kind != KindWash {
		return nil
	}
	return []Flow{flow}
}

// put adds grams to what a tank or container holds.
func (w *FlowWalk) put(to Place, grams int64) {
	if to.Kind != PlaceTank && to.Kind != PlaceContainer {
		return
	}
	if left := w.held[to.ID] + grams; left != 0 {
		w.held[to.ID] = left
	} else {
		delete(w.held, to.ID)
	}
}

// whereTo is where a movement's honey ends up: what the book has not got as a
// tank or container, nor is waste, is nowhere.
func (w *FlowWalk) whereTo(b *Book, to Place) Place {
	if place := w.place(b, to.ID); place.Kind == PlaceTank || place.Kind == PlaceContainer {
		return place
	}
	if to.Kind == PlaceWaste {
		return Place{Kind: PlaceWaste}
	}
	return Place{}
}

// place is the run, tank or container that id named when the walk began; the zero Place
// where it named none.
func (w *FlowWalk) place(b *Book, id ID) Place {
	f := b.fact(id)
	if f == nil || f.Number > w.number {
		if id != (ID{}) && w.unknown != nil {
			w.unknown[id] = true
		}
		return Place{}
	}
	switch kind := f.root.kindAsKnown(w.number); kind {
	case KindRun, KindTank, KindFill:
		return Place{placeOf(kind), f.root.ID}
	}
	return Place{}
}

// kindAsKnown is the kind of a root when the book's last entry was the one numbered n: that
// of an unreadable one may have come later.
func (f *fact) kindAsKnown(n int64) Kind {
	kind := f.Entry.Kind
	for by := f.by; f.unreadable() && kind == KindUnreadable && by != nil && by.Number <= n; by = by.by {
		if by.Entry.Kind != KindWithdrawal {
			kind = by.Entry.Kind
		}
	}
	return kind
}

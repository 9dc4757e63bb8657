package ledger

// Flow is honey going from one place to another, as the replay carried it out.
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
// of an empty tank too. It replays the book, so that a flow is what the replay
// made of an entry and not what the entry alone says.
func (b *Book) Flows(yield func(Flow) bool) {
	s := newState(b)
	for i, f := range b.line {
		var moved []Flow
		switch body := f.Body.(type) {
		case *Movement:
			moved = s.watch(i, f, whereTo(b, body.To), body.From.ID)
		case *Fill:
			moved = s.watchFill(i, f, body)
		case *Dispatch:
			moved = s.watch(i, f, Place{PlaceBuyer, b.rootID(body.BuyerID)}, body.Containers...)
		case *Stocktake:
			moved = s.watchSet(i, f, body.TankID)
		case *Wash:
			moved = s.watchSet(i, f, body.TankID)
		}
		s.flags = s.flags[:0] // nobody asks for them, and there may be very many
		for _, flow := range moved {
			if !yield(flow) {
				return
			}
		}
	}
}

// whereTo is where a movement's honey ends up: what the book has not got as a
// tank or container, nor is waste, is nowhere.
func whereTo(b *Book, to Place) Place {
	if root := b.at(to.ID); root != nil && (root.Kind == KindTank || root.Kind == KindFill) {
		return Place{placeOf(root.Kind), root.ID}
	}
	if to.Kind == PlaceWaste {
		return Place{Kind: PlaceWaste}
	}
	return Place{}
}

// slotOf is the holder of what id names as the book knows it; nil where it is
// none.
func (s *State) slotOf(id ID) *Holder {
	f := s.book.at(id)
	if f == nil || f.slot < 0 {
		return nil
	}
	return &s.holders[f.slot]
}

// watch replays the i-th fact and tells what left each of the places.
func (s *State) watch(i int, f *fact, to Place, from ...ID) []Flow {
	s.replay(i) // makes room for the holders
	before := make([]Holder, len(from))
	for k, id := range from {
		if h := s.slotOf(id); h != nil {
			before[k] = *h
		}
	}
	s.replay(i + 1)
	var out []Flow
	for k, id := range from {
		h := s.slotOf(id)
		if h == nil || seenBefore(s.book, from[:k], id) {
			continue
		}
		grams := h.OutG - before[k].OutG
		if grams == 0 {
			continue
		}
		flow := Flow{Entry: f.Entry, Root: f.root.ID, From: h.Place, To: to, Grams: grams}
		if h.Place.Kind != PlaceRun {
			flow.UnexplainedG = h.Grams - before[k].Grams - (h.InG - before[k].InG) + grams
		}
		out = append(out, flow)
	}
	return out
}

func seenBefore(b *Book, ids []ID, id ID) bool {
	for _, other := range ids {
		if b.rootID(other) == b.rootID(id) {
			return true
		}
	}
	return false
}

// watchFill replays a fill. One from what is no tank brings honey from nowhere.
func (s *State) watchFill(i int, f *fact, fill *Fill) []Flow {
	drum := Place{PlaceContainer, f.root.ID}
	if tank := s.book.at(fill.TankID); tank != nil && tank.Kind == KindTank {
		return s.watch(i, f, drum, fill.TankID)
	}
	s.replay(i + 1)
	return []Flow{{Entry: f.Entry, Root: f.root.ID, To: drum, Grams: fill.NetG(), UnexplainedG: fill.NetG()}}
}

// watchSet replays what sets a tank to a level: a stocktake or a wash.
func (s *State) watchSet(i int, f *fact, tank ID) []Flow {
	root := s.book.at(tank)
	if root == nil || root.Kind != KindTank {
		return nil
	}
	s.replay(i)
	before := s.holders[root.slot].Grams
	s.replay(i + 1)
	flow := Flow{Entry: f.Entry, Root: f.root.ID, From: Place{PlaceTank, root.ID}, Grams: before - s.holders[root.slot].Grams}
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

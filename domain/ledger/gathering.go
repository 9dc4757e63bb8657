package ledger

import "fmt"

// Gathering are entries that can be taken in together: whether one of them may be recorded hangs
// on no other, none replaces anything, and all name only what the book has. None of them is in
// the book yet, and the book stays as it is while they gather.
type Gathering struct {
	book       *Book
	ids        map[ID]bool
	containers map[string]bool
}

// Gather begins with no entry.
func (b *Book) Gather() *Gathering {
	return &Gathering{book: b, ids: map[ID]bool{}, containers: map[string]bool{}}
}

// Add reports whether an entry can be taken in together with those before it, and adds it if so.
func (g *Gathering) Add(e *Entry) bool {
	b := g.book
	if !gathered[e.Kind] || e.Replaces != (ID{}) || b.missing[e.ID] || b.fact(e.ID) != nil || g.ids[e.ID] {
		return false
	}
	var room [namesRoom]ID
	for _, id := range names(room[:0], e.Body) {
		if b.fact(id) == nil {
			return false
		}
	}
	if fill, fills := e.Body.(*Fill); fills {
		key := containerKey(fill.Container)
		if g.containers[key] {
			return false
		}
		g.containers[key] = true
	}
	g.ids[e.ID] = true
	return true
}

// gathered are the kinds that a crew writes down by the hundred, and that are checked by what
// they name alone.
var gathered = map[Kind]bool{
	KindMovement: true, KindFill: true, KindReading: true, KindStocktake: true, KindWash: true, KindLoad: true, KindRunSupers: true,
}

// AppendTogether is Append for several entries that gather: what happened after the first of
// them is walked once instead of once for each. The effect of each is on the book after all
// of them, and Elsewhere is what all of them changed. Where it fails the book is of no use
// any more.
func (b *Book) AppendTogether(entries ...*Entry) (effects []Effect, err error) {
	if len(entries) == 1 {
		effect, err := b.Append(entries[0])
		return []Effect{effect}, err
	}
	defer func() {
		if p := recover(); p != nil {
			effects, err = nil, &breakdown{p}
		}
	}()
	for g, i := b.Gather(), 0; i < len(entries); i++ {
		if e := entries[i]; !g.Add(e) {
			return nil, fmt.Errorf("entry %d cannot be taken in together with those before it", e.Number)
		}
	}
	was := b.beforeElsewhere(entries...)
	facts := make([]*fact, len(entries))
	for i, e := range entries {
		facts[i] = new(fact)
		if err := b.register(facts[i], e); err != nil {
			return nil, err
		}
	}
	levels := b.levelsOf(facts)
	old, rests := b.placeTogether(facts)
	was.rewound(b.state)
	b.state.walkAgain(old, rests)
	return b.effects(facts, levels, was), nil
}

// placeTogether is place for several facts that replace nothing.
func (b *Book) placeTogether(facts []*fact) (old []*step, r rests) {
	from := len(b.line)
	for _, f := range facts {
		from = min(from, b.insert(f, &r))
	}
	b.share()
	return b.state.rewind(from), r
}

// Changed is what the book's entries that another one has not changed in that other one, as
// AppendTogether gives it.
func (b *Book) Changed(before *Book) []Effect {
	facts := b.facts[before.Len():]
	entries := make([]*Entry, len(facts))
	for i, f := range facts {
		entries[i] = f.Entry
	}
	was := before.beforeAll(entries)
	levels := make([]leveled, len(facts))
	for i, f := range facts {
		l := leveled{of: b.involved(f)}
		l.was = make([]int64, len(l.of))
		for k, root := range l.of {
			held, _ := before.state.Holder(root.ID)
			l.was[k] = held.Grams
		}
		levels[i] = l
	}
	return b.effects(facts, levels, was)
}

// leveled are holders and how much was in them.
type leveled struct {
	of  []*fact
	was []int64
}

func (b *Book) levelsOf(facts []*fact) []leveled {
	out := make([]leveled, len(facts))
	for i, f := range facts {
		out[i].of = b.involved(f)
		out[i].was = b.levels(out[i].of)
	}
	return out
}

func (b *Book) effects(facts []*fact, levels []leveled, was elsewhereBefore) []Effect {
	elsewhere := b.elsewhere(was)
	out := make([]Effect, len(facts))
	for i, f := range facts {
		out[i] = b.effect(f, levels[i].of, levels[i].was)
		out[i].Elsewhere = elsewhere
	}
	return out
}

package ledger

// Level is how a holder stood before and after an entry.
type Level struct {
	Place Place
	Name  string
	// BeforeG and AfterG are at the end of the line, before and after the book
	// learned of the entry.
	BeforeG, AfterG int64
	// CapacityG is 0 for what has none.
	CapacityG int64
	// Expected is what the book expects of the honey in it now; nil where there
	// is none.
	Expected *Belief
}

// Effect is what an entry changed and what is odd about it.
type Effect struct {
	Entry  *Entry
	Levels []Level
	Flags  []Flag
	Elsewhere
}

// involved lists the holders that an entry, and the one it replaces, are about.
func (b *Book) involved(f *fact) []*fact {
	var out []*fact
	add := func(id ID) {
		g := b.fact(id)
		if g == nil || g.root.slot < 0 || g.root.Kind == KindRun {
			return
		}
		for _, o := range out {
			if o == g.root {
				return
			}
		}
		out = append(out, g.root)
	}
	one := func(x Body) {
		switch body := x.(type) {
		case *Movement:
			add(body.From.ID)
			add(body.To.ID)
		case *Stocktake:
			add(body.TankID)
		case *Wash:
			add(body.TankID)
		case *Fill:
			add(body.TankID)
			add(f.root.ID)
		case *Reading:
			add(body.On.ID)
		case *TemperatureLog:
			add(body.On.ID)
		case *Dispatch:
			for _, id := range body.Containers {
				add(id)
			}
		}
	}
	if f.Replaces != (ID{}) {
		one(b.fact(f.Replaces).Body)
	}
	one(f.Body)
	return out
}

func (b *Book) levels(of []*fact) []int64 {
	out := make([]int64, len(of))
	for i, f := range of {
		if int(f.slot) < len(b.state.holders) {
			out[i] = b.state.holders[f.slot].Grams
		}
	}
	return out
}

func (b *Book) effect(f *fact, involved []*fact, was []int64) Effect {
	e := Effect{Entry: f.Entry}
	now := b.levels(involved)
	for i, h := range involved {
		l := Level{Place: Place{placeOf(h.Kind), h.ID}, BeforeG: was[i], AfterG: now[i]}
		switch t := h.subject.(type) {
		case *Tank:
			l.Name, l.CapacityG = t.Name, t.CapacityG
		case *Fill:
			l.Name = t.Container
		}
		if belief, ok := b.state.BeliefAt(h.ID, b.Latest()); ok && l.AfterG > 0 {
			l.Expected = &belief
		}
		e.Levels = append(e.Levels, l)
	}
	e.Flags = b.state.FlagsOn(f.root.ID)
	return e
}

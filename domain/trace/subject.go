package trace

import (
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// Subject is what is followed forward: the honey of a yard, pull or run, all
// that was in a tank, lot or container, or the honey of a day.
type Subject struct {
	// Place is a yard, pull, run, tank, lot or container.
	Place ledger.Place
	// Day, where there is no place, stands for all honey that was extracted, moved
	// or filled on that day; with Pulled, for that of the supers pulled on it.
	Day    ledger.Date
	Pulled bool
}

var kindsTraced = map[ledger.Kind]ledger.PlaceKind{
	ledger.KindYard: ledger.PlaceYard, ledger.KindPull: ledger.PlacePull, ledger.KindRun: ledger.PlaceRun,
	ledger.KindTank: ledger.PlaceTank, ledger.KindLot: ledger.PlaceLot, ledger.KindFill: ledger.PlaceContainer,
}

// SubjectOf is the thing that id names as a subject. What was withdrawn is one
// still: honey may rest on it.
func SubjectOf(b *ledger.Book, id ledger.ID) (Subject, error) {
	root := b.Root(id)
	e, _ := b.Entry(root)
	if e == nil {
		return Subject{}, fault.New(fault.NotFound, "There is no %s.", id)
	}
	kind, ok := kindsTraced[e.Kind]
	if !ok {
		return Subject{}, fault.New(fault.NotFound, "Honey cannot be followed from a %s. Name a yard, pull, run, tank, lot or container.", e.Kind.Noun())
	}
	return Subject{Place: ledger.Place{Kind: kind, ID: root}}, nil
}

// Name is what a subject is called.
func (s Subject) Name(b *ledger.Book) string { return s.Said(b).String() }

// Said is the name in the words of a reader's language.
func (s Subject) Said(b *ledger.Book) message.Text {
	switch {
	case s.Pulled:
		return message.F("supers pulled on %s", dayOf(s.Day))
	case s.Day != "":
		return message.F("honey worked on %s", dayOf(s.Day))
	}
	return placeText(b, s.Place)
}

// dayOf is a day of the calendar as a reader writes it.
func dayOf(d ledger.Date) any {
	t, err := d.On(time.UTC)
	if err != nil {
		return string(d)
	}
	return message.Day(t)
}

// placeText is what the crew calls a place: "tank large", "Mill, pulled
// 2026-08-01".
func placeText(b *ledger.Book, p ledger.Place) message.Text {
	switch p.Kind {
	case "":
		return message.F("account|unexplained")
	case ledger.PlaceWaste:
		return message.F("kind|waste")
	case ledger.PlacePull:
		pull := ledger.Named[ledger.Pull](b, p.ID)
		if pull == nil {
			return message.F("a pull that is not in the book")
		}
		return message.F("%s, pulled %s", b.Name(pull.YardID), message.Day(standingOrFirst(b, p.ID).OccurredAt.In(b.Location())))
	}
	if name := b.Name(p.ID); name != "" {
		return message.Verbatim(name)
	}
	return message.F("a %s that is not in the book", message.F("kind|"+string(p.Kind)))
}

func placeName(b *ledger.Book, p ledger.Place) string { return placeText(b, p).String() }

// standingOrFirst is the entry that stands for what id names, or the first of a
// chain that was withdrawn.
func standingOrFirst(b *ledger.Book, id ledger.ID) *ledger.Entry {
	if e := b.InForce(id); e != nil {
		return e
	}
	e, _ := b.Entry(b.Root(id))
	return e
}

// originates reports whether an origin's honey is the subject's.
func (s Subject) originates(t *Tracer, o ledger.Origin) bool {
	switch {
	case o == ledger.Unexplained:
		return false
	case s.Pulled:
		pull := ledger.Named[ledger.Pull](t.book, o)
		return pull != nil && t.day(standingOrFirst(t.book, o).OccurredAt) == s.Day
	case s.Place.Kind == ledger.PlaceYard:
		return t.yardOf(o) == s.Place.ID
	}
	return s.Place.Kind == ledger.PlacePull && o == s.Place.ID
}

// tags says what of a run is the subject's.
func (s Subject) tags(t *Tracer) func(int32, *run) []portion {
	return func(at int32, r *run) []portion {
		if s.Place.Kind == ledger.PlaceRun {
			if t.holders[at].ID != s.Place.ID {
				return nil
			}
			return []portion{t.partOf(r, r.mix.Parts)}
		}
		var of []ledger.Part
		for _, p := range r.mix.Parts {
			if s.originates(t, p.Origin) {
				of = append(of, p)
			}
		}
		if len(of) == 0 {
			return nil
		}
		return []portion{t.partOf(r, of)}
	}
}

// marks says which moves carry nothing but the subject's honey; nil for subjects
// whose honey is known by the runs that it came from.
func (s Subject) marks(t *Tracer) func(i int) bool {
	switch s.Place.Kind {
	case ledger.PlaceTank, ledger.PlaceContainer:
		at, known := t.at[s.Place.ID]
		return func(i int) bool { return known && (t.moves[i].to == at || t.moves[i].from == at) }
	case ledger.PlaceLot:
		in := map[int32]bool{}
		for _, id := range t.book.State().Lot(s.Place.ID).Containers {
			if at, known := t.at[id]; known {
				in[at] = true
			}
		}
		return func(i int) bool { return in[t.moves[i].to] || in[t.moves[i].from] }
	case "":
		if s.Pulled {
			return nil
		}
		return func(i int) bool {
			f := t.flows[i]
			worked := f.Entry.Kind == ledger.KindMovement || f.Entry.Kind == ledger.KindFill
			return worked && t.day(f.Entry.OccurredAt) == s.Day
		}
	}
	return nil
}

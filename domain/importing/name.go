package importing

import (
	"errors"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
	"pullbook/domain/spelling"
	"pullbook/domain/tables"
)

type nameKey struct {
	noun Noun
	name string
}

// namedThing is what a name was found to mean; bad where that has to be asked.
type namedThing struct {
	id  ledger.ID
	bad bool
	// said is what was asked of it.
	said []Problem
}

var kindOf = map[Noun]ledger.Kind{
	NounYard: ledger.KindYard, NounRoom: ledger.KindRoom, NounTank: ledger.KindTank, NounSuperKind: ledger.KindSuperKind,
	NounContainerKind: ledger.KindContainerKind, NounInstrument: ledger.KindInstrument, NounLot: ledger.KindLot, NounContainer: ledger.KindFill,
	NounBuyer: ledger.KindBuyer,
}

// name finds what a field's name means; given is false where the cell is empty or
// what it means has to be asked. at is the row's date, for what is set up.
func (k *taking) name(f Field, at time.Time) (id ledger.ID, given bool, err error) {
	c := k.columns[f]
	if c == nil || tables.Missing(k.text(f)) {
		return id, false, nil
	}
	name := k.word(f)
	if _, known := k.book.Names(kindOf[c.info.noun], sameName(name)); !known && k.isDitto(c, name) {
		return id, false, nil
	}
	return k.thing(c, c.info.noun, name, at)
}

// isDitto asks about a name that stands for the one above it. Nobody can say once what it
// means: in each row it may be another.
func (k *taking) isDitto(c *column, name string) bool {
	if !tables.IsDitto(name) {
		return false
	}
	k.problem(MissingField, c, message.F("This stands for what is above it, and that is lost once rows are sorted. Write it out."))
	return true
}

func (k *taking) thing(c *column, noun Noun, name string, at time.Time) (id ledger.ID, given bool, err error) {
	if name == "" {
		return id, false, nil
	}
	key := nameKey{noun, name}
	known := k.named[key]
	if known == nil {
		known, key.name = &namedThing{}, strings.Clone(name) // without the row that it stood in
		k.noting = &known.said
		known.id, known.bad, err = k.resolve(c, noun, key.name, at)
		if k.noting = nil; k.full() {
			known.said = nil
		}
		k.remember(key, known)
	} else if known.bad && k.wide != nil && (c == k.wide.across || c == k.wide.other) {
		k.bad = true // one heading is asked about once
		for i := range known.said {
			k.shownNow().isAsked(&known.said[i])
		}
	} else if known.bad {
		k.sayAgain(known.said)
	}
	return known.id, !known.bad, err
}

// remember has a name found again at once. Of names that have to be asked about, so many
// are kept; the others are looked up again each time.
func (k *taking) remember(key nameKey, found *namedThing) {
	if found.bad {
		k.unclear++
	}
	if !found.bad || k.unclear <= mostNamed {
		k.named[key] = found
	}
}

// sayAgain says of the row at hand what was said of the first one with the same name:
// the list counts the rows.
func (k *taking) sayAgain(said []Problem) {
	if said == nil {
		k.all++ // of what is not listed
	}
	for _, p := range said {
		p.Row = k.row
		k.add(p)
	}
	k.bad = true
}

// resolve finds a thing by the name itself, by what the mapping says of it, or sets
// it up where that says so.
func (k *taking) resolve(c *column, noun Noun, name string, at time.Time) (id ledger.ID, bad bool, err error) {
	if id, known := k.book.Names(kindOf[noun], sameName(name)); known {
		return id, false, nil
	}
	choice, explicit := k.choice(noun, name)
	switch {
	case choice.Is != "" && !explicit && k.meansAnother(noun, name, choice.Is):
		k.unknown(c, noun, name)
		return id, true, nil
	case choice.Is != "":
		if id, known := k.book.Names(kindOf[noun], sameName(choice.Is)); known {
			return id, false, nil
		}
		k.problem(UnknownName, c, message.F("It should be the %s %s, but the outfit has none of that name.", noun.text(), choice.Is))
		return id, true, nil
	case choice.Create != nil && thingFields[noun] != nil:
		if !explicit {
			if like := k.alike(noun, name); len(like) > 0 {
				k.problem(AlikeNames, c, alikeNames(noun, like[0]), like...)
				return id, true, nil
			}
			if k.hardlyAName(c, noun, name) {
				return id, true, nil
			}
		}
		return k.create(c, noun, name, *choice.Create, at)
	}
	k.unknown(c, noun, name)
	k.bad = true
	return id, true, nil
}

// meansAnother reports whether a name is spelt nearly like that of another thing than the one that
// all unknown names were said to be, or has another one's name in it.
func (k *taking) meansAnother(noun Noun, name, all string) bool {
	if like := k.alike(noun, name); len(like) > 0 && !slices.ContainsFunc(like, func(other string) bool { return sameName(other) == sameName(all) }) {
		return true
	}
	if noun == NounContainer || noun == NounLot {
		return false
	}
	plain, found := " "+spelling.Plain(name)+" ", false
	k.book.InForceOf(kindOf[noun], func(root ledger.ID, _ *ledger.Entry) bool {
		other := k.book.Name(root)
		found = sameName(other) != sameName(all) && strings.Contains(plain, " "+spelling.Plain(other)+" ")
		return !found
	})
	return found
}

func alikeNames(noun Noun, like string) message.Text {
	return message.F("This is spelt nearly like the %s %s. Say for this name whether it is that one%s, or one of its own%s.", noun.text(), like, message.Option("is"), message.Option("create"))
}

// choice is what the mapping says of a name; explicit where it says so of this very
// name, rather than of all.
func (k *taking) choice(noun Noun, name string) (choice Choice, explicit bool) {
	if choice, explicit = k.choices[noun][sameName(name)]; explicit {
		return choice, true
	}
	return k.Mapping.Names[noun]["*"], false
}

// chosen makes what the mapping says of names ready to be looked up. Of two ways of
// writing one name the first in order holds.
func (k *taking) chosen() {
	k.choices = map[Noun]map[string]Choice{}
	for noun, names := range k.Mapping.Names {
		k.choices[noun] = make(map[string]Choice, len(names))
		for _, written := range slices.Backward(slices.Sorted(maps.Keys(names))) {
			if written != "*" {
				k.choices[noun][sameName(written)] = names[written]
			}
		}
	}
}

func (k *taking) unknown(c *column, noun Noun, name string) {
	if k.full() {
		k.all++
		return
	}
	like := k.alike(noun, name)
	text := message.F("The outfit has no %s %s. Say which one it is%s, or that it is to be set up%s.", noun.text(), message.Quoted(name), message.Option("is"), message.Option("create"))
	if len(like) > 0 {
		text = message.F("The outfit has no %s %s. Was %s meant? Say which one it is%s, or that it is one of its own%s.", noun.text(), message.Quoted(name), message.Quoted(like[0]), message.Option("is"), message.Option("create"))
	}
	k.problem(UnknownName, c, text, like...)
}

// mostCompared bounds how many pairs of letters are compared for one sheet: some
// seconds' work. Names of any honey house take far fewer.
const mostCompared = 2_000_000_000

// alike lists the nearest names of things that a name is spelt nearly like. Numbers of
// containers and codes of lots are all alike, and are not compared.
func (k *taking) alike(noun Noun, name string) []string {
	if noun == NounContainer || noun == NounLot {
		return nil
	}
	index := k.spelt[noun]
	if index == nil {
		index = &spelling.Index{}
		k.spelt[noun] = index
		k.book.InForceOf(kindOf[noun], func(root ledger.ID, _ *ledger.Entry) bool {
			index.Add(k.book.Name(root))
			return true
		})
	}
	before := index.Compared
	like := index.Near(name, spelling.Apart)
	if k.compared += index.Compared - before; k.compared > mostCompared {
		k.failed = errors.Join(k.failed, fault.New(fault.TooLarge, "The sheet has very many names that the outfit does not know and that are spelt nearly alike, too many to compare them all. Nothing was stored. Bring it in as parts."))
	}
	return slices.DeleteFunc(like, func(other string) bool { return sameName(other) == sameName(name) })
}

// usualFrames is how many frames a box takes; common practice.
const usualFrames = 10

func grams(kg float64) int64 { return int64(math.Round(kg * 1000)) }

// create sets a thing up.
func (k *taking) create(c *column, noun Noun, name string, t Thing, at time.Time) (id ledger.ID, bad bool, err error) {
	if k.cannotSetUp(c, noun, name, &t) {
		return id, true, nil
	}
	var body ledger.Body
	switch noun {
	case NounYard:
		body = &ledger.Yard{Name: name}
	case NounLot:
		body = &ledger.Lot{Code: name}
	case NounBuyer:
		body = &ledger.Buyer{Name: name}
	case NounRoom:
		body = &ledger.Room{Name: name, Use: ledger.RoomUse(t.Use)}
	case NounTank:
		body = &ledger.Tank{Name: name, Use: ledger.TankUse(t.Use), CapacityG: grams(t.CapacityKg)}
	case NounSuperKind:
		body = &ledger.SuperKind{Name: name, FramesPerSuper: usualFrames, TareG: grams(t.TareKg), UsualNetG: grams(t.UsualNetKg), FullestNetG: grams(t.FullestNetKg)}
	case NounContainerKind:
		body = &ledger.ContainerKind{Name: name, VolumeML: grams(t.VolumeL), TareG: grams(t.TareKg), UsualNetG: grams(t.UsualNetKg)}
	case NounInstrument:
		body = &ledger.Instrument{Name: name, Scale: t.Scale, Compensates: *t.CompensatesTemperature, StdUncertainty: t.StdUncertainty, CheckEveryDays: t.CheckEveryDays}
	}
	before := k.all
	id, err = k.putAside(at, body, name)
	return id, k.all > before, err
}

// season settles in which season the row at hand is: none is made up before a person has seen which.
func (k *taking) season(at time.Time, c *column) error {
	if k.book.SeasonOf(at) != nil {
		return nil
	}
	s, fits := k.book.SeasonLike(at)
	first, err := s.First.On(k.book.Location())
	isToCome := !at.Before(k.Now.AddDate(0, 0, 1)) // which the book refuses
	switch {
	case err != nil || isToCome:
	case !fits:
		k.problemOnce(NoSeason, c, message.F("The book has no season with this day. Yours go as from %s to %s, and none like that can hold this day beside the others. Set up a season that holds it, or put the date right.", message.Date(s.First), message.Date(s.Last)))
	case k.Mapping.MakeSeasons:
		k.Seasons = append(k.Seasons, s)
		_, err := k.putAside(first, &s, s.Name)
		return err
	default:
		year := strconv.Itoa(at.In(k.book.Location()).Year())
		k.problemOnce(NoSeason, c, message.F("The book has no season with this day of %s. Have one set up, from %s to %s%s, or put the date right.", year, message.Date(s.First), message.Date(s.Last), message.Option("make_seasons")))
	}
	return nil
}

// putAside is put for what a row sets up in passing: what was typed in the row is not of it.
func (k *taking) putAside(at time.Time, body ledger.Body, name string) (ledger.ID, error) {
	typed := k.typed
	k.typed = nil
	defer func() { k.typed = typed }()
	return k.put(at, body, name, nil)
}

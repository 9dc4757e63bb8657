package ledger_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// picture is all that a book says about honey, with entries named by their ids
// and not their numbers.
type picture struct {
	Totals  ledger.Totals
	Holders map[ledger.ID]holderPicture
	Flags   []flagPicture
	Lots    map[ledger.ID]ledger.LotState
	Found   []flagPicture
	Beliefs map[ledger.ID]ledger.Belief
	Harvest map[ledger.ID]ledger.Harvest
	Left    map[[2]ledger.ID]int
}

type holderPicture struct {
	ledger.Holder
	Gone    ledger.ID
	Carried []string
}

type flagPicture struct {
	ledger.Flag
	Accepted ledger.ID
}

func pictureOf(b *ledger.Book, s *ledger.State) picture {
	p := picture{s.Totals(), map[ledger.ID]holderPicture{}, nil, map[ledger.ID]ledger.LotState{}, nil, map[ledger.ID]ledger.Belief{},
		map[ledger.ID]ledger.Harvest{}, map[[2]ledger.ID]int{}}
	idOf := func(e *ledger.Entry) ledger.ID {
		if e == nil {
			return ledger.ID{}
		}
		return e.ID
	}
	shown := func(f ledger.Flag) flagPicture {
		shown := flagPicture{f, idOf(f.Accepted)}
		shown.Flag.Accepted = nil
		return shown
	}
	for _, f := range s.Findings() {
		p.Found = append(p.Found, shown(*f))
	}
	for _, f := range s.Flags() { // what looked for findings left them as they were
		p.Flags = append(p.Flags, shown(f))
	}
	for e := range b.Entries {
		root := b.Root(e.ID)
		if h, ok := s.Holder(root); ok {
			shown := holderPicture{ledger.WithoutCarried(h), idOf(h.Gone), ledger.CarriedIn(h)}
			shown.Holder.Gone = nil
			p.Holders[root] = shown
			if belief, ok := s.BeliefAt(root, ledgertest.At(1000)); ok {
				p.Beliefs[root] = belief
			}
		}
		switch body := e.Body.(type) {
		case *ledger.Run:
			p.Harvest[root] = b.Harvest(root)
		case *ledger.Lot:
			p.Lots[root] = s.Lot(root)
		case *ledger.Pull:
			for _, c := range body.Supers {
				p.Left[[2]ledger.ID{root, b.Root(c.SuperKindID)}] = s.SupersLeft(root, c.SuperKindID)
			}
		}
	}
	return p
}

// differ says where two pictures part, or nothing.
func differ(a, b picture) string {
	va, vb := reflect.ValueOf(a), reflect.ValueOf(b)
	for i := range va.NumField() {
		if !reflect.DeepEqual(va.Field(i).Interface(), vb.Field(i).Interface()) {
			return fmt.Sprintf("%s: %+v\n    against %+v", va.Type().Field(i).Name, va.Field(i), vb.Field(i))
		}
	}
	return ""
}

func mustOpen(t interface{ Fatalf(string, ...any) }, entries []*ledger.Entry) *ledger.Book {
	b, err := ledger.Open(time.UTC, entries)
	if err != nil {
		t.Fatalf("the book does not open: %v", err)
	}
	return b
}

// sound fails where a gram is lost, a holder is below nothing, or shares do not
// sum to one.
func sound(t interface{ Fatalf(string, ...any) }, b *ledger.Book, s *ledger.State) {
	totals := s.Totals()
	if !totals.Balanced() {
		t.Fatalf("grams are lost: %+v", totals)
	}
	var held, inTanks, harvested int64
	for h := range s.Holders {
		if h.Place.Kind == ledger.PlaceRun {
			harvested += h.OutG
			continue
		}
		held += h.Grams
		if h.Place.Kind == ledger.PlaceTank {
			inTanks += h.Grams
		}
		if h.Grams < 0 {
			t.Fatalf("%v holds %d g", h.Place, h.Grams)
		}
		if h.Mix == nil {
			if h.Grams > 0 {
				t.Fatalf("%v holds %d g of nothing", h.Place, h.Grams)
			}
			continue
		}
		var sum float64
		for i, p := range h.Mix.Parts {
			sum += p.Share
			if p.Share <= 0 {
				t.Fatalf("%v has a share of %g", h.Place, p.Share)
			}
			if i > 0 && h.Mix.Parts[i-1].Origin.String() >= p.Origin.String() {
				t.Fatalf("%v lists its origins out of order", h.Place)
			}
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("shares of %v sum to %v", h.Place, sum)
		}
	}
	if held != totals.Held || inTanks != totals.InTanks || harvested != totals.Harvested {
		t.Fatalf("holders have %d g (%d in tanks, %d out of runs), the totals say %+v", held, inTanks, harvested, totals)
	}
}

func everyGramIsSomewhere(t *rapid.T) {
	o := ledgertest.Random(t, 60)
	b := mustOpen(t, o.Entries)
	sound(t, b, b.State())
	at := ledgertest.At(float64(rapid.IntRange(0, 60).Draw(t, "hours")))
	sound(t, b, b.StateAt(at))
}

func TestEveryGramIsSomewhereWhateverHappened(t *testing.T) {
	t.Parallel()
	rapid.Check(t, everyGramIsSomewhere)
}

func TestABookAppendedToIsTheBookOpenedAnew(t *testing.T) {
	t.Parallel()
	rapid.Check(t, appendedIsOpened)
}

func appendedIsOpened(t *rapid.T) {
	o := ledgertest.Random(t, 60)
	begun := rapid.IntRange(0, len(o.Entries)).Draw(t, "begun")
	b, err := ledger.OpenKeeping(time.UTC, o.Entries[:begun], rapid.IntRange(1, 20).Draw(t, "kept"))
	if err != nil {
		t.Fatalf("the book does not open: %v", err)
	}
	for n := begun; n < len(o.Entries); n++ {
		before := mustOpen(t, o.Entries[:n])
		effect, err := b.Append(o.Entries[n])
		if err != nil {
			t.Fatalf("entry %d: %v", n+1, err)
		}
		fresh := mustOpen(t, o.Entries[:n+1])
		if d := differ(pictureOf(b, b.State()), pictureOf(fresh, fresh.State())); d != "" {
			t.Fatalf("after entry %d (%s): %s", n+1, o.Entries[n].Kind, d)
		}
		if changed := fresh.Changed(before); !reflect.DeepEqual(changed, []ledger.Effect{effect}) {
			t.Fatalf("entry %d did %+v, and %+v when the book was opened with it", n+1, effect, changed)
		}
		then, err := b.AsKnown(int64(n))
		if err != nil {
			t.Fatalf("as known at %d: %v", n, err)
		}
		again, err := then.Append(o.Entries[n])
		if err != nil || !reflect.DeepEqual(again, effect) {
			t.Fatalf("entry %d did %+v, and %+v (%v) when told again", n+1, effect, again, err)
		}
	}
}

// TestTheOrderOfRecordingDoesNotMatter appends what happened in another order,
// so that entries come before what they name; only a correction must still
// follow what it replaces.
func TestTheOrderOfRecordingDoesNotMatter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := ledgertest.Random(t, 40)
		asWritten := mustOpen(t, o.Entries)
		shuffled := shuffle(t, o.Entries)
		b := mustOpen(t, nil)
		for _, e := range shuffled {
			if _, err := b.Append(e); err != nil {
				t.Fatalf("entry %d: %v", e.Number, err)
			}
		}
		if d := differ(pictureOf(asWritten, asWritten.State()), pictureOf(b, b.State())); d != "" {
			t.Fatalf("appended in another order: %s", d)
		}
		opened := mustOpen(t, shuffled)
		if d := differ(pictureOf(asWritten, asWritten.State()), pictureOf(opened, opened.State())); d != "" {
			t.Fatalf("opened in another order: %s", d)
		}
	})
}

func shuffle(t *rapid.T, entries []*ledger.Entry) []*ledger.Entry {
	rest := rapid.Permutation(entries).Draw(t, "order")
	in := map[ledger.ID]bool{{}: true}
	var out []*ledger.Entry
	for len(out) < len(entries) {
		for _, e := range rest {
			if in[e.ID] || !in[e.Replaces] {
				continue
			}
			renumbered := *e
			renumbered.Number = int64(len(out) + 1)
			out = append(out, &renumbered)
			in[e.ID] = true
		}
	}
	return out
}

// TestALateEntryIsAppliedFromWhereItHappened makes a book longer than what can
// be undone step by step, of which much was appended, and then writes down what
// happened at any time before; TestABookAppendedToIsTheBookOpenedAnew does so in
// the small.
func TestALateEntryIsAppliedFromWhereItHappened(t *testing.T) {
	t.Parallel()
	entries := ledgertest.Large(36_000, 1)
	const late = 60
	end := len(entries) - late
	b := mustOpen(t, entries[:end-18_000])
	for _, e := range entries[end-18_000 : end] {
		if _, err := b.Append(e); err != nil {
			t.Fatal(err)
		}
	}
	for i, e := range entries[end:] {
		moved := *e
		if !e.Kind.SetUp() {
			back := (i*17 + 5) % late // neither in order nor against it
			moved.OccurredAt = e.OccurredAt.Add(-time.Duration(back) * e.OccurredAt.Sub(ledgertest.Start) / late)
		}
		entries[e.Number-1] = &moved
		if _, err := b.Append(&moved); err != nil {
			t.Fatal(err)
		}
	}
	fresh := mustOpen(t, entries)
	if d := differ(pictureOf(b, b.State()), pictureOf(fresh, fresh.State())); d != "" {
		t.Fatalf("late entries lead elsewhere: %s", d)
	}
	sound(t, b, b.State())
	for _, hours := range []float64{0, 300, 700, 1000} {
		at := ledgertest.At(hours).Truncate(24 * time.Hour)
		if before, then := b.State().TotalsBefore(at), b.StateAt(at.Add(-time.Microsecond)).Totals(); before != then {
			t.Errorf("before %s the book came to %+v, replayed up to then to %+v", at, before, then)
		}
	}
}

// TestEntriesThatWaitedLeadToTheSameBook has devices without a network: each entry comes to
// the book some time after it happened, those of one hour apart by up to days, so that most
// are late, and many by thousands of places.
func TestEntriesThatWaitedLeadToTheSameBook(t *testing.T) {
	t.Parallel()
	for seed := range uint64(8) {
		written := ledgertest.Large(4_000, seed)
		random := rand.New(rand.NewPCG(seed, 17))
		waits := []int{3, 40, 400, 4_000}[seed%4]
		entries := asTheyCome(random, written, waits)
		b := mustOpen(t, entries[:len(entries)/3])
		for n, e := range entries[len(entries)/3:] {
			if _, err := b.Append(e); err != nil {
				t.Fatal(err)
			}
			if n%400 == 0 {
				fresh := mustOpen(t, entries[:e.Number])
				if d := differ(pictureOf(b, b.State()), pictureOf(fresh, fresh.State())); d != "" {
					t.Fatalf("seed %d, after entry %d: %s", seed, e.Number, d)
				}
			}
		}
		fresh := mustOpen(t, entries)
		if d := differ(pictureOf(b, b.State()), pictureOf(fresh, fresh.State())); d != "" {
			t.Fatalf("seed %d: %s", seed, d)
		}
		sound(t, b, b.State())
	}
}

// asTheyCome has entries wait for up to so many others: what no other names, and now and
// then what others do, so that these come first. A correction comes after what it corrects.
func asTheyCome(random *rand.Rand, written []*ledger.Entry, waits int) []*ledger.Entry {
	type waiting struct {
		*ledger.Entry
		until int
	}
	var line []waiting
	for i, e := range written {
		until := i
		switch e.Kind {
		case ledger.KindReading, ledger.KindMovement, ledger.KindStocktake, ledger.KindWash, ledger.KindLoad, ledger.KindRunSupers, ledger.KindDispatch, ledger.KindTemperatureLog:
			until += random.IntN(waits)
		default: // others name it
			if !e.Kind.SetUp() && random.IntN(200) == 0 {
				until += random.IntN(waits)
			}
		}
		line = append(line, waiting{e, until})
	}
	slices.SortStableFunc(line, func(a, b waiting) int { return a.until - b.until })
	come, rest, out := map[ledger.ID]bool{{}: true}, line, make([]*ledger.Entry, 0, len(written))
	for len(rest) > 0 {
		var later []waiting
		for _, w := range rest {
			if !come[w.Replaces] {
				later = append(later, w)
				continue
			}
			e := *w.Entry
			e.Number = int64(len(out) + 1)
			out, come[e.ID] = append(out, &e), true
		}
		rest = later
	}
	return out
}

// FuzzTheBook makes sequences of entries of any bytes. The seeds are long
// enough for books of some dozen entries.
func FuzzTheBook(f *testing.F) {
	for seed := range byte(4) {
		bytes := make([]byte, 8<<10)
		rand.NewChaCha8([32]byte{seed}).Read(bytes)
		f.Add(bytes)
	}
	f.Fuzz(rapid.MakeFuzz(func(t *rapid.T) {
		everyGramIsSomewhere(t)
		appendedIsOpened(t)
	}))
}

// TestAnyNumberMayReadAtOnce is for the race detector: reading writes nothing.
func TestAnyNumberMayReadAtOnce(t *testing.T) {
	t.Parallel()
	b := mustOpen(t, ledgertest.Large(2_000, 1))
	want := pictureOf(b, b.State())
	var readers sync.WaitGroup
	for range 4 {
		readers.Go(func() {
			if d := differ(want, pictureOf(b, b.StateAt(ledgertest.At(1e6)))); d != "" {
				t.Errorf("read beside others the book is not as it is: %s", d)
			}
		})
	}
	readers.Wait()
}

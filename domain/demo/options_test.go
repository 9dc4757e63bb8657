package demo_test

import (
	"fmt"
	"runtime/debug"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
)

// anyOptions draws an outfit down to a single yard, a single box and a single run, of one season
// or two, told in full or in outline, with what goes wrong in a real one or without.
func anyOptions(t *rapid.T) demo.Options {
	yards := rapid.IntRange(1, 8).Draw(t, "yards")
	return demo.Options{
		Seed: rapid.Uint64().Draw(t, "seed"), Yards: yards,
		Supers:  yards * rapid.IntRange(1, 60).Draw(t, "supers of a yard"),
		Runs:    rapid.IntRange(1, 12).Draw(t, "runs"),
		Seasons: rapid.IntRange(1, 3).Draw(t, "seasons"), Outline: rapid.IntRange(0, 3).Draw(t, "outlines"),
		Houses: rapid.IntRange(1, 2).Draw(t, "houses"), Happenings: rapid.Bool().Draw(t, "happenings"), ToldInFull: rapid.Bool().Draw(t, "told in full"),
	}
}

// told makes up an outfit and opens its book; the error is what it broke down with.
func told(o demo.Options) (b *ledger.Book, err error) {
	defer func() {
		if broken := recover(); broken != nil {
			err = fmt.Errorf("%v\n%s", broken, debug.Stack())
		}
	}()
	made := demo.Outfit(o)
	return ledger.Open(made.Location, made.Recorded())
}

// TestAnOutfitOfAnySizeCanBeMadeUp: an outline of few boxes may never fill a tank, or pour
// drums back that nobody read.
func TestAnOutfitOfAnySizeCanBeMadeUp(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		o := anyOptions(t)
		b, err := told(o)
		if err != nil {
			t.Fatalf("%+v: %v", o, err)
		}
		if totals := b.State().Totals(); !totals.Balanced() || totals.Harvested == 0 && o.Supers*27/100 > 0 {
			t.Errorf("%+v: a season of %+v", o, totals)
		}
	})
}

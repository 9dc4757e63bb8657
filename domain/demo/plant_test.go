package demo_test

import (
	"testing"

	"pullbook/domain/demo"
	"pullbook/domain/ledger"
)

// Every mistake can be planted in most seasons, and nothing else in the book
// changes with it.
func TestEveryMistakeFindsItsOccasion(t *testing.T) {
	t.Parallel()
	const seeds = 20
	var clean [seeds]*demo.Book
	for seed := range clean {
		clean[seed] = demo.Outfit(demo.Ordinary(uint64(seed)))
	}
	for _, m := range Mistakes() {
		t.Run(string(m), func(t *testing.T) {
			t.Parallel()
			made, least, most := 0, 0.0, 0.0
			unit := ""
			for seed := range uint64(seeds) {
				wrong, planted := Plant(clean[seed], m, 1, seed)
				for _, p := range planted {
					if made == 0 || p.Size < least {
						least = p.Size
					}
					most, unit = max(most, p.Size), p.Unit
					made++
				}
				if len(planted) > 0 && alike(clean[seed], wrong) {
					t.Errorf("seed %d: a mistake was planted and the book is as it was", seed)
				}
			}
			t.Logf("%d of %d seasons, %.3g to %.3g %s", made, seeds, least, most, unit)
			if made < seeds*3/4 {
				t.Errorf("only %d of %d seasons gave occasion for it", made, seeds)
			}
		})
	}
}

func alike(a, b *demo.Book) bool {
	if len(a.Entries) != len(b.Entries) {
		return false
	}
	for i := range a.Entries {
		if !a.Entries[i].SameFact(b.Entries[i]) {
			return false
		}
	}
	return true
}

// A mistake is where it says it is: what it names is in the book, and the book
// it was copied from is untouched.
func TestPlantedMistakesNameWhatIsWrong(t *testing.T) {
	t.Parallel()
	clean := demo.Outfit(demo.Ordinary(7))
	before := open(t, clean).State().Totals()
	for _, m := range Mistakes() {
		wrong, planted := Plant(clean, m, 3, 11)
		book := open(t, wrong)
		for _, p := range planted {
			e, _ := book.Entry(p.Entry)
			if e == nil {
				t.Errorf("%s: the book has no entry %s", m, p.Entry)
			}
			if p.Size <= 0 || p.Unit == "" {
				t.Errorf("%s has no size: %+v", m, p)
			}
		}
		if !book.State().Totals().Balanced() {
			t.Errorf("%s: grams are lost", m)
		}
		again, same := Plant(clean, m, 3, 11)
		if len(same) != len(planted) || !alike(wrong, again) {
			t.Errorf("%s planted twice from one seed differs", m)
		}
	}
	if after := open(t, clean).State().Totals(); after != before {
		t.Errorf("planting changed the book it was copied from: %+v, was %+v", after, before)
	}
}

// Some mistakes are caught by the plain flags as they are entered; the share is
// told, not asserted, except for the ones that the flags are there for.
func TestPlainFlagsCatchTheMistakesTheyAreFor(t *testing.T) {
	t.Parallel()
	code := map[Mistake]ledger.Code{
		LoadTwice: ledger.LoadTwice, RunWithoutPull: ledger.RunWithoutSupers,
	}
	for m, want := range code {
		found, made := 0, 0
		for seed := range uint64(5) {
			wrong, planted := Plant(demo.Outfit(demo.Ordinary(seed)), m, 1, seed)
			made += len(planted)
			for _, f := range open(t, wrong).State().Flags() {
				if f.Code == want {
					found++
					break
				}
			}
		}
		if found != made {
			t.Errorf("%s: %d of %d were flagged", m, found, made)
		}
	}
}

package spelling_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"pullbook/domain/spelling"
)

func indexOf(names ...string) *spelling.Index {
	x := &spelling.Index{}
	for _, n := range names {
		x.Add(n)
	}
	return x
}

func TestNamesSpeltNearlyAlikeAreFound(t *testing.T) {
	t.Parallel()
	x := indexOf("Mill Race", "Mill Ridge", "Peñón", "Alder Bend", "A1", "A2", "Cooper's Cross Lower Field")
	for name, want := range map[string][]string{
		"Mill-Race": {"Mill Race"}, "Mil Race": {"Mill Race"}, "Mlil Race": {"Mill Race"}, "penon": {"Peñón"}, "Mill Race": nil,
		"Birch": nil, "A3": nil, "Alder Bned": {"Alder Bend"}, "Coopers Cros Lowr Field": {"Cooper's Cross Lower Field"}, "Coopr Cros Lowr Field": nil,
		"": nil, "Mill Rdge": {"Mill Ridge", "Mill Race"},
	} {
		if got := x.Near(name, nil); !slices.Equal(got, want) {
			t.Errorf("%q is like %q", name, got)
		}
	}
}

// Yards that are numbered, or lie east and west of the same place, are not each other misspelt.
func TestNamesThatTellPlacesApartAreNotAlike(t *testing.T) {
	t.Parallel()
	for _, told := range [][2]string{{"Yard 11", "Yard 12"}, {"Johnson East", "Johnson West"}, {"Block A", "Block B"}, {"Parcela 4 Norte", "Parcela 5 Norte"}, {"El Roble Este", "El Roble Oeste"}, {"Mill I", "Mill II"}} {
		if got := indexOf(told[0]).Near(told[1], spelling.Apart); got != nil {
			t.Errorf("%s is like %s", told[1], got)
		}
	}
	for _, alike := range [][2]string{{"Johnson Est", "Johnson East"}, {"Sction 12", "Section 12"}, {"Ridge", "Bridge"}, {"Mill-Race", "Mill Race"}, {"Yard 1l", "Yard 11"}} {
		if got := indexOf(alike[1]).Near(alike[0], spelling.Apart); len(got) != 1 {
			t.Errorf("%s is like %q", alike[0], got)
		}
	}
}

// What tells places apart hides nothing that is misspelt among many.
func TestManyNumberedNamesHideNoMisspeltOne(t *testing.T) {
	t.Parallel()
	x := &spelling.Index{}
	for i := range 60 {
		x.Add(fmt.Sprint("Section ", i+20))
	}
	x.Add("Sction 12")
	if got := x.Near("Section 12", spelling.Apart); !slices.Equal(got, []string{"Sction 12"}) {
		t.Errorf("%q", got)
	}
}

func TestNearestIsTheNameWithTheFewestSlips(t *testing.T) {
	t.Parallel()
	fields := []string{"net_kg", "tare_kg", "gross_kg", "note"}
	for name, want := range map[string]string{"net_gk": "net_kg", "gros_kg": "gross_kg", "notes": "note", "moisture": "", "tare_kg": "tare_kg"} {
		if got := spelling.Nearest(name, fields, len(name)/3); got != want {
			t.Errorf("%q is nearest to %q", name, got)
		}
	}
}

// The tree gives what comparing with each name gives.
func TestAnIndexFindsWhatComparingWithEachNameFinds(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 4))
	word := func() string {
		b := make([]byte, 4+r.IntN(9))
		for i := range b {
			b[i] = "abc"[r.IntN(3)]
		}
		return string(b)
	}
	for range 200 {
		var names []string
		for range 30 {
			names = append(names, word())
		}
		x, asked := indexOf(names...), word()
		for _, got := range x.Near(asked, nil) {
			most := min(len(asked)/4, len(got)/4, 2)
			if spelling.Nearest(asked, []string{got}, most) == "" {
				t.Fatalf("%s is not like %s", asked, got)
			}
		}
		like := slices.DeleteFunc(names, func(n string) bool {
			return n == asked || spelling.Nearest(asked, []string{n}, min(len(asked)/4, len(n)/4, 2)) == ""
		})
		slices.Sort(like)
		if want := min(len(slices.Compact(like)), 5); len(x.Near(asked, nil)) != want {
			t.Fatalf("%s is like %q, and %q are found", asked, like, x.Near(asked, nil))
		}
	}
}

// Names of a few words, as yards have them.
func yardNames(n int) (names []string) {
	r := rand.New(rand.NewPCG(1, 2))
	for i := range n {
		name := fmt.Sprint(i)
		for range 3 {
			name += " "
			for range 2 + r.IntN(3) {
				name += string("bcdfghlmnprstw"[r.IntN(14)]) + string("aeiou"[r.IntN(5)])
			}
		}
		names = append(names, name)
	}
	return names
}

// Comparing grows with what begins alike, not with how many names there are: ten
// times the names are at most forty times the work for all of them, where comparing
// each with each would be a hundred times.
func TestComparingManyNamesIsNoSquare(t *testing.T) {
	t.Parallel()
	work := func(names []string) int {
		x := &spelling.Index{}
		for _, n := range names {
			x.Near(n, spelling.Apart)
			x.Add(n)
		}
		return x.Compared
	}
	numbered := func(n int) (names []string) {
		for i := range n {
			names = append(names, fmt.Sprintf("Yard %06d", i))
		}
		return names
	}
	for what, names := range map[string]func(int) []string{"yards of a few words": yardNames, "yards that have numbers": numbered} {
		few, many := work(names(500)), work(names(5_000))
		t.Logf("%s: %d letters compared for 500, %d for 5,000", what, few, many)
		if many > 40*few {
			t.Errorf("%s: %d letters compared for 500, and %d for 5,000", what, few, many)
		}
	}
}

func BenchmarkNear(b *testing.B) {
	for _, n := range []int{1_000, 10_000, 50_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			x, i := indexOf(yardNames(n)...), 0
			asked := yardNames(1_000)
			for b.Loop() {
				x.Near(asked[i%len(asked)]+"x", nil)
				i++
			}
		})
	}
}

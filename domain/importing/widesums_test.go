package importing_test

import (
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pullbook/domain/importing"
)

// setUpAll says of a sheet that all names that nobody knows are set up, and of some each by itself.
func setUpAll(each ...string) *importing.Mapping {
	m := supersOf("deep")
	m.Names = map[importing.Noun]map[string]importing.Choice{importing.NounYard: {"*": {Create: &importing.Thing{}}}}
	for _, name := range each {
		m.Names[importing.NounYard][name] = importing.Choice{Create: &importing.Thing{}}
	}
	return m
}

// Names that are set up all together may have a sum among them, East of two yards.
func TestAFigureThatComesOfOthersIsSetUpAsAYardOnlyWhereSomebodySaysSo(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what, text string
		meant      []string
		stored     int
		asked      []string
	}{
		{"a sum", "Supers,Mill,Ridge,East,Elm\n2026-07-06,12,3,15,1\n2026-07-14,8,5,13,2\n", nil, 0, []string{"1D looks_like_a_total"}},
		{"a sum that is a yard", "Supers,Mill,Ridge,East,Elm\n2026-07-06,12,3,15,1\n2026-07-14,8,5,13,2\n", []string{"East"}, 8, nil},
		{"one row says otherwise", "Supers,Mill,Ridge,East,Elm\n2026-07-06,12,3,15,1\n2026-07-14,8,5,14,2\n", nil, 8, nil},
		{"one row of many says otherwise", "Supers,Mill,Ridge,East\n2026-07-06,12,3,15\n2026-07-07,8,5,14\n2026-07-08,2,3,5\n2026-07-09,4,3,7\n2026-07-10,6,3,9\n2026-07-11,8,6,14\n", nil, 0, []string{"1D looks_like_a_total"}},
		{"one row alone", "Supers,Mill,Ridge,East,Elm\n2026-07-06,12,3,15,1\n", nil, 4, nil},
		{"yards that stand still", "Supers,Mill,East\n2026-07-06,12,12\n2026-07-14,8,8\n", nil, 4, nil},
		{"small numbers", "Supers,Mill,Ash,Birch\n2026-07-06,1,1,2\n2026-07-14,1,2,2\n", nil, 6, nil},
		{"two regions and all of them", "Supers,Mill,Ridge,East,Elm,Ash,West,Whole\n2026-07-06,12,3,15,1,4,5,20\n2026-07-14,8,5,13,2,6,8,21\n", nil, 0,
			[]string{"1D looks_like_a_total", "1G looks_like_a_total", "1H looks_like_a_total"}},
		{"a sum before its yards", "Supers,East,Mill,Ridge,Elm\n2026-07-06,15,12,3,4\n2026-07-14,13,8,5,2\n", nil, 0, []string{"1B looks_like_a_total"}},
		{"sums of every second yard", "Supers,Mill,Birch,Ridge,Cedar,North,South\n2026-07-06,12,3,1,4,13,7\n2026-07-14,8,5,2,6,10,11\n", nil, 0, []string{"1F looks_like_a_total", "1G looks_like_a_total"}},
		{"a difference", "Supers,Mill,Ridge,Elm\n2026-07-06,12,3,9\n2026-07-14,8,5,3\n2026-07-21,10,4,6\n", nil, 0, []string{"1D looks_like_a_total"}},
		{"a mean that is rounded", "Supers,Mill,Ridge,Elm\n2026-07-06,12,3,8\n2026-07-14,8,29,19\n2026-07-21,10,41,26\n2026-07-22,40,1,21\n", nil, 0, []string{"1D looks_like_a_total"}},
		{"rows of regions", "Yard,2026-07-06,2026-07-14\nMill,12,8\nRidge,3,5\nEast,15,13\nElm,1,2\nAsh,4,6\nWest,5,8\nWhole,20,21\n", nil, 0,
			[]string{"4A looks_like_a_total", "7A looks_like_a_total", "8A looks_like_a_total"}},
		{"a row of a region that is a yard", "Yard,2026-07-06,2026-07-14\nMill,12,8\nRidge,3,5\nEast,15,13\n", []string{"East"}, 6, nil},
		{"a running sum", "Supers,Mill,Ridge,Tally\n2026-07-06,12,3,15\n2026-07-07,8,2,25\n2026-07-08,3,1,29\n", nil, 0, []string{"1D looks_like_a_total"}},
		{"a running sum of one yard", "Yard,6/7/2026,14/7/2026,20/7/2026\nMill,12,8,3\nSecond Mill,12,20,23\n", nil, 0, []string{"3A looks_like_a_total"}},
		{"months among their days", "Yard,6 Jul 2026,14 Jul 2026,July 2026\nMill,12,8,20\n", nil, 0, []string{"1D looks_like_a_total"}},
		{"boxes and kilograms", "Date,Mill,,Ridge,,East,\n,deep,kg,deep,kg,deep,kg\n2026-07-06,12,301.5,3,80,15,381.5\n", nil, 0, []string{"1F looks_like_a_total"}},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := newHouse()
			got, asked, r := h.parted(t, importing.Pulls, table(t, row.text), setUpAll(row.meant...))
			if len(got) != row.stored || !slices.Equal(asked, row.asked) {
				t.Errorf("%v\n%v, not %d\n%v\n%s", got, asked, row.stored, row.asked, strings.Join(said(r), "\n"))
			}
		})
	}
}

// A name that says of itself that it is none is asked about, whatever is said of all the others.
func TestATargetOrAMeanIsSetUpAsAYardOnlyWhereSomebodySaysSo(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"Both", "Target", "Per hive", "Goal", "Last year", "Diff", "Left", "Mill hives", "Plan 2026", "Mill & Ridge", "Elm and Mill", "Others", "?", "Mill so far", "Ridge (sold)", "% full", "All",
		"Honey frames", "Drums filled", "People", "Moisture", "Empties left at Elm", "Personas", "Tambores", "Litros gasoil", "Leute", "Zurückgestellt", "Personnes", "Fûts",
		"Objetivo", "Año pasado", "Ambos", "Diferencia", "Soll", "Vorjahr", "Zwischensumme", "Objectif", "Année dernière", "Écart", "Diferença", "Ano passado"} {
		for _, text := range []string{"Supers,Mill," + name + ",Elm\n2026-07-06,12,4,1\n2026-07-14,8,7,2\n", "Yard,2026-07-06,2026-07-14\nMill,12,8\n" + name + ",4,7\nElm,1,2\n"} {
			h := newHouse()
			got, asked, r := h.parted(t, importing.Pulls, table(t, text), setUpAll())
			if len(r.NotRead) == 0 && (len(got) > 0 || !slices.Equal(asked, []string{"1C unknown_name"}) && !slices.Equal(asked, []string{"3A unknown_name"})) {
				t.Errorf("%s: %v %v", name, got, asked)
			}
			if got, asked, _ = h.parted(t, importing.Pulls, table(t, text), setUpAll(name)); len(r.NotRead) == 0 && len(got) != 6 {
				t.Errorf("%s, said to be a yard: %v %v", name, got, asked)
			}
		}
	}
	h := newHouse()
	if _, asked, _ := h.parted(t, importing.Pulls, table(t, "Date,Mill deep,Mill honey\n2026-07-06,12,201\n2026-07-07,8,150\n"), setUpAll()); !slices.Equal(asked, []string{"1C unknown_name"}) {
		t.Errorf("the honey of a yard: %v", asked)
	}
	for _, name := range []string{"Last Chance", "Old Mill", "Alder Bend", "Left Fork", "All Saints", "Perth", "Los Dos Hermanos", "Restlaurant", "Honey Creek", "Wax Hill", "Half Moon", "Yard 9", "Camino Viejo", "Route 66"} {
		h := newHouse()
		if got, asked, _ := h.parted(t, importing.Pulls, table(t, "Supers,Mill,"+name+",Elm\n2026-07-06,12,4,1\n2026-07-14,8,7,2\n"), setUpAll()); len(got) != 6 {
			t.Errorf("%s: %v", name, asked)
		}
	}
}

// A last row with a day may be the total of a month that does not say so.
func TestALastRowOfAWideSheetThatIsTheSumOfThoseAboveIsAskedAbout(t *testing.T) {
	t.Parallel()
	const sheet = "Supers,Mill,Ridge\n2026-07-06,12,3\n2026-07-14,8,5\n2026-07-31,20,8\n"
	for _, row := range []struct {
		what, text string
		rows       map[int]importing.Alike
		stored     int
		asked      []string
	}{
		{"it is asked", sheet, nil, 0, []string{"4 looks_like_a_total"}},
		{"it is a pull", sheet, map[int]importing.Alike{4: importing.Another}, 6, nil},
		{"it is their total", sheet, map[int]importing.Alike{4: importing.LeftAside}, 4, nil},
		{"a row follows", sheet + "2026-08-02,5,4\n", nil, 8, nil},
		{"one column says otherwise", "Supers,Mill,Ridge\n2026-07-06,12,3\n2026-07-14,8,5\n2026-07-31,20,9\n", nil, 6, nil},
	} {
		h := newHouse()
		m := deeps()
		m.Rows = row.rows
		if got, asked, r := h.parted(t, importing.Pulls, table(t, row.text), m); len(got) != row.stored || !slices.Equal(asked, row.asked) {
			t.Errorf("%s: %v %v\n%s", row.what, got, asked, strings.Join(said(r), "\n"))
		}
	}
}

// Of figures that nobody reckoned, hardly any add up so that it is asked: a seed's three hundred sheets.
func TestYardsThatAddUpByChanceAreNotAskedAbout(t *testing.T) {
	t.Parallel()
	const sheets, hardlyAny = 300, 3
	random := rand.New(rand.NewPCG(7, 14))
	asked := 0
	for range sheets {
		names := []string{"Alder", "Birch", "Cedar", "Dell", "Fern", "Gorse", "Hazel", "Juniper", "Larch", "Nettle"}[:3+random.IntN(8)]
		most, filled := []int{9, 30, 60}[random.IntN(3)], 0.3+0.7*random.Float64()
		var text strings.Builder
		text.WriteString("Supers," + strings.Join(names, ","))
		for day := range 2 + random.IntN(8) {
			text.WriteString("\n2026-07-0" + strconv.Itoa(1+day))
			for range names {
				text.WriteString(",")
				if random.Float64() < filled {
					text.WriteString(strconv.Itoa(1 + random.IntN(most)))
				}
			}
		}
		m := setUpAll()
		m.Wide.Across = importing.FieldYard
		if _, problems, _ := newHouse().parted(t, importing.Pulls, table(t, text.String()), m); slices.ContainsFunc(problems, func(p string) bool { return strings.Contains(p, "looks_like_a_total") }) {
			asked++
		}
	}
	if asked > hardlyAny {
		t.Errorf("%d of %d sheets are asked about", asked, sheets)
	}
}

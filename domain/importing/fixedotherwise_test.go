package importing_test

import (
	"fmt"
	"slices"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// Who gives one yard for all rows, and a title, the sheet's name, the file's or a row by itself says
// another, is asked: those rows would be of the wrong yard.
func TestWhatIsGivenForAllRowsIsHeldAgainstWhatTheSheetSays(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.SetUp(&ledger.Lot{Code: "L1"})
	h.SetUp(&ledger.Lot{Code: "L2"})
	type fixed = map[importing.Field]string
	const pulls = "Date,Supers\n2026-07-16,11\n"
	for _, c := range []struct {
		says              string
		of                importing.Kind
		text, sheet, file string
		fixed             fixed
		leaveOut          []int
		want              string
		mended            importing.Mapping
	}{
		{"title", importing.Pulls, "Yard: Ridge,\n" + pulls, "", "", fixed{"yard": "Mill", "super_kind": "deep"}, nil, "[1 two_values]", importing.Mapping{LeaveOutRows: []int{1}}},
		{"the same title", importing.Pulls, "Yard: Mill,\n" + pulls, "", "", fixed{"yard": "Mill", "super_kind": "deep"}, nil, "[]", importing.Mapping{}},
		{"kind", importing.Pulls, "Shallow supers,\n" + pulls, "", "", fixed{"yard": "Mill", "super_kind": "deep"}, nil, "[1 two_values]", importing.Mapping{LeaveOutRows: []int{1}}},
		{"sheet", importing.Pulls, pulls, "Ridge", "", fixed{"yard": "Mill", "super_kind": "deep"}, nil, "[0 two_values]", importing.Mapping{Rows: map[int]importing.Alike{0: importing.LeftAside}}},
		{"file", importing.Pulls, pulls, "", "ridge-2026.csv", fixed{"yard": "Mill", "super_kind": "deep"}, nil, "[1 doubtful_row]", importing.Mapping{Rows: map[int]importing.Alike{1: importing.Another}}},
		{"a row left out", importing.Pulls, "Date,Supers\n2026-07-15,12\nRidge,\n2026-07-16,11\n", "", "", fixed{"yard": "Mill", "super_kind": "deep"}, []int{3}, "[3 doubtful_row]", importing.Mapping{LeaveOutRows: []int{3}, Rows: map[int]importing.Alike{3: importing.Another}}},
		{"a row in the column of yards", importing.Pulls, "Truck,Date,Supers\nRidge,,\n,2026-07-16,11\n", "", "", fixed{"yard": "Mill", "super_kind": "deep"}, []int{2}, "[2 doubtful_row]", importing.Mapping{Rows: map[int]importing.Alike{2: importing.Another}}},
		{"day", importing.Pulls, "15 July 2026,\nYard,Supers\nMill,11\n", "", "", fixed{"date": "2026-07-14", "super_kind": "deep"}, nil, "[1 two_values]", importing.Mapping{LeaveOutRows: []int{1}}},
		{"the same day", importing.Pulls, "14 July 2026,\nYard,Supers\nMill,11\n", "", "", fixed{"date": "2026-07-14", "super_kind": "deep"}, nil, "[]", importing.Mapping{}},
		{"lot", importing.Containers, "Lot L2,,\nDrum,Date,Gross kg\n1,2026-07-14,307\n", "", "", fixed{"lot": "L1", "tank": "large tank", "container_kind": "drum"}, nil, "[1 two_values]", importing.Mapping{LeaveOutRows: []int{1}}},
		{"method", importing.Readings, "HMF by Winkler,,\nDate,Lot,HMF\n2026-07-14,L1,12\n", "", "", fixed{"hmf_method": "HPLC"}, nil, "[1 two_values]", importing.Mapping{LeaveOutRows: []int{1}}},
	} {
		of := table(t, c.text)
		of.Name = c.sheet
		m, err := importing.Guess(h.book(t), of, c.of)
		if err != nil {
			t.Fatal(err)
		}
		m.Fixed, m.LeaveOutRows = c.fixed, c.leaveOut
		take := func() *importing.Result {
			r, err := importing.Take(h.book(t), of, m, importing.Options{Outfit: h.id, By: "Ada", Now: now, File: c.file}, nil)
			if err != nil {
				t.Fatal(err)
			}
			return r
		}
		if got := fmt.Sprint(problems(take())); got != c.want {
			t.Errorf("%s: %s is asked, and %s should be", c.says, got, c.want)
		}
		m.Answer(c.mended)
		if r := take(); r.AllProblems > 0 || r.New() == 0 {
			t.Errorf("%s: %v is asked once it was answered", c.says, said(r))
		}
	}
}

// A day sheet that comes as the last one did is not of the last one's day.
func TestAsLastTimeIsNotOfTheSameDay(t *testing.T) {
	t.Parallel()
	const text = "Yard,Supers,Kind\nMill,11,deep\n"
	h := newHouse()
	first := h.guess(t, importing.Pulls, text)
	first.Fixed = map[importing.Field]string{importing.FieldDate: "2026-07-14"}
	h.brought(t, "14.csv", "aa", first)
	m, _ := h.settled(t, importing.Pulls, text, "bb", &importing.Mapping{AsLastTime: new(true)})
	if got := problems(h.check(t, text, m)); !slices.Equal(got, []string{"0 missing"}) {
		t.Errorf("%q is asked, and the day is %s", got, m.Fixed[importing.FieldDate])
	}
	m, _ = h.settled(t, importing.Pulls, text, "bb", &importing.Mapping{AsLastTime: new(true), Fixed: map[importing.Field]string{importing.FieldDate: "2026-07-15"}})
	if got := problems(h.check(t, text, m)); len(got) > 0 || m.Fixed[importing.FieldDate] != "2026-07-15" {
		t.Errorf("%q is asked, and the day is %s", got, m.Fixed[importing.FieldDate])
	}
}

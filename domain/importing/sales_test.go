package importing_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// withDrums is a house with drums of 2025 in two lots: D-01 to D-05 of 290 kg each in lot
// 25-1, and 9 in lot 25-2.
func withDrums(t *testing.T) *house {
	h := newHouse()
	h.SetUp(&ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"})
	h.bring(t, importing.Lots, "Date,Lot\n2025-08-01,25-1\n2025-08-01,25-2\n")
	text := "Drum,Lot,Date,Tank,Type,Net kg\n"
	for n := 1; n <= 5; n++ {
		text += fmt.Sprintf("D-%02d,25-1,2025-08-02,large tank,drum,290\n", n)
	}
	h.bring(t, importing.Containers, text+"9,25-2,2025-08-03,large tank,drum,280\n")
	return h
}

// left lists the dispatches of a book: when, to whom, which containers.
func left(t *testing.T, h *house) (out []string) {
	b := h.book(t)
	b.Happened(func(_ ledger.ID, e *ledger.Entry) bool {
		if d, is := e.Body.(*ledger.Dispatch); is {
			var names []string
			for _, id := range d.Containers {
				names = append(names, b.Name(id))
			}
			out = append(out, fmt.Sprintf("%s %s: %s %s %v", e.OccurredAt.Format(time.DateOnly), b.Name(d.BuyerID), strings.Join(names, " "), d.Reference, d.BeforeBook))
		}
		return true
	})
	return out
}

func TestWhatWasSoldBeforeTheBookBeganIsNotInStock(t *testing.T) {
	t.Parallel()
	newBuyer := func(m *importing.Mapping) {
		m.Names = map[importing.Noun]map[string]importing.Choice{"buyer": {"*": {Create: &importing.Thing{}}}}
	}
	for _, row := range []struct{ text, want string }{
		{"Date,Buyer,Drum,Net kg,Invoice\n2025-10-01,packer,D-01,290,17\n2025-10-01,Packer,D-02,,17\n2025-10-02,Northgate,9,280,\n",
			"[2025-10-01 packer: D-01 D-02 17 true 2025-10-02 Northgate: 9  true]"},
		{"Fecha de venta;Comprador;Tambores;Tambor;Peso neto kg\n1/10/2025;packer;4;D-01 a D-04;1160\n14/10/2025;Northgate;;9;280,0\n",
			"[2025-10-01 packer: D-01 D-02 D-03 D-04  true 2025-10-14 Northgate: 9  true]"},
		{"Sold on,Customer,Drums\n2025-10-01,packer,D-01\n", ""}, // "drums" is how many
		{"Sold on,Customer,Numbers\n2025-10-01,packer,\"D-01, D-03 and D-05\"\n2025-10-02,packer,d-02;9\n",
			"[2025-10-01 packer: D-01 D-03 D-05  true 2025-10-02 packer: D-02 9  true]"},
		{"Sold on,Customer,Drum numbers\n2025-10-01,packer,D-01-D-03\n2025-10-02,packer,D-04-05\n",
			"[2025-10-01 packer: D-01 D-02 D-03  true 2025-10-02 packer: D-04 D-05  true]"},
		{"Sold on,Customer,Lot,Drums,Net kg\n2025-10-01,packer,25-1,5,\n2025-10-02,packer,25-2,,279.6\n",
			"[2025-10-01 packer: D-01 D-02 D-03 D-04 D-05  true 2025-10-02 packer: 9  true]"},
	} {
		h := withDrums(t)
		if row.want == "" {
			m := h.guess(t, importing.Sales, row.text)
			if got := problems(h.check(t, row.text, m)); !reflect.DeepEqual(got, []string{"0 missing"}) {
				t.Errorf("%q: %v", row.text, got)
			}
			continue
		}
		h.bring(t, importing.Sales, row.text, newBuyer)
		if got := fmt.Sprint(left(t, h)); got != row.want {
			t.Errorf("%q:\n%s\nby hand %s", row.text, got, row.want)
		}
		for _, f := range h.book(t).State().Flags() {
			if f.Code == ledger.NotReleased || f.Code == ledger.ContainerEmpty {
				t.Errorf("%q: %s", row.text, f.Code)
			}
		}
		if r := h.bring(t, importing.Sales, row.text, newBuyer); r.New() != 0 || r.HadRows != r.Rows {
			t.Errorf("%q again brought %d, and had %d of %d rows", row.text, r.New(), r.HadRows, r.Rows)
		}
	}
}

// A sheet that goes on brings what is new in it, to the same buyer on the same day too.
func TestASheetOfSalesThatGoesOnBringsTheRest(t *testing.T) {
	t.Parallel()
	h := withDrums(t)
	const text = "Date,Buyer,Drum\n2025-10-01,packer,D-01\n"
	h.bring(t, importing.Sales, text)
	if r := h.bring(t, importing.Sales, text+"2025-10-01,packer,D-02\n"); r.HadRows != 1 {
		t.Errorf("%d rows were had", r.HadRows)
	}
	if got := left(t, h); len(got) != 2 || !slices.Contains(got, "2025-10-01 packer: D-02  true") {
		t.Errorf("%q", got)
	}
}

func TestWhatIsUnclearOfSalesIsAsked(t *testing.T) {
	t.Parallel()
	const head = "Date,Buyer,Drum,Lot,How many,Net kg\n"
	for _, row := range []struct {
		what, text string
		want       []string
		says       string
	}{
		{"a part of a lot", head + "2025-10-01,packer,,25-1,3,\n", []string{"2D two_values"}, "Lot 25-1 has 5 containers here, of 1450 kg in all"},
		{"a lot, and not how much of it", head + "2025-10-01,packer,,25-1,,\n", []string{"2D two_values"}, "Say which of them were sold"},
		{"a weight that is another", head + "2025-10-01,packer,D-01,,,209\n", []string{"2F two_values"}, "The book has 290 kg in these containers, and the row says 209 kg"},
		{"a gross for a net", head + "2025-10-01,packer,D-01,,,307\n", []string{"2F two_values"}, "says 307 kg"},
		{"fewer than the range has", head + "2025-10-01,packer,D-01 to D-05,,4,\n", []string{"2E two_values"}, "names 5 containers, and says that it was 4"},
		{"another lot's drum", head + "2025-10-01,packer,9,25-1,,\n", []string{"2D two_values"}, "Container 9 is of lot 25-2, and the row says lot 25-1"},
		{"a drum that the book has not", head + "2025-10-01,packer,D-07,,,\n", []string{"2C unknown_name"}, "no container \"D-07\""},
		{"one of a list that the book has not", head + "2025-10-01,packer,\"D-01, D-77\",,,\n", []string{"2C unknown_name"}, "\"D-77\""},
		{"a range that is a month", head + "2025-10-01,packer,Dec-18,,,\n", []string{"2C unknown_name"}, "\"Dec-18\""},
		{"a range with an end that is none", head + "2025-10-01,packer,D-03 to D-08,,,\n", []string{"2C unknown_name"}, "\"D-03 to D-08\""},
		{"one drum sold twice", head + "2025-10-01,packer,D-01,,,\n2025-10-02,packer,D-01,,,\n", []string{"3C two_values"}, "sold in row 2 already"},
		{"one drum twice in a list", head + "2025-10-01,packer,\"D-01, D-02, D-01\",,,\n", []string{"2C two_values"}, "stands here twice"},
		{"sold before it was filled", head + "2025-07-01,packer,D-01,,,\n", []string{"2A two_values"}, "was filled on 2 August 2025"},
		{"a buyer whom nobody knows", head + "2025-10-01,Northgate,D-01,,,\n", []string{"2B unknown_name"}, "no buyer"},
		{"a buyer spelt otherwise", head + "2025-10-01,pakcer,D-01,,,\n", []string{"2B unknown_name"}, `Was "packer" meant?`},
		{"nothing that was sold", head + "2025-10-01,packer,,,,\n", []string{"2C missing"}, "names no container and no lot"},
		{"a sum", head + "2025-10-01,packer,D-01,,,290\nTotal,,,,,290\n", []string{"3 looks_like_a_total"}, "sum of the others"},
		{"a sale of the season that goes on", head + "2026-10-01,packer,D-01,,,\n", []string{"2C refused_by_book"}, "it has not been released"},
	} {
		t.Run(row.what, func(t *testing.T) {
			t.Parallel()
			h := withDrums(t)
			r := h.check(t, row.text, h.guess(t, importing.Sales, row.text))
			if got := problems(r); !reflect.DeepEqual(got, row.want) {
				t.Fatalf("%v; %v", got, said(r))
			}
			if last := r.Problems[len(r.Problems)-1].Message.String(); !strings.Contains(last, row.says) {
				t.Errorf("it says: %s", last)
			}
		})
	}
}

// A container whose own number looks like a range is asked about where it can be both.
func TestANumberThatIsAContainerAndARangeIsAsked(t *testing.T) {
	t.Parallel()
	h := withDrums(t)
	h.bring(t, importing.Containers, "Drum,Lot,Date,Tank,Type,Net kg\n12,25-1,2025-08-02,large tank,drum,290\n18,25-1,2025-08-02,large tank,drum,290\n12-18,25-1,2025-08-02,large tank,drum,290\n")
	const text = "Date,Buyer,Drum\n2025-10-01,packer,12-18\n"
	r := h.check(t, text, h.guess(t, importing.Sales, text))
	if got := problems(r); !reflect.DeepEqual(got, []string{"2C two_values"}) || !strings.Contains(said(r)[0], "all from 12 to 18") {
		t.Errorf("%v, %v", got, said(r))
	}
	h.bring(t, importing.Sales, text, func(m *importing.Mapping) {
		m.Names = map[importing.Noun]map[string]importing.Choice{"container": {"12-18": {Is: "12-18"}}}
	})
	if got := fmt.Sprint(left(t, h)); got != "[2025-10-01 packer: 12-18  true]" {
		t.Error(got)
	}
}

// Once somebody has recorded something that happened, what left since is judged as it
// leaves: a sheet is no way round a release.
func TestASheetIsNoWayRoundARelease(t *testing.T) {
	t.Parallel()
	h := withDrums(t)
	began := time.Date(2025, time.September, 1, 12, 0, 0, 0, time.UTC)
	h.Put(ledger.Entry{ID: ledger.ID{15: 9, 6: 0x40, 8: 0x80}, Kind: ledger.KindHiveCount, OccurredAt: began, RecordedAt: began, RecordedBy: "Ada", Via: ledger.ViaPaper,
		Body: &ledger.HiveCount{YardID: h.Mill, Name: "by hand", Hives: 3}})
	const text = "Date,Buyer,Drum\n2025-08-20,packer,D-01\n2025-10-01,packer,D-02\n"
	r := h.check(t, text, h.guess(t, importing.Sales, text))
	if got := problems(r); !reflect.DeepEqual(got, []string{"3C refused_by_book"}) || !strings.Contains(said(r)[0], "it has not been released") {
		t.Errorf("%v, %v", got, said(r))
	}
}

// Nobody judges what left before the book began: the row's note says how it is known, or the
// sheet's name does.
func TestWhatWasSoldBeforeTheBookSaysHowThatIsKnown(t *testing.T) {
	t.Parallel()
	h := withDrums(t)
	const text = "Date,Buyer,Drum,Note\n2025-10-01,packer,D-01,fetched by his son\n2025-10-02,packer,D-02,\n"
	var notes []string
	r, err := importing.Take(h.book(t).Ahead(), table(t, text), h.guess(t, importing.Sales, text), importing.Options{Outfit: h.id, By: "Ada", Now: now, File: "sold 2025.csv"},
		func(e *ledger.Entry) error { notes = append(notes, e.Body.(*ledger.Dispatch).Note); return nil })
	if err != nil || len(r.Problems) > 0 || !slices.Equal(notes, []string{"fetched by his son", "sold 2025.csv"}) {
		t.Errorf("%q, %v, %v", notes, said(r), err)
	}
}

// A sheet of 2025 cannot know of a recall since: it takes nothing out of that lot.
func TestNoSheetTakesAnythingOutOfALotThatIsHeldSince(t *testing.T) {
	t.Parallel()
	h := withDrums(t)
	var lot ledger.ID
	h.book(t).InForceOf(ledger.KindLot, func(root ledger.ID, e *ledger.Entry) bool {
		if e.Body.(*ledger.Lot).Code == "25-1" {
			lot = root
		}
		return true
	})
	h.Put(ledger.Entry{ID: ledger.ID{15: 9, 6: 0x40, 8: 0x80}, Kind: ledger.KindLotStatus, OccurredAt: now, RecordedAt: now, RecordedBy: "Ada",
		Body: &ledger.LotStatus{LotID: lot, Status: ledger.StatusHeld, Why: ledger.HeldForRecall}})
	const text = "Date,Buyer,Drum\n2025-10-01,packer,D-01\n2025-10-02,packer,9\n"
	r := h.check(t, text, h.guess(t, importing.Sales, text))
	if got := problems(r); !reflect.DeepEqual(got, []string{"2C refused_by_book"}) || !strings.Contains(said(r)[0], "held (recall") || !strings.Contains(said(r)[0], "no sheet takes it out") {
		t.Errorf("%v, %v", got, said(r))
	}
}

// A sheet of sales that comes again says with another invoice, a note or another drum what the
// book would not have.
func TestASheetOfSalesThatWasMendedIsAskedAbout(t *testing.T) {
	t.Parallel()
	const head = "Date,Buyer,Drum,Invoice,Notes\n"
	const once = head + "2025-10-01,packer,D-01,17,\n2025-10-01,packer,D-02,17,paid\n"
	h := withDrums(t)
	h.bring(t, importing.Sales, once)
	for _, row := range []struct {
		from, to string
		want     []string
		says     string
	}{
		{"D-01,17", "D-01,71", []string{"2D two_values"}, "entry 23, with something else"},
		{"D-01,17,", "D-01,17,two seals", []string{"2E two_values"}, "entry 23, with something else"},
		{"D-01,17", "D-01,", nil, ""},
		{"17,paid", "17,", nil, ""},
		{"D-02", "D-03", []string{"3 like_recorded"}, "container D-02 in this sale too"},
		{"D-02,17,paid\n", "D-02,17,paid\n2025-10-01,packer,D-03,17,\n", nil, ""},
	} {
		mended := strings.Replace(once, row.from, row.to, 1)
		m := h.guess(t, importing.Sales, mended)
		r := h.check(t, mended, m)
		if got := problems(r); !slices.Equal(got, row.want) || row.says != "" && !strings.Contains(said(r)[0], row.says) {
			t.Errorf("%q for %q: %v, %v", row.to, row.from, got, said(r))
		}
		m.Rows = map[int]importing.Alike{3: importing.Another}
		if got := problems(h.check(t, mended, m)); row.to == "D-03" && got != nil {
			t.Errorf("both left: %v", got)
		}
	}
	other := head + "2025-10-01,packer,D-03,18,\n" // another sheet of the day
	if got := problems(h.check(t, other, h.guess(t, importing.Sales, other))); got != nil {
		t.Errorf("another sheet: %v", got)
	}
}

// A reading of a drum that was not filled yet, or that left, may be of another drum with its number.
func TestAReadingOfADrumThatIsNotHereIsAskedAbout(t *testing.T) {
	t.Parallel()
	h := withDrums(t)
	h.bring(t, importing.Sales, "Date,Buyer,Drum\n2025-10-01,packer,D-01\n")
	const head = "Date,Drum,Moisture\n"
	for row, want := range map[string][]string{
		"2025-08-02,D-01,17.2\n": nil,
		"2025-10-01,D-01,17.2\n": nil,
		"2026-03-01,D-02,17.2\n": nil,
		"2025-08-01,D-01,17.2\n": {"2B two_values"},
		"2026-03-01,D-01,17.2\n": {"2B unknown_name"},
	} {
		m := h.guess(t, importing.Readings, head+row)
		if got := problems(h.check(t, head+row, m)); !slices.Equal(got, want) {
			t.Errorf("%q: %v", row, got)
		}
		m.Names = map[importing.Noun]map[string]importing.Choice{"container": {"D-01": {Is: "D-01"}}}
		if got := problems(h.check(t, head+row, m)); want != nil && want[0] == "2B unknown_name" && got != nil {
			t.Errorf("a sample that was kept: %v", got)
		}
	}
}

// D1-D5 are five drums, and no drum's number.
func TestARangeOfDrumsIsNoDrum(t *testing.T) {
	t.Parallel()
	h := withDrums(t)
	for number, several := range map[string]bool{"E1-E5": true, "E-01–E-05": true, "E5-E1": false, "26-1": false, "E1-1": false, "12 to 18": true, "11 - 14": true, "26 - 1": false} {
		text := "Drum,Lot,Date,Tank,Type,Net kg\n" + number + ",25-1,2025-08-02,large tank,drum,290\n"
		if got := problems(h.check(t, text, h.guess(t, importing.Containers, text))); (got != nil) != several {
			t.Errorf("%s: %v", number, got)
		}
	}
}

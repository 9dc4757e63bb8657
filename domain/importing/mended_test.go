package importing_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// What a second row of a run says of the run itself is asked about where it would be lost.
func TestASecondRowOfARunThatSaysOtherwiseIsAsked(t *testing.T) {
	t.Parallel()
	const head = "Date,Run,Honey kg,Tank,Frames,Wax kg,Notes\n2026-07-02,1,300,large tank,30,5,\n"
	for _, row := range []struct {
		what, text string
		want       []string
		says       string
	}{
		{"the same frames", head + "2026-07-02,1,200,large tank,30,,second barrel\n", nil, ""},
		{"no frames", head + "2026-07-02,1,200,large tank,,,\n", nil, ""},
		{"other frames", head + "2026-07-02,1,200,large tank,28,,\n", []string{"3E two_values"}, "Row 2 says 30 frames a side of the same run"},
		{"frames that the first row does not say", strings.Replace(head, ",30,5", ",,5", 1) + "2026-07-02,1,200,large tank,28,,\n", []string{"3E two_values"}, "does not say the frames a side"},
		{"other wax", head + "2026-07-02,1,200,large tank,,3,\n", []string{"3F two_values"}, "Row 2 says how much wax this run gave already"},
		{"the same wax once more", head + "2026-07-02,1,200,large tank,,5,\n", []string{"3F two_values"}, "all of a run's wax in one row"},
		{"a note without honey", head + "2026-07-02,1,,,,,stopped early\n", []string{"3G two_values"}, "put the note into that row"},
		{"another run of the day", head + "2026-07-02,2,200,large tank,28,3,\n", nil, ""},
	} {
		h := newHouse()
		r := h.check(t, row.text, h.guess(t, importing.Runs, row.text))
		if got := problems(r); !reflect.DeepEqual(got, row.want) {
			t.Errorf("%s: %v; %v", row.what, got, said(r))
		} else if row.want != nil && !strings.Contains(said(r)[0], row.says) {
			t.Errorf("%s: it says %s", row.what, said(r)[0])
		}
	}
}

// A sheet of runs that was mended does not add its wax to that of before, and its frames
// are not passed over.
func TestASheetOfRunsThatWasMendedIsAskedAbout(t *testing.T) {
	t.Parallel()
	const once = "Date,Run,Honey kg,Tank,Frames,Wax kg\n2026-07-02,1,300,large tank,30,5\n"
	h := newHouse()
	h.bring(t, importing.Runs, once)
	frames := strings.Replace(once, ",30,5", ",28,5", 1)
	if got := problems(h.check(t, frames, h.guess(t, importing.Runs, frames))); !reflect.DeepEqual(got, []string{"2E two_values"}) {
		t.Errorf("other frames: %v", got)
	}
	wax := strings.Replace(once, ",30,5", ",30,6", 1)
	r := h.check(t, wax, h.guess(t, importing.Runs, wax))
	if got := problems(r); !reflect.DeepEqual(got, []string{"2 like_recorded"}) || !strings.Contains(said(r)[0], "5 kg of wax") {
		t.Fatalf("other wax: %v, %v", got, said(r))
	}
	h.bring(t, importing.Runs, wax, func(m *importing.Mapping) { m.Alike = importing.Corrects })
	var sum int64
	h.book(t).InForceOf(ledger.KindRunEnd, func(_ ledger.ID, e *ledger.Entry) bool {
		sum += e.Body.(*ledger.RunEnd).WaxG
		return true
	})
	if sum != 6000 {
		t.Errorf("the run gave %d g of wax, by the mended sheet 6000", sum)
	}
}

// A container's number is its name: a row that comes again with another weight, tare or seal
// corrects it, or is left out.
func TestAContainerThatComesAgainMendedIsAskedAbout(t *testing.T) {
	t.Parallel()
	const once = "Drum,Lot,Date,Tank,Type,Gross kg,Tare kg,Seal\nD1,26-1,2026-08-02,large tank,drum,307,17,A\nD2,26-1,2026-08-02,large tank,drum,306,17,B\n"
	for _, row := range []struct {
		what, from, to string
	}{
		{"gross", "D1,26-1,2026-08-02,large tank,drum,307", "D1,26-1,2026-08-02,large tank,drum,305"},
		{"tare", "307,17", "307,18"},
		{"seal", "17,A", "17,AA"},
		{"day", "D1,26-1,2026-08-02", "D1,26-1,2026-08-03"},
		{"number, in other letters, and gross", "D1,26-1,2026-08-02,large tank,drum,307", "d1,26-1,2026-08-02,large tank,drum,304"},
	} {
		h := newHouse()
		h.bring(t, importing.Lots, "Date,Lot\n2026-08-01,26-1\n2026-08-01,26-2\n")
		h.bring(t, importing.Containers, once)
		mended := strings.Replace(once, row.from, row.to, 1)
		r := h.check(t, mended, h.guess(t, importing.Containers, mended))
		if got := problems(r); !reflect.DeepEqual(got, []string{"2 like_recorded"}) || !strings.Contains(said(r)[0], `container "D1" of this lot`) || len(r.Problems[0].DidYouMean) != 2 {
			t.Errorf("%s: %v, %v", row.what, got, said(r))
			continue
		}
		left := h.bring(t, importing.Containers, mended, func(m *importing.Mapping) { m.Alike = importing.LeftAside })
		if left.New() != 0 || left.LeftOut != 1 || left.HadRows != 1 {
			t.Errorf("%s left out: %d new, %d left out, %d had", row.what, left.New(), left.LeftOut, left.HadRows)
		}
		h.bring(t, importing.Containers, mended, func(m *importing.Mapping) { m.Alike = importing.Corrects })
		fills := map[string]string{}
		h.book(t).InForceOf(ledger.KindFill, func(_ ledger.ID, e *ledger.Entry) bool {
			f := e.Body.(*ledger.Fill)
			fills[strings.ToLower(f.Container)] = fmt.Sprint(f.Container, ",26-1,", e.OccurredAt.Format("2006-01-02"), ",large tank,drum,", f.GrossG/1000, ",", f.TareG/1000, ",", f.Seal)
			return true
		})
		if want := strings.Split(mended, "\n")[1]; len(fills) != 2 || fills["d1"] != want {
			t.Errorf("%s: the book has %v, the sheet says %s", row.what, fills, want)
		}
	}
	h := newHouse()
	h.bring(t, importing.Lots, "Date,Lot\n2026-08-01,26-1\n2026-08-01,26-2\n")
	h.bring(t, importing.Containers, once)
	other := strings.Replace(once, "D1,26-1", "D1,26-2", 1)
	if got := problems(h.check(t, other, h.guess(t, importing.Containers, other))); !reflect.DeepEqual(got, []string{"2A refused_by_book"}) {
		t.Errorf("the number of another lot's container: %v", got)
	}
}

// The book refuses a number that is in use to another filling, so that is no answer until the
// honey was taken back out.
func TestAContainersNumberIsAnotherFillingsOnlyOnceItIsFree(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Lots, "Date,Lot\n2026-08-01,26-1\n")
	const once = "Drum,Lot,Date,Tank,Type,Gross kg\nD1,26-1,2026-08-02,large tank,drum,307\n"
	h.bring(t, importing.Containers, once)
	again := strings.Replace(once, "08-02,large tank,drum,307", "08-20,large tank,drum,305", 1)
	another := h.guess(t, importing.Containers, again)
	another.Rows = map[int]importing.Alike{2: importing.Another}
	asked := func() (string, []string) {
		r := h.check(t, again, another)
		if len(r.Problems) == 0 {
			return "", nil
		}
		return string(r.Problems[0].Code), r.Problems[0].DidYouMean
	}
	if code, answers := asked(); code != "like_recorded" || !reflect.DeepEqual(answers, []string{"correct", "leave_out"}) {
		t.Errorf("in use, it asks %s with %v", code, answers)
	}
	fill, _ := h.book(t).Names(ledger.KindFill, "d1")
	h.Write(24*40, ledgertest.Move(ledger.PlaceContainer, fill, ledger.PlaceTank, h.Settling, 290_000))
	if code, _ := asked(); code != "" {
		t.Errorf("free again, it asks %s", code)
	}
	another.Rows = nil
	if code, answers := asked(); code != "" {
		t.Errorf("free again and not answered, it asks %s with %v", code, answers)
	}
}

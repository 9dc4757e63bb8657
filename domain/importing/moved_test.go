package importing_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// inForce are the bodies of what stands of a kind, as text.
func inForce(t testing.TB, h *house, kind ledger.Kind) (out []string) {
	t.Helper()
	b := h.book(t)
	b.InForceOf(kind, func(_ ledger.ID, e *ledger.Entry) bool {
		out = append(out, e.OccurredAt.Format("01-02 15:04 ")+string(marshal(t, e.Body)))
		return true
	})
	return sorted(out)
}

// A sheet that comes again with another day, yard, tank or number in a row tells of the same
// thing: it is asked about, and as a correction leaves the book as if the mended sheet alone
// had come.
func TestARowWhoseDayOrNameWasMendedIsNoSecondOne(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		kind           importing.Kind
		of             ledger.Kind
		once, from, to string
		but            string
	}{
		{importing.Pulls, ledger.KindPull, "Date,Yard,Supers,Kind,Gross kg\n2026-07-02,Mill,10,deep,350\n2026-07-03,Ridge,12,deep,420\n", "07-02,Mill", "07-05,Mill", "but for the date"},
		{importing.Pulls, ledger.KindPull, "Date,Yard,Supers,Kind,Gross kg\n2026-07-02,Mill,10,deep,350\n2026-07-03,Ridge,12,deep,420\n", "Mill", "Ridge", "but for the yard"},
		{importing.HiveCounts, ledger.KindHiveCount, "Date,Yard,Count,Hives\n2026-05-01,Mill,spring,40\n2026-05-02,Ridge,spring,30\n", "05-01", "05-04", "but for the date"},
		{importing.Readings, ledger.KindReading, "Date,Tank,Moisture\n2026-07-02,sump,17.4\n2026-07-03,sump,17.6\n", "02,sump", "02,large tank", "but for the tank"},
		{importing.Readings, ledger.KindReading, "Date,Time,Tank,Moisture\n2026-07-02,09:00,sump,17.4\n2026-07-03,9:00,sump,17.6\n", "09:00", "10:30", "but for the date"},
		{importing.Transfers, ledger.KindMovement, "Date,From,To,Honey kg\n2026-07-02,sump,large tank,100\n2026-07-03,sump,large tank,120\n", "07-02", "07-04", "but for the date"},
		{importing.Transfers, ledger.KindMovement, "Date,From,To,Honey kg\n2026-07-02,sump,large tank,100\n2026-07-03,sump,large tank,120\n", "02,sump,large tank", "02,drain,large tank", "but for the from tank"},
		{importing.Runs, ledger.KindMovement, "Date,Run,Honey kg,Tank\n2026-07-02,1,300,sump\n2026-07-02,2,400,sump\n", "300,sump", "300,large tank", "but for the tank"},
		{importing.Containers, ledger.KindFill, "Drum,Lot,Date,Tank,Type,Gross kg\nD1,26-1,2026-08-02,large tank,drum,307\nD2,26-1,2026-08-02,large tank,drum,306\n", "D1", "D7", "but for the container"},
	} {
		mended := strings.Replace(row.once, row.from, row.to, 1)
		setUp := func() *house {
			h := newHouse()
			h.SetUp(&ledger.Tank{Name: "drain", Use: ledger.Sump, CapacityG: 100_000})
			h.bring(t, importing.Lots, "Date,Lot\n2026-08-01,26-1\n")
			return h
		}
		h, alone := setUp(), setUp()
		alone.bring(t, row.kind, mended)
		h.bring(t, row.kind, row.once)
		r := h.check(t, mended, h.guess(t, row.kind, mended))
		if got := problems(r); !slices.Equal(got, []string{"2 like_recorded"}) || !strings.Contains(said(r)[0], row.but) {
			t.Errorf("%q for %q: %v, it says %v", row.to, row.from, got, said(r))
			continue
		}
		another := h.guess(t, row.kind, mended)
		another.Rows = map[int]importing.Alike{2: importing.Another}
		if got := problems(h.check(t, mended, another)); got != nil {
			t.Errorf("%q for %q, another one: %v", row.to, row.from, got)
		}
		if r := h.bring(t, row.kind, mended, func(m *importing.Mapping) { m.Alike = importing.LeftAside }); r.New() != 0 || r.LeftOut != 1 {
			t.Errorf("%q for %q, left out: %d new, %d left out", row.to, row.from, r.New(), r.LeftOut)
		}
		h.bring(t, row.kind, mended, func(m *importing.Mapping) { m.Alike = importing.Corrects })
		if got, want := inForce(t, h, row.of), inForce(t, alone, row.of); !slices.Equal(got, want) {
			t.Errorf("%q for %q: the book has\n%s\nand with the mended sheet alone\n%s", row.to, row.from, strings.Join(got, "\n"), strings.Join(want, "\n"))
		}
		if r := h.bring(t, row.kind, mended); r.New() != 0 || r.HadRows != 2 {
			t.Errorf("%q for %q, once more: %d new, %d had", row.to, row.from, r.New(), r.HadRows)
		}
	}
}

// A run or lot that is called otherwise in a sheet that comes again is asked about; others name
// it, so that the book's own is corrected first.
func TestARunOrLotThatIsCalledOtherwiseIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		kind           importing.Kind
		once, from, to string
		says           string
	}{
		{importing.Runs, "Date,Run,Honey kg,Tank\n2026-07-02,1,300,sump\n2026-07-03,2,400,sump\n", "02,1", "02,1a", "but for the name"},
		{importing.Runs, "Date,Run,Honey kg,Tank\n2026-07-02,1,300,sump\n2026-07-03,2,400,sump\n", "07-02", "07-05", "but for the date"},
		{importing.Lots, "Date,Lot,Product\n2026-08-01,26-1,clover\n2026-08-02,26-2,thistle\n", "26-1", "26-9", "but for the lot"},
		{importing.Yards, "Yard,Reg no\nAlder,MB-1\nBirch,MB-2\n", "Alder", "Alder Flat", "but for the name"},
	} {
		h := newHouse()
		h.bring(t, row.kind, row.once)
		mended := strings.Replace(row.once, row.from, row.to, 1)
		m := h.guess(t, row.kind, mended)
		r := h.check(t, mended, m)
		if got := problems(r); !slices.Equal(got, []string{"2 like_recorded"}) || !strings.Contains(said(r)[0], row.says) {
			t.Errorf("%q for %q: %v, %v", row.to, row.from, got, said(r))
		}
		m.Rows = map[int]importing.Alike{2: importing.Another}
		if got := problems(h.check(t, mended, m)); got != nil {
			t.Errorf("%q for %q, two of them: %v", row.to, row.from, got)
		}
	}
}

// A sheet of the next weeks asks nothing, whether it says the weeks before too or not.
func TestTheNextSheetOfTheSameKindAsksNothing(t *testing.T) {
	t.Parallel()
	h := newHouse()
	const head = "Date,Yard,Supers,Kind,Gross kg\n"
	first, second, third := "2026-07-02,Mill,10,deep,350\n", "2026-07-09,Mill,10,deep,350\n", "2026-07-16,Mill,10,deep,350\n"
	h.bring(t, importing.Pulls, head+first)
	h.bring(t, importing.Pulls, head+first+second)
	h.bring(t, importing.Pulls, head+third)
	if got := len(standing(t, h)); got != 3 {
		t.Errorf("%d pulls stand, of three weeks", got)
	}
	// A sheet that shares one row of eleven is another sheet.
	h = newHouse()
	many := head
	for day := range 11 {
		many += fmt.Sprintf("2026-07-%02d,Ridge,%d,deep,\n", day+1, day+3)
	}
	h.bring(t, importing.Pulls, many)
	h.bring(t, importing.Pulls, head+"2026-07-01,Ridge,3,deep,\n2026-07-20,Ridge,9,deep,\n")
	// A sheet of the last three days, each day, with figures that come again.
	const moistures = "Date,Tank,Moisture\n"
	days := []string{"2026-07-01,sump,17.1\n", "2026-07-02,sump,17.2\n", "2026-07-03,sump,17.3\n", "2026-07-04,sump,17.1\n", "2026-07-05,sump,17.2\n"}
	for from := range 3 {
		h.bring(t, importing.Readings, moistures+strings.Join(days[from:from+3], ""))
	}
	if got := len(bodies[ledger.Reading](h)); got != 5 {
		t.Errorf("%d readings, of five days", got)
	}
}

// A row that somebody took out of a sheet stays in the book until it is withdrawn there, and that is
// said.
func TestARowThatASheetNoLongerHasIsAskedAbout(t *testing.T) {
	t.Parallel()
	const head = "Date,Yard,Supers,Kind,Gross kg\n"
	a, b, c, d := "2026-07-02,Mill,10,deep,350\n", "2026-07-03,Ridge,12,deep,420\n", "2026-07-09,Mill,8,deep,280\n", "2026-07-16,Mill,9,deep,310\n"
	for _, row := range []struct {
		what, again string
		want        []string
	}{
		{"taken out of the middle", head + a + c, []string{"1 like_recorded"}},
		{"taken out, and one more", head + a + c + d, []string{"1 like_recorded"}},
		{"the later part of it", head + c + d, nil},
		{"the first part of it", head + a, nil},
		{"another time", head + d, nil},
		{"sorted otherwise", head + c + b + a, nil},
	} {
		h := newHouse()
		h.bring(t, importing.Pulls, head+a+b+c)
		m := h.guess(t, importing.Pulls, row.again)
		r := h.check(t, row.again, m)
		if got := problems(r); !slices.Equal(got, row.want) {
			t.Errorf("%s: %v, %v", row.what, got, said(r))
			continue
		}
		if row.want == nil {
			continue
		}
		if !strings.Contains(said(r)[0], "from Ridge, 12 supers") {
			t.Errorf("%s: it says %s", row.what, said(r)[0])
		}
		m.Rows = map[int]importing.Alike{1: importing.Another}
		if got := problems(h.check(t, row.again, m)); got != nil {
			t.Errorf("%s, it happened: %v", row.what, got)
		}
		h.Withdraw(h.Entries[len(h.Entries)-3].ID) // Ridge's, before the third and the import
		if got := problems(h.check(t, row.again, h.guess(t, importing.Pulls, row.again))); got != nil {
			t.Errorf("%s, withdrawn: %v", row.what, got)
		}
	}
}

package importing_test

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

const (
	pullsOnce   = "Date,Yard,Supers,Kind,Gross kg,Note\n2026-07-06,Mill,12,deep,360,\n2026-07-06,Ridge,3,deep,90,\n2026-07-07,Mill,5,deep,150,\n"
	pullsMended = "Date,Yard,Supers,Kind,Gross kg,Note\n2026-07-06,Mill,12,deep,380,weighed again\n2026-07-06,Ridge,3,deep,90,\n2026-07-07,Mill,5,deep,150,\n2026-07-08,Mill,4,deep,120,\n"
)

// standing are the pulls of a book that stand, in grams by their days.
func standing(t testing.TB, h *house) (out []string) {
	t.Helper()
	h.book(t).Happened(func(_ ledger.ID, e *ledger.Entry) bool {
		if p, is := e.Body.(*ledger.Pull); is {
			out = append(out, fmt.Sprintf("%s %d", e.OccurredAt.Format("2"), p.GrossG/1000))
		}
		return true
	})
	return out
}

// A sheet that comes again with a figure put right is asked about: there is never a second
// pull where there was one.
func TestASheetThatWasMendedIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what string
		put  func(*importing.Mapping)
		had  int64
		left int64
		want []string
	}{
		{"it corrects", func(m *importing.Mapping) { m.Alike = importing.Corrects }, 2, 0, []string{"6 380", "6 90", "7 150", "8 120"}},
		{"it is another", func(m *importing.Mapping) { m.Alike = importing.Another }, 2, 0, []string{"6 360", "6 90", "6 380", "7 150", "8 120"}},
		{"it is left out", func(m *importing.Mapping) { m.Alike = importing.LeftAside }, 2, 1, []string{"6 360", "6 90", "7 150", "8 120"}},
		{"that row corrects", func(m *importing.Mapping) { m.Rows = map[int]importing.Alike{2: importing.Corrects} }, 2, 0, []string{"6 380", "6 90", "7 150", "8 120"}},
		{"all are others but that row", func(m *importing.Mapping) {
			m.Alike, m.Rows = importing.Another, map[int]importing.Alike{2: importing.LeftAside}
		}, 2, 1, []string{"6 360", "6 90", "7 150", "8 120"}},
	} {
		h := newHouse()
		h.bring(t, importing.Pulls, pullsOnce)
		m := h.guess(t, importing.Pulls, pullsMended)
		r := h.check(t, pullsMended, m)
		if got := problems(r); !reflect.DeepEqual(got, []string{"2 like_recorded"}) || !strings.Contains(said(r)[0], "12 supers, 360 kg") {
			t.Fatalf("%s: %v %v", row.what, got, said(r))
		}
		r = h.bring(t, importing.Pulls, pullsMended, row.put)
		got := standing(t, h)
		slices.Sort(got)
		slices.Sort(row.want)
		if !slices.Equal(got, row.want) || r.HadRows != row.had || r.LeftOut != row.left {
			t.Errorf("%s: %v, %d had, %d left out", row.what, got, r.HadRows, r.LeftOut)
		}
		// Once more, with the same answers, it adds nothing.
		r = h.bring(t, importing.Pulls, pullsMended, row.put)
		if r.New() != 0 || !slices.Equal(sorted(standing(t, h)), row.want) {
			t.Errorf("%s, again: %d new, %v", row.what, r.New(), standing(t, h))
		}
	}
}

func sorted(s []string) []string { slices.Sort(s); return s }

// What crew recorded on the spot is known when the office's sheet of the same day comes in.
func TestAPullThatWasRecordedOnTheSpotIsNotPulledAgain(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.Pull(5*24+3, h.Mill, 12, 361_500)
	text := "Date,Yard,Supers,Kind,Gross kg\n2026-07-06,Mill,12,deep,361.5\n2026-07-06,Ridge,12,deep,361.5\n"
	r := h.check(t, text, h.guess(t, importing.Pulls, text))
	if got := problems(r); !reflect.DeepEqual(got, []string{"2 like_recorded"}) {
		t.Errorf("%v", said(r))
	}
}

// Two pulls from one yard on one day are two where both are new.
func TestTwoPullsOfOneDayAreTwo(t *testing.T) {
	t.Parallel()
	h := newHouse()
	text := "Date,Yard,Supers,Kind,Gross kg\n2026-07-06,Mill,12,deep,361.5\n2026-07-06,Mill,9,deep,270\n"
	if r := h.bring(t, importing.Pulls, text); r.New() != 2 {
		t.Errorf("%d new", r.New())
	}
	// One is mended: the other is known, and not in question.
	mended := strings.Replace(text, "270", "280", 1)
	r := h.check(t, mended, h.guess(t, importing.Pulls, mended))
	if got := problems(r); !reflect.DeepEqual(got, []string{"3 like_recorded"}) || !strings.Contains(said(r)[0], "9 supers, 270 kg") {
		t.Errorf("%v", said(r))
	}
}

func TestAReadingThatComesAgainMendedIsAskedAbout(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Readings, "Date,Time,Tank,Point,Moisture\n2026-07-06,10:00,sump,top,17.4\n2026-07-06,10:00,sump,bottom,17.6\n2026-07-06,16:00,sump,top,17.5\n")
	for text, want := range map[string][]string{
		"2026-07-06,10:00,sump,top,17.9\n":                                 {"2 like_recorded"},
		"2026-07-06,10:00,sump,middle,17.9\n":                              nil,
		"2026-07-06,10:30,sump,top,17.9\n":                                 nil,
		"2026-07-06,10:00,sump,top,17.4\n2026-07-06,10:00,sump,top,17.9\n": nil,
	} {
		text = "Date,Time,Tank,Point,Moisture\n" + text
		r := h.check(t, text, h.guess(t, importing.Readings, text))
		if got := problems(r); !slices.Equal(got, want) {
			t.Errorf("%s: %v", text, said(r))
		}
	}
}

// A sheet says the day alone where somebody recorded the hour, or gets a column for it, or for
// the instrument: honey was pumped and read once.
func TestAnHourOrAnInstrumentMoreMakesNoSecondEntry(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		kind        importing.Kind
		once, again string
		want        []string
	}{
		{importing.Transfers, "Date,From,To,Honey kg\n2026-07-03,sump,large tank,100\n", "Date,Time,From,To,Honey kg\n2026-07-03,10:00,sump,large tank,100\n", []string{"2 like_recorded"}},
		{importing.Transfers, "Date,Time,From,To,Honey kg\n2026-07-03,10:14,sump,large tank,100\n", "Date,From,To,Honey kg\n2026-07-03,sump,large tank,100\n", []string{"2 like_recorded"}},
		{importing.Transfers, "Date,Time,From,To,Honey kg\n2026-07-03,10:14,sump,large tank,100\n", "Date,Time,From,To,Honey kg\n2026-07-03,15:00,sump,large tank,100\n", nil},
		{importing.Runs, "Date,Time,Run,Honey kg,Tank\n2026-07-03,09:00,1,300,sump\n", "Date,Run,Honey kg,Tank\n2026-07-03,1,300,sump\n", []string{"2 like_recorded"}},
		{importing.Readings, "Date,Tank,Instrument,Moisture\n2026-07-03,sump,refractometer,17.4\n", "Date,Time,Tank,Instrument,Moisture\n2026-07-03,9:00,sump,refractometer,17.4\n", []string{"2 like_recorded"}},
		{importing.Readings, "Date,Tank,Instrument,Moisture\n2026-07-03,sump,refractometer,17.4\n", "Date,Tank,Moisture\n2026-07-03,sump,17.4\n", []string{"2 like_recorded"}},
		{importing.Readings, "Date,Tank,Moisture\n2026-07-03,sump,17.4\n", "Date,Tank,Point,Moisture\n2026-07-03,sump,top,17.4\n", []string{"2 like_recorded"}},
		{importing.Readings, "Date,Tank,Instrument,Moisture\n2026-07-03,sump,refractometer,17.4\n", "Date,Tank,Laboratory,Conductivity\n2026-07-03,sump,Northlab,0.3\n", nil},
	} {
		h := newHouse()
		h.bring(t, row.kind, row.once)
		if got := problems(h.check(t, row.again, h.guess(t, row.kind, row.again))); !slices.Equal(got, row.want) {
			t.Errorf("%q after %q: %v", row.again, row.once, got)
		}
	}
}

// A run that somebody recorded on the spot is that of the sheet with its name and day, and its
// honey came out once.
func TestARunThatWasRecordedOnTheSpotIsTheSheets(t *testing.T) {
	t.Parallel()
	h := newHouse()
	run := h.Run(27, "First") // 2 July, 9 o'clock
	h.Write(28, ledgertest.OutBody(run, h.Sump, 150_000))
	text := "Date,Run,Honey kg,Tank\n2026-07-02,first,290,sump\n2026-07-03,first,100,sump\n"
	r := h.check(t, text, h.guess(t, importing.Runs, text))
	if got := problems(r); !slices.Equal(got, []string{"2 like_recorded"}) || !strings.Contains(said(r)[0], "150 kg") {
		t.Fatalf("%v", said(r))
	}
	h.bring(t, importing.Runs, text, func(m *importing.Mapping) { m.Rows = map[int]importing.Alike{2: importing.Corrects} })
	runs := 0
	h.book(t).InForceOf(ledger.KindRun, func(ledger.ID, *ledger.Entry) bool { runs++; return true })
	if held, _ := h.book(t).State().Holder(h.Sump); runs != 2 || held.Grams != 390_000 {
		t.Errorf("%d runs and %d g, by hand 2 and 390000", runs, held.Grams)
	}
	frames := "Date,Run,Frames\n2026-07-02,first,28\n"
	if got := problems(h.check(t, frames, h.guess(t, importing.Runs, frames))); !slices.Equal(got, []string{"2C two_values"}) {
		t.Errorf("other frames than were recorded: %v", got)
	}
}

// A run's honey that was put right is no more honey.
func TestHoneyOutOfARunIsNotDoubledByAMendedSheet(t *testing.T) {
	t.Parallel()
	h := newHouse()
	const text = "Date,Run,Honey kg,Tank\n2026-07-06,first,500,sump\n2026-07-06,first,300,sump\n"
	h.bring(t, importing.Runs, text)
	mended := strings.Replace(text, "300", "310", 1)
	r := h.check(t, mended, h.guess(t, importing.Runs, mended))
	if got := problems(r); !reflect.DeepEqual(got, []string{"3 like_recorded"}) {
		t.Fatalf("%v", said(r))
	}
	r = h.bring(t, importing.Runs, mended, func(m *importing.Mapping) { m.Alike = importing.Corrects })
	if held, _ := h.book(t).State().Holder(h.Sump); r.New() != 1 || held.Grams != 810_000 {
		t.Errorf("%d new, %d g in the sump", r.New(), held.Grams)
	}
}

// Rows that stand twice are asked about.
func TestARowThatStandsTwiceIsAskedAbout(t *testing.T) {
	t.Parallel()
	for answer, want := range map[importing.Alike]int64{importing.Another: 3, importing.LeftAside: 2} {
		h := newHouse()
		r := h.check(t, season, h.guess(t, importing.Pulls, season))
		if got := problems(r); !reflect.DeepEqual(got, []string{"4 stands_twice"}) || !strings.Contains(said(r)[0], "the same as row 3") {
			t.Errorf("%v", said(r))
		}
		for again := range 2 {
			r = h.bring(t, importing.Pulls, season, func(m *importing.Mapping) { m.Rows = map[int]importing.Alike{4: answer} })
			if len(standing(t, h)) != int(want) || again == 1 && r.New() != 0 {
				t.Errorf("%s: %d pulls stand, %d new", answer, len(standing(t, h)), r.New())
			}
		}
	}
}

// Who takes an import back takes back what came with it. An entry that was there before, and
// that the import corrected, stays.
func TestWithdrawingAnImportLeavesWhatItCorrected(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Pulls, pullsOnce)
	h.bring(t, importing.Pulls, pullsMended, func(m *importing.Mapping) { m.Alike = importing.Corrects })
	h.Withdraw(h.Entries[len(h.Entries)-1].ID)
	if got := sorted(standing(t, h)); !slices.Equal(got, []string{"6 380", "6 90", "7 150"}) {
		t.Errorf("%v", got)
	}
}

// What somebody withdrew since, a sheet that comes again brings back only where that was said.
func TestWhatWasWithdrawnSinceIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		kind importing.Kind
		of   ledger.Kind
		text string
		want []string
	}{
		{importing.Pulls, ledger.KindPull, "Date,Yard,Supers,Kind,Gross kg\n2026-07-02,Mill,10,deep,350\n2026-07-03,Ridge,12,deep,420\n", []string{"2 like_recorded"}},
		{importing.Transfers, ledger.KindMovement, "Date,From,To,Honey kg\n2026-07-02,sump,large tank,100\n", []string{"2 like_recorded"}},
		{importing.TemperatureLogs, ledger.KindTemperatureLog, "Date,Tank,Temp C\n2026-07-02 10:00,sump,30\n2026-07-02 10:10,sump,31\n", []string{"2 like_recorded"}},
		{importing.Lots, ledger.KindLot, "Date,Lot\n2026-08-01,26-1\n2026-08-02,26-2\n", []string{"2 refused_by_book"}},
		{importing.Runs, ledger.KindMovement, "Date,Run,Honey kg,Tank\n2026-07-02,1,300,sump\n", []string{"2 like_recorded"}},
	} {
		h := newHouse()
		h.bring(t, row.kind, row.text)
		before := inForce(t, h, row.of)
		for _, e := range h.Entries {
			if e.Kind == row.of {
				h.Withdraw(e.ID)
				break
			}
		}
		if got := problems(h.check(t, row.text, h.guess(t, row.kind, row.text))); !slices.Equal(got, row.want) {
			t.Errorf("%s: %v", row.kind, got)
			continue
		}
		if row.want[0] == "2 refused_by_book" {
			continue
		}
		if r := h.bring(t, row.kind, row.text, func(m *importing.Mapping) { m.Alike = importing.LeftAside }); r.New() != 0 || r.LeftOut != 1 {
			t.Errorf("%s, left out: %d new, %d left out", row.kind, r.New(), r.LeftOut)
		}
		r := h.bring(t, row.kind, row.text, func(m *importing.Mapping) { m.Alike = importing.Another })
		if got := inForce(t, h, row.of); r.New() != 1 || !slices.Equal(got, before) {
			t.Errorf("%s, brought in again: %d new, the book has %v", row.kind, r.New(), got)
		}
		if r := h.bring(t, row.kind, row.text); r.New() != 0 || row.kind != importing.TemperatureLogs && r.HadRows != r.Rows {
			t.Errorf("%s, once more: %d new", row.kind, r.New())
		}
	}
}

// What somebody corrected in the book, a sheet that comes again as it was takes back only where that
// was said.
func TestWhatWasCorrectedSinceIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		kind importing.Kind
		of   ledger.Kind
		text string
		put  func(ledger.Body) ledger.Body
		says string
	}{
		{importing.Pulls, ledger.KindPull, "Date,Yard,Supers,Kind,Gross kg\n2026-07-02,Mill,10,deep,350\n2026-07-03,Ridge,12,deep,420\n", func(b ledger.Body) ledger.Body {
			p := *b.(*ledger.Pull)
			p.GrossG = 360_000
			return &p
		}, "gross 360 kg"},
		{importing.Transfers, ledger.KindMovement, "Date,From,To,Honey kg\n2026-07-02,sump,large tank,100\n2026-07-03,sump,large tank,120\n", func(b ledger.Body) ledger.Body {
			m := *b.(*ledger.Movement)
			m.MassG = 110_000
			return &m
		}, "110 kg"},
	} {
		h := newHouse()
		h.bring(t, row.kind, row.text)
		was := inForce(t, h, row.of)
		first := h.Entries[len(h.Entries)-3]
		h.Put(ledger.Entry{OccurredAt: first.OccurredAt, Replaces: first.ID, Reason: "misread", Body: row.put(first.Body)})
		mended := inForce(t, h, row.of)
		m := h.guess(t, row.kind, row.text)
		r := h.check(t, row.text, m)
		if got := problems(r); !slices.Equal(got, []string{"2 like_recorded"}) || !strings.Contains(said(r)[0], row.says) {
			t.Errorf("%s: %v, %v", row.kind, got, said(r))
		}
		same, err := importing.Take(h.book(t), table(t, row.text), m, importing.Options{Outfit: h.id, By: "Ada", Now: now, SHA256: "00"}, nil)
		if err != nil || same.AllProblems != 0 {
			t.Errorf("%s, the very same file: %v, %v", row.kind, said(same), err)
		}
		r = h.bring(t, row.kind, row.text, func(m *importing.Mapping) { m.Alike = importing.LeftAside })
		if got := inForce(t, h, row.of); r.New() != 0 || r.LeftOut != 1 || !slices.Equal(got, mended) {
			t.Errorf("%s, left out: %d new, the book has %v", row.kind, r.New(), got)
		}
		r = h.bring(t, row.kind, row.text, func(m *importing.Mapping) { m.Alike = importing.Corrects })
		if got := inForce(t, h, row.of); r.New() != 1 || !slices.Equal(got, was) {
			t.Errorf("%s, right after all: %d new, the book has %v", row.kind, r.New(), got)
		}
		if r := h.bring(t, row.kind, row.text); r.New() != 0 || r.HadRows != 2 {
			t.Errorf("%s, once more: %d new, %d had", row.kind, r.New(), r.HadRows)
		}
	}
}

// Of a day with many readings a mended one is found by its hour, and one of the day alone by the day.
func TestOfManyReadingsOfADayTheMendedOneIsAskedAbout(t *testing.T) {
	t.Parallel()
	sheet := func(mended int, alone string) string {
		text := "Date,Time,Tank,Moisture %\n"
		for i := range 60 {
			figure := "17.2"
			if i == mended {
				figure = "18.1"
			}
			text += fmt.Sprintf("2026-07-06,%02d:%02d,sump,%s\n", 6+i/12, i%12*5, figure)
		}
		return text + alone
	}
	h := newHouse()
	const alone = "2026-07-06,,sump,16.5\n"
	h.bring(t, importing.Readings, sheet(-1, alone))
	for text, want := range map[string][]string{
		sheet(20, alone): {"22 like_recorded"},
		sheet(-1, "2026-07-06,11:59,sump,16.8\n"): {"62 like_recorded"},
		sheet(-1, "2026-07-06,14:30,sump,16.8\n"): {"62 like_recorded"},
		sheet(-1, alone): nil,
	} {
		if got := problems(h.check(t, text, h.guess(t, importing.Readings, text))); !reflect.DeepEqual(got, want) {
			t.Errorf("%.300s\nasks %q, and should %q", text, got, want)
		}
	}
}

package importing_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/tables"
)

// pulledOn are the days of the pulls of a book.
func pulledOn(h *house) (days []string) {
	for _, e := range h.Entries {
		if e.Kind == ledger.KindPull {
			days = append(days, e.OccurredAt.Format(time.DateOnly))
		}
	}
	return days
}

// A day's number is a real date: 46180 is 7 June 2026, 46186 the 13th.
func serials(texts *tables.Table) *tables.Table {
	texts.Serials = true
	return texts
}

func TestDatesThatAProgramTurnedRoundAreAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what, dates string
		answer      importing.Turned
		asked       bool
		days        []string
	}{
		{"days that are no months stayed texts", "46180 13/07/2026", "", true, nil},
		{"they are right as they stand", "46180 13/07/2026", importing.AsTheyStand, false, []string{"2026-06-07", "2026-07-13"}},
		{"they were turned round", "46180 13/07/2026", importing.TurnedRound, false, []string{"2026-07-06", "2026-07-13"}},
		{"a time of day stays", "46180.604166666664 13/07/2026", importing.TurnedRound, false, []string{"2026-07-06", "2026-07-13"}},
		{"the texts have the month first", "46180 07/13/2026", importing.TurnedRound, false, []string{"2026-07-06", "2026-07-13"}},
		{"real dates alone", "46180 46186", "", false, []string{"2026-06-07", "2026-06-13"}},
		{"the 6th of June either way", "46179 13/07/2026", "", false, []string{"2026-06-06", "2026-07-13"}},
		{"texts of all days beside real dates of all days", "46180 46186 13/07/2026 05/07/2026", "", false, []string{"2026-06-07", "2026-06-13", "2026-07-13", "2026-07-05"}},
	} {
		h := newHouse()
		text := "Date,Yard,Supers,Kind\n"
		for _, date := range strings.Fields(row.dates) {
			text += date + ",Mill,12,deep\n"
		}
		m, err := importing.Guess(h.book(t), serials(table(t, text)), importing.Pulls)
		if err != nil {
			t.Fatal(err)
		}
		m.Turned = row.answer
		r, err := importing.Take(h.book(t).Ahead(), serials(table(t, text)), m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, func(e *ledger.Entry) error {
			h.Entries = append(h.Entries, e)
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		if asked := slices.Contains(problems(r), "2A turned_dates"); asked != row.asked || !row.asked && r.AllProblems > 0 {
			t.Errorf("%s: %v", row.what, said(r))
		} else if got := pulledOn(h); !slices.Equal(got, row.days) {
			t.Errorf("%s: %v", row.what, got)
		}
	}
}

func TestTheYearOfDatesIsSaidOnceForTheSheet(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.bring(t, importing.Pulls, "Date,Yard,Supers,Kind\n14 July,Mill,12,deep\n7-15,Mill,12,deep\n2026-07-16,Mill,3,deep\n", func(m *importing.Mapping) { m.Year = 2026 })
	if got := pulledOn(h); !slices.Equal(got, []string{"2026-07-14", "2026-07-15", "2026-07-16"}) {
		t.Errorf("%v", got)
	}
}

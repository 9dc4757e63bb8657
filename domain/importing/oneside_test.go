package importing_test

import (
	"slices"
	"testing"
	"time"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// A yard that a missing minus puts on another continent is asked about; houses on both sides of
// Greenwich and of the equator are not.
func TestAPlaceWithoutItsMinusIsAskedAbout(t *testing.T) {
	t.Parallel()
	at := func(v float64) *float64 { return &v }
	for _, row := range []struct {
		what, rows string
		book       *ledger.Yard
		want       []string
	}{
		{"the first lacks its minus", "A,49.1,97.1\nB,49.2,-97.0\nC,49.3,-96.9\n", nil, []string{"2C out_of_range"}},
		{"a later one does", "A,49.1,-97.1\nB,49.2,-97.0\nC,49.3,96.9\n", nil, []string{"4C out_of_range"}},
		{"a latitude does", "A,-36.1,174.1\nB,36.2,174.0\nC,-36.3,174.2\n", nil, []string{"3B out_of_range"}},
		{"one against one", "A,49.1,-97.1\nB,49.2,97.0\n", nil, []string{"2C out_of_range", "3C out_of_range"}},
		{"one that the book's yards are against", "A,49.1,97.1\n", &ledger.Yard{Name: "Old", Latitude: at(49), Longitude: at(-97)}, []string{"2C out_of_range"}},
		{"one has its letter", "A,49.1 N,97.1 W\nB,49.2 N,97.0 W\nC,49.3,-96.9\n", nil, nil},
		{"Greenwich goes through the yards", "A,51.1,-0.4\nB,51.2,0.3\nC,51.3,-0.1\n", nil, nil},
		{"the equator does", "A,-1.1,36.4\nB,0.2,36.3\nC,-0.3,36.1\n", nil, nil},
	} {
		h := newHouse()
		if row.book != nil {
			h.SetUp(row.book)
		}
		text := "Yard,Lat,Long\n" + row.rows
		if r := h.check(t, text, h.guess(t, importing.Yards, text)); !slices.Equal(problems(r), row.want) {
			t.Errorf("%s: %v", row.what, said(r))
		}
	}
}

// Where all longitudes lack their minus, the outfit's clocks say so.
func TestALongitudeWhereTheClocksAreNotIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		zone, long string
		asked      bool
	}{
		{"America/Winnipeg", "97.1", true}, {"America/Winnipeg", "-97.1", false}, {"America/Winnipeg", "97.1 E", false},
		{"Europe/Madrid", "-3.7", false}, {"Europe/Madrid", "3.7", false},
		{"Pacific/Auckland", "174.1", false}, {"Pacific/Auckland", "-176.5", false}, {"Australia/Perth", "-116", true},
	} {
		loc, err := time.LoadLocation(row.zone)
		if err != nil {
			t.Fatal(err)
		}
		h := newHouse()
		book, err := ledger.Open(loc, h.Entries)
		if err != nil {
			t.Fatal(err)
		}
		text := "Yard,Lat,Long\nA,40," + row.long + "\n"
		r, err := importing.Take(book, table(t, text), h.guess(t, importing.Yards, text), importing.Options{Outfit: h.id, By: "Ada", Now: now}, nil)
		if err != nil || (r.AllProblems == 1) != row.asked {
			t.Errorf("%s in %s: %v %v", row.long, row.zone, said(r), err)
		}
	}
}

// A heading that says pm over times that do not leaves open which half of the day they are of.
func TestAHalfOfTheDayInTheHeadingIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		heading, clock string
		want           []string
	}{
		{"Time PM", "3:30", []string{"2B no_date"}},
		{"Time (p.m.)", "12:30", []string{"2B no_date"}},
		{"Time PM", "15:30", nil},
		{"Time PM", "3:30 pm", nil},
		{"Time AM", "9:30", nil},
		{"Time AM", "12:30", []string{"2B no_date"}},
		{"Time am/pm", "9:30", []string{"2B no_date"}},
		{"Time am/pm", "9:30 AM", nil},
		{"Hora", "9:30", nil},
	} {
		h := newHouse()
		text := "Date," + row.heading + ",Yard,Supers,Kind\n2026-07-06," + row.clock + ",Mill,12,deep\n"
		if r := h.check(t, text, h.guess(t, importing.Pulls, text)); !slices.Equal(problems(r), row.want) {
			t.Errorf("%s over %s: %v %v", row.heading, row.clock, problems(r), said(r))
		}
	}
}

package importing_test

import (
	"encoding/json"
	"reflect"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/tables"
)

// settled is the mapping by which a sheet is read, with what is offered beside it.
func (h *house) settled(t testing.TB, kind importing.Kind, text, sha256 string, sent *importing.Mapping) (importing.Mapping, *importing.Last) {
	t.Helper()
	m, last, err := importing.Settle(h.book(t), table(t, text), kind, importing.Sent{Mapping: sent, SHA256: sha256})
	if err != nil {
		t.Fatal(err)
	}
	return m, last
}

// brought writes down that a sheet came in by a mapping.
func (h *house) brought(t testing.TB, file, sha256 string, m importing.Mapping) {
	t.Helper()
	text, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	h.Write(100, &ledger.Import{Of: string(m.Of), File: file, SHA256: sha256, Entries: 1, Rows: 1, Headings: importing.Headings(m.Columns), Mapping: text})
}

const log = "Time stamp,Temp\n2026-07-06 10:00,100\n"

// A second logger writes the same headings as the first, and stands in another tank.
func TestWhatWasAnsweredForOneSheetIsOfferedForTheNext(t *testing.T) {
	t.Parallel()
	h := newHouse()
	first := h.guess(t, importing.TemperatureLogs, log)
	first.Fixed = map[importing.Field]string{importing.FieldTank: "sump"}
	first.Columns[1].Unit = importing.Fahrenheit
	first.Dates = tables.DayFirst
	h.brought(t, "sump.csv", "aa", first)

	// Of another file nothing is used unasked.
	m, last := h.settled(t, importing.TemperatureLogs, log, "bb", nil)
	if m.Fixed != nil || m.Columns[1].Unit != "" || m.Dates != "" {
		t.Errorf("it is used unasked: %+v", m)
	}
	if last == nil || last.File != "sump.csv" || !last.Ask {
		t.Fatalf("%+v", last)
	}
	c := first.Columns[1]
	c.From = ""
	want := []importing.Answer{{Column: &c}, {Dates: tables.DayFirst}, {Field: importing.FieldTank, Value: "sump"}}
	if !reflect.DeepEqual(last.Answers, want) {
		t.Errorf("offered are %+v", last.Answers)
	}
	r, err := importing.Take(h.book(t), table(t, log), m, importing.Options{Outfit: h.id, By: "Ada", Now: now, Last: last}, nil)
	if err != nil || problems(r)[0] != "0 as_last_time" || r.Offered != last {
		t.Errorf("%v %v", err, problems(r))
	}

	// Who says so gets it; who says no, does not; who says what the columns are, is not asked.
	m, last = h.settled(t, importing.TemperatureLogs, log, "bb", &importing.Mapping{AsLastTime: new(true)})
	if m.Fixed[importing.FieldTank] != "sump" || m.Columns[1].Unit != importing.Fahrenheit || m.Columns[1].From != "kept" || m.AsLastTime != nil || last != nil {
		t.Errorf("as last time: %+v, %+v", m, last)
	}
	m, last = h.settled(t, importing.TemperatureLogs, log, "bb", &importing.Mapping{AsLastTime: new(false)})
	if m.Fixed != nil || last != nil {
		t.Errorf("not as last time: %+v, %+v", m, last)
	}
	given := h.guess(t, importing.TemperatureLogs, log)
	given.Fixed = map[importing.Field]string{importing.FieldTank: "large tank"}
	m, last = h.settled(t, importing.TemperatureLogs, log, "bb", &given)
	if m.Fixed[importing.FieldTank] != "large tank" || last == nil || last.Ask {
		t.Errorf("columns that were sent: %+v, %+v", m, last)
	}
	// Answers that are the same again leave nothing to offer.
	m, last = h.settled(t, importing.TemperatureLogs, log, "bb", &first)
	if last != nil || m.Dates != tables.DayFirst {
		t.Errorf("the same answers: %+v", last)
	}
}

// The very same file is read as it was, since nothing in it can mean anything else now.
func TestTheSameFileIsReadAsItWas(t *testing.T) {
	t.Parallel()
	h := newHouse()
	first := h.guess(t, importing.TemperatureLogs, log)
	first.Fixed = map[importing.Field]string{importing.FieldTank: "sump"}
	first.LeaveOutRows = []int{2}
	h.brought(t, "sump.csv", "aa", first)
	if m, _ := h.settled(t, importing.TemperatureLogs, log, "aa", nil); len(m.LeaveOutRows) != 1 {
		t.Errorf("which rows were left out is forgotten: %+v", m)
	}
	if m, _ := h.settled(t, importing.TemperatureLogs, log, "zz", &importing.Mapping{AsLastTime: new(true)}); len(m.LeaveOutRows) != 0 {
		t.Errorf("rows of another file are left out: %+v", m)
	}
	second := first
	second.Fixed = map[importing.Field]string{importing.FieldTank: "large tank"}
	h.brought(t, "large.csv", "bb", second)
	for sha256, tank := range map[string]string{"aa": "sump", "bb": "large tank"} {
		m, last := h.settled(t, importing.TemperatureLogs, log, sha256, nil)
		if m.Fixed[importing.FieldTank] != tank || last != nil {
			t.Errorf("%s: %+v, %+v", sha256, m, last)
		}
	}
	if _, last := h.settled(t, importing.TemperatureLogs, log, "cc", nil); last == nil || last.File != "large.csv" {
		t.Errorf("the last of another file: %+v", last)
	}
	if _, last := h.settled(t, importing.TemperatureLogs, "Time stamp,Temp,Tank\n2026-07-06 10:00,38,sump\n", "dd", nil); last != nil {
		t.Errorf("other headings: %+v", last)
	}
}

// A sheet that told the program nothing has nothing to offer.
func TestASheetWithoutAnswersOffersNone(t *testing.T) {
	t.Parallel()
	h := newHouse()
	h.brought(t, "a.csv", "aa", h.guess(t, importing.Pulls, season))
	if m, last := h.settled(t, importing.Pulls, season, "bb", nil); last != nil || m.Columns[1].From != "heading" {
		t.Errorf("%+v %+v", m, last)
	}
}

// Whoever looks at a second logger's file on the page after the first one's is asked too.
func TestWhatWasSaidOfTheFileBeforeIsOfferedForTheNext(t *testing.T) {
	t.Parallel()
	h := newHouse()
	before := h.guess(t, importing.TemperatureLogs, log)
	before.Fixed = map[importing.Field]string{importing.FieldTank: "sump"}
	settle := func(text string) (importing.Mapping, *importing.Last) {
		m, last, err := importing.Settle(h.book(t), table(t, text), importing.TemperatureLogs, importing.Sent{Before: &before, SHA256: "bb"})
		if err != nil {
			t.Fatal(err)
		}
		return m, last
	}
	if m, last := settle(log); m.Fixed != nil || last == nil || !last.Ask || !reflect.DeepEqual(last.Answers, []importing.Answer{{Field: importing.FieldTank, Value: "sump"}}) {
		t.Errorf("%+v %+v", m, last)
	}
	if _, last := settle("Time stamp,Temp F\n2026-07-06 10:00,100\n"); last != nil {
		t.Errorf("other headings: %+v", last)
	}
}

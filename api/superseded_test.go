package api_test

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"
)

// marked is an entry that may rest on figures which changed.
type marked struct {
	ID         string
	Number     int64
	Outdated   string
	Superseded *struct {
		What    string
		Figures []struct {
			Figure, Part, Unit string
			From, To           *float64
		}
		Through []struct {
			EntryID string `json:"entry_id"`
		}
	}
}

// by lists the figures that changed, and holds the entries through which they did
// against those expected.
func (m marked) by(t *testing.T, entries ...string) []string {
	t.Helper()
	if m.Superseded == nil {
		t.Fatalf("entry %d is not marked", m.Number)
	}
	var through, figures []string
	for _, e := range m.Superseded.Through {
		through = append(through, e.EntryID)
	}
	if !slices.Equal(through, entries) {
		t.Errorf("entry %d changed through %v, not %v", m.Number, through, entries)
	}
	for _, f := range m.Superseded.Figures {
		figures = append(figures, strings.TrimSpace(f.Figure+" "+f.Part))
	}
	return figures
}

// checkedShed has a lot that was checked, released and sent.
func checkedShed(t *testing.T) (s *shed, check, sent, seal string) {
	t.Helper()
	s = openHouse(t).newShed(t, "Fern Gully Honey")
	s.analysed(t, 17.6, 8)
	contract := s.book(t, "rule-sets", s.aContract()).ID
	check = s.book(t, "checks", s.aCheck("rule_sets", []M{{"rule_set_id": contract}})).ID
	s.book(t, "lot-statuses", s.aStatus("check_id", check))
	sent = s.book(t, "dispatches", M{"id": id(), "occurred_at": at(22, "9:00"), "buyer_id": s.buyer, "containers": []string{s.drum1}}).ID
	seal = sealOn(t, s.sheet(t))
	if m := read[[]marked](t, s.outfit, "checks"); len(m) != 1 || m[0].Superseded != nil || m[0].Outdated != "" {
		t.Fatalf("just checked, and marked: %+v", m)
	}
	if m := read[[]marked](t, s.outfit, "dispatches"); len(m) != 1 || m[0].Superseded != nil {
		t.Fatalf("just sent, and marked: %+v", m)
	}
	if got := s.ask(t, seal); got != "stands" {
		t.Fatalf("the sheet %s", got)
	}
	return s, check, sent, seal
}

// TestACheckAndADispatchAreMarkedWhereTheyAreListed: what came late changes the
// make-up of the lot, which nobody touched, and what is expected of it.
func TestACheckAndADispatchAreMarkedWhereTheyAreListed(t *testing.T) {
	t.Parallel()
	s, check, sent, seal := checkedShed(t)
	other := s.book(t, "runs", s.aRun("name", "another")).ID
	late := s.book(t, "movements", s.aMovement("occurred_at", at(21, "12:30"), "from", M{"kind": "run", "id": other}, "mass_kg", 500)).ID
	for path, id := range map[string]string{"checks?lot=" + s.lot: check, "dispatches": sent} {
		m := read[[]marked](t, s.outfit, path)
		if len(m) != 1 || m[0].ID != id {
			t.Fatalf("%s lists %+v", path, m)
		}
		if figures := m[0].by(t, late); !slices.Contains(figures, "made of no yard") {
			t.Errorf("%s says of the make-up: %v", path, figures)
		}
	}
	lot := read[struct{ Decision marked }](t, s.outfit, "reports/lots/"+s.lot)
	lot.Decision.by(t, late)
	if page := s.sheet(t); !strings.Contains(page, "The check no longer fits the lot: figures changed that it rested on: made of") {
		t.Errorf("the sheet says nothing of it: %s", page)
	}
	if pdf := pdfText(t, s.pdf(t)); !strings.Contains(strings.Join(strings.Fields(pdf), " "), "figures changed that it rested on") {
		t.Errorf("the PDF says nothing of it: %s", pdf)
	}
	if got := s.ask(t, seal); got != "superseded since" {
		t.Errorf("the sheet that was printed %s", got)
	}
}

// TestALateReadingOfTheTankMarksTheCheck: it changes only what is expected of the
// lot; a correction of it that says nothing new takes the mark away.
func TestALateReadingOfTheTankMarksTheCheck(t *testing.T) {
	t.Parallel()
	s, _, _, seal := checkedShed(t)
	late := s.book(t, "readings", s.aReading("occurred_at", at(21, "12:45"), "moisture_pct", 19.6)).ID
	m := read[[]marked](t, s.outfit, "checks")
	if figures := m[0].by(t, late); !slices.Contains(figures, "moisture expected") || slices.Contains(figures, "moisture read") {
		t.Errorf("changed: %v", figures)
	}
	if got := s.ask(t, seal); got != "superseded since" {
		t.Errorf("the sheet that was printed %s", got)
	}
	s.book(t, "withdrawals", M{"id": id(), "occurred_at": at(22, "10:00"), "replaces": late, "reason": "another tank"})
	if m := read[[]marked](t, s.outfit, "checks"); m[0].Superseded != nil {
		t.Errorf("withdrawn, and %v", m[0].Superseded)
	}
}

// TestAnInstrumentFoundWrongOutdatesTheCheckThatRestedOnIt, and such a check
// releases nothing any more.
func TestAnInstrumentFoundWrongOutdatesTheCheckThatRestedOnIt(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.analysed(t, 17.6, 8)
	contract := s.book(t, "rule-sets", s.aContract()).ID
	check := s.book(t, "checks", s.aCheck("rule_sets", []M{{"rule_set_id": contract}}))
	bad := s.book(t, "calibrations", M{"id": id(), "occurred_at": at(22, "8:00"), "instrument_id": s.blue, "reference": "oil", "expected": 17.0, "as_found": 16.2, "as_left": 17.0, "tolerance": 0.2})
	m := read[[]marked](t, s.outfit, "checks")[0]
	want := fmt.Sprintf("wrong (entry %d): it read 16.2 where 17 was expected", bad.Number)
	if !strings.HasSuffix(m.Outdated, want) {
		t.Errorf("outdated since %q, not %q", m.Outdated, want)
	}
	figures := m.by(t, bad.ID)
	i := slices.Index(figures, "moisture read, put right for instruments found wrong")
	if i < 0 {
		t.Fatalf("changed: %v", figures)
	}
	if to := *m.Superseded.Figures[i].To; to < 18.39 || to > 18.41 {
		t.Errorf("17.6 read 0.8 too low is told as %g", to)
	}
	r := s.post(t, "lot-statuses", s.aStatus("check_id", check.ID))
	if p := as[problem](t, r); r.status != http.StatusConflict || p.Errors[0].Pointer != "/check_id" || !strings.Contains(p.Errors[0].Detail, want) {
		t.Errorf("released on it: %d %s", r.status, r.raw)
	}
	if page := s.sheet(t); !strings.Contains(page, want) {
		t.Errorf("the sheet says nothing of it")
	}
}

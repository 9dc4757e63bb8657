package api_test

import (
	"net/http"
	"strings"
	"testing"
	"time"
)

// Crew put right what they recorded themselves, one by one or as a device does that sends
// together what waited; the book keeps both.
func TestCrewPutTheirOwnSlipsRight(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	send := func(path string, body M, want int, why string) M {
		t.Helper()
		before := s.head(t).LastEntry
		r := s.sendAs(t, s.crew, path, body)
		if r.status != want || !strings.Contains(string(r.raw), why) {
			t.Fatalf("%s: %d %s, want %d and %q", path, r.status, r.raw, want, why)
		}
		if stored := s.head(t).LastEntry - before; stored != map[int]int64{http.StatusCreated: 1}[want] {
			t.Errorf("%s: %d entries were stored", path, stored)
		}
		return as[M](t, r)
	}
	withdrawal := func(of any) M {
		return M{"id": id(), "occurred_at": at(22, "13:00"), "replaces": of, "reason": "typed wrong"}
	}

	wrong := s.aReading("moisture_pct", 14.7)
	send("readings", wrong, 201, "")
	right := s.aReading("replaces", wrong["id"], "reason", "typed wrong")
	send("readings", right, 201, "")
	send("readings", wrong, 200, "") // sent again it is what it was
	send("withdrawals", withdrawal(right["id"]), 201, "")

	// A pull and what puts it right waited on a device without network.
	pull := oneOf("pull", M{"yard_id": s.alder, "supers": []M{{"super_kind_id": s.deep, "supers": 100}}})
	mended := oneOf("pull", M{"yard_id": s.alder, "supers": []M{{"super_kind_id": s.deep, "supers": 10}}, "replaces": idOf(pull), "reason": "typed wrong"})
	back := oneOf("withdrawal", M{"replaces": idOf(mended), "reason": "recorded twice"})
	others := oneOf("withdrawal", M{"replaces": s.run, "reason": "never happened"})
	for i, a := range s.several(t, s.crew, pull, mended, back, others).Answers {
		if want := []int{201, 201, 201, 403}[i]; a.Status != want {
			t.Errorf("of what waited, entry %d is answered with %+v, want %d", i+1, a, want)
		}
	}

	send("withdrawals", withdrawal(s.drum1), 403, "is Mirren's")
	send("readings", s.aReading("replaces", s.book(t, "readings", s.aReading()).ID, "reason", "misread"), 403, "Ask Mirren, or a manager")
	send("withdrawals", withdrawal(s.alder), 403, "is Mirren's")
	send("yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "Alder Bank", "replaces": s.alder, "reason": "misheard"}, 403, "for a manager")
	send("withdrawals", withdrawal(never), 422, "has no entry with this id")

	drum := s.aFill("container", "D-7")
	send("fills", drum, 201, "")
	s.release(t, s.lot, at(22, "12:50"))
	r := send("withdrawals", withdrawal(drum["id"]), 403, "Lot L26-001 was released since")
	if r["title"] != "You may not do this" {
		t.Errorf("it is answered with %v", r)
	}
	s.book(t, "withdrawals", withdrawal(drum["id"])) // a manager does it all the same
}

func TestAfterTheShiftAManagerPutsSlipsRight(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	wrong := s.aReading("moisture_pct", 14.7)
	if r := s.sendAs(t, s.crew, "readings", wrong); r.status != http.StatusCreated {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	// It was recorded at one in the afternoon: the shift is over at four.
	s.service.Now = func() time.Time { return clock.Add(15*time.Hour + time.Minute) }
	right := s.aReading("replaces", wrong["id"], "reason", "typed wrong")
	if r := s.sendAs(t, s.crew, "readings", right); r.status != http.StatusForbidden || !strings.Contains(string(r.raw), "until 23 August 2026, 04:00, when that shift was over. Ask a manager") {
		t.Errorf("%d %s", r.status, r.raw)
	}
	s.book(t, "readings", right)
}

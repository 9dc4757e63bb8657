package api_test

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"net/http"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pullbook/db/dbtest"
)

// tokenOf is a token's id, by the name it was given.
func (o *outfit) tokenOf(t *testing.T, name string) uuid.UUID {
	t.Helper()
	tokens, err := o.operator.Tokens(t.Context(), o.id)
	if err != nil {
		t.Fatal(err)
	}
	for _, token := range tokens {
		if token.Name == name {
			return token.ID
		}
	}
	t.Fatalf("no token %q", name)
	return uuid.UUID{}
}

func TestNobodyComesInWithoutAGoodToken(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s, other := house.newShed(t, "Fern Gully Honey"), house.newShed(t, "Two Rivers Honey")
	basic := func(password string) string {
		return "Basic " + base64.StdEncoding.EncodeToString([]byte("spreadsheet:"+password))
	}
	mixed := s.manager[:len(s.manager)-8] + other.manager[len(other.manager)-8:]
	pull, err := json.Marshal(s.aPull())
	if err != nil {
		t.Fatal(err)
	}
	before := s.head(t)
	for _, row := range []struct {
		what, authorization string
		status              int
	}{
		{"no token", "", 401},
		{"an empty token", "Bearer ", 401},
		{"words for a token", "Bearer open sesame", 401},
		{"a token with another outfit's end", "Bearer " + mixed, 401},
		{"a token cut short", "Bearer " + s.manager[:len(s.manager)-1], 401},
		{"a scheme nobody knows", "Digest " + s.manager, 401},
		{"a Basic password that is no token", basic("honey"), 401},
		{"another outfit's token", "Bearer " + other.manager, 422}, // let in, to its own book, which has not this yard
	} {
		t.Run(row.what, func(t *testing.T) {
			header := http.Header{}
			if row.authorization != "" {
				header.Set("Authorization", row.authorization)
			}
			r := s.sendWith(t, http.MethodPost, "/v1/pulls", header, pull)
			if r.status != row.status {
				t.Fatalf("%d %s", r.status, r.raw)
			}
			if p := as[problem](t, r); row.status == 401 && (p.Type != "/problems/sign-in" || len(r.header.Values("WWW-Authenticate")) != 2) {
				t.Errorf("%s, %v", p.Type, r.header.Values("WWW-Authenticate"))
			}
		})
	}
	if s.head(t) != before {
		t.Error("something was stored")
	}
	for _, authorization := range []string{"Bearer " + s.reader, "bearer " + s.reader, basic(s.reader)} {
		if r := s.sendWith(t, http.MethodGet, "/v1/outfit", http.Header{"Authorization": {authorization}}, nil); r.status != 200 {
			t.Errorf("a good token as %.8s...: %d %s", authorization, r.status, r.raw)
		}
	}
}

func TestARevokedTokenIsNoGoodAtOnce(t *testing.T) {
	t.Parallel()
	databaseURL := dbtest.New(t)
	house := openHouseAt(t, databaseURL)
	s := house.newShed(t, "Fern Gully Honey")
	fill := s.aFill()
	full, _ := json.Marshal(fill)
	inUse, _ := json.Marshal(s.aFill("container", "D-1"))
	// It has been used, so that the service remembers whose it is.
	s.book(t, "fills", fill)
	if _, err := house.operator.RevokeToken(t.Context(), s.id, s.tokenOf(t, "Mirren's token")); err != nil {
		t.Fatal(err)
	}
	fresh, _ := json.Marshal(s.aPull())
	before := s.head(t)
	for _, row := range []struct {
		what, method, path string
		body               []byte
	}{
		{"reading", http.MethodGet, "/v1/reports/season", nil},
		{"reading the people", http.MethodGet, "/v1/people", nil},
		{"reading the tokens", http.MethodGet, "/v1/tokens", nil},
		{"recording", http.MethodPost, "/v1/pulls", fresh},
		{"sending again what is stored", http.MethodPost, "/v1/fills", full},
		{"asking by a clash which drums are full", http.MethodPost, "/v1/fills", inUse},
	} {
		t.Run(row.what, func(t *testing.T) {
			if r := s.send(t, row.method, row.path, s.manager, row.body); r.status != http.StatusUnauthorized || strings.Contains(string(r.raw), "L26-001") {
				t.Errorf("%d %s", r.status, r.raw)
			}
		})
	}
	if s.head(t) != before {
		t.Error("something was stored")
	}
}

func TestEachRoleDoesWhatIsItsOwn(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	reading := s.book(t, "readings", s.aReading("moisture_pct", 24)).ID
	s.release(t, s.lot, at(22, "8:30"))
	managers := []struct {
		what, path string
		body       M
	}{
		{"sets up a yard", "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "Cedar Flat"}},
		{"sets up a tank", "tanks", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "sump", "use": "sump", "capacity_kg": 300}},
		{"accepts an oddity", "acceptances", M{"id": id(), "occurred_at": at(22, "9:00"), "entry_id": reading, "flag": "moisture_unusual", "reason": "so it is"}},
		{"corrects", "readings", s.aReading("replaces", reading, "reason", "misread")},
		{"withdraws", "withdrawals", M{"id": id(), "occurred_at": at(22, "9:00"), "replaces": s.drum1, "reason": "never filled"}},
		{"dispatches", "dispatches", s.aDispatch()},
		{"opens a lot again", "lot-statuses", M{"occurred_at": at(22, "8:40"), "lot_id": s.lot, "status": "open"}},
	}
	another := s.book(t, "lots", s.aLot("code", "L26-009")).ID
	everybodys := []struct {
		what, path string
		body       M
	}{
		{"records a pull", "pulls", s.aPull()},
		{"records a run", "runs", s.aRun()},
		{"records a load", "loads", s.aLoad()},
		{"records a movement", "movements", s.aMovement()},
		{"records a lot", "lots", s.aLot("code", "L26-002")},
		{"records a fill", "fills", s.aFill()},
		{"records a reading", "readings", s.aReading()},
		{"holds a lot", "lot-statuses", M{"occurred_at": at(22, "11:00"), "lot_id": another, "status": "held", "why": "finding_unresolved"}},
	}
	send := func(t *testing.T, token, path string, body M, want int) {
		t.Helper()
		before := s.head(t)
		raw, _ := json.Marshal(with(body, "id", id()))
		r := s.send(t, http.MethodPost, "/v1/"+path, token, raw)
		if r.status != want {
			t.Errorf("%d %s, want %d", r.status, r.raw, want)
		}
		if stored := s.head(t).LastEntry - before.LastEntry; stored != int64(map[int]int{201: 1}[want]) {
			t.Errorf("%d entries were stored", stored)
		}
	}
	for _, row := range managers {
		t.Run("crew never "+row.what, func(t *testing.T) { send(t, s.crew, row.path, row.body, http.StatusForbidden) })
		t.Run("a reader never "+row.what, func(t *testing.T) { send(t, s.reader, row.path, row.body, http.StatusForbidden) })
	}
	for _, row := range everybodys {
		t.Run("a reader never "+row.what, func(t *testing.T) { send(t, s.reader, row.path, row.body, http.StatusForbidden) })
		t.Run("crew "+row.what, func(t *testing.T) { send(t, s.crew, row.path, row.body, http.StatusCreated) })
	}
	for _, row := range managers[:4] {
		t.Run("a manager "+row.what, func(t *testing.T) { send(t, s.manager, row.path, row.body, http.StatusCreated) })
	}
	t.Run("a manager dispatches", func(t *testing.T) {
		send(t, s.manager, "dispatches", s.aDispatch("override", true, "note", "the crew told of a drum since"), http.StatusCreated)
	})
	t.Run("crew do not see the tokens", func(t *testing.T) {
		if r := s.send(t, http.MethodGet, "/v1/tokens", s.crew, nil); r.status != http.StatusForbidden {
			t.Errorf("%d %s", r.status, r.raw)
		}
	})
}

func TestOutfitsDoNotSeeEachOther(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s, other := house.newShed(t, "Fern Gully Honey"), house.newShed(t, "Two Rivers Honey")
	for _, path := range []string{"entries/" + s.pull, "reports/lots/" + s.lot, "reports/holders/" + s.large, "reports/season?season=" + s.season} {
		if r := other.send(t, http.MethodGet, "/v1/"+path, other.manager, nil); r.status != http.StatusNotFound {
			t.Errorf("%s: %d %s", path, r.status, r.raw)
		}
	}
	if r := other.send(t, http.MethodGet, "/v1/pulls?yard="+s.alder, other.manager, nil); r.status != http.StatusUnprocessableEntity {
		t.Errorf("pulls of another outfit's yard: %d %s", r.status, r.raw)
	}
	// Both have a drum D-1 and a lot L26-001, and each its own.
	if got := read[[]M](t, other.outfit, "fills"); len(got) != 1 || got[0]["id"] != other.drum1 {
		t.Errorf("the other outfit's fills: %v", got)
	}
}

func TestAnEntrySentAgainIsAnsweredAsTheFirstTime(t *testing.T) {
	t.Parallel()
	databaseURL := dbtest.New(t)
	house := openHouseAt(t, databaseURL)
	s := house.newShed(t, "Fern Gully Honey")
	type sending struct {
		path  string
		body  []byte
		first reply
	}
	var sent []sending
	first := func(path string, body M) recorded {
		t.Helper()
		raw, _ := json.Marshal(body)
		r := s.send(t, http.MethodPost, "/v1/"+path, s.manager, raw)
		if r.status != http.StatusCreated || r.header.Get("Location") == "" {
			t.Fatalf("%s: %d %s", path, r.status, r.raw)
		}
		sent = append(sent, sending{path, raw, r})
		return as[recorded](t, r)
	}
	first("movements", s.aMovement("mass_kg", 600, "occurred_at", at(21, "12:10"), "as_entered", M{"mass_kg": "1322 lb"}))
	fill := s.aFill()
	filled := first("fills", fill).ID
	odd := first("readings", s.aReading("instrument_id", s.brix, "moisture_pct", nil, "brix_deg", 74.5)).ID
	first("acceptances", M{"id": id(), "occurred_at": at(22, "9:00"), "entry_id": odd, "flag": "moisture_unusual", "reason": "so it is"})
	first("readings", s.aReading("replaces", odd, "reason", "misread"))
	first("movements", s.rework("from", M{"kind": "container", "id": filled}))
	first("fills", with(fill, "id", id(), "occurred_at", at(22, "10:00"))) // the same drum, filled anew
	first("pulls", s.aPull("occurred_at", at(20, "7:00"), "gross_kg", 880))
	before := s.head(t)

	again := func(t *testing.T) {
		for _, x := range sent {
			r := s.send(t, http.MethodPost, "/v1/"+x.path, s.manager, x.body)
			if r.status != http.StatusOK || !bytes.Equal(r.raw, x.first.raw) {
				t.Errorf("%s sent again: %d\n%s, the first time\n%s", x.path, r.status, r.raw, x.first.raw)
			}
		}
		if s.head(t) != before {
			t.Error("something was booked twice")
		}
	}
	t.Run("at once", again)
	t.Run("after a restart", func(t *testing.T) {
		house.loseMemory(t)
		again(t)
	})
	t.Run("to another process", func(t *testing.T) {
		house.serveFrom(t, openHouseAt(t, databaseURL))
		again(t)
	})
}

// serveFrom sends what follows to another service over the same database.
func (h *honeyHouse) serveFrom(t *testing.T, other *honeyHouse) {
	t.Helper()
	h.url, h.client = other.url, other.client
}

func TestTheLogHoldsNoSecretAndNoBody(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	const private = "the buyer at Northgate must not hear of this"
	s.book(t, "pulls", s.aPull("note", private))
	s.post(t, "pulls", s.aPull("note", private, "yard_id", never))
	s.post(t, "yards", M{"id": id(), "name": private, "nmae": private})
	s.send(t, http.MethodPost, "/v1/pulls", s.manager, []byte(`{"note": "`+private))
	s.send(t, http.MethodGet, "/v1/pulls?note="+strings.ReplaceAll(private, " ", "+"), s.manager, nil)
	s.send(t, http.MethodGet, "/v1/outfit", "pullbook_"+strings.Repeat("A", 54), nil)
	s.get(t, "reports/season?season="+s.season)
	house.service.Close()
	s.send(t, http.MethodGet, "/v1/reports/season", s.manager, nil) // the database is gone
	log := house.log.String()
	if !strings.Contains(log, `"route":"/v1/pulls"`) || !strings.Contains(log, `"request_id"`) {
		t.Fatalf("the log says too little:\n%s", log)
	}
	for what, secret := range map[string]string{
		"a manager's token": s.manager, "the crew's token": s.crew, "a reader's token": s.reader, "a token that is not good": strings.Repeat("A", 20),
		"a note": "Northgate", "a season that was asked for": s.season, "an authorization": "Bearer",
	} {
		if strings.Contains(log, secret) {
			t.Errorf("the log holds %s", what)
		}
	}
}

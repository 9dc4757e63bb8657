package api_test

import (
	"bytes"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	ics "github.com/arran4/golang-ical"

	"pullbook/api/apitest"
)

// events reads a calendar, by the beginning of each event's UID.
func events(t *testing.T, r reply) map[string]*ics.VEvent {
	t.Helper()
	if r.status != http.StatusOK || !strings.HasPrefix(r.header.Get("Content-Type"), "text/calendar") {
		t.Fatalf("%d %s %s", r.status, r.header.Get("Content-Type"), r.raw)
	}
	c, err := ics.ParseCalendar(bytes.NewReader(r.raw))
	if err != nil {
		t.Fatalf("%v: %s", err, r.raw)
	}
	out := map[string]*ics.VEvent{}
	for _, e := range c.Events() {
		kind, _, _ := strings.Cut(e.Id(), "-")
		out[kind] = e
	}
	return out
}

func (s *shed) calendar(t *testing.T, query string) reply {
	t.Helper()
	return s.send(t, http.MethodGet, "/feeds/calendar.ics"+query, s.reader, nil)
}

// propertyOf is a property of an event.
func propertyOf(e *ics.VEvent, name ics.ComponentProperty) string {
	if p := e.GetProperty(name); p != nil {
		return p.Value
	}
	return ""
}

// TestTheCalendarHasHoldsAndChecksThatAreDue: a refractometer that was checked on the 1st, and
// has to be every 10 days; and a lot that was held on the 22nd, as it still is.
func TestTheCalendarHasHoldsAndChecksThatAreDue(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully; Honey")
	instrument := s.book(t, "instruments", M{"id": id(), "occurred_at": at(1, "7:00"), "name": "green refractometer", "scale": "moisture", "compensates_temperature": true, "check_every_days": 10}).ID
	due := events(t, s.calendar(t, ""))["check"]
	if due == nil || propertyOf(due, ics.ComponentPropertyDtStart) != "20260801" || due.Id() != "check-"+instrument+"@pullbook" {
		t.Fatalf("an instrument that nobody checked is due since it was set up: %v", due)
	}
	s.book(t, "calibrations", M{"id": id(), "occurred_at": at(3, "8:00"), "instrument_id": instrument, "reference": "oil", "expected": 17.0, "as_found": 17.0, "as_left": 17.0, "tolerance": 0.2})
	s.book(t, "lot-statuses", M{"id": id(), "occurred_at": at(22, "11:00"), "lot_id": s.lot, "status": "held", "why": "finding_unresolved"})
	r := s.calendar(t, "")
	found := events(t, r)
	if propertyOf(found["check"], ics.ComponentPropertyDtStart) != "20260813" || propertyOf(found["check"], ics.ComponentPropertyDtEnd) != "20260814" {
		t.Errorf("a check of the 3rd holds ten days: %v", found["check"].Serialize(&ics.SerializationConfiguration{MaxLength: 75, PropertyMaxLength: 75, NewLine: "\n"}))
	}
	held := found["hold"]
	if held == nil || propertyOf(held, ics.ComponentPropertyDtStart) != "20260822" || propertyOf(held, ics.ComponentPropertySummary) != "Lot L26-001 is on hold" ||
		!strings.HasSuffix(propertyOf(held, ics.ComponentPropertyUrl), "/lots/"+s.lot) {
		t.Fatalf("the lot that is held: %s", r.raw)
	}
	if end, today := propertyOf(held, ics.ComponentPropertyDtEnd), clock.AddDate(0, 0, 1).Format("20060102"); end != today {
		t.Errorf("it is held up to %s, and tomorrow is %s", end, today)
	}
	if spanish := events(t, s.calendar(t, "?language=es")); propertyOf(spanish["hold"], ics.ComponentPropertySummary) != "El lote L26-001 está retenido" {
		t.Errorf("in Spanish: %s", propertyOf(spanish["hold"], ics.ComponentPropertySummary))
	}
	again := s.sendWith(t, http.MethodGet, "/feeds/calendar.ics", http.Header{"Authorization": {"Bearer " + s.reader}, "If-None-Match": {r.header.Get("ETag")}}, nil)
	if again.status != http.StatusNotModified {
		t.Errorf("nothing changed, and it answers %d", again.status)
	}
	for line := range strings.SplitSeq(strings.TrimSuffix(string(r.raw), "\r\n"), "\r\n") {
		if len(line) > 75 || strings.ContainsAny(line, "\r\n") {
			t.Errorf("a line of %d bytes; RFC 5545, 3.1, has 75 and CRLF: %q", len(line), line)
		}
	}
}

func TestAKeyForTheCalendarReadsItAndNothingElse(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	key := s.makeKey(t, "calendar")
	if r := s.open(t, "/feeds/calendar.ics?key="+key.Key); r.status != http.StatusOK {
		t.Errorf("its own address answers %d %s", r.status, r.raw)
	}
	if r := s.open(t, "/feeds/lots.csv?key="+key.Key); r.status != http.StatusForbidden {
		t.Errorf("another feed answers %d", r.status)
	}
	if r := s.open(t, "/feeds/lots.ics?key="+s.makeKey(t, "").Key); r.status == http.StatusOK {
		t.Error("a table comes as a calendar")
	}
}

// TestAManagerCopiesAnAddressWithItsKey makes a key on the page, and asks with the address that the
// page shows.
func TestAManagerCopiesAnAddressWithItsKey(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, apitest.LongNames())
	h.SignIn(t)
	_, page := h.Send(t, http.MethodPost, "/settings/feeds", url.Values{"name": {"the office"}, "feed": {"calendar"}}, nil)
	found := regexp.MustCompile(`value="(http://[^"]*/feeds/calendar\.ics\?key=pullbookfeed_[^"]+)"`).FindStringSubmatch(page)
	if found == nil || strings.Contains(page, "/feeds/lots.csv") {
		t.Fatalf("a key for the calendar shows %s", page)
	}
	r, err := http.Get(html.UnescapeString(found[1]))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	if r.StatusCode != http.StatusOK {
		t.Errorf("the address answers %s", r.Status)
	}
	if _, later := h.Send(t, http.MethodGet, "/settings/feeds", nil, nil); strings.Contains(later, "pullbookfeed_") || !strings.Contains(later, "the office") {
		t.Error("the key is shown again, or not in the list of keys")
	}
	if _, wrong := h.Send(t, http.MethodPost, "/settings/feeds", url.Values{"name": {"the office"}, "feed": {"hives"}}, nil); !strings.Contains(wrong, "There is no such feed.") {
		t.Error("a feed that there is not is taken")
	}
}

package api_test

import (
	"strings"
	"testing"
)

// TestTheReplyNamesTheCheckThatAReadingMakesOutdated, and says so again to a phone that
// sends it again.
func TestTheReplyNamesTheCheckThatAReadingMakesOutdated(t *testing.T) {
	t.Parallel()
	s, check, _, _ := checkedShed(t)
	type reply struct {
		OutdatedChecks []struct {
			EntryID  string `json:"entry_id"`
			Outdated string
		} `json:"outdated_checks"`
	}
	body := s.aReading("on", M{"kind": "lot", "id": s.lot}, "moisture_pct", 17.8)
	defer func() {
		if _, page := fetch(t, s.browsing(t), s.url+"/journal/"+body["id"].(string)+"?recorded="+body["id"].(string)); !strings.Contains(page, "What this changes elsewhere") || !strings.Contains(page, "/lots/"+s.lot) {
			t.Errorf("the page says nothing of it: %s", page)
		}
	}()
	for _, when := range []string{"the first time", "again"} {
		r := s.post(t, "readings", body)
		got := as[reply](t, r).OutdatedChecks
		if len(got) != 1 || got[0].EntryID != check || !strings.Contains(got[0].Outdated, "readings were added") {
			t.Errorf("%s the reply says %s", when, r.raw)
		}
	}
}

// TestTheReplySaysWhichFindingATransferSettles that was written down late.
func TestTheReplySaysWhichFindingATransferSettles(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	type reply struct {
		Opened, Closed []struct {
			Code, Sentence string
			EntryID        string `json:"entry_id"`
		}
	}
	short := s.book(t, "movements", s.aMovement("occurred_at", at(22, "15:00"), "from", M{"kind": "tank", "id": s.large}, "to", M{"kind": "waste"}, "mass_kg", 3000)).ID
	got := as[reply](t, s.post(t, "movements", s.aMovement("occurred_at", at(22, "14:00"), "from", M{"kind": "run", "id": s.run}, "to", M{"kind": "tank", "id": s.large}, "mass_kg", 3000)))
	var closed bool
	for _, f := range got.Closed {
		closed = closed || f.Code == "drawn_more_than_held" && f.EntryID == short && f.Sentence != ""
	}
	if !closed {
		t.Errorf("closed: %+v, opened: %+v", got.Closed, got.Opened)
	}
}

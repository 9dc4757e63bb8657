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

// rested is what a reply says of what rested on figures that changed.
type rested struct {
	Superseded []struct {
		What    string
		EntryID string `json:"entry_id"`
		Place   struct{ ID, Name string }
		Figures []struct {
			Figure, Part string
			From, To     *float64
		}
		Through []struct {
			EntryID string `json:"entry_id"`
		}
	}
	Unfinished bool `json:"superseded_unfinished"`
}

// by what it is, with what each is made of that is of no yard.
func (r rested) made(t *testing.T, through string) map[string][2]*float64 {
	t.Helper()
	out := map[string][2]*float64{}
	for _, x := range r.Superseded {
		out[x.What] = [2]*float64{}
		if len(x.Through) != 1 || x.Through[0].EntryID != through {
			t.Errorf("%s changed through %v", x.What, x.Through)
		}
		for _, f := range x.Figures {
			if f.Figure == "made of" && f.Part == "no yard" {
				out[x.What] = [2]*float64{f.From, f.To}
			}
		}
	}
	return out
}

// TestTheReplyNamesTheSheetsThatALateEntrySupersedes: honey of no yard came into the tank
// before the drum was filled, checked and sent, and was written down after; then that is
// taken back. The reply, the page of the entry and a phone that sends again all say so.
func TestTheReplyNamesTheSheetsThatALateEntrySupersedes(t *testing.T) {
	t.Parallel()
	s, check, sent, seal := checkedShed(t)
	other := s.book(t, "runs", s.aRun("name", "another")).ID
	late := s.aMovement("occurred_at", at(21, "12:30"), "from", M{"kind": "run", "id": other}, "mass_kg", 500)
	for range 2 {
		r := as[rested](t, s.post(t, "movements", late))
		made := r.made(t, late["id"].(string))
		for _, what := range []string{"check", "dispatch", "certificate"} {
			if figure, is := made[what]; !is || figure[0] != nil || figure[1] == nil {
				t.Errorf("%s: %v", what, made)
			}
		}
		for _, x := range r.Superseded {
			if want := map[string]string{"check": check, "dispatch": sent}[x.What]; x.EntryID != want {
				t.Errorf("%s %s, not %s", x.What, x.EntryID, want)
			}
		}
		if len(made) != 3 || r.Unfinished {
			t.Errorf("superseded: %v", made)
		}
	}
	if got := s.ask(t, seal); got != "superseded since" {
		t.Errorf("the sheet that was printed %s", got)
	}
	_, page := fetch(t, s.browsing(t), s.url+"/journal/"+late["id"].(string)+"?recorded="+late["id"].(string))
	for _, says := range []string{"This changes figures of what left for Northgate Packing on", "This changes figures that the check of lot L26-001 rested on", "Sheets of lot L26-001 that were printed before have other figures", "/dispatches/" + sent} {
		if !strings.Contains(page, says) {
			t.Errorf("the page does not say %q", says)
		}
	}
	back := id()
	made := as[rested](t, s.post(t, "withdrawals", M{"id": back, "occurred_at": at(22, "10:00"), "replaces": late["id"], "reason": "another tank"})).made(t, back)
	if figure := made["dispatch"]; figure[0] == nil || figure[1] != nil {
		t.Errorf("taken back: %v", made)
	}
	if r := as[rested](t, s.post(t, "movements", s.aMovement("occurred_at", at(23, "12:30"), "from", M{"kind": "run", "id": other}, "mass_kg", 500))); len(r.Superseded) != 0 {
		t.Errorf("what came after the drum had left supersedes %+v", r.Superseded)
	}
}

// TestThePageOfALotSaysWhatItsFormChangesElsewhere and that of a dispatch what the sending
// does.
func TestThePageOfALotSaysWhatItsFormChangesElsewhere(t *testing.T) {
	t.Parallel()
	s, _, sent, _ := checkedShed(t)
	late := s.aReading("on", M{"kind": "lot", "id": s.lot}, "moisture_pct", 17.8)
	s.book(t, "readings", late)
	for _, page := range []string{"/lots/" + s.lot, "/dispatches/" + sent} {
		if _, plain := fetch(t, s.browsing(t), s.url+page); strings.Contains(plain, "What this changes elsewhere") {
			t.Errorf("%s says so of nothing", page)
		}
		if _, shown := fetch(t, s.browsing(t), s.url+page+"?recorded="+late["id"].(string)); !strings.Contains(shown, "What this changes elsewhere") {
			t.Errorf("%s does not say what the entry changes elsewhere", page)
		}
	}
}

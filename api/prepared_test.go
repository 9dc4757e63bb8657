package api_test

import (
	"net/http"
	"strings"
	"testing"
)

// preparedInShed is a prepared dispatch as a device is told of it.
type preparedInShed struct {
	PreparedID string `json:"prepared_id"`
	Buyer      string
	LeavesOn   string `json:"leaves_on"`
	Asked      int
	Containers []struct{ Container, Lot, Stays string }
	Advice     []string
}

func (s *shed) toLoad(t *testing.T) []preparedInShed {
	t.Helper()
	return read[struct{ Prepared []preparedInShed }](t, s.outfit, "reports/shed").Prepared
}

// TestCrewLoadWhatAManagerPrepared: the truck goes with what was on it, once, and the door
// stays as tight as it was.
func TestCrewLoadWhatAManagerPrepared(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	other := s.book(t, "fills", s.aFill("container", "D-2")).ID
	prepared := M{"id": id(), "occurred_at": at(22, "7:00"), "buyer_id": s.buyer, "leaves_on": "2026-08-22", "containers": []string{s.drum1}, "reference": "WB 1182"}
	if r := s.sendAs(t, s.crew, "prepared-dispatches", prepared); r.status != http.StatusForbidden {
		t.Errorf("crew prepare a dispatch: %d", r.status)
	}
	plan := s.book(t, "prepared-dispatches", prepared).ID
	truck := M{"id": id(), "occurred_at": at(22, "9:00"), "buyer_id": s.buyer, "prepared_id": plan, "containers": []string{s.drum1}}
	refused := func(what string, status int, says string, pairs ...any) {
		t.Helper()
		before := s.head(t)
		if r := s.sendAs(t, s.crew, "dispatches", with(truck, append(pairs, "id", id())...)); r.status != status || !strings.Contains(string(r.raw), says) {
			t.Errorf("%s: %d %s", what, r.status, r.raw)
		}
		if s.head(t) != before {
			t.Errorf("%s: refused, and something stayed in the book", what)
		}
	}
	refused("a lot that nobody released", http.StatusConflict, "not been released")
	if p := s.toLoad(t); len(p) != 1 || p[0].PreparedID != plan || p[0].Buyer != "Northgate Packing" || p[0].LeavesOn != "2026-08-22" || p[0].Asked != 1 ||
		len(p[0].Containers) != 1 || p[0].Containers[0].Container != "D-1" || !strings.HasSuffix(p[0].Containers[0].Stays, "it has not been released.") {
		t.Errorf("a device is told %+v", p)
	}
	s.book(t, "lot-statuses", s.aStatus("override", true, "note", "sold by sample"))
	if p := s.toLoad(t); len(p) != 1 || p[0].Containers[0].Stays != "" {
		t.Errorf("once the lot is released a device is told %+v", p)
	}
	refused("without what was prepared", http.StatusForbidden, "load what a manager prepared", "prepared_id", nil)
	refused("on an own word", http.StatusForbidden, "", "override", true, "note", "as agreed")
	refused("a drum beside it", http.StatusForbidden, "D-2 was not prepared", "containers", []string{s.drum1, other})
	refused("to somebody else", http.StatusConflict, "is for Northgate Packing", "buyer_id", s.book(t, "buyers", M{"id": id(), "occurred_at": at(1, "9:00"), "name": "Harrow Foods"}).ID)
	if r := s.sendAs(t, s.crew, "dispatches", truck); r.status != http.StatusCreated {
		t.Fatalf("crew load what was prepared: %d %s", r.status, r.raw)
	}
	if r := s.sendAs(t, s.crew, "dispatches", truck); r.status != http.StatusOK {
		t.Errorf("sent again: %d %s", r.status, r.raw)
	}
	if p := s.toLoad(t); len(p) != 0 {
		t.Errorf("after loading a device is told %+v", p)
	}
	refused("loaded again", http.StatusConflict, "loaded already")
	refused("corrected by crew", http.StatusForbidden, "", "replaces", truck["id"], "reason", "typed wrong")
	if r := s.sendAs(t, s.crew, "withdrawals", M{"id": id(), "occurred_at": at(22, "13:00"), "replaces": truck["id"], "reason": "did not start"}); r.status != http.StatusForbidden {
		t.Errorf("crew take back a dispatch: %d", r.status)
	}
	if r := s.sendAs(t, s.crew, "withdrawals", M{"id": id(), "occurred_at": at(22, "13:00"), "replaces": plan, "reason": "called off"}); r.status != http.StatusForbidden {
		t.Errorf("crew take back what a manager prepared: %d", r.status)
	}
	if lots := read[[]struct {
		Prepared string `json:"prepared_id"`
	}](t, s.outfit, "dispatches"); len(lots) != 1 || lots[0].Prepared != plan {
		t.Errorf("the dispatches are %+v", lots)
	}
	// The books of both agree after they are read anew, which the house's end checks.
	if all := read[[]M](t, s.outfit, "prepared-dispatches?lot="+s.lot); len(all) != 1 || all[0]["reference"] != "WB 1182" {
		t.Errorf("what was prepared of the lot is %v", all)
	}
}

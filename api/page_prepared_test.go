package api_test

import (
	"net/http"
	"strings"
	"testing"

	"pullbook/api/apitest"
	"pullbook/db"
)

// TestADispatchIsPreparedOnThePage: two drums by name and one of a lot that nobody released.
// The page says what would stay, and keeps its advice up to date.
func TestADispatchIsPreparedOnThePage(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	_, page := h.Get(t, "/dispatches/prepare")
	wants(t, "the form", page, "Nobody has released this lot", "Or how many of it", "Prepare it")
	form := formOf(page)
	for _, name := range []string{"all", "container"} {
		form.Del(name)
	}
	form.Set("buyer", optionOf(t, page, "Northgate Packing"))
	form.Set("day", "2026-08-22")
	refused := func(what, says string) {
		t.Helper()
		response, page := h.Send(t, http.MethodPost, "/dispatches/prepare", form, nil)
		if response.StatusCode < 400 || !strings.Contains(page, says) {
			t.Errorf("%s answered %s", what, response.Status)
		}
	}
	refused("nothing", "Nothing is chosen")
	form["container"] = []string{tickOf(t, page, "D-1"), tickOf(t, page, "D-2")}
	form.Set("count-"+h.Other.String(), "2")
	refused("two of one drum", "Lot L-2 has 1 container here, and 2 are asked for")
	form.Set("count-"+h.Other.String(), "one")
	refused("a number in words", "is a whole number")
	form.Set("count-"+h.Other.String(), "1")
	form.Set("reference", "WB 1182")
	response, page := h.Send(t, http.MethodPost, "/dispatches/prepare", form, nil)
	if response.StatusCode != http.StatusOK {
		t.Fatalf("preparing answered %s: %s", response.Status, page)
	}
	path := response.Request.URL.Path
	wants(t, "what is prepared", page, "Northgate Packing", "WB 1182", "D-1", "1 of lot", "lot L-1 may not leave: it has not been released", "1 container may not leave", "/record#dispatch")
	if rows := h.SQL(t, "SELECT content::text FROM entry WHERE kind = 'dispatch'"); len(rows) != 0 {
		t.Errorf("preparing sent off %v", rows)
	}
	h.Decide(t, h.House, "override", "note", "sold by sample")
	if _, page = h.Get(t, path); strings.Contains(page, "lot L-1 may not leave") || !strings.Contains(page, "1 container may not leave") {
		t.Errorf("once L-1 is released the page says %s", page)
	}
	_, page = h.Get(t, "/dispatches")
	wants(t, "the list", page, "Prepared, not loaded yet", path, "WB 1182")

	// A manager may send it off on the page, on an own word too.
	_, page = h.Get(t, "/dispatches/new?prepared="+path[strings.LastIndex(path, "/")+1:])
	if strings.Count(page, `name="container"`) != 3 || strings.Count(page, " checked") != 2 {
		t.Error("the drums that were prepared do not stand ticked")
	}
	ticked := []string{tickOf(t, page, "D-1"), tickOf(t, page, "D-2")}
	form = formOf(page)
	form.Del("all")
	form.Del("override")
	form["container"] = ticked
	if form.Get("reference") != "WB 1182" || form.Get("buyer") == "" {
		t.Errorf("the form begins with %v", form)
	}
	response, page = h.Send(t, http.MethodPost, "/dispatches/new", form, nil)
	if response.StatusCode != http.StatusOK {
		t.Fatalf("sending it off answered %s: %s", response.Status, page)
	}
	wants(t, "what left", page, "Loaded by what was prepared: 2 of 3 containers", path)
	_, page = h.Get(t, path)
	wants(t, "what was prepared", page, "It was loaded")
	if _, page = h.Get(t, "/dispatches"); strings.Contains(page, "Prepared, not loaded yet") {
		t.Error("the list shows as waiting what left")
	}

	crew := h.Somebody(t, "Odell", db.Crew)
	if response, _ := crew.Get(t, "/dispatches/prepare"); response.StatusCode != http.StatusForbidden {
		t.Errorf("the form answered %s to crew", response.Status)
	}
	if response, page := crew.Get(t, path); response.StatusCode != http.StatusOK || strings.Contains(page, "/dispatches/new") {
		t.Errorf("the page answered %s to crew", response.Status)
	}
}

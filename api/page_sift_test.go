package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"pullbook/api/apitest"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// pails fills forty pails of 20 kg from a tank of 1000 kg, ten a day from 3 July on, into a lot.
func pails() (entries []*ledger.Entry, tank, lot *ledger.Entry) {
	season := apitest.EntryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	pail := apitest.EntryAt(0, &ledger.ContainerKind{Name: "pail", VolumeML: 19_000, TareG: 1_000, UsualNetG: 20_000})
	tank = apitest.EntryAt(0, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 1_000_000})
	lot = apitest.EntryAt(1, &ledger.Lot{Code: "26-001"})
	entries = []*ledger.Entry{season, pail, tank, lot, apitest.EntryAt(0.5, &ledger.Stocktake{TankID: tank.ID, Method: "scale", MassG: 1_000_000})}
	for i := range 40 {
		entries = append(entries, apitest.EntryAt(float64(2+i/10)+float64(i%10)/100, &ledger.Fill{
			LotID: lot.ID, TankID: tank.ID, ContainerKindID: pail.ID, Container: fmt.Sprintf("P-%02d", i), TareG: 1_000, GrossG: 21_000,
		}))
	}
	return entries, tank, lot
}

// rowsOf is a page from the form on by which its table is sifted.
func rowsOf(body string) string {
	_, rows, _ := strings.Cut(body, `name="find"`)
	return rows
}

func TestALongTableIsSearchedAndCutByDay(t *testing.T) {
	t.Parallel()
	entries, tank, lot := pails()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	for _, page := range []struct{ path, all string }{
		{"/lots/" + lot.ID.String(), "40"}, {"/tanks/" + tank.ID.String(), "41"}, {"/journal", fmt.Sprint(h.Entries(t))},
	} {
		_, body := h.Get(t, page.path)
		wants(t, page.path, body, `name="find"`, `name="from_day"`, `name="to_day"`)
		if strings.Contains(body, " shown. <a") {
			t.Errorf("%s says how much is shown though nobody asked for less", page.path)
		}
		_, body = h.Get(t, page.path+"?find=p-07")
		wants(t, page.path+" by a number", body, "P-07", "1 of "+page.all+" shown.", "Show all again")
		if strings.Contains(rowsOf(body), "P-08") {
			t.Errorf("%s has other pails than the one that was searched for", page.path)
		}
		_, body = h.Get(t, page.path+"?find=P-&from_day=2026-07-04&to_day=2026-07-04")
		wants(t, page.path+" by a day", body, "10 of "+page.all+" shown.", "P-10", "P-19")
		if strings.Contains(rowsOf(body), "P-09") || strings.Contains(rowsOf(body), "P-20") {
			t.Errorf("%s has pails of another day", page.path)
		}
		response, body := h.Send(t, http.MethodGet, page.path+"?to_day=yesterday", nil, http.Header{"Accept": {"text/html"}})
		if response.StatusCode != http.StatusUnprocessableEntity && response.StatusCode != http.StatusBadRequest {
			t.Errorf("%s: a bad day answered %s", page.path, response.Status)
		}
		wants(t, page.path+" by a bad day", body, "yesterday is no day of the calendar", "to_day", "Show the page without it", `href="`+page.path+`"`)
	}
	_, body := h.Get(t, "/lots/"+lot.ID.String()+"?find=p-07")
	wants(t, "a lot whose pail was searched for", body, "<details open><summary>On hand, 1</summary>", `action="/lots/`+lot.ID.String()+`#containers"`)
	_, body = h.Get(t, "/lots/"+lot.ID.String()+"?find=nothing")
	wants(t, "a lot without what was searched for", body, "No container matches.", "0 of 40 shown.")
}

// Words are looked for through the whole journal, page by page: the oldest entry is found from the first page.
func TestTheJournalIsLookedThroughForWords(t *testing.T) {
	t.Parallel()
	entries, _, _ := pails()
	for i := range 120 {
		entries = append(entries, apitest.EntryAt(20+float64(i)/200, &ledger.Yard{Name: fmt.Sprintf("Yard %03d", i)}))
	}
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	_, body := h.Get(t, "/journal?find=large+tank&kind=tank")
	wants(t, "the tank", body, fmt.Sprintf("1 of %d shown.", h.Entries(t)), `<option value="tank" selected`)
	_, body = h.Get(t, "/journal?day=2026-07-04")
	wants(t, "a day, as its address was written before", body, `name="from_day" type="date" value="2026-07-04"`, "10 of ")
	_, body = h.Get(t, "/journal?find=yard")
	wants(t, "the yards", body, "100 of ", "find=yard", "Older entries", "Yard 119")
	_, body = h.Get(t, "/journal?find=yard&before="+fmt.Sprint(h.Entries(t)-99))
	wants(t, "the rest of the yards", body, "20 of ", "Yard 000")
}

func TestFindingsAndLotsAreSearched(t *testing.T) {
	t.Parallel()
	entries, _, _, _ := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	_, body := h.Get(t, "/findings?find=drawn")
	wants(t, "findings", body, "290 kg were drawn from it", " shown.")
	_, body = h.Get(t, "/findings?find=zebra")
	wants(t, "findings of a zebra", body, "No open finding matches.", "0 of ")
	_, body = h.Get(t, "/lots?find=26-001")
	wants(t, "lots", body, ">26-001</a>", "1 of 1 shown.", `href="/lots"`)
	_, body = h.Get(t, "/lots?find=26-002")
	wants(t, "no lot", body, "No lot of this season matches.")
}

// Forty dispatches of a pail each are searched by buyer, lot and reference, and cut by day.
func TestDispatchesAreSearchedAndCutByDay(t *testing.T) {
	t.Parallel()
	entries, _, lot := pails()
	buyer := apitest.EntryAt(0, &ledger.Buyer{Name: "Larch Packers"})
	entries = append(entries, buyer, apitest.EntryAt(8, &ledger.LotStatus{LotID: lot.ID, Status: ledger.StatusReleased, Override: true, Note: "the buyer tests it himself"}))
	for i, e := range entries {
		if _, is := e.Body.(*ledger.Fill); is {
			entries = append(entries, apitest.EntryAt(10+float64(i)/10, &ledger.Dispatch{BuyerID: buyer.ID, Containers: []ledger.ID{e.ID}, Reference: fmt.Sprintf("WB %02d", i)}))
		}
	}
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	_, body := h.Get(t, "/dispatches")
	wants(t, "dispatches", body, `name="find"`, "WB 05", "WB 44")
	_, body = h.Get(t, "/dispatches?find=wb+07")
	wants(t, "dispatches by a reference", body, "1 of 40 shown.", "WB 07")
	_, body = h.Get(t, "/dispatches?find=larch&to_day=2026-07-11")
	wants(t, "dispatches by a day", body, " of 40 shown.", "WB 05")
	if strings.Contains(rowsOf(body), "WB 44") {
		t.Error("dispatches of one day have those of another")
	}
	_, body = h.Get(t, "/dispatches?find=nobody")
	wants(t, "dispatches of nobody", body, "No dispatch matches.", "0 of 40 shown.")
}

// Forty yards, each pulled on another day from 3 July on, and one run a day with its honey.
func TestASeasonAndAYardAreSearchedAndCutByDay(t *testing.T) {
	t.Parallel()
	season := apitest.EntryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	deep := apitest.EntryAt(0, &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 9_000, UsualNetG: 20_000, FullestNetG: 30_000})
	tank := apitest.EntryAt(0, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 5_000_000})
	entries := []*ledger.Entry{season, deep, tank}
	var first *ledger.Entry
	for i := range 40 {
		day := float64(2 + i)
		yard := apitest.EntryAt(0, &ledger.Yard{Name: fmt.Sprintf("Yard %02d", i)})
		if entries = append(entries, yard); i == 0 {
			first = yard
		}
		for j, at := range []*ledger.Entry{yard, first} { // the first yard is pulled each day too
			pull := apitest.EntryAt(day+float64(j)/100, &ledger.Pull{YardID: at.ID, HivesWorked: 10, Supers: []ledger.SuperCount{{SuperKindID: deep.ID, Supers: 5}}})
			entries = append(entries, pull)
		}
		run := apitest.EntryAt(day+0.1, &ledger.Run{Name: fmt.Sprintf("run %02d", i), FramesPerSide: 30})
		entries = append(entries, run, apitest.EntryAt(day+0.2, ledgertest.OutBody(run.ID, tank.ID, 100_000)))
	}
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	_, body := h.Get(t, "/season")
	wants(t, "the season", body, `name="find"`, "Yard 07", "Yard 08")
	_, body = h.Get(t, "/season?find=yard+07")
	wants(t, "the season by a yard", body, "Yard 07", "Show all again", `<details class="off-paper" open>`)
	if strings.Contains(rowsOf(body), "Yard 08") {
		t.Error("the season has other yards than the one that was searched for")
	}
	_, body = h.Get(t, "/season?from_day=2026-07-04&to_day=2026-07-05")
	days, _, _ := strings.Cut(rowsOf(body), `id="yards"`)
	if got := strings.Count(days, `<th scope="row" class="when">`); got != 2 {
		t.Errorf("%d days are shown, and two were asked for", got)
	}
	path := "/yards/" + first.ID.String()
	_, body = h.Get(t, path+"?from_day=2026-07-04&to_day=2026-07-05")
	wants(t, "a yard by days", body, "2 of 41 shown.", `action="`+path+`#pulls"`)
	_, body = h.Get(t, path+"?find=nothing")
	wants(t, "a yard without what was searched for", body, "No pull matches.", "0 of 41 shown.")
	for _, path := range []string{path, "/season"} {
		if response, _ := h.Send(t, http.MethodGet, path+"?to_day=yesterday", nil, http.Header{"Accept": {"text/html"}}); response.StatusCode != http.StatusUnprocessableEntity && response.StatusCode != http.StatusBadRequest {
			t.Errorf("%s: a bad day answered %s", path, response.Status)
		}
	}
}

// A lot's readings are cut by the days and words that its containers are, with a form of their own.
func TestALotsReadingsAreSearchedAndCutByDay(t *testing.T) {
	t.Parallel()
	entries, _, lot := pails()
	for i := range 40 {
		entries = append(entries, apitest.EntryAt(10+float64(i)/2, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: lot.ID}, Laboratory: fmt.Sprintf("bench %02d", i), Measured: []ledger.Measured{{Quantity: "hmf_mg_per_kg", Value: 8, Method: "HPLC"}}}))
	}
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	path := "/lots/" + lot.ID.String()
	_, body := h.Get(t, path)
	wants(t, "a lot", body, `id="find-readings"`, `action="`+path+`#measured"`, "Every reading, 40")
	_, body = h.Get(t, path+"?find=bench+07")
	wants(t, "a lot by a word", body, "1 of 40 shown.", "bench 07", "<details open><summary>Every reading, 1</summary>")
	if strings.Contains(body, "bench 08") {
		t.Error("other readings than the one that was searched for are shown")
	}
	_, body = h.Get(t, path+"?find=nothing")
	wants(t, "a lot without what was searched for", body, "No reading matches.")
}

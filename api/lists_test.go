package api_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"pullbook/api/request"
	"pullbook/domain/ledger"
)

// next is the address in a reply's Link header; empty where there is no other
// page.
func next(t *testing.T, r reply) string {
	t.Helper()
	link := r.header.Get("Link")
	if link == "" {
		return ""
	}
	address, rest, ok := strings.Cut(strings.TrimPrefix(link, "<"), ">")
	if !ok || rest != `; rel="next"` {
		t.Fatalf("Link: %s", link)
	}
	return strings.TrimPrefix(address, "/v1/")
}

func TestAListIsReadPageByPage(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	const readings = 230
	for i := range readings {
		s.book(t, "readings", s.aReading("moisture_pct", 16+float64(i%40)/10))
	}
	for range 2 { // the second time from what the service remembers
		seen := map[string]bool{}
		var pages []int
		for path := "readings?from=2026-08-21"; path != ""; {
			r := s.get(t, path)
			page := as[[]M](t, r)
			for _, e := range page {
				seen[e["id"].(string)] = true
			}
			pages = append(pages, len(page))
			path = next(t, r)
			if path != "" && !strings.Contains(path, "from=2026-08-21") {
				t.Fatalf("the next page %s has lost the filter", path)
			}
		}
		if len(seen) != readings || !slices.Equal(pages, []int{200, 30}) {
			t.Errorf("%d readings in pages of %v", len(seen), pages)
		}
	}
	var numbers []int64
	for path := "entries?limit=90"; path != ""; {
		r := s.get(t, path)
		for _, e := range as[[]struct{ Number int64 }](t, r) {
			numbers = append(numbers, e.Number)
		}
		path = next(t, r)
	}
	for i, n := range numbers {
		if n != int64(i+1) {
			t.Fatalf("the journal's entry %d has number %d", i+1, n)
		}
	}
	if int64(len(numbers)) != s.head(t).LastEntry {
		t.Errorf("the journal has %d entries of %d", len(numbers), s.head(t).LastEntry)
	}
	if r := s.get(t, "entries?after=9223372036854775806"); string(r.raw) != "[]\n" || next(t, r) != "" {
		t.Errorf("after the last entry: %s", r.raw)
	}
	if r := s.get(t, fmt.Sprintf("readings?limit=%d", readings)); next(t, r) != "" {
		t.Errorf("a list that ends at its limit has a next page: %s", next(t, r))
	}
}

func TestAListIsNarrowedDown(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	last := s.book(t, "seasons", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "2025", "first": "2025-01-01", "last": "2025-12-31"}).ID
	old := s.book(t, "pulls", s.aPull("occurred_at", "2025-08-03T10:00:00-05:00", "via", "import")).ID
	birch := s.book(t, "pulls", s.aPull("yard_id", s.birch, "occurred_at", at(21, "23:30"))).ID
	run2 := s.book(t, "runs", s.aRun("name", "second")).ID
	supers2 := s.book(t, "run-supers", s.someSupers("run_id", run2, "pull_id", birch)).ID
	load2 := s.book(t, "loads", s.aLoad("run_id", run2)).ID
	toSmall := s.book(t, "movements", s.aMovement("occurred_at", at(22, "8:00"), "from", M{"kind": "tank", "id": s.large}, "to", M{"kind": "tank", "id": s.small}, "mass_kg", 200)).ID
	lot2 := s.book(t, "lots", s.aLot("code", "L26-002")).ID
	drum2 := s.book(t, "fills", s.aFill("lot_id", lot2, "tank_id", s.small, "occurred_at", at(22, "9:00"), "gross_kg", 200)).ID
	onDrum := s.book(t, "readings", s.aReading("on", M{"kind": "container", "id": drum2})).ID
	onLot := s.book(t, "readings", s.aReading("on", M{"kind": "lot", "id": lot2})).ID
	onPull := s.book(t, "readings", s.aReading("on", M{"kind": "pull", "id": birch})).ID
	misread := s.book(t, "readings", s.aReading("on", M{"kind": "run", "id": run2})).ID
	onRun := s.book(t, "readings", s.aReading("on", M{"kind": "run", "id": run2}, "replaces", misread, "reason", "misread")).ID
	withdrawn := s.book(t, "loads", s.aLoad("load", 2, "occurred_at", at(21, "9:00"))).ID
	withdrawal := s.book(t, "withdrawals", M{"id": id(), "occurred_at": at(22, "9:00"), "replaces": withdrawn, "reason": "entered twice"}).ID

	for _, row := range []struct {
		path string
		want []string
	}{
		{"pulls?season=" + last, []string{old}},
		{"pulls?season=" + s.season, []string{s.pull, birch}},
		{"pulls?yard=" + s.birch, []string{birch}},
		{"pulls?from=2026-08-21", []string{birch}},
		{"pulls?to=2026-08-20", []string{s.pull, old}},
		{"pulls?from=2026-08-20&to=2026-08-20", []string{s.pull}},
		{"pulls?from=2026-08-22", nil}, // 23:30 is on the 21st where the bees are
		{"run-supers?run=" + run2, []string{supers2}},
		{"run-supers?pull=" + birch, []string{supers2}},
		{"loads?run=" + run2, []string{load2}},
		{"movements?tank=" + s.small, []string{toSmall}},
		{"fills?lot=" + lot2, []string{drum2}},
		{"fills?tank=" + s.small, []string{drum2}},
		{"readings?lot=" + lot2, []string{onDrum, onLot}},
		{"readings?yard=" + s.birch, []string{onPull}},
		{"readings?run=" + run2, []string{onRun}},
		{"readings?run=" + run2 + "&all=true", []string{misread, onRun}},
		{"readings?run=" + misread, nil},
		{"loads", []string{load2}},
		{"loads?all=true", []string{load2, withdrawn}},
		{"withdrawals", []string{withdrawal}},
	} {
		t.Run(strings.NewReplacer(s.season, "S", last, "L").Replace(row.path), func(t *testing.T) {
			r := s.send(t, http.MethodGet, "/v1/"+row.path, s.reader, nil)
			if strings.HasSuffix(row.path, misread) { // a reading is no run
				if p := as[problem](t, r); r.status != 422 || p.Errors[0].Pointer != "query:run" {
					t.Errorf("%d %s", r.status, r.raw)
				}
				return
			}
			var got []string
			for _, e := range as[[]struct{ ID string }](t, r) {
				got = append(got, e.ID)
			}
			if !slices.Equal(got, row.want) {
				t.Errorf("%v, want %v", got, row.want)
			}
		})
	}
}

func TestAParameterThatWillNotDoIsExplained(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	for _, row := range []struct{ path, pointer, says string }{
		{"pulls?yrad=" + s.alder, "query:yrad", "Known here: after, all"},
		{"outfit?as_of=3", "query:as_of", "no such parameter"},
		{"pulls?limit=0", "query:limit", "1 to 1000"},
		{"pulls?limit=1001", "query:limit", "1 to 1000"},
		{"entries?limit=0", "query:limit", "1 to 1000"},
		{"entries?limit=-1", "query:limit", "1 to 1000"},
		{"entries?limit=many", "query:limit", "whole number"},
		{"entries?after=-5", "query:after", "at least 0"},
		{"entries?after=abc", "query:after", "whole number"},
		{"entries?after=9223372036854775808", "query:after", "whole number"},
		{"pulls?after=", "query:after", "whole number"},
		{"pulls?yard=", "query:yard", "text of 1 to 80 characters"},
		{"pulls?yard=alder", "query:yard", "no such yard. It has Alder Bend, Birch Hollow"},
		{"pulls?yard=" + never, "query:yard", "no yard with this id"},
		{"pulls?yard=" + s.large, "query:yard", "no yard with this id"},
		{"pulls?season=" + never, "query:season", "no season with this id"},
		{"pulls?from=yesterday", "query:from", "a date such as"},
		{"pulls?from=2026-02-30", "query:from", "a date such as"},
		{"pulls?all=perhaps", "query:all", "true or false"},
		{"pulls?limit=5&limit=6", "query:limit", "more than once"},
		{"reports/tanks?as_of=9999", "query:as_of", "entries 1 to"},
		{"reports/tanks?as_of=-1", "query:as_of", "at least 0"},
		{"reports/totals?at=noon", "query:at", "a time with its offset"},
		{"reports/totals?at=2026-08-21T12:00:00+02:00", "query:at", "%2B"},
		{"entries/first", "path:id", "as the contract asks"},
	} {
		t.Run(row.path, func(t *testing.T) {
			r := s.send(t, http.MethodGet, "/v1/"+row.path, s.reader, nil)
			p := as[problem](t, r)
			if c := at0(p.Errors, row.pointer); r.status != 422 || c == nil || !strings.Contains(c.Detail, row.says) {
				t.Errorf("%d %s", r.status, r.raw)
			}
		})
	}
}

func TestAPathTakesNamesWhereItTakesIDs(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	const code = "L 26/50% é+"
	odd := s.book(t, "lots", s.aLot("code", code)).ID
	for path, by := range map[string][2]string{
		"reports/lots/%s":                            {code, odd},
		"reports/verdicts/%s?on=2026-08-21":          {strings.ToLower(code), odd},
		"reports/fermentation/%s":                    {code, odd},
		"reports/holders/%s":                         {"D-1", s.drum1},
		"reports/holders/%s?at=2026-08-22T00:00:00Z": {"SMALL TANK", s.small},
		"reports/instruments/%s":                     {"abbe", s.abbe},
	} {
		t.Run(path, func(t *testing.T) {
			named := s.get(t, fmt.Sprintf(path, url.PathEscape(by[0])))
			byID := s.get(t, fmt.Sprintf(path, by[1]))
			if named.status != http.StatusOK || string(named.raw) != string(byID.raw) {
				t.Errorf("by its name %q: %d %s\nby its id: %d %s", by[0], named.status, named.raw, byID.status, byID.raw)
			}
		})
	}
	if r := s.get(t, "lots/"+url.PathEscape(code)+"/certificate.pdf"); r.status != http.StatusOK || !strings.HasPrefix(string(r.raw), "%PDF") {
		t.Errorf("a certificate by the lot's code: %d", r.status)
	}
	for path, want := range map[string][2]string{
		"reports/lots/L26-01":         {"path:lot", "L26-001"}, // the nearest is named
		"reports/holders/nowhere":     {"path:holder", "no tank, lot or container"},
		"reports/holders/Smal%20tank": {"path:holder", "Was small tank meant?"},
		"reports/instruments/nobody":  {"path:instrument", "Abbe"},
		"lots/L9/certificate.pdf":     {"path:lot", "no such lot"},
	} {
		r := s.send(t, http.MethodGet, "/v1/"+path, s.reader, nil)
		if p := as[problem](t, r); r.status != http.StatusNotFound || len(p.Errors) != 1 || p.Errors[0].Pointer != want[0] || !strings.Contains(string(r.raw), want[1]) {
			t.Errorf("%s: %d %s", path, r.status, r.raw)
		}
	}
}

func TestTheBookIsReadAsItWas(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	then := s.head(t).LastEntry
	s.book(t, "movements", s.aMovement("mass_kg", 200, "occurred_at", at(21, "16:00")))
	type holder struct {
		HeldKg float64 `json:"held_kg"`
	}
	held := func(query string) float64 { return read[holder](t, s.outfit, "reports/holders/"+s.large+query).HeldKg }
	for _, row := range []struct {
		what, query string
		want        float64
	}{
		{"now", "", 930}, // 1000 - 270 + 200
		{"as the book knew before the last entry", fmt.Sprintf("?as_of=%d", then), 730},
		{"before the book had a tank with honey", "?at=2026-08-21T11:59:59-05:00", 0},
		{"at noon of that day", "?at=2026-08-21T12:00:00-05:00", 1000},
		{"at noon, with the zone that is written with +", "?at=2026-08-21T19:00:00%2B02:00", 1000},
		{"after the drum", "?at=2026-08-21T14:00:00-05:00", 730},
		{"after the drum, as the book knew", fmt.Sprintf("?at=2026-08-21T20:00:00Z&as_of=%d", then), 730},
		{"after the second hour", "?at=2026-08-21T16:00:00-05:00", 930},
	} {
		if got := held(row.query); got != row.want {
			t.Errorf("%s: %g kg, want %g", row.what, got, row.want)
		}
	}
	if got := len(read[[]M](t, s.outfit, fmt.Sprintf("movements?as_of=%d", then))); got != 1 {
		t.Errorf("the book knew of %d movements, want 1", got)
	}
	if r := s.send(t, http.MethodGet, "/v1/reports/holders/"+s.large+"?as_of=0", s.reader, nil); r.status != 404 {
		t.Errorf("before its first entry the book knew the tank: %d %s", r.status, r.raw)
	}
}

func TestAReaderWhoHasTheLatestIsToldSo(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	for _, path := range []string{"outfit", "pulls", "entries", "reports/season", "reports/findings", "reports/shed"} {
		first := s.get(t, path)
		tag := first.header.Get("ETag")
		ask := func(given string) reply {
			return s.sendWith(t, http.MethodGet, "/v1/"+path, http.Header{"Authorization": {"Bearer " + s.reader}, "If-None-Match": {given}}, nil)
		}
		if r := ask(tag); tag == "" || r.status != http.StatusNotModified || len(r.raw) > 0 || r.header.Get("ETag") != tag {
			t.Errorf("%s with its own tag %s: %d %s", path, tag, r.status, r.raw)
		}
		if r := ask(`"other", ` + tag); r.status != http.StatusNotModified {
			t.Errorf("%s with a list of tags: %d", path, r.status)
		}
		s.book(t, "pulls", s.aPull())
		if r := ask(tag); r.status != http.StatusOK || r.header.Get("ETag") == tag {
			t.Errorf("%s after another pull: %d %s", path, r.status, r.header.Get("ETag"))
		}
	}
}

func TestANewYearBringsTheNewSeasonWithoutAnEntry(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "seasons", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "2027", "first": "2027-01-01", "last": "2027-12-31"})
	old := s.get(t, "reports/season")
	// Half past midnight on New Year's Day where the outfit is.
	s.serve(t, func(c *request.Config) {
		c.Now = func() time.Time { return time.Date(2027, 1, 1, 6, 30, 0, 0, time.UTC) }
	})
	r := s.sendWith(t, http.MethodGet, "/v1/reports/season", http.Header{"Authorization": {"Bearer " + s.reader}, "If-None-Match": {old.header.Get("ETag")}}, nil)
	if r.status != http.StatusOK || as[struct{ Name string }](t, old).Name != "2026" || as[struct{ Name string }](t, r).Name != "2027" {
		t.Errorf("%d %s", r.status, r.raw)
	}
}

func TestTheJournalShowsWhatTheDigestsCover(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "readings", s.aReading("as_entered", M{"moisture_pct": "17,4"}))
	misread := s.book(t, "fills", s.aFill()).ID
	corrected := s.book(t, "fills", s.aFill("gross_kg", 288, "replaces", misread, "reason", "misread")).ID
	type row struct {
		Number     int64
		ID         string
		RootID     string `json:"root_id"`
		Digest     string
		ReplacedBy string `json:"replaced_by"`
		Content    json.RawMessage
	}
	var before [sha256.Size]byte
	for e := range s.entries(t) {
		content, err := e.Content()
		if err != nil {
			t.Fatal(err)
		}
		before = ledger.Chain(before, e.Number, e.Canonical(content))
	}
	if got := s.head(t).Digest; got != hex.EncodeToString(before[:]) {
		t.Errorf("the book ends with %s, and the chain of its entries with %x", got, before)
	}
	journal := read[[]row](t, s.outfit, "entries")
	if last := journal[len(journal)-1]; last.Digest != s.head(t).Digest || last.ID != corrected || last.RootID != misread {
		t.Errorf("the journal ends with %+v", last)
	}
	if journal[len(journal)-2].ReplacedBy != corrected {
		t.Errorf("the journal does not say what replaced the misread fill: %+v", journal[len(journal)-2])
	}
	for _, of := range []string{misread, corrected} {
		if chain := read[[]row](t, s.outfit, "entries/"+of); len(chain) != 2 || chain[0].ID != misread || chain[1].ID != corrected {
			t.Errorf("the chain of %s: %+v", of, chain)
		}
	}
}

// entries reads the outfit's entries from the database.
func (s *shed) entries(t *testing.T) func(func(*ledger.Entry) bool) {
	t.Helper()
	all, err := s.service.EntriesAfter(t.Context(), s.id, 0)
	if err != nil {
		t.Fatal(err)
	}
	return func(yield func(*ledger.Entry) bool) {
		for _, e := range all {
			if !yield(e) {
				return
			}
		}
	}
}

// TestAListGivesWhatWasSent holds for every kind: what a list shows can be sent
// again, except for what the book added.
func TestAListGivesWhatWasSent(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	o.recordExamples(t)
	for _, op := range recordingInOrder(t) {
		sent := op.example().(map[string]any)
		var shown M
		for _, e := range read[[]M](t, o, strings.TrimPrefix(op.path, "/v1/")+"?all=true") {
			if e["id"] == sent["id"] {
				shown = e
			}
		}
		for name, want := range sent {
			wrote, _ := json.Marshal(want)
			got, _ := json.Marshal(shown[name])
			if name == "occurred_at" || name == "points" { // the same instants, in UTC
				continue
			}
			if string(got) != string(wrote) {
				t.Errorf("%s: %s was sent as %s and is shown as %s", op.path, name, wrote, got)
			}
		}
	}
}

func TestOtherMethodsAndAddressesAreAnsweredPlainly(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	full := s.get(t, "pulls")
	if r := s.send(t, http.MethodHead, "/v1/pulls", s.reader, nil); r.status != 200 || len(r.raw) > 0 || r.header.Get("ETag") != full.header.Get("ETag") {
		t.Errorf("HEAD: %d, %q, %v", r.status, r.raw, r.header)
	}
	if r := s.send(t, http.MethodHead, "/v1/pulls", "", nil); r.status != 401 || len(r.raw) > 0 {
		t.Errorf("HEAD without a token: %d %q", r.status, r.raw)
	}
	if r := s.send(t, http.MethodOptions, "/v1/pulls", s.reader, nil); r.status != 204 || !strings.Contains(r.header.Get("Allow"), "POST") {
		t.Errorf("OPTIONS: %d, Allow %q", r.status, r.header.Get("Allow"))
	}
	for _, method := range []string{http.MethodPut, http.MethodPatch, http.MethodDelete} {
		r := s.send(t, method, "/v1/pulls", s.manager, nil)
		if p := as[problem](t, r); r.status != 405 || p.Type != "/problems/method-not-allowed" || !strings.Contains(r.header.Get("Allow"), "POST") {
			t.Errorf("%s: %d %s, Allow %q", method, r.status, r.raw, r.header.Get("Allow"))
		}
	}
	for _, path := range []string{"/v1/hives", "/v1/entries/" + never, "/v2/pulls"} {
		r := s.send(t, http.MethodGet, path, s.reader, nil)
		if p := as[problem](t, r); r.status != 404 || p.Type != "/problems/not-found" {
			t.Errorf("%s: %d %s", path, r.status, r.raw)
		}
	}
}

// TestAThingIsAskedForByItsName holds that whatever has a name of its own needs no id in a
// query, however the name is written: with a slash, a blank, letters of any script, a sign
// of percent, or like an id.
func TestAThingIsAskedForByItsName(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "asked for by name")
	for _, name := range []string{"Río Niño / north 50%", "Über+Aue & Sohn", "養蜂場", "0198b1a0-0002-7000-8000-0000000000ff"} {
		yard := s.book(t, "yards", M{"id": id(), "occurred_at": at(1, "9:00"), "name": name}).ID
		pull := s.book(t, "pulls", s.aPull("yard_id", yard)).ID
		for _, written := range []string{yard, name, strings.ToUpper(name)} {
			got := read[[]struct{ ID string }](t, s.outfit, "pulls?yard="+url.QueryEscape(written))
			if len(got) != 1 || got[0].ID != pull {
				t.Errorf("pulls of the yard %q: %v", written, got)
			}
		}
	}
	for query, pointer := range map[string]string{
		"pulls?yard=R%C3%ADo+Ni%C3%B1o+%2F+north+5": "query:yard", "fills?lot=nothing": "query:lot", "reports/season?season=1999": "query:season",
		"reports/reconciliation?yard=nowhere": "query:yard", "stocktakes?tank=nothing": "query:tank",
	} {
		r := s.send(t, http.MethodGet, "/v1/"+query, s.reader, nil)
		if p := as[problem](t, r); r.status != http.StatusUnprocessableEntity || p.Errors[0].Pointer != pointer || p.Errors[0].Sent == nil {
			t.Errorf("%s: %d %s", query, r.status, r.raw)
		}
		if strings.Contains(query, "north") && !strings.Contains(string(r.raw), `"did_you_mean":"Río Niño / north 50%"`) {
			t.Errorf("a slip in a name: %s", r.raw)
		}
	}
	if got := read[[]struct{ ID string }](t, s.outfit, "stocktakes?tank=large+tank&season=latest"); len(got) != 0 {
		t.Errorf("stocktakes of a tank that was never measured: %v", got)
	}
}

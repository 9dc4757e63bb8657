package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"pullbook/api/apitest"
)

// feedFilters are the filters that a feed may take.
var feedFilters = []string{"season", "yard", "lot", "from", "to"}

// feedDay is the column that says when a row of a feed was; empty where it is of a whole season
// or of now.
var feedDay = map[string]string{
	"pulls": "pulled_at", "runs": "started_at", "readings": "occurred_at", "movements": "moved_at", "lots": "opened_at", "containers": "filled_at",
	"verdicts": "checked_on", "findings": "occurred_at", "temperatures": "at", "journal": "occurred_at", "yards": "", "tanks": "",
}

// sieve filters rows of feeds by what they say, and knows nothing of the service's filters.
type sieve struct {
	// first and last are the days of each season by its name.
	first, last map[string]string
	// pullsOf and drumsOf are the pulls of each yard and the containers of each lot, by id.
	pullsOf, drumsOf map[string]map[string]bool
	// ids are those of yards and lots by name, root those of entries under all of their ids, and standing the rows of
	// the journal that no other replaced, by their root.
	ids, root map[string]string
	standing  map[string]map[string]string
}

func newSieve(t *testing.T, o *outfit) *sieve {
	t.Helper()
	s := &sieve{first: map[string]string{}, last: map[string]string{}, pullsOf: map[string]map[string]bool{}, drumsOf: map[string]map[string]bool{},
		ids: map[string]string{}, root: map[string]string{}, standing: map[string]map[string]string{}}
	for _, row := range o.rows(t, "yards.csv") {
		s.first[row["season"]], s.last[row["season"]] = row["first"], row["last"]
		s.ids[row["yard"]] = row["yard_id"]
	}
	for _, row := range o.rows(t, "lots.csv") {
		s.ids[row["lot"]] = row["id"]
	}
	for _, row := range o.rows(t, "containers.csv") {
		put(s.drumsOf, row["lot"], row["id"])
	}
	for _, row := range o.rows(t, "journal.csv") {
		s.root[row["id"]] = row["root_id"]
		if row["replaced"] == "FALSE" {
			s.standing[row["root_id"]] = row
		}
	}
	for _, row := range o.rows(t, "pulls.csv") {
		put(s.pullsOf, row["yard"], row["id"])
	}
	return s
}

func put(in map[string]map[string]bool, of, what string) {
	if in[of] == nil {
		in[of] = map[string]bool{}
	}
	in[of][what] = true
}

// holds reports whether a row of a feed is one that a filter asks for.
func (s *sieve) holds(t *testing.T, feed, filter, value string, row map[string]string) bool {
	t.Helper()
	day := row[feedDay[feed]]
	day = day[:min(len(day), 10)]
	switch filter {
	case "season":
		if feed == "yards" {
			return row["season"] == value
		}
		return s.first[value] <= day && day <= s.last[value]
	case "from":
		return day >= value
	case "to":
		return day <= value
	case "yard":
		switch feed {
		case "journal":
			return s.names(t, row, value, s.pullsOf[value])
		case "findings":
			return row["place_id"] == s.ids[value] || row["about_id"] == s.ids[value] || s.names(t, s.standing[row["about_id"]], value, s.pullsOf[value])
		case "runs", "lots", "tanks":
			return slices.Contains(strings.Split(row["yards"], ", "), value)
		}
		return row["yard"] == value
	}
	switch feed {
	case "movements":
		return s.drumsOf[value][row["from_id"]] || s.drumsOf[value][row["to_id"]]
	case "journal":
		return s.names(t, row, value, s.drumsOf[value])
	case "findings":
		return row["place_id"] == s.ids[value] || s.drumsOf[value][row["place_id"]] || s.names(t, s.standing[row["about_id"]], value, s.drumsOf[value])
	}
	return row["lot"] == value
}

// names reports whether an entry of the journal names a yard or lot, or one of its pulls or containers. Who settles
// a finding names the entry that it is about, and not where that was.
func (s *sieve) names(t *testing.T, row map[string]string, name string, parts map[string]bool) bool {
	t.Helper()
	var content map[string]any
	if err := json.Unmarshal([]byte(row["content"]), &content); err != nil {
		t.Fatalf("%v: %v", err, row)
	}
	within := false
	var look func(v any)
	look = func(v any) {
		switch v := v.(type) {
		case string:
			root := s.root[v]
			within = within || root != "" && (root == s.ids[name] || parts[root] && row["kind"] != "acceptance")
		case map[string]any:
			for _, inner := range v {
				look(inner)
			}
		case []any:
			for _, inner := range v {
				look(inner)
			}
		}
	}
	look(content)
	return within
}

// Each feed with each filter gives the rows that somebody would choose by hand among all of the feed, in their order;
// or says that it has no such filter, and which feeds have. No filter is passed over in silence.
func TestAFilterGivesWhatOneWouldChooseByHand(t *testing.T) {
	t.Parallel()
	o := demoOutfit(t, openHouse(t))
	by := newSieve(t, o)
	yards, lots := o.rows(t, "yards.csv?season=2026"), o.rows(t, "lots.csv")
	asked := map[string][]string{
		"season": {"2025", "2026"}, "yard": {yards[0]["yard"], yards[len(yards)-1]["yard"]}, "lot": {lots[0]["lot"], lots[len(lots)-1]["lot"]},
		"from": {"2026-08-03", "2027-01-01"}, "to": {"2026-08-03", "2020-01-01"},
	}
	feeds := feedsOfContract(t)
	if len(feeds) != len(feedDay) {
		t.Errorf("%d feeds are tried of %d", len(feedDay), len(feeds))
	}
	chosen := 0
	for feed := range feeds {
		all := o.rows(t, feed+".csv")
		if len(all) == 0 {
			t.Errorf("the season gives the feed %s no row", feed)
		}
		var takes []url.Values
		for _, filter := range feedFilters {
			for _, value := range asked[filter] {
				ask := url.Values{filter: {value}}
				if !o.takes(t, feed, filter, value) {
					continue
				}
				takes = append(takes, ask)
				if other := takes[0]; !other.Has(filter) { // two together
					takes = append(takes, url.Values{filter: {value}, only(other): other[only(other)]})
				}
			}
		}
		for _, ask := range takes {
			want := slices.DeleteFunc(slices.Clone(all), func(row map[string]string) bool {
				for filter := range ask {
					if !by.holds(t, feed, filter, ask.Get(filter), row) {
						return true
					}
				}
				return false
			})
			got := o.rows(t, feed+".csv?"+ask.Encode())
			if len(want) > 0 && len(want) < len(all) {
				chosen++
			}
			if !slices.EqualFunc(got, want, func(a, b map[string]string) bool { return fmt.Sprint(a) == fmt.Sprint(b) }) {
				t.Errorf("%s?%s: %d rows, by hand %d of %d\n%s", feed, ask.Encode(), len(got), len(want), len(all), firstApart(got, want))
			}
		}
	}
	if chosen < 40 {
		t.Errorf("only %d questions chose some of the rows", chosen)
	}
}

func only(ask url.Values) string {
	for name := range ask {
		return name
	}
	return ""
}

func firstApart(got, want []map[string]string) string {
	for i := range max(len(got), len(want)) {
		switch {
		case i == len(got):
			return fmt.Sprintf("lacks %v", want[i])
		case i == len(want):
			return fmt.Sprintf("has %v", got[i])
		case fmt.Sprint(got[i]) != fmt.Sprint(want[i]):
			return fmt.Sprintf("has %v\nin place of %v", got[i], want[i])
		}
	}
	return ""
}

// takes reports whether a feed takes a filter. One that does not says so, by name, and says what would do.
func (o *outfit) takes(t *testing.T, feed, filter, value string) bool {
	t.Helper()
	for _, form := range []string{"csv", "jsonl", "xlsx"} {
		r := o.send(t, http.MethodGet, "/feeds/"+feed+"."+form+"?"+url.Values{filter: {value}}.Encode(), o.reader, nil)
		if r.status == http.StatusOK {
			return true // and the answer is held to the contract, which has the filter
		}
		p := as[problem](t, r)
		if r.status != http.StatusUnprocessableEntity || len(p.Errors) != 1 || p.Errors[0].Pointer != "query:"+filter {
			t.Errorf("%s.%s by %s: %d %s", feed, form, filter, r.status, r.raw)
			continue
		}
		said := p.Errors[0].Detail
		if !strings.HasPrefix(said, "The feed "+feed+" ") || !strings.Contains(said, " by "+filter) || !strings.HasSuffix(strings.TrimSuffix(said, "."), "season") && !strings.Contains(said, "journal") {
			t.Errorf("%s by %s: %s", feed, filter, said)
		}
	}
	return false
}

// A dispatch may hold drums of several lots. Whoever asks for one lot gets what left of that lot.
func TestOfADispatchALotHasItsOwnDrums(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	other := s.book(t, "lots", M{"id": id(), "occurred_at": at(21, "9:00"), "code": "L26-002"}).ID
	drum := s.book(t, "fills", with(s.aFill("container", "D-77"), "lot_id", other)).ID
	s.release(t, s.lot, at(22, "8:00"))
	s.release(t, other, at(22, "8:00"))
	sent := s.book(t, "dispatches", M{"id": id(), "occurred_at": at(22, "9:00"), "buyer_id": s.buyer, "containers": []string{s.drum1, drum}}).ID
	for lot, from := range map[string]string{"L26-001": s.drum1, "L26-002": drum} {
		var left []string
		for _, row := range s.rows(t, "movements.csv?lot="+lot) {
			if row["id"] == sent {
				left = append(left, row["from_id"])
			}
		}
		if !slices.Equal(left, []string{from}) {
			t.Errorf("%s left in %v, not in %s alone", lot, left, from)
		}
	}
}

// Neither the workbook of a season nor the calendar passes over a filter of the tables, and JSON lines keep their ids.
func TestWhatHasNoSuchFilterSaysSo(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	for address, says := range map[string]string{
		"season.xlsx?yard=Alder%20Bend": "The feed season cannot be narrowed by yard, but by season. These can be narrowed by yard: ",
		"calendar.ics?season=2026":      "The feed calendar has no filters. These can be narrowed by season: containers, ",
		"tanks.csv?lot=L26-001":         "The feed tanks cannot be narrowed by lot, but by yard. These can be narrowed by lot: containers, findings, journal, ",
		"yards.csv?from=2026-01-01":     "The feed yards cannot be narrowed by from, but by season, yard. ",
		"pulls.jsonl?ids=no":            "JSON lines always have their ids",
	} {
		r := s.send(t, http.MethodGet, "/feeds/"+address, s.reader, nil)
		if p := as[problem](t, r); r.status != http.StatusUnprocessableEntity || len(p.Errors) != 1 || !strings.Contains(p.Errors[0].Detail, says) {
			t.Errorf("%s: %d %s", address, r.status, r.raw)
		}
	}
}

// The page of the feeds says which filters each takes.
func TestThePageOfFeedsNamesTheirFilters(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	_, page := h.Send(t, http.MethodGet, "/settings/feeds", nil, http.Header{"Accept-Language": {"en-GB"}})
	for feed, takes := range map[string]string{"yards": "season, yard", "tanks": "yard", "journal": "season, yard, lot, from, to", "containers": "season, lot, from, to", "season": "season"} {
		_, card, _ := strings.Cut(page, "<h3>"+feed+"</h3>")
		card, _, _ = strings.Cut(card, "</li>")
		if !strings.Contains(card, `Filters: <span lang="en">`+takes+"<") {
			t.Errorf("%s: %s", feed, card)
		}
	}
	_, card, _ := strings.Cut(page, "<h3>calendar</h3>")
	if card, _, _ = strings.Cut(card, "</li>"); strings.Contains(card, "Filters") {
		t.Errorf("the calendar: %s", card)
	}
}

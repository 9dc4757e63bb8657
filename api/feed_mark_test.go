package api_test

import (
	"html"
	"io"
	"math"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"pullbook/api/apitest"
	"pullbook/db"
	"pullbook/db/dbtest"
	"pullbook/domain/demo"
)

// readIn gives a page to a manager whose browser asks for a region.
func readIn(t *testing.T, h *apitest.House, path, region string) string {
	t.Helper()
	_, page := h.Send(t, http.MethodGet, path, nil, http.Header{"Accept-Language": {region}})
	return html.UnescapeString(page)
}

// The addresses that the page gives fit the outfit's spreadsheets, whatever the region of who copies them. Where nobody
// said what those write, they fit the region. The page says in sight which it is and why, and leads to the other mark.
func TestTheAddressesThatAreCopiedFitTheOutfitsSpreadsheets(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	like := map[string]string{"point": "1134.4", "comma": "1134,4"}
	other := map[string]string{"point": "comma", "comma": "point"}
	english := map[string]string{"outfit": "The outfit's spreadsheets write them so.", "reader": "Nobody said what the outfit's spreadsheets write"}
	spanish := map[string]string{"outfit": "Así las escriben las hojas de cálculo de la explotación.", "reader": "Nadie dijo qué escriben"}
	for _, outfit := range []string{"", "comma", "point", ""} {
		if err := h.Operator.SetDecimalMark(t.Context(), h.Outfit, outfit); err != nil {
			t.Fatal(err)
		}
		for region, ofRegion := range map[string]string{"en-GB": "point", "en-US": "point", "es-MX": "point", "es-ES": "comma", "es-AR": "comma", "es-CL": "comma"} {
			mark, by := outfit, "outfit"
			if outfit == "" {
				mark, by = ofRegion, "reader"
			}
			says := english[by]
			if strings.HasPrefix(region, "es") {
				says = spanish[by]
			}
			page := readIn(t, h, "/settings/feeds", region)
			holdsAddresses(t, region, page, mark)
			for _, what := range []string{like[mark], says, `href="/settings/feeds?decimal=` + other[mark] + `"`, `href="#spreadsheets"`} {
				if !strings.Contains(page, what) {
					t.Errorf("the outfit has %q, the reader %s: the page does not say %s", outfit, region, what)
				}
			}
			holdsAddresses(t, region+", asked for the other mark", readIn(t, h, "/settings/feeds?decimal="+other[mark], region), other[mark])
			if again := readIn(t, h, "/settings/feeds?decimal="+mark, region); !strings.Contains(again, says) {
				t.Errorf("the outfit has %q, the reader %s: asked for the mark that it has anyway, the page does not say %s", outfit, region, says)
			}
		}
	}
}

// holdsAddresses holds the addresses of all tables on a page against a mark. A workbook and the calendar have none.
func holdsAddresses(t *testing.T, where, page, mark string) {
	t.Helper()
	for feed := range feedDay {
		address := "/feeds/" + feed + ".csv"
		if mark == "comma" {
			address += "?decimal=comma"
		}
		if !strings.Contains(page, address+`"`) {
			t.Errorf("%s: the page has no address %s", where, address)
		}
	}
	if strings.Contains(page, ".xlsx?decimal") || strings.Contains(page, ".ics?decimal") {
		t.Errorf("%s: a workbook or the calendar has a decimal mark", where)
	}
}

// A manager says on the page what the spreadsheets write, and the book tells of it. Nobody else may, and what is no mark
// is refused with what would do.
func TestAManagerSaysWhatTheSpreadsheetsWrite(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	const form = "/settings/feeds/decimal-mark"
	set := func(by *apitest.House, mark string) (int, string) {
		r, page := by.Send(t, http.MethodPost, form, url.Values{"mark": {mark}}, nil)
		return r.StatusCode, html.UnescapeString(page)
	}
	for _, row := range []struct{ mark, is, says string }{
		{"comma", "comma", "its spreadsheets write decimals behind a comma"}, {"point", "point", "its spreadsheets write decimals behind a point"},
		{"reader", "", "nobody says any more what its spreadsheets write before decimals"},
	} {
		if status, page := set(h, row.mark); status != http.StatusOK || !strings.Contains(page, `id="spreadsheets">Decimal mark`) {
			t.Errorf("%s: %d %s", row.mark, status, page)
		}
		if o, err := h.Operator.Outfit(t.Context(), h.Outfit); err != nil || o.DecimalMark != row.is {
			t.Errorf("%s: %+v, %v", row.mark, o, err)
		}
		if journal := readIn(t, h, "/journal", "en-GB"); !strings.Contains(journal, row.says) {
			t.Errorf("the journal does not say that %s", row.says)
		}
	}
	before := h.Entries(t)
	for _, mark := range []string{"", "dot", "1134,4", ","} {
		if status, page := set(h, mark); status != http.StatusUnprocessableEntity || !strings.Contains(page, "The decimal mark is point, comma, or reader") || !strings.Contains(page, mark) {
			t.Errorf("%q: %d %s", mark, status, page)
		}
	}
	if r, page := h.Send(t, http.MethodGet, "/settings/feeds?decimal=dot", nil, nil); r.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, "The decimal mark is point or comma.") {
		t.Errorf("an address with decimal=dot: %d %s", r.StatusCode, page)
	}
	if status, _ := set(h.Somebody(t, "Odell", db.Crew), "comma"); status != http.StatusForbidden {
		t.Errorf("crew set it: %d", status)
	}
	if after := h.Entries(t); after != before+1 { // Odell
		t.Errorf("%d entries tell of what was refused", after-before-1)
	}
}

// A key's addresses are shown once. They have the mark that the page had, and stand there with the other one too.
func TestAKeysAddressesAreShownWithEitherMark(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	for asked, first := range map[string]string{"": "point", "comma": "comma"} {
		if page := readIn(t, h, "/settings/feeds?decimal="+asked, "en-GB"); strings.Contains(page, `name="decimal" value="comma"`) != (asked == "comma") {
			t.Errorf("asked for %q, the form of a key does not go on with it", asked)
		}
		_, page := h.Send(t, http.MethodPost, "/settings/feeds", url.Values{"name": {"the office"}, "feed": {"lots"}, "decimal": {asked}}, nil)
		addresses := regexp.MustCompile(`value="http://[^"]*/feeds/lots\.csv\?(decimal=comma&amp;)?key=pullbookfeed_[^"]+"`).FindAllStringSubmatch(page, -1)
		if len(addresses) != 2 || (addresses[0][1] != "") != (first == "comma") || (addresses[0][1] != "") == (addresses[1][1] != "") {
			t.Errorf("asked for %q: %q", asked, addresses)
		}
	}
	if _, page := h.Send(t, http.MethodPost, "/settings/feeds", url.Values{"name": {"the phone"}, "feed": {"calendar"}}, nil); strings.Contains(page, "These addresses write figures") {
		t.Error("a calendar's address has a decimal mark")
	}
	before := h.Entries(t)
	r, page := h.Send(t, http.MethodPost, "/settings/feeds", url.Values{"name": {"the office"}, "decimal": {"dot"}}, nil)
	if r.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, "The decimal mark is point or comma.") || h.Entries(t) != before {
		t.Errorf("a key whose addresses cannot be shown: %s, and %d entries tell of it", r.Status, h.Entries(t)-before)
	}
}

// An owner whose tablet is set to English copies the addresses of an outfit whose office is Spanish. LibreOffice set to
// Spanish reads every figure of them; and so does one set to English the addresses that a Spanish browser copies for an
// English office.
func TestTheCopiedAddressReadsTheSameInTheOffice(t *testing.T) {
	t.Parallel()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	h := apitest.Open(t, apitest.MetricOutfit, demo.Example(loc).Entries)
	h.SignIn(t)
	for _, row := range []struct{ reader, mark, office string }{{"en-GB", "comma", "Spanish"}, {"es-ES", "point", "English"}} {
		if row.office != "Spanish" && !dbtest.Whole() {
			continue
		}
		if err := h.Operator.SetDecimalMark(t.Context(), h.Outfit, row.mark); err != nil {
			t.Fatal(err)
		}
		_, page := h.Send(t, http.MethodPost, "/settings/feeds", url.Values{"name": {"the office"}}, http.Header{"Accept-Language": {row.reader}})
		want, folder := map[string]figures{}, t.TempDir()
		for _, found := range regexp.MustCompile(`value="(http://[^"]*/feeds/([a-z]+)\.csv\?[^"]*)"`).FindAllStringSubmatch(page, -1) {
			address, feed := html.UnescapeString(found[1]), found[2]
			if want[feed] != nil {
				continue // the second one has the other mark
			}
			if err := os.WriteFile(filepath.Join(folder, feed+".csv"), fetched(t, address), 0o600); err != nil {
				t.Fatal(err)
			}
			want[feed] = jsonFigures(t, feed, fetched(t, strings.Replace(address, ".csv", ".jsonl", 1)))
		}
		if len(want) != len(feedsOfContract(t)) {
			t.Fatalf("the page has %d addresses of CSV", len(want))
		}
		for _, in := range regions {
			if in.name == row.office {
				readsAlike(t, "copied by "+row.reader+", opened in "+in.name, want, loaded(t, in, "CSV:"+in.fields+",34,76,1,,"+in.id, folder, "csv"), false)
			}
		}
	}
}

// A recall sheet is opened in a hurry, by whoever has to call honey back: LibreOffice set to Spanish reads the masses that
// the interface for programs says.
func TestARecallSheetReadsTheSameInTheOffice(t *testing.T) {
	t.Parallel()
	h := openTraced(t)
	h.SignIn(t)
	if err := h.Operator.SetDecimalMark(t.Context(), h.House.Outfit, db.Comma); err != nil {
		t.Fatal(err)
	}
	_, page := h.Send(t, http.MethodGet, "/recall?of="+h.Ridge.String(), nil, http.Header{"Accept-Language": {"en-GB"}})
	link := regexp.MustCompile(`href="(/recall/sheet\.csv[^"]*)"`).FindStringSubmatch(page)
	if link == nil {
		t.Fatalf("the page leads to no sheet: %s", page)
	}
	_, sheet := h.Get(t, html.UnescapeString(link[1]))
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "recall.csv"), []byte(sheet), 0o600); err != nil {
		t.Fatal(err)
	}
	got := loaded(t, regions[2], "CSV:59,34,76,1,,"+regions[2].id, folder, "csv")["recall"]
	said := asked[struct {
		Containers []struct {
			MassKg float64 `json:"mass_kg"`
			MostKg float64 `json:"most_kg"`
		}
	}](t, h, "trace/recall?of="+h.Ridge.String())
	if len(said.Containers) == 0 || len(got["most_kg"]) < len(said.Containers) {
		t.Fatalf("%d containers, and %d rows", len(said.Containers), len(got["most_kg"]))
	}
	for i, c := range said.Containers {
		for column, want := range map[string]float64{"of_it_kg": c.MassKg, "most_kg": c.MostKg} {
			if is := got[column][i]; is == nil || math.Abs(*is-want) > 1e-9 {
				t.Errorf("row %d: %s is %v, not %v", i+1, column, is, want)
			}
		}
	}
}

// fetched is what an address answers to a program that brings nothing but the address.
func fetched(t *testing.T, address string) []byte {
	t.Helper()
	r, err := http.Get(address)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != http.StatusOK {
		t.Fatalf("%s: %s, %v", address, r.Status, err)
	}
	return body
}

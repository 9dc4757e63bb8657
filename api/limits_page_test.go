package api_test

import (
	"encoding/json"
	"maps"
	"net/http"
	"net/url"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/db"
	"pullbook/domain/standard"
)

// limitsForm is the form of a buyer's limits as it is shown, with the lines that are ticked.
func limitsForm(page string) url.Values {
	form := formOf(page)
	delete(form, "keep")
	for _, m := range regexp.MustCompile(`name="keep" value="(\d+)" checked`).FindAllStringSubmatch(page, -1) {
		form.Add("keep", m[1])
	}
	return form
}

// plainSpaces is a page with blanks where a figure and its unit stay in one line.
func plainSpaces(page string) string { return strings.ReplaceAll(page, "\u00a0", " ") }

// TestABuyersLimitsAreWrittenInPlainFields: at 3.90 a kilogram 300 kg bring 1,170.00; 0.10 off a kilogram leaves
// 1,140.00. Of the lot's drums, read at 17.2, 17.4 and 17.6 %, one is above 17.5 %.
func TestABuyersLimitsAreWrittenInPlainFields(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	_, page := h.Get(t, "/settings/limits/new")
	form := limitsForm(page)
	for name, value := range map[string]string{
		"/name": "Northgate drums", "/citation": "contract NP-3", "/buyer_id": optionOf(t, page, "Northgate Packing"), "moisture": "wet", "hmf": "40", "diastase": "8", "colour_from": "10", "colour_to": "34",
		"price": "3.90", "currency": "CAD", "above 0": "17.8", "per 0": "0.10",
	} {
		form.Set(name, value)
	}
	before := h.Entries(t)
	response, page := h.Send(t, http.MethodPost, "/settings/limits/new", form, nil)
	if response.StatusCode != http.StatusUnprocessableEntity || h.Entries(t) != before {
		t.Errorf("a moisture of wet answered %s, with %d entries more", response.Status, h.Entries(t)-before)
	}
	wants(t, "what is refused", page, `id="moisture-error">&#34;wet&#34; is not a number`)
	if again := limitsForm(page); again.Get("moisture") != "wet" || again.Get("hmf") != "40" || again.Get("above 0") != "17.8" || again.Get("/buyer_id") != form.Get("/buyer_id") {
		t.Errorf("of what was typed is left %v", again)
	}

	form.Set("moisture", "17.5")
	form.Set("do", "try")
	_, page = h.Send(t, http.MethodPost, "/settings/limits/new", form, nil)
	wants(t, "worked out", plainSpaces(page), "17.9 % costs 0.10 CAD a kilogram: 300 kg bring 1,140.00 CAD.", "Without a step, 300 kg bring 1,170.00 CAD.")
	if h.Entries(t) != before {
		t.Error("working it out recorded something")
	}

	form.Set("do", "save")
	response, page = h.Send(t, http.MethodPost, "/settings/limits/new", form, nil)
	if response.StatusCode != http.StatusOK || response.Request.URL.Path != "/lots" {
		t.Fatalf("the limits answered %s at %s: %s", response.Status, response.Request.URL, regexp.MustCompile(`class="odd"[^>]*>[^<]*`).FindAllString(page, -1))
	}
	wants(t, "the lots by it", page, "Verdict by Northgate drums, contract NP-3, version 1.", "fails")
	if _, again := h.Send(t, http.MethodPost, "/settings/limits/new", form, nil); len(h.Ask(t, "rule-sets")) != 1 || !strings.Contains(again, "Northgate drums") {
		t.Error("a form sent twice is booked twice")
	}
	got := h.Ask(t, "rule-sets")[0]
	want := []any{
		apitest.M{"parameter": "moisture", "unit": "%", "comparator": "<=", "limit": "17.5"}, apitest.M{"parameter": "hmf", "unit": "mg/kg", "comparator": "<=", "limit": "40"},
		apitest.M{"parameter": "diastase", "unit": "Gothe scale", "comparator": ">=", "limit": "8"}, apitest.M{"parameter": "colour_pfund", "unit": "mm Pfund", "comparator": "between", "limit": "10", "limit_to": "34", "ends": "[]"},
	}
	for i, line := range got["limits"].([]any) {
		line := maps.Clone(line.(apitest.M))
		delete(line, "source")
		if line["clause"] != "contract NP-3" {
			t.Errorf("the clause is %s", line["clause"])
		}
		delete(line, "clause")
		if i >= len(want) || !reflect.DeepEqual(line, want[i]) {
			t.Errorf("line %d is %v", i, line)
		}
	}
	if price := got["price"].(apitest.M); price["minor_units_per_kg"] != "390" {
		t.Errorf("the price is %v", price)
	}
	if response, _ := h.Somebody(t, "Odell", db.Crew).Get(t, "/settings/limits/new"); response.StatusCode != http.StatusForbidden {
		t.Errorf("the form answered %s to crew", response.Status)
	}
}

// TestWhatIsWrongWithABuyersLimitsIsSaidAtItsField: nothing is stored, and each field says what is
// wrong with it.
func TestWhatIsWrongWithABuyersLimitsIsSaidAtItsField(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	before := h.Entries(t)
	for _, c := range []struct {
		typed url.Values
		at    string
	}{
		{url.Values{}, `id="moisture-error">Write at least one limit`},
		{url.Values{"/name": {""}}, `id="/name-error">This is missing`},
		{url.Values{"/name": {strings.Repeat("long ", 20)}, "moisture": {"18"}}, `id="/name-error"`},
		{url.Values{"moisture": {"178"}}, `id="moisture-error"`},
		{url.Values{"colour_from": {"40"}, "colour_to": {"30"}}, `id="colour_to-error"`},
		{url.Values{"moisture": {"18"}, "/in_force_from": {"2026-05-01"}, "/in_force_to": {"2026-04-01"}}, `id="/in_force_to-error"`},
		{url.Values{"moisture": {"18"}, "/measured_within_days": {"1.5"}}, `id="/measured_within_days-error">It is a number of whole days`},
		{url.Values{"moisture": {"18"}, "above 0": {"17"}, "per 0": {"0.1"}}, `id="price-error">Write the price that the steps lower`},
		{url.Values{"moisture": {"18"}, "price": {"4"}, "currency": {""}}, `id="currency-error">Say in which currency`},
		{url.Values{"moisture": {"18"}, "price": {"4"}, "currency": {"Canadian"}}, `id="currency-error"`},
		{url.Values{"moisture": {"18"}, "price": {"-4"}}, `id="price-error"`},
		{url.Values{"moisture": {"18"}, "price": {"4"}, "above 1": {"17"}, "per 1": {"0.1"}, "percent 1": {"2"}}, "A step costs either money or a part of the price, not both."},
		{url.Values{"moisture": {"18"}, "price": {"4"}, "above 1": {"17"}}, "Write what the step costs."},
		{url.Values{"moisture": {"18"}, "price": {"4"}, "per 0": {"1"}}, "Write above which figure the step begins."},
		{url.Values{"moisture": {"18"}, "price": {"4"}, "above 0": {"17"}, "up_to 0": {"16"}, "per 0": {"1"}}, `<p class="odd">The step ends above where it starts, 17.`},
		{url.Values{"moisture": {"18"}, "price": {"4"}, "above 0": {"17"}, "per 0": {"1"}, "above 2": {"17.5"}, "per 2": {"1"}}, `<p class="odd">The step overlaps the one above 17.`},
	} {
		_, page := h.Get(t, "/settings/limits/new")
		form := limitsForm(page)
		form.Set("/name", "Northgate drums")
		form.Set("/citation", "contract NP-3")
		form.Set("currency", "CAD")
		maps.Copy(form, c.typed)
		response, page := h.Send(t, http.MethodPost, "/settings/limits/new", form, nil)
		if response.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, c.at) {
			t.Errorf("%v answered %s, and does not say %s but %s", c.typed, response.Status, c.at, regexp.MustCompile(`class="odd"[^>]*>[^<]*`).FindAllString(page, -1))
		}
	}
	if h.Entries(t) != before {
		t.Errorf("%d entries were stored", h.Entries(t)-before)
	}
}

// TestABuyersLimitsStartFromAnyPublishedText: each line of the text goes along or is in a field, except those that
// say for some honeys what a field says for all.
func TestABuyersLimitsStartFromAnyPublishedText(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	library, err := standard.Published()
	if err != nil {
		t.Fatal(err)
	}
	_, page := h.Get(t, "/settings/limits/new")
	_, published, _ := strings.Cut(page, `<optgroup label="Published">`)
	published, _, _ = strings.Cut(published, "</optgroup>")
	options := regexp.MustCompile(`<option value="([^"]+)"`).FindAllStringSubmatch(published, -1)
	if len(options) < 10 {
		t.Fatalf("%d published texts are offered", len(options))
	}
	for _, o := range options {
		set, _ := library.Get(o[1])
		form := limitsForm(page)
		form.Set("from", set.ID)
		form.Set("do", "start")
		form.Set("/name", "as "+set.ID)
		form.Set("/citation", "letter of May")
		_, filled := h.Send(t, http.MethodPost, "/settings/limits/new", form, nil)
		form = limitsForm(filled)
		form.Set("id", uuid.NewString())
		if form.Get("/name") != "as "+set.ID || form.Get("/citation") != "letter of May" {
			t.Errorf("%s: filling the limits in took the name away", set.ID)
		}
		if response, body := h.Send(t, http.MethodPost, "/settings/limits/new", form, nil); response.StatusCode != http.StatusOK {
			t.Errorf("%s answered %s: %s", set.ID, response.Status, regexp.MustCompile(`class="odd"[^>]*>[^<]*`).FindAllString(body, -1))
			continue
		}
		sets := h.Ask(t, "rule-sets")
		took := sets[slices.IndexFunc(sets, func(s apitest.M) bool { return s["name"] == "as "+set.ID })]["limits"].([]any)
		general := map[string]bool{}
		for _, l := range set.Limits {
			general[l.Parameter] = general[l.Parameter] || l.When == nil
		}
		var want []string
		for _, l := range set.Limits {
			if l.When == nil || !general[l.Parameter] || !slices.Contains([]string{"moisture", "hmf", "diastase", "colour_pfund"}, l.Parameter) {
				want = append(want, l.Parameter+string(l.Comparator)+l.Limit+l.Unit)
			}
		}
		var got []string
		for _, l := range took {
			l := l.(apitest.M)
			limit, _ := l["limit"].(string)
			unit, _ := l["unit"].(string)
			got = append(got, l["parameter"].(string)+l["comparator"].(string)+limit+unit)
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: the lines are %v, not %v", set.ID, got, want)
		}
	}
}

// fullContract says what the plain fields cannot: by it, the form may change what it shows alone.
const fullContract = `{"occurred_at": "2026-01-05T09:00:00-06:00", "name": "Harrow contract", "citation": "H-9", "form": "limits",
 "rounding": {"method": "half_up"}, "decision": {"accept_r": 1}, "sampling": {"steps": [{"from": 1, "all": true}]}, "measured_within_days": 180, "note": "by mail",
 "price": {"currency": "USD", "minor_units_per_kg": "418.878", "discounts": [{"parameter": "hmf", "unit": "mg/kg", "above": "20", "percent": "1.50", "clause": "7"}]},
 "parameters": [{"name": "glyphosate", "unit": "mg/kg"}],
 "limits": [{"parameter": "moisture", "unit": "g/100 g", "comparator": "<=", "limit": "18.0", "by_mean": true, "guard": "0.2", "clause": "2.1", "note": "the tank's"},
  {"parameter": "moisture", "unit": "%", "comparator": "<=", "limit": "20", "clause": "2.2", "when": {"attribute": "kind", "includes": ["calluna_vulgaris"]}},
  {"parameter": "glyphosate", "unit": "mg/kg", "comparator": "<", "limit": "0.05", "clause": "2.3"},
  {"parameter": "colour_pfund", "unit": "mm Pfund", "comparator": "between", "limit": "17", "limit_to": "34", "ends": "(]", "clause": "2.4"}]}`

// TestAChangeOfLimitsChangesWhatWasTypedAlone, in pounds and in Spanish: what the fields do not show stays as it is, and
// so does a price that is no round figure in the outfit's unit.
func TestAChangeOfLimitsChangesWhatWasTypedAlone(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.USOutfit)
	h.SignIn(t)
	var was apitest.M
	if err := json.Unmarshal([]byte(fullContract), &was); err != nil {
		t.Fatal(err)
	}
	id := uuid.NewString()
	program := http.Header{"Authorization": {"Bearer " + h.Token}, "Content-Type": {"application/json"}}
	if response, body := h.SendBody(t, http.MethodPost, "/v1/rule-sets", strings.NewReader(strings.Replace(fullContract, "{", `{"id": "`+id+`", `, 1)), program); response.StatusCode != http.StatusCreated {
		t.Fatalf("the contract answered %s: %s", response.Status, body)
	}
	spanish := http.Header{"Accept-Language": {"es-ES"}}
	response, page := h.Send(t, http.MethodGet, "/settings/limits/"+id, nil, spanish)
	form := limitsForm(page)
	if form.Get("moisture") != "18,0" || form.Get("price") != "1,899999" || form.Get("above 0") != "20" || !slices.Equal(slices.Sorted(slices.Values(form["keep"])), []string{"1", "2", "3"}) {
		t.Fatalf("the form answered %s and shows %v", response.Status, form)
	}
	form.Set("moisture", "17,5")
	response, page = h.Send(t, http.MethodPost, "/settings/limits/"+id, form, spanish)
	if response.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(page, `id="/reason-error"`) {
		t.Errorf("a change without a reason answered %s", response.Status)
	}
	form.Set("/reason", "agreed in May")
	if response, page = h.Send(t, http.MethodPost, "/settings/limits/"+id, form, spanish); response.StatusCode != http.StatusOK {
		t.Fatalf("the change answered %s: %s", response.Status, page)
	}
	got := h.Ask(t, "rule-sets")[0]
	was["limits"].([]any)[0].(apitest.M)["limit"] = "17.5"
	for name, want := range was {
		if name == "occurred_at" {
			continue
		}
		if !reflect.DeepEqual(withoutSources(got[name]), withoutSources(want)) {
			t.Errorf("%s is %v, not %v", name, got[name], want)
		}
	}
	form.Set("id", uuid.NewString())
	if response, _ := h.Send(t, http.MethodPost, "/settings/limits/"+id, form, spanish); response.StatusCode != http.StatusConflict {
		t.Errorf("a form of an earlier version answered %s", response.Status)
	}
	for address, want := range map[string]int{"/settings/limits/" + h.Lot.String(): http.StatusNotFound, "/settings/limits/" + uuid.NewString(): http.StatusNotFound, "/settings/limits/new?from=nowhere": http.StatusNotFound} {
		if response, _ := h.Get(t, address); response.StatusCode != want {
			t.Errorf("%s answered %s", address, response.Status)
		}
	}
}

// withoutSources leaves out what the book says of where a text is from, and what a decision says anyway.
func withoutSources(v any) any {
	switch v := v.(type) {
	case apitest.M:
		out := apitest.M{}
		for name, inner := range v {
			if name != "source" && inner != 0.0 {
				out[name] = withoutSources(inner)
			}
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i := range v {
			out[i] = withoutSources(v[i])
		}
		return out
	}
	return v
}

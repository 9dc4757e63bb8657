package api_test

import (
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"pullbook/api/apitest"
	"pullbook/db"
)

// tickOf is the value of a tick whose label begins so.
func tickOf(t *testing.T, body, label string) string {
	t.Helper()
	m := regexp.MustCompile(`name="container" value="([0-9a-f-]{36})"[^>]*><label[^>]*>` + regexp.QuoteMeta(label)).FindStringSubmatch(body)
	if m == nil {
		t.Fatalf("no container %s can be ticked:\n%s", label, body)
	}
	return m[1]
}

// TestContainersAreSentOffAndSettledOnThePage: two drums of 290 kg, read at 17.2
// and 17.4 %, go at 6.105 CAD a kilogram, less 2 % above 17.5 % of moisture. The
// buyer finds 289.5 kg at 17.3 % and 290 kg at 17.6 %. By hand: 289.5 × 6.105 =
// 1767.40; 290 × 6.105 = 1770.45, less 2 % = 1735.04; together 3502.44. By the
// outfit's own figures 2 × 1770.45 = 3540.90.
func TestContainersAreSentOffAndSettledOnThePage(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	_, page := h.Get(t, "/dispatches/new")
	wants(t, "with nothing released", page, "No released lot has a container here", "Not released, and so not offered")
	h.Decide(t, h.House, "override", "note", "sold by sample")

	_, page = h.Get(t, "/entries/new?kind=buyer")
	form := formOf(page)
	form.Set("/name", "Harrow Foods")
	h.Send(t, http.MethodPost, "/entries/new/buyer", form, nil)
	_, page = h.Get(t, "/entries/new/rule_set")
	form = formOf(page)
	for name, value := range map[string]string{
		"/name": "table honey", "/citation": "contract 7", "/buyer_id": optionOf(t, page, "Harrow Foods"), "/form": "limits",
		"/limits/0/parameter": "moisture", "/limits/0/unit": "%", "/limits/0/comparator": "<=", "/limits/0/limit": "18", "/limits/0/clause": "2",
		"/price/currency": "CAD", "/price/minor_units_per_kg": "610.5",
		"/price/discounts/0/parameter": "moisture", "/price/discounts/0/unit": "%", "/price/discounts/0/above": "17.5", "/price/discounts/0/percent": "2", "/price/discounts/0/clause": "5",
	} {
		form.Set(name, value)
	}
	if response, body := h.Send(t, http.MethodPost, "/entries/new/rule_set", form, nil); response.StatusCode != http.StatusOK {
		t.Fatalf("the price answered %s: %s", response.Status, regexp.MustCompile(`class="odd"[^>]*>[^<]*`).FindAllString(body, -1))
	}

	_, page = h.Get(t, "/dispatches/new")
	form = formOf(page)
	form.Del("all")
	form.Del("container")
	form.Del("override")
	response, refused := h.Send(t, http.MethodPost, "/dispatches/new", form, nil)
	if response.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(refused, "Nothing is chosen") {
		t.Errorf("sending nothing answered %s", response.Status)
	}
	form["container"] = []string{tickOf(t, page, "D-1"), tickOf(t, page, "D-2")}
	response, refused = h.Send(t, http.MethodPost, "/dispatches/new", form, nil)
	if response.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(refused, "Say who the buyer is") || strings.Count(refused, "checked") != 2 {
		t.Errorf("sending to nobody answered %s, and forgot what was ticked", response.Status)
	}
	form.Set("buyer", optionOf(t, page, "Harrow Foods"))
	form.Set("reference", "waybill 31")
	response, page = h.Send(t, http.MethodPost, "/dispatches/new", form, nil)
	if response.StatusCode != http.StatusOK {
		t.Fatalf("sending two drums answered %s: %s", response.Status, page)
	}
	wants(t, "what left", page, "D-1", "D-2", "<b>580.0</b> kg", "Harrow Foods", "waybill 31", "Not settled yet")
	if _, again := h.Send(t, http.MethodPost, "/dispatches/new", form, nil); !strings.Contains(again, "waybill 31") || len(h.SQL(t, "SELECT number::text FROM entry WHERE kind = 'dispatch'")) != 1 {
		t.Error("a form sent twice is booked twice")
	}
	path := response.Request.URL.Path

	_, page = h.Get(t, path+"/settle")
	form = formOf(page)
	if net := namesOf(form, "net "); len(net) != 2 || form.Get(net[0]) != "290" {
		t.Fatalf("the form asks %v", form)
	}
	first, second := tickedRow(t, page, "D-1"), tickedRow(t, page, "D-2")
	form.Set("net "+first, "289.5")
	form.Set("moisture "+first, "17.3")
	form.Set("moisture "+second, "wet")
	form.Set("paid", "3500")
	response, refused = h.Send(t, http.MethodPost, path+"/settle", form, nil)
	if response.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(refused, "Container D-2") || !strings.Contains(refused, "289.5") {
		t.Errorf("a moisture of wet answered %s", response.Status)
	}
	form.Set("moisture "+second, "17.6")
	if response, page = h.Send(t, http.MethodPost, path+"/settle", form, nil); response.StatusCode != http.StatusOK {
		t.Fatalf("the settlement answered %s: %s", response.Status, regexp.MustCompile(`role="alert".*`).FindString(page))
	}
	page = html.UnescapeString(strings.ReplaceAll(page, "\u00a0", " "))
	wants(t, "settled", page, "<b>3,500.00 CAD</b>", "3,502.44 CAD", "2.44 CAD", "3,540.90 CAD", "40.90 CAD", "1,735.04 CAD")
	_, page = h.Get(t, "/dispatches")
	wants(t, "the list", strings.ReplaceAll(page, "\u00a0", " "), "3,500.00 CAD", "Harrow Foods", "580.0")

	crew := h.Somebody(t, "Odell", db.Crew)
	for _, address := range []string{"/dispatches/new", path + "/settle"} {
		if response, _ := crew.Get(t, address); response.StatusCode != http.StatusForbidden {
			t.Errorf("%s answered %s to crew", address, response.Status)
		}
	}
	if response, body := crew.Get(t, path); response.StatusCode != http.StatusOK || strings.Contains(body, "/settle") {
		t.Errorf("crew looking at what left: %s", response.Status)
	}
}

func namesOf(form url.Values, beginning string) (out []string) {
	for name := range form {
		if strings.HasPrefix(name, beginning) {
			out = append(out, name)
		}
	}
	return out
}

// tickedRow is the id of the container whose row begins so.
func tickedRow(t *testing.T, body, number string) string {
	t.Helper()
	m := regexp.MustCompile(`(?s)<th scope="row" class="name">` + regexp.QuoteMeta(number) + `</th>.*?name="net ([0-9a-f-]{36})"`).FindStringSubmatch(body)
	if m == nil {
		t.Fatalf("%s is not in the form", number)
	}
	return m[1]
}

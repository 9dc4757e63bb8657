package api_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/domain/ledger"
)

// residues are a buyer's rules with parameters that no published text limits.
func (s *story) residues() string {
	return s.put(-5, "rule-sets", "name", "Northgate residues", "citation", "contract 7", "form", "limits", "buyer_id", s.buyer,
		"parameters", []M{
			{"name": "glyphosate", "label": "Glyphosate (AMPA apart)", "unit": "µg/kg", "maximum": "100000"},
			{"name": "tylosin", "label": "Tylosin A", "words": []string{"not detected", "detected"}},
			{"name": "panel_score", "unit": "points", "minimum": "1", "maximum": "10"},
		},
		"limits", []M{
			{"parameter": "glyphosate", "comparator": "<=", "limit": "50", "clause": "2"},
			{"parameter": "tylosin", "comparator": "is", "limit": "not detected", "clause": "3"},
			{"parameter": "panel_score", "unit": "points", "comparator": ">=", "limit": "7", "clause": "4", "every_container": true},
		})
}

// analysed is a laboratory's result on the lot of what the buyer asks for.
func (s *story) analysed(n int, glyphosate float64, unit, tylosin string) string {
	return s.put(n, "readings", "on", M{"kind": "lot", "id": s.lot}, "laboratory", "Fern Valley", "containers_sampled", 3,
		"measured", []M{{"quantity": "own", "parameter": "glyphosate", "unit": unit, "value": glyphosate, "std_uncertainty": 0.001, "limit_of_quantification": 0.001, "method": "LC-MS/MS"}},
		"observed", []M{{"what": "tylosin", "word": tylosin}})
}

func (s *story) tasted(n int, scores ...float64) {
	for i, drum := range []string{"D-1", "D-2", "D-3"} {
		s.put(n, "readings", "on", M{"kind": "container", "id": s.drums[drum]}, "laboratory", "the panel",
			"measured", []M{{"quantity": "own", "parameter": "panel_score", "unit": "points", "value": scores[i]}})
	}
}

func TestWhatABuyerNamesIsMeasuredJudgedAndHoldsTheDoor(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	for _, tt := range []struct {
		what       string
		glyphosate float64
		tylosin    string
		worst      float64
		says       string
	}{
		{"all well, in another unit of mass", 0.049, "not detected", 7, ""},
		{"too much, in another unit of mass", 0.051, "not detected", 7, "Glyphosate (AMPA apart) fails"},
		{"found where none may be", 0.01, "detected", 7, "Tylosin A fails"},
		{"a drum that the panel did not like", 0.01, "not detected", 6.5, "panel score fails (D-2)"},
		{"not tasted", 0.01, "not detected", 0, "panel score not measured"},
	} {
		s := newStory(t, h, "own: "+tt.what)
		s.good()
		s.residues()
		s.analysed(4, tt.glyphosate, "mg/kg", tt.tylosin)
		if tt.worst > 0 {
			s.tasted(4, 9, tt.worst, 9)
		}
		r := s.post(t, "dispatches", M{"id": id(), "occurred_at": day(9, "12:00"), "buyer_id": s.buyer, "containers": []string{s.drums["D-1"], s.drums["D-2"], s.drums["D-3"]}})
		if went := r.status == http.StatusCreated; went != (tt.says == "") || !went && !strings.Contains(string(r.raw), tt.says) {
			t.Errorf("%s: %d %s, want %q", tt.what, r.status, r.raw, tt.says)
		}
	}
}

// A buyer who takes honey that nobody looked at, and none that was seen to ferment.
func TestALineThatHoldsOnlyWhereSomebodyLookedAsksNobodyToLook(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	for _, tt := range []struct {
		what, seen string
		asks       bool
		says       string
	}{
		{"nobody looked", "", false, ""},
		{"nobody looked, and the buyer asks for it", "", true, "signs of crystals not measured"},
		{"it was looked at and is clear", "none", false, ""},
		{"it was looked at and is not", "some", false, "signs of crystals fails"},
	} {
		s := newStory(t, h, "only where looked: "+tt.what)
		s.good()
		line := M{"parameter": "crystals", "comparator": "is", "limit": "none", "clause": "2"}
		if !tt.asks {
			line["only_where_looked"] = true
		}
		s.put(-5, "rule-sets", "name", "Northgate clear honey", "citation", "contract 8", "form", "limits", "buyer_id", s.buyer,
			"parameters", []M{{"name": "crystals", "label": "signs of crystals", "words": []string{"none", "some"}}}, "limits", []M{line})
		if tt.seen != "" {
			s.put(4, "readings", "on", M{"kind": "lot", "id": s.lot}, "observed", []M{{"what": "crystals", "word": tt.seen}})
		}
		r := s.post(t, "dispatches", M{"id": id(), "occurred_at": day(9, "12:00"), "buyer_id": s.buyer, "containers": []string{s.drums["D-1"], s.drums["D-2"], s.drums["D-3"]}})
		if went := r.status == http.StatusCreated; went != (tt.says == "") || !went && !strings.Contains(string(r.raw), tt.says) {
			t.Errorf("%s: %d %s, want %q", tt.what, r.status, r.raw, tt.says)
		}
	}
}

func TestAnOwnParameterIsShownWhereverItWasGiven(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	s := newStory(t, h, "own: shown")
	s.good()
	rule := s.residues()
	s.analysed(4, 0.06, "mg/kg", "not detected")
	s.tasted(4, 9, 8, 7)
	s.check(5, rule)
	for path, want := range map[string][]string{
		"readings":            {`"label":"Glyphosate (AMPA apart)"`, `"parameter":"glyphosate"`, `"unit":"mg/kg"`, `"label":"Tylosin A"`},
		"checks":              {`"label":"Glyphosate (AMPA apart)"`, "Glyphosate (AMPA apart) fails: 60.00 +/- 2 µg/kg against at most 50 µg/kg"},
		"rule-sets":           {`"parameters":[{"label":"Glyphosate (AMPA apart)"`},
		"/feeds/verdicts.csv": {"glyphosate", "panel_score", "at least 7 points"},
		"/feeds/readings.csv": {"glyphosate 0.06 mg/kg", "tylosin: not detected", "\"glyphosate 0.001\",\"glyphosate 0.001\""},
	} {
		var r reply
		if feed, is := strings.CutPrefix(path, "/feeds/"); is {
			r = s.feed(t, feed)
		} else {
			r = s.get(t, path)
		}
		for _, text := range want {
			if !strings.Contains(string(r.raw), text) {
				t.Errorf("%s is without %q: %s", path, text, r.raw)
			}
		}
	}
}

func TestAParameterThatNoRuleSetNamesIsAskedBack(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	s := newStory(t, h, "own: slips")
	figure := func(pairs ...any) M {
		return with(M{"quantity": "own", "parameter": "glyphosate", "unit": "µg/kg", "value": 12}, pairs...)
	}
	refused := func(what, says string, measured ...M) {
		t.Helper()
		r := s.post(t, "readings", M{"id": id(), "occurred_at": day(4, "12:00"), "on": M{"kind": "lot", "id": s.lot}, "laboratory": "Fern Valley", "measured": measured})
		if r.status != http.StatusUnprocessableEntity && r.status != http.StatusBadRequest || !strings.Contains(string(r.raw), says) {
			t.Errorf("%s: %d %s, want %q", what, r.status, r.raw, says)
		}
	}
	refused("before anybody named it", "No rule set of yours asks for", figure())
	s.residues()
	refused("misspelt", `"did_you_mean":"glyphosate"`, figure("parameter", "glyfosate"))
	refused("without a unit", "off by a thousand", figure("unit", nil))
	refused("in a unit of something else", "is a figure in µg/kg", figure("unit", "points"))
	refused("beyond what it can be", "is from 0 to 100 mg/kg", figure("unit", "mg/kg", "value", 101))
	refused("below nothing", "is 0 or more", figure("value", -1))
	refused("twice", "stands in this reading already", figure(), figure("value", 13))
	refused("of another quantity", "name and unit are fixed", M{"quantity": "ash_g_per_100g", "value": 0.1, "unit": "%"})
	r := s.post(t, "readings", M{"id": id(), "occurred_at": day(4, "12:00"), "on": M{"kind": "lot", "id": s.lot}, "observed": []M{{"what": "tylosin", "word": "absent"}}})
	if !strings.Contains(string(r.raw), "is answered by one of not detected, detected") {
		t.Errorf("a word that answers nothing: %d %s", r.status, r.raw)
	}
	r = s.post(t, "rule-sets", M{"id": id(), "occurred_at": day(4, "12:00"), "name": "wet", "citation": "own", "form": "limits",
		"parameters": []M{{"name": "moisture", "unit": "%"}}, "limits": []M{water("18")}})
	if r.status < 400 || !strings.Contains(string(r.raw), "/parameters/0/name") || !strings.Contains(strings.ToLower(string(r.raw)), "every book knows this") {
		t.Errorf("a name that every book knows: %d %s", r.status, r.raw)
	}
}

// TestAnOwnResultSentAgainIsKnown: its label is the book's, and no part of what was sent.
func TestAnOwnResultSentAgainIsKnown(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	s := newStory(t, h, "own: again")
	s.residues()
	body := M{"id": id(), "occurred_at": day(4, "12:00"), "on": M{"kind": "lot", "id": s.lot}, "laboratory": "Fern Valley",
		"measured": []M{{"quantity": "own", "parameter": "glyphosate", "unit": "µg/kg", "value": 12}}, "observed": []M{{"what": "tylosin", "word": "not detected"}}}
	if r := s.post(t, "readings", body); r.status != http.StatusCreated {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	if r := s.post(t, "readings", body); r.status != http.StatusOK {
		t.Errorf("sent again: %d %s", r.status, r.raw)
	}
}

// TestAPersonNamesAndRecordsAnOwnParameterOnThePage: a buyer's rule set by its form, a laboratory's
// result by its form, and the lot's page and sheet in both languages, with the buyer's words as they are.
func TestAPersonNamesAndRecordsAnOwnParameterOnThePage(t *testing.T) {
	t.Parallel()
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	_, body := h.Get(t, "/entries/new/rule_set")
	form := url.Values{
		"id": {apitest.FormID.FindStringSubmatch(body)[1]}, "/occurred_at": {"2026-07-04T08:00"}, "/name": {"Northgate residues"}, "/citation": {"contract 7"}, "/form": {"limits"},
		"/parameters/0/name": {"glyphosate"}, "/parameters/0/label": {"Glyphosate in honey"}, "/parameters/0/unit": {"µg/kg"},
		"/parameters/1/name": {"tylosin"}, "/parameters/1/label": {"Tylosin A"}, "/parameters/1/words/0": {"not detected"}, "/parameters/1/words/1": {"detected"},
		"do": {"add /limits"},
	}
	_, body = h.Send(t, http.MethodPost, "/entries/new/rule_set", form, nil)
	wants(t, "the lines once it is named", body, `<option value="glyphosate">Glyphosate in honey</option>`, `<option value="tylosin">Tylosin A</option>`, `<option value="µg/kg">`)
	form.Set("do", "save")
	for at, text := range map[string]string{"0/parameter": "glyphosate", "0/comparator": "<=", "0/limit": "50", "0/clause": "2", "1/parameter": "tylosin", "1/comparator": "is", "1/limit": "not detected", "1/clause": "3"} {
		form.Set("/limits/"+at, text)
	}
	if response, body := h.Send(t, http.MethodPost, "/entries/new/rule_set", form, nil); response.StatusCode != http.StatusOK {
		t.Fatalf("the rule set: %s %s", response.Status, body)
	}
	_, body = h.Get(t, "/entries/new/reading")
	wants(t, "the laboratory's form", body, `<option value="own">a parameter of a rule set of yours</option>`, `<option value="glyphosate">Glyphosate in honey</option>`, `<option value="tylosin">Tylosin A</option>`, `<option value="not detected">`, `<option value="µg/kg">`)
	reading := url.Values{
		"id": {apitest.FormID.FindStringSubmatch(body)[1]}, "/occurred_at": {"2026-07-05T08:00"}, "/on": {"lot " + h.Lot.String()}, "/laboratory": {"Fern Valley"},
		"/measured/0/quantity": {"own"}, "/measured/0/parameter": {"glyphosate"}, "/measured/0/unit": {"µg/kg"}, "/measured/0/value": {"62"},
		"/observed/0/what": {"tylosin"}, "/observed/0/word": {"not detected"}, "do": {"save"},
	}
	if response, body := h.Send(t, http.MethodPost, "/entries/new/reading", reading, nil); response.StatusCode != http.StatusOK {
		t.Fatalf("the result: %s %s", response.Status, body)
	}
	set := h.Ask(t, "rule-sets")[0]["id"].(string)
	h.RecordMore(t, apitest.EntryAt(8, &ledger.Check{LotID: h.Lot, On: "2026-07-06", RuleSets: []ledger.RuleSetRef{{RuleSetID: ledger.ID(uuid.MustParse(set))}}}))
	for _, language := range []string{"en", "es"} {
		for _, path := range []string{h.Path(), h.Path() + "/sheet"} {
			response, page := h.Send(t, http.MethodGet, path, nil, http.Header{"Accept-Language": {language}})
			if response.StatusCode != http.StatusOK {
				t.Fatalf("%s answered %s", path, response.Status)
			}
			wants(t, path+" in "+language, page, "Glyphosate in honey", "Tylosin A", "not detected", "62", "µg/kg")
		}
	}
}

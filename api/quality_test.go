package api_test

import (
	"encoding/json"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
)

// aContract is a buyer's limits and price.
func (s *shed) aContract(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(1, "9:00"), "name": "Northgate drums", "citation": "contract 14", "form": "limits", "buyer_id": s.buyer,
		"limits": []M{
			{"parameter": "moisture", "unit": "%", "comparator": "<=", "limit": "18.0", "clause": "3.1", "every_container": true},
			{"parameter": "hmf", "unit": "mg/kg", "comparator": "<=", "limit": "20", "clause": "3.2"},
		},
		"price": M{"currency": "USD", "minor_units_per_kg": "410", "discounts": []M{
			{"parameter": "moisture", "unit": "%", "above": "17.5", "up_to": "18.0", "percent": "1.5", "clause": "5.2"}}},
	}, pairs...)
}

func (s *shed) aCheck(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(21, "17:00"), "lot_id": s.lot, "on": "2026-08-21", "rule_sets": []M{{"standard": "eu-honey"}}}, pairs...)
}

func (s *shed) aStatus(pairs ...any) M {
	return with(M{"id": id(), "occurred_at": at(21, "18:00"), "lot_id": s.lot, "status": "released"}, pairs...)
}

// analysed has the lot's drum read and a sample of the lot analysed.
func (s *shed) analysed(t *testing.T, pct, hmf float64) {
	t.Helper()
	s.book(t, "readings", M{"id": id(), "occurred_at": at(21, "15:00"), "on": M{"kind": "container", "id": s.drum1}, "instrument_id": s.blue, "moisture_pct": pct})
	s.book(t, "readings", M{"id": id(), "occurred_at": at(21, "15:30"), "on": M{"kind": "lot", "id": s.lot}, "laboratory": "Fern Valley", "containers_sampled": 1,
		"measured": []M{{"quantity": "hmf_mg_per_kg", "value": hmf, "std_uncertainty": 0.5, "method": "HPLC"}, {"quantity": "colour_mm_pfund", "value": 30}}})
}

type result struct {
	ID, Name, Edition, Outcome, Grade string
	Version                           int
	Lines                             []verdictLine
	Notices                           []string
}

type verdictLine struct {
	Parameter, Outcome, Value, Margin, Clause, Sentence string
	LessThan                                            bool `json:"less_than"`
	Probability                                         *float64
}

func (r result) on(t *testing.T, parameter string) verdictLine {
	t.Helper()
	for _, l := range r.Lines {
		if l.Parameter == parameter && l.Outcome != "does not apply" {
			return l
		}
	}
	t.Fatalf("%s says nothing of %s", r.ID, parameter)
	return verdictLine{}
}

// TestALotIsCheckedReleasedSentAndSettled goes the whole way by HTTP.
func TestALotIsCheckedReleasedSentAndSettled(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	contract := s.book(t, "rule-sets", s.aContract()).ID
	sample := s.book(t, "samples", M{"id": id(), "occurred_at": at(21, "14:30"), "lot_id": s.lot, "rule_set": M{"rule_set_id": contract}})
	if sample.Sentence != "sample 1 of 1 containers: D-1" {
		t.Errorf("the draw says %q", sample.Sentence)
	}
	s.analysed(t, 17.6, 8)
	truck := M{"id": id(), "occurred_at": at(22, "9:00"), "buyer_id": s.buyer, "containers": []string{s.drum1}}
	before := s.head(t)
	r := s.post(t, "dispatches", truck)
	if p := as[problem](t, r); r.status != http.StatusConflict || len(p.Errors) != 1 || p.Errors[0].Pointer != "/containers/0" || !strings.Contains(p.Errors[0].Detail, "not been released") {
		t.Errorf("a truck for a lot that is open: %d %s", r.status, r.raw)
	}
	if s.head(t) != before {
		t.Error("the refused truck left something in the book")
	}

	body := s.aCheck("rule_sets", []M{{"standard": "eu-honey"}, {"rule_set_id": contract}})
	check := s.book(t, "checks", body)
	if !strings.Contains(check.Sentence, "Northgate drums: meets") || !strings.Contains(check.Sentence, "not measured") {
		t.Errorf("the check says %q", check.Sentence)
	}
	r = s.post(t, "lot-statuses", s.aStatus("check_id", check.ID))
	if p := as[problem](t, r); r.status != http.StatusConflict || p.Errors[0].Pointer != "/check_id" || !strings.Contains(p.Errors[0].Detail, "does not meet") {
		t.Errorf("released by a standard of which half was not measured: %d %s", r.status, r.raw)
	}
	release := s.book(t, "lot-statuses", s.aStatus("check_id", check.ID, "rule_sets", []string{contract}))
	lot := read[struct {
		Decision struct {
			Status, Outdated string
			EntryID          string `json:"entry_id"`
			DecidedBy        string `json:"decided_by"`
		}
	}](t, s.outfit, "reports/lots/"+s.lot)
	if lot.Decision.Status != "released" || lot.Decision.EntryID != release.ID || lot.Decision.DecidedBy != "Mirren" || lot.Decision.Outdated != "" {
		t.Errorf("the lot's report says %+v", lot.Decision)
	}
	r = s.post(t, "lot-statuses", s.aStatus("override", true, "note", "again"))
	if p := as[problem](t, r); r.status != http.StatusConflict || p.Errors[0].Pointer != "/status" {
		t.Errorf("released twice: %d %s", r.status, r.raw)
	}
	s.book(t, "dispatches", truck)
	r = s.post(t, "dispatches", with(truck, "id", id()))
	if p := as[problem](t, r); r.status != http.StatusConflict || p.Errors[0].Pointer != "/containers/0" || !strings.Contains(p.Errors[0].Detail, "gone already") {
		t.Errorf("dispatched twice: %d %s", r.status, r.raw)
	}
	if lots := read[[]struct{ Status string }](t, s.outfit, "reports/lots"); len(lots) != 1 || lots[0].Status != "gone" {
		t.Errorf("the lots' report says %+v", lots)
	}

	// By hand: ours is 270 kg of 17.6 %: 110,700 less 1.5 % = 1,660.5, so 109,039.
	// The buyer has 269 kg of 17.4 %: 110,290.
	settlement := s.book(t, "settlements", M{"id": id(), "occurred_at": at(22, "12:00"), "dispatch_id": truck["id"], "rule_set": M{"rule_set_id": contract},
		"paid_minor": 110000, "drums": []M{{"fill_id": s.drum1, "net_kg": 269, "moisture_pct": 17.4}}}).ID
	report := read[struct {
		Buyer, Currency string
		ByOwn           int64 `json:"by_own_minor"`
		ByBuyer         int64 `json:"by_buyer_minor"`
		Short           int64 `json:"short_of_buyer_minor"`
		Drums           []struct {
			OwnNetKg    float64 `json:"own_net_kg"`
			BuyerNetKg  float64 `json:"buyer_net_kg"`
			Differences []string
		}
	}](t, s.outfit, "reports/settlements/"+settlement)
	if report.ByOwn != 109_039 || report.ByBuyer != 110_290 || report.Short != 290 || report.Currency != "USD" || report.Buyer != "Northgate Packing" {
		t.Errorf("settled: %+v", report)
	}
	if d := report.Drums[0]; d.OwnNetKg != 270 || d.BuyerNetKg != 269 || len(d.Differences) != 1 || !strings.Contains(d.Differences[0], "a difference of -1 kg") {
		t.Errorf("the drum: %+v", d)
	}
	listed := read[[]struct {
		ID    string
		Found struct {
			Results  []result
			Readings []string
			Through  int64 `json:"through_entry"`
		}
	}](t, s.outfit, "checks?lot="+s.lot)
	if len(listed) != 1 || len(listed[0].Found.Readings) != 2 || listed[0].Found.Results[0].ID != "eu-2001-110" || listed[0].Found.Results[1].Version != 1 || listed[0].Found.Through != check.Number-1 {
		t.Errorf("the check is listed as %+v", listed)
	}
}

// A check sent again is answered as the first time, though the lot was read
// since and would come to something else now.
func TestACheckSentAgainIsNotMadeAnew(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.analysed(t, 17.6, 8)
	for path, body := range map[string]M{
		"checks":    s.aCheck(),
		"samples":   {"id": id(), "occurred_at": at(21, "14:30"), "lot_id": s.lot, "rule_set": M{"standard": "eu-honey"}},
		"rule-sets": s.aContract(),
	} {
		first := s.book(t, path, body)
		s.book(t, "readings", M{"id": id(), "occurred_at": at(21, "16:00"), "on": M{"kind": "container", "id": s.drum1}, "instrument_id": s.blue, "moisture_pct": 20.9})
		again := s.post(t, path, body)
		if got := as[recorded](t, again); again.status != http.StatusOK || got.Number != first.Number || got.Sentence != first.Sentence {
			t.Errorf("%s sent again: %d %s, first %+v", path, again.status, again.raw, first)
		}
	}
}

func TestWhoMayHoldAndWhoMayRelease(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.analysed(t, 17.6, 8)
	for _, c := range []struct {
		what, path string
		body       M
		crew       int
	}{
		{"check", "checks", s.aCheck(), http.StatusCreated},
		{"hold", "lot-statuses", s.aStatus("status", "held", "why", "fermentation_risk"), http.StatusCreated},
		{"release", "lot-statuses", s.aStatus("override", true, "note", "smells fine"), http.StatusForbidden},
		{"open", "lot-statuses", s.aStatus("status", "open"), http.StatusForbidden},
		{"set limits", "rule-sets", s.aContract(), http.StatusForbidden},
	} {
		raw, _ := json.Marshal(c.body)
		if r := s.send(t, http.MethodPost, "/v1/"+c.path, s.crew, raw); r.status != c.crew {
			t.Errorf("crew %s: %d %s", c.what, r.status, r.raw)
		}
		if r := s.send(t, http.MethodPost, "/v1/"+c.path, s.reader, raw); r.status != http.StatusForbidden {
			t.Errorf("a reader may %s: %d", c.what, r.status)
		}
	}
}

// Everything of the sort that cannot be, each with the pointer of what is at
// fault, and nothing half done.
func TestWhatIsWrongAboutQualityIsPointedAt(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	limits := func(pairs ...any) []M {
		return []M{with(M{"parameter": "moisture", "unit": "%", "comparator": "<=", "limit": "18.0", "clause": "3.1"}, pairs...)}
	}
	line := limits()[0]
	future := s.book(t, "rule-sets", s.aContract("name", "next year's", "in_force_from", "2027-01-01")).ID
	on := M{"kind": "lot", "id": s.lot}
	for _, c := range []struct {
		what, path string
		body       M
		status     int
		pointer    string
		says       string
	}{
		{"a unit that does not fit", "rule-sets", s.aContract("limits", limits("unit", "mg/kg")), 422, "/limits/0/unit", "stated in %"},
		{"no clause", "rule-sets", s.aContract("limits", limits("clause", nil)), 422, "/limits/0/clause", "clause"},
		{"two lines for the same lots", "rule-sets", s.aContract("limits", []M{line, with(line, "limit", "17.0")}), 422, "/limits/1/when", "neither condition"},
		{"a condition that no lot meets", "rule-sets", s.aContract("limits", limits("when", M{"all": []M{{"attribute": "use", "only": []string{"bakers"}}, {"not": M{"attribute": "use", "only": []string{"bakers"}}}}})),
			422, "/limits/0/when", "o lot can ever"},
		{"a colour in the wrong scale", "rule-sets", s.aContract("limits", limits("parameter", "colour_pfund", "unit", "OD at 560 nm")), 422, "/limits/0/unit", "scale of"},
		{"a comparator that is none", "rule-sets", s.aContract("limits", limits("comparator", "about")), 422, "/limits/0/comparator", "one of"},
		{"HMF with no method", "readings", M{"on": on, "laboratory": "Fern Valley", "measured": []M{{"quantity": "hmf_mg_per_kg", "value": 8}}}, 422, "/measured/0/method", "method"},
		{"a reading of nothing", "readings", M{"on": on, "laboratory": "Fern Valley"}, 422, "/measured", "Nothing was measured"},
		{"Pfund as optical density", "readings", M{"on": on, "measured": []M{{"quantity": "colour_od_560nm", "value": 34}}}, 422, "/measured/0/value", "mm Pfund"},
		{"an edition not in force", "checks", s.aCheck("rule_sets", []M{{"standard": "codex-1987"}}), 422, "/rule_sets/0/standard", "use codex-cxs-12-1981"},
		{"a contract not yet in force", "checks", s.aCheck("rule_sets", []M{{"rule_set_id": future}}), 422, "/rule_sets/0/rule_set_id", "not yet in force"},
		{"a standard that is none", "checks", s.aCheck("rule_sets", []M{{"standard": "eu-milk"}}), 422, "/rule_sets/0/standard", "no published rule set"},
		{"a check of nothing", "checks", s.aCheck("rule_sets", []M{}), 422, "/rule_sets", "list"},
		{"a hold without a reason", "lot-statuses", s.aStatus("status", "held"), 422, "/why", "Why is the lot held?"},
		{"a state that nobody sets", "lot-statuses", s.aStatus("status", "gone"), 422, "/status", "one of open, held, released"},
		{"a release resting on nothing", "lot-statuses", s.aStatus(), 422, "/check_id", "override"},
		{"an override without a reason", "lot-statuses", s.aStatus("override", true), 422, "/note", "reason"},
		{"a kind of honey that is none", "lots", s.aLot("code", "L26-002", "declares", M{"kind": []string{"wishful"}}), 422, "/declares/kind", "no such value"},
		{"a settlement of no dispatch", "settlements", M{"dispatch_id": s.lot, "rule_set": M{"rule_set_id": future}, "paid_minor": 1, "drums": []M{{"fill_id": s.drum1, "net_kg": 1}}},
			422, "/dispatch_id", "the id of a dispatch"},
	} {
		t.Run(c.what, func(t *testing.T) {
			before := s.head(t)
			r := s.post(t, c.path, with(M{"id": id(), "occurred_at": at(21, "16:00")}, pairs(c.body)...))
			p := as[problem](t, r)
			found := slices.ContainsFunc(p.Errors, func(e complaint) bool {
				return e.Pointer == c.pointer && strings.Contains(strings.ToLower(e.Detail), strings.ToLower(c.says))
			})
			if r.status != c.status || !found {
				t.Errorf("%d %s; %d at %s about %q was meant", r.status, r.raw, c.status, c.pointer, c.says)
			}
			if s.head(t) != before {
				t.Error("something of it was stored")
			}
		})
	}
}

func pairs(m M) []any {
	var out []any
	for k, v := range m {
		out = append(out, k, v)
	}
	return out
}

// "Less than" is stored as such, shown as such, and used as a bound.
func TestALessThanIsKeptAndUsedHonestly(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "readings", M{"id": id(), "occurred_at": at(21, "15:30"), "on": M{"kind": "lot", "id": s.lot}, "laboratory": "Fern Valley",
		"measured": []M{{"quantity": "hmf_mg_per_kg", "value": 1.0, "less_than": true, "method": "HPLC"}}})
	shown := read[[]struct {
		Measured []struct {
			Value    float64
			LessThan bool `json:"less_than"`
		}
	}](t, s.outfit, "readings?lot="+s.lot)
	if m := shown[0].Measured[0]; m.Value != 1 || !m.LessThan {
		t.Errorf("listed as %+v", m)
	}
	v := read[struct{ Results []result }](t, s.outfit, "reports/verdicts/"+s.lot+"?rule_sets=eu-honey&on=2026-08-21").Results[0]
	if got := v.on(t, "hmf"); got.Outcome != "meets" || !got.LessThan || !strings.Contains(got.Sentence, "less than 1") {
		t.Errorf("HMF: %+v", got)
	}
}

// People know a contract by its name, not by its id.
func TestTheOutfitsOwnRuleSetsAreFoundByTheirNames(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	contract := s.aContract()
	own := s.book(t, "rule-sets", contract).ID
	s.analysed(t, 18.9, 8)
	name := url.QueryEscape(contract["name"].(string))
	for _, path := range []string{"reports/verdicts/" + s.lot + "?rule_sets=eu-honey," + name, "reports/verdicts/" + s.lot + "?rule_sets=eu-honey," + own} {
		if got := read[struct{ Results []result }](t, s.outfit, path).Results; len(got) != 2 || got[1].ID != own {
			t.Errorf("%s: %+v", path, got)
		}
	}
	if r := s.send(t, http.MethodGet, "/v1/reports/verdicts/"+s.lot+"?rule_sets=no-such-thing", s.reader, nil); r.status < 400 || !strings.Contains(string(r.raw), "no-such-thing") {
		t.Errorf("of no such name: %d %s", r.status, r.raw)
	}
}

func TestVerdictsCanBeHadWithoutRecording(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	own := s.book(t, "rule-sets", s.aContract()).ID
	s.analysed(t, 18.9, 8)
	before := s.head(t)
	get := func(query string) []result {
		t.Helper()
		return read[struct{ Results []result }](t, s.outfit, "reports/verdicts/"+s.lot+"?"+query).Results
	}
	if got := get("rule_sets=us-usda-colour,eu-honey," + own); len(got) != 3 || got[0].Grade != "White" || got[1].on(t, "moisture").Outcome != "meets" || got[2].on(t, "moisture").Margin != "-0.9" {
		t.Errorf("three rule sets: %+v", got)
	}
	all := get("on=2026-08-21")
	if len(all) < 25 || all[0].ID != own {
		t.Errorf("%d rule sets are in force, the outfit's own first is %s", len(all), all[0].ID)
	}
	for _, r := range all {
		for _, l := range r.Lines {
			if l.Clause == "" || l.Sentence == "" {
				t.Errorf("%s, %s: no clause or no sentence", r.ID, l.Parameter)
			}
		}
	}
	// JCGM 106: 18.9 within 0.4 (k = 2) of 19.0 is inside it by less than the guard.
	within := s.book(t, "rule-sets", s.aContract("name", "19", "limits", []M{{"parameter": "moisture", "unit": "%", "comparator": "<=", "limit": "19.0", "clause": "1"}})).ID
	if got := get("rule_sets=" + within)[0].on(t, "moisture"); got.Outcome != "meets" {
		t.Errorf("by simple acceptance: %+v", got)
	}
	if got := get("accept_r=1&rule_sets=" + within)[0].on(t, "moisture"); got.Outcome != "too close to call" || got.Probability == nil {
		t.Errorf("with a guard band: %+v", got)
	}
	if s.head(t).LastEntry != before.LastEntry+1 {
		t.Error("asking for verdicts recorded something")
	}
	table := read[struct {
		RuleSets []struct{ ID string } `json:"rule_sets"`
		Lots     []struct {
			Code, Status     string
			Outcomes, Grades []string
		}
	}](t, s.outfit, "reports/verdicts")
	if len(table.Lots) != 1 || table.Lots[0].Status != "open" || len(table.Lots[0].Outcomes) != len(table.RuleSets) || len(table.Lots[0].Grades) != len(table.RuleSets) {
		t.Errorf("the table: %+v", table)
	}
	r := s.send(t, http.MethodGet, "/v1/reports/verdicts/"+s.lot+"?rule_sets=eu-milk", s.reader, nil)
	if p := as[problem](t, r); r.status != 422 || p.Errors[0].Pointer != "query:rule_sets" {
		t.Errorf("a rule set that is none: %d %s", r.status, r.raw)
	}
	if r := s.send(t, http.MethodGet, "/v1/reports/verdicts/"+s.buyer, s.reader, nil); r.status != 404 {
		t.Errorf("a lot that is a buyer: %d %s", r.status, r.raw)
	}
}

func TestThePublishedRuleSetsCanBeRead(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	type set struct {
		ID, Family, Edition, Title string
		Limits                     []struct{ Parameter, Clause string }
		InForceTo                  string `json:"in_force_to"`
	}
	all := read[[]set](t, o, "standards")
	for _, id := range []string{"codex-cxs-12-1981", "codex-1987", "eu-2001-110", "eu-74-409", "uk-england-2015", "us-usda-extracted-1985", "us-usda-colour", "ca-grade-compendium-6", "ca-colour-classes", "anz-2.8.2"} {
		if !slices.ContainsFunc(all, func(s set) bool { return s.ID == id && s.Limits == nil }) {
			t.Errorf("%s is not listed, or with its lines", id)
		}
		one := read[set](t, o, "standards/"+id)
		if one.ID != id || one.Edition == "" || len(one.Limits) == 0 || one.Limits[0].Clause == "" {
			t.Errorf("%s: %+v", id, one)
		}
	}
	if r := o.send(t, http.MethodGet, "/v1/standards/eu-milk", o.reader, nil); r.status != 404 {
		t.Errorf("a standard that is none: %d", r.status)
	}
}

func TestRisksAndDatesAreServed(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	store := s.book(t, "rooms", M{"id": id(), "occurred_at": at(1, "9:00"), "name": "store", "use": "store", "usual_temperature_c": 20}).ID
	s.book(t, "lots", s.aLot("replaces", s.lot, "reason", "it has a store", "store_id", store))
	s.analysed(t, 19.4, 8)
	risk := read[struct {
		Worst string
		Store float64 `json:"store_temperature_c"`
		Risks []struct {
			Container, Risk, Basis string
			Why                    []string
			Lower                  []struct{ Kind, Text string }
		}
	}](t, s.outfit, "reports/fermentation/"+s.lot+"?on=2026-08-21")
	if risk.Worst == "low" || risk.Store != 20 || len(risk.Risks) != 1 || len(risk.Risks[0].Why) == 0 || len(risk.Risks[0].Lower) < 4 || risk.Risks[0].Basis != "measured" {
		t.Errorf("the risk: %+v", risk)
	}
	keeps := read[[]struct {
		Code, Why string
		GoBy      string `json:"go_by"`
		Lines     []struct{ Parameter, Earliest, Expected, Latest, Why string }
	}](t, s.outfit, "reports/keeping?rule_sets=eu-honey&on=2026-08-21")
	if len(keeps) != 1 || keeps[0].GoBy == "" || len(keeps[0].Lines) != 2 {
		t.Fatalf("keeping: %+v", keeps)
	}
	for _, l := range keeps[0].Lines {
		switch l.Parameter {
		case "hmf":
			if !(keeps[0].GoBy == l.Earliest && l.Earliest < l.Expected && l.Expected < l.Latest) {
				t.Errorf("HMF: %+v", l)
			}
		case "diastase":
			if l.Earliest != "" || !strings.Contains(l.Why, "no laboratory result") {
				t.Errorf("diastase was not measured: %+v", l)
			}
		}
	}
	s.book(t, "checks", s.aCheck("rule_sets", []M{{"standard": "za-r835-2000"}}))
	for _, k := range read[[]struct {
		Lines []struct {
			RuleSetID string `json:"rule_set_id"`
		}
	}](t, s.outfit, "reports/keeping?on=2026-08-21") {
		for _, l := range k.Lines {
			if l.RuleSetID != "za-r835-2000" {
				t.Errorf("the outfit checks by another rule set, and is told of %s", l.RuleSetID)
			}
		}
	}
	draw := read[struct {
		LotSize int `json:"lot_size"`
		Numbers []string
	}](t, s.outfit, "reports/sample/"+s.lot+"?rule_set=eu-honey&seed=a")
	if draw.LotSize != 1 || len(draw.Numbers) != 1 || draw.Numbers[0] != "D-1" {
		t.Errorf("drawn: %+v", draw)
	}
	empty := s.book(t, "lots", s.aLot("code", "L26-009")).ID
	r := s.send(t, http.MethodGet, "/v1/reports/sample/"+empty+"?rule_set=eu-honey&seed=a", s.reader, nil)
	if p := as[problem](t, r); r.status != http.StatusConflict || !strings.Contains(p.Detail, "Record its fills first, or give a later day in on") {
		t.Errorf("of a lot without containers: %d %s", r.status, r.raw)
	}
}

// What the book knew when the lot was sold can still be asked.
func TestVerdictsAsOfAnEntry(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.analysed(t, 17.6, 8)
	then := s.head(t).LastEntry
	s.book(t, "readings", M{"id": id(), "occurred_at": at(21, "16:00"), "on": M{"kind": "lot", "id": s.lot}, "laboratory": "Fern Valley",
		"measured": []M{{"quantity": "hmf_mg_per_kg", "value": 80, "method": "HPLC"}}})
	asOf := func(query string) string {
		return read[struct{ Results []result }](t, s.outfit, "reports/verdicts/"+s.lot+"?rule_sets=eu-honey&on=2026-08-21"+query).Results[0].on(t, "hmf").Outcome
	}
	if asOf("") != "fails" || asOf("&as_of="+itoa(then)) != "meets" {
		t.Errorf("now it %s, then it %s", asOf(""), asOf("&as_of="+itoa(then)))
	}
}

func itoa(n int64) string {
	raw, _ := json.Marshal(n)
	return string(raw)
}

package standard_test

import (
	"strings"
	"testing"

	"pullbook/domain/standard"
)

func TestRuleSetsThatAreRefused(t *testing.T) {
	t.Parallel()
	heather := map[string]any{"attribute": "kind", "includes": []string{"calluna_vulgaris"}}
	clover := map[string]any{"attribute": "kind", "includes": []string{"trifolium"}}
	moisture := func() map[string]any { return buyersLimit("moisture", "%", "<=", "18") }
	tests := []struct {
		name  string
		set   func(map[string]any)
		field string
		says  string
	}{
		{"unit of another parameter", limitsOf(buyersLimit("moisture", "mg/kg", "<=", "18")), "limits/0/unit", "moisture is stated in %, g/100 g"},
		{"colour in the wrong scale", limitsOf(buyersLimit("colour_pfund", "OD at 560 nm", "<=", "0.6")), "limits/0/unit", "that is the scale of colour optical density"},
		{"a figure that waits for a look", limitsOf(with(moisture(), map[string]any{"only_where_looked": true})), "limits/0/only_where_looked", "a line about what is seen"},
		{"no clause", limitsOf(with(moisture(), map[string]any{"clause": " "})), "limits/0/clause", "name the clause"},
		{"no source", limitsOf(with(moisture(), map[string]any{"source": map[string]any{}})), "limits/0/source", "where the text was seen"},
		{"unknown parameter", limitsOf(buyersLimit("wetness", "%", "<=", "18")), "limits/0/parameter", "no such parameter"},
		{"limit that is no number", limitsOf(buyersLimit("moisture", "%", "<=", "18,5")), "limits/0/limit", "plain decimal number"},
		{"impossible limit", limitsOf(buyersLimit("moisture", "%", "<=", "178")), "limits/0/limit", "cannot be above 100"},
		{"unknown comparator", limitsOf(buyersLimit("moisture", "%", "=", "18")), "limits/0/comparator", "one of <=, <"},
		{"two general lines", limitsOf(moisture(), buyersLimit("moisture", "%", ">=", "15")), "limits/1/when", "write a range as between"},
		{"conditions that overlap", limitsOf(moisture(), with(buyersLimit("moisture", "%", "<=", "20"), map[string]any{"when": heather}), with(buyersLimit("moisture", "%", "<=", "19"), map[string]any{"when": clover})), "limits/2/when", "neither condition is the more specific"},
		{"condition no lot can meet", limitsOf(moisture(), with(buyersLimit("moisture", "%", "<=", "20"), map[string]any{"when": map[string]any{"all": []any{heather, map[string]any{"not": heather}}}})), "limits/1/when", "no lot can ever meet"},
		{"two values where one can be declared", limitsOf(moisture(), with(buyersLimit("moisture", "%", "<=", "20"), map[string]any{"when": map[string]any{"all": []any{map[string]any{"attribute": "pack", "includes": []string{"bulk"}}, map[string]any{"attribute": "pack", "includes": []string{"consumer"}}}}})), "limits/1/when", "no lot can ever meet"},
		{"line that never decides", limitsOf(moisture(), with(buyersLimit("moisture", "%", "<=", "20"), map[string]any{"when": heather}), with(buyersLimit("moisture", "%", "<=", "19"), map[string]any{"when": map[string]any{"not": heather}})), "limits/0/when", "never decides"},
		{"unknown kind", limitsOf(with(moisture(), map[string]any{"when": map[string]any{"attribute": "kind", "includes": []string{"caluna"}}})), "limits/0/when", "no such value of kind"},
		{"condition of two forms", limitsOf(with(moisture(), map[string]any{"when": map[string]any{"not": heather, "attribute": "kind", "only": []string{"tilia"}}})), "limits/0/when", "exactly one"},
		{"condition on a result in the wrong unit", limitsOf(with(moisture(), map[string]any{"when": map[string]any{"result": map[string]any{"parameter": "hmf", "unit": "%", "comparator": "<=", "limit": "15"}}})), "limits/0/when/result/unit", "HMF is stated in"},
		{"upside-down range", limitsOf(with(buyersLimit("moisture", "%", "between", "18"), map[string]any{"limit_to": "15", "ends": "[]"})), "limits/0/limit_to", "lies above the lower end"},
		{"grade not in the list", limitsOf(with(moisture(), map[string]any{"grade": "Extra"})), "limits/0/grade", "one of the rule set's grades"},
		{"negative guard", limitsOf(with(moisture(), map[string]any{"guard": "-0.1"})), "limits/0/guard", "0 or more"},
		{"ends before it starts", func(s map[string]any) { s["in_force_from"], s["in_force_to"] = "2026-01-01", "2025-01-01" }, "in_force_to", "before in_force_from"},
		{"no edition", func(s map[string]any) { s["edition"] = "" }, "edition", "has to name it"},
		{"unknown sampling plan", func(s map[string]any) { s["sampling"] = map[string]any{"plan": "some"} }, "sampling/plan", "one of"},
		{"no plan and no steps", func(s map[string]any) { s["sampling"] = map[string]any{"binding": true} }, "sampling", "either plan or steps"},
		{"sampling steps with a gap", func(s map[string]any) {
			s["sampling"] = map[string]any{"steps": []any{map[string]any{"from": 1, "to": 5, "all": true}, map[string]any{"from": 7, "fixed": 5}}}
		}, "sampling/steps/1/from", "starts at 6"},
		{"sampling step that asks for nothing", func(s map[string]any) {
			s["sampling"] = map[string]any{"steps": []any{map[string]any{"from": 1}}}
		}, "sampling/steps/0", "all, fixed, percent or root_plus"},
		{"guard factor out of range", func(s map[string]any) { s["decision"] = map[string]any{"accept_r": -1} }, "decision/accept_r", "from 0 to 5"},
		{"unknown rounding", func(s map[string]any) {
			s["rounding"] = map[string]any{"method": "down", "source": map[string]any{"from_memory": true}}
		}, "rounding/method", "half_even"},
		{"discount steps that overlap", func(s map[string]any) {
			s["price"] = map[string]any{"currency": "EUR", "minor_units_per_kg": "350", "discounts": []any{
				map[string]any{"parameter": "moisture", "unit": "%", "above": "17", "up_to": "18", "percent": "1", "clause": "annex 3"},
				map[string]any{"parameter": "moisture", "unit": "%", "above": "17.5", "percent": "2", "clause": "annex 3"}}}
		}, "price/discounts/1", "overlaps the one above 17"},
		{"colour discount in the wrong scale", func(s map[string]any) {
			s["price"] = map[string]any{"currency": "EUR", "minor_units_per_kg": "350", "discounts": []any{
				map[string]any{"parameter": "colour_pfund", "unit": "OD at 560 nm", "above": "0.5", "percent": "1", "clause": "annex 3"}}}
		}, "price/discounts/0/unit", "scale of colour optical density"},
	}
	for _, tt := range tests {
		_, err := standard.ParseRuleSet(buyersSet(tt.set))
		if !refusedWith(err, tt.field, tt.says) {
			t.Errorf("%s: got %v, want %s to say %q", tt.name, err, tt.field, tt.says)
		}
	}
}

// refusedWith tells whether one of the field errors names the field and says the words.
func refusedWith(err error, field, says string) bool {
	for _, e := range standard.FieldErrors(err) {
		if e.Field == field && strings.Contains(e.Error(), says) {
			return true
		}
	}
	return false
}

func TestUnknownFieldsAndTrailingTextAreRefused(t *testing.T) {
	t.Parallel()
	for _, data := range []string{`{"id": "x", "limitz": []}`, string(buyersSet(func(map[string]any) {})) + "{}", ``, `[]`} {
		if _, err := standard.ParseRuleSet([]byte(data)); err == nil || !strings.Contains(err.Error(), "cannot be read") {
			t.Errorf("%q: %v", data, err)
		}
	}
}

func TestEditionsOfOneFamilyMayNotOverlap(t *testing.T) {
	t.Parallel()
	first := parsed(t, buyersSet(func(s map[string]any) { s["in_force_to"] = "2026-06-30" }))
	second := parsed(t, buyersSet(func(s map[string]any) { s["id"], s["in_force_from"] = "buyer-north-2", "2026-06-30" }))
	if _, err := standard.NewLibrary(first, second); !refusedWith(err, "buyer-north-2/in_force_from", "in force on some of the same days") {
		t.Errorf("got %v", err)
	}
	if _, err := standard.NewLibrary(first, first); !refusedWith(err, "id", "another rule set has this id") {
		t.Errorf("got %v", err)
	}
}

func TestResultsThatAreRefused(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name   string
		result standard.Result
		field  string
		says   string
	}{
		{"HMF without its method", standard.Result{Parameter: "hmf", Value: "12", Unit: "mg/kg"}, "results/0/method", "without its method cannot be judged"},
		{"colour in the wrong scale", standard.Result{Parameter: "colour_pfund", Value: "0.4", Unit: "OD at 560 nm"}, "results/0/unit", "scale of colour optical density"},
		{"less than in the value", standard.Result{Parameter: "hmf", Value: "<1.0", Unit: "mg/kg", Method: "HPLC"}, "results/0/value", "in its own field"},
		{"impossible moisture", standard.Result{Parameter: "moisture", Value: "178", Unit: "%"}, "results/0/value", "cannot be above 100"},
		{"negative HMF", standard.Result{Parameter: "hmf", Value: "-1", Unit: "mg/kg", Method: "HPLC"}, "results/0/value", "cannot be below 0"},
		{"negative uncertainty", standard.Result{Parameter: "moisture", Value: "17", Unit: "%", StdUncertainty: "-0.1"}, "results/0/std_uncertainty", "0 or more"},
		{"unknown parameter", standard.Result{Parameter: "sweetness", Value: "9"}, "results/0/parameter", "no such parameter"},
		{"word that is none", standard.Result{Parameter: "fermentation", Value: "maybe"}, "results/0/value", "absent, present"},
		{"drum of another lot", standard.Result{Parameter: "moisture", Value: "17", Unit: "%", ContainerID: "X9"}, "results/0/container", "not a container of this lot"},
		{"unknown stage", standard.Result{Parameter: "moisture", Value: "17", Unit: "%", Stage: "later"}, "results/0/stage", "in_process"},
	}
	for _, tt := range tests {
		_, err := standard.NewEvidence(standard.Lot{Containers: []string{"D1"}, Results: []standard.Result{tt.result}})
		if !refusedWith(err, tt.field, tt.says) {
			t.Errorf("%s: got %v, want %s to say %q", tt.name, err, tt.field, tt.says)
		}
	}
}

func TestDeclarationsThatAreRefused(t *testing.T) {
	t.Parallel()
	for field, tt := range map[string]struct {
		declared standard.Declaration
		says     string
	}{
		"declaration/kind":    {standard.Declaration{"kind": {"caluna"}}, "no such value"},
		"declaration/flavour": {standard.Declaration{"flavour": {"good"}}, "a lot can declare"},
		"declaration/pack":    {standard.Declaration{"pack": {"bulk", "consumer"}}, "only one value"},
	} {
		if _, err := standard.NewEvidence(standard.Lot{Declaration: tt.declared}); !refusedWith(err, field, tt.says) {
			t.Errorf("%s: %v", field, err)
		}
	}
}

func FuzzParseRuleSet(f *testing.F) {
	f.Add(buyersSet(func(map[string]any) {}))
	f.Add(buyersSet(limitsOf(with(buyersLimit("moisture", "%", "between", "15"), map[string]any{"limit_to": "18", "ends": "(]"}))))
	f.Add([]byte(`{"limits":[{"when":{"any":[{"not":{}}]}}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		set, err := standard.ParseRuleSet(data)
		if err != nil || set.SameAs != "" {
			return
		}
		e := evidence(t, standard.Lot{Results: []standard.Result{measured("moisture", "17.5")}})
		if c, err := set.Check(e, dayInForce(set), standard.SimpleAcceptance()); err == nil && len(c.Verdicts) != len(set.Limits) {
			t.Fatalf("%d verdicts for %d limits", len(c.Verdicts), len(set.Limits))
		}
	})
}

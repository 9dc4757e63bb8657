package quality_test

import (
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// A contract that says at most 18.6 % is stricter than the directive's 20 %; of two
// that are alike the first is named.
func TestTheStrictestRuleSetIsTheOneThatAllowsLeast(t *testing.T) {
	t.Parallel()
	library, err := standard.Published()
	if err != nil {
		t.Fatal(err)
	}
	get := func(id string) ledger.Resolved {
		set, ok := library.Get(id)
		if !ok {
			t.Fatalf("no rule set %s", id)
		}
		return ledger.Resolved{RuleSet: set}
	}
	directive, codex, grades := get("eu-2001-110"), get("codex-cxs-12-1981"), get("us-usda-extracted-1985")
	contract, err := standard.ParseRuleSet([]byte(`{"id":"own","family":"own","edition":"contract","version":1,"title":"Northgate","issuer":"buyer","citation":"contract","jurisdiction":"as agreed",
		"source":{"seen_at":"the book"},"form":"limits","limits":[{"parameter":"moisture","unit":"%","comparator":"<=","limit":"18.6","clause":"1","source":{"seen_at":"the book"}}]}`))
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		sets       []ledger.Resolved
		want, most string
	}{
		{[]ledger.Resolved{directive, {RuleSet: contract}, grades}, "own", "18.6"},
		{[]ledger.Resolved{codex, directive}, "codex-cxs-12-1981", "20"},
		{[]ledger.Resolved{grades}, "", ""},
		{nil, "", ""},
	} {
		set, most, ok := quality.Strictest(tt.sets, "moisture")
		if ok != (tt.want != "") || ok && (set.ID != tt.want || most.String() != tt.most) {
			t.Errorf("the strictest of %d is %v at %s, by the texts %s at %s", len(tt.sets), set.RuleSet, most, tt.want, tt.most)
		}
	}
}

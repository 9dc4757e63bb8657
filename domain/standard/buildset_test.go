package standard_test

import (
	"encoding/json"
	"testing"

	"pullbook/domain/standard"
)

// buyersSet is the smallest complete rule set of a buyer; change alters a copy.
func buyersSet(change func(set map[string]any)) []byte {
	set := map[string]any{
		"id": "buyer-north", "family": "buyer-north", "edition": "contract of spring 2026", "version": 3,
		"title": "Limits of the northern buyer", "issuer": "the buyer", "citation": "contract, annex 2", "jurisdiction": "contract",
		"source": map[string]any{"seen_at": "contract on file"},
		"form":   "limits",
		"limits": []any{buyersLimit("moisture", "%", "<=", "18")},
	}
	change(set)
	data, err := json.Marshal(set)
	if err != nil {
		panic(err)
	}
	return data
}

func buyersLimit(parameter, unit, comparator, limit string) map[string]any {
	return map[string]any{"parameter": parameter, "unit": unit, "comparator": comparator, "limit": limit, "clause": "annex 2",
		"source": map[string]any{"seen_at": "contract on file"}}
}

// with adds fields to a limit.
func with(limit map[string]any, fields map[string]any) map[string]any {
	for k, v := range fields {
		limit[k] = v
	}
	return limit
}

func limitsOf(limits ...any) func(map[string]any) {
	return func(set map[string]any) { set["limits"] = limits }
}

func parsed(t testing.TB, data []byte) *standard.RuleSet {
	t.Helper()
	set, err := standard.ParseRuleSet(data)
	if err != nil {
		t.Fatal(err)
	}
	return set
}

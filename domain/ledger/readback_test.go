package ledger_test

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// nested is a rule set whose one limit hangs on a condition so deep.
func nested(depth int) *ledger.Entry {
	when := &standard.Condition{Attribute: "kind", Includes: []string{"honeydew"}}
	for range depth {
		when = &standard.Condition{Not: when}
	}
	e := &ledger.Entry{ID: uuid.New(), Kind: ledger.KindRuleSet, OccurredAt: time.Date(2026, 8, 21, 9, 0, 0, 0, time.UTC)}
	e.Body = &ledger.RuleSet{Name: "House", Limits: []standard.Limit{{When: when}}}
	return e
}

// An entry is either refused in words or read back as what was stored.
func TestWhatCannotBeReadAgainIsNotStored(t *testing.T) {
	t.Parallel()
	fine := func() *ledger.Entry { return nested(0) }
	for name, row := range map[string]struct {
		entry  func() *ledger.Entry
		stored bool
	}{
		"an ordinary rule set":         {fine, true},
		"a condition 32 deep":          {func() *ledger.Entry { return nested(32) }, true},
		"a condition 80 deep":          {func() *ledger.Entry { return nested(80) }, false},
		"a condition 9,995 deep":       {func() *ledger.Entry { return nested(9_995) }, false},
		"a NUL in a text":              {func() *ledger.Entry { e := fine(); e.AsEntered = map[string]string{"a": "b\x00"}; return e }, false},
		"a text that looks like a NUL": {func() *ledger.Entry { e := fine(); e.AsEntered = map[string]string{"a": `b\u0000`}; return e }, true},
		"a NUL in the reason":          {func() *ledger.Entry { e := fine(); e.Reason = "b\x00"; return e }, false},
		"a reason that is no text":     {func() *ledger.Entry { e := fine(); e.Reason = "b\xff"; return e }, false},
		"brackets in a text": {func() *ledger.Entry {
			e := fine()
			e.AsEntered = map[string]string{"a": strings.Repeat("[", 999)}
			return e
		}, true},
		"a year that nobody writes": {func() *ledger.Entry {
			e := fine()
			e.OccurredAt = time.Date(10_000, 1, 1, 0, 0, 0, 0, time.UTC)
			return e
		}, false},
		"more than an archive's line": {func() *ledger.Entry {
			e := fine()
			e.AsEntered = map[string]string{"a": strings.Repeat("<", 3<<20)}
			return e
		}, false},
		"a log's time that cannot be written": {func() *ledger.Entry {
			e := fine()
			e.Kind = ledger.KindTemperatureLog
			e.Body = &ledger.TemperatureLog{Points: []ledger.TemperaturePoint{{At: time.Date(-5, 1, 1, 0, 0, 0, 0, time.UTC)}}}
			return e
		}, false},
		"a name twice in a mapping": {func() *ledger.Entry {
			e := fine()
			e.Kind = ledger.KindImport
			e.Body = &ledger.Import{Mapping: []byte(`{"a":1,"a":2}`)}
			return e
		}, false},
		"a body of another kind": {func() *ledger.Entry {
			e := fine()
			e.Kind = ledger.KindYard
			e.Body = &ledger.Wash{With: "water"}
			return e
		}, false},
	} {
		e := row.entry()
		read, content, err := ledger.ReadBack(e)
		if (err == nil) != row.stored {
			t.Errorf("%s: stored %v, %v", name, err == nil, err)
			continue
		}
		if err != nil {
			if fault.CodeOf(err) != fault.Invalid || !strings.HasPrefix(err.Error(), "Nothing was stored: ") {
				t.Errorf("%s: refused as %v", name, err)
			}
			continue
		}
		again := &ledger.Entry{Kind: e.Kind}
		if err := again.SetContent(content); err != nil {
			t.Errorf("%s: stored, and then: %v", name, err)
		}
		if same, err := read.Content(); err != nil || !bytes.Equal(same, content) {
			t.Errorf("%s: read back as something else", name)
		}
	}
}

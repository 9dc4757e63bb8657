package openapi

import (
	"strings"
	"testing"
)

// TestEveryEntryIsAClosedObject holds that a field which the contract has not got is
// refused by its name, though the parts of an entry are open.
func TestEveryEntryIsAClosedObject(t *testing.T) {
	doc, err := Document()
	if err != nil {
		t.Fatal(err)
	}
	entries := 0
	for name, ref := range doc.Components.Schemas {
		s := ref.Value
		if len(s.AllOf) > 1 {
			t.Errorf("%s is still made of several", name)
		}
		if s.Properties["occurred_at"] == nil || s.Properties["replaces"] == nil || name == "NewEntry" || name == "StoredEntry" {
			continue
		}
		entries++
		err := s.VisitJSON(map[string]any{"ocurred_at": "2026-08-21T10:00:00Z"})
		if err == nil || !strings.Contains(err.Error(), `"ocurred_at"`) {
			t.Errorf("%s with a slip in a name: %v", name, err)
		}
	}
	recorded, err := Recordings()
	if err != nil {
		t.Fatal(err)
	}
	if entries < 2*(len(recorded)-1) {
		t.Errorf("%d entries are sent or stored, and %d kinds are recorded", entries, len(recorded))
	}
}

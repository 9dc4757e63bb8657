package db_test

import (
	"testing"

	"pullbook/db"
	"pullbook/domain/fault"
)

func TestAnOutfitIsNotMadeWhatCannotBe(t *testing.T) {
	t.Parallel()
	h := open(t)
	before := len(h.Stored(t, h.Outfit))
	for what, o := range map[string]db.Outfit{
		"no name":  {ID: h.Outfit, Name: " ", TimeZone: "Europe/Madrid", Units: "us"},
		"no zone":  {ID: h.Outfit, Name: "Sedge Hollow", TimeZone: "Nowhere", Units: "us"},
		"no units": {ID: h.Outfit, Name: "Sedge Hollow", TimeZone: "Europe/Madrid", Units: "stone"},
		"no mark":  {ID: h.Outfit, Name: "Sedge Hollow", TimeZone: "Europe/Madrid", Units: "us", DecimalMark: "dot"},
	} {
		if err := h.Operator.ChangeOutfit(t.Context(), o); fault.CodeOf(err) != fault.Invalid {
			t.Errorf("%s: %v", what, err)
		}
	}
	if after := len(h.Stored(t, h.Outfit)); after != before {
		t.Errorf("%d entries tell of it", after-before)
	}
}

package ledger_test

import (
	"errors"
	"math"
	"testing"

	"pullbook/domain/honey"
	"pullbook/domain/ledger"
)

// What a formula does not take is said with its unit and the ends that it takes, open ones
// left out.
func TestAFigureThatAFormulaDoesNotTakeIsSaidWithItsEnds(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		of   honey.RangeError
		want string
	}{
		{honey.RangeError{Quantity: "temperature", Unit: "C", Got: 99, Min: 0, Max: 60}, "temperature 99 °C cannot be used: it must be from 0 °C to 60 °C"},
		{honey.RangeError{Quantity: "temperature", Unit: "C", Got: -9, Min: 0, Max: math.Inf(1)}, "temperature -9 °C cannot be used: it must be at least 0 °C"},
		{honey.RangeError{Quantity: "temperature", Unit: "C", Got: 99, Min: math.Inf(-1), Max: 60}, "temperature 99 °C cannot be used: it must be at most 60 °C"},
		{honey.RangeError{Quantity: "moisture", Unit: "%", Got: 45, Min: 5, Max: 40, Hint: honey.Hint{Format: "was it degrees Brix?"}}, "moisture 45 % cannot be used: it must be from 5 to 40 %; was it degrees Brix?"},
		{honey.RangeError{Quantity: "depth in row 3 of the dip table", Unit: "cm", Got: -1, Min: 0, Max: 90}, "depth in row 3 of the dip table -1 cm cannot be used: it must be from 0 to 90 cm"},
	} {
		if got := ledger.Outside(&c.of).String(); got != c.want {
			t.Errorf("said is %q, want %q", got, c.want)
		}
		if got := ledger.Refusal(errors.Join(errors.New("of the tank"), &c.of)).String(); got != c.want {
			t.Errorf("as a refusal it is %q", got)
		}
	}
	if got := ledger.Refusal(errors.New("no such tank")).String(); got != "no such tank" {
		t.Errorf("another error is %q", got)
	}
}

package standard_test

import (
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/standard"
)

// terms: 3.50 a kilogram; moisture over 17.5 costs 1 %, over 18 costs 2.5 cents a kilogram, over 18.6 is not priced;
// colour over 50 mm costs 5 %.
func terms(t testing.TB) *standard.PriceTerms {
	t.Helper()
	set := parsed(t, buyersSet(func(s map[string]any) {
		s["price"] = map[string]any{"currency": "EUR", "minor_units_per_kg": "350", "discounts": []any{
			map[string]any{"parameter": "moisture", "unit": "%", "above": "17.5", "up_to": "18.0", "percent": "1", "clause": "annex 3"},
			map[string]any{"parameter": "moisture", "unit": "%", "above": "18.0", "up_to": "18.6", "minor_units_per_kg": "2.5", "clause": "annex 3"},
			map[string]any{"parameter": "colour_pfund", "unit": "mm Pfund", "above": "50", "percent": "5", "clause": "annex 4"}}}
	}))
	return set.Price
}

func parcel(id string, grams int64, moisture, colour string) standard.Parcel {
	return standard.Parcel{ID: id, NetGrams: grams, Values: map[string]standard.Decimal{
		"moisture": standard.MustDecimal(moisture), "colour_pfund": standard.MustDecimal(colour)}}
}

func TestSettlementToTheCent(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name                 string
		parcel               standard.Parcel
		gross, deducted, net int64
	}{
		{"dry and light", parcel("D1", 298_500, "17.5", "50"), 104_475, 0, 104_475},
		{"first moisture step", parcel("D2", 298_500, "17.6", "20"), 104_475, 1_045, 103_430}, // 1044.75 cents
		{"second moisture step", parcel("D3", 298_500, "18.1", "20"), 104_475, 746, 103_729},  // 298.5 x 2.5 = 746.25
		{"both steps", parcel("D4", 298_500, "18.6", "50.1"), 104_475, 746 + 5_224, 98_505},   // 5223.75
		{"a half cent goes up", parcel("D5", 1_430, "17.0", "20"), 501, 0, 501},               // 500.5
	}
	for _, tt := range tests {
		s, err := terms(t).Settle(tt.parcel)
		if err != nil {
			t.Fatal(err)
		}
		if s.Gross != tt.gross || s.Deducted != tt.deducted || s.Net != tt.net {
			t.Errorf("%s: gross %d, deducted %d, net %d; want %d, %d, %d", tt.name, s.Gross, s.Deducted, s.Net, tt.gross, tt.deducted, tt.net)
		}
	}
}

// 300 kg bring 1,050.00; a tenth above 17.5 % costs 1 % of that, a tenth above 18.0 costs 7.50, and a millimetre above 50 costs 5 %.
// 17.9 % at 0.10 a kilogram of 3.90 leaves 1,140.00.
func TestAStepIsShownByWhatItTakesFromAMass(t *testing.T) {
	t.Parallel()
	for i, want := range []struct {
		value string
		net   int64
	}{{"17.6", 103_950}, {"18.1", 104_250}, {"51", 99_750}} {
		value, s, err := terms(t).Example(i, 300_000)
		if err != nil || value.String() != want.value || s.Net != want.net {
			t.Errorf("step %d: %s comes to %d (%v); want %s and %d", i, value, s.Net, err, want.value, want.net)
		}
	}
	ten, short := standard.MustDecimal("10"), standard.MustDecimal("17.85")
	agreed := &standard.PriceTerms{Currency: "CAD", PricePerKg: standard.MustDecimal("390"), Discounts: []standard.Discount{
		{Parameter: "moisture", Unit: "%", Above: standard.MustDecimal("17.8"), PerKg: &ten, Clause: "4"}}}
	if value, s, err := agreed.Example(0, 300_000); err != nil || value.String() != "17.9" || s.Net != 114_000 {
		t.Errorf("%s comes to %d (%v)", value, s.Net, err)
	}
	agreed.Discounts[0].UpTo = &short
	if value, _, err := agreed.Example(0, 300_000); err != nil || value.String() != "17.85" {
		t.Errorf("of a step that ends sooner than a tenth, the end is shown, not %s (%v)", value, err)
	}
}

func TestSettlementsThatAreRefused(t *testing.T) {
	t.Parallel()
	noMoisture := parcel("D1", 1000, "17", "20")
	delete(noMoisture.Values, "moisture")
	for field, tt := range map[string]struct {
		parcel standard.Parcel
		says   string
	}{
		"parcels/0/values/moisture": {noMoisture, "has to be measured"},
		"parcels/0/net_grams":       {parcel("D1", 0, "17", "20"), "above 0"},
	} {
		if _, err := terms(t).Settle(tt.parcel); !refusedWith(err, field, tt.says) {
			t.Errorf("%s: %v", field, err)
		}
	}
	if _, err := terms(t).Settle(parcel("D1", 1000, "18.7", "20")); !refusedWith(err, "parcels/0/values/moisture", "beyond the last step") {
		t.Errorf("a moisture beyond the steps: %v", err)
	}
}

func TestSettlementAddsUp(t *testing.T) {
	t.Parallel()
	price := terms(t)
	rapid.Check(t, func(rt *rapid.T) {
		drum := parcel("D1", int64(rapid.IntRange(1, 320_000).Draw(rt, "grams")), drawDecimal(rt, "moisture", 1600, 1860), drawDecimal(rt, "colour", 0, 14000))
		s, err := price.Settle(drum)
		if err != nil {
			rt.Fatal(err)
		}
		if s.Gross-s.Deducted != s.Net || s.Deducted < 0 || s.Net < 0 {
			rt.Fatalf("gross %d less %d is not net %d", s.Gross, s.Deducted, s.Net)
		}
	})
}

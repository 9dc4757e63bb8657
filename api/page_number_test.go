package api

import (
	"testing"

	"pgregory.net/rapid"
)

func TestANumberIsReadWithTheMarkOfTheReadersRegion(t *testing.T) {
	t.Parallel()
	for _, test := range []struct {
		region, typed string
		want          float64
		ok            bool
	}{
		{"es-ES", "17,4", 17.4, true},
		{"es-ES", "1 234,5", 1234.5, true},
		{"es-ES", "17.4", 0, false},
		{"es-ES", "1.234", 0, false},
		{"es-MX", "17.4", 17.4, true},
		{"en-US", "17.4", 17.4, true},
		{"en-US", "-3", -3, true},
		{"en-GB", "\u22123", -3, true},
		{"en-US", "17,4", 0, false},
		{"en-US", "1,234", 0, false},
		{"en-US", "61 lb", 0, false},
		{"en-US", "1e9", 0, false},
		{"en-US", "0x10", 0, false},
		{"en-US", "NaN", 0, false},
		{"en-US", "", 0, false},
		{"es-ES", "1,2,3", 0, false},
	} {
		got, err := tongueFor(test.region).parse(test.typed)
		if (err == nil) != test.ok || got != test.want {
			t.Errorf("%q in %s is %v, %v", test.typed, test.region, got, err)
		}
	}
}

func TestWhatAFormShowsIsReadBackAsItWas(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := figures{tongue: tongueFor(rapid.SampledFrom([]string{"en-US", "es-ES", "es-MX", "en-GB"}).Draw(t, "region")), Mass: "kg"}
		v := float64(rapid.Int64Range(-1_000_000_000, 1_000_000_000).Draw(t, "thousandths")) / 1000
		got, err := f.parse(entryForm{figures: f}.numberText("gross_kg", v))
		if err != nil || got != v {
			t.Fatalf("%v is read back as %v: %v", v, got, err)
		}
	})
}

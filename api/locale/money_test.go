package locale

import (
	"testing"

	"pgregory.net/rapid"
)

// A price of a pound is more of a kilogram: 1.90 a pound is 418.878298 cents a kilogram, since
// a pound is 0.45359237 kg.
func TestAPriceIsOfTheOutfitsUnitOfMass(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ tag, units, typed, code, minor, shown string }{
		{"en-CA", "metric", "4.2", "CAD", "420", "4.20"},
		{"es-ES", "metric", "3,90", "EUR", "390", "3,90"},
		{"en-CA", "metric", "0.105", "CAD", "10.5", "0.105"},
		{"en-US", "us", "1.90", "USD", "418.878298151", "1.90"},
		{"en-GB", "metric", "650", "JPY", "650", "650"},
		{"es-MX", "us", ".1", "USD", "22.046226218", "0.10"},
	} {
		f := NewVoice(LanguageFor(c.tag), c.units, nil)
		minor, err := f.TypedPrice(c.typed, c.code)
		if err != nil || minor != c.minor {
			t.Errorf("%s %s is %s minor units a kilogram (%v), not %s", c.typed, c.code, minor, err, c.minor)
		}
		if got := f.PriceTyped(minor, c.code); got != c.shown {
			t.Errorf("%s %s is shown as %s, not %s", c.typed, c.code, got, c.shown)
		}
	}
}

func TestAPriceComesBackAsItWasTyped(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		f := NewVoice(LanguageFor(rapid.SampledFrom([]string{"en-US", "es-ES"}).Draw(t, "tag")), rapid.SampledFrom([]string{"metric", "us"}).Draw(t, "units"), nil)
		typed := f.Typed(float64(rapid.IntRange(1, 10_000_000).Draw(t, "thousandths"))/1000, 3)
		minor, err := f.TypedPrice(typed, "USD")
		if err != nil {
			t.Fatal(err)
		}
		again, err := f.TypedPrice(f.PriceTyped(minor, "USD"), "USD")
		if err != nil || again != minor {
			t.Fatalf("%s comes back as %s, which is %s and not %s (%v)", typed, f.PriceTyped(minor, "USD"), again, minor, err)
		}
	})
}

// A limit of 20.0 is held otherwise than one of 20.
func TestADecimalKeepsTheDigitsThatWereTyped(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ tag, typed, want string }{
		{"en-GB", "20.0", "20.0"}, {"es-ES", "18,60", "18.60"}, {"en-GB", "1,234.50", "1234.50"}, {"en-GB", ".5", "0.5"}, {"en-GB", "-.5", "-0.5"}, {"en-GB", "8.", "8"},
	} {
		if got, err := readerFrom(c.tag).Decimal(c.typed); got != c.want || err != nil {
			t.Errorf("%s: %q is read as %s (%v), not %s", c.tag, c.typed, got, err, c.want)
		}
	}
}

package ledger_test

import (
	"testing"

	"github.com/go-playground/validator/v10"
	"golang.org/x/text/language"

	"pullbook/domain/ledger"
)

// Codes of countries are those that a validator of ISO 3166-1 knows, all of which Unicode's list of regions has too;
// that one keeps codes of countries that are no more.
func TestACountryIsOneOfISO3166(t *testing.T) {
	t.Parallel()
	v := validator.New()
	known := 0
	for a := 'A'; a <= 'Z'; a++ {
		for b := 'A'; b <= 'Z'; b++ {
			code := string([]rune{a, b})
			is := ledger.IsCountry(code)
			if is != (v.Var(code, "iso3166_1_alpha2") == nil) {
				t.Errorf("%s: a country is %v here, and not so there", code, is)
			}
			if !is {
				continue
			}
			known++
			if r, err := language.ParseRegion(code); err != nil || !r.IsCountry() || r.String() != code {
				t.Errorf("Unicode has no country %s", code)
			}
		}
	}
	if known != 250 {
		t.Errorf("%d countries, want the 249 of ISO 3166-1 and XK", known)
	}
	for _, other := range []string{"", "E", "es", "ESP", "UK", "EU", "YU", "A ", " A", "  ", "É"} {
		if ledger.IsCountry(other) {
			t.Errorf("%q is a country", other)
		}
	}
}

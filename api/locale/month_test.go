package locale_test

import (
	"testing"
	"time"

	"pullbook/api/locale"
)

// A day that is known to its month or its year only is written so.
func TestAMonthAndAYearAreWrittenAsSuch(t *testing.T) {
	t.Parallel()
	en, es := locale.NewVoice(locale.English, "metric", time.UTC), locale.NewVoice(locale.LanguageFor("es-ES"), "metric", time.UTC)
	for _, c := range []struct{ got, want string }{
		{en.Date("2027-03"), "March 2027"}, {es.Date("2027-03"), "marzo 2027"}, {en.Date("2031"), "2031"}, {es.Date("2031"), "2031"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

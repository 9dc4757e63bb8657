package locale

import (
	"testing"
)

func TestNumbersStandUnderOneAnother(t *testing.T) {
	t.Parallel()
	metric, us := NewVoice(English, "metric", nil), NewVoice(LanguageFor("en-US"), "us", nil)
	for _, test := range []struct {
		got, want string
	}{
		{metric.Grams(0), "0.0"},
		{metric.Grams(49), "0.0"},
		{metric.Grams(-49), "0.0"},
		{metric.Grams(-51), "\u22120.1"},
		{metric.Grams(27_250), "27.3"}, // as a sentence says it: 27.3 kg
		{metric.Kg(27.25), "27.3 kg"},
		{metric.Grams(999_950), "1,000.0"},
		{metric.Grams(1_234_567_890), "1,234,567.9"},
		{us.Grams(453_592), "1,000.0"},
		{us.Grams(1_000), "2.2"},
		{metric.GramsChange(new(int64(1_500))), "+1.5"},
		{metric.GramsChange(new(int64(-1_500))), "\u22121.5"},
		{metric.GramsChange(nil), "\u2013"},
		{us.Kilograms(new(27.2)), "60.0"},
		{metric.Count(1000), "1,000"},
		{metric.Share(1), "100.0"},
		{metric.Percent(nil), "\u2013"},
		{NewVoice(LanguageFor("es-ES"), "metric", nil).Grams(1_234_567), "1.234,6"},
		{NewVoice(LanguageFor("es-MX"), "metric", nil).Grams(1_234_567), "1,234.6"},
		{us.Celsius(40), "104 °F"},
		{us.Kg(100), "220.5 lb"},
		{metric.Litres(3.5), "3.5 L"},
	} {
		if test.got != test.want {
			t.Errorf("got %q, want %q", test.got, test.want)
		}
	}
}

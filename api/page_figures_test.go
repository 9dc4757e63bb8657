package api

import (
	"testing"

	"pullbook/db"
)

func TestNumbersStandUnderOneAnother(t *testing.T) {
	t.Parallel()
	metric, us := figuresFor(english, db.Outfit{Units: "metric"}, nil), figuresFor(tongueFor("en-US"), db.Outfit{Units: "us"}, nil)
	for _, test := range []struct {
		got, want string
	}{
		{metric.mass(0), "0.0"},
		{metric.mass(49), "0.0"},
		{metric.mass(-49), "0.0"},
		{metric.mass(-51), "\u22120.1"},
		{metric.mass(27_250), "27.3"}, // as a sentence says it: 27.3 kg
		{metric.Kg(27.25), "27.3 kg"},
		{metric.mass(999_950), "1,000.0"},
		{metric.mass(1_234_567_890), "1,234,567.9"},
		{us.mass(453_592), "1,000.0"},
		{us.mass(1_000), "2.2"},
		{metric.massChange(ptr(int64(1_500))), "+1.5"},
		{metric.massChange(ptr(int64(-1_500))), "\u22121.5"},
		{metric.massChange(nil), "\u2013"},
		{us.perKg(ptr(27.2)), "60.0"},
		{metric.count(1000), "1,000"},
		{metric.share(1), "100.0"},
		{metric.pct(nil), "\u2013"},
		{figuresFor(tongueFor("es-ES"), db.Outfit{Units: "metric"}, nil).mass(1_234_567), "1.234,6"},
		{figuresFor(tongueFor("es-MX"), db.Outfit{Units: "metric"}, nil).mass(1_234_567), "1,234.6"},
		{us.Celsius(40), "104 °F"},
		{us.Kg(100), "220.5 lb"},
		{metric.Litres(3.5), "3.5 L"},
	} {
		if test.got != test.want {
			t.Errorf("got %q, want %q", test.got, test.want)
		}
	}
}

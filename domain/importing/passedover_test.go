package importing_test

import (
	"slices"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// Whatever stands in a column that is read is stored, or asked about.
func TestAFigureThatWouldNotBeStoredIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what, text string
		of         importing.Kind
		want       []string
	}{
		{"a sample's temperature in rows without moisture", "Date,Tank,Moisture,Temp C,pH\n2026-07-06,sump,17.2,31,3.9\n2026-07-07,sump,,31,3.8\n2026-07-08,sump,n/a,30,3.8\n", importing.Readings, []string{"3D missing"}},
		{"no temperature in a row without moisture", "Date,Tank,Moisture,Temp C,pH\n2026-07-06,sump,17.2,31,3.9\n2026-07-07,sump,,,3.8\n2026-07-08,sump,,-,3.8\n", importing.Readings, nil},
		{"the humidity beside a sensor that gave nothing", "Date,Tank,Temp C,RH\n2026-07-06 10:00,sump,31,40\n2026-07-06 11:00,sump,,41\n", importing.TemperatureLogs, []string{"3D missing"}},
		{"a tank and a lot", "Date,Tank,Lot,Moisture\n2026-07-06,sump,L1,17.2\n2026-07-07,sump,,17.3\n2026-07-08,sump,L1,17.3\n", importing.Readings, []string{"2B two_values"}},
		{"a drum with its lot and tank", "Date,Tank,Lot,Drum,Moisture\n2026-07-06,sump,L1,D1,17.2\n", importing.Readings, nil},
		{"a drum with a tank that it was not filled from", "Date,Tank,Drum,Moisture\n2026-07-06,large tank,D1,17.2\n", importing.Readings, []string{"2B two_values"}},
	} {
		h := newHouse()
		lot := h.SetUp(&ledger.Lot{Code: "L1"})
		h.SetUp(&ledger.Fill{LotID: lot, TankID: h.Sump, ContainerKindID: h.Drum, Container: "D1", GrossG: 310_000, TareG: 18_000})
		if r := h.check(t, row.text, h.guess(t, row.of, row.text)); !slices.Equal(problems(r), row.want) {
			t.Errorf("%s: %v", row.what, said(r))
		}
	}
}

package importing_test

import (
	"testing"

	"pullbook/domain/importing"
)

// A column headed kg alone is of the mass that is left, and is asked about where two are.
func TestAColumnHeadedWithAUnitAloneIsOfTheOnlyMassLeft(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		what, text string
		of         importing.Kind
		field      importing.Field
		unit       importing.Unit
	}{
		{"a sale's net", "Date,Buyer,Drum,Kg\n2026-07-06,packer,D1,290\n", importing.Sales, importing.FieldNet, importing.Kilograms},
		{"a sale's net in pounds", "Date,Buyer,Drum,LBS\n2026-07-06,packer,D1,640\n", importing.Sales, importing.FieldNet, importing.Pounds},
		{"a sale's net, in Spanish", "Fecha;Comprador;Tambor;Kilos\n6/7/2026;packer;D1;290\n", importing.Sales, importing.FieldNet, importing.Kilograms},
		{"what was pumped", "Date,From,To,kg\n2026-07-06,sump,large tank,290\n", importing.Transfers, importing.FieldHoney, importing.Kilograms},
		{"a container's net beside gross and tare", "Date,Lot,Tank,Drum,Type,Gross kg,Tare kg,Kg\n2026-07-06,1,sump,D1,drum,307,17,290\n", importing.Containers, importing.FieldNet, importing.Kilograms},
		{"a container's gross or net", "Date,Lot,Tank,Drum,Type,Kg\n2026-07-06,1,sump,D1,drum,307\n", importing.Containers, "", ""},
		{"a container's tare or net", "Date,Lot,Tank,Drum,Type,Gross kg,Kg\n2026-07-06,1,sump,D1,drum,307,290\n", importing.Containers, "", ""},
		{"a sale's kilograms and pounds", "Date,Buyer,Drum,Lb,Kg\n2026-07-06,packer,D1,640,290\n", importing.Sales, "", ""},
		{"a sale's net and something else", "Date,Buyer,Drum,Net kg,Kg\n2026-07-06,packer,D1,290,307\n", importing.Sales, "", ""},
		{"a run's honey or wax", "Date,Run,Tank,Kg\n2026-07-06,R1,sump,290\n", importing.Runs, "", ""},
	} {
		m := newHouse().guess(t, row.of, row.text)
		if c := m.Columns[len(m.Columns)-1]; c.Field != row.field || c.Unit != row.unit {
			t.Errorf("%s: column %s is taken for %q in %q", row.what, c.Column, c.Field, c.Unit)
		}
	}
	for heading, want := range map[string]importing.Unit{"Kg": importing.Kilograms, "Net (lb)": importing.Pounds, "Net": "", "T": ""} {
		if got := importing.UnitIn(heading, importing.FieldNet); got != want {
			t.Errorf("under %q the net is in %q", heading, got)
		}
	}
}

// A logger's column of times that have their days says both.
func TestALoggersTimesWithTheirDaysAreItsDates(t *testing.T) {
	t.Parallel()
	logger := newHouse().guess(t, importing.TemperatureLogs, "Time,Temp C\n2026-07-01 10:00,31.5\n2026-07-01 11:00,32.5\n")
	if logger.Columns[0].Field != importing.FieldDate {
		t.Errorf("a logger's times with their days are taken for %q", logger.Columns[0].Field)
	}
	if clock := newHouse().guess(t, importing.TemperatureLogs, "Date,Time,Temp C\n2026-07-01,10:00,31.5\n"); clock.Columns[1].Field != importing.FieldTime {
		t.Errorf("times beside dates are taken for %q", clock.Columns[1].Field)
	}
}

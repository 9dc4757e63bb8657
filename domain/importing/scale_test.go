package importing_test

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// A figure in another unit than the book keeps is converted, by its heading or its own unit, or
// asked about; what was typed stays with it.
func TestAFigureInAnotherUnitIsConvertedOrAskedAbout(t *testing.T) {
	t.Parallel()
	for _, row := range []struct {
		heading, cell, typed string
		want                 float64
	}{
		{"Conductivity µS/cm", "230", "230 us/cm", 0.23},
		{"Conductivity (uS/cm)", "1230", "1230 us/cm", 1.23},
		{"Conductivity", "230 µS/cm", "230 µS/cm", 0.23},
		{"Conductivity µS/cm", "0.23 mS/cm", "0.23 mS/cm", 0.23},
		{"Colour (cm)", "4.1", "4.1 cm", 41},
		{"Color cm Pfund", "4.1", "4.1 cm", 41},
		{"Colour", "41 mm", "41 mm", 41},
		{"Colour", "4.1 cm", "4.1 cm", 41},
		{"Free acidity meq/kg", "22", "", 22},
		{"Diastase (Schade)", "12", "", 12},
		{"Free acidity %", "0.2", "", -1},
		{"Acidez (% ác. fórmico)", "0.2", "", -1},
		{"Diastase U/g", "3", "", -1},
	} {
		h := newHouse()
		text := "Date,Tank," + row.heading + "\n2026-07-06,sump," + row.cell + "\n"
		m := h.guess(t, importing.Readings, text)
		if row.want < 0 {
			if got := problems(h.check(t, text, m)); !slices.Equal(got, []string{"2C no_unit"}) {
				t.Errorf("%s: %v", row.heading, got)
			}
			continue
		}
		r := h.bring(t, importing.Readings, text)
		got := bodies[ledger.Reading](h)
		if len(got) != 1 || got[0].Measured[0].Value != row.want {
			t.Errorf("%s over %s: %+v", row.heading, row.cell, got)
		} else if typed := r.First[0].Entry.AsEntered; len(typed) != min(1, len(row.typed)) || !strings.Contains(typed[string(m.Columns[2].Field)], row.typed) {
			t.Errorf("%s over %s is kept as %v", row.heading, row.cell, typed)
		}
	}
	h := newHouse()
	h.bring(t, importing.Readings, "Date,Tank,HMF mg/100 g,Method\n2026-07-06,sump,0.4,HPLC\n2026-07-07,sump,4 mg/kg,HPLC\n2026-07-08,sump,<0.4 mg/100g,HPLC\n")
	for i, r := range bodies[ledger.Reading](h) {
		if r.Measured[0].Value != 4 || r.Measured[0].LessThan != (i == 2) {
			t.Errorf("%+v", r.Measured)
		}
	}
}

// A column of units that was read is not listed as one that was not.
func TestAColumnOfUnitsThatIsReadIsNotListedAsUnread(t *testing.T) {
	t.Parallel()
	h := newHouse()
	const text = "Date,Yard,Supers,Kind,Gross kg,Unit,Hm\n2026-07-06,Mill,12,deep,1000,lb,x\n"
	if r := h.check(t, text, h.guess(t, importing.Pulls, text)); len(r.NotRead) != 1 || r.NotRead[0].Column != "G" {
		t.Errorf("%+v", r.NotRead)
	}
}

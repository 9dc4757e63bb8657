package importing_test

import (
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
)

// Of two readings of a figure, one that honey or the field cannot have is none.
func TestAFigureThatCanOnlyBeOneThingIsNotAskedAbout(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]float64{
		"Date\tTank\tMoisture\n2026-07-06\tsump\t17.425\n":           17.425,
		"Date\tTank\tMoisture\n2026-07-06\tsump\t17,425\n":           17.425,
		"Date\tTank\tRefractive index\n2026-07-06\tsump\t1,492\n":    1.492,
		"Date;Tank;Refractive index\n2026-07-06;sump;1.492\n":        1.492,
		"Date,Tank,Brix\n2026-07-06,sump,\"81,125\"\n":               81.125,
		"Date\tTank\tMoisture\n2026-07-06\tsump\t\"17,425\"\n":       17.425,
		"Date;Tank;Moisture\n2026-07-06;sump;17,4\n":                 17.4,
		"Date,Tank,Moisture,Note\n2026-07-06,sump,17.425,\"a, b\"\n": 17.425,
	} {
		h := newHouse()
		h.bring(t, importing.Readings, text)
		r := bodies[ledger.Reading](h)
		if len(r) != 1 || r[0].Moisture.AsRead != want {
			t.Errorf("%q: %+v", text, r)
		}
	}
}

// Nor of a figure that a laboratory measured: a conductivity of 1,125 mS/cm, a diastase of 1,125
// and a colour of 1,125 mm cannot be.
func TestAFigureOfTheLaboratoryThatCanOnlyBeOneThingIsNotAskedAbout(t *testing.T) {
	t.Parallel()
	for heading, asked := range map[string]bool{"Conductivity": false, "Diastase": false, "Colour": false, "Free acidity": false, "pH": false, "HMF": true} {
		h := newHouse()
		text := "Date\tTank\t" + heading + "\n2026-07-06\tsump\t3,125\n"
		r := h.check(t, text, h.guess(t, importing.Readings, text))
		if asked != (len(r.Problems) == 1 && r.Problems[0].Code == importing.TwoFigures) {
			t.Errorf("%s: %v", heading, said(r))
			continue
		}
		if asked {
			continue
		}
		h.bring(t, importing.Readings, text)
		if got := bodies[ledger.Reading](h); len(got) != 1 || got[0].Measured[0].Value != 3.125 {
			t.Errorf("%s: %+v", heading, got)
		}
	}
}

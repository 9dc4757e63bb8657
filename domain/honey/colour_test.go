package honey

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

var scaleNames = map[string]ColourScale{"US": USColour, "Canada bulk": CanadaBulkColour, "Canada consumer": CanadaConsumerColour}

// Each published band, at its upper edge (in the class) and just over its lower
// edge.
func TestEveryPublishedColourClassIncludesItsUpperEdge(t *testing.T) {
	t.Parallel()
	for _, row := range publishedTable(t, "pfund-classes.csv") {
		scale, over := scaleNames[row["scale"]], number(t, row, "pfund_mm_from_over")
		readings := []float64{over + 0.1}
		if row["pfund_mm_to_incl"] != "" {
			readings = append(readings, number(t, row, "pfund_mm_to_incl"))
		}
		for _, mm := range readings {
			got, err := scale.Class(mm)
			if err != nil || got.Name != row["class"] || got.OverMM != over {
				t.Errorf("%s: %.1f mm is %+v (%v), published %s", row["scale"], mm, got, err, row["class"])
			}
		}
		if row["optical_density_max_560nm_3.15cm_path"] != "" {
			density := number(t, row, "optical_density_max_560nm_3.15cm_path")
			got, err := USColourFromOpticalDensity(density)
			if err != nil || got.Name != row["class"] {
				t.Errorf("optical density %.4f is %s (%v), published %s", density, got.Name, err, row["class"])
			}
		}
	}
}

func TestTheUSClassesAtTheirEdges(t *testing.T) {
	t.Parallel()
	for mm, want := range map[float64]string{0: "Water White", 8: "Water White", 8.1: "Extra White", 17: "Extra White",
		34: "White", 50: "Extra Light Amber", 85: "Light Amber", 114: "Amber", 114.1: "Dark Amber", 140: "Dark Amber"} {
		if got, err := USColour.Class(mm); err != nil || got.Name != want {
			t.Errorf("%.1f mm is %s (%v), want %s", mm, got.Name, err, want)
		}
	}
	if got, err := USColourFromOpticalDensity(3.1); err != nil || got.Name != "Dark Amber" {
		t.Errorf("an optical density of 3.1 is %s (%v)", got.Name, err)
	}
}

// -38.70 + 371.39 x 0.200 = 35.58; the line is below nothing up to 0.104.
func TestAbsorbanceAt635Nanometres(t *testing.T) {
	t.Parallel()
	for absorbance, want := range map[float64]float64{0: 0, 0.1: 0, 0.200: 35.58, 0.4: 109.86} {
		got, err := PfundFromAbsorbance(absorbance)
		if err != nil || math.Abs(got-want) > 0.005 {
			t.Errorf("absorbance %.3f is %.3f mm (%v), want %.2f", absorbance, got, err, want)
		}
	}
	if class, err := USColour.Class(35.58); err != nil || class.Name != "Extra Light Amber" {
		t.Errorf("35.58 mm is %s (%v)", class.Name, err)
	}
}

func TestPfundComesBackFromItsAbsorbance(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		mm := rapid.Float64Range(0, 140).Draw(t, "mm")
		absorbance, err := AbsorbanceFromPfund(mm)
		if err != nil {
			t.Fatal(err)
		}
		back, err := PfundFromAbsorbance(absorbance)
		if err != nil || math.Abs(back-mm) > 1e-9 {
			t.Fatalf("%v mm came back as %v (%v)", mm, back, err)
		}
	})
}

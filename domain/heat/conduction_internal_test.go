package heat

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

func table(t *testing.T, name string) []map[string]string {
	t.Helper()
	file, err := os.Open("../../testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, name := range rows[0] {
			m[name] = row[i]
		}
		out = append(out, m)
	}
	return out
}

func columnOf(t *testing.T, row map[string]string, name string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(row[name], 64)
	if err != nil {
		t.Fatal(name, err)
	}
	return x
}

func TestFirstEigenvaluesAreThoseOfTheHeatTables(t *testing.T) {
	t.Parallel()
	for _, row := range table(t, "heat-conduction-eigenvalues.csv") {
		biot := columnOf(t, row, "biot")
		if math.IsInf(biot, 1) {
			biot = 1e9
		}
		slab, cylinder := slabTerms(biot)[0], cylinderTerms(biot)[0]
		for what, pair := range map[string][2]float64{
			"slab_zeta1": {slab.root, columnOf(t, row, "slab_zeta1")}, "slab_c1": {slab.core, columnOf(t, row, "slab_c1")},
			"cylinder_zeta1": {cylinder.root, columnOf(t, row, "cylinder_zeta1")}, "cylinder_c1": {cylinder.core, columnOf(t, row, "cylinder_c1")},
		} {
			if math.Abs(pair[0]-pair[1]) > 1.1e-5 {
				t.Errorf("%s at Bi %s is %.5f, published %.5f", what, row["biot"], pair[0], pair[1])
			}
		}
	}
}

func TestDrumsPailsAndJarsWarmAsTheWorkedCasesSay(t *testing.T) {
	t.Parallel()
	for _, row := range table(t, "heat-conduction-checks.csv") {
		s := Standing{RadiusM: columnOf(t, row, "radius_m"), HeightM: columnOf(t, row, "height_m"), FilmWPerM2K: columnOf(t, row, "h_W_m2K")}
		b := s.conduct(columnOf(t, row, "k_W_mK"), columnOf(t, row, "cp_J_kgK")*columnOf(t, row, "rho_kg_m3"))
		start, room, hours := columnOf(t, row, "t_start_C"), columnOf(t, row, "t_medium_C"), columnOf(t, row, "hours")
		if got, want := b.core(hours), columnOf(t, row, "theta_centre"); math.Abs(got-want) > 2e-5 {
			t.Errorf("%s after %g h: %.6f is left at the core, worked out as %.6f", row["case"], hours, got, want)
		}
		if got, want := room+(start-room)*b.mean(hours), columnOf(t, row, "t_mean_C"); math.Abs(got-want) > 2e-3 {
			t.Errorf("%s after %g h: the mean is %.4f C, worked out as %.4f", row["case"], hours, got, want)
		}
	}
}

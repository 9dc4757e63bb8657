package heat

import (
	"math"
	"testing"

	"pullbook/domain/publishedtest"
)

func TestFirstEigenvaluesAreThoseOfTheHeatTables(t *testing.T) {
	t.Parallel()
	for _, row := range publishedtest.Rows(t, "../../testdata/heat-conduction-eigenvalues.csv") {
		biot := publishedtest.Number(t, row["biot"])
		if math.IsInf(biot, 1) {
			biot = 1e9
		}
		slab, cylinder := slabTerms(biot)[0], cylinderTerms(biot)[0]
		for what, pair := range map[string][2]float64{
			"slab_zeta1": {slab.root, publishedtest.Number(t, row["slab_zeta1"])}, "slab_c1": {slab.core, publishedtest.Number(t, row["slab_c1"])},
			"cylinder_zeta1": {cylinder.root, publishedtest.Number(t, row["cylinder_zeta1"])}, "cylinder_c1": {cylinder.core, publishedtest.Number(t, row["cylinder_c1"])},
		} {
			if math.Abs(pair[0]-pair[1]) > 1.1e-5 {
				t.Errorf("%s at Bi %s is %.5f, published %.5f", what, row["biot"], pair[0], pair[1])
			}
		}
	}
}

func TestDrumsPailsAndJarsWarmAsTheWorkedCasesSay(t *testing.T) {
	t.Parallel()
	for _, row := range publishedtest.Rows(t, "../../testdata/heat-conduction-checks.csv") {
		s := Standing{RadiusM: publishedtest.Number(t, row["radius_m"]), HeightM: publishedtest.Number(t, row["height_m"]), FilmWPerM2K: publishedtest.Number(t, row["h_W_m2K"])}
		b := s.conduct(publishedtest.Number(t, row["k_W_mK"]), publishedtest.Number(t, row["cp_J_kgK"])*publishedtest.Number(t, row["rho_kg_m3"]))
		start, room, hours := publishedtest.Number(t, row["t_start_C"]), publishedtest.Number(t, row["t_medium_C"]), publishedtest.Number(t, row["hours"])
		if got, want := b.core(hours), publishedtest.Number(t, row["theta_centre"]); math.Abs(got-want) > 2e-5 {
			t.Errorf("%s after %g h: %.6f is left at the core, worked out as %.6f", row["case"], hours, got, want)
		}
		if got, want := room+(start-room)*b.mean(hours), publishedtest.Number(t, row["t_mean_C"]); math.Abs(got-want) > 2e-3 {
			t.Errorf("%s after %g h: the mean is %.4f C, worked out as %.4f", row["case"], hours, got, want)
		}
	}
}

// The first roots of z tan z = Bi and z J1(z) = Bi J0(z) as heat textbooks print them (Carslaw
// and Jaeger, from memory): for Bi 1, and where the wall is at once as warm as its surroundings,
// the odd quarters of a turn and the zeros of J0.
func TestHigherEigenvaluesAreThoseOfTheHeatTables(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name   string
		terms  []term
		roots  []float64
		within float64
	}{
		{"slab, Bi 1", slabTerms(1), []float64{0.8603, 3.4256, 6.4373, 9.5293, 12.6453, 15.7713}, 5.1e-5},
		{"cylinder, Bi 1", cylinderTerms(1), []float64{1.2558, 4.0795, 7.1558, 10.2710, 13.3984, 16.5312}, 5.1e-5},
		{"slab, no film", slabTerms(1e9), []float64{math.Pi / 2, 3 * math.Pi / 2, 5 * math.Pi / 2, 7 * math.Pi / 2}, 1e-7},
		{"cylinder, no film", cylinderTerms(1e9), []float64{2.404826, 5.520078, 8.653728, 11.791534, 14.930918}, 1e-6},
	} {
		for i, want := range c.roots {
			if got := c.terms[i].root; math.Abs(got-want) > c.within {
				t.Errorf("%s: root %d is %.6f, published %.6f", c.name, i+1, got, want)
			}
		}
	}
}

// At the beginning nothing has warmed: the shares of a series come to one, at the core, on the
// mean and, where there is a film, at the wall.
func TestAtTheBeginningAllIsLeftToWarm(t *testing.T) {
	t.Parallel()
	for name, list := range map[string][]term{"slab": slabTerms(2), "cylinder": cylinderTerms(2)} {
		for what, c := range map[string]struct {
			of     func(term) float64
			within float64
		}{"core": {atCore, 0.02}, "mean": {onMean, 1e-6}, "wall": {atWall, 5e-3}} {
			if got := series(list, 0, c.of); math.Abs(got-1) > c.within {
				t.Errorf("%s: %.6f is left at the %s", name, got, what)
			}
		}
	}
}

// Heat that comes in is heat that came through the wall: what the mean loses in a while is the
// film's share of what is left at the wall, Bi for each Fourier number of a slab, twice that of a cylinder.
func TestWhatTheMeanGainsCameThroughTheWall(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name    string
		list    []term
		surface float64
	}{{"slab", slabTerms(3), 3}, {"cylinder", cylinderTerms(3), 2 * 3}} {
		const at, step = 0.05, 1e-4
		gained := (series(c.list, at-step, onMean) - series(c.list, at+step, onMean)) / (2 * step)
		if through := c.surface * series(c.list, at, atWall); math.Abs(gained/through-1) > 1e-5 {
			t.Errorf("%s: the mean gains %.8f, through the wall come %.8f", c.name, gained, through)
		}
	}
}

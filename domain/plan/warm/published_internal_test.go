package warm

import (
	"math"
	"testing"

	"pullbook/domain/heat"
	"pullbook/domain/publishedtest"
)

// The line of liquefying times is the least squares line through the published ones.
func TestTheLineOfLiquefyingTimesIsThatOfThePublishedOnes(t *testing.T) {
	t.Parallel()
	var x, y []float64
	for _, row := range publishedtest.Rows(t, "testdata/liquefying-times.csv") {
		if row["use"] == "fit" {
			x = append(x, publishedtest.Number(t, row["temperature_c"]))
			y = append(y, math.Log((publishedtest.Number(t, row["hours_low"])+publishedtest.Number(t, row["hours_high"]))/2))
		}
	}
	n := float64(len(x))
	var sx, sy, sxx, sxy float64
	for i := range x {
		sx, sy, sxx, sxy = sx+x[i], sy+y[i], sxx+x[i]*x[i], sxy+x[i]*y[i]
	}
	slope := (n*sxy - sx*sy) / (n*sxx - sx*sx)
	level := (sy - slope*sx) / n
	squares := 0.0
	for i := range x {
		off := y[i] - level - slope*x[i]
		squares += off * off
		t.Logf("%.1f C: published %.3g h, line %.3g h", x[i], math.Exp(y[i]), LiquidHours(x[i]))
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{{"logarithm at 0 C", liquidLogAtZero, level}, {"slope", liquidLogPerK, slope}, {"standard deviation", liquidLogSD, math.Sqrt(squares / (n - 2))}} {
		if math.Abs(c.got/c.want-1) > 1e-5 {
			t.Errorf("%s is %.8g, by the published times %.8g", c.what, c.got, c.want)
		}
	}
}

// A container in a room is liquid when published: the band of nine in ten, over conductivities and over how
// soon crystals melt, reaches the published hours.
func TestContainersAreLiquidAboutWhenPublished(t *testing.T) {
	t.Parallel()
	for _, row := range publishedtest.Rows(t, "testdata/liquefying-times.csv") {
		if row["use"] != "check" {
			continue
		}
		c := Containers{Standing: heat.Standing{
			RadiusM: publishedtest.Number(t, row["radius_m"]), HeightM: publishedtest.Number(t, row["height_m"]), FilmWPerM2K: publishedtest.Number(t, row["film_w_per_m2_k"]), MoisturePct: 17.4, CrystalsPct: 15,
		}, Count: 1, NetKg: 20, StartC: 15, AroundC: 15}
		room := publishedtest.Number(t, row["temperature_c"])
		slow, _, fast, err := c.Responses(15, 30)
		if err != nil {
			t.Fatal(err)
		}
		middle := hoursUntilLiquid(t, slow, room, 0.5)
		early, lateH := hoursUntilLiquid(t, fast, room, 0.05), hoursUntilLiquid(t, slow, room, 0.95)
		low, high := publishedtest.Number(t, row["hours_low"]), publishedtest.Number(t, row["hours_high"])
		t.Logf("%s: published %g to %g h, here %g / %g / %g h", row["what"], low, high, early, middle, lateH)
		if reaches := early <= high && lateH >= low; reaches != (row["reaches"] == "yes") {
			t.Errorf("%s: liquid after %g to %g h, published %g to %g", row["what"], early, lateH, low, high)
		}
	}
}

func hoursUntilLiquid(t *testing.T, r heat.Response, roomC, probability float64) float64 {
	t.Helper()
	aim, err := targetOf(Aim{State: Liquid}, probability, 17.4, 15)
	if err != nil {
		t.Fatal(err)
	}
	core, dose := r.At(0, 0), 0.0
	for h := 1.0; h < 1000; h++ {
		if dose += aim.doses[0].at(roomC + (15-roomC)*core.Left(h)); dose >= 1 {
			return h
		}
	}
	return math.Inf(1)
}

// Honey is pumpable at the temperature at which the published points have that viscosity.
func TestHoneyIsPumpableWhereThePublishedViscositiesSay(t *testing.T) {
	t.Parallel()
	for _, row := range publishedtest.Rows(t, "testdata/pumpable-points.csv") {
		moisture, celsius := publishedtest.Number(t, row["moisture_pct"]), publishedtest.Number(t, row["temperature_c"])
		got, err := thinAt(publishedtest.Number(t, row["viscosity_pa_s"]), moisture)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%g %%, %s Pa s: %.1f C, published %g", moisture, row["viscosity_pa_s"], got, celsius)
		if math.Abs(got-celsius) > 2.0 {
			t.Errorf("%g %%: %s Pa s at %.1f C, published at %g", moisture, row["viscosity_pa_s"], got, celsius)
		}
	}
}

// Honey that is held at one temperature is rid of yeasts when packers are told that it is.
func TestYeastsAreKilledWhenPackersAreTold(t *testing.T) {
	t.Parallel()
	aim, err := targetOf(Aim{State: YeastKilled}, 0.8, 17.4, 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range publishedtest.Rows(t, "testdata/yeast-times.csv") {
		celsius, minutes := publishedtest.Number(t, row["temperature_c"]), publishedtest.Number(t, row["minutes"])
		if dose := aim.doses[0].at(celsius) * minutes / 60; math.Abs(dose-1) > 0.02 {
			t.Errorf("%g minutes at %g C come to %.3f of what is needed", minutes, celsius, dose)
		}
	}
	if rate := aim.doses[0].at(51); rate != 0 {
		t.Errorf("at 51 C, where nothing is published, %g an hour counts", rate)
	}
	if hot, hotter := aim.doses[0].at(71.1), aim.doses[0].at(80); math.Abs(hotter/hot-1) > 1e-9 {
		t.Errorf("hotter than what is published counts more: %g beside %g", hotter, hot)
	}
}

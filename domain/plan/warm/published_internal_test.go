package warm

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"pullbook/domain/heat"
)

func published(t *testing.T, name string) []map[string]string {
	t.Helper()
	file, err := os.Open("testdata/" + name)
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

func figure(t *testing.T, row map[string]string, column string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(row[column], 64)
	if err != nil {
		t.Fatal(column, err)
	}
	return x
}

// The line of liquefying times is the least squares line through the published ones.
func TestTheLineOfLiquefyingTimesIsThatOfThePublishedOnes(t *testing.T) {
	t.Parallel()
	var x, y []float64
	for _, row := range published(t, "liquefying-times.csv") {
		if row["use"] == "fit" {
			x = append(x, figure(t, row, "temperature_c"))
			y = append(y, math.Log((figure(t, row, "hours_low")+figure(t, row, "hours_high"))/2))
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
	for _, row := range published(t, "liquefying-times.csv") {
		if row["use"] != "check" {
			continue
		}
		c := Containers{Standing: heat.Standing{
			RadiusM: figure(t, row, "radius_m"), HeightM: figure(t, row, "height_m"), FilmWPerM2K: figure(t, row, "film_w_per_m2_k"), MoisturePct: 17.4, CrystalsPct: 15,
		}, Count: 1, NetKg: 20, StartC: 15, AroundC: 15}
		room := figure(t, row, "temperature_c")
		slow, _, fast, err := c.Responses(15, 30)
		if err != nil {
			t.Fatal(err)
		}
		middle := hoursUntilLiquid(t, slow, room, 0.5)
		early, lateH := hoursUntilLiquid(t, fast, room, 0.05), hoursUntilLiquid(t, slow, room, 0.95)
		low, high := figure(t, row, "hours_low"), figure(t, row, "hours_high")
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
	for _, row := range published(t, "pumpable-points.csv") {
		moisture, celsius := figure(t, row, "moisture_pct"), figure(t, row, "temperature_c")
		got, err := thinAt(figure(t, row, "viscosity_pa_s"), moisture)
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
	for _, row := range published(t, "yeast-times.csv") {
		celsius, minutes := figure(t, row, "temperature_c"), figure(t, row, "minutes")
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

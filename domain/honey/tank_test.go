package honey

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"pgregory.net/rapid"
)

func made(t *testing.T) func(Tank, error) Tank {
	return func(tank Tank, err error) Tank {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return tank
	}
}

func litresAt(t *testing.T, tank Tank, dipCm float64) float64 {
	t.Helper()
	litres, err := tank.Litres(dipCm)
	if err != nil {
		t.Fatal(err)
	}
	return litres
}

func TestFullTanksHoldWhatGeometrySays(t *testing.T) {
	t.Parallel()
	must := made(t)
	for name, c := range map[string]struct {
		tank Tank
		want float64
	}{
		"upright, 1 m by 1.2 m":         {must(UprightCylinder(100, 120)), 300 * math.Pi},
		"box, 1 by 0.8 by 0.5 m":        {must(Box(100, 80, 50)), 400},
		"lying, flat ends":              {must(LyingCylinder(100, 200, 0)), 500 * math.Pi},
		"lying, hemispherical ends":     {must(LyingCylinder(100, 200, 50)), 500*math.Pi + 4.0/3*math.Pi*125},
		"lying, 2:1 ellipsoidal ends":   {must(LyingCylinder(100, 200, 25)), 500*math.Pi + 4.0/3*math.Pi*62.5},
		"dip table, its top row":        {must(DipTable([]DipPoint{{0, 0}, {50, 400}, {60, 455}})), 455},
		"dip table that starts at 4 cm": {must(DipTable([]DipPoint{{4, 30}, {50, 400}})), 400},
	} {
		if got := litresAt(t, c.tank, c.tank.RimCm()); math.Abs(got-c.want) > 1e-9*c.want {
			t.Errorf("%s: %.6f L, want %.6f", name, got, c.want)
		}
	}
}

func TestALyingTankFilledToItsAxisIsHalfFull(t *testing.T) {
	t.Parallel()
	for _, dish := range []float64{0, 10, 25, 50} {
		tank := made(t)(LyingCylinder(100, 200, dish))
		if half, full := litresAt(t, tank, 50), litresAt(t, tank, 100); math.Abs(2*half-full) > 1e-9*full {
			t.Errorf("dish of %.0f cm: %.4f of %.4f L", dish, half, full)
		}
	}
}

// The formulas against level slices added up: a slice at height y is L by
// 2 sqrt(R^2 - z^2), z from the axis, plus the ellipse that the two ends make.
func TestALyingTankIsTheSumOfItsLevelSlices(t *testing.T) {
	t.Parallel()
	const radius, length = 60.0, 240.0
	for _, dish := range []float64{0, 23.2, 30, 60} {
		tank := made(t)(LyingCylinder(2*radius, length, dish))
		for _, dip := range []float64{1, 20, 60, 95, 119} {
			slice := func(y float64) float64 {
				halfChord := math.Sqrt(radius*radius - (radius-y)*(radius-y))
				return 2*length*halfChord + math.Pi*dish/radius*halfChord*halfChord
			}
			// y = dip s^2 takes the square root out of the lower end.
			want := quad.Fixed(func(s float64) float64 { return slice(dip*s*s) * 2 * dip * s }, 0, 1, 200, nil, 0) / 1000
			if got := litresAt(t, tank, dip); math.Abs(got/want-1) > 1e-6 {
				t.Errorf("dish %.1f, dip %.0f: %.5f L, slices %.5f", dish, dip, got, want)
			}
		}
	}
}

// A torispherical end of DIN 28011: crown radius D, knuckle D/10, depth 0.1935
// D, about 0.1 D^3. The half ellipsoid of its depth holds 2.4 % more.
func TestATorisphericalEndHoldsALittleLessThanTheEllipsoid(t *testing.T) {
	t.Parallel()
	const crown, knuckle = 1.0, 0.1 // for a tank of diameter 1
	depth := crown - math.Sqrt((crown-knuckle)*(crown-knuckle)-(0.5-knuckle)*(0.5-knuckle))
	// Depth of the end at r from its axis: crown sphere within, knuckle torus at
	// the rim.
	seam := (0.5 - knuckle) * crown / (crown - knuckle)
	bulge := func(r float64) float64 {
		if r <= seam {
			return depth - crown + math.Sqrt(crown*crown-r*r)
		}
		return math.Sqrt(knuckle*knuckle - (r-0.5+knuckle)*(r-0.5+knuckle))
	}
	ring := func(r float64) float64 { return 2 * math.Pi * r * bulge(r) }
	volume := quad.Fixed(ring, 0, seam, 400, nil, 0) + quad.Fixed(ring, seam, 0.5, 4000, nil, 0)
	if math.Abs(depth-0.1935) > 0.0005 || math.Abs(volume-0.099) > 0.0005 {
		t.Errorf("the end is %.4f deep and holds %.5f, published 0.1935 and about 0.1", depth, volume)
	}
	if over := 2.0/3*math.Pi*0.25*depth/volume - 1; math.Abs(over-0.024) > 0.002 {
		t.Errorf("the ellipsoid holds %.4f more, stated 0.024", over)
	}
}

func drawTank(t *rapid.T) Tank {
	diameter := rapid.Float64Range(20, 300).Draw(t, "diameter")
	length := rapid.Float64Range(20, 600).Draw(t, "length")
	var tank Tank
	var err error
	switch rapid.IntRange(0, 3).Draw(t, "shape") {
	case 0:
		tank, err = UprightCylinder(diameter, length)
	case 1:
		tank, err = Box(length, diameter, rapid.Float64Range(20, 300).Draw(t, "height"))
	case 2:
		tank, err = LyingCylinder(diameter, length, rapid.Float64Range(0, diameter/2).Draw(t, "dish"))
	default:
		rows := []DipPoint{{rapid.Float64Range(0, 10).Draw(t, "lowest"), rapid.Float64Range(0, 50).Draw(t, "heel")}}
		for range rapid.IntRange(1, 12).Draw(t, "rows") {
			last := rows[len(rows)-1]
			rows = append(rows, DipPoint{last.DipCm + rapid.Float64Range(0.5, 30).Draw(t, "step"),
				last.Litres + rapid.Float64Range(1, 300).Draw(t, "more")})
		}
		tank, err = DipTable(rows)
	}
	if err != nil {
		t.Fatal(err)
	}
	return tank
}

func TestMoreDipIsMoreHoneyInEveryTank(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		tank := drawTank(rt)
		before := -1.0
		for i := range 101 {
			dip := tank.LowestCm() + float64(i)/100*(tank.RimCm()-tank.LowestCm())
			litres, err := tank.Litres(min(dip, tank.RimCm()))
			if err != nil || litres <= before {
				rt.Fatalf("at %.3f cm %.6f L after %.6f (%v)", dip, litres, before, err)
			}
			before = litres
		}
	})
}

func TestTheDipComesBackFromItsLitresAndKilograms(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		tank := drawTank(rt)
		dip := min(tank.RimCm(), tank.LowestCm()+rapid.Float64Range(0, 1).Draw(rt, "fill")*(tank.RimCm()-tank.LowestCm()))
		content, err := Gauge(tank, dip, 0.5, 17.5, 32)
		if err != nil {
			rt.Fatal(err)
		}
		back, err := tank.DipCm(content.Litres)
		if err != nil || math.Abs(back-dip) > 1e-4 {
			rt.Fatalf("%.6f cm came back as %.6f (%v)", dip, back, err)
		}
		byMass, err := DipForKilograms(tank, content.Kilograms, 17.5, 32)
		if err != nil || math.Abs(byMass-dip) > 1e-4 {
			rt.Fatalf("%.6f cm came back by mass as %.6f (%v)", dip, byMass, err)
		}
	})
}

func TestADipTableMeetsItsRows(t *testing.T) {
	t.Parallel()
	rows := []DipPoint{{0, 0}, {10, 12}, {20, 90}, {60, 420}, {61, 421}, {120, 1000}}
	tank := made(t)(DipTable(rows))
	for _, row := range rows {
		if got := litresAt(t, tank, row.DipCm); math.Abs(got-row.Litres) > 1e-9 {
			t.Errorf("at %.0f cm %.6f L, the table says %.0f", row.DipCm, got, row.Litres)
		}
	}
}

// A table of ten rows taken from a lying tank stands for the tank within 0.5 %
// of what it holds.
func TestADipTableFollowsTheTankItWasTakenFrom(t *testing.T) {
	t.Parallel()
	tank := made(t)(LyingCylinder(120, 240, 30))
	var rows []DipPoint
	for dip := 0.0; dip <= 120; dip += 12 {
		rows = append(rows, DipPoint{dip, litresAt(t, tank, dip)})
	}
	table := made(t)(DipTable(rows))
	full := litresAt(t, tank, 120)
	for dip := 0.0; dip <= 120; dip++ {
		if off := litresAt(t, table, dip) - litresAt(t, tank, dip); math.Abs(off) > 0.005*full {
			t.Errorf("at %.0f cm the table is off by %.3f L of %.0f", dip, off, full)
		}
	}
}

// A tank 1 m across with 80 cm of 17 % honey at 20 C: 628.3 L at 1.4211 kg/L is
// 892.9 kg; half a centimetre of dip is 5.6 kg and 0.003 kg/L are 1.9 kg.
func TestGaugingWeighsATankByItsDip(t *testing.T) {
	t.Parallel()
	tank := made(t)(UprightCylinder(100, 120))
	got, err := Gauge(tank, 80, 0.5, 17, 20)
	if err != nil || math.Abs(got.Litres-628.32) > 0.01 || math.Abs(got.Kilograms-892.9) > 0.1 ||
		math.Abs(got.StdUncertaintyKg-math.Hypot(5.58, 1.885)) > 0.01 {
		t.Errorf("got %+v (%v)", got, err)
	}
	if wild := DensityStdUncertaintyKgPerL(23); wild <= DensityStdUncertaintyKgPerL(17) {
		t.Errorf("a density outside the table is trusted as much as one inside: %.4f", wild)
	}
}

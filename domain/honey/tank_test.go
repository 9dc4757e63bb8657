package honey

import (
	"errors"
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
		"cone of 0.5 m under 0.7 m":     {must(ConeBottom(100, 120, 50)), 1000 * math.Pi / 4 * (0.5/3 + 0.7)},
		"a cone alone":                  {must(ConeBottom(100, 120, 120)), 1000 * math.Pi / 4 * 0.4},
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
	switch rapid.IntRange(0, 4).Draw(t, "shape") {
	case 0:
		tank, err = UprightCylinder(diameter, length)
	case 1:
		tank, err = Box(length, diameter, rapid.Float64Range(20, 300).Draw(t, "height"))
	case 2:
		tank, err = LyingCylinder(diameter, length, rapid.Float64Range(0, diameter/2).Draw(t, "dish"))
	case 3:
		tank, err = ConeBottom(diameter, length, rapid.Float64Range(5, length).Draw(t, "cone"))
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

// The first centimetres of a cone by hand: 100 cm wide at 50 cm, the surface at
// 20 cm is 40 cm wide, so that it holds pi/12 40^2 20 = 8.38 L; half a metre up it is
// 130.9 L, and each centimetre above is 7.854 L.
func TestAConeFillsWithTheCubeOfTheDip(t *testing.T) {
	t.Parallel()
	tank := made(t)(ConeBottom(100, 150, 50))
	for dip, want := range map[float64]float64{0: 0, 20: 8.378, 50: 130.90, 51: 138.75, 150: 916.3} {
		if got := litresAt(t, tank, dip); math.Abs(got-want) > 0.0005*want+1e-9 {
			t.Errorf("at %.0f cm %.3f L, want %.3f", dip, got, want)
		}
	}
}

// A true table says what a cone under a cylinder holds between its rows too,
// however many rows the cone has: with one step through the whole cone as well.
func TestATrueTableOfAConeUnderACylinderGivesTheTrueVolume(t *testing.T) {
	t.Parallel()
	tank := made(t)(ConeBottom(100, 160, 60))
	for _, dips := range [][]float64{
		{0, 10, 20, 30, 40, 50, 60, 70, 80, 100, 120, 160},
		{0, 20, 40, 60, 80, 100, 120, 140, 160},
		{0, 30, 60, 90, 120, 160},
		{0, 60, 90, 120, 160},
		{0, 5, 12, 31, 60, 75, 110, 135, 160},
	} {
		rows := make([]DipPoint, len(dips))
		for i, dip := range dips {
			rows[i] = DipPoint{dip, litresAt(t, tank, dip)}
		}
		table := made(t)(DipTable(rows))
		for dip := 0.0; dip <= 160; dip++ {
			want := litresAt(t, tank, dip)
			if got := litresAt(t, table, dip); math.Abs(got-want) > 0.001*want+0.01 {
				t.Errorf("rows at %v: at %.0f cm %.3f L, the tank holds %.3f", dips, dip, got, want)
			}
		}
	}
}

// A table's top rows in whole litres may be the same as well; the rim is the last.
func TestRowsOfTheSameLitresCountAsOne(t *testing.T) {
	t.Parallel()
	table := made(t)(DipTable([]DipPoint{{0, 0}, {1, 0}, {2, 0}, {10, 12}, {50, 80}, {51, 80}}))
	if table.LowestCm() != 0 || table.RimCm() != 51 {
		t.Errorf("from %.0f to %.0f cm", table.LowestCm(), table.RimCm())
	}
	if got := litresAt(t, table, 51); got != 80 {
		t.Errorf("to the rim %.2f L", got)
	}
	if got := litresAt(t, table, 50); got >= 80 || got < 77 {
		t.Errorf("a centimetre below the rim %.2f L", got)
	}
	if got := litresAt(t, table, 10); got != 12 {
		t.Errorf("at 10 cm %.2f L", got)
	}
}

// Four rows far apart: the surface at 40 cm lies between the mean of the steps below
// and above it, 8.5 and 8.83 L/cm, so that half a metre up it holds 397 to 399 L.
func TestATableOfFewRowsDoesNotBulge(t *testing.T) {
	t.Parallel()
	table := made(t)(DipTable([]DipPoint{{0, 0}, {10, 55}, {40, 310}, {100, 840}}))
	if got := litresAt(t, table, 50); got < 396 || got > 400 {
		t.Errorf("at 50 cm %.1f L", got)
	}
}

// Two cones base to base, 50 cm each.
func TestATrueTableOfATankThatBulgesIsTrue(t *testing.T) {
	t.Parallel()
	cone := made(t)(ConeBottom(100, 50, 50))
	full := litresAt(t, cone, 50)
	at := func(dip float64) float64 {
		if dip <= 50 {
			return litresAt(t, cone, dip)
		}
		return 2*full - litresAt(t, cone, 100-dip)
	}
	for _, step := range []float64{12.5, 25} {
		var rows []DipPoint
		for dip := 0.0; dip <= 100; dip += step {
			rows = append(rows, DipPoint{dip, at(dip)})
		}
		table := made(t)(DipTable(rows))
		for dip := 0.0; dip <= 100; dip++ {
			if got, want := litresAt(t, table, dip), at(dip); math.Abs(got-want) > 0.001*want+0.01 {
				t.Errorf("rows every %g cm: at %.0f cm %.3f L, it holds %.3f", step, dip, got, want)
			}
		}
	}
}

// A table that begins where the cone is 40 cm wide, of a tank that is upright from
// 50 cm on, and one of a tank that is upright throughout.
func TestATrueTableThatStartsHigherIsTrue(t *testing.T) {
	t.Parallel()
	for _, tank := range []Tank{made(t)(ConeBottom(100, 150, 50)), made(t)(UprightCylinder(90, 150))} {
		var rows []DipPoint
		for _, dip := range []float64{20, 35, 50, 80, 120, 150} {
			rows = append(rows, DipPoint{dip, litresAt(t, tank, dip)})
		}
		table := made(t)(DipTable(rows))
		for dip := 20.0; dip <= 150; dip++ {
			if got, want := litresAt(t, table, dip), litresAt(t, tank, dip); math.Abs(got-want) > 0.0005*want {
				t.Errorf("at %.0f cm %.3f L, the tank holds %.3f", dip, got, want)
			}
		}
		var outside *RangeError
		if _, err := table.Litres(0); !errors.As(err, &outside) || outside.Hint.Format != "" {
			t.Errorf("a dip below the table: %v", err)
		}
	}
}

// Tables are printed in whole litres: of a cone under a cylinder of 1,047 L, by rows
// every 2, 5 or 10 cm, that leaves a litre open between the rows, about what it leaves
// at them.
func TestATableInWholeLitresIsOffByALitre(t *testing.T) {
	t.Parallel()
	tank := made(t)(ConeBottom(100, 160, 60))
	for _, step := range []float64{2, 5, 10} {
		var rows []DipPoint
		for dip := 0.0; dip <= 160; dip += step {
			rows = append(rows, DipPoint{dip, math.Round(litresAt(t, tank, dip))})
		}
		table := made(t)(DipTable(rows))
		for dip := table.LowestCm(); dip <= 160; dip++ {
			if off := litresAt(t, table, dip) - litresAt(t, tank, dip); math.Abs(off) > 1 {
				t.Errorf("rows every %.0f cm: at %.0f cm off by %.2f L", step, dip, off)
			}
		}
	}
}

// The same of any cone under any cylinder, with rows anywhere as long as one is at
// the seam and three or more are above it.
func TestAnyConesTrueTableIsTrueBetweenItsRows(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		cone := rapid.Float64Range(10, 150).Draw(rt, "cone")
		height := cone + rapid.Float64Range(30, 200).Draw(rt, "upright")
		tank, err := ConeBottom(rapid.Float64Range(30, 300).Draw(rt, "diameter"), height, cone)
		if err != nil {
			rt.Fatal(err)
		}
		var dips []float64
		inCone, above := rapid.IntRange(1, 12).Draw(rt, "rows in the cone"), rapid.IntRange(3, 8).Draw(rt, "rows above")
		for i := range inCone {
			dips = append(dips, cone*float64(i)/float64(inCone))
		}
		for i := range above + 1 {
			dips = append(dips, cone+(height-cone)*float64(i)/float64(above))
		}
		var rows []DipPoint
		for _, dip := range dips {
			litres, err := tank.Litres(min(dip, height))
			if err != nil {
				rt.Fatal(err)
			}
			rows = append(rows, DipPoint{min(dip, height), litres})
		}
		table, err := DipTable(rows)
		if err != nil {
			rt.Fatal(err)
		}
		full, _ := tank.Litres(height)
		for i := range 101 {
			dip := min(height*float64(i)/100, tank.RimCm(), table.RimCm())
			want, _ := tank.Litres(dip)
			if got, err := table.Litres(dip); err != nil || math.Abs(got-want) > 0.001*want+1e-5*full {
				rt.Fatalf("at %.2f cm %.4f L, the tank holds %.4f of %.1f (%v)", dip, got, want, full, err)
			}
		}
	})
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

// At the rim only the half centimetre below it is there: the surface is 7.854 L/cm all the
// same, so that 942.5 L are known to half a centimetre, 5.58 kg, and 0.003 kg/L, 2.83 kg.
func TestTheSurfaceAtTheRimIsThatOfTheTank(t *testing.T) {
	t.Parallel()
	got, err := Gauge(made(t)(UprightCylinder(100, 120)), 120, 0.5, 17, 20)
	if err != nil || math.Abs(got.StdUncertaintyKg-math.Hypot(5.58, 2.827)) > 0.01 {
		t.Errorf("got %+v (%v)", got, err)
	}
}

// A table that begins at 30 L can tell no less: at 1.4211 kg/L that is 42.6 kg.
func TestATankTellsNoLessThanItsFirstRow(t *testing.T) {
	t.Parallel()
	table := made(t)(DipTable([]DipPoint{{4, 30}, {50, 400}}))
	var out *RangeError
	if _, err := DipForKilograms(table, 35, 17, 20); !errors.As(err, &out) || math.Abs(out.Min-42.63) > 0.01 {
		t.Errorf("35 kg: %v", err)
	}
	if dip, err := DipForKilograms(table, 43, 17, 20); err != nil || dip < 4 || dip > 4.1 {
		t.Errorf("43 kg stand at %.3f cm (%v)", dip, err)
	}
}

func TestAnEmptyAndAFullTankAreExact(t *testing.T) {
	t.Parallel()
	tank := made(t)(UprightCylinder(100, 120))
	if dip, err := tank.DipCm(0); err != nil || dip != 0 {
		t.Errorf("no honey stands at %g cm (%v)", dip, err)
	}
	if dip, err := tank.DipCm(litresAt(t, tank, 120)); err != nil || dip != 120 {
		t.Errorf("a full tank stands at %g cm (%v)", dip, err)
	}
}

// Amid a table, the first of the rows of the same litres is the dip at which they are reached.
func TestLitresAreReachedAtTheirFirstRow(t *testing.T) {
	t.Parallel()
	table := made(t)(DipTable([]DipPoint{{0, 0}, {10, 40}, {20, 40}, {30, 90}, {40, 140}}))
	if got := litresAt(t, table, 10); got != 40 {
		t.Errorf("at 10 cm %.2f L, the table says 40", got)
	}
}

// widening is the table of a tank whose half width runs straight from row to row, 10 cm
// apart.
func widening(halfWidths ...float64) steps {
	dips, litres := []float64{0}, []float64{0}
	for i := 1; i < len(halfWidths); i++ {
		r, s := halfWidths[i-1], halfWidths[i]
		dips, litres = append(dips, 10*float64(i)), append(litres, litres[i-1]+10*(r*r+r*s+s*s)/3)
	}
	return newSteps(dips, litres)
}

// The walk begins where the tank surely runs straight: away from a seam, also in a cone that
// grows more than the bend at the seam seems to.
func TestAWalkBeginsAwayFromTheSeam(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what      string
		widths    []float64
		firstRow  int
		lastRow   int
		halfWidth func(row int) float64
	}{
		{"upright, with a cone on top", []float64{3, 3, 3, 3, 3, 3.6}, 1, 3, func(int) float64 { return 3 }},
		{"a cone, with an upright part on top", []float64{1, 2, 3, 4, 5, 5, 5}, 1, 3, func(row int) float64 { return float64(row) + 1 }},
		{"a cone upside down", []float64{5, 5, 5, 4, 3, 2, 1}, 3, 5, func(row int) float64 { return 7 - float64(row) }},
	} {
		row, width := widening(c.widths...).surest()
		if row < c.firstRow || row > c.lastRow || math.Abs(width-c.halfWidth(row)) > 1e-9 {
			t.Errorf("%s: it begins at row %d with %.4f", c.what, row, width)
		}
	}
}

// Half widths of 5.0 and 5.3 differ by less than a tenth, 5.0 and 5.7 by more.
func TestPartsAgreeWithinATenthOfTheirWidth(t *testing.T) {
	t.Parallel()
	for above, want := range map[float64]bool{5.3: true, 5.7: false} {
		s := steps{high: make([]float64, 4), mean: make([]float64, 4), fits: []straight{{fit: true, widths: [3]float64{2: 5}}, {}, {fit: true, widths: [3]float64{above}}}}
		if got := s.bulges(2); got != want {
			t.Errorf("5.0 below and %.1f above: %t", above, got)
		}
	}
}

package honey

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// Each bad figure is refused with the range it missed and, where the slip can
// be guessed, the guess.
func TestBadFiguresAreRefusedWithTheirRange(t *testing.T) {
	t.Parallel()
	plain := Refractometer{}
	tank, err := UprightCylinder(100, 120)
	if err != nil {
		t.Fatal(err)
	}
	of := func(_ any, err error) error { return err }
	for name, c := range map[string]struct {
		err      error
		quantity string
		hint     string
	}{
		"moisture as a fraction":            {of(DensityKgPerL(0.18, 20)), "moisture", "fraction"},
		"Fahrenheit sent as Celsius":        {of(DensityKgPerL(18, 113)), "temperature", "113 F is 45.0 C"},
		"a sample in Fahrenheit":            {of(FromRefractiveIndex(1.4915, 77, plain)), "temperature", "77 F is 25.0 C"},
		"a frozen sample":                   {of(FromRefractiveIndex(1.4915, 4, plain)), "temperature", ""},
		"the index of water":                {of(FromRefractiveIndex(1.3330, 20, plain)), "refractive index", "wetter"},
		"an index above what honey can be":  {of(FromRefractiveIndex(1.5300, 20, plain)), "refractive index", "drier"},
		"Brix sent as an index":             {of(FromRefractiveIndex(81, 20, plain)), "refractive index", "Brix"},
		"moisture sent as an index":         {of(FromRefractiveIndex(18, 20, plain)), "refractive index", "moisture scale"},
		"moisture sent as Brix":             {of(FromBrix(18, 20, plain)), "Brix", "moisture scale"},
		"index sent as Brix":                {of(FromBrix(1.49, 20, plain)), "Brix", "refractive index"},
		"Brix of nectar":                    {of(FromBrix(40, 20, plain)), "Brix", ""},
		"Brix sent as honey scale":          {of(FromHoneyScale(81, 20, plain)), "honey scale reading", "Brix"},
		"index sent as honey scale":         {of(FromHoneyScale(1.49, 20, plain)), "honey scale reading", "refractive index"},
		"a fraction on the honey scale":     {of(FromHoneyScale(0.18, 20, plain)), "honey scale reading", "fraction"},
		"a moisture of 178":                 {of(FromHoneyScale(178, 20, plain)), "honey scale reading", ""},
		"not a number":                      {of(FromHoneyScale(math.NaN(), 20, plain)), "honey scale reading", ""},
		"a negative instrument uncertainty": {of(FromBrix(81, 20, Refractometer{ScaleStdUncertainty: -1})), "instrument uncertainty", ""},
		"an endless thermometer uncertainty": {of(FromBrix(81, 20, Refractometer{ThermometerStdUncertaintyC: math.Inf(1)})),
			"thermometer uncertainty", ""},
		"moisture that is no honey's":        {of(RefractiveIndex(41, 20)), "moisture", ""},
		"an index Wedmore never saw":         {of(wedmoreMoisturePct(1.2)), "refractive index", ""},
		"moisture Wedmore never saw":         {of(wedmoreRefractiveIndex(0.17)), "moisture", "fraction"},
		"thin syrup":                         {of(sucroseRefractiveIndex(20)), "Brix", ""},
		"the index of thin syrup":            {of(SucroseBrix(1.36)), "refractive index", ""},
		"viscosity of a wet honey":           {of(ViscosityPaS(23, 40)), "moisture", ""},
		"viscosity in Fahrenheit":            {of(ViscosityPaS(17, 104)), "temperature", "40.0 C"},
		"specific heat of a fraction":        {of(SpecificHeatKJPerKgK(0.17, 40)), "moisture", "fraction"},
		"conductivity in Fahrenheit":         {of(ThermalConductivityWPerMK(17, 113)), "temperature", "45.0 C"},
		"water activity of a cold store":     {of(WaterActivity(17, 4, Liquid)), "temperature", ""},
		"water activity of nectar":           {of(WaterActivity(45, 25, Liquid)), "moisture", ""},
		"more crystals than glucose":         {of(LiquidMoisturePct(18, 60)), "crystals", ""},
		"a negative Pfund reading":           {of(USColour.Class(-1)), "colour", ""},
		"a Pfund reading off the wedge":      {of(AbsorbanceFromPfund(150)), "colour", ""},
		"an absorbance off the wedge":        {of(PfundFromAbsorbance(0.9)), "absorbance at 635 nm", ""},
		"a negative optical density":         {of(USColourFromOpticalDensity(-0.1)), "optical density at 560 nm", ""},
		"a negative dip":                     {of(tank.Litres(-1)), "dip", "negative"},
		"a dip above the rim":                {of(tank.Litres(121)), "dip", "above the rim"},
		"more litres than the tank":          {of(tank.DipCm(2000)), "volume", "more than the tank holds"},
		"a dip above the rim, gauged":        {of(Gauge(tank, 130, 0.5, 17, 30)), "dip", "above the rim"},
		"a gauged tank in Fahrenheit":        {of(Gauge(tank, 60, 0.5, 17, 113)), "temperature", "45.0 C"},
		"a negative dip uncertainty":         {of(Gauge(tank, 60, -0.5, 17, 30)), "dip uncertainty", ""},
		"more kilograms than the tank":       {of(DipForKilograms(tank, 5000, 17, 30)), "mass", "more than the tank holds"},
		"kilograms of a fractional moisture": {of(DipForKilograms(tank, 500, 0.17, 30)), "moisture", "fraction"},
		"a tank in metres":                   {of(UprightCylinder(1.2, 1.5)), "diameter", "metres"},
		"a cone deeper than its tank":        {of(ConeBottom(100, 60, 80)), "cone depth", "higher than the tank"},
		"a cone of no depth":                 {of(ConeBottom(100, 120, 0)), "cone depth", ""},
		"a tank of no height":                {of(UprightCylinder(100, 0)), "height", ""},
		"a box of no width":                  {of(Box(100, math.NaN(), 100)), "width", ""},
		"a dish deeper than the radius":      {of(LyingCylinder(100, 200, 60)), "dish depth", "radius"},
		"a dish bent inwards":                {of(LyingCylinder(100, 200, -5)), "dish depth", ""},
		"a dip table of one row":             {of(DipTable([]DipPoint{{0, 0}})), "dip table", ""},
		"a dip table out of order":           {of(DipTable([]DipPoint{{0, 0}, {20, 50}, {10, 90}})), "dip in row 3 of the dip table", "rise"},
		"a dip table that never rises":       {of(DipTable([]DipPoint{{0, 5}, {20, 5}})), "volume in row 2 of the dip table", "rise"},
		"a doubled row":                      {of(DipTable([]DipPoint{{0, 0}, {20, 50}, {20, 50}})), "dip in row 3 of the dip table", "rise"},
		"a dip table that falls":             {of(DipTable([]DipPoint{{0, 0}, {20, 50}, {30, 40}})), "volume in row 3 of the dip table", "rise"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			var out *RangeError
			if !errors.As(c.err, &out) {
				t.Fatalf("got %v, want a RangeError", c.err)
			}
			if out.Quantity != c.quantity {
				t.Errorf("it names %q, want %q", out.Quantity, c.quantity)
			}
			if c.hint != "" && !strings.Contains(out.Hint.String(), c.hint) {
				t.Errorf("the hint is %q, want %q in it", out.Hint, c.hint)
			}
			if within(out.Got, out.Min, out.Max) && !strings.Contains(out.Hint.String(), "rise") {
				t.Errorf("%v is within the range it names, %v to %v", out.Got, out.Min, out.Max)
			}
		})
	}
}

func TestTheErrorIsASentence(t *testing.T) {
	t.Parallel()
	for want, err := range map[string]error{
		"moisture 0.18 % cannot be used: it must be from 10 to 30 %; it looks like a fraction: send 18 for 18 %": moistureRange(0.18, 10, 30),
		"temperature 113 C cannot be used: it must be from 0 to 80 C; it looks like Fahrenheit: 113 F is 45.0 C": temperatureRange(113, 0, 80),
		"dip uncertainty -1 cm cannot be used: it must be at least 0 cm":                                         &RangeError{Quantity: "dip uncertainty", Unit: "cm", Got: -1, Min: 0, Max: math.Inf(1)},
		"dip -3 cm cannot be used: it must be at most 4 cm":                                                      &RangeError{Quantity: "dip", Unit: "cm", Got: -3, Min: math.Inf(-1), Max: 4},
	} {
		if err.Error() != want {
			t.Errorf("got  %s\nwant %s", err, want)
		}
	}
}

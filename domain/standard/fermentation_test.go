package standard_test

import (
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pullbook/domain/message"
	"pullbook/domain/standard"
)

func decimalOf(text string) *standard.Decimal {
	d := standard.MustDecimal(text)
	return &d
}

func TestLochheadAtEveryEdge(t *testing.T) {
	t.Parallel()
	for _, row := range readTable(t, "testdata/lochhead-cases.csv") {
		class := standard.LochheadClassOf(standard.MustDecimal(row["moisture_pct"]))
		if got := class.Safe(standard.MustDecimal(row["yeast_per_g"])); got != (row["safe"] == "yes") {
			t.Errorf("%s %% with %s yeasts/g (%s): safe %t, want %s", row["moisture_pct"], row["yeast_per_g"], class.Text, got, row["safe"])
		}
	}
}

func TestLochheadAsPrinted(t *testing.T) {
	t.Parallel()
	tenth := standard.MustDecimal("0.1")
	for _, row := range readTable(t, "../../testdata/fermentation-lochhead.csv") {
		// The upper edges of the first line and the lower edge of the last are shared
		// with their neighbours, so look just inside.
		inside := standard.MustDecimal(row["moisture_from_pct"]).Add(tenth)
		class := standard.LochheadClassOf(inside)
		switch limit := row["yeast_limit_per_g"]; {
		case strings.HasPrefix(row["verdict"], "safe for a year"):
			if class.Danger || class.YeastPerG != nil {
				t.Errorf("%s %%: %s, printed %s", inside, class.Text, row["verdict"])
			}
		case strings.HasPrefix(row["verdict"], "always"):
			if !class.Danger {
				t.Errorf("%s %%: %s, printed %s", inside, class.Text, row["verdict"])
			}
		default:
			if class.YeastPerG == nil || class.YeastPerG.String() != limit {
				t.Errorf("%s %%: %s, printed limit %s", inside, class.Text, limit)
			}
		}
	}
}

// said are reasons in one line.
func said(texts []message.Text) string {
	parts := make([]string, len(texts))
	for i, t := range texts {
		parts[i] = t.String()
	}
	return strings.Join(parts, "; ")
}

func riskOf(t testing.TB, c standard.KeepingContainer) standard.KeepingRisk {
	t.Helper()
	risks, err := standard.FermentationRisks([]standard.KeepingContainer{c})
	if err != nil {
		t.Fatal(err)
	}
	return risks[0]
}

func TestFermentationRisk(t *testing.T) {
	t.Parallel()
	activity := func(value float64) *standard.WaterActivityEstimate {
		return &standard.WaterActivityEstimate{Value: value, HalfWidth: 0.04}
	}
	fourteen, thirty := 14.0, 30.0
	tests := []struct {
		name string
		c    standard.KeepingContainer
		want standard.FermentationRisk
		says string
	}{
		{"dry, any yeast", standard.KeepingContainer{MoisturePct: decimalOf("16.5"), YeastPerG: decimalOf("50000")}, standard.RiskLow, "whatever its yeast"},
		{"medium, few yeasts", standard.KeepingContainer{MoisturePct: decimalOf("17.8"), YeastPerG: decimalOf("200")}, standard.RiskLow, "below 1000 yeasts/g and holds 200"},
		{"medium, many yeasts", standard.KeepingContainer{MoisturePct: decimalOf("17.8"), YeastPerG: decimalOf("2000")}, standard.RiskHigh, "holds 2000"},
		{"less than 10 proves a limit of 10", standard.KeepingContainer{MoisturePct: decimalOf("18.5"), YeastPerG: decimalOf("10"), YeastLessThan: true}, standard.RiskLow, "less than 10"},
		{"less than 100 does not", standard.KeepingContainer{MoisturePct: decimalOf("18.5"), YeastPerG: decimalOf("100"), YeastLessThan: true}, standard.RiskWatch, "does not show"},
		{"wet, no yeast found", standard.KeepingContainer{MoisturePct: decimalOf("20.5"), YeastPerG: decimalOf("0")}, standard.RiskHigh, "always in danger"},
		{"between 19 and 20 the books differ", standard.KeepingContainer{MoisturePct: decimalOf("19.5"), YeastPerG: decimalOf("0")}, standard.RiskWatch, "Handbook 335"},
		{"not counted, water activity low: no all-clear where a count is asked for", standard.KeepingContainer{MoisturePct: decimalOf("17.5"), WaterActivity: activity(0.54)}, standard.RiskWatch, "0.54"},
		{"measured far below what yeast needs: none either", standard.KeepingContainer{MoisturePct: decimalOf("18.5"), WaterActivity: &standard.WaterActivityEstimate{Value: 0.5, HalfWidth: 0.01, Measured: true}}, standard.RiskHigh, "was not counted"},
		{"dry, estimated near", standard.KeepingContainer{MoisturePct: decimalOf("17.0"), WaterActivity: activity(0.57)}, standard.RiskLow, "whatever its yeast"},
		{"dry, measured high", standard.KeepingContainer{MoisturePct: decimalOf("17.0"), WaterActivity: &standard.WaterActivityEstimate{Value: 0.63, HalfWidth: 0.01, Measured: true}}, standard.RiskHigh, "measured water activity 0.63"},
		{"not counted, water activity near", standard.KeepingContainer{MoisturePct: decimalOf("17.9"), WaterActivity: activity(0.58)}, standard.RiskWatch, "0.58"},
		{"not counted, water activity high", standard.KeepingContainer{MoisturePct: decimalOf("19.5"), WaterActivity: activity(0.65)}, standard.RiskHigh, "0.65"},
		{"nothing but moisture, medium", standard.KeepingContainer{MoisturePct: decimalOf("17.5")}, standard.RiskWatch, "not counted"},
		{"nothing but moisture, wet", standard.KeepingContainer{MoisturePct: decimalOf("18.5")}, standard.RiskHigh, "not counted"},
		{"uncertain moisture reaches a worse class", standard.KeepingContainer{MoisturePct: decimalOf("17.9"), MoistureU: 0.1, YeastPerG: decimalOf("200")}, standard.RiskWatch, "the reading may be off"},
		{"granulating in the window", standard.KeepingContainer{MoisturePct: decimalOf("17.8"), YeastPerG: decimalOf("200"), Granulating: true, StoreTemperatureC: &fourteen}, standard.RiskWatch, "granulating at 14 °C"},
		{"granulating, liquid part wet", standard.KeepingContainer{MoisturePct: decimalOf("18.0"), YeastPerG: decimalOf("200"), Granulating: true, LiquidMoisturePct: decimalOf("19.57"), StoreTemperatureC: &fourteen}, standard.RiskHigh, "still liquid holds 19.57"},
		{"seen fermenting, dry by its figures", standard.KeepingContainer{MoisturePct: decimalOf("16.0"), YeastPerG: decimalOf("0"), SeenFermenting: true}, standard.RiskHigh, "somebody saw it ferment"},
		{"seen fermenting, never read", standard.KeepingContainer{SeenFermenting: true}, standard.RiskHigh, "somebody saw it ferment"},
		{"an off smell, dry by its figures", standard.KeepingContainer{MoisturePct: decimalOf("16.0"), OffSmell: true}, standard.RiskWatch, "look and smell again"},
		{"an off smell, wet", standard.KeepingContainer{MoisturePct: decimalOf("20.5"), OffSmell: true}, standard.RiskHigh, "look and smell again"},
		{"an off smell, never read", standard.KeepingContainer{OffSmell: true}, standard.RiskNotKnown, "look and smell again"},
		{"never read", standard.KeepingContainer{YeastPerG: decimalOf("5")}, standard.RiskNotKnown, "nobody read its moisture"},
		{"its sugars will set it, few yeasts", standard.KeepingContainer{MoisturePct: decimalOf("17.8"), YeastPerG: decimalOf("200"), Granulation: standard.BySugars, LiquidMoisturePct: decimalOf("19.33")}, standard.RiskWatch, "by its sugars"},
		{"its sugars will set it, not counted", standard.KeepingContainer{MoisturePct: decimalOf("17.8"), Granulation: standard.BySugars, LiquidMoisturePct: decimalOf("19.33")}, standard.RiskHigh, "by its sugars"},
		{"its sugars will set it, dry", standard.KeepingContainer{MoisturePct: decimalOf("16.5"), Granulation: standard.BySugars, LiquidMoisturePct: decimalOf("17.81")}, standard.RiskWatch, "by its sugars"},
		{"its sugars will set it, drier than that matters", standard.KeepingContainer{MoisturePct: decimalOf("15.0"), Granulation: standard.BySugars, LiquidMoisturePct: decimalOf("16.05")}, standard.RiskLow, "whatever its yeast"},
		{"a cold store, few yeasts", standard.KeepingContainer{MoisturePct: decimalOf("17.8"), YeastPerG: decimalOf("200"), Granulation: standard.ByStore, LiquidMoisturePct: decimalOf("19.33")}, standard.RiskWatch, "its store is as cold"},
		{"a cold store, not counted", standard.KeepingContainer{MoisturePct: decimalOf("17.8"), Granulation: standard.ByStore, LiquidMoisturePct: decimalOf("19.33")}, standard.RiskWatch, "its store is as cold"},
		{"a cold store, dry", standard.KeepingContainer{MoisturePct: decimalOf("16.5"), Granulation: standard.ByStore, LiquidMoisturePct: decimalOf("17.81")}, standard.RiskLow, "whatever its yeast"},
		{"too warm to granulate on", standard.KeepingContainer{MoisturePct: decimalOf("17.8"), YeastPerG: decimalOf("200"), Granulating: true, StoreTemperatureC: &thirty}, standard.RiskLow, ""},
	}
	for _, tt := range tests {
		got := riskOf(t, tt.c)
		if why := said(got.Why); got.Risk != tt.want || !strings.Contains(why, tt.says) {
			t.Errorf("%s: %s because %s; want %s saying %q", tt.name, got.Risk, why, tt.want, tt.says)
		}
	}
}

func TestTheWettestDrumComesFirst(t *testing.T) {
	t.Parallel()
	risks, err := standard.FermentationRisks([]standard.KeepingContainer{
		{ContainerID: "D1", MoisturePct: decimalOf("16.8")},
		{ContainerID: "D2", MoisturePct: decimalOf("20.4")},
		{ContainerID: "D3", MoisturePct: decimalOf("18.4")},
		{ContainerID: "D4", MoisturePct: decimalOf("20.9")},
		{ContainerID: "D5"},
		{ContainerID: "D6", MoisturePct: decimalOf("16.1"), SeenFermenting: true},
		{ContainerID: "D7", MoisturePct: decimalOf("17.6")},
	})
	if err != nil {
		t.Fatal(err)
	}
	var order []string
	for _, r := range risks {
		order = append(order, r.Container.ContainerID)
	}
	if got := strings.Join(order, " "); got != "D6 D4 D2 D3 D5 D7 D1" {
		t.Errorf("order %s", got)
	}
	if got := standard.RiskOf(risks[4:]); got != standard.RiskNotKnown {
		t.Errorf("of D5, which nobody read, D7 and D1 the worst is %s", got)
	}
	if got := standard.RiskOf(nil); got != standard.RiskNotKnown {
		t.Errorf("of no container the risk is %s", got)
	}
	if got := standard.RiskOf(risks[6:]); got != standard.RiskLow {
		t.Errorf("of dry honey alone it is %s", got)
	}
}

func TestEachLevelOfRiskHasItsWord(t *testing.T) {
	t.Parallel()
	for risk, want := range map[standard.FermentationRisk]string{
		standard.RiskLow: "low", standard.RiskWatch: "watch", standard.RiskNotKnown: "not_known", standard.RiskHigh: "high",
	} {
		if risk.String() != want {
			t.Errorf("%d is %q, want %q", risk, risk, want)
		}
	}
}

// Honey of which nobody knows the yeast is never safer than the same honey with
// any count that is to be expected of honey, 10 to 1,000 a gram, or with none.
func TestUncountedHoneyIsNeverSaferThanCounted(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		c := drawContainer(rt)
		c.YeastPerG, c.YeastLessThan = nil, false
		uncounted := riskOf(t, c).Risk
		c.YeastPerG = decimalOf(strconv.Itoa(rapid.SampledFrom([]int{0, 5, 10, 50, 500, 999}).Draw(rt, "yeast")))
		c.YeastLessThan = rapid.Bool().Draw(rt, "less than")
		if counted := riskOf(t, c); uncounted < counted.Risk {
			rt.Fatalf("uncounted %s, with a count of %s %s: %s", uncounted, c.YeastPerG, counted.Risk, said(counted.Why))
		}
	})
}

// What is seen fermenting is high whatever else is known, and what nobody read is
// never low.
func TestWhatIsSeenIsHighAndWhatIsNotReadIsNeverLow(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		c := drawContainer(rt)
		without := riskOf(t, c).Risk
		c.SeenFermenting = true
		if got := riskOf(t, c).Risk; got != standard.RiskHigh {
			rt.Fatalf("seen fermenting and %s", got)
		}
		c.SeenFermenting, c.OffSmell = false, true
		if got := riskOf(t, c).Risk; got < without || got == standard.RiskLow {
			rt.Fatalf("with an off smell %s, without %s", got, without)
		}
		c.MoisturePct, c.OffSmell = nil, false
		if got := riskOf(t, c).Risk; got != standard.RiskNotKnown {
			rt.Fatalf("never read and %s", got)
		}
	})
}

// Granulation that is likely never makes honey safer, and what is likely never makes
// it worse than what is seen to granulate within the window.
func TestLikelyGranulationOnlyRaisesTheRisk(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		c := drawContainer(rt)
		c.Granulating = false
		c.Granulation = standard.NotExpected
		liquid := riskOf(t, c).Risk
		c.Granulation = standard.ByStore
		store := riskOf(t, c).Risk
		c.Granulation = standard.BySugars
		sugars := riskOf(t, c).Risk
		if liquid > store || store > sugars {
			rt.Fatalf("liquid %s, by its store %s, by its sugars %s", liquid, store, sugars)
		}
	})
}

func drawContainer(rt *rapid.T) standard.KeepingContainer {
	moisture := rapid.IntRange(1400, 2200).Draw(rt, "moisture")
	c := standard.KeepingContainer{
		MoisturePct: decimalOf(hundredthsText(moisture)), MoistureU: rapid.SampledFrom([]float64{0, 0.1, 0.3}).Draw(rt, "uncertainty"),
		LiquidMoisturePct: decimalOf(hundredthsText(moisture + 160)), Granulating: rapid.Bool().Draw(rt, "granulating"),
		Granulation: rapid.SampledFrom([]standard.GranulationAhead{standard.NotExpected, standard.ByStore, standard.BySugars}).Draw(rt, "ahead"),
	}
	if rapid.Bool().Draw(rt, "store known") {
		celsius := rapid.Float64Range(0, 35).Draw(rt, "store")
		c.StoreTemperatureC = &celsius
	}
	if rapid.Bool().Draw(rt, "activity known") {
		c.WaterActivity = &standard.WaterActivityEstimate{Value: rapid.Float64Range(0.4, 0.7).Draw(rt, "activity"), HalfWidth: 0.02, Measured: rapid.Bool().Draw(rt, "measured")}
	}
	return c
}

func TestWetterHoneyIsNeverSafer(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		a, b := rapid.IntRange(1500, 2200).Draw(rt, "a"), rapid.IntRange(1500, 2200).Draw(rt, "b")
		count := rapid.IntRange(0, 5000).Draw(rt, "yeast")
		risk := func(hundredths int) standard.FermentationRisk {
			return riskOf(t, standard.KeepingContainer{MoisturePct: decimalOf(hundredthsText(hundredths)), YeastPerG: decimalOf(hundredthsText(count * 100))}).Risk
		}
		if risk(min(a, b)) > risk(max(a, b)) {
			rt.Fatal("the wetter honey has the lower risk")
		}
	})
}

func TestAFigureThatIsNoneOfHoneysIsPointedAt(t *testing.T) {
	t.Parallel()
	activity := func(value, halfWidth float64) *standard.WaterActivityEstimate {
		return &standard.WaterActivityEstimate{Value: value, HalfWidth: halfWidth}
	}
	for field, c := range map[string]standard.KeepingContainer{
		"":                                  {MoisturePct: decimalOf("0"), LiquidMoisturePct: decimalOf("100"), YeastPerG: decimalOf("0"), WaterActivity: activity(1, 0)},
		"containers/0/moisture_pct":         {MoisturePct: decimalOf("-0.1")},
		"containers/0/liquid_moisture_pct":  {MoisturePct: decimalOf("17"), LiquidMoisturePct: decimalOf("100.1")},
		"containers/0/yeast_per_g":          {MoisturePct: decimalOf("17"), YeastPerG: decimalOf("-1")},
		"containers/0/water_activity":       {MoisturePct: decimalOf("17"), WaterActivity: activity(0, 0.04)},
		"containers/0/water_activity over":  {MoisturePct: decimalOf("17"), WaterActivity: activity(1.01, 0.04)},
		"containers/0/water_activity width": {MoisturePct: decimalOf("17"), WaterActivity: activity(0.5, -0.04)},
	} {
		_, err := standard.FermentationRisks([]standard.KeepingContainer{c})
		if field == "" {
			if err != nil {
				t.Errorf("the ends of what can be: %v", err)
			}
			continue
		}
		want, _, _ := strings.Cut(field, " ")
		if fields := standard.FieldErrors(err); len(fields) != 1 || fields[0].Field != want {
			t.Errorf("%s: %v", field, err)
		}
	}
}

func TestWhatIsNotKnownComesBeforeWhatIsWetAndThatBeforeWhatIsDry(t *testing.T) {
	t.Parallel()
	wet, dry := decimalOf("19"), decimalOf("16")
	for _, c := range []struct {
		a, b *standard.Decimal
		want int
	}{{wet, dry, -1}, {dry, wet, 1}, {nil, wet, -1}, {wet, nil, 1}, {nil, nil, 0}, {wet, wet, 0}} {
		if got := standard.WetterFirst(c.a, c.b); got != c.want {
			t.Errorf("%v before %v: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}

// 0.60 itself is enough for yeast; the window of granulation has its ends, and 11 C
// is where yeast rests.
func TestTheLinesThemselvesBelongToTheWorseSide(t *testing.T) {
	t.Parallel()
	at := func(value, halfWidth float64) standard.KeepingContainer {
		return standard.KeepingContainer{MoisturePct: decimalOf("16"), WaterActivity: &standard.WaterActivityEstimate{Value: value, HalfWidth: halfWidth, Measured: true}}
	}
	for value, want := range map[float64]standard.FermentationRisk{0.625: standard.RiskHigh, 0.5: standard.RiskLow} {
		if got := riskOf(t, at(value, 0.025)); got.Risk != want {
			t.Errorf("activity %.3f: %s", value, got.Risk)
		}
	}
	for value, want := range map[float64]standard.FermentationRisk{0.575: standard.RiskWatch, 0.574: standard.RiskLow, 0.624: standard.RiskWatch} {
		if got := riskOf(t, at(value, 0.025)); got.Risk != want {
			t.Errorf("activity %.3f: %s", value, got.Risk)
		}
	}
	for celsius, want := range map[float64]standard.FermentationRisk{9.9: standard.RiskLow, 10: standard.RiskWatch, 18: standard.RiskWatch, 18.1: standard.RiskLow} {
		c := standard.KeepingContainer{MoisturePct: decimalOf("17.8"), YeastPerG: decimalOf("200"), Granulating: true, StoreTemperatureC: &celsius}
		if got := riskOf(t, c); got.Risk != want {
			t.Errorf("granulating at %.1f C: %s (%s)", celsius, got.Risk, said(got.Why))
		}
	}
	for celsius, rests := range map[float64]bool{11: true, 11.1: false} {
		c := standard.KeepingContainer{MoisturePct: decimalOf("17.8"), YeastPerG: decimalOf("200"), Granulating: true, StoreTemperatureC: &celsius}
		if got := strings.Contains(said(riskOf(t, c).Why), "yeast rests"); got != rests {
			t.Errorf("at %.1f C it is said that yeast rests: %t", celsius, got)
		}
	}
	// Very dry honey whose liquid part is known to be dry stays low when it sets, and is
	// raised where that is not known.
	fourteen := 14.0
	dry := standard.KeepingContainer{MoisturePct: decimalOf("15"), Granulating: true, StoreTemperatureC: &fourteen, LiquidMoisturePct: decimalOf("16")}
	if got := riskOf(t, dry); got.Risk != standard.RiskLow {
		t.Errorf("dry, liquid part known: %s", got.Risk)
	}
	dry.LiquidMoisturePct = nil
	if got := riskOf(t, dry); got.Risk != standard.RiskWatch {
		t.Errorf("dry, liquid part not known: %s", got.Risk)
	}
}

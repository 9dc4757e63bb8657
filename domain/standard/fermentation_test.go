package standard_test

import (
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
		{"dry, any yeast", standard.KeepingContainer{MoisturePct: standard.MustDecimal("16.5"), YeastPerG: decimalOf("50000")}, standard.RiskLow, "whatever its yeast"},
		{"medium, few yeasts", standard.KeepingContainer{MoisturePct: standard.MustDecimal("17.8"), YeastPerG: decimalOf("200")}, standard.RiskLow, "below 1000 yeasts/g and holds 200"},
		{"medium, many yeasts", standard.KeepingContainer{MoisturePct: standard.MustDecimal("17.8"), YeastPerG: decimalOf("2000")}, standard.RiskHigh, "holds 2000"},
		{"less than 10 proves a limit of 10", standard.KeepingContainer{MoisturePct: standard.MustDecimal("18.5"), YeastPerG: decimalOf("10"), YeastLessThan: true}, standard.RiskLow, "less than 10"},
		{"less than 100 does not", standard.KeepingContainer{MoisturePct: standard.MustDecimal("18.5"), YeastPerG: decimalOf("100"), YeastLessThan: true}, standard.RiskWatch, "does not show"},
		{"wet, no yeast found", standard.KeepingContainer{MoisturePct: standard.MustDecimal("20.5"), YeastPerG: decimalOf("0")}, standard.RiskHigh, "always in danger"},
		{"between 19 and 20 the books differ", standard.KeepingContainer{MoisturePct: standard.MustDecimal("19.5"), YeastPerG: decimalOf("0")}, standard.RiskWatch, "Handbook 335"},
		{"not counted, water activity low", standard.KeepingContainer{MoisturePct: standard.MustDecimal("17.5"), WaterActivity: activity(0.54)}, standard.RiskLow, "0.54"},
		{"not counted, water activity near", standard.KeepingContainer{MoisturePct: standard.MustDecimal("17.9"), WaterActivity: activity(0.58)}, standard.RiskWatch, "0.58"},
		{"not counted, water activity high", standard.KeepingContainer{MoisturePct: standard.MustDecimal("19.5"), WaterActivity: activity(0.65)}, standard.RiskHigh, "0.65"},
		{"nothing but moisture, medium", standard.KeepingContainer{MoisturePct: standard.MustDecimal("17.5")}, standard.RiskWatch, "not counted"},
		{"nothing but moisture, wet", standard.KeepingContainer{MoisturePct: standard.MustDecimal("18.5")}, standard.RiskHigh, "not counted"},
		{"uncertain moisture reaches a worse class", standard.KeepingContainer{MoisturePct: standard.MustDecimal("17.9"), MoistureU: 0.1, YeastPerG: decimalOf("200")}, standard.RiskWatch, "the reading may be off"},
		{"granulating in the window", standard.KeepingContainer{MoisturePct: standard.MustDecimal("17.8"), YeastPerG: decimalOf("200"), Granulating: true, StoreTemperatureC: &fourteen}, standard.RiskWatch, "granulating at 14 °C"},
		{"granulating, liquid part wet", standard.KeepingContainer{MoisturePct: standard.MustDecimal("18.0"), YeastPerG: decimalOf("200"), Granulating: true, LiquidMoisturePct: decimalOf("19.57"), StoreTemperatureC: &fourteen}, standard.RiskHigh, "still liquid holds 19.57"},
		{"too warm to granulate on", standard.KeepingContainer{MoisturePct: standard.MustDecimal("17.8"), YeastPerG: decimalOf("200"), Granulating: true, StoreTemperatureC: &thirty}, standard.RiskLow, ""},
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
		{ContainerID: "D1", MoisturePct: standard.MustDecimal("16.8")},
		{ContainerID: "D2", MoisturePct: standard.MustDecimal("20.4")},
		{ContainerID: "D3", MoisturePct: standard.MustDecimal("18.4")},
		{ContainerID: "D4", MoisturePct: standard.MustDecimal("20.9")},
	})
	if err != nil {
		t.Fatal(err)
	}
	var order []string
	for _, r := range risks {
		order = append(order, r.Container.ContainerID)
	}
	if got := strings.Join(order, " "); got != "D4 D2 D3 D1" {
		t.Errorf("order %s", got)
	}
}

func TestWetterHoneyIsNeverSafer(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		a, b := rapid.IntRange(1500, 2200).Draw(rt, "a"), rapid.IntRange(1500, 2200).Draw(rt, "b")
		count := rapid.IntRange(0, 5000).Draw(rt, "yeast")
		risk := func(hundredths int) standard.FermentationRisk {
			moisture := standard.MustDecimal(hundredthsText(hundredths))
			return riskOf(t, standard.KeepingContainer{MoisturePct: moisture, YeastPerG: decimalOf(hundredthsText(count * 100))}).Risk
		}
		if risk(min(a, b)) > risk(max(a, b)) {
			rt.Fatal("the wetter honey has the lower risk")
		}
	})
}

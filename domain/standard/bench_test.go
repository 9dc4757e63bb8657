package standard_test

import (
	"testing"

	"pullbook/domain/standard"
)

// wholeLot has every usual result, by container and as a composite.
func wholeLot() standard.Lot {
	lot := standard.Lot{Containers: drums(24), Declaration: standard.Declaration{"kind": {"tilia"}, "pack": {"bulk"}, "label": {"pasteurized"}}}
	for _, id := range lot.Containers[:10] {
		lot.Results = append(lot.Results, moistureOf(id, "17.4", "0.1", "r"))
	}
	for parameter, value := range map[string]string{"hmf": "12.5", "diastase": "15.3", "electrical_conductivity": "0.62", "free_acidity": "21", "sucrose": "1.9",
		"fructose_plus_glucose": "70.1", "reducing_sugars": "71.2", "water_insoluble": "0.03", "ash": "0.21", "proline": "420", "colour_pfund": "41"} {
		result := measured(parameter, value)
		result.StdUncertainty, result.CompositeOf = "0.01", 10
		lot.Results = append(lot.Results, result)
	}
	return lot
}

func BenchmarkLotAgainstEveryRuleSet(b *testing.B) {
	sets := publishedLibrary(b).All()
	e := evidence(b, wholeLot())
	b.ReportAllocs()
	for b.Loop() {
		for _, set := range sets {
			if _, err := set.Check(e, dayInForce(set), standard.SimpleAcceptance()); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func BenchmarkLotAgainstEveryRuleSetUnderAGuard(b *testing.B) {
	sets := publishedLibrary(b).All()
	e := evidence(b, wholeLot())
	b.ReportAllocs()
	for b.Loop() {
		for _, set := range sets {
			if _, err := set.Check(e, dayInForce(set), standard.DecisionRule{AcceptR: 1}); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func BenchmarkCombineTheResultsOfALot(b *testing.B) {
	lot := wholeLot()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := standard.NewEvidence(lot); err != nil {
			b.Fatal(err)
		}
	}
}

package reconcile

import (
	"strings"
	"testing"
)

// season is a small harvest: what the boxes lost, the cappings, two tanks joined by a pump that nobody
// saw, and the drums. Cappings and drums were weighed on one scale.
func season() Network {
	return Network{
		Streams: []Stream{
			{Name: "boxes", To: "extractor", Measured: true, Kg: 5312, StandardUncertaintyKg: 60},
			{Name: "cappings", From: "extractor", Measured: true, Kg: 200, StandardUncertaintyKg: 4},
			{Name: "dip of the settling tank", From: "extractor", To: "settling tank", Measured: true, Kg: 4795, StandardUncertaintyKg: 40},
			{Name: "float pump", From: "settling tank", To: "bulk tank"},
			{Name: "heel of the settling tank", From: "settling tank", Measured: true, Kg: 300, StandardUncertaintyKg: 20},
			{Name: "heel of the bulk tank", From: "bulk tank", Measured: true, Kg: 100, StandardUncertaintyKg: 10},
			{Name: "drums", From: "bulk tank", Measured: true, Kg: 4400, StandardUncertaintyKg: 10},
			{Name: "spilt at the shed", From: "shed floor"},
			{Name: "hosed away", To: "shed floor"},
			{Name: "tasting jars", From: "jar shelf", Measured: true, Kg: 3, StandardUncertaintyKg: 0.1},
			{Name: "jars filled", To: "jar shelf"},
		},
	}
}

// The figures by hand: imbalances 317 and -5 kg with covariance [5216 -1600; -1600 2200] give
// chi-square 216134200/8915200 = 24.24; for the boxes 689400/8915200 over 2200/8915200 is 313.4 kg.
func TestTheHarvestIsExplainedInPlainSentences(t *testing.T) {
	t.Parallel()
	got, err := Reconcile(season(), DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	said := []string{got.Statement()}
	for _, s := range got.Streams {
		said = append(said, s.Statement())
	}
	for _, n := range got.Nodes {
		said = append(said, n.Statement())
	}
	all := strings.Join(said, "\n")
	for _, want := range []string{
		"The weights do not agree (chi-square 24.2 on 2 degrees of freedom, where up to 6.0 is chance).",
		"Most likely wrong is one of these, which the balances cannot tell apart: boxes, 313 kg too high; cappings, 313 kg too low (4.9 standard deviations).",
		"float pump: not weighed; the other flows imply 4511 kg ± 13 kg.",
		"spilt at the shed: not weighed, and the other flows cannot tell it.",
		"jars filled: not weighed; the other flows imply 3.000 kg ± 0.100 kg.",
		"tasting jars: weighed as 3.000 kg ± 0.100 kg; no other flow checks it.",
		"boxes: weighed as 5312 kg ± 60 kg, adjusted to ",
		"bulk tank: not every flow was weighed, so that its balance cannot be tested by itself.",
		"extractor: 317 kg more came in than went out (4.4 standard deviations).",
	} {
		if !strings.Contains(all, want) {
			t.Errorf("nobody said %q", want)
		}
	}
	if t.Failed() {
		t.Log(all)
	}
}

func TestSerialEliminationLeavesOutTheWrongWeight(t *testing.T) {
	t.Parallel()
	steps, rest, err := EliminateSerially(season(), DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	if len(steps) != 1 || steps[0].Stream != "boxes" || !steps[0].Global.Passed {
		t.Fatalf("steps: %+v", steps)
	}
	if !strings.HasPrefix(rest.Statement(), "The weights agree within their uncertainties") {
		t.Error(rest.Statement())
	}
	boxes := rest.Streams[0]
	near(t, "boxes as the others imply them", boxes.ReconciledKg, steps[0].MeasuredKg-steps[0].GrossErrorKg, 1e-9)
	if boxes.Class != Determinable {
		t.Errorf("boxes are %s", boxes.Class)
	}
}

func TestFlowsThatNobodyWeighedCheckNothing(t *testing.T) {
	t.Parallel()
	n := season()
	for i := range n.Streams {
		n.Streams[i].Measured = false
	}
	got, err := Reconcile(n, DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	if want := "No weight checks another: too few of the flows were weighed."; got.Statement() != want {
		t.Errorf("got %q", got.Statement())
	}
	for _, s := range got.Streams {
		if s.Class != Indeterminable {
			t.Errorf("%s is %s", s.Name, s.Class)
		}
	}
	// A flow into a tank that nothing leaves and whose stock did not change is known to be nothing.
	deadEnd, err := Reconcile(Network{Streams: []Stream{{Name: "drip", To: "tray"}}}, DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	if s := deadEnd.Streams[0]; s.Class != Determinable || s.ReconciledKg != 0 || s.ReconciledUncertaintyKg != 0 {
		t.Errorf("drip: %+v", s)
	}
}

func TestOneWeightTooManyAgreesWithItself(t *testing.T) {
	t.Parallel()
	// With a single balance every weight is equally suspect, and the message says so.
	got, err := Reconcile(Network{Streams: []Stream{
		{Name: "tank", To: "drums", Measured: true, Kg: 1000, StandardUncertaintyKg: 10},
		{Name: "scale", From: "drums", Measured: true, Kg: 900, StandardUncertaintyKg: 1},
	}}, DefaultSignificance)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.MostLikelyWrong) != 2 {
		t.Errorf("named %v", got.MostLikelyWrong)
	}
}

func TestWhatCannotBeReconciledIsRefusedWithASentence(t *testing.T) {
	t.Parallel()
	good := Stream{Name: "drums", From: "tank", Measured: true, Kg: 10, StandardUncertaintyKg: 1}
	other := Stream{Name: "boxes", To: "tank", Measured: true, Kg: 10, StandardUncertaintyKg: 1}
	third := Stream{Name: "heel", From: "tank", Measured: true, Kg: 10, StandardUncertaintyKg: 1}
	with := func(change func(*Stream)) []Stream {
		s := good
		change(&s)
		return []Stream{s}
	}
	for want, n := range map[string]Network{
		"there is no stream to reconcile: give at least one flow": {},
		"stream number 1 has no name: give it one":                {Streams: with(func(s *Stream) { s.Name = " " })},
		`stream "drums" touches no node: say where it comes from or where it goes`: {
			Streams: with(func(s *Stream) { s.From = Outside })},
		`stream "drums" comes from and goes to "tank": the two must differ`: {
			Streams: with(func(s *Stream) { s.To = "tank" })},
		`two streams are called "drums": give each its own name`: {Streams: []Stream{good, good}},
		`the weight of stream "drums" is NaN: give a number of kilograms`: {
			Streams: with(func(s *Stream) { s.Kg = nan() })},
		`the standard uncertainty of stream "drums" is 0 kg: every weight has one, give a number above zero`: {
			Streams: with(func(s *Stream) { s.StandardUncertaintyKg = 0 })},
		`a correlation names "float pump", which is no weighed stream of this network`: {
			Streams: []Stream{good}, Correlations: []Correlation{{A: "drums", B: "float pump", Coefficient: 0.5}}},
		`a correlation names "drums" twice: it needs two different streams`: {
			Streams: []Stream{good}, Correlations: []Correlation{{A: "drums", B: "drums", Coefficient: 0.5}}},
		`the correlation of "boxes" with "drums" is given twice: give it once`: {
			Streams: []Stream{good, other}, Correlations: []Correlation{{"drums", "boxes", 0.5}, {"boxes", "drums", 0.5}}},
		`the correlation of "drums" with "boxes" is 1: it must lie between -1 and 1, both excluded`: {
			Streams: []Stream{good, other}, Correlations: []Correlation{{"drums", "boxes", 1}}},
		"the correlations contradict each other (their matrix is not positive definite): make some of them smaller": {
			Streams:      []Stream{good, other, third},
			Correlations: []Correlation{{"drums", "boxes", 0.9}, {"boxes", "heel", 0.9}, {"drums", "heel", -0.9}}},
	} {
		if _, err := Reconcile(n, DefaultSignificance); err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
	_, err := Reconcile(Network{Streams: []Stream{good}}, 0)
	if want := "the significance is 0: give a chance above 0 and at most 0.5, such as 0.05"; err == nil || err.Error() != want {
		t.Errorf("got %v", err)
	}
}

func nan() float64 { z := 0.0; return z / z }

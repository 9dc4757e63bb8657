package reconcile

import (
	"slices"
	"strings"
	"testing"

	"pullbook/domain/message"
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
	if !slices.Equal(got.MostLikelyWrong, []string{"boxes", "cappings"}) || got.Global.Passed {
		t.Errorf("most likely wrong is %v", got.MostLikelyWrong)
	}
	near(t, "chi-square", got.Global.Statistic, 216134200./8915200, 1e-9)
	near(t, "the boxes' error", got.Streams[0].GrossErrorKg, 689400./2200, 1e-9)
	var said []string
	for _, s := range got.Streams {
		said = append(said, s.Said(message.Verbatim(s.Name)).String())
	}
	for _, n := range got.Nodes {
		said = append(said, n.Statement())
	}
	all := strings.Join(said, "\n")
	for _, want := range []string{
		"float pump: nobody weighed it; the other weights say 4511 kg ± 13 kg.",
		"spilt at the shed: nobody weighed it, and the other weights do not say how much it was.",
		"jars filled: nobody weighed it; the other weights say 3.000 kg ± 0.100 kg.",
		"tasting jars: 3.000 kg ± 0.100 kg by the scale; no other weight checks it.",
		"boxes: 5312 kg ± 60 kg by the scale; ",
		"bulk tank: not everything was weighed here, so it cannot be compared by itself.",
		"extractor: 317 kg more came in than went out.",
	} {
		if !strings.Contains(all, want) {
			t.Errorf("nobody said %q", want)
		}
	}
	if t.Failed() {
		t.Log(all)
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
	if got.Global.DegreesOfFreedom != 0 || len(got.MostLikelyWrong) != 0 {
		t.Errorf("%+v, %v", got.Global, got.MostLikelyWrong)
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

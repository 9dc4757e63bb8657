package standard_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pullbook/domain/standard"
)

func TestDiastaseAndHMFHangTogether(t *testing.T) {
	t.Parallel()
	// Pass when (diastase >= 8 and HMF <= 40) or (declared low in enzymes, diastase >= 3 and HMF <= 15):
	// 2001/110 Annex II point 6.
	const missing = ""
	tests := []struct {
		enzyme, diastase, hmf string
		wantDiastase, wantHMF standard.Outcome
	}{
		{"normal", "9", "30", standard.Meets, standard.Meets},
		{"normal", "5", "10", standard.Fails, standard.Meets},
		{"low", "5", "10", standard.Meets, standard.Meets},
		{"low", "5", "20", standard.Fails, standard.Fails},
		{"low", "2", "10", standard.Fails, standard.Meets},
		{"low", "9", "30", standard.Meets, standard.Meets},
		{"low", "5", missing, standard.NotMeasured, standard.NotMeasured},
		{"low", "9", missing, standard.Meets, standard.NotMeasured},
		{"low", "2", missing, standard.Fails, standard.NotMeasured},
		{"low", missing, "10", standard.NotMeasured, standard.Meets},
		{"low", missing, "30", standard.NotMeasured, standard.NotMeasured},
		{"low", missing, "50", standard.NotMeasured, standard.Fails},
	}
	for _, tt := range tests {
		lot := standard.Lot{Declaration: standard.Declaration{"enzyme": {tt.enzyme}}}
		if tt.diastase != missing {
			lot.Results = append(lot.Results, measured("diastase", tt.diastase))
		}
		if tt.hmf != missing {
			lot.Results = append(lot.Results, measured("hmf", tt.hmf))
		}
		c := check(t, ruleSet(t, "eu-2001-110"), lot)
		_, diastase := verdictFor(c, "diastase", "")
		_, hmf := verdictFor(c, "hmf", "")
		if diastase != tt.wantDiastase || hmf != tt.wantHMF {
			t.Errorf("enzyme %s, diastase %q, HMF %q: diastase %s, HMF %s; want %s, %s", tt.enzyme, tt.diastase, tt.hmf, diastase, hmf, tt.wantDiastase, tt.wantHMF)
		}
	}
}

func TestNotMeasuredNeverPasses(t *testing.T) {
	t.Parallel()
	for _, set := range publishedLibrary(t).All() {
		c := check(t, set, standard.Lot{})
		if c.Outcome == standard.Meets || c.Grade != "" {
			t.Errorf("%s: a lot without any result %s, grade %q", set.ID, c.Outcome, c.Grade)
		}
	}
}

func TestAResultFromBeforeBlendingDoesNotCount(t *testing.T) {
	t.Parallel()
	early := measured("hmf", "10")
	early.Stage = standard.StageInProcess
	c := check(t, ruleSet(t, "de-association-mark"), standard.Lot{Results: []standard.Result{early}})
	place, outcome := verdictFor(c, "hmf", "")
	if outcome != standard.NotMeasured || c.Verdicts[place].Reason != standard.ReasonOnlyInProcess {
		t.Errorf("%s", c.Verdicts[place].Sentence())
	}
}

func scored(moisture, flavour, defects, total string) standard.Lot {
	return standard.Lot{Results: []standard.Result{measured("moisture", moisture), measured("flavour_aroma_score", flavour),
		measured("absence_of_defects_score", defects), measured("total_score", total)}}
}

func TestBestGradeMetAndWhatStandsBetweenTheNext(t *testing.T) {
	t.Parallel()
	tests := []struct {
		name        string
		lot         standard.Lot
		outcome     standard.Outcome
		grade, next string
		between     []string
	}{
		{"fine and dry", scored("17.0", "48", "39", "96"), standard.Meets, "Grade A", "", nil},
		{"a factor score caps the grade", scored("17.0", "42", "39", "91"), standard.Meets, "Grade B", "Grade A", []string{"flavour_aroma_score"}},
		{"wet", scored("19.5", "48", "39", "96"), standard.Meets, "Grade C", "Grade B", []string{"soluble_solids", "moisture"}},
		{"too wet for any", scored("20.5", "48", "39", "96"), standard.Fails, "", "Grade C", []string{"soluble_solids", "moisture"}},
		{"not scored", standard.Lot{Results: []standard.Result{measured("moisture", "17.0")}}, standard.NotMeasured, "", "Grade C",
			[]string{"total_score", "flavour_aroma_score", "absence_of_defects_score"}},
	}
	for _, tt := range tests {
		c := check(t, ruleSet(t, "us-usda-extracted-1985"), tt.lot)
		var between []string
		for _, place := range c.StandsBetween {
			between = append(between, c.Verdicts[place].Limit.Parameter)
		}
		if c.Outcome != tt.outcome || c.Grade != tt.grade || c.NextGrade != tt.next || fmt.Sprint(between) != fmt.Sprint(tt.between) {
			t.Errorf("%s: %s, %q, next %q, between %v", tt.name, c.Outcome, c.Grade, c.NextGrade, between)
		}
	}
}

func TestManukaDefinitionBindsOnlyALabelThatSaysManuka(t *testing.T) {
	t.Parallel()
	tutin := measured("tutin", "0.1")
	c := check(t, ruleSet(t, "nz-export-manuka"), standard.Lot{Results: []standard.Result{tutin}})
	if c.Outcome != standard.Meets || c.Grade != "" {
		t.Errorf("a lot that claims nothing: %s, grade %q", c.Outcome, c.Grade)
	}
	claimed := standard.Lot{Declaration: standard.Declaration{"label": {"manuka"}}, Results: []standard.Result{tutin}}
	if c := check(t, ruleSet(t, "nz-export-manuka"), claimed); c.Outcome != standard.NotMeasured {
		t.Errorf("a claim without markers: %s", c.Outcome)
	}
}

func TestOneFigureOf32mmIsTwoClasses(t *testing.T) {
	t.Parallel()
	lot := standard.Lot{Declaration: standard.Declaration{"pack": {"consumer"}}, Results: []standard.Result{measured("colour_pfund", "32")}}
	if us, ca := check(t, ruleSet(t, "us-usda-colour"), lot).Grade, check(t, ruleSet(t, "ca-colour-classes"), lot).Grade; us != "White" || ca != "Golden" {
		t.Errorf("32 mm is %s in the US and %s in Canada", us, ca)
	}
}

func TestAColourNearAnEdgeIsTooCloseUnderAGuard(t *testing.T) {
	t.Parallel()
	result := measured("colour_pfund", "33.5")
	result.StdUncertainty = "1"
	c, err := ruleSet(t, "us-usda-colour").Check(evidence(t, standard.Lot{Results: []standard.Result{result}}), "2026-07-01", standard.DecisionRule{AcceptR: 1})
	if err != nil || c.Grade != "White" || c.Outcome != standard.TooClose {
		t.Errorf("33.5 +/- 2 mm: %s, %s (%v)", c.Grade, c.Outcome, err)
	}
}

func TestEachContainerCountsWhereTheBuyerSaysSo(t *testing.T) {
	t.Parallel()
	set := parsed(t, buyersSet(limitsOf(with(buyersLimit("moisture", "%", "<=", "18"), map[string]any{"every_container": true}))))
	lot := standard.Lot{Results: []standard.Result{moistureOf("D1", "17.0", "", ""), moistureOf("D2", "18.2", "", "")}}
	v := check(t, set, lot).Verdicts[0]
	if v.Outcome != standard.Fails || v.ContainerID != "D2" {
		t.Errorf("%s by %s", v.Outcome, v.ContainerID)
	}
	composite := standard.Lot{Results: []standard.Result{measured("moisture", "17.0")}}
	if v := check(t, set, composite).Verdicts[0]; v.Outcome != standard.NotMeasured || v.Reason != standard.ReasonContainersNeeded {
		t.Errorf("a composite alone: %s", v.Sentence())
	}
}

// What is placed on the market is the container: 18.0 and 20.6 are 19.3 on the mean, and
// the second drum is still outside 20.
func TestALotWhoseMeanMeetsFailsByItsWorstDrum(t *testing.T) {
	t.Parallel()
	lot := standard.Lot{Containers: drums(3), Results: []standard.Result{moistureOf(drums(3)[0], "18.0", "", ""), moistureOf(drums(3)[1], "20.6", "", "")}}
	c := check(t, ruleSet(t, "eu-2001-110"), lot)
	place, outcome := verdictFor(c, "moisture", "")
	v := c.Verdicts[place]
	if outcome != standard.Fails || v.ContainerID != drums(3)[1] || fmt.Sprint(v.ContainersOutside) != "["+drums(3)[1]+"]" {
		t.Errorf("%s by %s, outside by themselves: %v", outcome, v.ContainerID, v.ContainersOutside)
	}
	if says := v.Sentence().String(); !strings.Contains(says, "20.6 %") || !strings.Contains(says, drums(3)[1]+": take them out of the lot, or blend them") {
		t.Errorf("%s", says)
	}
}

// A grade is the lot's: its lines go by the mean unless they say otherwise.
func TestAGradeGoesByTheMean(t *testing.T) {
	t.Parallel()
	lot := scored("18.0", "45", "38", "95")
	lot.Containers = drums(2)
	lot.Results[0].ContainerID = drums(2)[0]
	lot.Results = append(lot.Results, moistureOf(drums(2)[1], "19.0", "", ""))
	c := check(t, ruleSet(t, "us-usda-extracted-1985"), lot)
	if place, outcome := verdictFor(c, "moisture", "Grade A"); outcome != standard.Meets || len(c.Verdicts[place].ContainersOutside) != 1 {
		t.Errorf("%s", c.Verdicts[place].Sentence())
	}
}

// HMF of 30 that by now lies between 34 and 44 may have passed 40; between 41 and 50 it
// has; between 31 and 39 it has not.
func TestAFigureIsJudgedForTheDayThatIsAskedAbout(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		low, high string
		want      standard.Outcome
		says      string
	}{
		{"34", "44", standard.NotMeasured, "by now it may have passed the limit: measure again"},
		{"41", "50", standard.Fails, "measured as 30 mg/kg on 2026-01-03, 200 days before"},
		{"31", "39", standard.Meets, "between 31 and 39 mg/kg"},
	} {
		hmf := measured("hmf", "30")
		hmf.On, hmf.OnDay = "2026-01-03", &standard.OnDay{Low: c.low, High: c.high}
		got, err := ruleSet(t, "eu-2001-110").Check(evidence(t, standard.Lot{Results: []standard.Result{hmf}}), "2026-07-22", standard.SimpleAcceptance())
		if err != nil {
			t.Fatal(err)
		}
		place, outcome := verdictFor(got, "hmf", "")
		if says := got.Verdicts[place].Sentence().String(); outcome != c.want || !strings.Contains(says, c.says) {
			t.Errorf("%s to %s: %s: %s", c.low, c.high, outcome, says)
		}
	}
}

func TestAnOldResultDoesNotCountWhereTheRuleSetSaysHowOld(t *testing.T) {
	t.Parallel()
	set := parsed(t, buyersSet(func(set map[string]any) { set["measured_within_days"] = 90 }))
	old, young := moistureOf("D1", "17.0", "", ""), moistureOf("D2", "17.4", "", "")
	old.On, young.On = "2026-01-01", "2026-04-01"
	judge := func(results ...standard.Result) standard.LimitVerdict {
		got, err := set.Check(evidence(t, standard.Lot{Results: results}), "2026-04-02", standard.SimpleAcceptance())
		if err != nil {
			t.Fatal(err)
		}
		return got.Verdicts[0]
	}
	if v := judge(old); v.Outcome != standard.NotMeasured || v.Reason != standard.ReasonTooOld {
		t.Errorf("91 days old: %s", v.Sentence())
	}
	if v := judge(old, young); v.Outcome != standard.Meets || v.High.String() != "17.4" || v.Sampled != 1 {
		t.Errorf("one of 91 days and one of a day: %s, on %d containers", v.Sentence(), v.Sampled)
	}
}

// A drum that foamed and was found quiet afterwards is quiet; another's quiet says nothing of it.
func TestADrumIsAsItWasLastSeen(t *testing.T) {
	t.Parallel()
	look := func(drum, word string, day int) standard.Result {
		return standard.Result{Parameter: "fermentation", Value: word, ContainerID: drum, At: time.Date(2026, 7, day, 8, 0, 0, 0, time.UTC)}
	}
	for _, c := range []struct {
		looks []standard.Result
		want  standard.Outcome
	}{
		{[]standard.Result{look("D1", "present", 1), look("D1", "absent", 2)}, standard.Meets},
		{[]standard.Result{look("D1", "absent", 2), look("D1", "present", 1)}, standard.Meets},
		{[]standard.Result{look("D1", "absent", 1), look("D1", "present", 2)}, standard.Fails},
		{[]standard.Result{look("D1", "present", 1), look("D2", "absent", 2)}, standard.Fails},
		{[]standard.Result{look("D1", "present", 1), look("", "absent", 2)}, standard.Fails},
		{[]standard.Result{look("D1", "present", 1), look("D1", "absent", 1)}, standard.Fails},
	} {
		if _, outcome := verdictFor(check(t, ruleSet(t, "codex-cxs-12-1981"), standard.Lot{Results: c.looks}), "fermentation", ""); outcome != c.want {
			t.Errorf("%v: %s", c.looks, outcome)
		}
	}
}

// Directive 2001/110/EC, Annex II, second paragraph: honey must not have begun to ferment,
// with the exception of baker's honey. It asks for no test, so a lot that nobody looked at
// is as good as its figures are; one that somebody saw ferment fails by that paragraph.
func TestHoneySeenToFermentFailsWhereTheTextAsksForNoLook(t *testing.T) {
	t.Parallel()
	lot := standard.Lot{Containers: []string{"D1", "D2"}}
	filled := lot
	filled.Since = map[string]time.Time{"D2": time.Date(2026, 7, 2, 8, 0, 0, 0, time.UTC)}
	seen := func(drum, word string) standard.Result {
		return standard.Result{Parameter: "fermentation", Value: word, ContainerID: drum, At: time.Date(2026, 7, 1, 8, 0, 0, 0, time.UTC)}
	}
	early := seen("", "present")
	early.Stage = standard.StageInProcess
	for _, c := range []struct {
		what    string
		lot     standard.Lot
		declare string
		only    []string
		looks   []standard.Result
		want    standard.Outcome
		reason  standard.Reason
	}{
		{"nobody looked", lot, "", nil, nil, standard.DoesNotApply, standard.ReasonNobodyLooked},
		{"somebody looked and it was quiet", lot, "", nil, []standard.Result{seen("", "absent")}, standard.Meets, standard.ReasonNone},
		{"it ferments", lot, "", nil, []standard.Result{seen("", "present")}, standard.Fails, standard.ReasonNone},
		{"one drum ferments", lot, "", nil, []standard.Result{seen("D1", "absent"), seen("D2", "present")}, standard.Fails, standard.ReasonNone},
		{"another drum ferments than the one that goes", lot, "", []string{"D1"}, []standard.Result{seen("D2", "present")}, standard.DoesNotApply, standard.ReasonNobodyLooked},
		{"it fermented before it was blended", lot, "", nil, []standard.Result{early}, standard.DoesNotApply, standard.ReasonNobodyLooked},
		{"a drum was filled since somebody looked", filled, "", nil, []standard.Result{seen("", "absent")}, standard.Meets, standard.ReasonNone},
		{"baker's honey ferments", lot, "use=bakers", nil, []standard.Result{seen("", "present")}, standard.DoesNotApply, standard.ReasonConditionNotMet},
	} {
		l := c.lot
		l.Declaration, l.Only, l.Results = declaration(c.declare), c.only, c.looks
		for _, id := range []string{"eu-2001-110", "uk-england-2015", "de-honigv-2004"} {
			all := check(t, ruleSet(t, id), l)
			place, got := verdictFor(all, "fermentation", "")
			verdict := all.Verdicts[place]
			if got != c.want || verdict.Reason != c.reason {
				t.Errorf("%s, %s: %s", id, c.what, verdict.Sentence())
			}
		}
	}
	unseen := check(t, ruleSet(t, "eu-2001-110"), lot)
	place, _ := verdictFor(unseen, "fermentation", "")
	if got, want := unseen.Verdicts[place].Sentence().String(), "Fermentation does not apply; nobody looked, and this line holds only where somebody did (Annex II, second paragraph)."; got != want {
		t.Errorf("%q, not %q", got, want)
	}
}

// A mean of three has no end: it is shown to two places, or to as many as it takes to
// see on which side of the limit it lies. By hand: (17.2 + 17.5 + 17.9)/3 = 17.5333...,
// 2.4666... inside 20; (17.8 + 17.8 + 17.8001)/3 = 17.80003..., 0.00003... over 17.8.
func TestAMeanIsShownAsPeopleReadIt(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		limit         string
		drums         [3]string
		value, margin string
		says          string
	}{
		{"20", [3]string{"17.2", "17.5", "17.9"}, "17.53", "2.47", "meets: 17.53 % against at most 20 %"},
		{"17.8", [3]string{"17.8", "17.8", "17.8001"}, "17.80003", "-0.00003", "fails: 17.80003 % against at most 17.8 %"},
		{"20", [3]string{"17.2", "17.5", "17.8"}, "17.5", "2.5", "meets: 17.5 % against"},
	} {
		var lot standard.Lot
		for i, pct := range c.drums {
			lot.Results = append(lot.Results, moistureOf(drums(3)[i], pct, "", ""))
		}
		set := parsed(t, buyersSet(limitsOf(buyersLimit("moisture", "%", "<=", c.limit))))
		v := check(t, set, lot).Verdicts[0]
		if value, margin := v.Shown(); value.String() != c.value || margin.String() != c.margin || !strings.Contains(v.Sentence().String(), c.says) {
			t.Errorf("%v: %s, margin %s: %s", c.drums, value, margin, v.Sentence())
		}
	}
}

// A rule set with seven classes of one colour says once on how few containers it
// rests.
func TestANoticeIsSaidOnce(t *testing.T) {
	t.Parallel()
	lot := standard.Lot{Containers: drums(12), Results: []standard.Result{measured("colour_pfund", "40")}}
	said := map[string]int{}
	c := check(t, ruleSet(t, "us-usda-colour"), lot)
	for _, n := range c.Notices() {
		if said[n.String()]++; said[n.String()] > 1 {
			t.Errorf("said again: %s", n)
		}
	}
	if len(said) < 4 {
		t.Errorf("said are %v", said)
	}
}

func drums(n int) []string {
	ids := make([]string, n)
	for i := range ids {
		ids[i] = fmt.Sprintf("D%03d", i+1)
	}
	return ids
}

func TestABindingPlanTakesBackAPassOnTooFewContainers(t *testing.T) {
	t.Parallel()
	set := parsed(t, buyersSet(func(set map[string]any) {
		set["sampling"] = map[string]any{"plan": "root-plus-one", "binding": true}
	}))
	lot := standard.Lot{Containers: drums(16)} // square root of 16 and one more: 5
	for i := range 4 {
		lot.Results = append(lot.Results, moistureOf(lot.Containers[i], "17.0", "", ""))
	}
	if v := check(t, set, lot).Verdicts[0]; v.Outcome != standard.NotMeasured || v.Sampled != 4 || v.Required != 5 {
		t.Errorf("four of five: %s", v.Sentence())
	}
	lot.Results = append(lot.Results, moistureOf(lot.Containers[4], "17.0", "", ""))
	if v := check(t, set, lot).Verdicts[0]; v.Outcome != standard.Meets {
		t.Errorf("five of five: %s", v.Sentence())
	}
	lot.Results = []standard.Result{moistureOf("D001", "19.0", "", "")}
	if v := check(t, set, lot).Verdicts[0]; v.Outcome != standard.Fails {
		t.Errorf("one wet drum fails even so: %s", v.Sentence())
	}
}

func TestTheEditionInForceOnTheDay(t *testing.T) {
	t.Parallel()
	library := publishedLibrary(t)
	tests := []struct {
		family string
		on     standard.Date
		want   string
	}{
		{"eu-honey", "2003-07-31", "eu-74-409"}, {"eu-honey", "2003-08-01", "eu-2001-110"},
		{"codex-honey", "2001-06-30", "codex-1987"}, {"codex-honey", "2001-07-01", "codex-cxs-12-1981"},
		{"uk-england-honey", "2015-06-23", "uk-england-2003"}, {"uk-england-honey", "2015-06-24", "uk-england-2015"},
		{"ca-compositional-honey", "2024-12-17", "ca-fdr-b18-honey"}, {"ca-compositional-honey", "2024-12-18", "ca-food-compositional-standards-honey"},
		{"in-fssai-honey", "2019-10-28", "in-fssai-honey-2018"}, {"in-fssai-honey", "2019-10-29", "in-fssai-honey"},
		{"tr-honey", "2005-12-16", "tr-2000-39"}, {"tr-honey", "2005-12-17", "tr-2005-49"}, {"tr-honey", "2012-07-26", "tr-2005-49"},
		{"tr-honey", "2012-07-27", "tr-2012-58"}, {"tr-honey", "2020-04-21", "tr-2012-58"}, {"tr-honey", "2020-04-22", "tr-2020-7"},
		{"gso-147", "2007-12-31", ""}, // the edition of that day is not held
	}
	for _, tt := range tests {
		got := ""
		if set, ok := library.InForce(tt.family, tt.on); ok {
			got = set.ID
		}
		if got != tt.want {
			t.Errorf("%s on %s: %q, want %q", tt.family, tt.on, got, tt.want)
		}
	}
}

func TestAVerdictFromMemorySaysSo(t *testing.T) {
	t.Parallel()
	lot := standard.Lot{Results: []standard.Result{measured("moisture", "19.0")}}
	c := check(t, ruleSet(t, "ca-food-compositional-standards-honey"), lot)
	place, _ := verdictFor(c, "moisture", "")
	if v := c.Verdicts[place]; !v.FromMemory() || !strings.Contains(v.Sentence().String(), "from memory") || !c.RestsOnMemory() {
		t.Errorf("%s", v.Sentence())
	}
	seen := check(t, ruleSet(t, "anz-2.8.2"), lot)
	if seen.RestsOnMemory() {
		t.Error("the Australian lines were all seen")
	}
}

func TestAVerdictInWords(t *testing.T) {
	t.Parallel()
	result := measured("moisture", "19.9")
	result.StdUncertainty = "0.1"
	c := check(t, ruleSet(t, "eu-2001-110"), standard.Lot{Containers: drums(3), Results: []standard.Result{result}})
	place, _ := verdictFor(c, "moisture", "")
	want := "Moisture meets: 19.9 +/- 0.2 % against at most 20 %; probability that the true value conforms 0.841 (Annex II point 2)."
	if got := c.Verdicts[place].Sentence().String(); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	notices := notices(c)
	for _, part := range []string{"2001/110/EC as amended by 2014/63/EU", "simple acceptance", "no rounding clause", "The lot has 3 containers", "Moisture rests on 0 sampled containers of the 3"} {
		if !strings.Contains(notices, part) {
			t.Errorf("the notices do not say %q:\n%s", part, notices)
		}
	}
}

// notices is all that has to be known of a check.
func notices(c standard.Check) string {
	var out []string
	for _, n := range c.Notices() {
		out = append(out, n.String())
	}
	return strings.Join(out, "\n")
}

func TestABuyersCheckNamesItsVersion(t *testing.T) {
	t.Parallel()
	c := check(t, parsed(t, buyersSet(func(map[string]any) {})), standard.Lot{Results: []standard.Result{measured("moisture", "17.0")}})
	if !strings.Contains(c.Notices()[0].String(), "version 3") || c.Outcome != standard.Meets {
		t.Errorf("%s: %s", c.Outcome, c.Notices()[0])
	}
}

func TestMoistureAndSolidsAreOneFigure(t *testing.T) {
	t.Parallel()
	// 100 - 81.4 = 18.6 exactly, whichever of the two was measured.
	for _, result := range []standard.Result{measured("moisture", "18.6"), measured("soluble_solids", "81.4")} {
		c := check(t, ruleSet(t, "us-usda-extracted-1985"), standard.Lot{Results: []standard.Result{result}})
		for _, parameter := range []string{"moisture", "soluble_solids"} {
			if _, outcome := verdictFor(c, parameter, "Grade A"); outcome != standard.Meets {
				t.Errorf("%s %s: %s %s", result.Parameter, result.Value, parameter, outcome)
			}
		}
	}
}

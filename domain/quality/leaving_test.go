package quality_test

import (
	"strings"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

// terms are an outfit's own limit on moisture, of no buyer.
func terms(name, moisture string) *ledger.RuleSet {
	return &ledger.RuleSet{Name: name, Citation: "own", Form: standard.FormLimits, Limits: []standard.Limit{
		{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: moisture, Clause: "1"}}}
}

// judged are the names of what a dispatch was held to, in their order.
func (h *house) judged(sent ledger.ID) string {
	h.t.Helper()
	var names []string
	for _, l := range h.book.InForce(sent).Body.(*ledger.Dispatch).Judged {
		names = append(names, l.Name)
	}
	return strings.Join(names, ", ")
}

// A lot that is held to nothing does not keep the next one from being looked at.
func TestEachLotOnATruckIsHeldToItsOwn(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set := h.at(10, terms("shop", "18"))
	other := h.at(24, &ledger.Lot{Code: "26-015", StoreID: h.store})
	drum := h.at(29, h.FillBody(other, h.Settling, "D-9", 10_000))
	h.at(30, moisture(ledger.PlaceContainer, drum, 17, 0))
	h.at(40, h.overridden())
	h.at(50, &ledger.LotStatus{LotID: other, Status: ledger.StatusReleased, CheckID: h.at(49, &ledger.Check{LotID: other, RuleSets: []ledger.RuleSetRef{own(set)}, On: "2026-07-03"})})
	d := h.truck(0)
	d.Containers = append(d.Containers, drum)
	if got := h.judged(h.at(60, d)); got != "shop" {
		t.Errorf("it was held to %q", got)
	}
}

// A release names the rule sets of its check that it goes by; the others hold nothing.
func TestWhatALotWasReleasedByHoldsItAtTheDoor(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	strict, wide := h.at(10, terms("strict", "15")), h.at(10, terms("wide", "20"))
	h.at(11, &ledger.RuleSet{Name: "another buyer's", BuyerID: h.at(10, &ledger.Buyer{Name: "Millrace"}), Citation: "own", Form: standard.FormLimits, Limits: terms("", "14").Limits})
	h.read(30, 0, 17.2, 0)
	check := h.checkedOn(48, own(strict), own(wide))
	release := h.released(check)
	release.RuleSets = []string{wide.String()}
	h.at(49, release)
	if why, err := quality.NoLongerMeets(h.book, release, day10); err != nil || !why.IsEmpty() {
		t.Errorf("of what it was not released by is said %q, %v", why, err)
	}
	if got := h.judged(h.at(60, h.truck(0))); got != "wide" {
		t.Errorf("it was held to %q", got)
	}
}

// The rule sets after one that was never met are looked at as well, when figures age.
func TestAnOldFigureCountsWhereItsRuleSetIsTheSecond(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	strict := h.at(10, terms("strict", "15"))
	shop := h.at(10, &ledger.RuleSet{Name: "shop", Citation: "own", Form: standard.FormLimits, Limits: []standard.Limit{
		{Parameter: "hmf", Unit: "mg/kg", Comparator: standard.AtMost, Limit: "40", Clause: "1"}}})
	h.read(30, 0, 17.2, 0)
	h.certify(40, hmf(38))
	wide := h.at(10, terms("wide", "20"))
	release := h.released(h.checkedOn(48, own(strict), own(shop), own(wide)))
	release.RuleSets = []string{shop.String()}
	h.at(49, release)
	water := *release
	water.RuleSets = []string{wide.String()}
	if why, err := quality.NoLongerMeets(h.book, &water, "2026-11-01"); err != nil || !why.IsEmpty() {
		t.Errorf("of a release by moisture alone is said %q, %v", why, err)
	}
	if why, err := quality.NoLongerMeets(h.book, release, "2026-11-01"); err != nil || !strings.Contains(why.String(), "does not meet shop") {
		t.Errorf("four months on is said %q, %v", why, err)
	}
	// What another lot was checked for says nothing of this one; the ledger refuses it.
	other := h.at(24, &ledger.Lot{Code: "26-015", StoreID: h.store})
	h.at(29, h.FillBody(other, h.Settling, "D-9", 10_000))
	astray := &ledger.LotStatus{LotID: other, Status: ledger.StatusReleased, CheckID: release.CheckID}
	if why, err := quality.NoLongerMeets(h.book, astray, "2026-11-01"); err != nil || !why.IsEmpty() {
		t.Errorf("of another lot is said %q, %v", why, err)
	}
}

// A check that somebody withdrew after the release lets nothing go by it.
func TestACheckThatWasWithdrawnLetsNothingGo(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	_, check := h.ready()
	h.at(201, h.released(check))
	h.instead(check, 200, &ledger.Withdrawal{})
	if _, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(202), Body: h.truck(0)}); err == nil || !strings.Contains(err.Error(), "withdrawn") && !strings.Contains(err.Error(), "came after its release") {
		t.Errorf("a truck by the release before: %v", err)
	}
}

// What is no container is refused by the book, and looking at it breaks nothing.
func TestALotIsNoContainerToSend(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(40, h.overridden())
	for _, id := range []ledger.ID{h.lot, ledgertest.ID(9999)} {
		d := h.truck(0)
		d.Containers = append([]ledger.ID{id}, d.Containers...)
		if _, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(50), Body: d}); err == nil {
			t.Errorf("%s left", id)
		}
	}
}

// A check by an edition that has been superseded is gone by in the edition of the day.
func TestTheEditionOfTheDayHolds(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	for on, want := range map[standard.Date]string{"2001-06-30": "codex-1987", day10: "codex-cxs-12-1981"} {
		got, err := quality.EditionOf(h.book, &ledger.RuleSetResult{ID: "codex-1987"}, on)
		if err != nil || got.ID != want {
			t.Errorf("on %s it is %v (%v), not %s", on, got.RuleSet, err, want)
		}
	}
	for id, on := range map[string]standard.Date{"eu-milk": day10, "codex-1987": "1950-01-01"} {
		if _, err := quality.EditionOf(h.book, &ledger.RuleSetResult{ID: id}, on); err == nil {
			t.Errorf("there is no edition of %s on %s, and one is found", id, on)
		}
	}
}

// Below the lowest grade there is none: its lines bind the lot, those of better grades do not.
func TestTheLowestGradeBindsALot(t *testing.T) {
	t.Parallel()
	graded := &standard.Check{RuleSet: &standard.RuleSet{Grades: []string{"A", "B", "C"}}}
	for grade, binds := range map[string]bool{"": true, "A": false, "B": false, "C": true} {
		if got := quality.BindsLot(graded, &standard.LimitVerdict{Limit: &standard.Limit{Grade: grade}}); got != binds {
			t.Errorf("of grade %q: %t", grade, got)
		}
	}
	if quality.BindsLot(&standard.Check{RuleSet: &standard.RuleSet{}}, &standard.LimitVerdict{Limit: &standard.Limit{Grade: "A"}}) {
		t.Error("a grade binds where there are none")
	}
}

func (h *house) standing(on standard.Date) quality.Standing {
	h.t.Helper()
	s, err := quality.StandingOf(h.book, h.lot, on)
	if err != nil {
		h.t.Fatal(err)
	}
	return s
}

// What stands about a lot, and what is to be known beside it.
func TestWhatStandsAboutALotSaysItsDoubt(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	set := h.at(10, &ledger.RuleSet{Name: "shop", Citation: "own", Form: standard.FormLimits, Limits: []standard.Limit{
		{Parameter: "hmf", Unit: "mg/kg", Comparator: standard.AtMost, Limit: "40", Clause: "1"}}})
	is := func(what string, on standard.Date, status ledger.Status, doubt string) {
		t.Helper()
		s := h.standing(on)
		if got := s.Doubt().String(); s.Status != status || (got == "") != (doubt == "") || !strings.Contains(got, doubt) {
			t.Errorf("%s: %s, %q", what, s.Status, got)
		}
	}
	is("filled", day10, ledger.StatusOpen, "")
	h.at(41, h.overridden())
	is("released on a manager's word", day10, ledger.StatusReleased, "")
	h.at(42, h.lift(""))
	is("opened on purpose", day10, ledger.StatusOpen, "")
	h.certify(43, hmf(38))
	h.at(49, h.released(h.checkedOn(48, own(set))))
	is("released by a check", "2026-07-03", ledger.StatusReleased, "")
	is("months later", "2026-11-01", ledger.StatusReleased, "does not meet shop")
	h.read(60, 0, 17.2, 0)
	is("read since", "2026-07-03", ledger.StatusReleased, "readings were added")
	h.at(70, h.held(ledger.HeldForFinding))
	is("held", day10, ledger.StatusHeld, "")
	seen := h.at(80, h.fermenting(0, "present"))
	is("seen to ferment", day10, ledger.StatusHeld, "Somebody saw it ferment")
	if by := h.standing(day10).By; by == nil || by.ID != seen {
		t.Errorf("it is held by %+v", by)
	}
	h.at(100, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, Observed: []ledger.Observed{{What: "fermentation", Word: "absent"}}})
	again := h.released(h.checkedOn(110, own(set)))
	again.Note = "quiet"
	h.at(111, again)
	late := h.at(112, h.FillBody(h.lot, h.Settling, "D-5", 10_000))
	is("filled since", day10, ledger.StatusOpen, "came after that")
	if opened := h.standing(day10).Opened; opened == nil || opened.ID != late {
		t.Errorf("it was opened by %+v", opened)
	}
}

// "Less than" is told as such, and a guard band where the rule has one.
func TestALineSaysLessThanAndItsGuard(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.certify(40, ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 5, LessThan: true, Method: "HPLC"}, diastase(20))
	guarded := ledger.RuleSetRef{RuleSetID: h.at(20, &ledger.RuleSet{Name: "guarded", Citation: "own", Form: standard.FormLimits, Limits: []standard.Limit{
		{Parameter: "diastase", Unit: "Gothe scale", Comparator: standard.AtLeast, Limit: "8", Clause: "1"},
		{Parameter: "hmf", Unit: "mg/kg", Comparator: standard.AtMost, Limit: "40", Clause: "2"}}})}
	plain := h.found(h.at(100, &ledger.Check{LotID: h.lot, RuleSets: []ledger.RuleSetRef{guarded}, On: day2})).Results[0]
	if l := line(t, plain, "hmf", ""); !l.LessThan || l.Guard != "" {
		t.Errorf("less than 5: %+v", l)
	}
	if l := line(t, plain, "diastase", ""); l.LessThan || l.Guard != "" {
		t.Errorf("20: %+v", l)
	}
	// U = 2 u, of a standard uncertainty of 1; a whole U is 2.
	rule := &standard.DecisionRule{AcceptR: 1}
	held := h.found(h.at(101, &ledger.Check{LotID: h.lot, RuleSets: []ledger.RuleSetRef{guarded}, On: day2, Decision: rule})).Results[0]
	if l := line(t, held, "diastase", ""); float(t, l.Guard) != 2 {
		t.Errorf("with a guard band: %+v", l)
	}
}

// "Less than" is forecast from its worse end: HMF of less than 5 from 5, which passes 40 after
// 35/0.1881 = 186.1 days, diastase of less than 8 from nothing. Each line is of the day on
// which its own parameter was measured.
func TestLessThanIsForecastFromItsWorseEnd(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.stands(30)
	below := func(m ledger.Measured) ledger.Measured {
		m.LessThan = true
		return m
	}
	h.certify(41.9, below(hmf(5)))
	h.certify(65.9, diastase(14))
	for _, set := range []string{"eu-honey", "ca-grade-compendium-6"} {
		k := h.keeps(day10, []ledger.ID{h.lot}, set)[0]
		l, d := lineOn(t, k, "hmf"), lineOn(t, k, "diastase")
		if l.Value != 5 || l.MeasuredOn != day2 || d.Value != 14 || d.MeasuredOn != "2026-07-03" {
			t.Errorf("%s: HMF %g of %s, diastase %g of %s", set, l.Value, l.MeasuredOn, d.Value, d.MeasuredOn)
		}
		near(t, set+": days to 40 mg/kg", daysBetween(t, day2, l.Leaves.Middle), 35/0.1881, 1.6)
		near(t, set+": days to 8", daysBetween(t, "2026-07-03", d.Leaves.Middle), 162.3, 1.6)
	}
	h.certify(66, below(diastase(8)))
	if d := lineOn(t, h.keeps(day10, []ledger.ID{h.lot}, "eu-honey")[0], "diastase"); d.Value >= 8 {
		t.Errorf("less than 8 is taken as %g", d.Value)
	}
}

// A figure at its limit is within it, and leaves it on that day.
func TestAFigureAtItsLimitIsNotOutsideYet(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.certify(41.9, hmf(40), diastase(8))
	k := h.keeps(day2, []ledger.ID{h.lot}, "eu-honey")[0]
	for _, parameter := range []string{"hmf", "diastase"} {
		if l := lineOn(t, k, parameter); l.Outside || l.Leaves == nil || l.Leaves.Low != day2 {
			t.Errorf("%s: %+v", parameter, l)
		}
	}
}

// The limit that is named is the one that the middle honey comes to. Of a honey low in
// enzymes with HMF of 2 and diastase of 3.96, HMF passes 15 after 13/0.1887 = 68.9 days, while
// diastase falls under 3 after ln(3.96/3)/0.003467 = 80: so 8 catches it. In a slow honey, of
// whose HMF less is known, diastase comes first.
func TestTheLimitThatIsNamedIsOfTheMiddleHoney(t *testing.T) {
	t.Parallel()
	h := newHouse(t, standard.Declaration{"enzyme": {"low"}})
	h.stands(30)
	h.certify(41.9, hmf(2), diastase(3.96))
	l := lineOn(t, h.keeps(day2, []ledger.ID{h.lot}, "eu-honey")[0], "diastase")
	if l.Leaves == nil || !strings.Contains(l.Limit.String(), " 8 ") {
		t.Fatalf("%+v", l)
	}
	near(t, "days", daysBetween(t, day2, l.Leaves.Middle), 68.9, 1.6)
}

// Time uses up what HMF may rise to and diastase fall to, whether the limit itself is allowed
// or not, and of grades that of the lot.
func TestTimeUsesUpLimitsOfEachForm(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	id := h.at(10, &ledger.RuleSet{Name: "below", Citation: "own", Form: standard.FormLimits, Limits: []standard.Limit{
		{Parameter: "hmf", Unit: "mg/kg", Comparator: standard.Below, Limit: "40", Clause: "1"},
		{Parameter: "diastase", Unit: "Gothe scale", Comparator: standard.Above, Limit: "8", Clause: "2"}}})
	odd := h.at(10, &ledger.RuleSet{Name: "heated", Citation: "own", Form: standard.FormLimits, Limits: []standard.Limit{
		{Parameter: "hmf", Unit: "mg/kg", Comparator: standard.AtLeast, Limit: "1", Clause: "1"},
		{Parameter: "diastase", Unit: "Gothe scale", Comparator: standard.AtMost, Limit: "30", Clause: "2"}}})
	graded := h.at(10, &ledger.RuleSet{Name: "grades", Citation: "own", Form: standard.FormGrades, Grades: []string{"fine", "plain"}, Limits: []standard.Limit{
		{Parameter: "hmf", Grade: "fine", Unit: "mg/kg", Comparator: standard.AtMost, Limit: "10", Clause: "1"},
		{Parameter: "hmf", Grade: "plain", Unit: "mg/kg", Comparator: standard.AtMost, Limit: "40", Clause: "2"}}})
	h.certify(41.9, hmf(12), diastase(20))
	for id, want := range map[ledger.ID]string{id: "hmf , diastase ", odd: "", graded: "hmf plain"} {
		set, err := h.book.RuleSet(own(id), day10)
		if err != nil {
			t.Fatal(err)
		}
		k, err := quality.Keeping(h.book, []ledger.ID{h.lot}, []ledger.Resolved{set}, day10)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, l := range k[0].Lines {
			got = append(got, l.Parameter+" "+l.Grade)
		}
		if strings.Join(got, ", ") != want {
			t.Errorf("%s: %q, want %q", set.Title, got, want)
		}
	}
}

// A rule set that does not hold yet says nothing, and does not silence the next.
func TestARuleSetOfNextYearUsesUpNothing(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	id := h.at(10, &ledger.RuleSet{Name: "next year's", Citation: "own", Form: standard.FormLimits, InForceFrom: "2027-01-01", Limits: []standard.Limit{
		{Parameter: "hmf", Unit: "mg/kg", Comparator: standard.AtMost, Limit: "40", Clause: "1"}}})
	next, err := h.book.RuleSet(own(id), "2027-02-01")
	if err != nil {
		t.Fatal(err)
	}
	h.certify(41.9, hmf(12))
	sets := append([]ledger.Resolved{next}, h.published(day10, "eu-honey", "codex-cxs-12-1981-annex")...)
	k, err := quality.Keeping(h.book, []ledger.ID{h.lot}, sets, day10)
	if err != nil {
		t.Fatal(err)
	}
	if len(k[0].Lines) != 4 {
		t.Errorf("%+v", k[0].Lines)
	}
	// Two limits that are passed on one day: the one that was asked about first is told.
	if why := k[0].Why.String(); !strings.Contains(why, sets[1].Title) {
		t.Errorf("why: %s", why)
	}
	if !strings.Contains(k[0].Why.String(), "nobody read the moisture of 4 of its containers") {
		t.Errorf("nobody read a drum, and it is said %q", k[0].Why)
	}
	// Before the first drum was filled there is nothing to judge, and nothing breaks.
	if k := h.keeps("2026-07-01", []ledger.ID{h.lot}, "eu-honey"); len(k) != 1 || k[0].MoisturePct != nil {
		t.Errorf("the day before: %+v", k)
	}
}

// What is likely to ferment goes by how wet it is, whatever else ages in it; then what nobody
// read; then what merely ages, by its day and not by its moisture.
func TestLotsGoByRiskThenByWetThenByDay(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.stands(30)
	add := func(code string, pct, hmfMg float64) ledger.ID {
		lot := h.at(24, &ledger.Lot{Code: code, StoreID: h.store})
		drum := h.at(30, h.FillBody(lot, h.Settling, "X-"+code, 50_000))
		if pct > 0 {
			h.readExactly(31, ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, pct, 0)
		}
		h.at(40, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: lot}, Laboratory: "Fern Valley", Measured: []ledger.Measured{hmf(hmfMg)}})
		return lot
	}
	lots := []ledger.ID{add("aged", 15.0, 33), add("unread", 0, 3), add("fresh", 15.8, 3), add("wet and aged", 20.4, 33), add("wetter", 21.0, 3)}
	var order []string
	for _, k := range h.keeps(day10, lots, "eu-honey") {
		order = append(order, k.Code)
		if (k.MoisturePct == nil) != (k.Code == "unread") {
			t.Errorf("%s has the moisture %v", k.Code, k.MoisturePct)
		}
		if unread := strings.Contains(k.Why.String(), "nobody read"); unread != (k.Code == "unread") {
			t.Errorf("of %s is said %q", k.Code, k.Why)
		}
	}
	if got := strings.Join(order, ", "); got != "wetter, wet and aged, unread, aged, fresh" {
		t.Errorf("in the order %s", got)
	}
}

// A lot may be withdrawn while its drums stand here: they stay until it is put right.
func TestDrumsOfALotThatWasWithdrawnStay(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(40, h.overridden())
	h.instead(h.lot, 24, &ledger.Withdrawal{})
	if _, err := h.try(ledger.Entry{OccurredAt: ledgertest.At(50), Body: h.truck(0)}); err == nil {
		t.Error("a drum of a lot that was withdrawn left")
	}
}

// A drum of a recalled lot was poured back and filled into another lot: that is held too, and
// it is said why.
func TestALotWithHoneyOfARecalledOneSaysSo(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.at(50, ledgertest.Move(ledger.PlaceContainer, h.drums[0], ledger.PlaceTank, h.Settling, 290_000))
	other := h.at(51, &ledger.Lot{Code: "26-015", StoreID: h.store})
	h.at(52, h.FillBody(other, h.Settling, "E-1", 290_000))
	h.at(60, h.held(ledger.HeldForRecall))
	for lot, says := range map[ledger.ID]string{other: "Honey of another lot is in it, which is held for recall", h.lot: ""} {
		s, err := quality.StandingOf(h.book, lot, day10)
		if err != nil {
			t.Fatal(err)
		}
		if got := s.Doubt().String(); s.Status != ledger.StatusHeld || !strings.HasPrefix(got, says) || says == "" && got != "" {
			t.Errorf("%s: %s, %q", h.book.Name(lot), s.Status, got)
		}
	}
}

// A figure that was carried to the day of the check is told with both its ends; nobody
// measured less than it.
func TestALineSaysBetweenWhatACarriedFigureMayBe(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.stands(30)
	h.certify(41.9, ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 5, Method: "HPLC"}, diastase(20))
	own := ledger.RuleSetRef{RuleSetID: h.at(20, &ledger.RuleSet{Name: "own", Citation: "own", Form: standard.FormLimits, Limits: []standard.Limit{
		{Parameter: "diastase", Unit: "Gothe scale", Comparator: standard.AtLeast, Limit: "8", Clause: "1"},
		{Parameter: "hmf", Unit: "mg/kg", Comparator: standard.AtMost, Limit: "40", Clause: "2"}}})}
	r := h.found(h.at(300, &ledger.Check{LotID: h.lot, RuleSets: []ledger.RuleSetRef{own}, On: day10})).Results[0]
	for _, parameter := range []string{"hmf", "diastase"} {
		if l := line(t, r, parameter, ""); l.LessThan || l.LowValue == "" || float(t, l.LowValue) >= float(t, l.Value) {
			t.Errorf("%s: %+v", parameter, l)
		}
	}
	if hmf, diastase := line(t, r, "hmf", ""), line(t, r, "diastase", ""); float(t, hmf.LowValue) < 5 || float(t, diastase.Value) > 20 {
		t.Errorf("HMF only rises, and diastase only falls: %+v, %+v", hmf, diastase)
	}
}

package held_test

import (
	"math"
	"testing"
	"time"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/plan/held"
	"pullbook/domain/standard"
)

// adopted opens a book in which somebody goes by a plan from an hour on, with what came of it up to another.
func adopted(t *testing.T, o *ledgertest.Outfit, plan ledger.ID, hours float64) ([]held.Step, []held.Figure) {
	t.Helper()
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	figures, err := held.Figures(b, b.InForce(plan), ledgertest.At(hours))
	if err != nil {
		t.Fatal(err)
	}
	return held.Steps(b, b.InForce(plan), ledgertest.At(hours)), figures
}

func at(hours float64) *time.Time { return new(ledgertest.At(hours)) }

func logOf(tank ledger.ID, celsius ...ledger.TemperaturePoint) *ledger.TemperatureLog {
	return &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceTank, ID: tank}, Points: celsius}
}

func point(hours, celsius float64) ledger.TemperaturePoint {
	return ledger.TemperaturePoint{At: ledgertest.At(hours), TemperatureC: celsius}
}

// A heater that is set leaves no entry. What was logged in the time of its step says that somebody was there; a step
// whose time went by without is told as not recorded, and one that is to come as left.
func TestAHeaterIsHeldAgainstTheLogOfItsTime(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	o.Out(1, o.Run(0, "first"), o.Settling, 900_000)
	plan := o.Write(10, &ledger.AdoptedPlan{Title: "warm it", Of: ledger.PlanOfWarming,
		Steps: []ledger.PlanStep{
			{Does: ledger.PlanHeats, AboutID: o.Settling, At: at(12), SetC: new(45)}, {Does: ledger.PlanHeats, AboutID: o.Settling, At: at(36), SetC: new(40)},
			{Does: ledger.PlanHeats, AboutID: o.Settling, At: at(60)}},
		Expects: []ledger.PlanExpected{
			{Figure: ledger.PlanTemperature, AboutID: o.Settling, At: at(36), Value: 44, Low: new(43.0), High: new(45.0)},
			{Figure: ledger.PlanTemperature, AboutID: o.Settling, At: at(60), Value: 40},
			{Figure: ledger.PlanHMF, AboutID: o.Settling, At: at(60), Value: 5, Low: new(4.0), High: new(6.0)}}})
	o.Write(11, logOf(o.Settling, point(11, 25))) // before it was set
	o.Write(36.5, logOf(o.Settling, point(20, 38), point(35, 42)))
	steps, figures := adopted(t, o, plan, 37)
	if s := steps[0]; !s.Done || s.Logged.TemperatureC != 42 || s.Until != ledgertest.At(36) {
		t.Errorf("the first step: %+v, want it done with 42 C", s)
	}
	if steps[1].Done || steps[1].Lapsed || steps[2].Done {
		t.Errorf("the next: %+v", steps[1:])
	}
	// 42 where 44 was expected, with ends 1 K off: two of 1.645 standard deviations, 2 * Phi(-3.29) = 0.0010.
	if f := figures[0]; f.Came == nil || *f.Came != 42 || !f.Outside() || math.Abs(f.Chance-0.001) > 1e-4 {
		t.Errorf("42 C for 44: %+v", f)
	}
	if f := figures[1]; f.Came != nil || !f.Open {
		t.Errorf("a temperature that is to come: %+v", f)
	}
	o.Write(70, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, Laboratory: "Fern Valley", Measured: []ledger.Measured{{Quantity: "hmf_mg_per_kg", Value: 7.5}}})
	steps, figures = adopted(t, o, plan, 120)
	if !steps[1].Lapsed || !steps[2].Lapsed {
		t.Errorf("nobody recorded anything in their time: %+v", steps[1:])
	}
	if f := figures[1]; f.Came != nil || f.Open {
		t.Errorf("a temperature that nobody logged: %+v", f)
	}
	if f := figures[2]; f.Came == nil || *f.Came != 7.5 || f.Reckoned || !f.Outside() {
		t.Errorf("HMF that was measured: %+v", f)
	}
}

// Where nobody measured HMF, the book's own reckoning from the log stands there, and says so.
func TestHMFThatNobodyMeasuredIsReckoned(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	o.Out(1, o.Run(0, "first"), o.Settling, 900_000)
	plan := o.Write(10, &ledger.AdoptedPlan{Title: "warm it", Of: ledger.PlanOfWarming, Expects: []ledger.PlanExpected{
		{Figure: ledger.PlanHMF, AboutID: o.Settling, At: at(200), Value: 5}, {Figure: ledger.PlanDiastase, AboutID: o.Settling, At: at(200), Value: 20}, {Figure: ledger.PlanHMF, AboutID: o.Settling, At: at(20), Value: 3}}})
	var points []ledger.TemperaturePoint
	for h := 10.0; h <= 200; h++ {
		points = append(points, point(h, 55))
	}
	o.Write(200, logOf(o.Settling, points...))
	_, figures := adopted(t, o, plan, 201)
	late, early := figures[0], figures[2]
	if late.Came == nil || early.Came == nil || !late.Reckoned || *late.Came <= *early.Came || figures[1].Came == nil {
		t.Errorf("after ten hours %+v, after 190 at 55 C %+v, diastase %+v", early, late, figures[1])
	}
	if _, before := adopted(t, o, plan, 100); before[0].Came != nil || !before[0].Open {
		t.Errorf("before its time: %+v", before[0])
	}
}

// Supers that are pulled count step by step, what was pulled before does not, and a pull that is withdrawn counts
// no more. Hives are moved once somebody counted none.
func TestPullsAndMovesAreCountedStepByStep(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	o.Pull(1, o.Mill, 5, 0)
	plan := o.Write(10, &ledger.AdoptedPlan{Title: "the rest", Of: ledger.PlanOfDays, Steps: []ledger.PlanStep{
		{Does: ledger.PlanPulls, AboutID: o.Mill, Count: 20}, {Does: ledger.PlanPulls, AboutID: o.Ridge}, {Does: ledger.PlanMoves, AboutID: o.Ridge}}})
	first := o.Pull(20, o.Mill, 12, 0)
	o.Write(21, &ledger.HiveCount{YardID: o.Ridge, Name: "check", Hives: 14})
	steps, _ := adopted(t, o, plan, 30)
	if s := steps[0]; s.Count != 12 || s.Done || len(s.By) != 1 || s.By[0] != first {
		t.Errorf("12 of 20 pulled: %+v", s)
	}
	if steps[1].Done || steps[2].Done {
		t.Errorf("Ridge: %+v", steps[1:])
	}
	second := o.Pull(40, o.Mill, 9, 0)
	o.Pull(41, o.Ridge, 3, 0)
	o.Write(42, &ledger.HiveCount{YardID: o.Ridge, Name: "moved", Hives: 0})
	steps, _ = adopted(t, o, plan, 50)
	if !steps[0].Done || steps[0].Count != 21 || !steps[1].Done || !steps[2].Done {
		t.Errorf("all is done: %+v", steps)
	}
	o.Withdraw(second)
	if steps, _ = adopted(t, o, plan, 60); steps[0].Done || steps[0].Count != 12 {
		t.Errorf("after one was withdrawn: %+v", steps[0])
	}
	if steps, _ = adopted(t, o, plan, 10+61*24); !steps[0].Lapsed {
		t.Errorf("two months later: %+v", steps[0])
	}
}

// What the house did is counted from when the plan was adopted until the time of each figure.
func TestTheHouseIsCountedUntilTheTimeOfAFigure(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull, run := o.Pull(0, o.Mill, 90, 0), o.Run(1, "first")
	o.Supers(2, run, pull, 10)
	plan := o.Write(10, &ledger.AdoptedPlan{Title: "the rest", Of: ledger.PlanOfDays, Expects: []ledger.PlanExpected{
		{Figure: ledger.PlanExtracted, At: at(24), Value: 30, Low: new(20.0), High: new(40.0)}, {Figure: ledger.PlanExtracted, At: at(48), Value: 60},
		{Figure: ledger.PlanFilled, At: at(48), Value: 2}, {Figure: ledger.PlanDaysLeft, Value: 2, Low: new(1.0), High: new(4.0)}}})
	o.Supers(20, run, pull, 25)
	o.Out(25, run, o.Settling, 900_000)
	lot := o.Lot(26, "L-1")
	o.Fill(27, lot, o.Settling, "1", 290_000)
	o.Supers(34, run, pull, 15)
	_, figures := adopted(t, o, plan, 40)
	for i, want := range []struct {
		came float64
		open bool
	}{{25, false}, {40, true}, {1, true}, {1, true}} {
		if f := figures[i]; f.Came == nil || *f.Came != want.came || f.Open != want.open {
			t.Errorf("%s: %v open %v, want %v open %v", f.Figure, f.Came, f.Open, want.came, want.open)
		}
	}
	if _, later := adopted(t, o, plan, 34+15*24); later[3].Open || later[3].Outside() {
		t.Errorf("two weeks after the last super: %+v", later[3])
	}
}

// What leaves counts for the contract that it fills, also where one dispatch fills two, and what was paid for it counts by
// the honey of each. What left before the plan counts for none.
func TestMoneyCountsByTheHoneyOfEachContract(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	limits := o.SetUp(&ledger.RuleSet{Name: "drums", BuyerID: o.Buyer, Citation: "contract 7", Form: standard.FormLimits,
		Price:  &standard.PriceTerms{Currency: "CAD", PricePerKg: standard.MustDecimal("420")},
		Limits: []standard.Limit{{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: "18.6", Clause: "2"}}})
	o.Out(2, o.Run(1, "1"), o.Settling, 1_500_000)
	lot := o.Lot(3, "L-1")
	var drums []ledger.ID
	for _, number := range []string{"1", "2", "3", "4"} {
		drums = append(drums, o.Fill(4, lot, o.Settling, number, 300_000))
	}
	o.Release(5, lot)
	first := o.Write(6, &ledger.Contract{BuyerID: o.Buyer, RuleSet: ledger.RuleSetRef{RuleSetID: limits}, MostG: 500_000, LastDay: "2026-07-20"})
	second := o.Write(6, &ledger.Contract{BuyerID: o.Buyer, RuleSet: ledger.RuleSetRef{RuleSetID: limits}, MostG: 900_000, LastDay: "2026-08-20"})
	o.Dispatch(8, drums[0])
	plan := o.Write(10, &ledger.AdoptedPlan{Title: "sell", Of: ledger.PlanOfSales,
		Steps: []ledger.PlanStep{{Does: ledger.PlanDelivers, AboutID: lot, ContractID: first, Count: 1}, {Does: ledger.PlanDelivers, AboutID: lot, ContractID: second, Count: 2}},
		Expects: []ledger.PlanExpected{
			{Figure: ledger.PlanDelivered, AboutID: first, Value: 200}, {Figure: ledger.PlanPaid, AboutID: first, Value: 84_000},
			{Figure: ledger.PlanDelivered, AboutID: second, Value: 400}, {Figure: ledger.PlanPaid, AboutID: second, Value: 168_000}}})
	if _, figures := adopted(t, o, plan, 11); *figures[0].Came != 0 || figures[1].Came != nil || !figures[0].Open || figures[0].Currency != "CAD" {
		t.Errorf("what left before counts: %+v", figures)
	}
	sent := o.Dispatch(20, drums[1], drums[2])
	o.Write(30, &ledger.Settlement{DispatchID: sent, RuleSet: ledger.RuleSetRef{RuleSetID: limits}, PaidMinor: 240_000})
	steps, figures := adopted(t, o, plan, 40)
	// 600 kg left: 200 kg fill the first contract, 400 kg go by the second; 240,000 cents are 400 a kilogram.
	for i, want := range []float64{200, 80_000, 400, 160_000} {
		if f := figures[i]; f.Came == nil || *f.Came != want {
			t.Errorf("%s of %s: %v, want %g", f.Figure, f.About, f.Came, want)
		}
	}
	if !steps[0].Done || steps[1].Done || steps[1].Count != 1 {
		t.Errorf("two of three drums are sent: %+v", steps)
	}
	if steps, figures = adopted(t, o, plan, 24*60); !steps[1].Lapsed || figures[0].Open {
		t.Errorf("after the last days: %+v", steps)
	}
}

// A plan all of whose steps have waited too long is not looked through for what is left.
func TestAPlanIsOverOnceItsStepsHaveWaitedTooLong(t *testing.T) {
	t.Parallel()
	heater := &ledger.AdoptedPlan{Steps: []ledger.PlanStep{{Does: ledger.PlanHeats, At: at(0)}, {Does: ledger.PlanHeats, At: at(100)}}}
	pulls := &ledger.AdoptedPlan{Steps: []ledger.PlanStep{{Does: ledger.PlanPulls}}}
	for _, c := range []struct {
		plan  *ledger.AdoptedPlan
		hours float64
		over  bool
	}{{heater, 99, false}, {heater, 147, false}, {heater, 149, true}, {pulls, 59 * 24, false}, {pulls, 61 * 24, true}} {
		if over := held.Lapsed(c.plan, ledgertest.At(0), ledgertest.At(c.hours)); over != c.over {
			t.Errorf("after %g hours: over %v, want %v", c.hours, over, c.over)
		}
	}
}

package balance_test

import (
	"math"
	"strings"
	"testing"

	"pullbook/domain/balance"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/reconcile"
)

// dayOf reconciles the first day of a ledgertest book.
func dayOf(t *testing.T, o *ledgertest.Outfit, day ledger.Date) *balance.Report {
	t.Helper()
	b, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	p, err := balance.Day(b, day)
	if err != nil {
		t.Fatal(err)
	}
	r, err := balance.Reconcile(b, p)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

const firstDay = "2026-07-01"

func flowOf(t *testing.T, r *balance.Report, kind balance.Kind) balance.Flow {
	t.Helper()
	for _, f := range r.Flows {
		if f.Kind == kind {
			return f
		}
	}
	t.Fatalf("the report has no flow of kind %s", kind)
	return balance.Flow{}
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %.6f, by hand it is %.6f", what, got, want)
	}
}

func dip(o *ledgertest.Outfit, hours float64, tank ledger.ID, grams, uncertaintyG int64) ledger.ID {
	return o.Write(hours, &ledger.Stocktake{TankID: tank, Method: "dip", MassG: grams, UncertaintyG: uncertaintyG})
}

// Tanks that stand washed are washed again before the season: nothing can have come
// out of them, and it is no disagreement that nothing went in. What clings to one that
// held honey is still looked for.
func TestWashingAnEmptyTankAgainIsNoDisagreement(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	tanks := []ledger.ID{o.Settling, o.Sump, o.SetUp(&ledger.Tank{Name: "third", Use: ledger.Settling, CapacityG: 4_000_000})}
	for i, tank := range tanks {
		o.Write(float64(i)/10, &ledger.Wash{TankID: tank})
		o.Write(4+float64(i)/10, &ledger.Wash{TankID: tank})
	}
	r := dayOf(t, o, firstDay)
	if !r.Global.Passed || r.Global.DegreesOfFreedom != 0 || r.Global.Statistic != 0 {
		t.Errorf("three tanks washed twice: %+v, %s", r.Global, r.Statement)
	}
	o.Out(6, o.Run(5, "1"), o.Settling, 100_000)
	last := o.Write(7, &ledger.Wash{TankID: o.Settling})
	for _, f := range dayOf(t, o, firstDay).Flows {
		if f.Kind == balance.WashedOut && f.Tank == o.Settling && f.Entries[0] == last {
			return
		}
	}
	t.Error("nothing was washed out of the tank that held honey")
}

// The rise of a tank of 2,000 kg of unknown shape is known to sqrt(2) * 0.003 *
// 2000 kg = 8.485 kg (variance 72), the dip to 6 kg (variance 36). 1,000 kg rose
// and 990 kg were dipped: of the 10 kg, 72/108 come off the one and 36/108 go on
// the other; chi-square is 10²/108.
func TestARiseAndADipMeetByTheirVariances(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(1, "1")
	o.Out(2, run, o.Settling, 1_000_000)
	dip(o, 3, o.Settling, 990_000, 6_000)
	r := dayOf(t, o, firstDay)
	rise, level := flowOf(t, r, balance.IntoTank), flowOf(t, r, balance.Level)
	near(t, "the rise adjusted", rise.ReconciledKg, 1000-10*72.0/108, 1e-6)
	near(t, "the dip adjusted", level.ReconciledKg, 990+10*36.0/108, 1e-6)
	near(t, "their uncertainty", level.ReconciledUncertaintyKg, math.Sqrt(72*36.0/108), 1e-6)
	near(t, "the rise as measured", rise.MeasuredKg, 1000, 0)
	near(t, "chi-square", r.Global.Statistic, 100.0/108, 1e-9)
	if r.Global.DegreesOfFreedom != 1 || !r.Global.Passed {
		t.Errorf("the global test is %+v", r.Global)
	}
	boxes := flowOf(t, r, balance.Unbooked)
	if boxes.Class != reconcile.Determinable {
		t.Errorf("what nobody booked is %s", boxes.Class)
	}
	near(t, "boxes that nobody booked", boxes.ReconciledKg, 1000-10*72.0/108, 1e-6)
}

// Ten deeps weighed 360 kg full and 100 kg empty: 260 kg, of variance 0.5² for
// the step of the scale, (0.004*360)² and (0.0015*360)² for the gross and 0.4²
// for the empties, 2.7752 together. Wax 4 kg, (0.03*4)²+0.3² = 0.1044. Loss
// ordinarily 2 % = 5.2 kg, (0.006*260)²+(0.005*260)² = 4.1236. The tank rose 245
// kg, 72. So 5.8 kg are too many, of variance 79.0032.
func TestBoxesLessEmptiesWaxAndLossMeetTheTank(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull := o.Pull(1, o.Mill, 10, 360_000)
	run := o.Run(2, "1")
	o.Supers(2, run, pull, 10)
	o.Out(3, run, o.Settling, 245_000)
	o.Write(4, &ledger.RunEnd{RunID: run, WaxG: 4_000, EmptiesG: 100_000})
	r := dayOf(t, o, firstDay)
	boxes, wax, loss, tank := flowOf(t, r, balance.Boxes), flowOf(t, r, balance.Wax), flowOf(t, r, balance.Loss), flowOf(t, r, balance.IntoTank)
	const variance = 2.7752 + 0.1044 + 4.1236 + 72
	near(t, "boxes less empties", boxes.MeasuredKg, 260, 1e-9)
	near(t, "their variance", boxes.MeasuredUncertaintyKg*boxes.MeasuredUncertaintyKg, 2.7752, 1e-9)
	near(t, "the boxes adjusted", boxes.ReconciledKg, 260-5.8*2.7752/variance, 1e-6)
	near(t, "the wax adjusted", wax.ReconciledKg, 4+5.8*0.1044/variance, 1e-6)
	near(t, "the loss adjusted", loss.ReconciledKg, 5.2+5.8*4.1236/variance, 1e-6)
	near(t, "the tank adjusted", tank.ReconciledKg, 245+5.8*72/variance, 1e-6)
	near(t, "the node as measured", r.Nodes[0].ImbalanceKg, 5.8, 1e-9)
	near(t, "the node's deviation", r.Nodes[0].UncertaintyKg, math.Sqrt(variance), 1e-9)
	if loss.Basis != balance.Limited || boxes.Basis != balance.Weighed {
		t.Errorf("loss is %s, boxes are %s", loss.Basis, boxes.Basis)
	}

	yard := r.Yards[0]
	near(t, "the yard as measured", yard.MeasuredKg, 260, 1e-9)
	near(t, "the yard adjusted", yard.AdjustedKg, boxes.ReconciledKg, 1e-6)
	near(t, "the yard's deviations", math.Abs(yard.Standardised), 5.8/math.Sqrt(variance), 1e-4)
	for _, c := range r.Claims {
		want := map[string]float64{"boxes": 260 - 4 - 5.2, "tanks": 245}[c.Name]
		if c.Complete != (c.Name != "containers") || c.Complete && math.Abs(*c.MeasuredKg-want) > 1e-9 {
			t.Errorf("the claim of the %s is %+v", c.Name, c)
		}
	}
}

// Two drums share the drum scale's setting: the lot's variance is 0.3² for each
// drum by itself and (0.0003*600)² for both together. A tare that is that of the
// kind brings 8 % of it for each drum.
func TestDrumsOfALotErrTogetherByTheirScale(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what     string
		tareG    int64
		variance float64
	}{
		{"own tares", 17_300, 2*0.3*0.3 + 0.18*0.18},
		{"the kind's tare", 17_000, 2*(0.3*0.3+1.36*1.36) + 0.18*0.18},
	} {
		o := ledgertest.NewOutfit()
		run := o.Run(1, "1")
		o.Out(2, run, o.Settling, 700_000)
		lot := o.Lot(3, "26-001")
		for i, number := range []string{"1", "2"} {
			o.Write(4+float64(i), &ledger.Fill{LotID: lot, TankID: o.Settling, ContainerKindID: o.Drum, Container: number, TareG: c.tareG, GrossG: c.tareG + 300_000})
		}
		f := flowOf(t, dayOf(t, o, firstDay), balance.Containers)
		near(t, c.what+": the lot", f.MeasuredKg, 600, 1e-9)
		near(t, c.what+": its variance", f.MeasuredUncertaintyKg*f.MeasuredUncertaintyKg, c.variance, 1e-9)
		if len(f.Entries) != 2 {
			t.Errorf("%s: the lot rests on %d entries", c.what, len(f.Entries))
		}
	}
}

// A pull of 20 boxes went half into each of two runs. What one got too much of
// the other lacks: the halves err by 0.15 * 25 kg * sqrt(20)/2 against each
// other, and their sum only as the pull's gross does.
func TestWhatOneRunGotTooMuchOfAPullTheOtherLacks(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull := o.Pull(0, o.Mill, 20, 700_000)
	for i, name := range []string{"1", "2"} {
		run := o.Run(1+float64(i), name)
		o.Supers(1+float64(i), run, pull, 10)
		o.Out(1.5+float64(i), run, o.Settling, 240_000)
		o.Write(1.8+float64(i), &ledger.RunEnd{RunID: run, WaxG: 4_000})
	}
	r := dayOf(t, o, firstDay)
	yard, half := r.Yards[0], flowOf(t, r, balance.Boxes)
	near(t, "half the pull", half.MeasuredKg, 250, 1e-9)
	// Half: the scale's step 0.25, tares 0.5²*10 by themselves and (0.25*10)² all
	// alike, gross (0.004*350)² and (0.0015*350)², boxes (0.15*25)²*20/4.
	near(t, "its variance", half.MeasuredUncertaintyKg*half.MeasuredUncertaintyKg,
		0.25+2.5+6.25+1.96+0.275625+70.3125, 1e-9)
	near(t, "the yard's variance", yard.UncertaintyKg*yard.UncertaintyKg, 0.5+5+25+7.84+1.1025, 1e-9)
}

// The pump is seen from both ends: 500 kg went into the sump and 60 are left, so
// 440 with the variances of a rise (2*0.9²) and a dip (2²), 5.62; the settling
// tank went from 300 to 735 kg, so 435 with 3²+3² = 18. Together
// (440/5.62 + 435/18) / (1/5.62 + 1/18) = 438.81, of variance 4.2828.
func TestWhatAFloatPumpMovedIsWhatTheLevelsImply(t *testing.T) {
	t.Parallel()
	book := func(sumpDipped, settlingDipped bool) *balance.Report {
		o := ledgertest.NewOutfit()
		sump := o.SumpTank
		sump.FeedsTankID = o.Settling
		o.Correct(o.Sump, 0, &sump)
		o.Write(0.5, &ledger.Wash{TankID: o.Sump})
		dip(o, 0.5, o.Settling, 300_000, 3_000)
		run := o.Run(1, "1")
		o.Out(2, run, o.Sump, 500_000)
		if sumpDipped {
			dip(o, 10, o.Sump, 60_000, 2_000)
		}
		if settlingDipped {
			dip(o, 10.2, o.Settling, 735_000, 3_000)
		}
		return dayOf(t, o, firstDay)
	}
	// The pump ran from the morning to the evening; what it did before and after
	// are flows of their own.
	pumped := func(r *balance.Report) balance.Flow {
		for _, f := range r.Flows {
			if f.Kind == balance.Pump && strings.Contains(f.Name, "1 Jul 06:30 to ") {
				return f
			}
		}
		t.Fatal("nothing was pumped")
		return balance.Flow{}
	}
	both := book(true, true)
	f := pumped(both)
	near(t, "the pump", f.ReconciledKg, 438.81, 0.005)
	near(t, "its uncertainty", f.ReconciledUncertaintyKg, math.Sqrt(4.2828), 0.0001)
	if f.Class != reconcile.Determinable || f.Basis != balance.Unseen {
		t.Errorf("the pump is %s and %s", f.Class, f.Basis)
	}
	if !strings.Contains(both.Unseen.String(), "the other weights say how much these were: ") || !strings.Contains(both.Unseen.String(), "float pump took from the sump to the large tank") {
		t.Errorf("of what nobody weighed it says %q", both.Unseen)
	}
	one := book(true, false)
	if f := pumped(one); f.Class == reconcile.Determinable {
		near(t, "the pump from one end", f.ReconciledKg, 440, 1e-6)
	} else {
		t.Errorf("with the sump dipped the pump is %s: %s", f.Class, one.Unseen)
	}
	if f := pumped(book(false, false)); f.Class != reconcile.Indeterminable {
		t.Errorf("with nothing dipped the pump is %s", f.Class)
	}
}

// 1,000 kg rose in the tank, 1,100 went into drums: a wash that takes -100 kg or so would
// make them agree. It takes nothing, and says that the weights by themselves would have it so.
func TestAWashIsNeverAdjustedBelowNothing(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(1, "1")
	o.Out(2, run, o.Settling, 1_000_000)
	lot := o.Lot(3, "26-001")
	for i, number := range []string{"1", "2", "3", "4"} {
		o.Fill(4+float64(i), lot, o.Settling, number, 275_000)
	}
	o.Write(9, &ledger.Wash{TankID: o.Settling})
	r := dayOf(t, o, firstDay)
	wash := flowOf(t, r, balance.WashedOut)
	if wash.ReconciledKg != 0 || wash.Bound != reconcile.AtLeast || wash.FreeKg >= 0 {
		t.Errorf("the wash is %+v", wash.StreamResult)
	}
	if want := "It cannot be less than nothing: the weights by themselves would make it -"; !strings.Contains(wash.Sentence.String(), want) {
		t.Errorf("of the wash it says %q", wash.Sentence)
	}
	if r.Global.Passed || !strings.Contains(r.Statement.String(), "kept at that limit: what was washed out of the large tank on 1 Jul 15:00.") {
		t.Errorf("it says %q", r.Statement)
	}
}

// A dip of 2,100 kg in a tank for 2,000: the tank held no more than it can.
func TestALevelIsNeverAdjustedBeyondTheTank(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(1, "1")
	o.Out(2, run, o.Settling, 1_990_000)
	dip(o, 3, o.Settling, 2_100_000, 6_000)
	level := flowOf(t, dayOf(t, o, firstDay), balance.Level)
	if level.ReconciledKg != 2000 || level.Bound != reconcile.AtMost || !strings.Contains(level.Sentence.String(), "The tank holds no more: the weights by themselves would make it 20") {
		t.Errorf("the dip is %+v: %s", level.StreamResult, level.Sentence)
	}
}

func TestASeasonInWhichLittleWasWeighedSaysSo(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(1, "1")
	o.Out(2, run, o.Settling, 700_000)
	o.Fill(3, o.Lot(3, "26-001"), o.Settling, "1", 300_000)
	r := dayOf(t, o, firstDay)
	if want := "No weight checks another: too little was weighed. Weigh pulls, tanks or containers, and the book compares them."; r.Statement.String() != want {
		t.Errorf("it says %q", r.Statement)
	}
	if r.Global.DegreesOfFreedom != 0 || !r.Global.Passed {
		t.Errorf("the global test is %+v", r.Global)
	}
	if f := flowOf(t, r, balance.End); f.Class != reconcile.Determinable || math.Abs(f.ReconciledKg-400) > 1e-9 {
		t.Errorf("what the tank holds is %+v", f)
	}
	if r := dayOf(t, o, "2026-07-05"); r.Statement.String() != "Nothing was extracted, moved or packed." {
		t.Errorf("of an empty day it says %q", r.Statement)
	}
}

// The dip of the next morning tells what a tank held the evening before, less
// what came in since; that of three days later tells nothing.
func TestALevelSoonAfterTheDayCloses(t *testing.T) {
	t.Parallel()
	for hours, closes := range map[float64]bool{26: true, 90: false} {
		o := ledgertest.NewOutfit()
		run := o.Run(1, "1")
		o.Out(2, run, o.Settling, 700_000)
		o.Out(25, run, o.Settling, 50_000)
		dip(o, hours, o.Settling, 760_000, 4_000)
		f := flowOf(t, dayOf(t, o, firstDay), balance.End)
		if (f.Basis == balance.Weighed) != closes {
			t.Errorf("a dip %g hours later: the end of the day is %s", hours, f.Basis)
		}
		if closes {
			near(t, "the end of the day", f.MeasuredKg, 710, 1e-9)
			near(t, "its uncertainty", f.MeasuredUncertaintyKg, math.Sqrt(16+72), 1e-9)
		}
	}
}

// A drum that is poured back counts by the one weight it was filled with.
func TestADrumPouredBackCountsOnce(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(1, "1")
	o.Out(2, run, o.Settling, 700_000)
	drum := o.Fill(3, o.Lot(3, "26-001"), o.Settling, "1", 300_000)
	o.Write(5, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, To: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}})
	dip(o, 6, o.Settling, 705_000, 4_000)
	r := dayOf(t, o, firstDay)
	in, back := flowOf(t, r, balance.Containers), flowOf(t, r, balance.PouredBack)
	if in.Class == reconcile.Redundant || back.Class != reconcile.Determinable {
		t.Errorf("the drum is %s in and %s back", in.Class, back.Class)
	}
	near(t, "poured back", back.ReconciledKg, in.ReconciledKg, 1e-9)
	// 700 in and 705 there: 5 kg between variances 72 and 16.
	near(t, "chi-square", r.Global.Statistic, 25.0/88, 1e-9)
}

// A run's honey of 700 kg booked as 1543 is named, with what it looks like.
func TestPoundsBookedAsKilogramsAreNamed(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	pull := o.Pull(1, o.Mill, 28, 980_000)
	run := o.Run(2, "1")
	o.Supers(2, run, pull, 28)
	wrong := o.Out(3, run, o.Settling, 1_543_000)
	o.Write(4, &ledger.RunEnd{RunID: run, WaxG: 9_000, EmptiesG: 258_000})
	dip(o, 5, o.Settling, 698_000, 5_000)
	r := dayOf(t, o, firstDay)
	if r.Global.Passed || len(r.Parts) != 1 || r.Parts[0].Suspect == nil {
		t.Fatalf("nobody is suspected: %s", r.Statement)
	}
	s := r.Parts[0].Suspect
	if len(s.Entries) != 1 || s.Entries[0] != wrong || s.Cause.String() != "the figure fits if pounds were written down as kilograms" {
		t.Errorf("suspected is %s: %s", s.Name, s.Sentence)
	}
	for _, want := range []string{"The weights do not agree", "Look first at the figure for the honey of run 1 into the large tank", "too high"} {
		if !strings.Contains(r.Statement.String(), want) {
			t.Errorf("it does not say %q: %s", want, r.Statement)
		}
	}
	yard, err := r.OfYard(o.Mill)
	if err != nil || len(yard.Yards) != 1 || !strings.Contains(yard.Statement.String(), s.Sentence.String()) {
		t.Errorf("the yard says %v %+v", err, yard)
	}
	if _, err := r.OfYard(o.Ridge); err == nil {
		t.Error("a yard that gave nothing has a report")
	}
}

// What a tank held at the start is what the last dip said and what moved since.
func TestTheStartIsTheLastDipAndWhatMovedSince(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := o.Run(1, "1")
	dip(o, 2, o.Settling, 400_000, 5_000)
	o.Out(3, run, o.Settling, 200_000)
	dip(o, 26, o.Settling, 590_000, 5_000)
	r := dayOf(t, o, "2026-07-02")
	start := flowOf(t, r, balance.Start)
	near(t, "the start", start.MeasuredKg, 600, 1e-9)
	near(t, "its uncertainty", start.MeasuredUncertaintyKg, math.Sqrt(25+72), 1e-9)
	near(t, "chi-square", r.Global.Statistic, 100.0/(25+72+25), 1e-9)
}

package season_test

import (
	"strconv"
	"testing"

	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/season"
)

// oddities lists what is odd, how it comes about, and how it is told.
var oddities = []struct {
	code     ledger.Code
	write    func(o *ledgertest.Outfit)
	sentence string
}{
	{ledger.Overdrawn, func(o *ledgertest.Outfit) {
		harvest(o, 500_000)
		o.Write(50, ledgertest.Move(ledger.PlaceTank, o.Settling, ledger.PlaceWaste, ledger.ID{}, 550_000))
	}, "Large tank had 500 kg by the book, but 550 kg were drawn from it: 50 kg too much. " +
		"Did 50 kg or more come into it that nobody wrote down?"},
	{ledger.Overdrawn, func(o *ledgertest.Outfit) {
		small := smallTank(o)
		run := harvest(o, 500_000)
		o.Out(31, run, small, 100_000)
		o.Write(50, ledgertest.Move(ledger.PlaceTank, small, ledger.PlaceWaste, ledger.ID{}, 250_000))
	}, "Small tank had 100 kg by the book, but 250 kg were drawn from it: 150 kg too much. " +
		"Large tank had 500 kg in it: was the honey drawn from there? Did 150 kg or more come into it that nobody wrote down?"},
	{ledger.Overfilled, func(o *ledgertest.Outfit) {
		run := harvest(o, 500_000)
		o.Out(40, run, o.Sump, 350_000)
	}, "Sump has room for 300 kg, but by the book it has 350 kg in it: 50 kg too much. " +
		"Were 50 kg or more drawn from it that nobody wrote down?"},
	{ledger.SupersOverrun, func(o *ledgertest.Outfit) {
		pull := o.Pull(0, o.Mill, 40, 0)
		run := o.Run(10, "1")
		o.Supers(11, run, pull, 38)
		o.Supers(12, run, pull, 5)
	}, "5 supers of the pull from Mill on 1 July 2026 went into run 1, but only 2 of that kind were left. " +
		"Were they counted right, and is it the right pull?"},
	{ledger.MoistureUnusual, func(o *ledgertest.Outfit) {
		o.Write(10, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 24))
	}, "Large tank: 24 % moisture was read, and honey seldom has more than 21 %. Was the sample good, and the prism clean?"},
	{ledger.MoistureUnusual, func(o *ledgertest.Outfit) {
		o.Write(10, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 13))
	}, "Large tank: 13 % moisture was read, and honey seldom has less than 14.5 %. Was the sample good, and the prism clean?"},
	{ledger.ResultUnusual, func(o *ledgertest.Outfit) {
		laboratory(o, 10, ledger.Measured{Quantity: "diastase_gothe", Value: 92})
	}, "Large tank: diastase 92 Gothe scale was recorded, and honey seldom has more than 60 Gothe scale. Is the figure right, and is it in this unit?"},
	{ledger.ResultsDisagree, func(o *ledgertest.Outfit) {
		laboratory(o, 10, ledger.Measured{Quantity: "reducing_sugars_g_per_100g", Value: 84}, ledger.Measured{Quantity: "sucrose_g_per_100g", Value: 17})
	}, "Large tank: sugars, water and the rest of one reading come to 101.0 g in 100 g of honey. Compare each with the certificate."},
	{ledger.ResultUnlikeEarlier, func(o *ledgertest.Outfit) {
		lot := o.Lot(5, "26-01")
		for hours, mg := range map[float64]float64{100: 32, 900: 12} {
			o.Write(hours, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: lot}, Measured: []ledger.Measured{{Quantity: "hmf_mg_per_kg", Value: mg, Method: "HPLC"}}})
		}
	}, "Lot 26-01: HMF was 32 mg/kg on 5 July 2026, and 12 mg/kg was measured after that. HMF never falls in honey. Are both samples of this honey, and are both figures and days right?"},
	{ledger.ResultUnlikeEarlier, func(o *ledgertest.Outfit) {
		run := o.Run(1, "9")
		o.Supers(1, run, o.Pull(0, o.Mill, 40, 0), 40)
		o.Out(2, run, o.Settling, 500_000)
		laboratory(o, 10, ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 6, StdUncertainty: new(0.1)})
		laboratory(o, 11, ledger.Measured{Quantity: "hmf_mg_per_kg", Value: 60})
	}, "Large tank: HMF 60 mg/kg was measured, where earlier results and the warmth since lead to expect about 6 mg/kg. The estimate stays until the next result says which is right. Is the sample of this honey, and is the figure right?"},
	{ledger.AnalysedBeforeFilled, func(o *ledgertest.Outfit) {
		lot := o.Lot(5, "26-01")
		o.Fill(100, lot, o.Settling, "D-1", 300_000)
		o.Write(200, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: lot}, AnalysedOn: "2026-07-03", Measured: []ledger.Measured{{Quantity: "hmf_mg_per_kg", Value: 6, Method: "HPLC"}}})
	}, "Lot 26-01 was filled on 5 July 2026, but the sample of this result was analysed before, on 3 July 2026. Was it a sample of the tank? Then record the result there. Else: is the day right, and is it this honey?"},
	{ledger.TemperatureUnusual, func(o *ledgertest.Outfit) {
		o.Write(10, &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceRoom, ID: o.HotRoom}, Points: []ledger.TemperaturePoint{{At: ledgertest.At(10), TemperatureC: 95}}})
	}, "The temperature log of hot room on 1 July 2026 has 95 °C in it, which is hotter than honey is kept or warmed. Were degrees Fahrenheit written down as Celsius? HMF is estimated from this log."},
	{ledger.PullTooHeavy, func(o *ledgertest.Outfit) {
		// 10 deeps: at most 10 x (10 + 36) = 460 kg, usually 350.
		o.Pull(0, o.Mill, 10, 500_000)
	}, "The pull from Mill on 1 July 2026 weighed 500 kg, but its boxes weigh 460 kg at most when full. Are all its boxes written down?"},
	{ledger.PullTooLight, func(o *ledgertest.Outfit) {
		o.Pull(0, o.Mill, 10, 90_000)
	}, "The pull from Mill on 1 July 2026 weighed 90 kg, but its boxes alone weigh 100 kg when empty. Are too many boxes written down, or was the tare taken off already?"},
	{ledger.PoundsForKilograms, func(o *ledgertest.Outfit) {
		// 350 kg are 771.6 lb.
		o.Pull(0, o.Mill, 10, 771_600)
	}, "The pull from Mill on 1 July 2026 is written down with 771.6 kg, where 350 kg are usual. Were pounds written down as kilograms?"},
	{ledger.GrossAsNet, func(o *ledgertest.Outfit) {
		harvest(o, 900_000)
		o.Fill(50, o.Lot(49, "26-01"), o.Settling, "14", 307_000)
	}, "Drum 14 is written down with 307 kg net, where 290 kg are usual. Was that the gross weight, with the container in it?"},
	{ledger.PoundsForKilograms, func(o *ledgertest.Outfit) {
		harvest(o, 900_000)
		o.Fill(50, o.Lot(49, "26-01"), o.Settling, "14", 131_500)
	}, "Drum 14 is written down with 131.5 kg, where 290 kg are usual. Were kilograms written down as pounds?"},
	{ledger.LoadTwice, func(o *ledgertest.Outfit) {
		run := o.Run(10, "1")
		o.Write(11, &ledger.Load{RunID: run, Load: 1, FramesLeft: 30, FramesRight: 30})
		o.Write(11.05, &ledger.Load{RunID: run, Load: 2, FramesLeft: 30, FramesRight: 30})
	}, "Load 2 of run 1 came 3 min after one that looks the same. Is it one load, entered twice?"},
	{ledger.RecordedLate, func(o *ledgertest.Outfit) {
		o.WriteLate(0, 5*24, &ledger.Wash{TankID: o.Settling})
	}, "The wash of large tank on 1 July 2026 was written down 5 days after it happened. Are its day and its figures still right?"},
	{ledger.RunTooRich, func(o *ledgertest.Outfit) {
		// 10 deeps hold at most 10 x 36 = 360 kg.
		pull := o.Pull(0, o.Mill, 10, 0)
		run := o.Run(10, "1")
		o.Supers(11, run, pull, 10)
		o.Out(12, run, o.Settling, 400_000)
	}, "Run 1 gave 400 kg of honey, but its boxes hold 360 kg at most. Are all its supers written down, and are the weights right?"},
	{ledger.OldStock, func(o *ledgertest.Outfit) {
		late := ledgertest.At(400 * 24)
		lot := o.Lot(0, "25-1")
		o.Out(1, o.Run(0, "1"), o.Settling, 290_000)
		o.Put(ledger.Entry{OccurredAt: ledgertest.At(2), RecordedAt: late, Via: ledger.ViaImport, Body: o.FillBody(lot, o.Settling, "1", 290_000)})
		o.Put(ledger.Entry{OccurredAt: late, RecordedAt: late, Body: &ledger.Import{Of: "containers", File: "old.csv", SHA256: "00", Entries: 1, Rows: 1}})
	}, "An old sheet (\"old.csv\") brought in 1 container with 290 kg that had been filled more than a year before, and the book has no sale of them. " +
		"Is that honey still here? Then accept that. If it was sold or is gone, bring in a sheet of the sales, or say so of all of it at once."},
	{ledger.RunWithoutSupers, func(o *ledgertest.Outfit) {
		o.Out(12, o.Run(10, "1"), o.Settling, 400_000)
	}, "Run 1 gave 400 kg of honey, but no supers are written down for it. Which boxes were extracted?"},
	{ledger.WashedFull, func(o *ledgertest.Outfit) {
		harvest(o, 500_000)
		o.Write(50, &ledger.Wash{TankID: o.Settling})
	}, "Large tank was washed, but by the book 500 kg of honey were still in it. " +
		"Were 500 kg or more drawn from it that nobody wrote down?"},
	{ledger.Overdrawn, func(o *ledgertest.Outfit) {
		lot := o.Lot(49, "26-01")
		for i, pail := range []string{"1", "2", "3", "4"} {
			o.Fill(50+float64(i), lot, o.Settling, pail, 20_000)
		}
	}, "Large tank was empty by the book, but 80 kg more were drawn from it in 4 entries. " +
		"Did 80 kg or more come into it that nobody wrote down?"},
	{ledger.Overdrawn, func(o *ledgertest.Outfit) {
		harvest(o, 500_000)
		for i := range 3 {
			o.Write(50+float64(i), ledgertest.Move(ledger.PlaceTank, o.Settling, ledger.PlaceWaste, ledger.ID{}, 260_000))
		}
	}, "Large tank had 240 kg by the book, but 520 kg were drawn from it in 2 entries: 280 kg too much. " +
		"Did 280 kg or more come into it that nobody wrote down?"},
	{ledger.RestsOnWithdrawn, func(o *ledgertest.Outfit) {
		o.Withdraw(harvest(o, 500_000))
	}, "2 entries name run 0, which was withdrawn. Correct them to name what was meant, or withdraw them too."},
	{ledger.RestsOnWithdrawn, func(o *ledgertest.Outfit) {
		lot := o.Lot(48, "26-01")
		o.Withdraw(lot)
		o.Fill(50, lot, o.Settling, "14", 290_000)
	}, "Drum 14 names lot 26-01, which was withdrawn. Correct it to name what was meant, or withdraw it too."},
	{ledger.ContainerEmpty, func(o *ledgertest.Outfit) {
		harvest(o, 900_000)
		drum := o.Fill(50, o.Lot(49, "26-01"), o.Settling, "14", 290_000)
		o.Dispatch(51, drum)
		o.Dispatch(52, drum)
	}, "Drum 14 was empty or gone already by the book. Was another container meant? Is the dispatch to packer on 3 July 2026 the same, entered twice?"},
	{ledger.ContainerEmpty, func(o *ledgertest.Outfit) {
		harvest(o, 900_000)
		drum := o.Fill(50, o.Lot(49, "26-01"), o.Settling, "14", 290_000)
		o.Write(51, ledgertest.Move(ledger.PlaceContainer, drum, ledger.PlaceTank, o.Settling, 300_000))
	}, "Drum 14 had 290 kg by the book, but 300 kg were taken from it. Was another container meant?"},
	{ledger.StocktakeFarOff, func(o *ledgertest.Outfit) {
		small := smallTank(o)
		run := harvest(o, 500_000)
		o.Out(31, run, small, 400_000)
		o.Write(40, &ledger.Stocktake{TankID: o.Settling, MassG: 905_000, UncertaintyG: 5_000})
	}, "Large tank should hold 500 kg by the book, but the stocktake on 2 July 2026 found 905 kg: 405 kg more. " +
		"400 kg from run 0 to small tank on 2 July 2026 would explain it: did that honey go into large tank? Or were 405 kg poured in or drawn that nobody wrote down?"},
	{ledger.ReadingUnexpected, func(o *ledgertest.Outfit) {
		run := harvest(o, 500_000)
		o.Write(30, ledgertest.Moisture(ledger.PlaceRun, run, 19.5))
		o.Write(31, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 19.5))
		o.Write(40, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 15.9))
	}, "Large tank should have about 19.5 % moisture by what went into it, but 15.9 % was read. " +
		"19.5 would fit: were two digits swapped? Or the sample was not like the rest of the honey: stir, and read again."},
	{ledger.ReadEmpty, func(o *ledgertest.Outfit) {
		run := harvest(o, 500_000)
		o.Write(30.1, ledgertest.Moisture(ledger.PlaceRun, run, 17.2))
		o.Write(40, ledgertest.Moisture(ledger.PlaceTank, smallTank(o), 17.3))
	}, "Small tank was read, but by the book it was empty. " +
		"It would fit large tank, which should have 17.2 %: was that tank read, or was a hose on the wrong one? " +
		"Or did honey come into it that nobody wrote down? Then write down what went in, or dip it and write down a stocktake."},
	{ledger.MoreSpun, func(o *ledgertest.Outfit) {
		pull := o.Pull(0, o.Mill, 130, 0)
		run, next := o.Run(10, "1"), o.Run(30, "2")
		o.Supers(10, run, pull, 60)
		o.Supers(30, next, pull, 56)
		for i := range 20 {
			o.Write(11+float64(i)/4, &ledger.Load{RunID: run, Load: i + 1, FramesLeft: 29, FramesRight: 29})
		}
	}, "The loads of run 1 have 1160 frames, but the supers booked into it have 600. Were more supers extracted than are written down? " +
		"Run 2 lacks 560 frames: do some of the loads belong to it? " +
		"14 supers of the pull from Mill on 1 July 2026 went into no run: were those the ones?"},
	{ledger.MovementTwice, func(o *ledgertest.Outfit) {
		run := harvest(o, 1_000_000)
		o.Out(30.2, run, o.Settling, 1_000_000)
	}, "1000 kg from run 0 to large tank on 2 July 2026 came 12 min after one that looks the same. " +
		"Is 1000 kg from run 0 to large tank on 2 July 2026 the same, entered twice?"},
	{ledger.NeverExtracted, func(o *ledgertest.Outfit) {
		pull := o.Pull(0, o.Mill, 20, 0)
		o.Supers(10, o.Run(10, "1"), pull, 15)
		o.Write(20*24, &ledger.Wash{TankID: o.Sump})
	}, "5 supers of the pull from Mill on 1 July 2026 never went into a run: about 125 kg of honey. " +
		"Do they still stand somewhere, or was their run not written down?"},
	{ledger.WarmWithoutLog, func(o *ledgertest.Outfit) {
		usual := 40.0
		warm := o.SetUp(&ledger.Tank{Name: "warm tank", Use: ledger.Heated, CapacityG: 1_000_000, UsualTemperatureC: &usual})
		o.Out(35, harvest(o, 500_000), warm, 450_000)
		o.Write(107, ledgertest.Move(ledger.PlaceTank, warm, ledger.PlaceWaste, ledger.ID{}, 450_000))
	}, "Warm tank held honey for 72 hours without a temperature log, from 2 July 2026 on. " +
		"The book reckons with 40 °C, as usual there. If it was warmer, the honey has more HMF than the book says."},
	{ledger.RunWithoutSupers, func(o *ledgertest.Outfit) {
		o.Pull(0, o.Mill, 20, 0)
		o.Out(12, o.Run(10, "1"), o.Settling, 500_000)
	}, "Run 1 gave 500 kg of honey, but no supers are written down for it. Which boxes were extracted? 20 supers of the pull from Mill on 1 July 2026 went into no run: were those the ones?"},
	{ledger.NetUnusual, func(o *ledgertest.Outfit) { thirteenDrums(o, 343_600) },
		"Drum 6 has 343.6 kg net, where others of its kind hold about 289.6 kg here: 54 kg more. " +
			"A gross weight of 306.6 kg would fit: were two digits swapped?"},
	{ledger.NetUnusual, func(o *ledgertest.Outfit) { thirteenDrums(o, 271_700) },
		"Drum 6 has 271.7 kg net, where others of its kind hold about 289.6 kg here: 17.9 kg less. " +
			"Or was it not filled up, 17.9 kg short of the usual?"},
	{ledger.RunYieldUnusual, func(o *ledgertest.Outfit) {
		for i := range 9 {
			harvestedRun(o, 24*float64(i), 499_000)
		}
		harvestedRun(o, 240, 250_000)
	}, "Run 240 gave 250 kg, where the season's other runs got about 499 kg from such boxes: 249 kg less. " +
		"551.2 kg would fit: is 250 kg from run 240 to large tank on 11 July 2026 in the wrong unit, pounds or kilograms? Or did nobody write down 249 kg of its honey?"},
	{ledger.InstrumentDoubtful, func(o *ledgertest.Outfit) {
		harvest(o, 500_000)
		r := ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.2)
		r.InstrumentID = o.Refractometer
		o.Write(40, r)
		o.Write(60, &ledger.Calibration{InstrumentID: o.Refractometer, Expected: 17, AsFound: 17.5, AsLeft: 17, Tolerance: 0.2})
	}, "Refractometer showed 17.5 instead of 17 when it was checked on 3 July 2026. What it read since its last good check may be off and counts for less: 1 reading."},
}

func smallTank(o *ledgertest.Outfit) ledger.ID {
	return o.SetUp(&ledger.Tank{Name: "small tank", Use: ledger.Settling, CapacityG: 1_000_000})
}

// harvestedRun is a run of twenty deep supers whose honey is gone again.
func harvestedRun(o *ledgertest.Outfit, hours float64, grams int64) {
	run := o.Run(hours+10, amountText(hours))
	o.Supers(hours+10, run, o.Pull(hours, o.Mill, 20, 0), 20)
	o.Out(hours+12, run, o.Settling, grams)
	o.Write(hours+13, &ledger.RunEnd{RunID: run})
	o.Write(hours+14, ledgertest.Move(ledger.PlaceTank, o.Settling, ledger.PlaceWaste, ledger.ID{}, grams))
}

func amountText(hours float64) string { return strconv.Itoa(int(hours)) }

// thirteenDrums are of 289.6 kg except for one.
func thirteenDrums(o *ledgertest.Outfit, odd int64) {
	lot := o.Lot(0, "26-01")
	for i := range 14 {
		net := int64(289_600)
		if i == 6 {
			net = odd
		}
		o.Write(float64(i), &ledger.Stocktake{TankID: o.Settling, MassG: 400_000, UncertaintyG: 200_000})
		o.Fill(float64(i)+0.5, lot, o.Settling, strconv.Itoa(i), net)
	}
}

// harvest brings honey of forty supers to the large tank, in run 0.
func harvest(o *ledgertest.Outfit, grams int64) ledger.ID {
	pull := o.Pull(0, o.Ridge, 40, 0)
	run := o.Run(20, "0")
	o.Supers(20, run, pull, 40)
	o.Out(30, run, o.Settling, grams)
	return run
}

func TestWhatIsOddIsToldInPlainWords(t *testing.T) {
	t.Parallel()
	for _, odd := range oddities {
		o := ledgertest.NewOutfit()
		odd.write(o)
		b := open(t, o)
		list := season.Evening(b)
		told := false
		for _, f := range list.Open {
			told = told || f.Code == odd.code && season.OddOf(b, f).InFull().String() == odd.sentence
		}
		if !told {
			t.Errorf("%s was to be told as %q, but the list is %v", odd.code, odd.sentence, sentences(b, list.Open))
		}
	}
}

func laboratory(o *ledgertest.Outfit, hours float64, m ...ledger.Measured) {
	o.Write(hours, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: o.Settling}, Measured: m})
}

// Both moves are good to 14 kg, together to 20: 40 kg are two standard deviations, which
// chance has once in 22. 150 kg it has not.
func TestHowUnlikelyAFindingIsStandsBesideItsSentence(t *testing.T) {
	t.Parallel()
	for drawn, want := range map[int64]string{540_000: "seldom chance", 650_000: "hardly chance"} {
		o := ledgertest.NewOutfit()
		harvest(o, 500_000)
		o.Write(50, ledgertest.Move(ledger.PlaceTank, o.Settling, ledger.PlaceWaste, ledger.ID{}, drawn))
		b := open(t, o)
		odd := season.OddOf(b, season.Evening(b).Open[0])
		same(t, "in words", odd.Chance.String(), want)
	}
	o := ledgertest.NewOutfit()
	o.Write(10, ledgertest.Moisture(ledger.PlaceTank, o.Settling, 24))
	b := open(t, o)
	same(t, "of what nobody worked out", season.OddOf(b, season.Evening(b).Open[0]).Chance.String(), "")
}

func sentences(b *ledger.Book, list []*ledger.Flag) []string {
	var out []string
	for _, f := range list {
		out = append(out, string(f.Code)+": "+season.OddOf(b, f).InFull().String())
	}
	return out
}

func TestTheEveningListPutsMostHoneyFirstAndKeepsWhatWasSettled(t *testing.T) {
	t.Parallel()
	o := ledgertest.NewOutfit()
	run := harvest(o, 500_000)
	o.Write(35, ledgertest.Moisture(ledger.PlaceRun, run, 24))
	o.Out(40, run, o.Sump, 350_000)
	spilt := o.Write(50, ledgertest.Move(ledger.PlaceTank, o.Settling, ledger.PlaceWaste, ledger.ID{}, 545_000))
	list := season.Evening(open(t, o))
	var order []ledger.Code
	for _, f := range list.Open {
		order = append(order, f.Code)
	}
	if len(order) != 3 || order[0] != ledger.Overfilled || order[1] != ledger.Overdrawn || order[2] != ledger.MoistureUnusual {
		t.Fatalf("50 kg too many, 45 kg unexplained and a wet reading come as %v", order)
	}
	same(t, "the honey in question", list.OpenG, 95_000)

	o.Accept(60, spilt, ledger.Overdrawn)
	b := open(t, o)
	list = season.Evening(b)
	same(t, "what is still open", len(list.Open), 2)
	settled := season.OddOf(b, list.At(2))
	same(t, "what was settled", settled.Code, ledger.Overdrawn)
	same(t, "why", settled.Reason, "looked into")
	same(t, "by whom", settled.SettledBy, "Ada")
}

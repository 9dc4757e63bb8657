package rest

import (
	"math"
	"reflect"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"pullbook/domain/ledger"
)

// monday is eight in the morning of a Monday.
var monday = time.Date(2026, 8, 17, 8, 0, 0, 0, time.UTC)

// small is a house that leaves nothing to chance: 12 supers of 20 kg are dry, six go in at a time and take an hour,
// honey settles for a day, and 120 kg are filled in an hour.
func small() *House {
	return &House{
		From: monday, Shift: usualShift, Courses: []Course{{}}, MostADay: 40, HotRoom: 100, Waiting: []Stack{{12, 48}}, DryHours: []float64{24},
		SupersAnHour: []float64{6}, Lines: 1, Load: 6, Batch: 6, KgPerSuper: []float64{20}, Tanks: []Tank{{"tank", 1000, 0, 0}}, SettleHours: []float64{24},
		FillKgPerHour: 120, DrumKg: 300, DrumShare: 1,
	}
}

func (h *House) once() Rest { return h.play(h.calendar(), 1, 0) }

// Two loads of an hour until ten, a day of settling, and two hours of filling 240 kg: Tuesday at noon.
func TestTwoLoadsOfAMondayAreInADrumOnTuesdayAtNoon(t *testing.T) {
	r := small().once()
	if !r.Over || r.WorkedHours != 2 || r.ExtractedAt != 2 || r.EndsAt != 28 || r.Drums != 1 || r.Kg != 240 || r.FilledKg != 240 {
		t.Errorf("%+v", r)
	}
}

// A tank of 130 kg takes one load. The second waits from nine on Monday until it is filled from at ten on Tuesday; it
// is in its drum on Wednesday at noon. With another tank both are in drums on Tuesday at eleven, 25 hours sooner. A line
// that is twice as fast saves its hour; of all else there is enough.
func TestASmallTankHoldsUpTheLine(t *testing.T) {
	h := small()
	h.Tanks[0].CapacityKg = 130
	p := h.Plan(1)
	if p.Ends.Middle != 52 || len(p.Binds) != 1 || p.Binds[0].Way != Tanks || p.Binds[0].First != 1 || p.Binds[0].From != 1 {
		t.Errorf("ends after %v hours, held up by %+v; want 52, by tanks from the first hour on", p.Ends, p.Binds)
	}
	for _, m := range p.More {
		if want := map[More]float64{AnotherTank: 25.0 / 24, AnotherLine: 1.0 / 24}[m.More]; math.Abs(m.Mean-want) > 1e-9 {
			t.Errorf("%s; want %.2f days", m.Said(), want)
		}
	}
	if p.More[0].More != AnotherTank {
		t.Errorf("first comes %s", p.More[0].Said())
	}
}

// Of 90 supers that are ripe the hot room takes 30 a day, since 30 are dry on the next day; the trucks could bring 60.
// With as much room again they bring 60 and 30.
func TestAFullHotRoomLeavesSupersOnTheYards(t *testing.T) {
	h := small()
	h.Waiting, h.HotRoom, h.MostADay, h.Tanks[0].CapacityKg = nil, 30, 60, 4000
	h.Courses[0].add(Due{ledger.ID{1}, 0, 90})
	r := h.once()
	if r.First[HotRoom] != 4.5 || r.First[Trucks] != 4.5 || !math.IsInf(r.First[Tanks], 1) {
		t.Errorf("held up at %v; want the hot room and the trucks when the trucks are out on Monday", r.First)
	}
	more := h.with(AnotherHotRoom)
	if s := more.once(); s.EndsAt >= r.EndsAt || s.Extracted != 90 || r.Extracted != 90 {
		t.Errorf("after %v hours with %d supers extracted, without more room after %v with %d", s.EndsAt, s.Extracted, r.EndsAt, r.Extracted)
	}
}

// 120 supers are dry at once, of which the line takes 6 an hour: on Monday at noon more are dry than in a day of 9 hours
// go through it. With 30 an hour none are.
func TestALineThatIsADayBehindIsSaid(t *testing.T) {
	h := small()
	h.Waiting = []Stack{{120, 48}}
	h.HotRoom = 200
	h.Courses[0].add(Due{ledger.ID{1}, 1, 6})
	if r := h.once(); r.First[Line] != 4.5 {
		t.Errorf("behind from %v on; want from Monday on, when 120 supers wait and a day takes 54", r.First[Line])
	}
	h.SupersAnHour = []float64{30}
	if r := h.once(); !math.IsInf(r.First[Line], 1) {
		t.Errorf("behind from %v on; want never", r.First[Line])
	}
}

// Of 240 kg two drums take 200 by twenty to twelve on Tuesday. A third is ordered then, comes a week later and is filled in
// twenty minutes. Ten more on hand save that week, and so does one that comes at noon on Tuesday.
func TestDrumsOnHandAreUsedUp(t *testing.T) {
	h := small()
	h.DrumKg, h.DrumsOnHand, h.OrderHours = 100, new(2), 7*24
	p := h.Plan(1)
	if p.Drums.Middle != 3 || p.ToOrder == nil || p.ToOrder.High != 1 || len(p.Binds) != 1 || p.Binds[0].Way != Drums || math.Abs(p.Binds[0].From-(27+2.0/3)) > 1e-9 {
		t.Errorf("%+v, to order %+v; want 3 drums of 240 kg, one to order, and the third missing on Tuesday at twenty to twelve", p, p.ToOrder)
	}
	if math.Abs(p.Ends.Middle-196) > 1e-9 || p.More[0].More != MoreDrums || math.Abs(p.More[0].Mean-7) > 1e-9 {
		t.Errorf("ends after %g hours, first %s; want 196, and ten more drums to save a week", p.Ends.Middle, p.More[0].Said())
	}
	h.DrumsArriving, h.ArriveHours = 1, 28
	if p := h.Plan(1); math.Abs(p.Ends.Middle-28-1.0/3) > 1e-9 || p.ToOrder.High != 0 || p.Binds[0].Way != Drums {
		t.Errorf("ends after %g hours, to order %+v; want twenty minutes after noon on Tuesday, and none", p.Ends.Middle, p.ToOrder)
	}
}

// The tank takes one load. One drum takes 100 kg of it, and without another the other 20 kg stay where they are, so that the
// second load never goes in.
func TestTheLineStandsOnceTheDrumsAreOut(t *testing.T) {
	h := small()
	h.Tanks[0].CapacityKg, h.DrumKg, h.DrumsOnHand = 130, 100, new(1)
	if r := h.once(); r.Over || r.Extracted != 6 || r.Drums != 1 || r.FilledKg != 100 || math.Abs(r.LeftKg-20) > 1e-9 || r.First[Drums] != 25+100.0/120 || r.First[Tanks] != 1 {
		t.Errorf("%+v; want six supers extracted, 100 kg in a drum and 20 kg left", r)
	}
	h.OrderHours = 24
	if r := h.once(); !r.Over || r.Extracted != 12 || r.Drums != 3 || math.Abs(r.FilledKg-240) > 1e-9 {
		t.Errorf("%+v; want all to go on once drums have come", r)
	}
}

// A season whose last day is five days late takes a tenth longer where 50 days were expected, one that is as early a
// tenth shorter, and one that should be over already a day. Where supers come at the trucks' pace, half as many more take half as long again.
func TestALateSeasonIsStretched(t *testing.T) {
	for late, want := range map[float64]float64{5: 1.1, -5: 0.9, -60: 1.0 / 50} {
		if got := stretched(50, late); math.Abs(got-want) > 1e-9 {
			t.Errorf("%g days late: %g times as long, want %g", late, got, want)
		}
	}
	for paced, want := range map[bool]float64{true: 15, false: 10} {
		c := Course{Paced: paced}
		c.add(Due{ledger.ID{1}, 10, 40})
		if more := c.times(1.5); more.Supers != 60 || more.lastDay() != want {
			t.Errorf("paced %v: %+v, want 60 supers after %g days", paced, more, want)
		}
	}
}

// Tanks are filled from once they hold an eighth: the first load is in one by nine and the second in another by ten. Each
// settles for a day by itself, and takes an hour to fill from, so that the house ends an hour sooner than with one tank.
func TestATankIsFilledFromAsFullAsItUsedToBe(t *testing.T) {
	h := small()
	h.FullAt, h.Tanks = []float64{0.12}, []Tank{{"one", 1000, 0, 0}, {"other", 1000, 0, 0}}
	if r := h.once(); r.EndsAt != 27 || r.ExtractedAt != 2 || r.FilledKg != 240 {
		t.Errorf("%+v; want it to end at eleven on Tuesday", r)
	}
}

// Earlier seasons took two days and a half from the last honey to the last container. The last load is out at ten on
// Monday, and the house ends on Wednesday at ten in the evening, though the tank had settled by Tuesday.
func TestTheEndTakesAsLongAsInEarlierSeasons(t *testing.T) {
	h := small()
	h.EndHours = 60
	if r := h.once(); !r.Over || r.ExtractedAt != 2 || r.EndsAt != 62 || r.FilledKg != 240 || r.Drums != 1 {
		t.Errorf("%+v", r)
	}
}

// Saturday's evening shift is worked, and Sunday is not.
func TestNobodyWorksOnSunday(t *testing.T) {
	h := small()
	h.From = monday.AddDate(0, 0, 5)
	h.EveningHours = 3
	c := h.calendar()
	if c.after(0, 12) != 12 || c.after(0, 13) != 49 || c.open(13) != 48 || c.between(0, 50) != 14 {
		t.Errorf("12 hours from Saturday at eight are over after %v, 13 after %v; Monday is open after %v; %v hours until ten", c.after(0, 12), c.after(0, 13), c.open(13), c.between(0, 50))
	}
}

// houses are houses of any sort.
func houses() *rapid.Generator[*House] {
	return rapid.Custom(func(t *rapid.T) *House {
		several := func(name string, low, high float64) []float64 {
			return rapid.SliceOfN(rapid.Float64Range(low, high), 1, 5).Draw(t, name)
		}
		h := &House{
			From: monday.Add(time.Duration(rapid.IntRange(0, 9999).Draw(t, "minutes")) * time.Minute), Shift: usualShift,
			EveningHours: rapid.Float64Range(0, 8).Draw(t, "evening"), Out: Spread{rapid.Float64Range(0, 0.3).Draw(t, "out sd")}, Late: Spread{rapid.Float64Range(0, 9).Draw(t, "late")},
			MostADay: rapid.IntRange(20, 120).Draw(t, "trucks"), HotRoom: rapid.IntRange(60, 400).Draw(t, "hot room"),
			DryHours: several("drying", 0, 72), SupersAnHour: several("an hour", 4, 40), Load: rapid.IntRange(1, 8).Draw(t, "load"),
			Lines: 1, KgPerSuper: several("honey", 8, 34), KgSD: 0.05, SettleHours: several("settling", 6, 48), FillKgPerHour: rapid.Float64Range(200, 3000).Draw(t, "filling"),
			DrumKg: rapid.Float64Range(20, 320).Draw(t, "drum"), DrumShare: rapid.Float64Range(0, 1).Draw(t, "in drums"),
			FullAt:   rapid.SliceOfN(rapid.Float64Range(0.1, 1), 0, 3).Draw(t, "full at"),
			EndHours: rapid.SampledFrom([]float64{0, 20, 90}).Draw(t, "end"), End: Spread{0.5},
		}
		if rapid.Bool().Draw(t, "drums are counted") {
			h.DrumsOnHand, h.OrderHours = new(rapid.IntRange(0, 60).Draw(t, "drums")), rapid.SampledFrom([]float64{0, 24, 168}).Draw(t, "order")
			h.DrumsArriving, h.ArriveHours = rapid.IntRange(0, 9).Draw(t, "arriving"), rapid.Float64Range(0, 600).Draw(t, "arrive")
		}
		h.Batch = min(h.HotRoom, rapid.IntRange(1, 60).Draw(t, "batch"))
		for range rapid.IntRange(1, 3).Draw(t, "courses") {
			var c Course
			for range rapid.IntRange(0, 8).Draw(t, "pulls") {
				c.add(Due{ledger.ID{1}, float64(rapid.IntRange(0, 60).Draw(t, "day")), rapid.Float64Range(0, 90).Draw(t, "supers")})
			}
			h.Courses = append(h.Courses, c)
		}
		for range rapid.IntRange(0, 5).Draw(t, "stacks") {
			h.Waiting = append(h.Waiting, Stack{rapid.IntRange(1, 60).Draw(t, "stack"), rapid.Float64Range(0, 90).Draw(t, "since")})
		}
		for range rapid.IntRange(1, 4).Draw(t, "tanks") {
			capacity := rapid.Float64Range(1500, 6000).Draw(t, "capacity")
			h.Tanks = append(h.Tanks, Tank{"tank", capacity, rapid.Float64Range(0, 1.02).Draw(t, "held") * capacity, rapid.Float64Range(0, 90).Draw(t, "idle")})
		}
		return h
	})
}

func TestNoSuperAndNoHoneyIsLostInAnyRest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := houses().Draw(t, "house")
		waiting, held := 0, 0.0
		for _, s := range h.Waiting {
			waiting += s.Supers
		}
		for _, x := range h.Tanks {
			held += x.Kg
		}
		c := h.calendar()
		for n := range uint64(5) {
			r := h.play(c, 7, n)
			if math.Abs(held+r.Kg-r.FilledKg-r.LeftKg) > 1e-6*(1+held+r.Kg) {
				t.Fatalf("%g kg were in tanks and %g came from the line; %g were filled and %g are left", held, r.Kg, r.FilledKg, r.LeftKg)
			}
			if r.Extracted > r.Out+waiting || r.Over && (r.Extracted != r.Out+waiting || r.LeftKg != 0) {
				t.Fatalf("%d supers were out and %d in hot rooms, %d were extracted: %+v", r.Out, waiting, r.Extracted, r)
			}
			var days Worked
			for _, w := range r.Days {
				days.add(w)
			}
			if math.Abs(days.Kg-r.Kg)+math.Abs(days.FilledKg-r.FilledKg) > 1e-6*(1+held+r.Kg) || int(days.Extracted) != r.Extracted || int(days.Drums) != r.Drums || r.Over && int(days.In) != r.Out {
				t.Fatalf("the days come to %+v, the whole to %+v", days, r)
			}
			if r.Over && (r.EndsAt < r.ExtractedAt || float64(r.Drums-1)*h.DrumKg > r.FilledKg) {
				t.Fatalf("%+v", r)
			}
			mayOrder := h.DrumsOnHand == nil || h.OrderHours > 0
			if !r.Over && mayOrder {
				t.Fatalf("not over after a year: %+v", r)
			}
			if !mayOrder && (r.Drums > *h.DrumsOnHand+h.DrumsArriving || r.FilledKg*h.DrumShare > float64(*h.DrumsOnHand+h.DrumsArriving)*h.DrumKg+1e-6) {
				t.Fatalf("%d drums are on hand and %d arrive, and %d were filled: %+v", *h.DrumsOnHand, h.DrumsArriving, r.Drums, r)
			}
			if again := h.play(c, 7, n); !reflect.DeepEqual(r, again) {
				t.Fatalf("the same seed gave %+v and %+v", r, again)
			}
		}
	})
}

// A thing more may shift a load to the evening, and its tank to the next morning, so that one rest or another ends
// later for it. Over many houses and rests it saves time, and costs a day in few.
func TestOneMoreOfAnythingSavesTime(t *testing.T) {
	const many = 300
	for m := range mores {
		sum, costs := 0.0, 0
		for n := range many {
			h := houses().Example(n)
			if h.DrumsOnHand == nil {
				h.DrumsOnHand = new(5)
			}
			h.OrderHours = 168
			house := h.with(m)
			days := stat.Mean(sooner(h.playAll(3, 20), house.playAll(3, 20)), nil)
			if sum += days; days < -0.5 {
				costs++
			}
		}
		t.Logf("%d saves %.2f days on average, and costs half a day in %d of %d houses", m, sum/many, costs, many)
		if sum < 0 || costs > many/50 {
			t.Errorf("%d saves %.2f days on average, and costs half a day in %d of %d houses", m, sum/many, costs, many)
		}
	}
}

// A thousand rests of a middling season: 30 days of pulls of 40 supers, a line of 22 an hour, two tanks.
func BenchmarkAThousandRests(b *testing.B) {
	h := small()
	h.Waiting, h.SupersAnHour, h.HotRoom, h.Out, h.Late, h.KgSD = []Stack{{60, 20}}, []float64{18, 22, 25}, 250, Spread{0.25}, Spread{5}, 0.05
	h.Tanks, h.FillKgPerHour = []Tank{{"large", 4500, 900, 5}, {"small", 1100, 0, 0}}, 1200
	for d := range 30 {
		h.Courses[0].add(Due{ledger.ID{1}, float64(d), 40})
	}
	for b.Loop() {
		h.playAll(1, 1000)
	}
}

// As many supers as may be left, in as many stacks as are told apart and at as many yards as there may be: what a plan
// of the largest house takes, all that is tried beside it counted.
func BenchmarkTheLargestHouse(b *testing.B) {
	h := small()
	h.SupersAnHour, h.HotRoom, h.Out, h.Late, h.KgSD, h.MostADay = []float64{80, 120}, MostSupers, Spread{0.25}, Spread{5}, 0.05, 4000
	h.Tanks, h.FillKgPerHour, h.Waiting = []Tank{{"large", 45_000, 900, 5}, {"small", 11_000, 0, 0}}, 12_000, nil
	for range mostStacks {
		h.Waiting = append(h.Waiting, Stack{MostSupers / 2 / mostStacks, 20})
	}
	for n := range 4000 {
		h.Courses[0].add(Due{ledger.ID{byte(n)}, float64(n % 40), MostSupers / 2 / 4000.0})
	}
	b.ReportAllocs()
	for b.Loop() {
		h.Plan(1)
	}
}

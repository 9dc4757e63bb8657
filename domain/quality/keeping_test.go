package quality_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"pullbook/domain/heat"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/domain/quality"
	"pullbook/domain/standard"
)

func (h *house) keeps(on standard.Date, lots []ledger.ID, ruleSets ...string) []quality.Keeps {
	h.t.Helper()
	k, err := quality.Keeping(h.book, lots, h.published(on, ruleSets...), on)
	if err != nil {
		h.t.Fatal(err)
	}
	return k
}

func lineOn(t *testing.T, k quality.Keeps, parameter string) quality.KeepLine {
	t.Helper()
	for _, l := range k.Lines {
		if l.Parameter == parameter {
			return l
		}
	}
	t.Fatalf("no line on %s in %+v", parameter, k.Lines)
	return quality.KeepLine{}
}

// By hand, at 30 C: HMF forms 5.1468 exp(-134635/8.31446 (1/303.15 - 1/323.15))
// = 0.1887 mg/kg a day in the middle honey, so 12 mg/kg of 2 July pass 40 after
// 148.4 days; nine honeys in ten within a factor of 2.371 and, 10 C colder than what
// is covered, exp(1.645*8000/8.31446*(1/303.15 - 1/313.15)) = 1.181 more: 53.0 to 415.5 days.
// Diastase falls at 0.1290 exp(-147289/8.31446 (...)) = 0.003467 a day, so 20
// pass 8 after ln(20/8)/0.003467 = 264.3 days, within a factor of 2.
func TestALotPassesItsLimitsWhenItsStoreMakesIt(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	thirty := 30.0
	h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &thirty})
	h.certify(41.9, hmf(12), diastase(20))                           // late on 2 July, so that days count from its end
	for _, on := range []standard.Date{"2026-07-02", "2026-07-22"} { // looked at later, it is the same day
		k := h.keeps(on, []ledger.ID{h.lot}, "eu-honey")[0]
		l := lineOn(t, k, "hmf")
		if l.Leaves == nil || l.MeasuredOn != day2 || !strings.Contains(l.Clause, "6(b)") {
			t.Fatalf("HMF: %+v", l)
		}
		near(t, "earliest day over 40 mg/kg", daysBetween(t, day2, l.Leaves.Low), 53.0, 1.3)
		near(t, "expected day over 40 mg/kg", daysBetween(t, day2, l.Leaves.Middle), 148.4, 1.3)
		near(t, "latest day over 40 mg/kg", daysBetween(t, day2, l.Leaves.High), 415.5, 1.3)
		d := lineOn(t, k, "diastase")
		near(t, "earliest day under 8", daysBetween(t, day2, d.Leaves.Low), 132.2, 1.3)
		near(t, "expected day under 8", daysBetween(t, day2, d.Leaves.Middle), 264.3, 1.3)
		if k.GoBy != l.Leaves.Low || !strings.Contains(k.Why.String(), "HMF") {
			t.Errorf("it has to go by %s (%s); the first limit is passed on %s", k.GoBy, k.Why, l.Leaves.Low)
		}
	}
}

// A limit that hangs on the other figure holds only as long as that does. By hand, at
// the rates above: HMF of 7 is over 15 after 8/0.1887 = 42.4 days, and from then on
// Canada wants a diastase of 8, which 14 fall under after ln(14/8)/0.003467 = 161.4
// days, not the 3 of today. Of 10 and 5 it wants less than 8 only until HMF is over 15:
// 26.5 days. In the EU, of a honey low in enzymes, 9 are under 8 after 34.0 days: with
// HMF of 10 it has 16.4 by then, over the 15 that goes with it; with 2 it has 8.4, and
// passes 15 after 68.9 days.
func TestALimitThatHangsOnTheOtherFigureIsFollowed(t *testing.T) {
	t.Parallel()
	low := standard.Declaration{"enzyme": {"low"}}
	for _, c := range []struct {
		set                  string
		declares             standard.Declaration
		hmf, diastase        float64
		hmfDays, diastaseDay float64
		hmfLimit, dnLimit    string
	}{
		{"ca-grade-compendium-6", nil, 7, 14, 33 / 0.1887, 161.4, "40", "8"},
		{"ca-grade-compendium-6", nil, 10, 5, 30 / 0.1887, 26.5, "40", "8"},
		{"ca-grade-compendium-6", nil, 20, 14, 20 / 0.1887, 161.4, "40", "8"},
		{"eu-honey", low, 10, 9, 34.0, 34.0, "15", "8"},
		{"eu-honey", low, 2, 9, 68.9, 68.9, "15", "8"},
		{"eu-honey", nil, 10, 9, 30 / 0.1887, 34.0, "40", "8"},
	} {
		h := newHouse(t, c.declares)
		thirty := 30.0
		h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &thirty})
		h.certify(41.9, hmf(c.hmf), diastase(c.diastase))
		for _, on := range []standard.Date{"2026-07-02", "2026-07-10"} {
			k := h.keeps(on, []ledger.ID{h.lot}, c.set)[0]
			for parameter, want := range map[string]struct {
				days  float64
				limit string
			}{"hmf": {c.hmfDays, c.hmfLimit}, "diastase": {c.diastaseDay, c.dnLimit}} {
				l := lineOn(t, k, parameter)
				if l.Leaves == nil || l.Outside || !strings.Contains(l.Limit.String(), " "+want.limit+" ") {
					t.Errorf("%s, HMF %g and diastase %g: %s leaves %+v, limit %s", c.set, c.hmf, c.diastase, parameter, l.Leaves, l.Limit)
					continue
				}
				what := c.set + ", " + parameter
				near(t, what, daysBetween(t, day2, l.Leaves.Middle), want.days, 1.6)
				if !(l.Leaves.Low < l.Leaves.Middle && l.Leaves.Middle < l.Leaves.High) {
					t.Errorf("%s: from %s over %s to %s", what, l.Leaves.Low, l.Leaves.Middle, l.Leaves.High)
				}
			}
		}
	}
}

// What is outside already was so when it was measured, also where nothing tells how
// warm it stands, and with no diastase left at all.
func TestWhatIsOutsideAlreadyHasToGoFirst(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.certify(41.9, hmf(12), diastase(0))
	k := h.keeps(day10, []ledger.ID{h.lot}, "eu-honey")[0]
	if l := lineOn(t, k, "diastase"); !l.Outside || l.Leaves == nil || l.Leaves.High != day2 {
		t.Errorf("of no diastase: %+v", l)
	}
	if k.GoBy != day2 || !strings.Contains(k.Why.String(), "was outside") {
		t.Errorf("it has to go by %s: %s", k.GoBy, k.Why)
	}
}

// The published times in which honey forms so much HMF: what a lot of the book is
// told, held against each window at 40 C and colder. A window is met where the
// band overlaps it. Hits and misses are listed.
func TestKeepingAgainstPublishedStorageTimes(t *testing.T) {
	t.Parallel()
	file, err := os.Open("../../testdata/hmf-time-to-threshold.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	r.FieldsPerRecord = -1
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	hits, misses := 0, 0
	for _, row := range rows[1:] {
		number := func(name string) (float64, bool) {
			i, ok := column[name]
			if !ok || row[i] == "" {
				return 0, false
			}
			x, err := strconv.ParseFloat(row[i], 64)
			return x, err == nil
		}
		celsius, okC := number("temperature_c")
		low, okL := number("days_low")
		high, okH := number("days_high")
		rise, okR := number("hmf_mg_per_kg")
		if !okC || !okL || !okH || !okR || celsius > 40 {
			continue
		}
		h := newHouse(t, nil)
		h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &celsius})
		h.certify(41.9, hmf(40-rise))
		l := lineOn(t, h.keeps(day2, []ledger.ID{h.lot}, "codex-cxs-12-1981-annex")[0], "hmf")
		if l.Leaves == nil {
			misses++
			t.Logf("%g C: no date (%s)", celsius, l.Why)
			continue
		}
		from, to := daysBetween(t, day2, l.Leaves.Low), daysBetween(t, day2, l.Leaves.High)
		if from <= high && low <= to {
			hits++
		} else {
			misses++
			t.Logf("%g C: published %.0f to %.0f days, here %.0f to %.0f", celsius, low, high, from, to)
		}
	}
	t.Logf("%d published windows met, %d missed", hits, misses)
	if hits == 0 || misses > hits/4 {
		t.Errorf("%d published windows met, %d missed", hits, misses)
	}
}

func TestWithoutAResultThereIsNoDate(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	k := h.keeps(day10, []ledger.ID{h.lot}, "eu-honey")[0]
	for _, l := range k.Lines {
		if l.Leaves != nil || !strings.Contains(l.Why.String(), "no laboratory result") {
			t.Errorf("%s: %+v", l.Parameter, l)
		}
	}
	if len(k.Lines) != 2 || k.GoBy != "" || !strings.Contains(k.Why.String(), "laboratory") {
		t.Errorf("%d lines, by %q, %s", len(k.Lines), k.GoBy, k.Why)
	}
	h.certify(41.9, hmf(12))
	h.instead(h.lot, 24, &ledger.Lot{Code: "26-014"})
	l := lineOn(t, h.keeps(day10, []ledger.ID{h.lot}, "eu-honey")[0], "hmf")
	if l.Leaves != nil || !strings.Contains(l.Why.String(), "no temperature") || l.Value != 12 {
		t.Errorf("in no store: %+v", l)
	}
}

// Where the store was logged, the log counts and not the usual temperature: ten
// days at 40 C use up as much as many at 20 C.
func TestTheStoresLogCounts(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.certify(42, hmf(12))
	cool := lineOn(t, h.keeps("2026-07-12", []ledger.ID{h.lot}, "eu-honey")[0], "hmf").Leaves.Middle
	log := &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceRoom, ID: h.store}}
	for i := range 11 {
		log.Points = append(log.Points, ledger.TemperaturePoint{At: ledgertest.At(42 + 24*float64(i)), TemperatureC: 40})
	}
	h.at(42, log)
	warm := lineOn(t, h.keeps("2026-07-12", []ledger.ID{h.lot}, "eu-honey")[0], "hmf").Leaves.Middle
	k := heat.Default()
	// What ten days at 40 C use up beyond ten at 20 C, in days at 20 C.
	want := 10 * (k.HMFRate(40) - k.HMFRate(20)) / k.HMFRate(20)
	near(t, "days lost to the warm spell", daysBetween(t, warm, cool), want, 2)
}

// Two results a warm month apart show a honey that makes HMF at half the middle
// rate: it keeps longer than one of which only the last result is known.
func TestALotsOwnResultsNarrowItsDate(t *testing.T) {
	t.Parallel()
	thirtyFive := 35.0
	rate := heat.Default().HMFRate(35)
	slow, unknown := newHouse(t, nil), newHouse(t, nil)
	for _, h := range []*house{slow, unknown} {
		h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &thirtyFive})
	}
	exactly := func(mg float64) ledger.Measured {
		return ledger.Measured{Quantity: "hmf_mg_per_kg", Value: mg, StdUncertainty: new(0.3), Method: "HPLC"}
	}
	slow.certify(42, exactly(5))
	slow.certify(42+30*24, exactly(5+15*rate))
	unknown.certify(42+30*24, exactly(5+15*rate))
	a := lineOn(t, slow.keeps("2026-08-02", []ledger.ID{slow.lot}, "eu-honey")[0], "hmf").Leaves
	b := lineOn(t, unknown.keeps("2026-08-02", []ledger.ID{unknown.lot}, "eu-honey")[0], "hmf").Leaves
	if daysBetween(t, b.Middle, a.Middle) < 10 || daysBetween(t, a.Low, a.High) >= daysBetween(t, b.Low, b.High) {
		t.Errorf("with its own results %+v, without %+v", *a, *b)
	}
}

// What ferments goes first, then what a limit catches first, then what nobody
// measured; what is gone is not on the list.
func TestTheSeasonsLotsAreInTheOrderInWhichTheyMustGo(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	pull := h.at(60, &ledger.Pull{YardID: h.Mill, Supers: []ledger.SuperCount{{SuperKindID: h.Deep, Supers: 60}}})
	run := h.at(70, &ledger.Run{Name: "2", FramesPerSide: 30})
	h.at(70, h.SupersBody(run, pull, 60))
	h.at(72, ledgertest.OutBody(run, h.Settling, 1_400_000))
	add := func(code string, i int, pct, hmfMg float64) ledger.ID {
		lot := h.at(80, &ledger.Lot{Code: code, StoreID: h.store})
		drum := h.at(81+float64(i), h.FillBody(lot, h.Settling, "X-"+code, 250_000))
		h.readExactly(90+float64(i), ledger.Place{Kind: ledger.PlaceContainer, ID: drum}, pct, 0)
		if hmfMg > 0 {
			h.at(95, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: lot}, Laboratory: "Fern Valley", Measured: []ledger.Measured{hmf(hmfMg)}})
		}
		return lot
	}
	lots := []ledger.ID{h.lot, add("fresh", 0, 16.8, 3), add("aged", 1, 16.8, 33), add("wet", 2, 21.0, 3), add("unmeasured", 3, 16.8, 0)}
	h.readExactly(96, ledger.Place{Kind: ledger.PlaceContainer, ID: h.drums[0]}, 16.8, 0)
	h.at(100, h.overridden())
	h.at(101, h.truck(0, 1, 2, 3))
	var order []string
	for _, k := range h.keeps(day10, lots, "eu-honey") {
		order = append(order, k.Code)
		if k.Why.IsEmpty() {
			t.Errorf("of %s it is not said why", k.Code)
		}
	}
	if got := strings.Join(order, " "); got != "wet aged fresh unmeasured" {
		t.Errorf("in the order %s", got)
	}
}

// A limit that is passed already is not put off to today.
func TestALimitPassedAlreadySaysWhen(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.certify(42, hmf(44))
	l := lineOn(t, h.keeps("2026-09-01", []ledger.ID{h.lot}, "eu-honey")[0], "hmf")
	if l.Leaves == nil || l.Leaves.High > "2026-07-03" {
		t.Errorf("44 mg/kg in July pass 40 between %+v", l.Leaves)
	}
	if _, err := time.Parse(time.DateOnly, string(l.Leaves.Low)); err != nil {
		t.Error(err)
	}
}

// A set point that holds for ten days is known for all ten of them, not for a
// day at each end.
func TestATemperatureHeldForDaysCountsForAllOfThem(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	h.certify(42, hmf(12))
	cool := lineOn(t, h.keeps("2026-07-12", []ledger.ID{h.lot}, "eu-honey")[0], "hmf").Leaves.Middle
	h.at(42, &ledger.TemperatureLog{On: ledger.Place{Kind: ledger.PlaceRoom, ID: h.store}, Held: true,
		Points: []ledger.TemperaturePoint{{At: ledgertest.At(42), TemperatureC: 40}, {At: ledgertest.At(42 + 240), TemperatureC: 20}}})
	warm := lineOn(t, h.keeps("2026-07-12", []ledger.ID{h.lot}, "eu-honey")[0], "hmf").Leaves.Middle
	k := heat.Default()
	want := 10 * (k.HMFRate(40) - k.HMFRate(20)) / k.HMFRate(20)
	near(t, "days lost to ten days held warm", daysBetween(t, warm, cool), want, 2)
}

// A figure that has just come to where another line begins to hold passes it at once: from an
// HMF over 15 on Canada wants a diastase of 8, and 5 does not have it.
func TestAFigureAtItsTurnPassesItAtOnce(t *testing.T) {
	t.Parallel()
	h := newHouse(t, nil)
	thirty := 30.0
	h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &thirty})
	h.certify(41.9, diastase(5))
	h.certify(41.9+48, hmf(15))
	d := lineOn(t, h.keeps(day10, []ledger.ID{h.lot}, "ca-grade-compendium-6")[0], "diastase")
	if d.Leaves == nil || d.Outside {
		t.Fatalf("%+v", d)
	}
	near(t, "days until 8 is wanted", daysBetween(t, day2, d.Leaves.Middle), 2, 1)
}

// No text that could be read says by how much acidity moves the rate of HMF, so the days do not
// reckon with it and say which way that errs: not where the lot's own results tell its rate,
// and not where there is no day to say it of. The mean of 490 American honeys is pH 3.91
// with 22 meq/kg of free acidity (White et al. 1962).
func TestTheDaysOfHMFSayWhichWayAcidityMovesThem(t *testing.T) {
	t.Parallel()
	ph := func(v float64) ledger.Measured { return ledger.Measured{Quantity: "ph", Value: v} }
	free := func(v float64) ledger.Measured { return ledger.Measured{Quantity: "free_acidity_meq_per_kg", Value: v} }
	for _, c := range []struct {
		what     string
		measured []ledger.Measured
		says     string
	}{
		{"not measured", []ledger.Measured{hmf(5)}, "Acidity is not reckoned with: sour honey (a pH below 3.91, or more than 22 meq/kg"},
		{"sour", []ledger.Measured{hmf(5), ph(3.5)}, "A pH of 3.5 was measured, sourer than most honey"},
		{"as sour as most", []ledger.Measured{hmf(5), ph(3.91)}, "A pH of 3.91 was measured, no sourer than most honey"},
		{"by free acidity", []ledger.Measured{hmf(5), free(35)}, "A free acidity of 35 meq/kg was measured, sourer than most honey"},
		{"little free acidity", []ledger.Measured{hmf(5), free(22)}, "A free acidity of 22 meq/kg was measured, no sourer"},
		{"both: pH counts", []ledger.Measured{hmf(5), free(35), ph(4.4)}, "A pH of 4.4 was measured, no sourer"},
		{"less than something", []ledger.Measured{hmf(5), {Quantity: "free_acidity_meq_per_kg", Value: 35, LessThan: true}}, "Acidity is not reckoned with: sour"},
		{"without an HMF", []ledger.Measured{diastase(20), ph(3.5)}, ""},
		{"outside already", []ledger.Measured{hmf(45), ph(3.5)}, ""},
	} {
		h := newHouse(t, nil)
		h.certify(41.9, c.measured...)
		got := h.keeps(day10, []ledger.ID{h.lot}, "eu-honey")[0].Acidity.String()
		if !strings.HasPrefix(got, c.says) || c.says == "" && got != "" {
			t.Errorf("%s: %q", c.what, got)
		}
	}
	h := newHouse(t, nil)
	h.certify(41.9, hmf(5), ph(3.5))
	h.certify(60, ph(4.2))
	if got := h.keeps(day10, []ledger.ID{h.lot}, "eu-honey")[0].Acidity.String(); !strings.Contains(got, "4.2") {
		t.Errorf("measured again at 4.2: %q", got)
	}
	thirty := 30.0
	h.instead(h.store, 1, &ledger.Room{Name: "store", Use: ledger.Store, UsualTemperatureC: &thirty})
	h.certify(41.9+24*60, hmf(16))
	if got := h.keeps("2026-09-20", []ledger.ID{h.lot}, "eu-honey")[0].Acidity.String(); got != "" {
		t.Errorf("its own results tell its rate, and yet: %q", got)
	}
}

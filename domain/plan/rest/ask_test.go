package rest_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/plan/rest"
)

// house is a book of a small house that is made up entry by entry.
type house struct {
	entries                 []*ledger.Entry
	alder, birch, deep, hot ledger.ID
	drum, tank              ledger.ID
}

// at is a time of day on a day of August 2026.
func at(day int, hour float64) time.Time {
	return time.Date(2026, 8, day, 0, 0, 0, 0, time.UTC).Add(time.Duration(hour * float64(time.Hour)))
}

func (h *house) add(when time.Time, body ledger.Body) ledger.ID {
	e := &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: when, RecordedAt: when, Number: int64(len(h.entries) + 1), Via: ledger.ViaImport, Body: body}
	h.entries = append(h.entries, e)
	return e.ID
}

// newHouse has two yards, a hot room, a tank of two tonnes, and nothing that happened.
func newHouse() *house {
	h := &house{}
	h.add(at(1, 1), &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	h.alder, h.birch = h.add(at(1, 1), &ledger.Yard{Name: "Alder Bend"}), h.add(at(1, 1), &ledger.Yard{Name: "Birch Hollow"})
	h.deep = h.add(at(1, 1), &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000})
	h.drum = h.add(at(1, 1), &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000})
	h.hot = h.add(at(1, 1), &ledger.Room{Name: "hot room", Use: ledger.HotRoom})
	h.tank = h.add(at(1, 1), &ledger.Tank{Name: "tank", Use: ledger.Settling, CapacityG: 2_000_000})
	return h
}

func (h *house) counts(yard ledger.ID, hives int) {
	h.add(at(2, 9), &ledger.HiveCount{YardID: yard, Name: "main flow", Hives: hives})
}

// extracts pulls supers at ten in the morning and has half of them go through the line on the next day, 10 an hour
// with 25 kg each, from eight on.
func (h *house) extracts(day int, yard ledger.ID, supers int) {
	pull := h.add(at(day, 10), &ledger.Pull{YardID: yard, RoomID: h.hot, Supers: []ledger.SuperCount{{SuperKindID: h.deep, Supers: supers}}})
	run := h.add(at(day+1, 8), &ledger.Run{Name: fmt.Sprint(day), FramesPerSide: 30})
	half := supers / 2
	h.add(at(day+1, 8), &ledger.RunSupers{RunID: run, PullID: pull, SuperCount: ledger.SuperCount{SuperKindID: h.deep, Supers: half}})
	end := 8 + float64(half)/10
	h.add(at(day+1, end-0.1), &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run}, To: ledger.Place{Kind: ledger.PlaceTank, ID: h.tank}, MassG: int64(half) * 25_000})
	h.add(at(day+1, end), &ledger.RunEnd{RunID: run})
}

func (h *house) ask(t *testing.T, q rest.Question) (*rest.Asked, error) {
	t.Helper()
	b, err := ledger.Open(time.UTC, h.entries)
	if err != nil {
		t.Fatal(err)
	}
	return rest.Ask(b, q)
}

// Two yards of 20 and 30 hives. Of the first 40 supers were pulled, 20 of them extracted in two hours. What is out is
// the other yard at two supers a hive, and 20 supers wait.
func TestWhatIsLeftComesFromTheBook(t *testing.T) {
	h := newHouse()
	h.counts(h.alder, 20)
	h.counts(h.birch, 30)
	h.extracts(10, h.alder, 40)
	a, err := h.ask(t, rest.Question{Now: at(12, 7)})
	if err != nil {
		t.Fatal(err)
	}
	x := a.House
	if len(x.Courses) != 1 || math.Abs(x.Courses[0].Supers-60) > 1e-9 || a.Waiting != 20 || len(x.Waiting) != 1 || x.Waiting[0].Hours != 45 {
		t.Errorf("out %+v, waiting %+v; want 60 supers out and 20 in the hot room for 45 hours", x.Courses, x.Waiting)
	}
	if len(x.SupersAnHour) != 1 || math.Abs(x.SupersAnHour[0]-10) > 1e-9 || len(x.KgPerSuper) != 1 || math.Abs(x.KgPerSuper[0]-25) > 1e-9 || x.DryHours[0] != 22 {
		t.Errorf("%v an hour of %v kg after %v hours; want 10, 25 and 22", x.SupersAnHour, x.KgPerSuper, x.DryHours)
	}
	if len(x.Tanks) != 1 || x.Tanks[0].Kg != 500 || x.MostADay != 40 || x.HotRoom != 80 {
		t.Errorf("tanks %+v, trucks %d, hot room %d; want 500 kg in the tank, 40 and 80", x.Tanks, x.MostADay, x.HotRoom)
	}
	// 80 supers are left, and 20 were extracted since eight on the day before.
	if math.Abs(a.ByThumb-80.0/20*(1+23.0/24)) > 1e-9 {
		t.Errorf("by thumb %g days are left", a.ByThumb)
	}
	if len(a.Yards) != 1 || a.Yards[0].Name != "Birch Hollow" || !a.Yards[0].PulledAt.IsZero() || math.Abs(a.Yards[0].Supers-60) > 1e-9 {
		t.Errorf("%+v; want Birch Hollow next, with 60 supers", a.Yards)
	}
	// No season tells how this one goes on, so no band is promised.
	p := a.House.Plan(1)
	if said := a.Said(&p).String() + a.SaidDrums(&p).String(); a.Before != 0 || strings.Contains(said, "nine of ten") || !strings.Contains(said, "cannot tell how much later") {
		t.Error(said)
	}
	for _, b := range a.Basis {
		if b.What.IsEmpty() || b.From.IsEmpty() {
			t.Errorf("%+v does not say what it is and where it comes from", b)
		}
	}
}

// The season before gave 100 supers up to this day and 60 after it, from 50 hives. This one has as many hives, and 120 up
// to now. Where 100 of 160 were seen, a season that gave a fifth more so far is expected to give 1.2 to the power of
// 100/160 as much: 67.2 supers, on the same days of the year.
func TestASeasonGoesOnAsTheOneBefore(t *testing.T) {
	h := newHouse()
	h.add(at(1, 2), &ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"})
	then := func(month time.Month, day int) time.Time { return time.Date(2025, month, day, 10, 0, 0, 0, time.UTC) }
	for yard, hives := range map[ledger.ID]int{h.alder: 20, h.birch: 30} {
		h.add(then(6, 1), &ledger.HiveCount{YardID: yard, Name: "main flow", Hives: hives})
	}
	for _, p := range []struct {
		yard   ledger.ID
		month  time.Month
		day, n int
	}{{h.alder, 7, 5, 40}, {h.birch, 8, 3, 60}, {h.alder, 8, 20, 20}, {h.birch, 8, 24, 40}} {
		h.add(then(p.month, p.day), &ledger.Pull{YardID: p.yard, Supers: []ledger.SuperCount{{SuperKindID: h.deep, Supers: p.n}}})
	}
	h.counts(h.alder, 20)
	h.counts(h.birch, 30)
	h.extracts(5, h.alder, 48)
	h.extracts(10, h.birch, 72)
	a, err := h.ask(t, rest.Question{Now: at(12, 7)})
	if err != nil {
		t.Fatal(err)
	}
	c := a.House.Courses
	level := math.Pow(1.2, 100.0/160)
	if len(c) != 1 || math.Abs(c[0].Supers-60*level) > 1e-9 || len(c[0].Due) != 2 || c[0].Due[0].Day != 8 || c[0].Due[1].Day != 12 {
		t.Errorf("%+v; want %.1f supers, in 8 days and in 12", c, 60*level)
	}
	if len(a.Yards) != 2 || a.Yards[0].Name != "Birch Hollow" || math.Abs(a.Yards[0].Supers-40*level) > 1e-9 {
		t.Errorf("%+v; want Birch Hollow first, with %.1f supers", a.Yards, 40*level)
	}
	if p := a.House.Plan(1); a.Before != 1 || !strings.Contains(a.Said(&p).String(), "in nine of ten cases between") {
		t.Errorf("after %d seasons: %s", a.Before, a.Said(&p))
	}
	said, err := h.ask(t, rest.Question{Now: at(12, 7), SupersOut: new(30)})
	if err != nil || math.Abs(said.House.Courses[0].Supers-30) > 1e-9 || len(said.House.Courses[0].Due) != 2 {
		t.Errorf("%+v, %v; want the 30 supers that somebody counted", said, err)
	}
}

// A second house extracts 30 supers in three hours, of which two are those in which the first extracts 20: five hours of
// runs in three, at 10 supers an hour each.
func TestTwoLinesAreTakenAsOne(t *testing.T) {
	h := newHouse()
	h.counts(h.alder, 20)
	h.extracts(10, h.alder, 40)
	h.extracts(10, h.birch, 60)
	a, err := h.ask(t, rest.Question{Now: at(12, 7), SupersOut: new(10)})
	if err != nil {
		t.Fatal(err)
	}
	for _, rate := range a.House.SupersAnHour {
		if math.Abs(rate-10*5.0/3) > 1e-9 {
			t.Errorf("%v supers an hour, want %.1f", a.House.SupersAnHour, 10*5.0/3)
		}
	}
}

// 580 kg were filled in two drums from the tank of two tonnes before more came, then 290 kg, and after that a bucket for the
// door: it is filled from at 29 % or at 14.5 %.
func TestHowFullATankIsFilledFromIsLearned(t *testing.T) {
	h := newHouse()
	h.counts(h.alder, 20)
	lot := h.add(at(2, 1), &ledger.Lot{Code: "L1"})
	n := 0
	fill := func(day int, hour float64, kg int64) {
		n++
		h.add(at(day, hour), &ledger.Fill{LotID: lot, TankID: h.tank, ContainerKindID: h.drum, Container: fmt.Sprint(n), TareG: 18_000, GrossG: 18_000 + kg*1000})
	}
	h.extracts(3, h.alder, 60)
	fill(5, 9, 290)
	fill(5, 10, 290)
	h.extracts(6, h.alder, 40)
	fill(8, 9, 290)
	h.extracts(9, h.birch, 40)
	fill(11, 9, 30)
	a, err := h.ask(t, rest.Question{Now: at(12, 7), SupersOut: new(10)})
	if err != nil {
		t.Fatal(err)
	}
	if full := a.House.FullAt; len(full) != 2 || math.Abs(full[0]-0.29) > 1e-9 || math.Abs(full[1]-0.145) > 1e-9 {
		t.Errorf("%v; want 0.29 and 0.145 of the tank", full)
	}
}

func TestAYardWithWetHoneyIsPulledLast(t *testing.T) {
	h := newHouse()
	h.counts(h.alder, 20)
	h.counts(h.birch, 30)
	h.extracts(10, h.alder, 40)
	pull := h.add(at(11, 10), &ledger.Pull{YardID: h.birch, Supers: []ledger.SuperCount{{SuperKindID: h.deep, Supers: 10}}})
	h.add(at(11, 11), &ledger.Reading{On: ledger.Place{Kind: ledger.PlacePull, ID: pull}, Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 19.6, Pct: 19.6}})
	a, err := h.ask(t, rest.Question{Now: at(12, 7), SupersOut: new(50)})
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Yards) != 2 || a.Yards[0].Name != "Alder Bend" || a.Yards[0].Supers > a.Yards[1].Supers || !a.Yards[1].Wet() {
		t.Errorf("%+v; want Alder Bend before Birch Hollow, whose honey was read at 19.6 %%", a.Yards)
	}
	if said := a.Yards[1].Said().String(); !strings.Contains(said, "19.6 %") || !strings.Contains(said, "11 August 2026") {
		t.Error(said)
	}
}

// Before the first run nobody knows the pace but who asks. A super then gives what it usually holds less what stays in
// the combs, 0.97 x 27 kg; honey settles, and people work, as is common practice, which the answer says.
func TestBeforeTheFirstRunTheUsualStandsIn(t *testing.T) {
	h := newHouse()
	h.counts(h.alder, 20)
	h.counts(h.birch, 20)
	h.add(at(10, 10), &ledger.Pull{YardID: h.alder, RoomID: h.hot, Supers: []ledger.SuperCount{{SuperKindID: h.deep, Supers: 40}}})
	a, err := h.ask(t, rest.Question{Now: at(12, 7), SupersAnHour: new(20.0)})
	if err != nil {
		t.Fatal(err)
	}
	usual := 0
	for _, b := range a.Basis {
		if strings.Contains(b.From.String(), "common practice") {
			usual++
		}
	}
	if x := a.House; math.Abs(x.KgPerSuper[0]-0.97*27) > 1e-9 || x.Shift.From != 8 || x.Shift.Days[0] || usual != 4 || a.ByThumb != 0 {
		t.Errorf("%+v, %d figures from common practice; want 26.19 kg, a shift from eight but on Sundays, and four", x, usual)
	}
	// The 40 in the hot room are extracted in two hours, and so are the 40 of the other yard, of which there may be
	// half as many or twice: e to the power of 1.64 x 0.5 is 2.3.
	if p := a.House.Plan(1); math.Abs(p.WorkedHours.Middle-4) > 0.2 || math.Abs(p.WorkedHours.Low-2-2/2.3) > 0.2 || math.Abs(p.WorkedHours.High-2-2*2.3) > 0.4 || p.Endless > 0 {
		t.Errorf("%+v; want four hours of work, from 2.9 to 6.6", p.WorkedHours)
	}
}

// The season before has two pulls in the book, this one three by now. Where both of those are of days that are past, no more
// comes. Where three quarters came after this day, three times as many come as came so far, from yards as they have hives.
func TestASeasonToldInPartLendsItsCourseAlone(t *testing.T) {
	for _, c := range []struct {
		month  time.Month
		supers int
		want   float64
	}{{time.July, 30, 0}, {time.September, 30, 3 * 88}} {
		h := newHouse()
		h.add(at(1, 2), &ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"})
		pull := func(month time.Month, supers int) {
			h.add(time.Date(2025, month, 5, 10, 0, 0, 0, time.UTC), &ledger.Pull{YardID: h.alder, Supers: []ledger.SuperCount{{SuperKindID: h.deep, Supers: supers}}})
		}
		pull(time.June, 10)
		pull(c.month, c.supers)
		h.counts(h.alder, 10)
		h.counts(h.birch, 30)
		h.extracts(5, h.alder, 40)
		h.extracts(7, h.birch, 40)
		h.extracts(9, h.alder, 8)
		a, err := h.ask(t, rest.Question{Now: at(12, 7)})
		if err != nil {
			t.Fatal(err)
		}
		got := a.House.Courses[0]
		if len(a.House.Courses) != 1 || math.Abs(got.Supers-c.want) > 1e-9 || a.House.Out[0] != 0.5 {
			t.Errorf("%+v, off by %g; want %g supers, off by half", a.House.Courses, a.House.Out[0], c.want)
		}
		if c.want > 0 && (len(got.Due) != 2 || math.Abs(got.Due[0].Supers-c.want/4) > 1e-9 || math.Abs(got.Due[1].Supers-c.want*3/4) > 1e-9) {
			t.Errorf("%+v; want a quarter at the yard that has a quarter of the hives", got.Due)
		}
	}
}

// Each thing that the book lacks is one sentence that says what to enter.
func TestWhatTheBookLacksIsSaid(t *testing.T) {
	whole := func() *house {
		h := newHouse()
		h.counts(h.alder, 20)
		h.extracts(10, h.alder, 40)
		return h
	}
	without := func(h *house, out func(e *ledger.Entry) bool) *house {
		kept := h.entries[:0]
		for _, e := range h.entries {
			if !out(e) {
				e.Number = int64(len(kept) + 1)
				kept = append(kept, e)
			}
		}
		h.entries = kept
		return h
	}
	now := at(12, 7)
	nothing := newHouse()
	nothing.counts(nothing.alder, 20)
	for name, c := range map[string]struct {
		house *house
		ask   rest.Question
		says  string
		field string
	}{
		"no season":          {whole(), rest.Question{Now: now.AddDate(1, 0, 0)}, "set up the season", ""},
		"nothing pulled":     {nothing, rest.Question{Now: now}, "record the first pull", ""},
		"no hives":           {without(whole(), func(e *ledger.Entry) bool { return e.Kind == ledger.KindHiveCount }), rest.Question{Now: now}, "record a count of hives", "query:supers_out"},
		"no runs":            {without(whole(), func(e *ledger.Entry) bool { return e.Kind == ledger.KindRunEnd || e.Kind == ledger.KindMovement }), rest.Question{Now: now}, "how many supers go through the line", "query:supers_an_hour"},
		"no tank":            {newHouseWithoutTank(), rest.Question{Now: now, SupersAnHour: new(20.0)}, "set up a tank", ""},
		"supers below none":  {whole(), rest.Question{Now: now, SupersOut: new(-1)}, "from 0 to 50000", "query:supers_out"},
		"no hot room":        {whole(), rest.Question{Now: now, HotRoom: new(0)}, "from 1 to 50000", "query:hot_room_supers"},
		"drums below none":   {whole(), rest.Question{Now: now, DrumsOnHand: new(-3)}, "from 0 to 100000", "query:drums_on_hand"},
		"drums on the way":   {whole(), rest.Question{Now: now, DrumsOnHand: new(3), DrumsInDays: new(3)}, "say how many arrive", "query:drums_arriving"},
		"drums some day":     {whole(), rest.Question{Now: now, DrumsOnHand: new(3), DrumsArriving: new(3)}, "in how many days", "query:drums_in_days"},
		"drums and how many": {whole(), rest.Question{Now: now, DrumsInDays: new(3), DrumsArriving: new(3)}, "0 if none", "query:drums_on_hand"},
		"no pace":            {whole(), rest.Question{Now: now, SupersAnHour: new(0.0)}, "above 0", "query:supers_an_hour"},
		"no such pace":       {whole(), rest.Question{Now: now, SupersAnHour: new(math.NaN())}, "above 0", "query:supers_an_hour"},
		"a night":            {whole(), rest.Question{Now: now, EveningHours: 9}, "from 0 to 8 hours", "query:evening_hours"},
	} {
		_, err := c.house.ask(t, c.ask)
		var f *fault.Error
		if !errors.As(err, &f) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v; want a word of %q", name, err, c.says)
			continue
		}
		if c.field != "" && (len(f.Fields) != 1 || f.Fields[0].Pointer != c.field) {
			t.Errorf("%s: %+v; want a word about %s", name, f.Fields, c.field)
		}
	}
}

// newHouseWithoutTank has a pull and no tank.
func newHouseWithoutTank() *house {
	h := &house{}
	h.add(at(1, 1), &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	h.alder = h.add(at(1, 1), &ledger.Yard{Name: "Alder Bend"})
	h.deep = h.add(at(1, 1), &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000})
	h.counts(h.alder, 20)
	h.add(at(10, 10), &ledger.Pull{YardID: h.alder, Supers: []ledger.SuperCount{{SuperKindID: h.deep, Supers: 40}}})
	return h
}

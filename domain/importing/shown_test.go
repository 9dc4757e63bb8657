package importing_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pullbook/domain/importing"
	"pullbook/domain/ledger"
	"pullbook/domain/message"
)

// rows puts the rows that are shown into one line each.
func rows(r *importing.Result) (out []string) {
	for _, s := range r.Shown {
		line := fmt.Sprintf("%d", s.Row)
		for _, x := range s.Says {
			line += " | " + string(x.Kind)
			if x.Had {
				line += " had"
			}
			for _, part := range x.Parts {
				line += ", " + part.String()
			}
		}
		for _, p := range s.Problems {
			line += " ? " + string(p.Code)
		}
		if s.LeftOut {
			line += " left out"
		}
		out = append(out, line)
	}
	return out
}

func TestTheFirstRowsAreShownAsTheyWouldStandInTheBook(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		kind importing.Kind
		text string
		put  func(*importing.Mapping)
		want []string
	}{
		{importing.Pulls, "Date,Yard,Supers,Kind,Gross kg,Room\n2026-07-06,Mill,12,deep,420,hot room\n2026-07-07,Mlil,x,deep,400,\n2026-07-08,Birch,5,jumbo,,\n2026-07-09,Mill,3,deep,90,\n",
			func(m *importing.Mapping) {
				m.LeaveOutRows = []int{5}
				m.Names = map[importing.Noun]map[string]importing.Choice{
					"yard":       {"Birch": {Create: &importing.Thing{}}},
					"super_kind": {"jumbo": {Create: &importing.Thing{TareKg: 13, UsualNetKg: 27, FullestNetKg: 36}}},
				}
			},
			[]string{
				"2 | pull, from Mill, 12 supers of the kind deep, gross 420 kg, into hot room",
				"3 ? unknown_name ? no_figure",
				"4 | yard, Birch | super_kind, jumbo | pull, from Birch, 5 supers of the kind jumbo",
				"5 left out",
			}},
		{importing.Containers, "Date,Lot,Tank,Drum,Kind,Net kg\n2026-07-06,26-1,large tank,D-1,drum,290\n",
			func(m *importing.Mapping) {
				m.Names = map[importing.Noun]map[string]importing.Choice{"lot": {"*": {Create: &importing.Thing{}}}}
			},
			[]string{"2 | lot, 26-1 | fill, D-1, of the kind drum, of lot 26-1, from large tank, gross 307 kg, tare 17 kg, net 290 kg"}},
		{importing.Runs, "Date,Run,Tank,Honey kg,Wax kg\n2026-07-06,first,sump,250,3\n", nil,
			[]string{"2 | run, first, 30 frames a side | movement, 250 kg, from first, into sump | run_end, wax 3 kg"}},
		{importing.Readings, "Date,Tank,Moisture,Temp C,Diastase,Instrument\n2026-07-06,sump,17.4,22,<5,refractometer\n", nil,
			[]string{"2 | reading, of sump, moisture (%) 17.4, sample temperature 22 °C, diastase (Gothe) less than 5, measured with refractometer"}},
		{importing.TemperatureLogs, "Date,Temperature C,Humidity\n2026-07-06 10:00,31.5,40\n2026-07-06 10:05,,\n2026-07-06 10:10,warm,\n",
			func(m *importing.Mapping) { m.Fixed = map[importing.Field]string{"room": "hot room"} },
			[]string{"2 | temperature_log, of hot room, 31.5 °C, humidity 40 %", "3 left out", "4 ? no_figure"}},
		{importing.Yards, "Yard,Registration,Latitude,Longitude\nBirch,R-1,52.5,-1.25\nMill,,,\n", nil,
			[]string{"2 | yard, Birch, registration R-1, at 52.5, -1.25", "3"}},
		{importing.Lots, "Date,Lot,Product\n2026-07-06,26-1,clover\n", nil, []string{"2 | lot, 26-1, clover"}},
	} {
		h := newHouse()
		m := h.guess(t, c.kind, c.text)
		if c.put != nil {
			c.put(&m)
		}
		if got := rows(h.check(t, c.text, m)); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s:\n%s\nnot\n%s", c.kind, strings.Join(got, "\n"), strings.Join(c.want, "\n"))
		}
	}
}

// What was typed is shown beside what is in question, also where the row could not be read.
func TestARowIsShownWithWhatWasTyped(t *testing.T) {
	t.Parallel()
	const text = "Date,Yard,Supers,Kind,Weather\n6/7/26,Mill,12,deep,windy\n"
	h := newHouse()
	r := h.check(t, text, h.guess(t, importing.Pulls, text))
	want := []importing.ShownCell{{"A", "Date", "6/7/26"}, {"B", "Yard", "Mill"}, {"C", "Supers", "12"}, {"D", "Kind", "deep"}}
	if len(r.Shown) != 1 || !reflect.DeepEqual(r.Shown[0].Cells, want) || len(r.Shown[0].Problems) != 1 {
		t.Errorf("%+v", r.Shown[0])
	}
}

// A workbook keeps a day as a number: people see the day.
func TestADayOfAWorkbookIsShownAsADay(t *testing.T) {
	t.Parallel()
	h := newHouse()
	text := table(t, "Date,Yard,Supers,Kind\n46209,Mill,12,deep\n46209.4375,Mill,3,deep\n")
	m, err := importing.Guess(h.book(t), serials(text), importing.Pulls)
	if err != nil {
		t.Fatal(err)
	}
	r, err := importing.Take(h.book(t), serials(text), m, importing.Options{Outfit: h.id, By: "Ada", Now: now}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if a, b := r.Shown[0].Cells[0].Sent, r.Shown[1].Cells[0].Sent; a != "2026-07-06" || b != "2026-07-06 10:30" {
		t.Errorf("%s, %s", a, b)
	}
}

// Where a column is missing, no row can be read: the first ones are shown as they were typed.
func TestRowsThatCannotBeReadAreShownAsTheyWereTyped(t *testing.T) {
	t.Parallel()
	const text = "Yard,Supers,Kind\n\nMill,12,deep\n"
	h := newHouse()
	r := h.check(t, text, h.guess(t, importing.Pulls, text))
	want := []importing.ShownCell{{"A", "Yard", "Mill"}, {"B", "Supers", "12"}, {"C", "Kind", "deep"}}
	if len(r.Shown) != 1 || r.Shown[0].Row != 3 || !r.Shown[0].Unread || !reflect.DeepEqual(r.Shown[0].Cells, want) {
		t.Errorf("%+v", r.Shown)
	}
}

func TestNoMoreThanTwentyRowsAreShown(t *testing.T) {
	t.Parallel()
	text := "Date,Yard,Supers,Kind\n"
	for day := range 25 {
		text += fmt.Sprintf("2026-07-%02d,Mill,12,deep\n", day+1)
	}
	h := newHouse()
	r := h.check(t, text, h.guess(t, importing.Pulls, text))
	if len(r.Shown) != 20 || r.Shown[19].Row != 21 {
		t.Errorf("%d rows are shown", len(r.Shown))
	}
}

// A row that is like an entry of the book and is left out, or corrects it, shows so.
func TestARowThatIsLikeTheBooksShowsWhatBecomesOfIt(t *testing.T) {
	t.Parallel()
	const before, after = "Date,Yard,Supers,Kind\n2026-07-06,Mill,12,deep\n", "Date,Yard,Supers,Kind\n2026-07-06,Mill,13,deep\n"
	h := newHouse()
	h.bring(t, importing.Pulls, before)
	if got := rows(h.check(t, before, h.guess(t, importing.Pulls, before))); got[0] != "2 | pull had, from Mill, 12 supers of the kind deep" {
		t.Errorf("the same again: %v", got)
	}
	m := h.guess(t, importing.Pulls, after)
	if got := rows(h.check(t, after, m)); got[0] != "2 | pull, from Mill, 13 supers of the kind deep ? like_recorded" {
		t.Errorf("before it is said: %v", got)
	}
	m.Alike = importing.LeftAside
	if got := rows(h.check(t, after, m)); got[0] != "2 left out" {
		t.Errorf("left out: %v", got)
	}
	if got := rows(h.check(t, before+"2026-07-06,Mill,12,deep\n", h.guess(t, importing.Pulls, before))); got[1] != "3 | pull, from Mill, 12 supers of the kind deep ? stands_twice" {
		t.Errorf("twice in the sheet: %v", got)
	}
	m.Twice = importing.LeftAside
	if got := rows(h.check(t, before+"2026-07-06,Mill,12,deep\n", m)); got[1] != "3 left out" {
		t.Errorf("twice in the sheet, and left out: %v", got)
	}
	m.Alike = importing.Corrects
	if r := h.check(t, after, m); r.Shown[0].Says[0].Entry.Replaces == (ledger.ID{}) {
		t.Errorf("a correction: %v", rows(r))
	}
}

func TestColumnsThatAreNotReadAreNamed(t *testing.T) {
	t.Parallel()
	h := newHouse()
	for _, c := range []struct {
		text string
		want []importing.NotRead
	}{
		{"Date,Yard,Supers,Kind,Note,Remarks 2\n2026-07-06,Mill,12,deep,dry,\n2026-07-07,Mill,12,deep,dry,windy\n", []importing.NotRead{{"F", "Remarks 2", "windy", 3}}},
		{"Date,Yard,Supers,Kind,Weather\n2026-07-06,Mill,12,deep,\n", []importing.NotRead{{"E", "Weather", "", 0}}},
		{"Date,Yard,Supers,Kind,\n2026-07-06,Mill,12,deep,\n", nil},
		{"Date;Yard;Supers;Kind;\n2026-07-06;Mill;12;deep;by Ada\n", []importing.NotRead{{"E", "", "by Ada", 2}}},
		{"Yard,Weather\nMill,dry\n", []importing.NotRead{{"B", "Weather", "dry", 2}}}, // no row can be read, and yet
	} {
		if r := h.check(t, c.text, h.guess(t, importing.Pulls, c.text)); !reflect.DeepEqual(r.NotRead, c.want) {
			t.Errorf("%q: %+v", c.text, r.NotRead)
		}
	}
	// Beyond the columns of the rows by which they were guessed.
	text := "Date,Yard,Supers,Kind\n" + strings.Repeat("2026-07-06,Mill,12,deep\n", 300) + "2026-07-06,Mill,12,deep,,late\n"
	if r := h.check(t, text, h.guess(t, importing.Pulls, text)); !reflect.DeepEqual(r.NotRead, []importing.NotRead{{"F", "", "late", 302}}) {
		t.Errorf("%+v", r.NotRead)
	}
}

func TestAThingIsSetUpInPassingByWhatItNeeds(t *testing.T) {
	t.Parallel()
	const text = "Date,Tank,Moisture,Instrument\n2026-07-06,sump,17.4,new glass\n"
	h := newHouse()
	m := h.guess(t, importing.Readings, text)
	with := func(thing importing.Thing) *importing.Result {
		m.Names = map[importing.Noun]map[string]importing.Choice{"instrument": {"new glass": {Create: &thing}}}
		return h.check(t, text, m)
	}
	for _, c := range []struct {
		thing importing.Thing
		want  string
	}{
		{importing.Thing{}, "To set up the instrument new glass, say of it: scale (scale). This is missing: choose one."},
		{importing.Thing{Scale: "moisture"}, "To set up the instrument new glass, say of it: corrects for temperature by itself (compensates_temperature). Say whether it corrects for the temperature of the sample by itself."},
		{importing.Thing{Scale: "cows", CompensatesTemperature: new(true)}, `To set up the instrument new glass, say of it: scale (scale). "cows" will not do here: choose one of moisture, refractive_index, brix, kg, celsius or other.`},
	} {
		said := []string{}
		for _, p := range with(c.thing).Problems {
			said = append(said, p.Message.String())
		}
		if !strings.Contains(strings.Join(said, "\n"), c.want) {
			t.Errorf("%+v: %q", c.thing, said)
		}
	}
	if r := with(importing.Thing{Scale: "moisture", CompensatesTemperature: new(false)}); r.AllProblems > 0 {
		t.Errorf("%v", said(r))
	}
	r := with(importing.Thing{Scale: "moisture", CompensatesTemperature: new(false), StdUncertainty: new(0.2), CheckEveryDays: 30})
	if r.AllProblems > 0 || r.Entries[ledger.KindInstrument] != 1 {
		t.Fatalf("%v, %v", said(r), r.Entries)
	}
	want := ledger.Instrument{Name: "new glass", Scale: "moisture", StdUncertainty: new(0.2), CheckEveryDays: 30}
	if i := r.First[0].Entry.Body.(*ledger.Instrument); !reflect.DeepEqual(*i, want) {
		t.Errorf("%+v", i)
	}
}

func TestTheBoundsOfAThingAreThoseOfTheContract(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		noun  importing.Noun
		thing importing.Thing
		wrong []string
	}{
		{importing.NounSuperKind, importing.Thing{TareKg: 0.001, UsualNetKg: 1, FullestNetKg: 1_000_000}, nil},
		{importing.NounSuperKind, importing.Thing{TareKg: 0.0009, UsualNetKg: -1, FullestNetKg: 1_000_000.1}, []string{"tare_kg", "usual_net_kg", "fullest_net_kg"}},
		{importing.NounContainerKind, importing.Thing{VolumeL: 0.01, TareKg: 1, UsualNetKg: 1}, nil},
		{importing.NounContainerKind, importing.Thing{VolumeL: 50_001, TareKg: 1}, []string{"volume_l", "usual_net_kg"}},
		{importing.NounTank, importing.Thing{Use: "store", CapacityKg: 1}, []string{"use"}},
		{importing.NounRoom, importing.Thing{Use: "store"}, nil},
		{importing.NounYard, importing.Thing{}, nil},
		{importing.NounInstrument, importing.Thing{Scale: "brix", CompensatesTemperature: new(true), StdUncertainty: new(0.0), CheckEveryDays: 3660}, nil},
		{importing.NounInstrument, importing.Thing{Scale: "brix", CompensatesTemperature: new(true), StdUncertainty: new(1001.0), CheckEveryDays: -1}, []string{"std_uncertainty", "check_every_days"}},
	} {
		wrong := c.thing.Wrong(c.noun)
		want := map[string]message.Text{}
		for _, name := range c.wrong {
			want[name] = wrong[name]
		}
		if !reflect.DeepEqual(wrong, want) || len(wrong) != len(c.wrong) {
			t.Errorf("%s %+v: %v", c.noun, c.thing, wrong)
		}
	}
}

// Of a row that waits for an answer nobody says that the book has it, though the question stands
// at another one.
func TestOnlyWhatTheBookHasIsShownAsHad(t *testing.T) {
	t.Parallel()
	h := newHouse()
	const runs = "Date,Run,Honey kg,Tank\n2026-07-06,R1,250,large tank\n"
	h.bring(t, importing.Pulls, "Date,Yard,Supers,Kind\n2026-07-05,Mill,12,deep\n")
	h.bring(t, importing.Runs, runs)
	for _, c := range []struct {
		what, text string
		kind       importing.Kind
		had, asked int
	}{
		{"the same sheet again", runs, importing.Runs, 1, 0},
		{"boxes and kilograms of no year", "Supers,Mill,Ridge\n6 jul,12,3\n7 jul,4,5\n", importing.Pulls, 0, 4},
		{"a yard above that is misspelt", "Deep supers\nDate,Mill,Rigde\n2026-07-07,12,3\n2026-07-08,4,5\n", importing.Pulls, 0, 2},
		{"a run beside one that nobody knows", "Run,Yard,Pulled,Supers,Kind\nR1,Mill,2026-07-05,12,deep\nR9,Mill,2026-07-05,12,deep\n", importing.RunSupers, 0, 1},
	} {
		m, _, err := importing.Settle(h.book(t), table(t, c.text), c.kind, importing.Sent{})
		if err != nil {
			t.Fatal(err)
		}
		had, asked := 0, 0
		for _, s := range h.check(t, c.text, m).Shown {
			if s.Had {
				had++
			}
			if len(s.Problems) > 0 {
				asked++
			}
		}
		if had != c.had || asked != c.asked {
			t.Errorf("%s: %d rows are in the book, and %d are open, not %d and %d", c.what, had, asked, c.had, c.asked)
		}
	}
}

// A season long ago is asked for once a year of its days, and not once a row.
func TestAYearWithoutASeasonIsAskedAboutOnce(t *testing.T) {
	t.Parallel()
	h := newHouse()
	const text = "Date,Yard,Supers,Kind\n2019-07-06,Mill,12,deep\n2019-07-07,Ridge,3,deep\n2012-07-08,Mill,4,deep\n2019-07-09,Ridge,3,deep\n"
	m := h.guess(t, importing.Pulls, text)
	r := h.check(t, text, m)
	if got := problems(r); !reflect.DeepEqual(got, []string{"2A no_season", "4A no_season"}) || r.Problems[0].More != 2 || r.AllProblems != 4 {
		t.Errorf("%v; %v", got, said(r))
	}
	m.MakeSeasons = true
	if r = h.check(t, text, m); r.AllProblems > 0 || r.Entries[ledger.KindSeason] != 2 {
		t.Errorf("%v, %v", said(r), r.Entries)
	}
}

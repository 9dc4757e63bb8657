package api_test

import (
	"encoding/json"
	"encoding/xml"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"pullbook/api/apitest"
	"pullbook/db"
	"pullbook/domain/ledger"
	"pullbook/domain/standard"
)

// yearBook is a book of two seasons of one yard, whose runs tests write by the day.
type yearBook struct {
	entries                     []*ledger.Entry
	last, now, yard, deep, tank *ledger.Entry
}

// newYearBook has a season before and one that is looked at.
func newYearBook(last, now ledger.Season) *yearBook {
	y := &yearBook{
		last: apitest.EntryAt(0, &last), now: apitest.EntryAt(0, &now), yard: apitest.EntryAt(0, &ledger.Yard{Name: "Alder Bend"}),
		deep: apitest.EntryAt(0, &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000}),
		tank: apitest.EntryAt(0, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 10_000_000}),
	}
	y.entries = []*ledger.Entry{y.last, y.now, y.yard, y.deep, y.tank}
	return y
}

func (y *yearBook) put(at time.Time, body ledger.Body) *ledger.Entry {
	e := apitest.EntryAt(0, body)
	e.OccurredAt = at
	y.entries = append(y.entries, e)
	return e
}

func (y *yearBook) pull(at time.Time) *ledger.Entry {
	return y.put(at, &ledger.Pull{YardID: y.yard.ID, Supers: []ledger.SuperCount{{SuperKindID: y.deep.ID, Supers: 10}}})
}

// run is a pull of ten supers and their run, on a day at noon.
func (y *yearBook) run(day string, grams int64) (pull *ledger.Entry) {
	at, err := time.Parse(time.DateOnly, day)
	if err != nil {
		panic(err)
	}
	at = at.Add(18 * time.Hour) // noon in Winnipeg
	supers := ledger.SuperCount{SuperKindID: y.deep.ID, Supers: 10}
	pull = y.pull(at.Add(-time.Hour))
	run := y.put(at, &ledger.Run{Name: day, FramesPerSide: 30})
	y.put(at, &ledger.RunSupers{RunID: run.ID, PullID: pull.ID, SuperCount: supers})
	y.put(at.Add(time.Minute), &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run.ID}, To: ledger.Place{Kind: ledger.PlaceTank, ID: y.tank.ID}, MassG: grams})
	return pull
}

func (y *yearBook) read(pull *ledger.Entry, pct float64) {
	y.put(pull.OccurredAt.Add(time.Minute), &ledger.Reading{On: ledger.Place{Kind: ledger.PlacePull, ID: pull.ID}, Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: pct}})
}

// limit is a rule set of the outfit's own that says how moist honey may be.
func (y *yearBook) limit(name, at string) {
	y.put(time.Date(2026, 1, 5, 12, 0, 0, 0, time.UTC), &ledger.RuleSet{Name: name, Citation: "contract 7", InForceFrom: "2026-01-01", Form: standard.FormLimits,
		Limits: []standard.Limit{{Parameter: "moisture", Unit: "%", Comparator: standard.AtMost, Limit: at, Clause: "1"}}})
}

func (y *yearBook) open(t *testing.T, outfit db.Outfit) *apitest.House {
	h := apitest.Open(t, outfit, y.entries)
	h.SignIn(t)
	return h
}

// drawn gets a picture in both its forms, and fails where one is none.
func drawn(t *testing.T, h *apitest.House, path string, texts ...string) {
	t.Helper()
	for _, form := range []string{"wide", "narrow"} {
		mark := "?"
		if strings.Contains(path, "?") {
			mark = "&"
		}
		response, svg := h.Get(t, path+mark+"form="+form)
		if response.StatusCode != http.StatusOK || response.Header.Get("Content-Type") != "image/svg+xml" || xml.Unmarshal([]byte(svg), new(struct{})) != nil {
			t.Errorf("%s, %s, came as %s, %s", path, form, response.Status, response.Header.Get("Content-Type"))
		}
		wants(t, path+", "+form, svg, texts...)
	}
}

func lacks(t *testing.T, what, body string, texts ...string) {
	t.Helper()
	for _, text := range texts {
		if strings.Contains(body, text) {
			t.Errorf("%s has %q", what, text)
		}
	}
}

var (
	in2025 = ledger.Season{Name: "2025", First: "2025-01-01", Last: "2025-12-31"}
	in2026 = ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"}
)

// 300 kg by 10 August 2026, 200 by the same day of 2025, which came to 500 in all.
func TestASeasonSaysHowMuchMoreThereIsThanByThisDayLastTime(t *testing.T) {
	t.Parallel()
	y := newYearBook(in2025, in2026)
	y.run("2025-08-01", 200_000)
	y.run("2025-08-20", 300_000)
	y.run("2026-07-30", 100_000)
	y.run("2026-08-10", 200_000)
	h := y.open(t, apitest.MetricOutfit)
	_, body := h.Get(t, "/season")
	wants(t, "the season", body, "honey until 10 Aug 2026", ">300.0</b> kg", "in 2025 by the same day", "200.0 kg (&#43;100.0)", "The dashed line is 2025 at the same days of the year.",
		`<th scope="row" class="when">10 Aug 2026</th><td class="main">200.0</td><td>300.0</td><td>200.0</td>`,
		// 2025's last day lies ahead: the season has no honey of it yet.
		`<th scope="row" class="when">20 Aug 2026</th><td class="main">–</td><td>–</td><td>500.0</td>`,
		"No moisture was read on a pull or a run of this season.", "Hives were not counted.", "15.0 kg") // of 20 supers
	drawn(t, h, "/charts/course.svg", "2025", "2026", "kg in sum", "kg a day")
	drawn(t, h, "/charts/moisture.svg") // with nothing on it
	us := y.open(t, apitest.USOutfit)
	_, body = us.Get(t, "/season")
	wants(t, "the season in pounds", body, ">661.4</b> lb", "440.9 lb (&#43;220.5)")
	drawn(t, us, "/charts/course.svg", "lb in sum", "lb a day")
}

// South of the equator, January 2026 is of the season that began in July 2025.
func TestASeasonAcrossNewYearIsDrawnInItsOwnOrder(t *testing.T) {
	t.Parallel()
	y := newYearBook(ledger.Season{Name: "2024/25", First: "2024-07-01", Last: "2025-06-30"}, ledger.Season{Name: "2025/26", First: "2025-07-01", Last: "2026-06-30"})
	y.run("2024-12-28", 50_000)
	y.run("2025-12-29", 100_000)
	y.run("2026-01-03", 200_000)
	h := y.open(t, apitest.MetricOutfit)
	_, body := h.Get(t, "/season?season="+y.now.ID.String())
	wants(t, "the season", body, "honey until 3 Jan 2026", "in 2024/25 by the same day", "50.0 kg (&#43;250.0)")
	first, second := strings.Index(body, `when">29 Dec 2025<`), strings.Index(body, `when">3 Jan 2026<`)
	if first < 0 || second < first {
		t.Errorf("December stands at %d, January at %d", first, second)
	}
	drawn(t, h, "/charts/course.svg?season="+y.now.ID.String(), "29 Dec", "2024/25")
}

// 2024 had a 29 February; in 2025 its honey stands beside the honey of 1 March.
func TestALeapDayIsOnThePage(t *testing.T) {
	t.Parallel()
	y := newYearBook(ledger.Season{Name: "2024", First: "2024-01-01", Last: "2024-12-31"}, in2025)
	y.run("2024-02-29", 70_000)
	y.run("2025-03-01", 90_000)
	h := y.open(t, apitest.MetricOutfit)
	_, body := h.Get(t, "/season?season="+y.now.ID.String())
	wants(t, "the season", body, "70.0 kg (&#43;20.0)", `when">1 Mar 2025</th><td class="main">90.0</td><td>90.0</td><td>70.0</td>`)
	drawn(t, h, "/charts/course.svg?season="+y.now.ID.String(), "1 Mar")
	_, body = h.Get(t, "/season?season="+y.last.ID.String())
	wants(t, "the leap year", body, "honey until 29 Feb 2024")
	lacks(t, "the first season of all", body, "by the same day", "The dashed line is")
	drawn(t, h, "/charts/course.svg?season="+y.last.ID.String(), "29 Feb")
}

// Two seasons of one year have no day in common, and the page says so.
func TestSeasonsOfOneYearAreNotHeldAgainstOneAnotherByTheDay(t *testing.T) {
	t.Parallel()
	y := newYearBook(ledger.Season{Name: "spring", First: "2026-03-01", Last: "2026-06-15"}, ledger.Season{Name: "summer", First: "2026-06-16", Last: "2026-12-31"})
	y.run("2026-05-20", 50_000)
	y.run("2026-07-20", 60_000)
	h := y.open(t, apitest.MetricOutfit)
	_, body := h.Get(t, "/season?season="+y.now.ID.String())
	wants(t, "summer", body, "No honey of spring fell on days that can be set beside this season&#39;s.", ">60.0</b> kg")
	lacks(t, "summer", body, "by the same day")
}

// A season of pulls that were not extracted has no honey to draw, and says so.
func TestASeasonWithoutWeightsSaysWhatItLacks(t *testing.T) {
	t.Parallel()
	y := newYearBook(in2025, in2026)
	y.pull(time.Date(2026, 8, 1, 18, 0, 0, 0, time.UTC))
	h := y.open(t, apitest.MetricOutfit)
	_, body := h.Get(t, "/season")
	wants(t, "the season", body, "No run gave honey in this season yet.", "No moisture was read on a pull or a run of this season.")
	lacks(t, "the season", body, "/charts/course.svg", "/charts/moisture.svg")
	drawn(t, h, "/charts/course.svg")
}

// Of three readings one is over the buyer's 18.6 %, on one of two days.
func TestMoistureByDayStandsBesideTheLimitThatHolds(t *testing.T) {
	t.Parallel()
	y := newYearBook(in2025, in2026)
	first, second := y.run("2026-08-01", 100_000), y.run("2026-08-05", 100_000)
	y.read(first, 17.0)
	y.read(first, 18.0)
	y.read(second, 19.0)
	h := y.open(t, apitest.MetricOutfit)
	_, body := h.Get(t, "/season")
	wants(t, "without a rule set", body, "No rule set that is in use limits moisture, so no limit is drawn.", "3 on 2 days", "17.0 – 19.0 %",
		`when">1 Aug 2026</th><td>2</td><td class="main">17.5</td><td>17.0</td><td>18.0</td>`)
	lacks(t, "without a rule set", body, "days with a reading over the limit")
	_, plain := h.Get(t, "/charts/moisture.svg")
	lacks(t, "its picture", plain, "stroke-dasharray")

	y.limit("Northgate", "20")
	y.limit("Southgate", "18.6")
	h = y.open(t, apitest.MetricOutfit)
	_, body = h.Get(t, "/season")
	wants(t, "with two", body, "The dashed line is the limit of 18.6 % (Southgate).", "<dt>days with a reading over the limit</dt><dd>1</dd>")
	_, limited := h.Get(t, "/charts/moisture.svg")
	wants(t, "its picture", limited, "stroke-dasharray")
	_, body = h.Send(t, http.MethodGet, "/season", nil, http.Header{"Accept-Language": {"es-MX"}})
	wants(t, "in Spanish", body, "La línea discontinua es el límite de 18.6 % (Southgate).", "Cómo fue entrando", "miel hasta el")
}

// 2025 has a run of 400 kg of which no entry says which pulls went into it. Alder Bend's ten
// supers went into another, which gave 300 kg; Birch Hollow's ten went into none.
func TestASeasonSaysWhatIsNotKnownByYard(t *testing.T) {
	t.Parallel()
	y := newYearBook(in2025, in2026)
	y.run("2025-08-01", 300_000)
	birch := apitest.EntryAt(0, &ledger.Yard{Name: "Birch Hollow", Latitude: new(50.0), Longitude: new(-97.0)})
	y.entries = append(y.entries, birch)
	day := time.Date(2025, 8, 10, 18, 0, 0, 0, time.UTC)
	y.put(day, &ledger.HiveCount{YardID: birch.ID, Name: "main flow", Hives: 20})
	y.put(day, &ledger.Pull{YardID: birch.ID, Supers: []ledger.SuperCount{{SuperKindID: y.deep.ID, Supers: 10}}})
	run := y.put(day, &ledger.Run{Name: "from the old sheet", FramesPerSide: 30})
	y.put(day, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run.ID}, To: ledger.Place{Kind: ledger.PlaceTank, ID: y.tank.ID}, MassG: 400_000})
	y.run("2026-08-01", 100_000)
	h := y.open(t, apitest.MetricOutfit)
	old := "?season=" + y.last.ID.String()
	_, body := h.Get(t, "/season"+old)
	wants(t, "the season", body, "Of the season&#39;s 700.0 kg, 300.0 kg are known by yard.", "not known by yard",
		`Alder Bend</a></th><td class="main">300.0</td><td>42.9</td><td>30.0</td>`, // 300 of 700 kg, ten supers
		`<tr><td>–</td><th scope="row" class="name"><a href="/yards/`+birch.ID.String()+`">Birch Hollow</a></th><td class="main">not known</td><td>–</td><td>–</td><td>–</td>`,
		`no pull known</th><td class="main">400.0</td><td>57.1</td>`)
	lacks(t, "the season", body, `<td class="main">0.0</td>`)
	_, bars := h.Get(t, "/charts/season.svg"+old)
	wants(t, "its picture", bars, "Alder Bend")
	lacks(t, "its picture", bars, "Birch Hollow")
	drawn(t, h, "/charts/yards.svg"+old, "Birch Hollow")
	_, body = h.Get(t, "/yards/"+birch.ID.String())
	wants(t, "the yard", body, `2025</a></th><td class="main">not known</td>`)
	_, body = h.Get(t, "/season")
	wants(t, "the season after", body, `Alder Bend</a></th><td class="main">100.0</td>`)
	lacks(t, "the season after", body, "are known by yard")
	_, body = h.Send(t, http.MethodGet, "/season"+old, nil, http.Header{"Accept-Language": {"es-MX"}})
	wants(t, "in Spanish", body, "se conocen por colmenar", `<td class="main">sin conocer</td>`)

	bearer := http.Header{"Authorization": {"Bearer " + h.Token}}
	_, body = h.Send(t, http.MethodGet, "/v1/reports/season"+old, nil, bearer)
	var report struct{ Yards []map[string]any }
	if err := json.Unmarshal([]byte(body), &report); err != nil || len(report.Yards) != 2 {
		t.Fatalf("%v: %s", err, body)
	}
	for _, yard := range report.Yards {
		_, honey := yard["honey_kg"]
		_, share := yard["share"]
		if _, ranked := yard["rank"]; ranked || honey != share || honey != (yard["name"] == "Alder Bend") {
			t.Errorf("the API says %v", yard)
		}
	}
	_, body = h.Send(t, http.MethodGet, "/feeds/yards.csv"+old, nil, bearer)
	wants(t, "the feed", body, `"Birch Hollow",,,,10,0,,,20,,,"",`, `"Alder Bend",,300.0000,42.86,10,10,,30.0000,`)
	_, body = h.Send(t, http.MethodGet, "/feeds/season.xlsx"+old, nil, bearer)
	book, err := excelize.OpenReader(strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	rows, err := book.GetRows("Yards")
	if err != nil || len(rows) < 2 {
		t.Fatalf("the sheet of yards has %d rows: %v", len(rows), err)
	}
	last := rows[len(rows)-1]
	for i, cell := range last {
		at, _ := excelize.CoordinatesToCellName(i+1, len(rows))
		if formula, err := book.GetCellFormula("Yards", at); err != nil || formula != "" || strings.HasPrefix(cell, "0.") {
			t.Errorf("the workbook says %q of a yard that is not known, by the formula %q: %v", last, formula, err)
		}
	}
	wants(t, "its last row", strings.Join(last, ","), "Birch Hollow")
}

// What is folded away is on the page all the same, with a short way to it.
func TestWhatIsFoldedOnASeasonsPageIsThere(t *testing.T) {
	t.Parallel()
	entries, _, _, _ := apitest.LookOver()
	h := apitest.Open(t, apitest.MetricOutfit, entries)
	h.SignIn(t)
	_, body := h.Get(t, "/season")
	for _, at := range []string{"course", "yards", "moisture", "map", "account", "lots"} {
		wants(t, "the season", body, `href="#`+at+`"`, `id="`+at+`"`)
	}
	wants(t, "the season", body, "26-001", "60.0000° N", "2\u00a0×\u00a0drum", "/lots?season=", "<dt>net</dt><dd>580.0 kg</dd>")
}

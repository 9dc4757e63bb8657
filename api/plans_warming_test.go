package api_test

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"pullbook/openapi"
)

// warmHouse is a house with a heated tank beside its own, which held 500 kg warm at 42 C and then cooled.
func warmHouse(t *testing.T) (s *shed, warmer string) {
	t.Helper()
	s = openHouse(t).newShed(t, "Fern Gully Honey")
	warmer = s.book(t, "tanks", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "warmer", "use": "heated", "capacity_kg": 700, "heater_w": 3000}).ID
	s.book(t, "movements", M{"id": id(), "occurred_at": at(18, "8:00"), "from": M{"kind": "run", "id": s.run}, "to": M{"kind": "tank", "id": warmer}, "mass_kg": 500})
	var points []M
	for h := 0; h <= 98; h += 2 { // from the 18th at 9:00 to the 22nd at 11:00: warm, held, and cooling with a time constant of 20 h
		c := math.Min(42, 24+2*float64(h))
		if h > 40 {
			c = 20 + 22*math.Exp(-float64(h-40)/20)
		}
		points = append(points, M{"at": at(18, fmt.Sprintf("%d:00", 9+h)), "temperature_c": math.Round(10*c) / 10})
	}
	s.book(t, "temperature-logs", M{"id": id(), "occurred_at": at(22, "11:00"), "on": M{"kind": "tank", "id": warmer}, "points": points})
	return s, warmer
}

func (s *shed) warming(t *testing.T, query string) openapi.WarmingPlan {
	t.Helper()
	return as[openapi.WarmingPlan](t, s.get(t, "plans/warming?"+query))
}

func byHour(hours int) string {
	return "by=" + url.QueryEscape(clock.Add(time.Duration(hours)*time.Hour).Format(time.RFC3339))
}

// The tank cooled with a time constant of 20 h: 500 kg of 2.32 kJ/(kg K) lose 322 Wh/K over 20 h, 16 W/K. It was
// held at 42 C, and begins at what was logged last.
func TestAWarmingOfATankRestsOnItsLog(t *testing.T) {
	t.Parallel()
	s, _ := warmHouse(t)
	p := s.warming(t, "tank=warmer&to=liquid&kwh_price=0.4&"+byHour(48))
	if len(p.Choices) == 0 || p.Impossible != nil {
		t.Fatalf("no course: %+v", p.Impossible)
	}
	rests := strings.Join(p.RestsOn, "\n")
	for _, want := range []string{"The honey begins at 21.2 °C, as last logged.", "loses 16 ± ", "learned from 1 cooling of its log", "As things are done now is 42 °C", "15 % of the mass"} {
		if !strings.Contains(rests, want) {
			t.Errorf("rests on:\n%s\nwant %q", rests, want)
		}
	}
	best := p.Choices[0]
	if p.Hours != 48 || p.Kg != 500 || p.HottestC != 50 || !best.Arrives || best.ArrivesAt == nil || best.ArrivesAt.After(p.By) || best.HottestC == nil || *best.HottestC > 50 {
		t.Errorf("%d h, %v kg: %+v", p.Hours, p.Kg, best.Steps)
	}
	if best.LookFrom == nil || !best.LookFrom.Before(*best.ArrivesAt) {
		t.Errorf("look at it from %v on, for %v", best.LookFrom, best.ArrivesAt)
	}
	if len(best.Curve) != 49 || best.Curve[0].MeanC != 21.2 {
		t.Errorf("the curve has %d hours and begins at %v", len(best.Curve), best.Curve[0])
	}
	// 500 kg of 2.35 kJ/(kg K) up to 45 C and 15 % crystals take 7.8 + 2.2 kWh at the least.
	if k := best.HeaterKwh.Middle; k < 8 || k > 25 || math.Abs(best.HoneyKwh+best.LostKwh-k) > 0.01 || best.MeltingKwh > 2.2 || best.Money == nil || math.Abs(best.Money.Middle-0.4*k) > 0.001 {
		t.Errorf("%+v kWh, %v in the honey, %v lost, %v melting, money %+v", best.HeaterKwh, best.HoneyKwh, best.LostKwh, best.MeltingKwh, best.Money)
	}
	if w := p.AsHotAsAllowed; w == nil || !w.Arrives || w.HmfMadeMgPerKg.Middle <= best.HmfMadeMgPerKg.Middle {
		t.Errorf("as hot as allowed: %+v", w)
	}
	if p.AsNow == nil || *p.AsNow.HottestC != 42 || p.AsNow.CostKwh < best.CostKwh && p.AsNow.Arrives {
		t.Errorf("as now: %+v", p.AsNow)
	}
	if p.AsHotAsAllowed.CostKwh < best.CostKwh || p.DayMore != nil {
		t.Errorf("best %v kWh, as hot as allowed %v, with a day more, of which it needs nothing, %+v", best.CostKwh, p.AsHotAsAllowed.CostKwh, p.DayMore)
	}
	for _, word := range []string{"infants", "scalds", "residual-current", "Local rules prevail"} {
		if !strings.Contains(strings.Join(p.Cautions, " "), word) {
			t.Errorf("no caution says %q: %v", word, p.Cautions)
		}
	}
}

func TestAWarmingToOtherStates(t *testing.T) {
	t.Parallel()
	s, warmer := warmHouse(t)
	thin := s.warming(t, "tank="+warmer+"&to=pumpable&most_pa_s=5&moisture_pct=17.4&probability=0.5&"+byHour(24))
	// ln 5 = -1.72777 + 932.864/(T - 213) - 0.42072 x 17.4 at T = 300.53 K, 27.4 C.
	if thin.EndTemperatureC == nil || math.Abs(*thin.EndTemperatureC-27.38) > 0.02 || len(thin.Choices) == 0 || thin.Choices[0].Curve[24].ColdestC < 27.38 {
		t.Errorf("pumpable: %v, %+v", thin.EndTemperatureC, thin.Choices)
	}
	if killed := s.warming(t, "tank=warmer&to=yeast_killed&"+byHour(30)); len(killed.Choices) == 0 || *killed.Choices[0].HottestC < 52 {
		t.Errorf("yeasts: %+v, %+v", killed.Choices, killed.Impossible)
	}
	short := s.warming(t, "tank=warmer&to=liquid&"+byHour(4))
	if len(short.Choices) != 0 || short.Impossible == nil || short.Impossible.Earliest == nil || !strings.Contains(short.Impossible.Says, "it takes until") {
		t.Errorf("within four hours: %+v", short.Impossible)
	}
}

// What would change the plan: a tank that is given little more time than it needs is late as it loses more or begins
// colder. What is said of REST is said on the page.
func TestAWarmingSaysWhatWouldChangeIt(t *testing.T) {
	t.Parallel()
	s, warmer := warmHouse(t)
	p := s.warming(t, "tank=warmer&to=yeast_killed&"+byHour(12))
	changes := map[openapi.WarmingTurnFigure]bool{}
	for _, turn := range p.Turns {
		changes[turn.Figure] = true
		if turn.Above != (turn.At > turn.Now) || turn.Changes != openapi.WarmingTurnChangesBetter && turn.Above != (turn.Figure != openapi.TurnsByStart) {
			t.Errorf("it turns the wrong way: %+v", turn)
		}
	}
	if len(p.Choices) == 0 || len(changes) < 2 {
		t.Fatalf("%+v, turns %+v", p.Impossible, p.Turns)
	}
	text, _ := s.shows(t, strings.NewReplacer("to=liquid", "to=yeast_killed", "hours=48", "hours=12").Replace(askWarmingPlan)+warmer)
	wants(t, "the page", text, "What would change the plan", p.Turns[0].Says, p.Turns[len(p.Turns)-1].Says)
	if short := s.warming(t, "tank=warmer&to=liquid&"+byHour(4)); short.Turns == nil || len(short.Turns) != 0 {
		t.Errorf("what cannot be done turns: %+v", short.Turns)
	}
}

// Drums stand in a room: the core is behind, and the room of the lot's containers is where honey is warmed.
func TestAWarmingOfDrums(t *testing.T) {
	t.Parallel()
	s, _ := warmHouse(t)
	p := s.warming(t, "lot=L26-001&to=liquid&start_temperature_c=16&loss_w_per_k=40&room=hot%20room&"+byHour(14*24))
	if p.Containers == nil || *p.Containers != 1 || len(p.Choices) == 0 {
		t.Fatalf("%+v", p)
	}
	best := p.Choices[0]
	behind := 0.0
	for _, m := range best.Curve {
		behind = math.Max(behind, m.MeanC-m.ColdestC)
	}
	if behind < 3 || !best.Arrives || best.LostKwh <= 0 {
		t.Errorf("the core is %v K behind at the most, %+v", behind, best.Steps)
	}
	if !strings.Contains(strings.Join(p.RestsOn, " "), `Each "drum" is taken as`) || !strings.Contains(strings.Join(p.Cautions, " "), "draw liquid honey off") {
		t.Errorf("rests on %v, cautions %v", p.RestsOn, p.Cautions)
	}
	early := s.warming(t, "lot=L26-001&to=liquid&start_temperature_c=16&"+byHour(140))
	if len(early.Choices) == 0 || early.DayMore == nil || early.DayMore.CostKwh >= early.Choices[0].CostKwh || early.DayMore.HmfMadeMgPerKg.Middle >= early.Choices[0].HmfMadeMgPerKg.Middle {
		t.Errorf("within 140 hours: %+v, with a day more %+v", early.Choices, early.DayMore)
	}
	if wide := s.warming(t, "lot=L26-001&to=liquid&start_temperature_c=16&diameter_cm=40&height_cm=150&"+byHour(14*24)); len(wide.Choices) == 0 || wide.Choices[0].CostKwh >= best.CostKwh {
		t.Errorf("slender drums are liquid with less: %v beside %v", wide.Choices[0].CostKwh, best.CostKwh)
	}
}

func TestAWarmingThatCannotBeAskedForIsRefused(t *testing.T) {
	t.Parallel()
	s, _ := warmHouse(t)
	soon := byHour(48)
	for query, says := range map[string]string{
		"tank=warmer&to=liquid&" + byHour(-5):                                 "by: that is over",
		"tank=warmer&to=liquid&" + byHour(0):                                  "by: that is over",
		"tank=warmer&to=liquid&" + byHour(24*30):                              "by: that is more than 14 days away",
		"tank=warmer&to=liquid&by=tomorrow":                                   "by",
		"tank=warmer&to=liquid":                                               "by",
		"tank=warmer&to=cold&" + soon:                                         "to",
		"tank=warmer&" + soon:                                                 "to",
		"to=liquid&" + soon:                                                   "tank: Say what is to be warmed",
		"tank=warmer&lot=L26-001&to=liquid&" + soon:                           "tank: Say what is to be warmed",
		"tank=nowhere&to=liquid&" + soon:                                      "tank",
		"lot=nowhere&to=liquid&" + soon:                                       "lot",
		"lot=L26-001&room=nowhere&to=liquid&" + soon:                          "room",
		"tank=small%20tank&to=liquid&" + soon:                                 `tank: "small tank" is empty`,
		"tank=large%20tank&to=liquid&" + soon:                                 `heater_w: "large tank" has no power of a heater`,
		"tank=large%20tank&heater_w=3000&to=liquid&" + soon:                   "start_temperature_c: nothing was logged",
		"lot=L26-001&to=liquid&" + soon:                                       "start_temperature_c: nothing was logged",
		"tank=warmer&heater_w=0&to=liquid&" + soon:                            "heater_w",
		"tank=warmer&heater_w=1e9&to=liquid&" + soon:                          "heater_w",
		"tank=warmer&loss_w_per_k=-1&to=liquid&" + soon:                       "loss_w_per_k",
		"tank=warmer&around_c=200&to=liquid&" + soon:                          "around_c",
		"tank=warmer&start_temperature_c=300&to=liquid&" + soon:               "start_temperature_c",
		"tank=warmer&crystals_pct=90&to=liquid&" + soon:                       "crystals_pct",
		"tank=warmer&moisture_pct=90&to=liquid&" + soon:                       "moisture_pct",
		"tank=warmer&hottest_c=95&to=liquid&" + soon:                          "hottest_c",
		"tank=warmer&hottest_c=0&to=liquid&" + soon:                           "hottest_c",
		"tank=warmer&probability=1&to=liquid&" + soon:                         "probability",
		"tank=warmer&hmf_kwh=-1&to=liquid&" + soon:                            "hmf_kwh",
		"tank=warmer&kwh_price=-1&to=liquid&" + soon:                          "kwh_price",
		"tank=warmer&to=pumpable&" + soon:                                     "most_pa_s: say how thick",
		"tank=warmer&to=pumpable&most_pa_s=0&" + soon:                         "most_pa_s",
		"lot=L26-001&start_temperature_c=16&diameter_cm=0&to=liquid&" + soon:  "diameter_cm",
		"lot=L26-001&start_temperature_c=16&height_cm=9000&to=liquid&" + soon: "height_cm",
	} {
		r := s.send(t, http.MethodGet, "/v1/plans/warming?"+query, s.reader, nil)
		p := as[problem](t, r)
		if r.status != http.StatusUnprocessableEntity && r.status != http.StatusBadRequest || len(p.Errors) != 1 {
			t.Errorf("%s: %d %s, want one word about %s", query, r.status, r.raw, says)
			continue
		}
		if got := strings.TrimPrefix(p.Errors[0].Pointer, "query:") + ": " + p.Errors[0].Detail; !strings.HasPrefix(got, says) {
			t.Errorf("%s: %q, want %q", query, got, says)
		}
	}
}

// An answer is kept while nothing is recorded, and no longer than its hour: a plan begins now.
func TestAWarmingIsNotRecorded(t *testing.T) {
	t.Parallel()
	s, _ := warmHouse(t)
	before := s.head(t)
	s.warming(t, "tank=warmer&to=liquid&"+byHour(40))
	if after := s.head(t); after != before {
		t.Errorf("the book was %+v, and is %+v", before, after)
	}
}

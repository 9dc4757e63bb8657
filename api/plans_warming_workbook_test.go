package api_test

import (
	"html"
	"math"
	"regexp"
	"testing"

	"pullbook/openapi"
)

// within compares a figure of a workbook with that of the service.
func within(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if math.Abs(got-want) > share*math.Abs(want)+0.011 { // the workbook shows hundredths
		t.Errorf("%s: the workbook reckons %v, the service says %v", what, got, want)
	}
}

// A warming's workbook reckons what the service says, and goes on reckoning as somebody types set points: with those of as hot as
// allowed it comes to what the service says of that way.
func TestAWorkbookOfAWarmingReckonsAsTheServiceDoes(t *testing.T) {
	t.Parallel()
	s, warmer := warmHouse(t)
	p := s.warming(t, "tank=warmer&to=liquid&kwh_price=0.4&"+byHour(48))
	_, page := s.shows(t, askWarmingPlan+warmer)
	link := regexp.MustCompile(`href="(/plans/warming/warming\.xlsx\?[^"]+)"`).FindStringSubmatch(page)
	if link == nil {
		t.Fatal("the page has no workbook")
	}
	book := s.workbook(t, html.UnescapeString(link[1]))
	says := func(rows [][]string, way openapi.WarmingWay) {
		t.Helper()
		within(t, "HMF made", cellOf(t, rows, "HMF made, mg/kg", 1), way.HmfMadeMgPerKg.Middle, 0.005)
		within(t, "HMF", cellOf(t, rows, "HMF when", 1), way.HmfMgPerKg.Middle, 0.005)
		within(t, "diastase", cellOf(t, rows, "Diastase when", 1), way.DiastaseGothe.Middle, 0.005)
		within(t, "heat", cellOf(t, rows, "Heat, kWh", 1), way.HeaterKwh.Middle, 0.005)
		within(t, "heat in the honey", cellOf(t, rows, "of it in the honey", 1), way.HoneyKwh, 0.01)
		within(t, "heat lost", cellOf(t, rows, "of it lost", 1), way.LostKwh, 0.02)
		within(t, "money", cellOf(t, rows, "Money", 1), way.Money.Middle, 0.005)
		end := way.Curve[len(way.Curve)-1]
		within(t, "honey at the end", cellOf(t, rows, "Honey when the time has come", 1), end.MeanC, 0.002)
		within(t, "coldest at the end", cellOf(t, rows, "Coldest of it then", 1), end.ColdestC, 0.002)
	}
	rows := reckonedCells(t, book)
	best := p.Choices[0]
	says(rows, best)
	within(t, "as planned", cellOf(t, rows, "HMF made, mg/kg", 2), best.HmfMadeMgPerKg.Middle, 1e-9)
	if share := cellOf(t, rows, "Melting the crystals: share", 1); share < 0.99 {
		t.Errorf("the crystals are molten to %v of what that takes, and the service says they are", share)
	}
	hours := func(rows [][]string) (out [][]string) {
		for i, row := range rows {
			if row[0] == "at" {
				return rows[i+1:]
			}
		}
		t.Fatalf("no hours in %v", rows)
		return nil
	}
	var changes []typed
	for i, row := range hours(rows)[:len(best.Curve)-1] {
		within(t, "honey at "+row[0], cellOf(t, rows, row[0], 2), best.Curve[i].MeanC, 0.003)
		within(t, "coldest at "+row[0], cellOf(t, rows, row[0], 3), best.Curve[i].ColdestC, 0.003)
		set := 0.0
		if c := p.AsHotAsAllowed.Curve[i].SetC; c != nil {
			set = float64(*c)
		}
		changes = append(changes, typed{Row: row[0], Column: 1, Value: set})
	}
	says(reckonedCells(t, book, changes...), *p.AsHotAsAllowed)
	dear := reckonedCells(t, book, typed{Row: "Price of a kWh", Column: 1, Value: 4})
	within(t, "ten times the price", cellOf(t, dear, "Money", 1), 10*best.Money.Middle, 0.005)
}

// The temperatures of drums stand; HMF and heat are reckoned from them.
func TestAWorkbookOfDrumsReckonsFromTheirTemperatures(t *testing.T) {
	t.Parallel()
	s, _ := warmHouse(t)
	p := s.warming(t, "lot=L26-001&to=liquid&start_temperature_c=16&loss_w_per_k=40&kwh_price=0.4&"+byHour(14*24))
	book := s.workbook(t, "/plans/warming/warming.xlsx?ask=plan-warming&to=liquid&hours=336&probability=0.8&hmf_kwh=20&around=still_air&kwh_price=0.4&start_temperature_c=16&loss_w_per_k=40&what=lot+"+s.lot)
	rows, best := reckonedCells(t, book), p.Choices[0]
	within(t, "HMF made", cellOf(t, rows, "HMF made, mg/kg", 1), best.HmfMadeMgPerKg.Middle, 0.005)
	within(t, "diastase", cellOf(t, rows, "Diastase when", 1), best.DiastaseGothe.Middle, 0.005)
	within(t, "heat", cellOf(t, rows, "Heat, kWh", 1), best.HeaterKwh.Middle, 0.005)
	within(t, "heat lost", cellOf(t, rows, "of it lost", 1), best.LostKwh, 0.01)
	tight := reckonedCells(t, book, typed{Row: "Loss of the room", Column: 1, Value: 20})
	if got, want := cellOf(t, tight, "of it lost", 1), cellOf(t, rows, "of it lost", 1)/2; got > 1.05*want {
		t.Errorf("a room that loses half as much loses %v kWh, half of it is %v", got, want)
	}
}

package api_test

import (
	"html"
	"math"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"pullbook/openapi"
)

// The page shows the sales that TestEachLotGoesToTheContractThatPaysTheMostForIt works out by hand, in
// both languages, and what would change them.
func TestThePageShowsTheSalesThatTheContractFinds(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	baker := s.book(t, "buyers", M{"id": id(), "occurred_at": at(1, "9:00"), "name": "Harrow Foods"}).ID
	empty, _ := s.shows(t, "/plans/sales?ask=sales&keep=&probability=0.95")
	wants(t, "the page without a contract", empty, "No contract is open on this day", "Record a contract")
	s.book(t, "contracts", s.aContractWith(s.buyer, s.packerLimits(t, "drums", "18.2", "420", "18", "2"), "reference", "order 14"))
	s.book(t, "contracts", s.aContractWith(baker, s.packerLimits(t, "bakery", "20", "360", "18", "5"), "freight_per_container_minor", 1000))
	text, page := s.shows(t, "/plans/sales?ask=sales&keep=&probability=0.95")
	wants(t, "the page of sales", text, "What brings the most", "6,828.00", "order 14", "Northgate Packing", "3,780.00", "Harrow Foods", "3,078.00", "30.00", "The open contracts", "It takes more than goes there", "DRY", "3 containers, whole", "turns at", "What stays", "Mixing first", "Take care")
	if strings.Contains(page, "aria-invalid") {
		t.Error("something is wrong with sales that can be asked for")
	}
	links := regexp.MustCompile(`href="(/dispatches/prepare\?[^"]+)"`).FindAllStringSubmatch(page, -1)
	if len(links) == 0 {
		t.Fatal("no sale can be prepared")
	}
	form, source := s.shows(t, html.UnescapeString(links[0][1]))
	wants(t, "the dispatch that is prepared", form, "DRY-0", "DRY-1", "DRY-2")
	if n := strings.Count(source, " checked"); n != 3 || !strings.Contains(source, s.buyer+`" selected`) || !strings.Contains(source, `value="order 14"`) {
		t.Errorf("%d containers are ticked, want the three of DRY for Northgate Packing by order 14", n)
	}
	drawing := regexp.MustCompile(`src="(/plans/sales/drawing\.svg\?[^"]+)"`).FindStringSubmatch(page)
	if drawing == nil {
		t.Fatal("the sales are not drawn")
	}
	wants(t, "the figures of the picture", text, "Figures of the picture", "promised", "900")
	if status, svg := fetch(t, s.browsing(t), s.url+html.UnescapeString(drawing[1])); status != http.StatusOK || !strings.Contains(svg, "order 14") {
		t.Errorf("the drawing answered %d", status)
	}
	for _, wrong := range []string{"sales=9", "sales=", "sales=1&keep=much"} {
		if status, _ := fetch(t, s.browsing(t), s.url+"/plans/sales/drawing.svg?ask=sales&probability=0.95&"+wrong); status != http.StatusNotFound {
			t.Errorf("a drawing of %s answered %d", wrong, status)
		}
	}
	spanish, _ := s.shows(t, "/plans/sales?ask=sales&keep=&probability=0.95", "es")
	wants(t, "the page in Spanish", spanish, "Lo que da más", "Lo que se queda", "Mezclar antes")
	turns, _ := s.shows(t, "/plans/sales?ask=sales&keep=3&probability=0.95")
	wants(t, "the page where honey is worth 3.00 kept", turns, "Below 3.18 CAD/kg", "other sales are the best")
	kept, _ := s.shows(t, "/plans/sales?ask=sales&keep=5&probability=0.95")
	wants(t, "the page where honey is worth more kept", kept, "Nothing goes", "worth more kept")
	_, wrong := s.shows(t, "/plans/sales?ask=sales&keep=much&probability=0.95")
	wants(t, "the page with a price that is none", wrong, "aria-invalid", "Type a price")
}

// The workbook of the sales above reckons what the service does: 3 x 300 x 4.20 and 3 x 300 x 3.60 x 0.95, less three
// freights of 10.00. Two dry drums for the packer are 1,260.00 less, and one to the baker as well brings 1,080.00 less 10.00.
func TestTheWorkbookOfSalesReckonsWhatOtherNumbersEarn(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	baker := s.book(t, "buyers", M{"id": id(), "occurred_at": at(1, "9:00"), "name": "Harrow Foods"}).ID
	s.book(t, "contracts", s.aContractWith(s.buyer, s.packerLimits(t, "drums", "18.2", "420", "18", "2"), "reference", "order 14", "promised_kg", 900))
	s.book(t, "contracts", s.aContractWith(baker, s.packerLimits(t, "bakery", "20", "360", "18", "5"), "freight_per_container_minor", 1000, "last_day", "2026-10-31"))
	best := as[openapi.SalesPlan](t, s.get(t, "plans/sales")).Assignments[0]
	const address = "/plans/sales/sales.xlsx?ask=sales&keep=&probability=0.95&sales=1"
	const stays, bakers, packers = 4, 5, 6
	book := s.workbook(t, address)
	same := func(what string, rows [][]string, column int, row string, want float64) {
		t.Helper()
		if got := cellOf(t, rows, row, column); math.Abs(got-want) > 0.006 {
			t.Errorf("%s: %s is %.3f, want %.3f", what, row, got, want)
		}
	}
	rows := reckonedCells(t, book)
	for _, x := range best.Sales {
		column := map[float64]int{378_000: packers, 307_800: bakers}[x.NetMinor]
		if column == 0 {
			t.Fatalf("a sale for %.0f", x.NetMinor)
		}
		same("as planned", rows, column, "Containers that go", float64(x.Containers))
		same("as planned", rows, column, "Honey that goes, kg", x.Kg)
		same("as planned", rows, column, "Price less discount, CAD", x.NetMinor/100)
		same("as planned", rows, column, "Freight, CAD", x.FreightMinor/100)
		same("as planned", rows, column, "Missing of what was promised", x.ShortKg)
	}
	same("as planned", rows, stays, "Earns, CAD", best.EarnedMinor/100)
	same("as planned", rows, stays, "DRY-0", 0)
	if said := saidIn(t, rows, "Check", stays); !strings.HasPrefix(said, "nothing is oversold") {
		t.Errorf("sales as planned say %q", said)
	}
	rows = reckonedCells(t, book, typed{"DRY-0", packers, 2}, typed{"DRY-0", bakers, 1})
	same("changed", rows, packers, "Price less discount, CAD", 2520)
	same("changed", rows, packers, "Missing of what was promised", 300)
	same("changed", rows, bakers, "Price less discount, CAD", 3078+1080)
	same("changed", rows, bakers, "Freight, CAD", 40)
	same("changed", rows, stays, "Earns, CAD", 6828-1260+1080-10)
	if packer, bakery, all := saidIn(t, rows, "Check", packers), saidIn(t, rows, "Check", bakers), saidIn(t, rows, "Check", stays); packer != "a promise is missed" || bakery != "more than it takes" || all != "look at the checks" {
		t.Errorf("the changed sales say %q, %q, %q", packer, bakery, all)
	}
	rows = reckonedCells(t, book, typed{"WET-0", packers, 1})
	if last := saidIn(t, rows, "WET-0", packers+1); last != "more than are here" {
		t.Errorf("four wet drums of three say %q", last)
	}
	rows = reckonedCells(t, book, typed{"WET-0", packers, 1}, typed{"WET-0", bakers, 2})
	if last := saidIn(t, rows, "WET-0", packers+1); last != "it may not go there" {
		t.Errorf("a wet drum for who asks for dry honey says %q", last)
	}
}

// A manager goes by the sales above. The sheet says what goes to whom by which day, and nothing leaves by it; once the drums
// have left and the buyer paid, what came stands beside what was expected.
func TestAManagerGoesBySales(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	baker := s.book(t, "buyers", M{"id": id(), "occurred_at": at(1, "9:00"), "name": "Harrow Foods"}).ID
	drums, bakery := s.packerLimits(t, "drums", "18.2", "420", "18", "2"), s.packerLimits(t, "bakery", "20", "360", "18", "5")
	packers := s.book(t, "contracts", s.aContractWith(s.buyer, drums, "reference", "order 14", "last_day", "2026-10-31")).ID
	s.book(t, "contracts", s.aContractWith(baker, bakery, "freight_per_container_minor", 1000))
	const question = "/plans/sales?ask=sales&keep=&probability=0.95"
	_, page := s.shows(t, question)
	sheet := regexp.MustCompile(`href="(/plans/sales/blank\?[^"]+)"`).FindStringSubmatch(page)
	if sheet == nil {
		t.Fatal("no sheet to work from")
	}
	paper, _ := s.shows(t, html.UnescapeString(sheet[1]))
	wants(t, "the sheet", paper, "Send 3 containers of DRY to Northgate Packing order 14 by 31 Oct 2026", "Send 3 containers of WET to Harrow Foods", "honey sent to Northgate Packing order 14", "900", "paid by Harrow Foods", "3,078.00")
	s.adopt(t, question, "autumn")
	adopted := as[[]openapi.AdoptedPlan](t, s.get(t, "adopted-plans"))[0]
	if adopted.Title != "autumn" || adopted.Of != openapi.PlanOfSales {
		t.Errorf("adopted: %+v", adopted)
	}
	// The same plan, adopted before the drums leave.
	entry := s.book(t, "adopted-plans", M{"id": id(), "occurred_at": at(21, "16:00"), "title": "autumn", "of": "sales", "steps": adopted.Steps, "expects": adopted.Expects}).ID
	held := func() openapi.HeldPlan { return as[openapi.HeldPlan](t, s.get(t, "plans/adopted/"+entry)) }
	p := held()
	if len(p.Steps) != 2 || len(p.Figures) != 4 || p.Steps[0].State != openapi.StepLeft || *p.Figures[0].Came != 0 || !p.Figures[0].Open || p.Figures[1].Came != nil {
		t.Fatalf("before anything left: %+v", p)
	}

	prepared := regexp.MustCompile(`href="(/dispatches/prepare\?[^"]*order\+14[^"]*)"`).FindStringSubmatch(html.UnescapeString(page))
	if prepared == nil {
		t.Fatal("the sale to the packers cannot be prepared")
	}
	address, err := url.Parse(prepared[1])
	if err != nil {
		t.Fatal(err)
	}
	containers := address.Query()["container"]
	for _, l := range as[[]M](t, s.get(t, "lots")) {
		if l["code"] == "DRY" {
			s.book(t, "lot-statuses", M{"id": id(), "occurred_at": at(21, "17:00"), "lot_id": l["id"], "status": "released", "override": true, "note": "sold by sample"})
		}
	}
	leaves := func(clock string, drums ...string) string {
		return s.book(t, "dispatches", M{"id": id(), "occurred_at": at(21, clock), "buyer_id": s.buyer, "containers": drums, "override": true, "note": "as agreed"}).ID
	}
	leaves("18:00", containers[:2]...)
	if p = held(); p.Steps[0].State != openapi.StepBegun || *p.Steps[0].Count != 2 || *p.Figures[0].Came != 600 || p.Figures[0].Expected.Value != 900 {
		t.Errorf("once two drums left: %+v, %+v", p.Steps[0], p.Figures[0])
	}
	truck := leaves("19:00", containers[2])
	s.book(t, "settlements", M{"id": id(), "occurred_at": at(22, "9:00"), "dispatch_id": truck, "rule_set": M{"rule_set_id": drums}, "paid_minor": 126_000,
		"drums": []M{{"fill_id": containers[2], "net_kg": 300, "moisture_pct": 17}}})
	p = held()
	if p.Steps[0].State != openapi.StepDone || p.Steps[1].State != openapi.StepLeft || *p.Figures[0].Came != 900 || *p.Figures[1].Came != 126_000 || p.Figures[1].Expected.Value != 378_000 {
		t.Errorf("once all left: %+v, %+v", p.Steps, p.Figures)
	}
	if about := *p.Figures[0].Expected.AboutID; about.String() != packers {
		t.Errorf("the first figure is of %s, want %s", about, packers)
	}
	text, _ := s.shows(t, "/plans/adopted/"+entry)
	wants(t, "the plan gone by", text, "autumn", "1 step left", "done: 3", "left to do", "3,780.00", "1,260.00")
	nothing, _ := s.shows(t, "/plans/sales?ask=sales&keep=5&probability=0.95")
	if strings.Contains(nothing, "Go by this plan") {
		t.Error("one can go by sales of nothing")
	}
}

// saidIn is a cell in the row that begins with a name.
func saidIn(t *testing.T, rows [][]string, name string, column int) string {
	t.Helper()
	for _, row := range rows {
		if strings.HasPrefix(row[0], name) {
			return row[column]
		}
	}
	t.Fatalf("no row %s in %v", name, rows)
	return ""
}

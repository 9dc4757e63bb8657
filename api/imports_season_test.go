package api_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// TestAWholeOldSeasonComesInFromItsSheets brings in 2024 as its sheets have it, and holds
// what the book then says against figures worked out on paper.
//
//	 1 Aug  Alder Bend 30 deeps, Birch Hollow 20; 8 Aug Birch Hollow 10; none weighed
//	 2 Aug  run 1 of Alder Bend's 30 and Birch Hollow's 20: 1000 kg into the sump
//	        shared out by supers, 30 : 20: Alder Bend 600 kg, Birch Hollow 400 kg
//	 9 Aug  run 2 of Birch Hollow's 10: 250 kg into the sump
//	        Birch Hollow in all 650 kg, of 1250 kg: 52 %; over 30 supers 21.667 kg
//	20 Jul  20 hives at Alder Bend, 10 at Birch Hollow: 30 and 65 kg a hive
//	 3 Aug, 10 Aug  all of it is pumped into the large tank
//	12 Aug  lot 24-1: drums of 290, 290, 290, 290 and 90 kg: 1250 kg; the tanks are empty
//	 1 Sep  four drums go to the packer, 1160 kg; 15 Sep the fifth to Northgate, 90 kg
//	        nothing is in stock, and in and out both come to 1250 kg
func TestAWholeOldSeasonComesInFromItsSheets(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	for path, body := range map[string]M{
		"super-kinds":     {"name": "deep", "tare_kg": 13, "usual_net_kg": 27, "fullest_net_kg": 36},
		"container-kinds": {"name": "drum", "volume_l": 208, "usual_tare_kg": 18, "usual_net_kg": 290},
		"buyers":          {"name": "Northgate Packing"},
	} {
		body["id"], body["occurred_at"] = id(), at(-100, "9:00")
		o.book(t, path, body)
	}
	for _, name := range []string{"sump", "large tank"} {
		o.book(t, "tanks", M{"id": id(), "occurred_at": at(-100, "9:00"), "name": name, "use": "settling", "capacity_kg": 4900})
	}
	kind := M{"fixed": M{"super_kind": "deep"}, "make_seasons": true}
	sheets := []struct {
		kind, text string
		mapping    any
	}{
		{"yards", "Yard\nAlder Bend\nBirch Hollow\n", nil},
		{"hive_counts", "Date,Yard,Hives,Count\n2024-07-20,Alder Bend,20,main flow\n2024-07-20,Birch Hollow,10,main flow\n", M{"make_seasons": true}},
		{"pulls", "Date,Yard,Supers\n2024-08-01,Alder Bend,30\n2024-08-01,Birch Hollow,20\n2024-08-08,Birch Hollow,10\n", kind},
		{"runs", "Date,Run,Honey kg,Tank\n2024-08-02,1,1000,sump\n2024-08-09,2,250,sump\n", nil},
		{"run_supers", "Run,Yard,Pulled,Supers\n1,Alder Bend,2024-08-01,30\n1,Birch Hollow,2024-08-01,20\n2,Birch Hollow,2024-08-08,10\n", nil},
		{"transfers", "Date,From,To,Moved kg\n2024-08-03,sump,large tank,1000\n2024-08-10,sump,large tank,250\n", nil},
		{"lots", "Date,Lot\n2024-08-12,24-1\n", nil},
		{"containers", "Drum,Lot,Date,Tank,Type,Net kg\n1,24-1,2024-08-12,large tank,drum,290\n2,24-1,2024-08-12,large tank,drum,290\n3,24-1,2024-08-12,large tank,drum,290\n4,24-1,2024-08-12,large tank,drum,290\n5,24-1,2024-08-12,large tank,drum,90\n", nil},
		{"sales", "Date,Buyer,Drum,Net kg\n2024-09-01,packer,1 to 4,1160\n2024-09-15,Northgate Packing,5,90\n", M{"names": M{"buyer": M{"packer": M{"create": M{}}}}}},
	}
	for _, again := range []bool{false, true} {
		for _, s := range sheets {
			answer := o.bringIn(t, o.manager, s.kind, "true", s.text, s.mapping)
			if want := http.StatusCreated; !again && answer.status != want {
				t.Fatalf("%s: %d %s", s.kind, answer.status, answer.raw)
			}
			if got := as[importAnswer](t, answer); again && (got.Stored || got.HadRows != got.Rows) {
				t.Errorf("%s again: stored %t, %d of %d rows were had", s.kind, got.Stored, got.HadRows, got.Rows)
			}
		}
	}
	type report struct {
		HoneyKg  float64 `json:"honey_kg"`
		NoPullKg float64 `json:"no_pull_kg"`
		Yards    []M
		Balance  M
	}
	season := read[report](t, o, "reports/season?season="+read[[]M](t, o, "seasons")[0]["id"].(string))
	if season.HoneyKg != 1250 || season.NoPullKg != 0 || len(season.Yards) != 2 {
		t.Fatalf("%+v", season)
	}
	for i, want := range []M{
		{"name": "Birch Hollow", "honey_kg": 650, "share": 0.52, "kg_per_super": 650. / 30, "kg_per_hive": 65, "rank": 1},
		{"name": "Alder Bend", "honey_kg": 600, "share": 0.48, "kg_per_super": 20, "kg_per_hive": 30, "rank": 2},
	} {
		for what, value := range want {
			if got := season.Yards[i][what]; fmt.Sprint(got) != fmt.Sprint(value) {
				t.Errorf("%s of %s is %v, by hand %v", what, want["name"], got, value)
			}
		}
	}
	balance := M{"harvested_kg": 1250, "dispatched_kg": 1250, "filled_kg": 1250, "in_tanks_kg": 0, "in_containers_kg": 0,
		"unexplained_kg": 0, "unaccounted_kg": 0, "supers_pulled": 60, "supers_left": 0}
	for what, want := range balance {
		if got := season.Balance[what]; fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%s is %v, by hand %v", what, got, want)
		}
	}
	for _, tank := range read[[]M](t, o, "reports/tanks") {
		if tank["held_kg"] != 0. {
			t.Errorf("%s holds %v kg", tank["name"], tank["held_kg"])
		}
	}
	if lots := read[[]M](t, o, "reports/lots"); len(lots) != 1 || lots[0]["held_kg"] != 0. || lots[0]["dispatched_kg"] != 1250. {
		t.Errorf("lots: %v", lots)
	}
	if left := read[[]M](t, o, "dispatches"); len(left) != 2 || left[0]["before_book"] != true {
		t.Errorf("dispatches: %v", left)
	}
	for _, odd := range read[[]evening](t, o, "reports/findings") {
		t.Errorf("odd: %+v", odd)
	}
}

// A sheet of containers comes again with another gross. It corrects the entry, whose number
// stays its container's: nobody else can take it, also in the database.
func TestAContainerThatCameInIsCorrectedByItsSheet(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	o.book(t, "container-kinds", M{"id": id(), "occurred_at": at(-100, "9:00"), "name": "drum", "volume_l": 208, "usual_tare_kg": 18, "usual_net_kg": 290})
	o.book(t, "tanks", M{"id": id(), "occurred_at": at(-100, "9:00"), "name": "large tank", "use": "settling", "capacity_kg": 4900})
	const head = "Drum,Lot,Date,Tank,Type,Gross kg,Tare kg\n"
	lot := M{"make_seasons": true, "names": M{"lot": M{"*": M{"create": M{}}}}}
	if answer := o.bringIn(t, o.manager, "containers", "true", head+"D1,24-1,2024-08-12,large tank,drum,308,18\n", lot); answer.status != http.StatusCreated {
		t.Fatalf("%d %s", answer.status, answer.raw)
	}
	lot["alike_rows"] = "correct"
	answer := o.bringIn(t, o.manager, "containers", "true", head+"D1,24-1,2024-08-12,large tank,drum,306,18\n", lot)
	if answer.status != http.StatusCreated {
		t.Fatalf("%d %s", answer.status, answer.raw)
	}
	if lots := read[[]M](t, o, "reports/lots?season="+read[[]M](t, o, "seasons")[0]["id"].(string)); len(lots) != 1 || lots[0]["net_kg"] != 288. || lots[0]["containers"] != 1. {
		t.Errorf("lots: %v", lots)
	}
}

// Two drums of 2024 come in and no sheet says that they were sold. They are asked about once,
// in the answer, on the page and among the findings, and one entry takes both out.
func TestOldContainersThatCameInAreAskedAboutOnce(t *testing.T) {
	t.Parallel()
	o := openHouse(t).newOutfit(t, "Fern Gully Honey")
	o.book(t, "container-kinds", M{"id": id(), "occurred_at": at(-100, "9:00"), "name": "drum", "volume_l": 208, "usual_tare_kg": 18, "usual_net_kg": 290})
	o.book(t, "tanks", M{"id": id(), "occurred_at": at(-100, "9:00"), "name": "large tank", "use": "settling", "capacity_kg": 4900})
	buyer := id()
	o.book(t, "buyers", M{"id": buyer, "occurred_at": at(-100, "9:00"), "name": "before the book"})
	mapping := M{"make_seasons": true, "names": M{"lot": M{"*": M{"create": M{}}}}}
	text := "Drum,Lot,Date,Tank,Type,Net kg\nD1,24-1,2024-08-12,large tank,drum,290\nD2,24-1,2024-08-13,large tank,drum,288\n"
	answer := o.bringIn(t, o.manager, "containers", "true", text, mapping)
	if answer.status != http.StatusCreated {
		t.Fatalf("%d %s", answer.status, answer.raw)
	}
	got := as[struct {
		ID     string
		Unsold int
	}](t, answer)
	if got.Unsold != 2 {
		t.Errorf("the answer asks about %d containers: %s", got.Unsold, answer.raw)
	}
	asked := o.oddity(t, "old_stock_unsold", got.ID)
	if asked == nil || asked.Settled {
		t.Fatalf("the findings do not ask: %+v", asked)
	}
	b := o.browsing(t)
	page := func(form url.Values) (int, string) {
		t.Helper()
		method := http.MethodGet
		if form != nil {
			method = http.MethodPost
		}
		r, err := http.NewRequestWithContext(t.Context(), method, o.url+"/import/"+got.ID+"/gone", strings.NewReader(form.Encode()))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		return fetchBy(t, b, r)
	}
	_, body := page(nil)
	wants(t, "the page", body, "<b>2</b>", "<b>578.0</b> kg", "12 Aug 2024 – 13 Aug 2024", "before the book")
	form := url.Values{"id": {id()}, "buyer": {buyer}, "day": {"2024-08-12"}, "note": {"the store was empty in spring"}}
	if status, body := page(form); status != http.StatusUnprocessableEntity || !strings.Contains(body, "The last of them was filled on 13 Aug 2024") {
		t.Errorf("gone before they were filled: %d %s", status, body)
	}
	form.Set("day", "2024-12-01")
	if status, body := page(form); status != http.StatusOK {
		t.Fatalf("%d %s", status, body)
	}
	if left := read[[]M](t, o, "dispatches"); len(left) != 1 || left[0]["before_book"] != true || len(left[0]["containers"].([]any)) != 2 {
		t.Errorf("dispatches: %v", left)
	}
	if asked := o.oddity(t, "old_stock_unsold", got.ID); asked != nil {
		t.Errorf("it is asked once more: %+v", asked)
	}
	_, body = page(nil)
	wants(t, "the page afterwards", body, "No such container of this import is here any more.")
}

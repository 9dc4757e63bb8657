package api_test

import (
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"html"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/getkin/kin-openapi/openapi3filter"

	"pullbook/api/apitest"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
	"pullbook/openapi"
)

// A picture and a calendar are text to whom holds replies against the contract.
func init() {
	openapi3filter.RegisterBodyDecoder("image/svg+xml", openapi3filter.FileBodyDecoder)
	openapi3filter.RegisterBodyDecoder("text/calendar", openapi3filter.FileBodyDecoder)
}

// tracedHouse has sold one of two drums of two yards' honey.
type tracedHouse struct {
	*apitest.House
	*ledgertest.Outfit
	lot, first, second, sent, run ledger.ID
}

func openTraced(t *testing.T) *tracedHouse {
	t.Helper()
	o := ledgertest.NewOutfit()
	h := &tracedHouse{Outfit: o}
	for i, yard := range []ledger.ID{o.Mill, o.Ridge} {
		at := float64(i)
		run := o.Run(at, []string{"first", "second"}[i])
		o.Supers(at, run, o.Pull(at-20, yard, 20, 0), 20)
		h.run = run
		o.Out(at+0.5, run, o.Settling, 300_000-int64(i)*200_000)
	}
	h.lot = o.Lot(2, "26-001")
	h.first, h.second = o.Fill(3, h.lot, o.Settling, "D1", 200_000), o.Fill(4, h.lot, o.Settling, "=D2", 200_000)
	o.Release(5, h.lot)
	h.sent = o.Dispatch(6, h.first)
	h.House = apitest.Open(t, apitest.MetricOutfit, o.Entries)
	return h
}

// ask reads from the API what must be there.
func (h *tracedHouse) ask(t *testing.T, path string) []byte {
	t.Helper()
	status, body := h.try(t, path)
	if status != http.StatusOK {
		t.Fatalf("%s: %d %s", path, status, body)
	}
	return body
}

func (h *tracedHouse) try(t *testing.T, path string) (int, []byte) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, h.URL+"/v1/"+path, strings.NewReader(""))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+h.Token)
	client := &http.Client{Transport: heldToContract(t, http.DefaultTransport)}
	response, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return response.StatusCode, body
}

func asked[T any](t *testing.T, h *tracedHouse, path string) T {
	t.Helper()
	var v T
	if err := json.Unmarshal(h.ask(t, path), &v); err != nil {
		t.Fatal(err)
	}
	return v
}

type amount struct {
	MassKg  float64 `json:"mass_kg"`
	LeastKg float64 `json:"least_kg"`
	MostKg  float64 `json:"most_kg"`
}

type recall struct {
	Name         string
	ThroughEntry int64 `json:"through_entry"`
	Containers   []struct {
		amount
		Container, State, Buyer string
		GoneAt                  time.Time `json:"gone_at"`
	}
	OnHandNetKg     float64 `json:"on_hand_net_kg"`
	DispatchedNetKg float64 `json:"dispatched_net_kg"`
}

func TestARecallNamesContainersBuyersAndDates(t *testing.T) {
	t.Parallel()
	h := openTraced(t)
	r := asked[recall](t, h, "trace/recall?of="+h.Ridge.String())
	if len(r.Containers) != 2 || r.OnHandNetKg != 200 || r.DispatchedNetKg != 200 {
		t.Fatalf("the recall of Ridge: %+v", r)
	}
	if byName := string(h.ask(t, "trace/recall?of=ridge")); byName != string(h.ask(t, "trace/recall?of="+h.Ridge.String())) {
		t.Errorf("the recall of ridge, by its name: %s", byName)
	}
	if back := asked[struct{ Name string }](t, h, "trace/back?of=d1"); !strings.Contains(back.Name, "D1") {
		t.Errorf("drum D1 by its number is %s", back.Name)
	}
	for _, c := range r.Containers {
		// 100 kg, good to 8.5 kg by two dips of a tank of 2,000 kg, in a drum whose tare is good to 1.4: three times that.
		if c.amount != (amount{50, 0, 125.628}) {
			t.Errorf("%s holds %+v of Ridge", c.Container, c.amount)
		}
		if sent := c.Container == "D1"; sent != (c.Buyer == "packer") || sent != (c.State == "dispatched") || sent != c.GoneAt.Equal(ledgertest.At(6)) {
			t.Errorf("%s is %s, with %q since %s", c.Container, c.State, c.Buyer, c.GoneAt)
		}
	}
	day := asked[recall](t, h, "trace/recall?of=2026-07-01")
	if len(day.Containers) != 2 {
		t.Errorf("the recall of the day: %+v", day)
	}
	if other := asked[recall](t, h, "trace/recall?of=2026-07-02"); len(other.Containers) != 0 {
		t.Errorf("the recall of another day: %+v", other)
	}
}

func TestARecallSheetForASpreadsheet(t *testing.T) {
	t.Parallel()
	h := openTraced(t)
	address := "trace/recall.csv?of=" + h.Ridge.String()
	lines := recallLines(t, string(h.ask(t, address)), ',')
	// 6:00 UTC and six hours on is still the first of July in Winnipeg. Figures have no three decimals, which a Spanish or
	// German program would take for thousands.
	want := []string{"container", "D1", "26-001", "dispatched", "200.0000", "50.0000", "0.0000", "125.6280", "false", "packer", "2026-07-01"}
	for i, text := range want {
		if lines[2][i] != text {
			t.Errorf("column %s is %q, not %q", lines[0][i], lines[2][i], text)
		}
	}
	for i, text := range recallLines(t, string(h.ask(t, address+"&decimal=comma")), ';')[2][:len(want)] {
		if i >= 4 && i < 8 {
			text = strings.Replace(text, ",", ".", 1)
		}
		if text != want[i] {
			t.Errorf("with commas, column %s is %q, not %q", lines[0][i], text, want[i])
		}
	}
	if lines[1][1] != "'=D2" {
		t.Errorf("a spreadsheet would take %q for a formula", lines[1][1])
	}
	if tank := lines[3]; tank[0] != "tank" || tank[8] != "true" {
		t.Errorf("the tank, emptied and not washed, may have a heel: %q", tank)
	}
}

// recallLines are the lines of a recall sheet whose fields a character parts.
func recallLines(t *testing.T, sheet string, between rune) [][]string {
	t.Helper()
	rows := csv.NewReader(strings.NewReader(strings.TrimPrefix(sheet, "\ufeff")))
	rows.Comma = between
	lines, err := rows.ReadAll()
	if err != nil || len(lines) != 4 {
		t.Fatalf("%v: %q", err, lines)
	}
	return lines
}

func TestATraceBackOverTheAPI(t *testing.T) {
	t.Parallel()
	h := openTraced(t)
	for what, id := range map[string]ledger.ID{"container": h.second, "lot": h.lot, "dispatch": h.sent} {
		back := asked[struct {
			NetKg float64 `json:"net_kg"`
			Yards []struct {
				amount
				Place struct{ Name string }
				Share float64
			}
			Pulls, Runs, Passed, Days, People, Steps []M
		}](t, h, "trace/back?of="+id.String())
		if len(back.Yards) != 2 || back.Yards[0].Place.Name != "Mill" || back.Yards[0].Share != 0.75 || back.Yards[0].MassKg != 0.75*back.NetKg {
			t.Errorf("%s: %+v", what, back)
		}
		if len(back.Pulls) != 2 || len(back.Runs) != 2 || len(back.Passed) == 0 || len(back.Days) == 0 || len(back.People) == 0 || len(back.Steps) == 0 {
			t.Errorf("%s: %+v", what, back)
		}
	}
}

// TestWhatIsLeftOfALotIsWhatItsContainersHold: the tank of Mill's 300 kg and Ridge's
// 100 kg is drawn off, and 50 kg of the ridge alone come into it. The lot's first two
// drums of 200 kg are three quarters Mill's; the third, of 40 kg, is Ridge's. With the
// first two sold, nothing of the mill is left.
func TestWhatIsLeftOfALotIsWhatItsContainersHold(t *testing.T) {
	t.Parallel()
	h := openTraced(t)
	o := h.Outfit
	n := len(o.Entries)
	o.Out(5.1, h.run, o.Settling, 50_000)
	o.Fill(5.2, h.lot, o.Settling, "D3", 40_000)
	o.Release(5.5, h.lot)
	o.Dispatch(6.5, h.second)
	for _, e := range o.Entries[n:] {
		e.RecordedBy = ""
		h.RecordMore(t, e)
	}
	held := asked[struct {
		HeldKg float64 `json:"held_kg"`
		Makeup []struct {
			Name   string
			MassKg float64 `json:"mass_kg"`
			Share  float64
		}
	}](t, h, "reports/holders/"+h.lot.String())
	if held.HeldKg != 40 || len(held.Makeup) != 1 || held.Makeup[0].Name != "Ridge" || held.Makeup[0].MassKg != 40 || held.Makeup[0].Share != 1 {
		t.Errorf("what is left: %+v", held)
	}
}

// TestWhatTakesAnEntryTakesAMoment reads the contract: what answers as the book
// was known at an entry does so for a moment too, and every report does.
func TestWhatTakesAnEntryTakesAMoment(t *testing.T) {
	t.Parallel()
	doc, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	// The shed is for recording now; changes are between two points of their own.
	but := map[string]bool{"/v1/reports/shed": true, "/v1/reports/changed-figures": true}
	for path, item := range doc.Paths.Map() {
		if item.Get == nil {
			continue
		}
		query := item.Get.Parameters.GetByInAndName
		entry, moment := query("query", "as_of") != nil, query("query", "known_at") != nil
		report := strings.HasPrefix(path, "/v1/reports/") || strings.HasPrefix(path, "/v1/trace/")
		if entry != moment || report && !entry && !but[path] {
			t.Errorf("%s: takes as_of %t, known_at %t", path, entry, moment)
		}
	}
	changes := doc.Paths.Value("/v1/reports/changed-figures").Get.Parameters.GetByInAndName
	for _, name := range []string{"from_entry", "to_entry", "from_known_at", "to_known_at"} {
		if changes("query", name) == nil {
			t.Errorf("what changed does not take %s", name)
		}
	}
}

// TestEveryReportAnswersAsKnownAtAMoment asks each for the time before the
// second drum, by the entry and by the moment, and gets the same.
func TestEveryReportAnswersAsKnownAtAMoment(t *testing.T) {
	t.Parallel()
	h := openTraced(t)
	late := ledger.Entry{ID: ledgertest.ID(1000), Kind: ledger.KindMovement, OccurredAt: ledgertest.At(1.7), Body: ledgertest.OutBody(h.run, h.Settling, 40_000)}
	n, before := h.Entries(t), time.Now()
	h.RecordMore(t, &late)
	for _, path := range []string{"reports/totals?", "reports/tanks?", "reports/season?season=" + h.Season.String() + "&", "reports/lots/" + h.lot.String() + "?",
		"reports/holders/" + h.Settling.String() + "?", "reports/reconciliation?season=" + h.Season.String() + "&", "trace/recall?of=" + h.Mill.String() + "&", "trace/back?of=" + h.lot.String() + "&", "movements?"} {
		then, now := h.ask(t, path+fmt.Sprintf("as_of=%d", n)), h.ask(t, path)
		known := h.ask(t, path+"known_at="+url.QueryEscape(before.Format(time.RFC3339Nano)))
		if string(known) != string(then) || string(known) == string(now) {
			t.Errorf("%s: at the moment %s\nat the entry %s\nnow %s", path, known, then, now)
		}
	}
	for query, why := range map[string]string{"known_at=yesterday": "a time with its offset", "known_at=2026-08-01T00:00:00Z&as_of=3": "not both"} {
		if status, body := h.try(t, "reports/totals?"+query); status != http.StatusUnprocessableEntity || !strings.Contains(string(body), why) {
			t.Errorf("%s: %d %s", query, status, body)
		}
	}
}

func TestWhatChangedAndWhatRestsOnIt(t *testing.T) {
	t.Parallel()
	h := openTraced(t)
	n := int(h.Entries(t))
	if rests := asked[[]M](t, h, fmt.Sprintf("reports/superseded?lot=%s&certificate_entry=%d", h.lot, n)); len(rests) != 0 {
		t.Errorf("nothing came late, and %v", rests)
	}
	late := ledger.Entry{ID: ledgertest.ID(1000), Kind: ledger.KindMovement, OccurredAt: ledgertest.At(0.7), Body: ledgertest.Move(ledger.PlaceTank, h.Settling, ledger.PlaceWaste, ledger.ID{}, 100_000)}
	before := time.Now()
	h.RecordMore(t, &late)
	changes := asked[struct {
		Figures []struct {
			Figure, Part string
			Place        struct{ Name string }
			From, To     float64
			Through      []struct{ First, Last int }
		}
	}](t, h, fmt.Sprintf("reports/changed-figures?from_entry=%d", n))
	moments := url.Values{"from_known_at": {before.Format(time.RFC3339Nano)}, "to_known_at": {time.Now().Add(time.Hour).Format(time.RFC3339Nano)}}
	if by := h.ask(t, "reports/changed-figures?"+moments.Encode()); string(by) != string(h.ask(t, fmt.Sprintf("reports/changed-figures?from_entry=%d", n))) {
		t.Errorf("between the moments %s", by)
	}
	told := map[string]string{}
	for _, f := range changes.Figures {
		told[strings.TrimSpace(f.Place.Name+" "+f.Figure+" "+f.Part)] = fmt.Sprintf("%g to %g by %v", f.From, f.To, f.Through)
	}
	by := fmt.Sprintf(" by [{%d %d}]", n+1, n+1)
	for figure, want := range map[string]string{
		// 300 kg of the mill, less a third of them, with 100 kg of the ridge: 2 to 1.
		"wasted": "0 to 100", "unexplained": "0 to 100", "26-001 made of Mill": "300 to 200", "26-001 made of no yard": "0 to 100",
	} {
		if got := told[figure]; got != want+by {
			t.Errorf("%s changed from %s, not %s; %v", figure, got, want+by, told)
		}
	}
	rests := asked[[]struct {
		What    string
		Through []struct {
			EntryNumber int `json:"entry_number"`
		}
		Figures []M
	}](t, h, fmt.Sprintf("reports/superseded?lot=%s&certificate_entry=%d", h.lot, n))
	whats := map[string]bool{}
	for _, r := range rests {
		whats[r.What] = true
		if len(r.Through) != 1 || r.Through[0].EntryNumber != n+1 || len(r.Figures) == 0 {
			t.Errorf("%+v", r)
		}
	}
	if !whats["dispatch"] || !whats["certificate"] {
		t.Errorf("superseded: %+v", rests)
	}
}

func TestWhatCannotBeTracedIsToldSo(t *testing.T) {
	t.Parallel()
	h := openTraced(t)
	for path, want := range map[string]struct {
		status int
		says   string
	}{
		"trace/recall?of=" + h.Buyer.String():                                     {404, "a yard, pull, run, tank, lot or container"},
		"trace/back?of=" + h.Mill.String():                                        {404, "Name a container, lot, tank or dispatch"},
		"trace/back?of=0198b1a0-0002-7000-8000-00000000ffff":                      {404, "There is no 0198b1a0"},
		"trace/recall?of=2026-02-30":                                              {422, "or a day: 2026-08-21"},
		"trace/recall?of=the+mill":                                                {422, "query:of"},
		"trace/recall":                                                            {422, "of"},
		"reports/changed-figures?from_entry=9999":                                 {422, "entries 1 to"},
		"reports/changed-figures?from_entry=5&to_entry=4":                         {422, "Give an entry from 5"},
		"reports/changed-figures":                                                 {422, "Give the entry after which"},
		"reports/changed-figures?from_entry=5&from_known_at=2026-08-01T00:00:00Z": {422, "not both"},
		"reports/superseded?certificate_entry=4":                                  {422, "Name a printed sheet by both"},
		"reports/superseded?certificate_entry=4&lot=" + h.Mill.String():           {422, "no lot with this id"},
	} {
		if status, body := h.try(t, path); status != want.status || !strings.Contains(string(body), want.says) {
			t.Errorf("%s: %d %s", path, status, body)
		}
	}
}

// TestADrawingIsOnePictureWithItsNames reads the picture as XML: it has its
// title, and each place by name.
func TestADrawingIsOnePictureWithItsNames(t *testing.T) {
	t.Parallel()
	h := openTraced(t)
	for _, of := range []string{h.lot.String(), h.Mill.String(), "2026-07-01", h.Settling.String(), "2026-07-09"} {
		svg := h.ask(t, "trace/drawing.svg?of="+of)
		if err := xml.Unmarshal(svg, new(struct{})); err != nil {
			t.Errorf("the picture of %s: %v", of, err)
		}
		if !strings.Contains(string(svg), "<title>The way of honey: ") || strings.Contains(string(svg), "NaN") {
			t.Errorf("the picture of %s: %.600s", of, svg)
		}
		drawing := asked[struct{ Nodes []struct{ Name string } }](t, h, "trace/drawing?of="+of)
		for _, n := range drawing.Nodes {
			if !strings.Contains(string(svg), html.EscapeString(n.Name)) {
				t.Errorf("the picture of %s does not name %s", of, n.Name)
			}
		}
		if of == h.lot.String() && len(drawing.Nodes) != 8 {
			t.Errorf("the way of the lot has %v", drawing.Nodes)
		}
	}
}

func TestTheRecallPageIsForWhoIsSignedIn(t *testing.T) {
	t.Parallel()
	h := openTraced(t)
	for _, path := range []string{"/recall", "/recall/sheet.csv?of=" + h.lot.String(), "/recall/drawing.svg?of=" + h.lot.String()} {
		if response, body := h.Get(t, path); response.StatusCode != http.StatusUnauthorized || strings.Contains(body, "26-001") {
			t.Errorf("%s answers %s to whoever asks", path, response.Status)
		}
	}
	h.SignIn(t)
	if _, body := h.Get(t, "/recall"); !strings.Contains(body, "26-001") || !strings.Contains(body, `type="date"`) {
		t.Errorf("the page offers nothing to recall: %s", body)
	}
	_, body := h.Get(t, "/recall?of="+h.Ridge.String())
	for _, text := range []string{"Recall: Ridge", "packer", "=D2", "200.0", "50.0", "100.0", "1 Jul 2026"} {
		if !strings.Contains(body, text) {
			t.Errorf("the sheet of Ridge does not say %q:\n%s", text, body)
		}
	}
	if response, _ := h.Get(t, "/recall/sheet.csv?of="+h.Ridge.String()); response.Header.Get("Content-Disposition") == "" {
		t.Error("the sheet for a spreadsheet is no file")
	}
	for outfit, first := range map[string]string{"": "point", "point": "point", "comma": "comma"} {
		if err := h.Operator.SetDecimalMark(t.Context(), h.House.Outfit, outfit); err != nil {
			t.Fatal(err)
		}
		_, body := h.Get(t, "/recall?of="+h.Ridge.String())
		links := regexp.MustCompile(`href="(/recall/sheet\.csv\?[^"]*decimal=(point|comma)[^"]*)"`).FindAllStringSubmatch(body, -1)
		if len(links) != 2 || links[0][2] != first || links[1][2] == first {
			t.Fatalf("where the outfit's spreadsheets have the mark %q, the page leads to %q", outfit, links)
		}
		for _, link := range links {
			_, sheet := h.Get(t, html.UnescapeString(link[1]))
			between, net := ',', "200.0000"
			if link[2] == "comma" {
				between, net = ';', "200,0000"
			}
			if lines := recallLines(t, sheet, between); lines[2][4] != net {
				t.Errorf("with the mark %s, D1 holds %s", link[2], lines[2][4])
			}
		}
	}
	if response, body := h.Get(t, "/recall/sheet.csv?decimal=dot&of="+h.Ridge.String()); response.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, "The decimal mark is point or comma.") {
		t.Errorf("a mark that is none answers %s: %s", response.Status, body)
	}
	if response, body := h.Get(t, "/recall?of=2026-02-30"); response.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, "or a day") {
		t.Errorf("a day that is none answers %s", response.Status)
	}
}

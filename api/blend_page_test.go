package api_test

import (
	"fmt"
	"html"
	"io"
	"math"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"pullbook/openapi"
)

// askBlend asks the page for what TestABlendOfDrumsKeepsToItsMoisture works out by hand.
const askBlend = "/plans/blend?ask=blend&kg=890&most_kg=910&moisture_most_pct=18.2&kind=trifolium&kind_share=&probability=0.95&source_kg=1"

// shows is a page's text and its source.
func (s *shed) shows(t *testing.T, path string, languages ...string) (text, page string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, s.url+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range languages {
		r.Header.Set("Accept-Language", l)
	}
	status, page := fetchBy(t, s.browsing(t), r)
	if status != http.StatusOK {
		t.Fatalf("%s answered %d %s", path, status, page)
	}
	return said(html.UnescapeString(tag.ReplaceAllString(page, " "))), page
}

func TestThePageFindsTheBlendThatTheContractFinds(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	text, page := s.shows(t, askBlend)
	wants(t, "the page of a blend", text, "The best blend", "900", "of 2 lots and tanks", "DRY", "2 containers, whole", "WET", "1 container, whole", "at most 18.2 %", "17.80 %", "No blend is better",
		"The next best, 1", "more than the best", "Take care", "accredited laboratory", "What would change the plan")
	if strings.Contains(page, "aria-invalid") {
		t.Error("something is wrong with a blend that can be asked for")
	}
	link := regexp.MustCompile(`href="(/plans/blend/blank\?[^"]+)"`).FindStringSubmatch(page)
	if link == nil {
		t.Fatal("no sheet to work from")
	}
	sheet, _ := s.shows(t, html.UnescapeString(link[1]))
	wants(t, "the sheet", sheet, "A blend of 900", "DRY-", "weighed", "What it comes to", "17.80 %", "stir it", "Where its honey is from", "By country: ")
	drawing := regexp.MustCompile(`src="(/plans/blend/drawing\.svg\?[^"]+)"`).FindStringSubmatch(page)
	if drawing == nil {
		t.Fatal("no drawing")
	}
	if _, svg := s.shows(t, html.UnescapeString(drawing[1])); !strings.Contains(svg, "18.2") || !strings.HasPrefix(svg, "<?xml") {
		t.Errorf("the drawing begins %.200s", svg)
	}
	if text, _ := s.shows(t, "/plans"); !strings.Contains(text, "Blend to a specification") {
		t.Error("the plans do not lead to blends")
	}
	if text, _ := s.shows(t, askBlend, "es"); !strings.Contains(text, "La mejor mezcla") {
		t.Error("a Spanish reader is not told in Spanish")
	}
}

func TestThePageSaysWhyThereIsNoBlend(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	text, _ := s.shows(t, "/plans/blend?ask=blend&kg=1200&most_kg=1300&moisture_most_pct=17.2&kind=trifolium&probability=0.95&source_kg=10")
	wants(t, "a blend that cannot be", text, "There is no such blend", "Each of these changes alone would do", "Moisture of at most 17.", "of honey bought in would do, if it has moisture of 15.5 %")
	for query, says := range map[string]string{
		"kg=": "Say how much honey is wanted", "kg=600&containers=2": "Give kilograms or containers", "containers=2": "Say which kind of container is filled", "kg=0": "say how much honey is wanted", "kg=600&most_kg=500": "it has to be at least the", "kg=600&most_sources=1.5": "This is a whole number from 0 to 1,000.",
		"kg=600&rule_sets=us-usda-colour": "tells grades", "kg=600&colour_least_mm_pfund=60&colour_most_mm_pfund=50": "leave nothing between them", "kg=many": "is not a number",
		"kg=600&hmf_given=-1": "from 0 to 1,000", "kg=600&countries=PT&countries_share=120": "A share is from 0 to 1",
	} {
		text, page := s.shows(t, "/plans/blend?ask=blend&probability=0.95&source_kg=10&"+query)
		if !strings.Contains(text, says) || strings.Contains(text, "The best blend") || !strings.Contains(page, "aria-invalid") && !strings.Contains(page, `role="alert"`) {
			t.Errorf("%s: not %q", query, says)
		}
	}
	for _, path := range []string{"/plans/blend/blank", "/plans/blend/blank?" + strings.TrimPrefix(askBlend, "/plans/blend?") + "&blend=9", "/plans/blend/drawing.svg?blend=1"} {
		if status, _ := fetch(t, s.browsing(t), s.url+path); status != http.StatusNotFound {
			t.Errorf("%s answered %d", path, status)
		}
	}
}

// A blend's workbook reckons what the service says, and goes on reckoning as somebody changes a mass: LibreOffice
// has the moisture and its probability, and colour mixed by what absorbs light.
func TestAWorkbookOfABlendReckonsAsTheServiceDoes(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	for _, l := range as[[]M](t, s.get(t, "lots")) {
		pfund := map[any]float64{"DRY": 17, "WET": 85}[l["code"]]
		if pfund > 0 {
			s.book(t, "readings", M{"id": id(), "occurred_at": at(21, "18:00"), "on": M{"kind": "lot", "id": l["id"]}, "laboratory": "Fern Valley", "containers_sampled": 3,
				"measured": []M{{"quantity": "colour_mm_pfund", "value": pfund, "std_uncertainty": 2, "method": "grader"}}})
		}
	}
	asked := "kg=890&most_kg=910&moisture_most_pct=18.2&colour_most_mm_pfund=70&kind=trifolium&source_kg=1&probability=0.9"
	plan := as[openapi.BlendPlan](t, s.get(t, "plans/blend?"+asked)).Blends[0]
	book := s.workbook(t, "/plans/blend/blend.xlsx?ask=blend&blend=1&"+asked)
	rows := reckonedCells(t, book)
	for _, m := range plan.Mixed {
		name := map[string]string{"moisture": "Moisture", "colour_pfund": "Colour"}[m.Parameter]
		if got := cellOf(t, rows, name, 4); math.Abs(got-m.Expected) > 0.002 {
			t.Errorf("%s: the workbook reckons %v, the service says %v", name, got, m.Expected)
		}
		if got := cellOf(t, rows, name, 5); m.Parameter == "moisture" && math.Abs(got-2*m.StdUncertainty) > 0.002 {
			t.Errorf("%s: the workbook reckons give or take %v, the service says %v twice", name, got, m.StdUncertainty)
		}
		if got := cellOf(t, rows, name, 6); math.Abs(got-m.Probability) > 0.001 {
			t.Errorf("%s: the workbook reckons a probability of %v, the service says %v", name, got, m.Probability)
		}
	}
	if got := cellOf(t, rows, "Honey together", 4); got != 900 {
		t.Errorf("%v kg together, want 900", got)
	}
	// By hand: of 600 kg of 17.0 % and 600 kg of 19.4 % the mean is 18.2 %, and the limit is kept as likely as not. Optical
	// densities are 0.189 of 17 mm and 1.389 of 85 mm (US standard, Table I), 0.789 in the mean, which is
	// 50 + 35 (0.789 - 0.595)/(1.389 - 0.595) = 58.55 mm.
	wet := ""
	for n := range 3 {
		if name := fmt.Sprintf("WET-%d", n); cellOf(t, rows, name, 2) == 0 {
			wet = name
		}
	}
	changed := reckonedCells(t, book, typed{Row: wet, Column: 2, Value: 300})
	if got := cellOf(t, changed, "Moisture", 4); math.Abs(got-18.2) > 0.001 {
		t.Errorf("half and half come to %v %%, want 18.2", got)
	}
	if got := cellOf(t, changed, "Moisture", 6); math.Abs(got-0.5) > 0.001 {
		t.Errorf("half and half keep to 18.2 %% with %v, want 0.5", got)
	}
	if got := cellOf(t, changed, "Colour", 4); math.Abs(got-58.55) > 0.01 {
		t.Errorf("half and half come to %v mm, want 58.55", got)
	}
	if got := cellOf(t, changed, "Honey together", 4); got != 1200 {
		t.Errorf("%v kg together, want 1200", got)
	}
}

// A manager has a blend poured: it waits on Record, honey moves as each drum is poured, and what the refractometer says
// afterwards stands beside what was expected. Nothing moves before.
func TestABlendThatIsPouredIsHeldAgainstItsPlan(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	client := s.browsing(t)
	_, page := s.shows(t, askBlend)
	action := regexp.MustCompile(`action="(/plans/blend/prepare\?[^"]+)"`).FindStringSubmatch(page)
	if action == nil {
		t.Fatal("a manager cannot have it poured")
	}
	entry := id()
	response, err := client.PostForm(s.url+html.UnescapeString(action[1]), url.Values{"id": {entry}, "tank": {s.large}, "title": {"for the bakery"}})
	if err != nil {
		t.Fatal(err)
	}
	response.Body.Close()
	if !strings.HasSuffix(response.Request.URL.Path, "/plans/blend/prepared/"+entry) {
		t.Fatalf("sent to %s with %s", response.Request.URL, response.Status)
	}
	if again, err := client.PostForm(s.url+html.UnescapeString(action[1]), url.Values{"id": {entry}, "tank": {s.large}}); err != nil {
		t.Fatal(err)
	} else if again.Body.Close(); again.StatusCode != http.StatusOK || again.Request.URL.Path != response.Request.URL.Path {
		t.Errorf("a button that is touched twice: %s, %s", again.Status, again.Request.URL)
	}
	blends := as[openapi.ShedReport](t, s.get(t, "reports/shed")).Blends
	if len(blends) != 1 || blends[0].Title != "for the bakery" || len(blends[0].Takes) != 3 || blends[0].Takes[0].Done {
		t.Fatalf("on Record: %+v", blends)
	}
	if again, _ := s.shows(t, askBlend); !strings.Contains(again, "prepared for the blend") {
		t.Error("what is prepared already is planned with once more")
	}
	for _, take := range blends[0].Takes {
		s.book(t, "movements", M{"id": id(), "occurred_at": "2026-08-22T18:01:00Z", "from": M{"kind": "container", "id": take.ID}, "to": M{"kind": "tank", "id": s.large}})
	}
	if text, _ := s.shows(t, "/plans/blend/prepared/"+entry); !strings.Contains(text, "0 left to pour") || !strings.Contains(text, "nobody measured it since") {
		t.Errorf("after the last drum: %s", text)
	}
	s.book(t, "readings", M{"id": id(), "occurred_at": "2026-08-22T18:02:00Z", "on": M{"kind": "tank", "id": s.large}, "instrument_id": s.blue, "moisture_pct": 19.4})
	text, _ := s.shows(t, "/plans/blend/prepared/"+entry)
	wants(t, "what came of it", text, "17.8 %, give or take", "19.4 %, give or take", "outside the limit; the difference: hardly chance")
	crewSends := fmt.Sprintf(`{"id": %q, "occurred_at": %q, "title": "x", "tank_id": %q, "takes": [{"from": {"kind": "container", "id": %q}}]}`, id(), at(21, "18:00"), s.large, blends[0].Takes[0].ID)
	if r := s.send(t, http.MethodPost, "/v1/prepared-blends", s.crew, []byte(crewSends)); r.status != http.StatusForbidden {
		t.Errorf("crew prepares a blend: %d", r.status)
	}
}

// By the usual weights three drums of DRY are best; where another lot counts one kilogram, two of DRY and one of WET
// (TestABlendOfDrumsKeepsToItsMoisture). An outfit that keeps the latter weight need not say it again. As known before, it had
// none of its own.
func TestAnOutfitKeepsItsOwnWeightsOfABlend(t *testing.T) {
	t.Parallel()
	s := blendHouse(t)
	const asked = "kg=890&most_kg=910&moisture_most_pct=18.2&kind=trifolium"
	sources := func(query string) int { return len(s.blend(t, asked+query).Blends[0].Sources) }
	before := as[openapi.Outfit](t, s.get(t, "outfit"))
	if n := sources(""); n != 1 || before.BlendWeights != nil {
		t.Fatalf("by the usual weights it is of %d lots; %+v", n, before.BlendWeights)
	}
	client := s.browsing(t)
	typed := func(source string) url.Values {
		form, err := url.ParseQuery("ask=blend&weights=own&moisture_given=1&hmf_given=0.01&diastase_given=0.01&colour_given=0.01&year_kg=0.005&over_kg=0.05&probability=0.95&" + asked)
		if err != nil {
			t.Fatal(err)
		}
		form.Set("source_kg", source)
		return form
	}
	for _, wrong := range []string{"-1", "many", ""} {
		response, err := client.PostForm(s.url+"/plans/blend/weights", typed(wrong))
		if err != nil {
			t.Fatal(err)
		}
		page, err := io.ReadAll(response.Body)
		response.Body.Close()
		if err != nil || response.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(string(page), "aria-invalid") {
			t.Errorf("another lot that counts %q: %s, %v", wrong, response.Status, err)
		}
	}
	address, page := s.sendForm(t, client, "/plans/blend/weights", "en", typed("1"))
	wants(t, "the page that it leads to", page, "The outfit's own weights stand here", "of 2 lots and tanks")
	if !strings.Contains(address, "kg=890") || strings.Contains(address, "source_kg") {
		t.Errorf("sent to %s", address)
	}
	if got := as[openapi.Outfit](t, s.get(t, "outfit")).BlendWeights; got == nil || got.SourceKg != 1 || got.HmfGiven != 0.01 {
		t.Errorf("%+v, want the weights that were typed", got)
	}
	if n, then, named := sources(""), sources(fmt.Sprint("&as_of=", before.LastEntry)), sources("&source_kg=10"); n != 2 || then != 1 || named != 1 {
		t.Errorf("of %d lots by the outfit's weights, of %d as known before, of %d where another counts ten kilograms; want 2, 1 and 1", n, then, named)
	}
	form := url.Values{"ask": {"blend"}, "weights": {"usual"}}
	if _, page := s.sendForm(t, client, "/plans/blend/weights", "en", form); !strings.Contains(page, "the outfit has none of its own") || sources("") != 1 {
		t.Error("the outfit does not go by the usual weights again")
	}
}

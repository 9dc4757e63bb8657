package api_test

import (
	"fmt"
	"html"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"pullbook/api/apitest"
)

// TestTheReplyNamesTheCheckThatAReadingMakesOutdated, and says so again to a phone that
// sends it again.
func TestTheReplyNamesTheCheckThatAReadingMakesOutdated(t *testing.T) {
	t.Parallel()
	s, check, _, _ := checkedShed(t)
	type reply struct {
		OutdatedChecks []struct {
			EntryID  string `json:"entry_id"`
			Outdated string
		} `json:"outdated_checks"`
	}
	body := s.aReading("on", M{"kind": "lot", "id": s.lot}, "moisture_pct", 17.8)
	defer func() {
		if _, page := fetch(t, s.browsing(t), s.url+"/journal/"+body["id"].(string)+"?recorded="+body["id"].(string)); !strings.Contains(page, "What this changes elsewhere") || !strings.Contains(page, "/lots/"+s.lot) {
			t.Errorf("the page says nothing of it: %s", page)
		}
	}()
	for _, when := range []string{"the first time", "again"} {
		r := s.post(t, "readings", body)
		got := as[reply](t, r).OutdatedChecks
		if len(got) != 1 || got[0].EntryID != check || !strings.Contains(got[0].Outdated, "readings were added") {
			t.Errorf("%s the reply says %s", when, r.raw)
		}
	}
}

// TestTheReplySaysWhichFindingATransferSettles that was written down late.
func TestTheReplySaysWhichFindingATransferSettles(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	type reply struct {
		Opened, Closed []struct {
			Code, Sentence string
			EntryID        string `json:"entry_id"`
		}
	}
	short := s.book(t, "movements", s.aMovement("occurred_at", at(22, "15:00"), "from", M{"kind": "tank", "id": s.large}, "to", M{"kind": "waste"}, "mass_kg", 3000)).ID
	got := as[reply](t, s.post(t, "movements", s.aMovement("occurred_at", at(22, "14:00"), "from", M{"kind": "run", "id": s.run}, "to", M{"kind": "tank", "id": s.large}, "mass_kg", 3000)))
	var closed bool
	for _, f := range got.Closed {
		closed = closed || f.Code == "drawn_more_than_held" && f.EntryID == short && f.Sentence != ""
	}
	if !closed {
		t.Errorf("closed: %+v, opened: %+v", got.Closed, got.Opened)
	}
}

// rested is what a reply says of what rested on figures that changed.
type rested struct {
	Superseded []struct {
		What    string
		EntryID string `json:"entry_id"`
		Place   struct{ ID, Name string }
		Figures []struct {
			Figure, Part string
			From, To     *float64
		}
		Through []struct {
			EntryID string `json:"entry_id"`
		}
	}
	Unfinished bool `json:"superseded_unfinished"`
}

// by what it is, with what each is made of that is of no yard.
func (r rested) made(t *testing.T, through string) map[string][2]*float64 {
	t.Helper()
	out := map[string][2]*float64{}
	for _, x := range r.Superseded {
		out[x.What] = [2]*float64{}
		if len(x.Through) != 1 || x.Through[0].EntryID != through {
			t.Errorf("%s changed through %v", x.What, x.Through)
		}
		for _, f := range x.Figures {
			if f.Figure == "made of" && f.Part == "no yard" {
				out[x.What] = [2]*float64{f.From, f.To}
			}
		}
	}
	return out
}

// TestTheReplyNamesTheSheetsThatALateEntrySupersedes: honey of no yard came into the tank
// before the drum was filled, checked and sent, and was written down after; then that is
// taken back. The reply, the page of the entry and a phone that sends again all say so.
func TestTheReplyNamesTheSheetsThatALateEntrySupersedes(t *testing.T) {
	t.Parallel()
	s, check, sent, seal := checkedShed(t)
	other := s.book(t, "runs", s.aRun("name", "another")).ID
	late := s.aMovement("occurred_at", at(21, "12:30"), "from", M{"kind": "run", "id": other}, "mass_kg", 500)
	for range 2 {
		r := as[rested](t, s.post(t, "movements", late))
		made := r.made(t, late["id"].(string))
		for _, what := range []string{"check", "dispatch", "certificate"} {
			if figure, is := made[what]; !is || figure[0] != nil || figure[1] == nil {
				t.Errorf("%s: %v", what, made)
			}
		}
		for _, x := range r.Superseded {
			if want := map[string]string{"check": check, "dispatch": sent}[x.What]; x.EntryID != want {
				t.Errorf("%s %s, not %s", x.What, x.EntryID, want)
			}
		}
		if len(made) != 3 || r.Unfinished {
			t.Errorf("superseded: %v", made)
		}
	}
	if got := s.ask(t, seal); got != "superseded since" {
		t.Errorf("the sheet that was printed %s", got)
	}
	_, page := fetch(t, s.browsing(t), s.url+"/journal/"+late["id"].(string)+"?recorded="+late["id"].(string))
	for _, says := range []string{"This changes figures of what left for Northgate Packing on", "This changes figures that the check of lot L26-001 rested on", "Sheets of lot L26-001 that were printed before have other figures", "/dispatches/" + sent} {
		if !strings.Contains(page, says) {
			t.Errorf("the page does not say %q", says)
		}
	}
	back := id()
	made := as[rested](t, s.post(t, "withdrawals", M{"id": back, "occurred_at": at(22, "10:00"), "replaces": late["id"], "reason": "another tank"})).made(t, back)
	if figure := made["dispatch"]; figure[0] == nil || figure[1] != nil {
		t.Errorf("taken back: %v", made)
	}
	if r := as[rested](t, s.post(t, "movements", s.aMovement("occurred_at", at(23, "12:30"), "from", M{"kind": "run", "id": other}, "mass_kg", 500))); len(r.Superseded) != 0 {
		t.Errorf("what came after the drum had left supersedes %+v", r.Superseded)
	}
}

// TestThePageOfALotSaysWhatItsFormChangesElsewhere and that of a dispatch what the sending
// does.
func TestThePageOfALotSaysWhatItsFormChangesElsewhere(t *testing.T) {
	t.Parallel()
	s, _, sent, _ := checkedShed(t)
	late := s.aReading("on", M{"kind": "lot", "id": s.lot}, "moisture_pct", 17.8)
	s.book(t, "readings", late)
	for _, page := range []string{"/lots/" + s.lot, "/dispatches/" + sent} {
		if _, plain := fetch(t, s.browsing(t), s.url+page); strings.Contains(plain, "What this changes elsewhere") {
			t.Errorf("%s says so of nothing", page)
		}
		if _, shown := fetch(t, s.browsing(t), s.url+page+"?recorded="+late["id"].(string)); !strings.Contains(shown, "What this changes elsewhere") {
			t.Errorf("%s does not say what the entry changes elsewhere", page)
		}
	}
}

// formOf is the client's form of a kind of entry, with its id.
func (s *shed) formOf(t *testing.T, client *http.Client, kind string) url.Values {
	t.Helper()
	_, body := fetch(t, client, s.url+"/entries/new/"+kind)
	found := apitest.FormID.FindStringSubmatch(body)
	if found == nil {
		t.Fatalf("the form of a %s has no id: %s", kind, body)
	}
	return url.Values{"id": {found[1]}, "do": {"save"}}
}

// sendForm sends a form as a browser does: it gets where that led to, and the page there.
func (s *shed) sendForm(t *testing.T, client *http.Client, path, language string, form url.Values) (address, page string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, s.url+path, strings.NewReader(form.Encode()))
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Accept-Language", language)
	response, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil || response.StatusCode != http.StatusOK {
		t.Fatalf("%s %v: %s", response.Status, err, body)
	}
	return response.Request.URL.RequestURI(), html.UnescapeString(string(body))
}

// TestAFormLeadsToWhatItsEntryChangesElsewhere: whoever records on the page is shown, in
// their own language, what the reply tells a program.
func TestAFormLeadsToWhatItsEntryChangesElsewhere(t *testing.T) {
	t.Parallel()
	for language, says := range map[string][]string{
		"en": {"What this changes elsewhere", "This makes the check of lot L26-001 outdated: ", "Check the lot again."},
		"es": {"Qué cambia en otra parte", "Con esto, la comprobación del lote L26-001 deja de valer: ", "Comprobar el lote otra vez."},
	} {
		s, _, _, _ := checkedShed(t)
		client := s.browsing(t)
		form := s.formOf(t, client, "reading")
		for field, value := range map[string]string{"/occurred_at": "2026-08-21T15:00", "/on": "lot " + s.lot, "/instrument_id": s.blue, "/moisture_pct": "17.8"} {
			form.Set(field, value)
		}
		address, page := s.sendForm(t, client, "/entries/new/reading", language, form)
		if !strings.HasPrefix(address, "/journal/"+form.Get("id")+"?recorded=") {
			t.Errorf("%s: the form leads to %s", language, address)
		}
		wants(t, language, page, append(says, `href="/lots/`+s.lot+`"`)...)
	}
}

// TestAFormThatSettlesAFindingSaysSo: a transfer that was written down late, and what the
// reading of it leaves.
func TestAFormThatSettlesAFindingSaysSo(t *testing.T) {
	t.Parallel()
	for language, says := range map[string][]string{
		"en": {"What this changes elsewhere", "This settles: "},
		"es": {"Qué cambia en otra parte", "Con esto queda resuelto: "},
	} {
		s := openHouse(t).newShed(t, "Fern Gully Honey")
		short := s.book(t, "movements", s.aMovement("occurred_at", at(22, "15:00"), "from", M{"kind": "tank", "id": s.large}, "to", M{"kind": "waste"}, "mass_kg", 3000)).ID
		client := s.browsing(t)
		form := s.formOf(t, client, "movement")
		for field, value := range map[string]string{"/occurred_at": "2026-08-22T14:00", "/from": "run " + s.run, "/to": "tank " + s.large, "/mass_kg": "3000"} {
			form.Set(field, value)
		}
		_, page := s.sendForm(t, client, "/entries/new/movement", language, form)
		wants(t, language, page, append(says, `href="/journal/`+short+`"`)...)
	}
}

// TestTheReplySaysThatAnEntryCanBeReadAgain: what cannot be read is a finding, and the reply to
// its correction or withdrawal, and the page that the form leads to, name it as settled.
func TestTheReplySaysThatAnEntryCanBeReadAgain(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	type reply struct {
		Opened, Closed []struct {
			Code, Sentence string
			EntryID        string `json:"entry_id"`
		}
	}
	breakOne := func() string {
		bad := s.book(t, "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "Cedar " + id()}).ID
		s.rewriteLast(t, `{"body":{"name":7}}`)
		return bad
	}
	for what, put := range map[string]func(bad string) reply{
		"corrected": func(bad string) reply {
			return as[reply](t, s.post(t, "yards", M{"id": id(), "occurred_at": at(1, "8:00"), "name": "Cedar Flat", "replaces": bad, "reason": "cannot be read"}))
		},
		"withdrawn": func(bad string) reply {
			return as[reply](t, s.post(t, "withdrawals", M{"id": id(), "occurred_at": at(3, "8:00"), "replaces": bad, "reason": "cannot be read"}))
		},
	} {
		bad := breakOne()
		got := put(bad)
		if len(got.Closed) != 1 || got.Closed[0].Code != "entry_unreadable" || got.Closed[0].EntryID != bad || !strings.Contains(got.Closed[0].Sentence, "cannot be read") || len(got.Opened) != 0 {
			t.Errorf("%s: the reply has %+v", what, got)
		}
	}
	for language, says := range map[string]string{"en": "This settles: ", "es": "Con esto queda resuelto: "} {
		bad := breakOne()
		client := s.browsing(t)
		_, body := fetch(t, client, s.url+"/journal/"+bad+"/correct")
		form := url.Values{"id": {apitest.FormID.FindStringSubmatch(body)[1]}, "do": {"save"}, "/occurred_at": {"2026-08-01T08:00"}, "/name": {"Cedar " + language}, "reason": {"cannot be read"}}
		_, page := s.sendForm(t, client, "/journal/"+bad+"/correct", language, form)
		wants(t, language, page, says)
	}
}

// TestLateEntriesOfOneRequestSayTogetherWhatTheyChange sends an afternoon's transfers that waited,
// of which none alone explains what was drawn: one finding goes with all of them, and the last
// one's answer says so. The page of each says of how many it speaks.
func TestLateEntriesOfOneRequestSayTogetherWhatTheyChange(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.book(t, "movements", s.aMovement("occurred_at", at(22, "15:00"), "from", M{"kind": "tank", "id": s.large}, "to", M{"kind": "waste"}, "mass_kg", 3000))
	for minute := range 20 { // so that what waited is late
		s.book(t, "readings", s.aReading("occurred_at", at(22, fmt.Sprintf("16:%02d", minute))))
	}
	var day []M
	for hour := range 3 {
		day = append(day, oneOf("movement", s.aMovement("occurred_at", at(22, fmt.Sprintf("%d:00", 11+hour)),
			"from", M{"kind": "run", "id": s.run}, "to", M{"kind": "tank", "id": s.large}, "mass_kg", 1000)))
	}
	type answers struct {
		Answers []struct {
			Recorded struct {
				recorded
				Closed   []struct{ Code string }
				Together struct{ First, Last int64 }
			}
		}
	}
	r := s.sendSeveral(t, s.manager, day...)
	got := as[answers](t, r).Answers
	if len(got) != 3 {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	first := got[0].Recorded.Number
	for i, a := range got {
		of := a.Recorded
		if of.Number != first+int64(i) || of.Together.First != first || of.Together.Last != first+2 {
			t.Errorf("entry %d is answered with %+v", i, of)
		}
		if says := slices.ContainsFunc(of.Closed, func(f struct{ Code string }) bool { return f.Code == "drawn_more_than_held" }); says != (i == 2) {
			t.Errorf("entry %d closes %+v", i, of.Closed)
		}
		if level := of.Levels[len(of.Levels)-1]; level.BeforeKg != got[0].Recorded.Levels[len(of.Levels)-1].BeforeKg {
			t.Errorf("entry %d begins at %+v, and the first at %+v", i, level, got[0].Recorded.Levels)
		}
	}
	client := s.browsing(t)
	_, page := fetch(t, client, s.url+"/journal/"+idOf(day[0])+"?recorded="+idOf(day[0]))
	wants(t, "the first one's page", page, fmt.Sprintf("3 entries came late and were taken in together (entries %d to %d). This is what all of them changed.", first, first+2), "This settles: ")
}

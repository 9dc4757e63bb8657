package screens_test

import (
	"maps"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/google/uuid"

	"pullbook/api"
	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/dbtest"
	"pullbook/domain/demo"
	"pullbook/domain/ledger"
	"pullbook/openapi"
)

// visitor is who looks at some screens.
type visitor struct {
	name string
	h    *apitest.House
	// enter has a browser come in: signed in, or not.
	enter   func(*browsertest.Browser)
	screens []browsertest.Screen
}

// visitors are all who look, with all that there is to see.
func visitors(t *testing.T) []visitor {
	t.Helper()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		t.Fatal(err)
	}
	entries := demo.Example(loc).Entries
	h := apitest.Open(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: loc.String(), Units: "metric"}, entries, apitest.WithAnAuthority)
	long := apitest.Open(t, db.Outfit{Name: strings.TrimSpace(strings.Repeat("Upper Sedge Hollow Apiaries & Daughters ", 2)), TimeZone: loc.String(), Units: "us", DecimalMark: db.Comma}, apitest.LongNames())
	bare, tablet := apitest.Open(t, apitest.MetricOutfit, nil), apitest.Open(t, apitest.MetricOutfit, nil)
	idle, yard, empty := apitest.EntryAt(5, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 900_000, HoseMark: "red ring"}), apitest.EntryAt(5, &ledger.Yard{Name: "Alder Bend"}), apitest.EntryAt(6, &ledger.Lot{Code: "26-001"})
	early := apitest.Open(t, apitest.MetricOutfit, []*ledger.Entry{apitest.EntryAt(5, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"}), idle, yard, empty})
	for _, each := range []*apitest.House{h, long, bare, early, tablet} {
		each.SignIn(t)
	}
	tamsin := func(h *apitest.House) func(*browsertest.Browser) { return func(b *browsertest.Browser) { b.SignIn(h) } }
	shed := apitest.NewShed().Open(t, "metric")
	late := warnedHouse(t, request.BackupFolder{Folder: "/media/stick/honey", Last: time.Now().Add(-80 * time.Hour), SameDisk: true})
	never := warnedHouse(t, request.BackupFolder{Folder: "/media/stick/honey", Failed: time.Now().Add(-time.Hour), NoRoom: true})
	crew, reader := h.CrewMember(t, "Bracken"), h.CrewMember(t, "Sorrel")
	h.SQL(t, "UPDATE person SET role = 'reader' WHERE name = 'Sorrel'")
	old, season, oldYard, imported := oldHouse(t)
	return []visitor{
		{"manager", h, tamsin(h), managerScreens(t, h, entries)},
		{"old", old, tamsin(old), oldScreens(season, oldYard, imported)},
		{"sales", h, tamsin(h), salesScreens(t, h, entries)},
		{"papers", h, tamsin(h), paperScreens(t, h)},
		{"forms", h, tamsin(h), formScreens(entries)},
		{"crew", h, func(b *browsertest.Browser) { b.SignInAt(h, "Bracken", crew) }, crewScreens(t, h)},
		{"reader", h, func(b *browsertest.Browser) { b.SignInAt(h, "Sorrel", reader) }, []browsertest.Screen{
			{Name: "lot", Route: "/lots/:id", Path: h.Link(t, "/lots", "/lots/"+apitest.AnID)}, {Name: "not-yours", Route: "/entries/new/:kind", Path: "/entries/new/pull"},
		}},
		{"stranger", h, func(b *browsertest.Browser) { b.CutOff = true }, []browsertest.Screen{{Name: "trust", Route: "/trust", Path: "/trust"}}}, // no address answers that the page asks
		{"nobody", h, func(b *browsertest.Browser) { b.Open(b.At(h) + "/") }, publicScreens(t, h)},
		{"tablet", tablet, func(b *browsertest.Browser) { b.BecomeTablet(t, tablet) }, []browsertest.Screen{
			{Name: "locked", Route: "/calculators", Path: "/calculators"},
			{Name: "wrong-code", Route: "POST /unlock", Path: "/unlock", Sent: url.Values{"person": {uuid.NewString()}, "code": {"1"}}},
		}},
		{"bare", bare, tamsin(bare), browsertest.SetsOf("/", "/season", "/tanks", "/lots", "/dispatches", "/dispatches/new", "/findings", "/balance", "/balance/drying", "/balance/instruments", "/journal", "/recall", "/plans/yards", "/print", "/settings")},
		{"early", early, tamsin(early), append(browsertest.SetsOf("/", "/season", "/tanks", "/lots", "/findings", "/balance", "/balance/drying", "/balance/instruments"),
			browsertest.Screen{Name: "tank", Route: "/tanks/:id", Path: "/tanks/" + idle.ID.String()},
			browsertest.Screen{Name: "yard", Route: "/yards/:id", Path: "/yards/" + yard.ID.String()},
			browsertest.Screen{Name: "lot", Route: "/lots/:id", Path: "/lots/" + empty.ID.String()},
			browsertest.Screen{Name: "labels", Route: "/lots/:id/labels", Path: "/lots/" + empty.ID.String() + "/labels"})},
		{"long", long, tamsin(long), append(browsertest.SetsOf("/", "/season", "/tanks", "/lots", "/findings", "/balance", "/balance/drying", "/balance/instruments", "/journal", "/plans/yards", "/settings", "/settings/feeds"),
			browsertest.Screen{Name: "tank", Route: "/tanks/:id", Path: long.Link(t, "/tanks", "/tanks/"+apitest.AnID)},
			browsertest.Screen{Name: "yard", Route: "/yards/:id", Path: long.Link(t, "/season", "/yards/"+apitest.AnID)},
			browsertest.Screen{Name: "lot", Route: "/lots/:id", Path: long.Link(t, "/lots", "/lots/"+apitest.AnID)},
			browsertest.Screen{Name: "labels", Route: "/lots/:id/labels", Path: long.Link(t, "/lots", "/lots/"+apitest.AnID) + "/labels"},
			browsertest.Screen{Name: "recall-day", Route: "/recall", Path: "/recall?day=2026-07-11"})},
		{"warned-late", late, tamsin(late), []browsertest.Screen{
			{Name: "today", Route: "/", Path: "/", By: warned(1)},
			{Name: "deliveries-restored", Route: "/settings/deliveries", Path: "/settings/deliveries", By: warned(1)},
		}},
		{"warned-never", never, tamsin(never), []browsertest.Screen{{Name: "today", Route: "/", Path: "/", By: warned(2)}}}, // there is none, and the last try failed
		{"shed", shed, tamsin(shed), browsertest.RecordingScreens(browsertest.AllKinds...)},
		{"shed-bare", bare, tamsin(bare), browsertest.RecordingScreens("reading", "run", "pull")},
		{"shed-long", long, tamsin(long), browsertest.RecordingScreens("reading", "pull", "transfer", "fill")},
	}
}

// lastStanding gives, by kind, the last entry that stands as it was first written.
func lastStanding(entries []*ledger.Entry) map[ledger.Kind]string {
	gone, out := map[ledger.ID]bool{}, map[ledger.Kind]string{}
	for _, e := range entries {
		gone[e.Replaces] = true
	}
	for _, e := range entries {
		if !gone[e.ID] && e.Replaces == (ledger.ID{}) {
			out[e.Kind] = e.ID.String()
		}
	}
	return out
}

func managerScreens(t *testing.T, h *apitest.House, entries []*ledger.Entry) []browsertest.Screen {
	last, id := lastStanding(entries), uuid.NewString
	lot, released, gone := h.Link(t, "/lots", "/lots/"+apitest.AnID), h.Link(t, "/lots?state=released", "/lots/"+apitest.AnID), h.Link(t, "/lots?state=gone", "/lots/"+apitest.AnID)
	corrected := entries[slices.IndexFunc(entries, func(e *ledger.Entry) bool { return e.Replaces != (ledger.ID{}) && e.Kind != ledger.KindWithdrawal })]
	finding := h.Link(t, "/findings", `[a-z_]+-`+apitest.AnID)
	reading := "/journal/" + last[ledger.KindReading]
	analysed := "/journal/" + entries[slices.IndexFunc(entries, func(e *ledger.Entry) bool {
		r, is := e.Body.(*ledger.Reading)
		return is && r.Laboratory != ""
	})].ID.String()
	imke, err := h.Operator.PersonCalled(t.Context(), h.Outfit, "Imke")
	if err != nil {
		t.Fatal(err)
	}
	return append(browsertest.SetsOf("/", "/season", "/tanks", "/findings", "/balance", "/lots", "/journal", "/recall", "/calculators", "/import", "/settings", "/settings/people", "/settings/feeds", "/settings/deliveries", "/account"),
		browsertest.Screen{Name: "yard", Route: "/yards/:id", Path: h.Link(t, "/season", "/yards/"+apitest.AnID)},
		browsertest.Screen{Name: "tank", Route: "/tanks/:id", Path: h.Link(t, "/tanks", "/tanks/"+apitest.AnID)},
		browsertest.Screen{Name: "tanks-day", Route: "/tanks", Path: "/tanks?day=2026-08-05"},
		browsertest.Screen{Name: "balance-days", Route: "/balance", Path: "/balance", By: (*browsertest.Browser).Unfold},
		browsertest.Screen{Name: "balance-day", Route: "/balance", Path: "/balance?day=2026-08-05"},
		browsertest.Screen{Name: "balance-yard", Route: "/balance", Path: "/balance?yard=" + last[ledger.KindYard]},
		browsertest.Screen{Name: "balance-none", Route: "/balance", Path: "/balance?day=2026-01-05"},
		browsertest.Screen{Name: "balance-drying", Route: "/balance/drying", Path: "/balance/drying", By: (*browsertest.Browser).Unfold},
		browsertest.Screen{Name: "balance-instruments", Route: "/balance/instruments", Path: "/balance/instruments", By: (*browsertest.Browser).Unfold},
		browsertest.Screen{Name: "finding-refused", Route: "POST /findings/accept", Path: "/findings/accept", Sent: url.Values{"flag": {finding[:len(finding)-37]}, "entry": {finding[len(finding)-36:]}, "reason": {" "}}},
		browsertest.Screen{Name: "lots-none", Route: "/lots", Path: "/lots?state=held"},
		browsertest.Screen{Name: "lots-by-one", Route: "/lots", Path: "/lots?rule_set=eu-honey"},
		browsertest.Screen{Name: "lot", Route: "/lots/:id", Path: lot},
		browsertest.Screen{Name: "lot-released", Route: "/lots/:id", Path: released},
		browsertest.Screen{Name: "lot-container", Route: "/lots/:id", Path: released + "#" + h.Link(t, released, `c[0-9a-f]{8}`)},
		browsertest.Screen{Name: "lot-gone", Route: "/lots/:id", Path: gone},
		browsertest.Screen{Name: "lot-refused", Route: "POST /lots/:id", Path: lot, Sent: url.Values{"id": {id()}, "do": {"hold"}, "why": {""}}},
		browsertest.Screen{Name: "recall-yard", Route: "/recall", Path: "/recall?of=" + last[ledger.KindYard]},
		browsertest.Screen{Name: "recall-lot", Route: "/recall", Path: "/recall?of=" + last[ledger.KindLot]},
		browsertest.Screen{Name: "recall-day", Route: "/recall", Path: "/recall?day=2026-08-05"},
		browsertest.Screen{Name: "journal-none", Route: "/journal", Path: "/journal?kind=import&person=Imke"},
		browsertest.Screen{Name: "journal-sifted", Route: "/journal", Path: "/journal?find=26-0&from_day=2026-08-01&to_day=2026-08-31"},
		browsertest.Screen{Name: "journal-no-day", Route: "/journal", Path: "/journal?from_day=yesterday"},
		browsertest.Screen{Name: "lots-sifted", Route: "/lots", Path: "/lots?find=clover"},
		browsertest.Screen{Name: "findings-sifted", Route: "/findings", Path: "/findings?from_day=2026-08-01"},
		browsertest.Screen{Name: "entry-analysed", Route: "/journal/:id", Path: analysed},
		browsertest.Screen{Name: "entry", Route: "/journal/:id", Path: reading},
		browsertest.Screen{Name: "entry-corrected", Route: "/journal/:id", Path: "/journal/" + corrected.ID.String()},
		browsertest.Screen{Name: "certificate-refused", Route: "POST /journal/:id/certificates", Path: analysed + "/certificates", Sent: url.Values{"id": {id()}}},
		browsertest.Screen{Name: "withdraw-refused", Route: "POST /journal/:id/withdraw", Path: reading + "/withdraw", Sent: url.Values{"id": {id()}, "reason": {" "}}},
		browsertest.Screen{Name: "calculators-moisture", Route: "/calculators", Path: apitest.AskMoisture},
		browsertest.Screen{Name: "calculators-warming", Route: "/calculators", Path: apitest.AskWarming},
		browsertest.Screen{Name: "calculators-hmf", Route: "/calculators", Path: apitest.AskHMF},
		browsertest.Screen{Name: "calculators-dip", Route: "/calculators", Path: "/calculators?ask=dip&tank=upright_cylinder&diameter_cm=110&length_cm=150" + apitest.DipInATank},
		browsertest.Screen{Name: "calculators-refused", Route: "/calculators", Path: strings.Replace(apitest.AskWarming, "control_c=45", "control_c=113", 1)},
		browsertest.Screen{Name: "plans", Route: "/plans", Path: "/plans"},
		browsertest.Screen{Name: "blend", Route: "/plans/blend", Path: "/plans/blend"},
		browsertest.Screen{Name: "blend-found", Route: "/plans/blend", Path: apitest.AskBlend, By: (*browsertest.Browser).Unfold},
		browsertest.Screen{Name: "blend-impossible", Route: "/plans/blend", Path: strings.Replace(apitest.AskBlend, "pct=18.5", "pct=13.5", 1)},
		browsertest.Screen{Name: "blend-refused", Route: "/plans/blend", Path: strings.Replace(apitest.AskBlend, "kg=560", "kg=many", 1)},
		browsertest.Screen{Name: "blend-prepared", Route: "/plans/blend/prepared/:id", Path: h.Link(t, "/plans", "/plans/blend/prepared/"+apitest.AnID)},
		browsertest.Screen{Name: "blend-weights-refused", Route: "POST /plans/blend/weights", Path: "/plans/blend/weights", Sent: url.Values{"ask": {"blend"}, "source_kg": {"many"}, "year_kg": {"-1"}}},
		browsertest.Screen{Name: "blend-prepare-refused", Route: "POST /plans/blend/prepare", Path: strings.Replace(apitest.AskBlend, "blend?", "blend/prepare?blend=1&", 1), Sent: url.Values{"id": {id()}, "tank": {""}}},
		browsertest.Screen{Name: "yards-plan", Route: "/plans/yards", Path: "/plans/yards?ask=yards&probability=0.9&price_per_kg=4&visit_cost=30", By: (*browsertest.Browser).Unfold},
		browsertest.Screen{Name: "yards-plan-refused", Route: "/plans/yards", Path: "/plans/yards?ask=yards&probability=0.9&visit_cost=many"},
		browsertest.Screen{Name: "days", Route: "/plans/days", Path: apitest.AskDays, By: (*browsertest.Browser).Unfold},
		browsertest.Screen{Name: "days-refused", Route: "/plans/days", Path: strings.Replace(apitest.AskDays, "supers_out=600", "supers_out=many", 1)},
		browsertest.Screen{Name: "warming", Route: "/plans/warming", Path: "/plans/warming"},
		browsertest.Screen{Name: "warming-found", Route: "/plans/warming", Path: apitest.AskPlanWarming, By: (*browsertest.Browser).Unfold},
		browsertest.Screen{Name: "adopt-refused", Route: "POST /plans/adopt", Path: "/plans/adopt", Sent: url.Values{"id": {""}}},
		browsertest.Screen{Name: "adopted", Route: "/plans/adopted/:id", Path: h.Link(t, "/plans", "/plans/adopted/"+apitest.AnID)},
		browsertest.Screen{Name: "warming-impossible", Route: "/plans/warming", Path: strings.Replace(apitest.AskPlanWarming, "hours=60", "hours=5", 1)},
		browsertest.Screen{Name: "warming-refused", Route: "/plans/warming", Path: strings.Replace(apitest.AskPlanWarming, "hours=60", "hours=many", 1)},
		browsertest.Screen{Name: "sales-found", Route: "/plans/sales", Path: apitest.AskSales, By: (*browsertest.Browser).Unfold},
		browsertest.Screen{Name: "sales", Route: "/plans/sales", Path: "/plans/sales"},
		browsertest.Screen{Name: "sales-refused", Route: "/plans/sales", Path: strings.Replace(apitest.AskSales, "keep=3", "keep=much", 1)},
		browsertest.Screen{Name: "import-asks", Route: "POST /import", Path: "/import", By: func(b *browsertest.Browser) { b.LookAtSheet(t, "pulls", apitest.OldPulls) }},
		browsertest.Screen{Name: "import-asks-once", Route: "POST /import", Path: "/import", By: func(b *browsertest.Browser) { b.LookAtSheet(t, "runs", apitest.OldRuns) }},
		browsertest.Screen{Name: "import-sets-up", Route: "POST /import", Path: "/import", By: func(b *browsertest.Browser) { b.LookAtSheet(t, "readings", apitest.OldReadings) }},
		browsertest.Screen{Name: "import-old", Route: "POST /import", Path: "/import", By: func(b *browsertest.Browser) {
			b.LookAtSheet(t, "pulls", "Date,Yard,Boxes,Kind,Weight\n3/7/2019,Alder Bend,12,deep,500\nTotal,,12,,500\n")
		}},
		browsertest.Screen{Name: "import-wide", Route: "POST /import", Path: "/import", By: func(b *browsertest.Browser) { b.LookAtSheet(t, "pulls", apitest.WidePulls) }},
		browsertest.Screen{Name: "person-refused", Route: "POST /settings/people", Path: "/settings/people", Sent: url.Values{"name": {" "}, "role": {"crew"}}},
		browsertest.Screen{Name: "person-new-password", Route: "POST /settings/people/:id", Path: "/settings/people/" + imke.ID.String(), Sent: url.Values{"do": {"password"}, "name": {"Imke"}}},
		browsertest.Screen{Name: "token-made", Route: "POST /settings/tokens", Path: "/settings/tokens", Sent: url.Values{"person": {"Tamsin"}, "name": {"the office's spreadsheet"}}},
		browsertest.Screen{Name: "feed-key-made", Route: "POST /settings/feeds", Path: "/settings/feeds", Sent: url.Values{"name": {"the office's spreadsheet"}, "feed": {"lots"}}},
		browsertest.Screen{Name: "feeds-other-mark", Route: "/settings/feeds", Path: "/settings/feeds?decimal=comma"},
		browsertest.Screen{Name: "mark-refused", Route: "POST /settings/feeds/decimal-mark", Path: "/settings/feeds/decimal-mark", Sent: url.Values{"mark": {"dot"}}},
		browsertest.Screen{Name: "hook-made", Route: "POST /settings/deliveries", Path: "/settings/deliveries", Sent: url.Values{"way": {"hook"}, "name": {"the office's program"}, "address": {"https://hooks.example/pullbook"}, "at": {"19:00"}}},
		browsertest.Screen{Name: "mail-refused", Route: "POST /settings/deliveries", Path: "/settings/deliveries", Sent: url.Values{"way": {"mail"}, "name": {"the office"}, "address": {"nobody"}, "at": {"19:00"}}},
		browsertest.Screen{Name: "tablet-refused", Route: "POST /settings/tablets", Path: "/settings/tablets", Sent: url.Values{"name": {" "}}},
		browsertest.Screen{Name: "account-refused", Route: "POST /account", Path: "/account", Sent: url.Values{"do": {"code"}, "password": {"not mine"}, "code": {"82640"}}},
		browsertest.Screen{Name: "not-there", Route: "/journal/:id", Path: "/journal/" + id()},
		browsertest.Screen{Name: "nowhere", Path: "/nowhere"})
}

// prepare has a manager prepare all that is here of a lot, and some of one that nobody released.
func prepare(t *testing.T, h *apitest.House, entries []*ledger.Entry, released string) (prepared string) {
	t.Helper()
	form := url.Values{"id": {uuid.NewString()}, "day": {"2026-11-28"}, "reference": {"WB 1182"}, "note": {"red strap on the left"}, "buyer": {lastStanding(entries)[ledger.KindBuyer]}, "all": {released}}
	open := strings.TrimPrefix(h.Link(t, "/lots", "/lots/"+apitest.AnID), "/lots/")
	if open != released {
		form.Set("count-"+open, "1")
	}
	response, page := h.Send(t, http.MethodPost, "/dispatches/prepare", form, nil)
	if response.StatusCode != http.StatusOK {
		t.Fatalf("preparing a dispatch answered %s: %s", response.Status, page)
	}
	return form.Get("id")
}

// salesScreens are what left for buyers, one that was settled, and the forms for more.
func salesScreens(t *testing.T, h *apitest.House, entries []*ledger.Entry) []browsertest.Screen {
	settled := ""
	for _, e := range entries {
		if s, ok := e.Body.(*ledger.Settlement); ok {
			settled = "/dispatches/" + s.DispatchID.String()
		}
	}
	if settled == "" {
		t.Fatal("no dispatch of the demo was settled")
	}
	released := strings.TrimPrefix(h.Link(t, "/lots?state=released", "/lots/"+apitest.AnID), "/lots/")
	return append(browsertest.SetsOf("/dispatches"),
		browsertest.Screen{Name: "prepare", Route: "/dispatches/prepare", Path: "/dispatches/prepare?lot=" + released},
		browsertest.Screen{Name: "prepare-refused", Route: "POST /dispatches/prepare", Path: "/dispatches/prepare", Sent: url.Values{"id": {uuid.NewString()}, "all": {released}}},
		browsertest.Screen{Name: "prepared", Route: "/dispatches/prepared/:id", Path: "/dispatches/prepared/" + prepare(t, h, entries, released)},
		browsertest.Screen{Name: "dispatch", Route: "/dispatches/:id", Path: settled},
		browsertest.Screen{Name: "dispatch-new", Route: "/dispatches/new", Path: "/dispatches/new?lot=" + released},
		browsertest.Screen{Name: "dispatch-refused", Route: "POST /dispatches/new", Path: "/dispatches/new", Sent: url.Values{"id": {uuid.NewString()}, "all": {released}}},
		browsertest.Screen{Name: "settle", Route: "/dispatches/:id/settle", Path: settled + "/settle"},
		browsertest.Screen{Name: "settle-refused", Route: "POST /dispatches/:id/settle", Path: settled + "/settle", Sent: url.Values{"id": {uuid.NewString()}, "paid": {"much"}}})
}

// paperScreens are what is for paper, as it is seen before it is printed.
func paperScreens(t *testing.T, h *apitest.House) []browsertest.Screen {
	released := h.Link(t, "/lots?state=released", "/lots/"+apitest.AnID)
	out := append(browsertest.SetsOf("/print"),
		browsertest.Screen{Name: "sheet", Route: "/lots/:id/sheet", Path: released + "/sheet"},
		browsertest.Screen{Name: "labels", Route: "/lots/:id/labels", Path: released + "/labels"},
		browsertest.Screen{Name: "blend-blank", Route: "/plans/blend/blank", Path: strings.Replace(apitest.AskBlend, "blend?", "blend/blank?blend=1&", 1)},
		browsertest.Screen{Name: "yards-blank", Route: "/plans/yards/blank", Path: "/plans/yards/blank"},
		browsertest.Screen{Name: "sales-blank", Route: "/plans/sales/blank", Path: strings.Replace(apitest.AskSales, "sales?", "sales/blank?", 1)},
		browsertest.Screen{Name: "warming-blank", Route: "/plans/warming/blank", Path: strings.Replace(apitest.AskPlanWarming, "warming?", "warming/blank?", 1)},
		browsertest.Screen{Name: "days-blank", Route: "/plans/days/blank", Path: strings.Replace(apitest.AskDays, "days?", "days/blank?", 1)},
		browsertest.Screen{Name: "adopted-blank", Route: "/plans/adopted/:id/blank", Path: h.Link(t, "/plans", "/plans/adopted/"+apitest.AnID) + "/blank"},
		browsertest.Screen{Name: "labels-each", Route: "/lots/:id/labels", Path: released + "/labels?each=1"})
	for _, kind := range []string{"reading", "fill", "transfer", "run", "pull", "temperature", "stocktake", "wash"} {
		out = append(out, browsertest.Screen{Name: "blank-" + kind, Route: "/print/blank/:kind", Path: "/print/blank/" + kind})
	}
	return out
}

// formScreens are the forms of entries: new ones of every kind, corrections of those
// that have most to them, and what comes back refused.
func formScreens(entries []*ledger.Entry) (out []browsertest.Screen) {
	for _, kind := range ledger.Kinds() {
		if kind != ledger.KindImport && kind != ledger.KindLaboratoryCertificate && kind != ledger.KindOperator { // they come with what they tell of
			out = append(out, browsertest.Screen{Name: "new-" + string(kind), Route: "/entries/new/:kind", Path: "/entries/new/" + string(kind)})
		}
	}
	last := lastStanding(entries)
	for _, kind := range []ledger.Kind{ledger.KindTank, ledger.KindPull, ledger.KindReading, ledger.KindCalibration, ledger.KindTemperatureLog, ledger.KindRuleSet} {
		if last[kind] != "" {
			out = append(out, browsertest.Screen{Name: "correct-" + string(kind), Route: "/journal/:id/correct", Path: "/journal/" + last[kind] + "/correct"})
		}
	}
	id := uuid.NewString
	priced := url.Values{"id": {id()}, "price": {"3.90"}, "currency": {"CAD"}, "above 0": {"17.8"}, "per 0": {"0.10"}}
	return append(out,
		browsertest.Screen{Name: "limits-new", Route: "/settings/limits/new", Path: "/settings/limits/new"},
		browsertest.Screen{Name: "limits-started", Route: "POST /settings/limits/new", Path: "/settings/limits/new", Sent: url.Values{"id": {id()}, "do": {"start"}, "from": {"codex-cxs-12-1981-annex"}}},
		browsertest.Screen{Name: "limits-worked-out", Route: "POST /settings/limits/new", Path: "/settings/limits/new", Sent: with(priced, "do", "save", "moisture", "wet")},
		browsertest.Screen{Name: "limits-change", Route: "/settings/limits/:id", Path: "/settings/limits/" + last[ledger.KindRuleSet]},
		browsertest.Screen{Name: "limits-change-refused", Route: "POST /settings/limits/:id", Path: "/settings/limits/" + last[ledger.KindRuleSet], Sent: url.Values{"id": {id()}, "do": {"save"}, "moisture": {"18"}}},
		browsertest.Screen{Name: "tank-refused", Route: "POST /entries/new/:kind", Path: "/entries/new/tank", Sent: url.Values{"id": {id()}, "do": {"save"}, "capacity_kg": {"much"}}},
		browsertest.Screen{Name: "correction-refused", Route: "POST /journal/:id/correct", Path: "/journal/" + last[ledger.KindReading] + "/correct", Sent: url.Values{"id": {id()}, "do": {"save"}, "occurred_at": {"yesterday"}}})
}

// warnedHouse is a book whose backups go into a folder that somebody has to see to, and which was restored.
func warnedHouse(t *testing.T, folder request.BackupFolder) *apitest.House {
	t.Helper()
	h := apitest.Open(t, apitest.MetricOutfit, nil, func(c *request.Config) {
		c.Backups = func() request.Backups { return request.Backups{Folders: []request.BackupFolder{folder}} }
	})
	h.SignIn(t)
	h.Send(t, http.MethodPost, "/settings/deliveries", url.Values{"way": {"hook"}, "name": {"the office's program"}, "address": {"https://hooks.example/pullbook"}, "at": {"19:00"}}, nil)
	h.SQL(t, "UPDATE delivery SET failed = 'restored'")
	return h
}

// warned fails unless a page has so many warnings.
func warned(n int) func(*browsertest.Browser) {
	return func(b *browsertest.Browser) {
		b.T.Helper()
		if got := browsertest.Evaluated[int](b, `document.querySelectorAll('main .odd').length`); got != n {
			b.T.Errorf("%d warnings are shown, not %d", got, n)
		}
	}
}

// with is a form with more in it.
func with(form url.Values, pairs ...string) url.Values {
	out := maps.Clone(form)
	for i := 0; i < len(pairs); i += 2 {
		out.Set(pairs[i], pairs[i+1])
	}
	return out
}

func crewScreens(t *testing.T, h *apitest.House) []browsertest.Screen {
	return append(browsertest.SetsOf("/", "/findings", "/settings", "/account"),
		browsertest.Screen{Name: "lot", Route: "/lots/:id", Path: h.Link(t, "/lots", "/lots/"+apitest.AnID)},
		browsertest.Screen{Name: "not-yours", Route: "/settings/people", Path: "/settings/people"})
}

func publicScreens(t *testing.T, h *apitest.House) []browsertest.Screen {
	sheet := h.Link(t, "/lots?state=released", "/lots/"+apitest.AnID) + "/sheet"
	seal, err := url.Parse(h.Link(t, sheet, `[^"]+/verify/[^"]+`))
	if err != nil {
		t.Fatal(err)
	}
	return append(browsertest.SetsOf("/docs"),
		browsertest.Screen{Name: "sign-in", Route: "/", Path: "/"},
		browsertest.Screen{Name: "sign-in-to-record", Route: "/record/sign-in", Path: "/record/sign-in"},
		browsertest.Screen{Name: "sign-in-refused", Route: "POST /sign-in", Path: "/sign-in", Sent: url.Values{"outfit": {h.Name}, "name": {"Nobody"}, "password": {"wrong"}}},
		browsertest.Screen{Name: "docs-readings", Route: "/docs/:resource", Path: "/docs/readings"},
		browsertest.Screen{Name: "docs-feeds", Route: "/docs/:resource", Path: "/docs/feeds"},
		browsertest.Screen{Name: "problem-type", Route: "/problems/:code", Path: "/problems/invalid"},
		browsertest.Screen{Name: "verify", Route: "/verify/:token", Path: seal.Path},
		browsertest.Screen{Name: "verify-unknown", Route: "/verify/:token", Path: "/verify/none"})
}

// TestEveryScreen looks at all that there is to see on a phone in Spanish, where the most
// words have the least room, with all unfolded that is folded; and goes through it by Tab,
// backward. Where the whole is tried, it looks in English too, on a laptop, there at 200 %
// zoom, and on a phone, and goes forward.
func TestEveryScreen(t *testing.T) {
	t.Parallel()
	all := visitors(t)
	t.Run("no page is forgotten", func(t *testing.T) { noPageIsForgotten(t, all) })
	b := browsertest.Start(t)
	if !dbtest.Whole() {
		all = eachOnce(all)
	}
	for _, v := range all {
		for language, origin := range languages() {
			t.Run(v.name+" "+language, func(t *testing.T) {
				t.Parallel()
				d := b.By(origin).Device(t, language)
				d.CutOff = false
				windows := browsertest.Sizes
				if language == "es-MX" { // what fits a phone of 320 px in Spanish fits the wider ones
					windows = browsertest.Sizes[2:]
				}
				d.Resize(windows[0].Width, windows[0].Height)
				v.enter(d)
				for _, s := range v.screens {
					lookThrough(d, v, s, language[:2], windows)
				}
			})
		}
	}
}

// eachOnce leaves each visitor the pages that none before has, and the page of recording,
// those with the longest names and those with warnings all that they have. Where the whole is tried, everybody
// looks at everything.
func eachOnce(all []visitor) []visitor {
	seen := map[string]bool{}
	for i, v := range all {
		all[i].screens = slices.DeleteFunc(v.screens, func(s browsertest.Screen) bool {
			again := seen[s.Route] && s.Route != "/record" && v.name != "long" && !strings.HasPrefix(v.name, "warned")
			seen[s.Route] = true
			return again
		})
	}
	return slices.DeleteFunc(all, func(v visitor) bool { return len(v.screens) == 0 })
}

// languages are those that screens are looked at in, with the way by which.
func languages() map[string]apitest.Origin {
	if dbtest.Whole() {
		return map[string]apitest.Origin{"en-GB": apitest.OverHTTP, "es-MX": apitest.OverHTTPS}
	}
	return map[string]apitest.Origin{"es-MX": apitest.OverHTTPS}
}

// lookThrough looks at a screen in its windows, and goes through it by Tab. What is about
// structure axe-core looks at once for what is made alike; so is that gone through once,
// but where the whole is tried.
func lookThrough(b *browsertest.Browser, v visitor, s browsertest.Screen, language string, windows []browsertest.Size) {
	b.T.Helper()
	b.Show(v.h, s)
	called := func(size browsertest.Size) string {
		return strings.Join([]string{v.name, s.Name, language, size.Name}, "-")
	}
	for _, size := range windows {
		b.Resize(size.Width, size.Height)
		b.Picture(called(size), size.Width, size.Height)
		browsertest.Evaluated[int](b, browsertest.Unfold)
		b.Complain(called(size))
		browsertest.Evaluated[int](b, browsertest.Fold)
	}
	b.Resize(windows[0].Width, windows[0].Height)
	switch forth := slices.Contains(goForth, v.name); {
	case language == "es" && (b.Anew || dbtest.Whole()):
		browsertest.Evaluated[int](b, browsertest.Unfold)
		b.Walk(called(windows[0]), chromedp.ModifierShift)
	case language == "en" && forth:
		browsertest.Evaluated[int](b, browsertest.Unfold)
		b.Walk(called(windows[0]))
	}
}

// goForth are visitors whose screens are gone through forth and back; those of the
// others are made like them, and are gone through once.
var goForth = []string{"manager", "sales", "nobody", "tablet", "shed"}

// goElsewhere are forms and links whose answer is another page's address.
var goElsewhere = []string{"/entries/new", "/language", "/sign-out", "/lock", "/settings/tokens/:id/revoke", "/settings/tablets/:id/revoke", "/settings/feeds/:id/revoke", "/settings/deliveries/:id"}

// ofUnreadable are routes of an entry that cannot be read. No visitor's book has one:
// TestABookWithAnEntryThatCannotBeReadStaysOpen looks at them.
var ofUnreadable = []string{"/journal/:id/stored"}

// noPages are routes that answer with something else than a page, with an address
// that each answers.
func noPages(t *testing.T, h *apitest.House) map[string]string {
	t.Helper()
	lot, tank, yard := h.Link(t, "/lots?state=released", "/lots/"+apitest.AnID), h.Link(t, "/tanks", "/tanks/"+apitest.AnID), h.Link(t, "/season", "/yards/"+apitest.AnID)
	out := map[string]string{
		"/assets/:name": h.Link(t, "/", `/assets/style\.[^"]+`), "/charts/heat.svg": strings.Replace(apitest.AskHMF, "/calculators", "/charts/heat.svg", 1),
		"/lots/:id/heating.svg": lot + "/heating.svg", "/lots/:id/limits.svg": lot + "/limits.svg", "/lots/:id/sheet.pdf": lot + "/sheet.pdf", "/tanks/:id/course.svg": tank + "/course.svg",
		"/yards/:id/seasons.svg": yard + "/seasons.svg", "/yards/:id/pulls.svg": yard + "/pulls.svg",
		"/plans/blend/drawing.svg": strings.Replace(apitest.AskBlend, "blend?", "blend/drawing.svg?blend=1&", 1), "/plans/blend/blend.xlsx": strings.Replace(apitest.AskBlend, "blend?", "blend/blend.xlsx?blend=1&", 1),
		"/plans/sales/drawing.svg": strings.Replace(apitest.AskSales, "sales?", "sales/drawing.svg?sales=1&", 1), "/plans/sales/sales.xlsx": strings.Replace(apitest.AskSales, "sales?", "sales/sales.xlsx?sales=1&", 1),
		"/plans/yards/drawing.svg": "/plans/yards/drawing.svg", "/plans/yards/yards.xlsx": "/plans/yards/yards.xlsx",
		"/import/progress/:id": "/import/progress/" + uuid.NewString(),
		"/recall/drawing.svg":  "/recall/drawing.svg?day=2026-08-05", "/recall/sheet.csv": "/recall/sheet.csv?day=2026-08-05",
		"/plans/days/days.xlsx":      strings.Replace(apitest.AskDays, "days?", "days/days.xlsx?", 1),
		"/plans/days/drawing.svg":    strings.Replace(apitest.AskDays, "days?", "days/drawing.svg?", 1),
		"/plans/warming/drawing.svg": strings.Replace(apitest.AskPlanWarming, "warming?", "warming/drawing.svg?", 1), "/plans/warming/warming.xlsx": strings.Replace(apitest.AskPlanWarming, "warming?", "warming/warming.xlsx?", 1),
	}
	for _, path := range []string{"/charts/season.svg", "/charts/course.svg", "/charts/moisture.svg", "/charts/yards.svg", "/tanks/day.svg", "/manifest.webmanifest", "/openapi.yaml", "/robots.txt", "/trust/pullbook.crt", "/worker.js", "/livez", "/readyz", "/metrics"} {
		out[path] = path
	}
	return out
}

// noPageIsForgotten holds the list of screens against the routes of the server.
// Those of the contract and the feeds are for programs.
func noPageIsForgotten(t *testing.T, all []visitor) {
	routes, err := api.Routes()
	if err != nil {
		t.Fatal(err)
	}
	looked := map[string]bool{}
	for _, v := range all {
		for _, s := range v.screens {
			looked[s.Route] = true
			route := regexp.MustCompile(`:[a-z]+`).ReplaceAllString(strings.TrimPrefix(s.Route, "POST "), `[^/?#]+`)
			if s.Route != "" && !regexp.MustCompile("^"+route+"($|[?#])").MatchString(s.Path) {
				t.Errorf("%s %s is said to be of the route %s", v.name, s.Name, s.Route)
			}
		}
	}
	h := all[0].h
	others := noPages(t, h)
	for _, r := range routes {
		name := map[string]string{http.MethodGet: "", http.MethodPost: "POST "}[r.Method] + r.Path
		switch {
		case strings.HasPrefix(r.Path, "/v1/") || strings.HasPrefix(r.Path, "/feeds/"):
		case looked[name]:
		case slices.Contains(goElsewhere, r.Path), slices.Contains(ofUnreadable, r.Path):
		case others[r.Path] != "":
			response, _ := h.Get(t, others[r.Path])
			if of := response.Header.Get("Content-Type"); response.StatusCode != http.StatusOK || strings.HasPrefix(of, "text/html") {
				t.Errorf("%s answers %s with %s, and nobody looks at it", others[r.Path], response.Status, of)
			}
		default:
			t.Errorf("nobody looks at %s %s", r.Method, r.Path)
		}
	}
	contract, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	for path, item := range contract.Paths.Map() {
		for method, operation := range item.Operations() {
			for status, answer := range operation.Responses.Map() {
				if answer.Value.Content["text/html"] != nil {
					t.Errorf("%s %s answers %s with a page, and nobody looks at it", method, path, status)
				}
			}
		}
	}
}

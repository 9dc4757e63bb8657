package recording_test

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/domain/ledger"
)

// TestRecordingInABrowser uses the recording screens as people would, by touch,
// with network and without. All share one Chromium; each device
// has a store of its own.
func TestRecordingInABrowser(t *testing.T) {
	t.Parallel()
	b := browsertest.Start(t)
	for name, test := range map[string]func(*testing.T, *browsertest.Browser){
		"everything that happens in the shed can be recorded":       everyKind,
		"what the book refuses is mended or dropped":                refusedIsMendedOrDropped,
		"an expired sign-in keeps the queue":                        anExpiredSignIn,
		"what somebody else typed waits for them, or for a manager": somebodyElse,
		"two devices without network merge":                         twoDevices,
		"two tabs send once":                                        twoTabs,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			browsertest.AtEach(t, browsertest.Origins(), b, test)
		})
	}
	for name, test := range map[string]func(*testing.T, *browsertest.Browser){
		"a reading takes five touches and ten seconds at most":               aReadingIsQuick,
		"the first reading is as the instrument in the hand shows it":        theFirstReading,
		"a reading that fits another tank is asked about before it is saved": aReadingOfAnotherTank,
		"one drum after another, the tare remembered":                        drumsOneAfterAnother,
		"who sees a drum foam holds its lot":                                 whoSeesADrumFoam,
		"an instrument that does not correct asks how warm the sample was":   howWarmTheSampleWas,
		"what a load changes elsewhere is said when it comes into the book":  whatALoadChangesElsewhere,
		"in Spanish and pounds, with a decimal comma":                        spanishPounds,
		"a service in trouble is asked again":                                aServiceInTrouble,
		"what was saved before midnight stays in sight":                      pastMidnight,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			test(t, b)
		})
	}
	for name, test := range map[string]func(*testing.T, *browsertest.Browser){
		"the whole day without network, and closed in between": aDayWithoutNetwork,
		"a crash between typing and sending loses nothing":     aCrash,
		"a new version takes over what the old one kept":       aNewVersion,
		"a page that could not be kept is kept later":          aPageKeptLater,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			test(t, b.WithAWorker())
		})
	}
}

// atTheTank is a device that somebody is signed in on, at the first screen.
func atTheTank(t *testing.T, b *browsertest.Browser, units, language string) (*apitest.Shed, *apitest.House, *apitest.Line, *browsertest.Browser) {
	t.Helper()
	s := apitest.NewShed()
	h := s.Open(t, units)
	l := h.Line(t)
	d := b.Device(t, language)
	d.SignInAs(l, h, "Tamsin", h.Password)
	d.KnowsTheShed()
	return s, h, l, d
}

// whatALoadChangesElsewhere: with the second load the run has more frames than its supers,
// which is a finding about the run. The load was saved without network.
func whatALoadChangesElsewhere(t *testing.T, b *browsertest.Browser) {
	s := apitest.NewShed()
	s.Spun()
	h := s.Open(t, "metric")
	l := h.Line(t)
	d := b.Device(t, "en-CA")
	d.SignInAs(l, h, "Tamsin", h.Password)
	d.KnowsTheShed()
	l.Cut.Store(true)
	d.Tile("run")
	d.Touch(`#run a[href="#load"]`)
	d.Until(`document.getElementById('form').dataset.kind === 'load'`)
	d.Saved()
	l.Cut.Store(false)
	d.InBook()
	const want = "This changes something elsewhere in the book: findings opened: 1."
	d.Until(`document.getElementById('today-list').textContent.includes(` + strconv.Quote(want) + `)`)
}

func aReadingIsQuick(t *testing.T, b *browsertest.Browser) {
	s, h, _, d := atTheTank(t, b, "metric", "en-CA")
	for _, tank := range []struct{ name, id, keys string }{{"large tank", s.Large.String(), "174"}, {"tank 2", s.Two.String(), "192"}} {
		d.Touches = 0
		began := time.Now()
		d.Tile("reading")
		first := d.Touches
		d.Choose("on", tank.name)
		d.Key(tank.keys)
		d.Saved()
		t.Logf("a reading: %d touches, %d of them after the first screen, %.1f s at the machine's own pace", d.Touches, d.Touches-first, time.Since(began).Seconds())
		if d.Touches-first > 5 {
			t.Errorf("a reading takes %d touches", d.Touches)
		}
		d.InBook()
	}
	readings := h.Booked(t, "readings")
	if len(readings) != 2 || readings[0]["moisture_pct"] != 17.4 || readings[1]["moisture_pct"] != 19.2 {
		t.Fatalf("the book has %v", readings)
	}
	for i, id := range []string{s.Large.String(), s.Two.String()} {
		if on := readings[i]["on"].(apitest.M); on["id"] != id {
			t.Errorf("reading %d is on %v, want %s", i, on, id)
		}
	}
	if got := readings[0]["as_entered"].(apitest.M)["moisture_pct"]; got != "17.4 %" {
		t.Errorf("as entered: %q", got)
	}
	if got := d.Text("#home-result"); !strings.Contains(got, "In the book") || !strings.Contains(got, "expected moisture 19.2 %") {
		t.Errorf("after saving the page says %q", got)
	}
}

// theFirstReading is made on a device that never read anything, in an outfit whose
// first instrument shows a refractive index.
func theFirstReading(t *testing.T, b *browsertest.Browser) {
	s := apitest.NewShed()
	bench := s.Instrument("bench refractometer", ledger.ScaleRefractiveIndex)
	sugar := s.Instrument("sugar refractometer", ledger.ScaleBrix)
	h := s.Open(t, "metric")
	d := b.Device(t, "en-CA")
	d.SignInAs(h.Line(t), h, "Tamsin", h.Password)
	d.KnowsTheShed()
	chosen := func() string {
		return strings.Join(strings.Fields(d.Text("[data-field=instrument] .tab:has(:checked)")), " ")
	}
	shown := func() string { return browsertest.Evaluated[string](d, `document.getElementById('in-shown').value`) }

	// What is assumed is in sight: the instrument, and what it shows.
	d.Tile("reading")
	d.Until(`document.querySelector('[data-field=instrument] .tab:has(:checked)') !== null`)
	if got := chosen(); got != "blue refractometer shows moisture, %" {
		t.Errorf("at first the instrument is %q", got)
	}
	if !browsertest.Evaluated[bool](d, `document.querySelector('[data-field=instrument] .tab:has(:checked)').checkVisibility()`) {
		t.Error("the instrument is not in sight")
	}
	d.Choose("on", "tank 2")
	d.Key("172")
	if got := shown(); got != "17.2" {
		t.Errorf("172 of the hand-held is %q", got)
	}

	// The pad follows the choice, also with figures typed already, and back.
	d.Choose("instrument", "bench refractometer")
	if got := shown(); got != "1.72" {
		t.Errorf("on the bench the figures are %q", got)
	}
	if got := d.Text("#opinion"); !strings.Contains(got, "No honey shows 1.72 on bench refractometer: 1.4388 to 1.5252") || !strings.Contains(got, "17.2 is a moisture: read with blue refractometer?") {
		t.Errorf("of 1.72 on the bench the page says %q", got)
	}
	d.Look("reading-other-instrument", browsertest.Size{Name: "phone", Width: 320, Height: 640}, browsertest.Size{Name: "phone", Width: 390, Height: 780})
	d.TouchOf("#opinion .offer", "")
	if got, with := shown(), chosen(); got != "17.2" || !strings.HasPrefix(with, "blue") {
		t.Errorf("after the offer: %q with %q", got, with)
	}
	d.Aim("shown")
	d.Key("181")
	if got := shown(); got != "18.1" {
		t.Errorf("written over, the figure is %q", got)
	}
	d.Choose("instrument", "bench refractometer")
	d.Aim("shown")
	d.Key("14915")
	if got := shown(); got != "1.4915" {
		t.Errorf("14915 on the bench is %q", got)
	}
	d.Saved()
	d.InBook()

	// The device remembers what was used last, and the pad begins there.
	d.Tile("reading")
	if got := chosen(); got != "bench refractometer shows the refractive index" {
		t.Errorf("the second time the instrument is %q", got)
	}
	d.Choose("on", "tank 2")
	d.Key("14920")
	d.Choose("instrument", "sugar refractometer")
	if got := d.Text("#opinion"); !strings.Contains(got, "1.4920 is a refractive index: read with bench refractometer?") {
		t.Errorf("of 14920 on the sugar refractometer the page says %q", got)
	}
	d.Aim("shown")
	d.Key("795")
	d.Saved()
	d.InBook()
	readings := h.Booked(t, "readings")
	if len(readings) != 2 || readings[0]["refractive_index"] != 1.4915 || readings[0]["instrument_id"] != bench.String() || readings[1]["brix_deg"] != 79.5 || readings[1]["instrument_id"] != sugar.String() {
		t.Errorf("the book has %v", readings)
	}
}

func whoSeesADrumFoam(t *testing.T, b *browsertest.Browser) {
	s, h, _, d := atTheTank(t, b, "metric", "en-CA")
	d.Tile("signs")
	d.Choose("on", "L26-014")
	d.Choose("drum", "D-009")
	d.Choose("sign", "foam or gas")
	if got := d.Text("#opinion"); !strings.Contains(got, "This holds the lot L26-014") {
		t.Errorf("before saving the page says %q", got)
	}
	d.Saved()
	d.InBook()
	r := h.One(t, "readings")
	if on := r["on"].(apitest.M); on["kind"] != "container" || on["id"] != s.Fill.String() {
		t.Errorf("it is on %v, want D-009", on)
	}
	if seen := r["observed"].([]any)[0].(apitest.M); seen["what"] != "fermentation" || seen["word"] != "present" || r["note"] != "foam or gas" {
		t.Errorf("the book has %v", r)
	}
	h.SignIn(t)
	if _, page := h.Get(t, "/lots/"+s.Lot.String()); !strings.Contains(page, "seen fermenting") || !strings.Contains(page, "held") {
		t.Error("the lot is not held")
	}
	d.Tile("signs")
	d.Choose("on", "tank 2")
	d.Choose("sign", "looked, and nothing of it")
	d.Saved()
	d.InBook()
	readings := h.Booked(t, "readings")
	if len(readings) != 2 {
		t.Fatalf("the book has %v", readings)
	}
	if seen := readings[1]["observed"].([]any)[0].(apitest.M); seen["word"] != "absent" || readings[1]["on"].(apitest.M)["id"] != s.Two.String() {
		t.Errorf("the book has %v", readings[1])
	}
}

func howWarmTheSampleWas(t *testing.T, b *browsertest.Browser) {
	s := apitest.NewShed()
	plain := s.PlainRefractometer("plain refractometer")
	h := s.Open(t, "metric")
	l := h.Line(t)
	d := b.Device(t, "en-CA")
	d.SignInAs(l, h, "Tamsin", h.Password)
	d.KnowsTheShed()
	d.Tile("reading")
	d.Choose("on", "large tank")
	d.Choose("instrument", "plain refractometer")
	d.Aim("shown")
	d.Key("170")
	if got := d.Text("#opinion"); !strings.Contains(got, "plain refractometer does not correct for the temperature: how warm was the sample? Without it the moisture is known to ± 0.5 points only.") {
		t.Errorf("before saving the page says %q", got)
	}
	d.Aim("sample")
	d.Key("26")
	if got := d.Text("#opinion"); strings.Contains(got, "how warm") {
		t.Errorf("with the temperature the page still says %q", got)
	}
	d.Saved()
	d.InBook()
	if r := h.One(t, "readings"); r["instrument_id"] != plain.String() || r["sample_temperature_c"] != 26.0 {
		t.Errorf("the book has %v", r)
	}
}

func aReadingOfAnotherTank(t *testing.T, b *browsertest.Browser) {
	s, h, _, d := atTheTank(t, b, "metric", "en-CA")
	d.Tile("reading")
	d.Choose("on", "large tank")
	d.Key("191")
	if got := d.Text("#opinion"); !strings.Contains(got, "Expected 17.4, you typed 19.1: is this tank 2?") {
		t.Errorf("before saving the page says %q", got)
	}
	d.Look("reading-odd", browsertest.Sizes...)
	d.Touch("#opinion .offer")
	d.Until(`document.querySelector('#opinion .fine') !== null`)
	d.Saved()
	d.InBook()
	if on := h.One(t, "readings")["on"].(apitest.M); on["id"] != s.Two.String() {
		t.Errorf("it is on %v, want tank 2", on)
	}
	// Saved as typed, it is stored and flagged, and the page says so.
	d.Tile("reading")
	d.Choose("on", "large tank")
	d.Key("191")
	if got := d.Text("#save"); got != "Save as typed" {
		t.Errorf("the button reads %q", got)
	}
	d.Saved()
	d.InBook()
	if got := d.Text("#home-result"); !strings.Contains(got, "does not fit") {
		t.Errorf("after saving the page says %q", got)
	}
}

func everyKind(t *testing.T, b *browsertest.Browser) {
	s, h, _, d := atTheTank(t, b, "metric", "en-CA")
	if says := strings.Contains(d.Text("#home"), "an address that begins with https, and"); says != (b.Origin == apitest.OverHTTP) {
		t.Errorf("that opening without network needs HTTPS is said: %t", says)
	}
	near := func(what string, got any, want float64) {
		t.Helper()
		if v, ok := got.(float64); !ok || math.Abs(v-want) > 1e-9 {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	says := func(want string) {
		t.Helper()
		if got := strings.ReplaceAll(d.Text("#opinion"), "\u00a0", " "); !strings.Contains(got, want) {
			t.Errorf("before saving the page says %q, want %q in it", got, want)
		}
	}

	d.Tile("pull")
	d.Choose("yard", "Mill Race")
	d.Aim("n-" + s.Deep.String())
	d.Key("20")
	d.Aim("gross")
	d.Key("1800")
	says("is that the other unit of weight") // 20 deeps are 800 kg
	d.Aim("gross")
	d.Key("812")
	says("27.6 kg of honey a super; usual are 27.0 kg")
	d.Saved()
	d.InBook()
	pull := h.One(t, "pulls")
	near("gross", pull["gross_kg"], 812)
	near("supers", pull["supers"].([]any)[0].(apitest.M)["supers"], 20)

	d.Tile("run")
	d.Touch(`#run a[href="#supers"]`)
	d.Until(`document.getElementById('form').dataset.kind === 'supers'`)
	d.Choose("pull", "Mill Race")
	d.Key("21")
	says("only 20 left")
	d.Aim("supers")
	d.Key("20")
	d.Saved()
	d.InBook()
	near("supers in", h.One(t, "run-supers")["supers"], 20)

	d.Tile("run")
	d.Touch(`#run a[href="#load"]`)
	d.Until(`document.getElementById('form').dataset.kind === 'load'`)
	d.Saved()
	d.InBook()
	near("the first load", h.One(t, "loads")["load"], 1)

	d.Tile("transfer")
	d.Choose("from", "this morning")
	d.Choose("to", "tank 2")
	d.Key("305")
	says("tank 2 600 kg → 905 kg, 101 % full")
	d.Aim("mass")
	d.Key("205")
	says("tank 2 600 kg → 805 kg, 89 % full")
	d.Saved()
	d.InBook()
	near("transferred", h.One(t, "movements")["mass_kg"], 205)
	if got := strings.ReplaceAll(d.Text("#home-result"), "\u00a0", " "); !strings.Contains(got, "tank 2 600 kg → 805 kg, 89 % full, expected moisture") {
		t.Errorf("after saving the page says %q", got)
	}

	d.Tile("run")
	d.Touch(`#run a[href="#end"]`)
	d.Until(`document.getElementById('form').dataset.kind === 'end'`)
	d.Key("4")
	says("2.0 % of the honey")
	d.Saved()
	d.InBook()
	near("wax", h.One(t, "run-ends")["wax_kg"], 4)

	d.Until(`!document.getElementById('home').hidden && scrollY === 0`)
	d.Touch(`#home .tile[href="#start"]`) // with no run open there is one thing to do
	d.Until(`document.getElementById('form').dataset.kind === 'start'`)
	d.Saved()
	d.InBook()
	near("frames a side", h.One(t, "runs")["frames_per_side"], 30)

	d.Tile("temperature")
	d.Choose("on", "hot room")
	d.Key("104")
	says("is that the other scale?")
	d.Touch("#opinion .offer") // 104 °F are 40 °C
	d.Saved()
	d.InBook()
	near("the room", h.One(t, "temperature-logs")["points"].([]any)[0].(apitest.M)["temperature_c"], 40)

	d.Tile("stocktake")
	d.Choose("tank", "large tank")
	d.Key("70")
	d.Aim("c")
	d.Key("30")
	// An upright cylinder of 160 cm: pi/4 · 160² · 70 cm³ are 1407.4 L, of about 1.41 kg/L.
	says("The dip comes to 1,9")
	d.Saved()
	d.InBook()
	near("the dip", h.One(t, "stocktakes")["depth_cm"], 70)

	d.Tile("wash")
	d.Choose("tank", "tank 2")
	says("By the book tank 2 still holds 805 kg")
	d.Saved()
	d.InBook()
	if got := h.One(t, "washes")["tank_id"]; got != s.Two.String() {
		t.Errorf("washed: %v", got)
	}
}

func drumsOneAfterAnother(t *testing.T, b *browsertest.Browser) {
	_, h, _, d := atTheTank(t, b, "metric", "en-CA")
	d.Tile("fill")
	if got := browsertest.Evaluated[string](d, `document.getElementById('in-container').value + ' ' + document.getElementById('in-tare').value`); got != "D-010 18.2" {
		t.Errorf("the next drum is %q, want D-010 with the last tare", got)
	}
	d.Aim("tare")
	d.Key("175")
	if got := d.Text("#opinion"); got != "" {
		t.Errorf("a tare alone makes the page say %q", got)
	}
	d.Aim("tare")
	d.Key("17.5")
	for i, gross := range []string{"307.5", "308", "306.5"} {
		d.Touches = 0
		d.Aim("gross")
		d.Key(gross)
		d.Save()
		d.Until(fmt.Sprintf(`document.getElementById('in-container').value === 'D-%03d'`, 11+i))
		if tare := browsertest.Evaluated[string](d, `document.getElementById('in-tare').value`); tare != "17.5" {
			t.Errorf("the tare was not remembered: %q", tare)
		}
	}
	d.Aim("gross")
	d.Key("652")
	if got := d.Text("#opinion"); !strings.Contains(got, "is that the other unit of weight?") {
		t.Errorf("of 652 kg in a drum the page says %q", got)
	}
	d.Look("fill", browsertest.Sizes...)
	d.Until(`document.querySelector('#result .sent') !== null`)
	fills := h.Booked(t, "fills")
	if len(fills) != 3 || fills[2]["container"] != "D-012" || fills[2]["net_kg"] != 289.0 {
		t.Errorf("the book has %v", fills)
	}
}

func spanishPounds(t *testing.T, b *browsertest.Browser) {
	_, h, _, d := atTheTank(t, b, "us", "es-ES")
	d.Tile("transfer")
	d.Choose("from", "large tank")
	d.Choose("to", "tank 2")
	d.Do(chromedp.SendKeys(chromedp.CSS("#in-mass"), "652,5"))
	// 652.5 lb are 295.969 kg; tank 2 has 600 kg, 1323 lb.
	if got := strings.ReplaceAll(d.Text("#opinion"), "\u00a0", " "); !strings.Contains(got, "tank 2 1323 lb → 1975 lb, al 100 %") {
		t.Errorf("before saving the page says %q", got)
	}
	d.Look("transfer-es-us", browsertest.Size{Name: "phone", Width: 320, Height: 640})
	d.Saved()
	d.InBook()
	m := h.One(t, "movements")
	if m["mass_kg"] != 295.969 || m["as_entered"].(apitest.M)["mass_kg"] != "652,5 lb" {
		t.Errorf("the book has %v", m)
	}
	d.Tile("temperature")
	d.Choose("on", "large tank")
	d.Key("95")
	d.Saved()
	d.InBook()
	if got := h.One(t, "temperature-logs")["points"].([]any)[0].(apitest.M)["temperature_c"]; got != 35.0 {
		t.Errorf("95 °F came into the book as %v °C", got)
	}
	d.Tile("reading")
	d.Choose("on", "tank 2")
	d.Key("17,6")
	// 600 kg of 19.2 % and 296 kg of 17.4 %
	if got := d.Text("#opinion"); !strings.Contains(got, "se esperaba 18,6") {
		t.Errorf("before saving the page says %q", got)
	}
}

func aDayWithoutNetwork(t *testing.T, b *browsertest.Browser) {
	_, h, l, d := atTheTank(t, b, "metric", "en-CA")
	d.WorkerStands()
	d.NoNetwork(l, true)

	// The day before: the device's clock says so.
	morning := d.Tab("en-CA")
	setClock(morning, `Now.now() - 864e5`)
	morning.RecordOffline(l)
	morning.Until(`document.getElementById('stand').innerText.includes('No network')`)
	morning.Tile("run")
	morning.Touch(`#run a[href="#start"]`)
	morning.Until(`document.getElementById('form').dataset.kind === 'start'`)
	morning.Saved()
	morning.Waits(1)
	morning.Tile("run") // a run that the book has not heard of
	morning.Touch(`#run a[href="#load"]`)
	morning.Until(`document.getElementById('form').dataset.kind === 'load'`)
	morning.Saved()
	morning.Waits(2)
	morning.Tile("transfer")
	morning.Choose("from", "large tank")
	morning.Choose("to", "tank 2")
	morning.Key("200")
	morning.Saved()
	morning.Waits(3)
	morning.Look("offline", browsertest.Sizes...)
	if err := chromedp.Cancel(morning.Whole); err != nil {
		t.Fatal(err)
	}

	// Opened again, what waits is there, and the levels are those after it.
	d.RecordOffline(l)
	d.Waits(3)
	d.Tile("transfer")
	if got := strings.ReplaceAll(d.Text("[data-field=from]"), "\u00a0", " "); !strings.Contains(got, "1,800 kg") {
		t.Errorf("after 200 kg left it the large tank is shown as %q", got)
	}
	d.Touch(".back")
	d.Until(`!document.getElementById('home').hidden`)
	d.NoNetwork(l, false)
	d.Waits(0)
	d.Until(`document.querySelectorAll('#today-list .sent').length >= 0 && document.querySelector('.net.online') !== null`)

	run, load, moved := h.One(t, "runs"), h.One(t, "loads"), h.One(t, "movements")
	if load["run_id"] != run["id"] {
		t.Errorf("load %v is not of run %v", load["run_id"], run["id"])
	}
	if run["number"].(float64) > load["number"].(float64) || load["number"].(float64) > moved["number"].(float64) {
		t.Error("they came into the book in another order than they were made")
	}
	if at, err := time.Parse(time.RFC3339, moved["occurred_at"].(string)); err != nil || math.Abs(time.Since(at).Hours()-24) > 0.1 {
		t.Errorf("it happened at %v, want a day ago", moved["occurred_at"])
	}
}

// setClock makes pages that a tab opens from now on tell the time that an expression gives,
// in milliseconds; Now is the clock as it was.
func setClock(d *browsertest.Browser, expression string) {
	source := fmt.Sprintf(`const Now = Date; Date = class extends Now {
	constructor(...at) { if (at.length === 0) super(Date.now()); else super(...at) }
	static now() { return %s }
}`, expression)
	d.Do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: source})
		return err
	}))
}

func pastMidnight(t *testing.T, b *browsertest.Browser) {
	_, _, l, d := atTheTank(t, b, "metric", "en-CA")
	// Yesterday's first midnight, and how long after it, which the test says.
	setClock(d, `new Now(Now.now() - 864e5).setHours(0, 0, 0, 0) + (globalThis.afterMidnight ?? -120e3)`)
	d.Record(l)
	wantListed := func(when string, minutes, want int) {
		t.Helper()
		browsertest.Evaluated[int](d, fmt.Sprintf(`globalThis.afterMidnight = %d`, minutes*60_000))
		d.Tile("reading")
		d.Choose("on", "large tank")
		d.Key("174")
		d.Saved()
		d.InBook()
		if got := browsertest.Evaluated[int](d, `document.querySelectorAll('#today-list .sent').length`); got != want {
			t.Errorf("%s the page lists %d entries, want %d", when, got, want)
		}
	}
	wantListed("two minutes before midnight", -2, 1)
	wantListed("five minutes after midnight", 5, 2)
	wantListed("at six, eight hours later", 6*60+5, 2)
}

func twoDevices(t *testing.T, b *browsertest.Browser) {
	_, h, first, d := atTheTank(t, b, "metric", "en-CA")
	second := h.Line(t)
	other := b.Device(t, "en-CA")
	other.SignInAs(second, h, "Tamsin", h.Password)
	other.KnowsTheShed()
	other.WorkerStands()
	d.WorkerStands()
	d.NoNetwork(first, true)
	other.NoNetwork(second, true)
	for i, dev := range []*browsertest.Browser{d, other} {
		for range 2 {
			dev.Tile("transfer")
			dev.Choose("from", "large tank")
			dev.Choose("to", "tank 2")
			dev.Key([]string{"110", "90"}[i])
			dev.Saved()
		}
		dev.Waits(2)
	}
	other.NoNetwork(second, false)
	d.NoNetwork(first, false)
	d.Waits(0)
	other.Waits(0)
	sum := 0.0
	moved := h.Booked(t, "movements")
	for _, m := range moved {
		sum += m["mass_kg"].(float64)
	}
	if len(moved) != 4 || sum != 400 {
		t.Errorf("%d movements of %v kg came into the book, want 4 of 400", len(moved), sum)
	}
	for _, tank := range h.Ask(t, "reports/tanks") {
		if tank["name"] == "tank 2" && tank["held_kg"] != 1000.0 {
			t.Errorf("tank 2 holds %v kg, want 1000", tank["held_kg"])
		}
	}
}

func refusedIsMendedOrDropped(t *testing.T, b *browsertest.Browser) {
	_, h, l, d := atTheTank(t, b, "metric", "en-CA")
	tiles := func() string {
		return browsertest.Evaluated[string](d, `[...document.querySelectorAll('#home .tile')].map(e => Math.round(e.getBoundingClientRect().top + scrollY)).join(' ')`)
	}
	stood := tiles()
	still := func(when string) {
		t.Helper()
		if got := tiles(); got != stood {
			t.Errorf("%s the tiles moved from %s to %s: a finger on its way meets another", when, stood, got)
		}
	}
	d.WorkerStands()
	d.NoNetwork(l, true)
	fill := func(number string) {
		d.Tile("fill")
		d.Retype("container", number)
		d.Aim("gross")
		d.Key("308")
		d.Save()
		d.Until(`document.querySelector('#result .result') !== null && document.getElementById('in-gross').value === '' && document.activeElement.id === 'in-gross'`)
		d.Touch("#form .back")
		d.Until(`!document.getElementById('home').hidden`)
	}
	fill("D-009")  // is in use already
	fill("D-9/9 ") // not, though odd
	d.Tile("fill") // the same again: the device knows
	d.Retype("container", "d-009")
	d.Until(`document.getElementById('opinion').innerText.includes('Number d-009 is on this device already')`)
	d.Touch("#form .back")
	d.Until(`!document.getElementById('home').hidden`)
	d.Tile("wash")
	d.Choose("tank", "tank 2")
	d.Saved()
	d.Waits(3)
	still("with three waiting and one not saved yet")
	d.NoNetwork(l, false)
	d.Until(`document.querySelectorAll('#refused-list li').length === 1`)
	d.Until(`document.querySelectorAll('#today-list .sent').length === 2`)
	still("with one refused")
	d.Touch("#stand .asks-for button")
	d.Until(`document.activeElement.id === 'refused-title'`)
	h.One(t, "washes") // what does not rest on it went on
	if got := d.Text("#refused-list"); !strings.Contains(got, "Container D-009 is in use: 290 kg of lot L26-014") {
		t.Errorf("the reason reads %q", got)
	}
	d.Look("refused", browsertest.Sizes...)
	d.Touch("#refused-list a.go")
	d.Until(`document.getElementById('form').dataset.kind === 'fill' && !document.getElementById('mending').hidden`)
	d.Look("mend", browsertest.Size{Name: "phone", Width: 320, Height: 640})
	d.Retype("container", "D-077")
	d.Saved()
	d.Until(`document.querySelectorAll('#refused-list li').length === 0 && document.querySelectorAll('#today-list .sent').length === 3`)
	if fills := h.Booked(t, "fills"); len(fills) != 2 || fills[1]["container"] != "D-077" {
		t.Errorf("the book has %v", fills)
	}

	// The next is dropped, after asking.
	fill("D-009")
	d.Until(`document.querySelectorAll('#refused-list li').length === 1`)
	d.Touch("#refused-list .choices button")
	d.Touch("#refused-list .ask-drop button:not(.danger)")
	d.Touch("#refused-list .choices button")
	d.Touch("#refused-list .danger")
	d.Until(`document.querySelectorAll('#refused-list li').length === 0 && document.querySelector('#today-list .dropped') !== null`)
	if fills := h.Booked(t, "fills"); len(fills) != 2 {
		t.Errorf("after dropping, the book has %d fills", len(fills))
	}
}

func aCrash(t *testing.T, b *browsertest.Browser) {
	_, h, l, d := atTheTank(t, b, "metric", "en-CA")
	d.WorkerStands()
	d.NoNetwork(l, true)
	d.Tile("reading")
	d.Choose("on", "large tank")
	d.Key("174")
	d.Saved()
	d.Waits(1)
	d.Tile("transfer")
	d.Choose("from", "large tank")
	d.Choose("to", "tank 2")
	d.Key("123")
	after := d.Tab("en-CA")
	crash, cancel := context.WithTimeout(d.Ctx, time.Second)
	_ = chromedp.Do(crash, chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, page.Crash, cdp.Empty{})
		return err
	})) // a page that crashed does not answer
	cancel()

	after.RecordOffline(l)
	after.Waits(1)
	after.Until(`document.getElementById('draft-list').innerText.replaceAll('\u00a0', ' ').includes('large tank, tank 2, 123 kg')`)
	after.Look("draft", browsertest.Size{Name: "phone", Width: 320, Height: 640})
	after.Touch("#drafts a.go")
	after.Until(`document.getElementById('in-mass')?.value === '123'`)
	after.Saved()
	after.NoNetwork(l, false)
	after.Waits(0)
	if got := h.One(t, "movements")["mass_kg"]; got != 123.0 {
		t.Errorf("transferred: %v", got)
	}
	h.One(t, "readings")
}

func anExpiredSignIn(t *testing.T, b *browsertest.Browser) {
	_, h, l, d := atTheTank(t, b, "metric", "en-CA")
	d.LoseCookies()
	d.Tile("reading")
	d.Choose("on", "large tank")
	d.Key("174")
	d.Saved()
	d.Waits(1)
	d.Until(`document.getElementById('stand').innerText.includes('Sign in to send')`)
	d.Open(d.At(l) + "/record")
	d.Until(`document.getElementById('stand').innerText.includes('Sign in to send')`)
	d.Waits(1)
	d.Look("sign-in-to-send", browsertest.Sizes[0], browsertest.Sizes[2])
	d.Touch("#stand a.go")
	d.Until(`document.getElementById('password') !== null`)
	d.SignInAs(l, h, "Tamsin", h.Password)
	d.Waits(0)
	h.One(t, "readings")
}

func somebodyElse(t *testing.T, b *browsertest.Browser) {
	s := apitest.NewShed()
	h := s.Open(t, "metric")
	l := h.Line(t)
	tam := h.CrewMember(t, "Tam")
	d := b.Device(t, "en-CA")
	d.SignInAs(l, h, "Tam", tam)
	d.KnowsTheShed()
	d.WorkerStands()
	l.Cut.Store(true)
	d.Tile("reading")
	d.Choose("on", "large tank")
	d.Key("175")
	d.Saved()
	d.Waits(1)
	refuse := func(w http.ResponseWriter, r *http.Request) bool {
		if r.Method == http.MethodPost && strings.HasPrefix(r.URL.Path, "/v1/") {
			w.WriteHeader(http.StatusServiceUnavailable)
			return true
		}
		return false
	}
	l.Instead.Store(&refuse)
	l.Cut.Store(false)
	d.LoseCookies()
	d.SignInAs(l, h, "Tamsin", h.Password)
	l.Instead.Store(nil)
	d.Until(`document.getElementById('notices').innerText.includes('wait for Tam to sign in')`)
	d.Look("held", browsertest.Size{Name: "phone", Width: 320, Height: 640})
	if got := h.Booked(t, "readings"); len(got) != 0 {
		t.Fatalf("Tam's entry was sent in Tamsin's name: %v", got)
	}
	d.Touch("#notices .held button")
	d.Waits(0)
	if last := h.One(t, "readings"); last["recorded_by"] != "Tamsin" || last["as_entered"].(apitest.M)["entered_by"] != "Tam" {
		t.Errorf("taken over, it is %v", last)
	}
}

// aNewVersion begins with a queue in the first format, and has the program change
// while something is typed.
func aNewVersion(t *testing.T, b *browsertest.Browser) {
	s := apitest.NewShed()
	h := s.Open(t, "metric")
	l := h.Line(t)
	d := b.Device(t, "en-CA")
	d.Do(chromedp.Navigate(d.At(l) + "/robots.txt"))
	browsertest.Evaluated[bool](d, fmt.Sprintf(`new Promise((resolve, reject) => {
		const request = indexedDB.open("pullbook", 1)
		request.onupgradeneeded = () => request.result.createObjectStore("queue", {keyPath: "id"})
		request.onerror = () => reject(request.error)
		request.onsuccess = () => {
			const t = request.result.transaction("queue", "readwrite")
			t.objectStore("queue").add({id: 1, at: "2026-01-01", path: "washes", body: {id: "01990000-0000-7000-8000-000000000001", occurred_at: new Date().toISOString(), tank_id: %q, via: "device"}})
			t.oncomplete = () => { request.result.close(); resolve(true) }
		}
	})`, s.Two))
	d.SignInAs(l, h, "Tamsin", h.Password)
	d.Waits(0)
	d.KnowsTheShed()
	d.WorkerStands()
	h.One(t, "washes")

	d.Tile("reading")
	d.Choose("on", "large tank")
	d.Key("17")
	newer := func(w http.ResponseWriter, r *http.Request) bool {
		if r.URL.Path != "/worker.js" {
			return false
		}
		_, script := h.Get(t, "/worker.js")
		w.Header().Set("Content-Type", "text/javascript")
		fmt.Fprint(w, strings.Replace(script, `"version":"`, `"version":"newer-`, 1))
		return true
	}
	l.Instead.Store(&newer)
	browsertest.Evaluated[bool](d, `navigator.serviceWorker.getRegistration().then(r => r.update()).then(() => true)`)
	d.Until(`!document.getElementById('newer').hidden`)
	d.Until(`caches.keys().then(k => true) && document.getElementById('in-shown').value === '17'`)
	d.Key("4")
	d.Touch("#newer button")
	d.Until(`document.documentElement.dataset.ready === 'true' && document.getElementById('newer').hidden && document.getElementById('in-shown')?.value === '17.4'`)
	if kept := browsertest.Evaluated[[]string](d, `caches.keys()`); len(kept) != 1 || !strings.HasPrefix(kept[0], "pullbook-newer-") {
		t.Errorf("the device keeps %v", kept)
	}
	d.Saved()
	d.InBook()
	h.One(t, "readings")
}

// The signal was weak when the page was opened; it gets better while the page is open.
func aPageKeptLater(t *testing.T, b *browsertest.Browser) {
	s := apitest.NewShed()
	h := s.Open(t, "metric")
	l := h.Line(t)
	var tried atomic.Bool
	weak := func(w http.ResponseWriter, r *http.Request) bool {
		if r.URL.Path != "/record" || r.Header.Get("Sec-Fetch-Mode") == "navigate" {
			return false
		}
		tried.Store(true)
		w.WriteHeader(http.StatusBadGateway)
		return true
	}
	l.Instead.Store(&weak)
	d := b.Device(t, "en-CA")
	d.SignInAs(l, h, "Tamsin", h.Password)
	d.KnowsTheShed()
	browsertest.Evaluated[bool](d, `new Promise(done => {
		const look = async () => (await navigator.serviceWorker.getRegistration())?.installing ? setTimeout(look, 50) : done(true)
		setTimeout(look, 1000) // the page has begun by then
	})`)
	if !tried.Load() {
		t.Error("nobody tried to keep the page")
	}
	l.Instead.Store(nil)
	d.WorkerStands()
	d.NoNetwork(l, true)
	d.RecordOffline(l)
}

func aServiceInTrouble(t *testing.T, b *browsertest.Browser) {
	_, h, l, d := atTheTank(t, b, "metric", "en-CA")
	statuses := make(chan int, 4)
	for _, s := range []int{http.StatusServiceUnavailable, http.StatusTooManyRequests, http.StatusInternalServerError, http.StatusInsufficientStorage} {
		statuses <- s
	}
	trouble := func(w http.ResponseWriter, r *http.Request) bool {
		if r.Method != http.MethodPost {
			return false
		}
		select {
		case s := <-statuses:
			w.Header().Set("Retry-After", "1")
			w.WriteHeader(s)
			return true
		default:
			return false
		}
	}
	l.Instead.Store(&trouble)
	d.Tile("reading")
	d.Choose("on", "large tank")
	d.Key("174")
	d.Saved()
	d.Until(`document.getElementById('stand').innerText.includes('does not answer')`)
	d.Waits(1)
	d.InBook()
	d.Waits(0)
	h.One(t, "readings")
}

func twoTabs(t *testing.T, b *browsertest.Browser) {
	_, h, l, d := atTheTank(t, b, "metric", "en-CA")
	d.WorkerStands()
	other := d.Tab("en-CA")
	other.Record(l)
	l.Cut.Store(true)
	for _, tab := range []*browsertest.Browser{d, other} {
		for range 2 {
			tab.Tile("reading")
			tab.Choose("on", "large tank")
			tab.Key("174")
			tab.Saved()
		}
	}
	d.Waits(4)
	other.Waits(4)
	l.Cut.Store(false)
	for _, tab := range []*browsertest.Browser{d, other} {
		browsertest.Evaluated[bool](tab, `dispatchEvent(new Event('online'))`)
	}
	d.Waits(0)
	other.Waits(0)
	if got := h.Booked(t, "readings"); len(got) != 4 {
		t.Errorf("the book has %d readings", len(got))
	}
	sent := map[string]int{}
	for _, id := range l.Posts {
		sent[id]++
	}
	for id, n := range sent {
		if n != 1 {
			t.Errorf("%s was sent %d times", id, n)
		}
	}
}

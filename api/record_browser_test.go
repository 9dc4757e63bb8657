package api_test

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"pullbook/domain/ledger"
)

// TestRecordingInABrowser uses the recording screens as people would, by touch,
// with network and without. All share one Chromium; each device
// has a store of its own.
func TestRecordingInABrowser(t *testing.T) {
	t.Parallel()
	b := startBrowser(t)
	for name, test := range map[string]func(*testing.T, *browser){
		"everything that happens in the shed can be recorded":       everyKind,
		"what the book refuses is mended or dropped":                refusedIsMendedOrDropped,
		"an expired sign-in keeps the queue":                        anExpiredSignIn,
		"what somebody else typed waits for them, or for a manager": somebodyElse,
		"two devices without network merge":                         twoDevices,
		"two tabs send once":                                        twoTabs,
	} {
		t.Run(name, func(t *testing.T) { fromEverywhere(t, b, test) })
	}
	for name, test := range map[string]func(*testing.T, *browser){
		"a reading takes five touches and ten seconds at most":               aReadingIsQuick,
		"the first reading is as the instrument in the hand shows it":        theFirstReading,
		"a reading that fits another tank is asked about before it is saved": aReadingOfAnotherTank,
		"one drum after another, the tare remembered":                        drumsOneAfterAnother,
		"in Spanish and pounds, with a decimal comma":                        spanishPounds,
		"a service in trouble is asked again":                                aServiceInTrouble,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			test(t, b)
		})
	}
	for name, test := range map[string]func(*testing.T, *browser){
		"the whole day without network, and closed in between": aDayWithoutNetwork,
		"a crash between typing and sending loses nothing":     aCrash,
		"a new version takes over what the old one kept":       aNewVersion,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			test(t, b.withAWorker())
		})
	}
}

// atTheTank is a device that somebody is signed in on, at the first screen.
func atTheTank(t *testing.T, b *browser, units, language string) (*shedNow, *pageHouse, *line, *browser) {
	t.Helper()
	s := newShedNow()
	h := s.open(t, units)
	l := h.line(t)
	d := b.device(t, language)
	d.signInAs(l, h, "Tamsin", h.password)
	d.until(`document.querySelector('.net.online') !== null`)
	return s, h, l, d
}

func aReadingIsQuick(t *testing.T, b *browser) {
	s, h, _, d := atTheTank(t, b, "metric", "en-CA")
	for _, tank := range []struct{ name, id, keys string }{{"", s.large.String(), "174"}, {"tank 2", s.two.String(), "192"}} {
		d.touches = 0
		began := time.Now()
		d.tile("reading")
		first := d.touches
		if tank.name != "" {
			d.choose("on", tank.name)
		}
		d.key(tank.keys)
		d.saved()
		t.Logf("a reading: %d touches, %d of them after the first screen, %.1f s at the machine's own pace", d.touches, d.touches-first, time.Since(began).Seconds())
		if d.touches-first > 5 || tank.name == "" && d.touches > 5 {
			t.Errorf("a reading takes %d touches", d.touches)
		}
		d.inBook()
	}
	readings := h.booked(t, "readings")
	if len(readings) != 2 || readings[0]["moisture_pct"] != 17.4 || readings[1]["moisture_pct"] != 19.2 {
		t.Fatalf("the book has %v", readings)
	}
	for i, id := range []string{s.large.String(), s.two.String()} {
		if on := readings[i]["on"].(M); on["id"] != id {
			t.Errorf("reading %d is on %v, want %s", i, on, id)
		}
	}
	if got := readings[0]["as_entered"].(M)["moisture_pct"]; got != "17.4 %" {
		t.Errorf("as entered: %q", got)
	}
	if got := d.text("#home-result"); !strings.Contains(got, "In the book") || !strings.Contains(got, "expected moisture 19.2 %") {
		t.Errorf("after saving the page says %q", got)
	}
}

// theFirstReading is made on a device that never read anything, in an outfit whose
// first instrument shows a refractive index.
func theFirstReading(t *testing.T, b *browser) {
	s := newShedNow()
	bench := s.instrument("bench refractometer", ledger.ScaleRefractiveIndex)
	sugar := s.instrument("sugar refractometer", ledger.ScaleBrix)
	h := s.open(t, "metric")
	d := b.device(t, "en-CA")
	d.signInAs(h.line(t), h, "Tamsin", h.password)
	d.until(`document.querySelector('.net.online') !== null`)
	chosen := func() string {
		return strings.Join(strings.Fields(d.text("[data-field=instrument] .tab:has(:checked)")), " ")
	}
	shown := func() string { return evaluated[string](d, `document.getElementById('in-shown').value`) }

	// What is assumed is in sight: the instrument, and what it shows.
	d.tile("reading")
	if got := chosen(); got != "blue refractometer shows moisture, %" {
		t.Errorf("at first the instrument is %q", got)
	}
	if !evaluated[bool](d, `document.querySelector('[data-field=instrument] .tab:has(:checked)').checkVisibility()`) {
		t.Error("the instrument is not in sight")
	}
	d.choose("on", "tank 2")
	d.key("172")
	if got := shown(); got != "17.2" {
		t.Errorf("172 of the hand-held is %q", got)
	}

	// The pad follows the choice, also with figures typed already, and back.
	d.choose("instrument", "bench refractometer")
	if got := shown(); got != "1.72" {
		t.Errorf("on the bench the figures are %q", got)
	}
	if got := d.text("#opinion"); !strings.Contains(got, "No honey shows 1.72 on bench refractometer: 1.4740 to 1.5044") || !strings.Contains(got, "17.2 is a moisture: read with blue refractometer?") {
		t.Errorf("of 1.72 on the bench the page says %q", got)
	}
	d.look("reading-other-instrument", size{"phone", 320, 640}, size{"phone", 390, 780})
	d.touchOf("#opinion .offer", "")
	if got, with := shown(), chosen(); got != "17.2" || !strings.HasPrefix(with, "blue") {
		t.Errorf("after the offer: %q with %q", got, with)
	}
	d.aim("shown")
	d.key("181")
	if got := shown(); got != "18.1" {
		t.Errorf("written over, the figure is %q", got)
	}
	d.choose("instrument", "bench refractometer")
	d.aim("shown")
	d.key("14915")
	if got := shown(); got != "1.4915" {
		t.Errorf("14915 on the bench is %q", got)
	}
	d.saved()
	d.inBook()

	// The device remembers what was used last, and the pad begins there.
	d.tile("reading")
	if got := chosen(); got != "bench refractometer shows the refractive index" {
		t.Errorf("the second time the instrument is %q", got)
	}
	d.choose("on", "tank 2")
	d.key("14920")
	d.choose("instrument", "sugar refractometer")
	if got := d.text("#opinion"); !strings.Contains(got, "1.4920 is a refractive index: read with bench refractometer?") {
		t.Errorf("of 14920 on the sugar refractometer the page says %q", got)
	}
	d.aim("shown")
	d.key("795")
	d.saved()
	d.inBook()
	readings := h.booked(t, "readings")
	if len(readings) != 2 || readings[0]["refractive_index"] != 1.4915 || readings[0]["instrument_id"] != bench.String() || readings[1]["brix_deg"] != 79.5 || readings[1]["instrument_id"] != sugar.String() {
		t.Errorf("the book has %v", readings)
	}
}

func aReadingOfAnotherTank(t *testing.T, b *browser) {
	s, h, _, d := atTheTank(t, b, "metric", "en-CA")
	d.tile("reading")
	d.key("191")
	if got := d.text("#opinion"); !strings.Contains(got, "Expected 17.4, you typed 19.1: is this tank 2?") {
		t.Errorf("before saving the page says %q", got)
	}
	d.look("reading-odd", sizes...)
	d.touch("#opinion .offer")
	d.until(`document.querySelector('#opinion .fine') !== null`)
	d.saved()
	d.inBook()
	if on := h.one(t, "readings")["on"].(M); on["id"] != s.two.String() {
		t.Errorf("it is on %v, want tank 2", on)
	}
	// Saved as typed, it is stored and flagged, and the page says so.
	d.tile("reading")
	d.choose("on", "large tank")
	d.key("191")
	if got := d.text("#save"); got != "Save as typed" {
		t.Errorf("the button reads %q", got)
	}
	d.saved()
	d.inBook()
	if got := d.text("#home-result"); !strings.Contains(got, "does not fit") {
		t.Errorf("after saving the page says %q", got)
	}
}

func everyKind(t *testing.T, b *browser) {
	s, h, _, d := atTheTank(t, b, "metric", "en-CA")
	if says := strings.Contains(d.text("#home"), "an address that begins with https, and"); says != (b.origin == overHTTP) {
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
		if got := strings.ReplaceAll(d.text("#opinion"), "\u00a0", " "); !strings.Contains(got, want) {
			t.Errorf("before saving the page says %q, want %q in it", got, want)
		}
	}

	d.tile("pull")
	d.choose("yard", "Mill Race")
	d.aim("n-" + s.deep.String())
	d.key("20")
	d.aim("gross")
	d.key("1800")
	says("is that the other unit of weight") // 20 deeps are 800 kg
	d.aim("gross")
	d.key("812")
	says("27.6 kg of honey a super; usual are 27.0 kg")
	d.saved()
	d.inBook()
	pull := h.one(t, "pulls")
	near("gross", pull["gross_kg"], 812)
	near("supers", pull["supers"].([]any)[0].(M)["supers"], 20)

	d.tile("run")
	d.touch(`#run a[href="#supers"]`)
	d.until(`document.getElementById('form').dataset.kind === 'supers'`)
	d.key("21")
	says("only 20 left")
	d.aim("supers")
	d.key("20")
	d.saved()
	d.inBook()
	near("supers in", h.one(t, "run-supers")["supers"], 20)

	d.tile("run")
	d.touch(`#run a[href="#load"]`)
	d.until(`document.getElementById('form').dataset.kind === 'load'`)
	d.saved()
	d.inBook()
	near("the first load", h.one(t, "loads")["load"], 1)

	d.tile("transfer")
	d.choose("from", "this morning")
	d.choose("to", "tank 2")
	d.key("305")
	says("tank 2 600 kg → 905 kg, 101 % full")
	d.aim("mass")
	d.key("205")
	says("tank 2 600 kg → 805 kg, 89 % full")
	d.saved()
	d.inBook()
	near("transferred", h.one(t, "movements")["mass_kg"], 205)
	if got := strings.ReplaceAll(d.text("#home-result"), "\u00a0", " "); !strings.Contains(got, "tank 2 600 kg → 805 kg, 89 % full, expected moisture") {
		t.Errorf("after saving the page says %q", got)
	}

	d.tile("run")
	d.touch(`#run a[href="#end"]`)
	d.until(`document.getElementById('form').dataset.kind === 'end'`)
	d.key("4")
	says("2.0 % of the honey")
	d.saved()
	d.inBook()
	near("wax", h.one(t, "run-ends")["wax_kg"], 4)

	d.tile("run")
	d.touch(`#run a[href="#start"]`)
	d.until(`document.getElementById('form').dataset.kind === 'start'`)
	d.saved()
	d.inBook()
	near("frames a side", h.one(t, "runs")["frames_per_side"], 30)

	d.tile("temperature")
	d.choose("on", "hot room")
	d.key("104")
	says("is that the other scale?")
	d.touch("#opinion .offer") // 104 °F are 40 °C
	d.saved()
	d.inBook()
	near("the room", h.one(t, "temperature-logs")["points"].([]any)[0].(M)["temperature_c"], 40)

	d.tile("stocktake")
	d.key("70")
	d.aim("c")
	d.key("30")
	// An upright cylinder of 160 cm: pi/4 · 160² · 70 cm³ are 1407.4 L, of about 1.41 kg/L.
	says("The dip comes to 1,9")
	d.saved()
	d.inBook()
	near("the dip", h.one(t, "stocktakes")["depth_cm"], 70)

	d.tile("wash")
	d.choose("tank", "tank 2")
	says("By the book tank 2 still holds 805 kg")
	d.saved()
	d.inBook()
	if got := h.one(t, "washes")["tank_id"]; got != s.two.String() {
		t.Errorf("washed: %v", got)
	}
}

func drumsOneAfterAnother(t *testing.T, b *browser) {
	_, h, _, d := atTheTank(t, b, "metric", "en-CA")
	d.tile("fill")
	if got := evaluated[string](d, `document.getElementById('in-container').value + ' ' + document.getElementById('in-tare').value`); got != "D-010 18.2" {
		t.Errorf("the next drum is %q, want D-010 with the last tare", got)
	}
	d.aim("tare")
	d.key("175")
	if got := d.text("#opinion"); got != "" {
		t.Errorf("a tare alone makes the page say %q", got)
	}
	d.aim("tare")
	d.key("17.5")
	for i, gross := range []string{"307.5", "308", "306.5"} {
		d.touches = 0
		d.aim("gross")
		d.key(gross)
		d.save()
		d.until(fmt.Sprintf(`document.getElementById('in-container').value === 'D-%03d'`, 11+i))
		if tare := evaluated[string](d, `document.getElementById('in-tare').value`); tare != "17.5" {
			t.Errorf("the tare was not remembered: %q", tare)
		}
	}
	d.aim("gross")
	d.key("652")
	if got := d.text("#opinion"); !strings.Contains(got, "is that the other unit of weight?") {
		t.Errorf("of 652 kg in a drum the page says %q", got)
	}
	d.look("fill", sizes...)
	d.until(`document.querySelector('#result .sent') !== null`)
	fills := h.booked(t, "fills")
	if len(fills) != 3 || fills[2]["container"] != "D-012" || fills[2]["net_kg"] != 289.0 {
		t.Errorf("the book has %v", fills)
	}
}

func spanishPounds(t *testing.T, b *browser) {
	_, h, _, d := atTheTank(t, b, "us", "es-ES")
	d.tile("transfer")
	d.choose("from", "large tank")
	d.choose("to", "tank 2")
	d.do(chromedp.SendKeys(chromedp.CSS("#in-mass"), "652,5"))
	// 652.5 lb are 295.969 kg; tank 2 has 600 kg, 1323 lb.
	if got := strings.ReplaceAll(d.text("#opinion"), "\u00a0", " "); !strings.Contains(got, "tank 2 1323 lb → 1975 lb, al 100 %") {
		t.Errorf("before saving the page says %q", got)
	}
	d.look("transfer-es-us", size{"phone", 320, 640})
	d.saved()
	d.inBook()
	m := h.one(t, "movements")
	if m["mass_kg"] != 295.969 || m["as_entered"].(M)["mass_kg"] != "652,5 lb" {
		t.Errorf("the book has %v", m)
	}
	d.tile("temperature")
	d.key("95")
	d.saved()
	d.inBook()
	if got := h.one(t, "temperature-logs")["points"].([]any)[0].(M)["temperature_c"]; got != 35.0 {
		t.Errorf("95 °F came into the book as %v °C", got)
	}
	d.tile("reading")
	d.choose("on", "tank 2")
	d.key("17,6")
	// 600 kg of 19.2 % and 296 kg of 17.4 %
	if got := d.text("#opinion"); !strings.Contains(got, "se esperaba 18,6") {
		t.Errorf("before saving the page says %q", got)
	}
}

func aDayWithoutNetwork(t *testing.T, b *browser) {
	_, h, l, d := atTheTank(t, b, "metric", "en-CA")
	d.workerStands()
	d.noNetwork(l, true)

	// The day before: the device's clock says so.
	morning := d.tab("en-CA")
	morning.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: dayBefore})
		return err
	}))
	morning.recordOffline(l)
	morning.until(`document.getElementById('stand').innerText.includes('No network')`)
	morning.tile("run")
	morning.touch(`#run a[href="#start"]`)
	morning.until(`document.getElementById('form').dataset.kind === 'start'`)
	morning.saved()
	morning.waits(1)
	morning.tile("run") // a run that the book has not heard of
	morning.touch(`#run a[href="#load"]`)
	morning.until(`document.getElementById('form').dataset.kind === 'load'`)
	morning.saved()
	morning.waits(2)
	morning.tile("transfer")
	morning.choose("from", "large tank")
	morning.choose("to", "tank 2")
	morning.key("200")
	morning.saved()
	morning.waits(3)
	morning.look("offline", sizes...)
	if err := chromedp.Cancel(morning.whole); err != nil {
		t.Fatal(err)
	}

	// Opened again, what waits is there, and the levels are those after it.
	d.recordOffline(l)
	d.waits(3)
	d.tile("transfer")
	if got := strings.ReplaceAll(d.text("[data-field=from]"), "\u00a0", " "); !strings.Contains(got, "1,800 kg") {
		t.Errorf("after 200 kg left it the large tank is shown as %q", got)
	}
	d.touch(".back")
	d.until(`!document.getElementById('home').hidden`)
	d.noNetwork(l, false)
	d.waits(0)
	d.until(`document.querySelectorAll('#today-list .sent').length >= 0 && document.querySelector('.net.online') !== null`)

	run, load, moved := h.one(t, "runs"), h.one(t, "loads"), h.one(t, "movements")
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

const dayBefore = `const Now = Date; Date = class extends Now {
	constructor(...at) { if (at.length === 0) super(Now.now() - 864e5); else super(...at) }
	static now() { return Now.now() - 864e5 }
}`

func twoDevices(t *testing.T, b *browser) {
	_, h, first, d := atTheTank(t, b, "metric", "en-CA")
	second := h.line(t)
	other := b.device(t, "en-CA")
	other.signInAs(second, h, "Tamsin", h.password)
	other.until(`document.querySelector('.net.online') !== null`)
	other.workerStands()
	d.workerStands()
	d.noNetwork(first, true)
	other.noNetwork(second, true)
	for i, dev := range []*browser{d, other} {
		for range 2 {
			dev.tile("transfer")
			dev.choose("from", "large tank")
			dev.choose("to", "tank 2")
			dev.key([]string{"110", "90"}[i])
			dev.saved()
		}
		dev.waits(2)
	}
	other.noNetwork(second, false)
	d.noNetwork(first, false)
	d.waits(0)
	other.waits(0)
	sum := 0.0
	moved := h.booked(t, "movements")
	for _, m := range moved {
		sum += m["mass_kg"].(float64)
	}
	if len(moved) != 4 || sum != 400 {
		t.Errorf("%d movements of %v kg came into the book, want 4 of 400", len(moved), sum)
	}
	for _, tank := range h.ask(t, "reports/tanks") {
		if tank["name"] == "tank 2" && tank["held_kg"] != 1000.0 {
			t.Errorf("tank 2 holds %v kg, want 1000", tank["held_kg"])
		}
	}
}

func refusedIsMendedOrDropped(t *testing.T, b *browser) {
	_, h, l, d := atTheTank(t, b, "metric", "en-CA")
	tiles := func() string {
		return evaluated[string](d, `[...document.querySelectorAll('#home .tile')].map(e => Math.round(e.getBoundingClientRect().top + scrollY)).join(' ')`)
	}
	stood := tiles()
	still := func(when string) {
		t.Helper()
		if got := tiles(); got != stood {
			t.Errorf("%s the tiles moved from %s to %s: a finger on its way meets another", when, stood, got)
		}
	}
	d.workerStands()
	d.noNetwork(l, true)
	fill := func(number string) {
		d.tile("fill")
		d.retype("container", number)
		d.aim("gross")
		d.key("308")
		d.save()
		d.until(`document.querySelector('#result .result') !== null && document.getElementById('in-gross').value === '' && document.activeElement.id === 'in-gross'`)
		d.touch("#form .back")
		d.until(`!document.getElementById('home').hidden`)
	}
	fill("D-009")  // is in use already
	fill("D-9/9 ") // not, though odd
	d.tile("fill") // the same again: the device knows
	d.retype("container", "d-009")
	d.until(`document.getElementById('opinion').innerText.includes('Number d-009 is on this device already')`)
	d.touch("#form .back")
	d.until(`!document.getElementById('home').hidden`)
	d.tile("wash")
	d.choose("tank", "tank 2")
	d.saved()
	d.waits(3)
	still("with three waiting and one not saved yet")
	d.noNetwork(l, false)
	d.until(`document.querySelectorAll('#refused-list li').length === 1`)
	d.until(`document.querySelectorAll('#today-list .sent').length === 2`)
	still("with one refused")
	d.touch("#stand .asks-for button")
	d.until(`document.activeElement.id === 'refused-title'`)
	h.one(t, "washes") // what does not rest on it went on
	if got := d.text("#refused-list"); !strings.Contains(got, "Container D-009 is in use: 290 kg of lot L26-014") {
		t.Errorf("the reason reads %q", got)
	}
	d.look("refused", sizes...)
	d.touch("#refused-list a.go")
	d.until(`document.getElementById('form').dataset.kind === 'fill' && !document.getElementById('mending').hidden`)
	d.look("mend", size{"phone", 320, 640})
	d.retype("container", "D-077")
	d.saved()
	d.until(`document.querySelectorAll('#refused-list li').length === 0 && document.querySelectorAll('#today-list .sent').length === 3`)
	if fills := h.booked(t, "fills"); len(fills) != 2 || fills[1]["container"] != "D-077" {
		t.Errorf("the book has %v", fills)
	}

	// The next is dropped, after asking.
	fill("D-009")
	d.until(`document.querySelectorAll('#refused-list li').length === 1`)
	d.touch("#refused-list .choices button")
	d.touch("#refused-list .ask-drop button:not(.danger)")
	d.touch("#refused-list .choices button")
	d.touch("#refused-list .danger")
	d.until(`document.querySelectorAll('#refused-list li').length === 0 && document.querySelector('#today-list .dropped') !== null`)
	if fills := h.booked(t, "fills"); len(fills) != 2 {
		t.Errorf("after dropping, the book has %d fills", len(fills))
	}
}

func aCrash(t *testing.T, b *browser) {
	_, h, l, d := atTheTank(t, b, "metric", "en-CA")
	d.workerStands()
	d.noNetwork(l, true)
	d.tile("reading")
	d.key("174")
	d.saved()
	d.waits(1)
	d.tile("transfer")
	d.choose("from", "large tank")
	d.choose("to", "tank 2")
	d.key("123")
	after := d.tab("en-CA")
	crash, cancel := context.WithTimeout(d.ctx, time.Second)
	_ = chromedp.Do(crash, chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, page.Crash, cdp.Empty{})
		return err
	})) // a page that crashed does not answer
	cancel()

	after.recordOffline(l)
	after.waits(1)
	after.until(`document.getElementById('draft-list').innerText.replaceAll('\u00a0', ' ').includes('large tank, tank 2, 123 kg')`)
	after.look("draft", size{"phone", 320, 640})
	after.touch("#drafts a.go")
	after.until(`document.getElementById('in-mass')?.value === '123'`)
	after.saved()
	after.noNetwork(l, false)
	after.waits(0)
	if got := h.one(t, "movements")["mass_kg"]; got != 123.0 {
		t.Errorf("transferred: %v", got)
	}
	h.one(t, "readings")
}

func anExpiredSignIn(t *testing.T, b *browser) {
	_, h, l, d := atTheTank(t, b, "metric", "en-CA")
	d.loseCookies()
	d.tile("reading")
	d.key("174")
	d.saved()
	d.waits(1)
	d.until(`document.getElementById('stand').innerText.includes('Sign in to send')`)
	d.open(d.at(l) + "/record")
	d.until(`document.getElementById('stand').innerText.includes('Sign in to send')`)
	d.waits(1)
	d.look("sign-in-to-send", sizes[0], sizes[2])
	d.touch("#stand a.go")
	d.until(`document.getElementById('password') !== null`)
	d.signInAs(l, h, "Tamsin", h.password)
	d.waits(0)
	h.one(t, "readings")
}

func somebodyElse(t *testing.T, b *browser) {
	s := newShedNow()
	h := s.open(t, "metric")
	l := h.line(t)
	tam := h.crewMember(t, "Tam")
	d := b.device(t, "en-CA")
	d.signInAs(l, h, "Tam", tam)
	d.until(`document.querySelector('.net.online') !== null`)
	d.workerStands()
	l.cut.Store(true)
	d.tile("reading")
	d.key("175")
	d.saved()
	d.waits(1)
	refuse := func(w http.ResponseWriter, r *http.Request) bool {
		if r.Method == http.MethodPost && strings.HasPrefix(r.URL.Path, "/v1/") {
			w.WriteHeader(http.StatusServiceUnavailable)
			return true
		}
		return false
	}
	l.instead.Store(&refuse)
	l.cut.Store(false)
	d.loseCookies()
	d.signInAs(l, h, "Tamsin", h.password)
	l.instead.Store(nil)
	d.until(`document.getElementById('notices').innerText.includes('wait for Tam to sign in')`)
	d.look("held", size{"phone", 320, 640})
	if got := h.booked(t, "readings"); len(got) != 0 {
		t.Fatalf("Tam's entry was sent in Tamsin's name: %v", got)
	}
	d.touch("#notices .held button")
	d.waits(0)
	if last := h.one(t, "readings"); last["recorded_by"] != "Tamsin" || last["as_entered"].(M)["entered_by"] != "Tam" {
		t.Errorf("taken over, it is %v", last)
	}
}

// aNewVersion begins with a queue in the first format, and has the program change
// while something is typed.
func aNewVersion(t *testing.T, b *browser) {
	s := newShedNow()
	h := s.open(t, "metric")
	l := h.line(t)
	d := b.device(t, "en-CA")
	d.do(chromedp.Navigate(d.at(l) + "/robots.txt"))
	evaluated[bool](d, fmt.Sprintf(`new Promise((resolve, reject) => {
		const request = indexedDB.open("pullbook", 1)
		request.onupgradeneeded = () => request.result.createObjectStore("queue", {keyPath: "id"})
		request.onerror = () => reject(request.error)
		request.onsuccess = () => {
			const t = request.result.transaction("queue", "readwrite")
			t.objectStore("queue").add({id: 1, at: "2026-01-01", path: "washes", body: {id: "01990000-0000-7000-8000-000000000001", occurred_at: new Date().toISOString(), tank_id: %q, via: "device"}})
			t.oncomplete = () => { request.result.close(); resolve(true) }
		}
	})`, s.two))
	d.signInAs(l, h, "Tamsin", h.password)
	d.waits(0)
	d.until(`document.querySelector('.net.online') !== null`)
	d.workerStands()
	h.one(t, "washes")

	d.tile("reading")
	d.key("17")
	newer := func(w http.ResponseWriter, r *http.Request) bool {
		if r.URL.Path != "/worker.js" {
			return false
		}
		_, script := h.get(t, "/worker.js")
		w.Header().Set("Content-Type", "text/javascript")
		fmt.Fprint(w, strings.Replace(script, `"version":"`, `"version":"newer-`, 1))
		return true
	}
	l.instead.Store(&newer)
	evaluated[bool](d, `navigator.serviceWorker.getRegistration().then(r => r.update()).then(() => true)`)
	d.until(`!document.getElementById('newer').hidden`)
	d.until(`caches.keys().then(k => true) && document.getElementById('in-shown').value === '17'`)
	d.key("4")
	d.touch("#newer button")
	d.until(`document.documentElement.dataset.ready === 'true' && document.getElementById('newer').hidden && document.getElementById('in-shown')?.value === '17.4'`)
	if kept := evaluated[[]string](d, `caches.keys()`); len(kept) != 1 || !strings.HasPrefix(kept[0], "pullbook-newer-") {
		t.Errorf("the device keeps %v", kept)
	}
	d.saved()
	d.inBook()
	h.one(t, "readings")
}

func aServiceInTrouble(t *testing.T, b *browser) {
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
	l.instead.Store(&trouble)
	d.tile("reading")
	d.key("174")
	d.saved()
	d.until(`document.getElementById('stand').innerText.includes('does not answer')`)
	d.waits(1)
	d.inBook()
	d.waits(0)
	h.one(t, "readings")
}

func twoTabs(t *testing.T, b *browser) {
	_, h, l, d := atTheTank(t, b, "metric", "en-CA")
	d.workerStands()
	other := d.tab("en-CA")
	other.record(l)
	l.cut.Store(true)
	for _, tab := range []*browser{d, other} {
		for range 2 {
			tab.tile("reading")
			tab.key("174")
			tab.saved()
		}
	}
	d.waits(4)
	other.waits(4)
	l.cut.Store(false)
	for _, tab := range []*browser{d, other} {
		evaluated[bool](tab, `dispatchEvent(new Event('online'))`)
	}
	d.waits(0)
	other.waits(0)
	if got := h.booked(t, "readings"); len(got) != 4 {
		t.Errorf("the book has %d readings", len(got))
	}
	sent := map[string]int{}
	for _, id := range l.posts {
		sent[id]++
	}
	for id, n := range sent {
		if n != 1 {
			t.Errorf("%s was sent %d times", id, n)
		}
	}
}

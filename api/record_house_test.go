package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log"
	"net/http"
	"net/http/httputil"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// shedNow is an outfit in the middle of a season that goes on today: the page
// records by the device's own clock. 2000 kg of 17.4 % are in the large tank, 600
// kg of 19.2 % in tank 2; a run is open, 12 supers of Mill Race wait.
type shedNow struct {
	entries                                                   []*ledger.Entry
	alder, mill, deep, drum, large, two, blue, run, lot, pull uuid.UUID
}

func newShedNow() *shedNow {
	s := &shedNow{}
	now := time.Now()
	add := func(daysAgo float64, body ledger.Body) uuid.UUID {
		e := &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: now.Add(-time.Duration(daysAgo * 24 * float64(time.Hour))).Truncate(time.Second).UTC(), Via: ledger.ViaImport, Body: body}
		s.entries = append(s.entries, e)
		return e.ID
	}
	day := func(days int) ledger.Date { return ledger.Date(now.AddDate(0, 0, days).Format(time.DateOnly)) }
	add(100, &ledger.Season{Name: "the flow", First: day(-150), Last: day(150)})
	s.alder = add(100, &ledger.Yard{Name: "Alder Bend"})
	s.mill = add(100, &ledger.Yard{Name: "Mill Race"})
	s.deep = add(100, &ledger.SuperKind{Name: "deep", FramesPerSuper: 10, TareG: 13_000, UsualNetG: 27_000, FullestNetG: 36_000})
	s.drum = add(100, &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000})
	s.large = add(100, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 4_500_000, HoseMark: "red", Shape: &ledger.TankShape{Form: "upright_cylinder", DiameterCM: 160, HeightCM: 160}})
	s.two = add(100, &ledger.Tank{Name: "tank 2", Use: ledger.Settling, CapacityG: 900_000})
	s.blue = add(100, &ledger.Instrument{Name: "blue refractometer", Scale: ledger.ScaleMoisture, Compensates: true, StdUncertainty: 0.1})
	add(100, &ledger.Room{Name: "hot room", Use: ledger.HotRoom})
	for _, of := range []struct {
		tank   uuid.UUID
		grams  int64
		read   float64
		supers int
	}{{s.large, 2_290_000, 17.4, 80}, {s.two, 600_000, 19.2, 22}} {
		pull := add(6, &ledger.Pull{YardID: s.alder, Supers: []ledger.SuperCount{{SuperKindID: s.deep, Supers: of.supers}}, HivesWorked: 20})
		run := add(5, &ledger.Run{Name: fmt.Sprint("of ", of.supers), FramesPerSide: 30})
		add(4.9, &ledger.RunSupers{RunID: run, PullID: pull, SuperCount: ledger.SuperCount{SuperKindID: s.deep, Supers: of.supers}})
		add(4.5, &ledger.Movement{From: ledger.Place{Kind: ledger.PlaceRun, ID: run}, To: ledger.Place{Kind: ledger.PlaceTank, ID: of.tank}, MassG: of.grams})
		add(4.4, &ledger.RunEnd{RunID: run, WaxG: of.grams / 60})
		for i := range 6 {
			m := &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: of.read}
			add(4-float64(i)/10, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: of.tank}, Point: ledger.PointMixed, InstrumentID: s.blue, Moisture: m})
		}
	}
	s.lot = add(3, &ledger.Lot{Code: "L26-014", Product: "clover honey"})
	add(2.9, &ledger.Fill{LotID: s.lot, TankID: s.large, ContainerKindID: s.drum, Container: "D-009", TareG: 18_200, GrossG: 308_200})
	s.pull = add(1, &ledger.Pull{YardID: s.mill, Supers: []ledger.SuperCount{{SuperKindID: s.deep, Supers: 12}}, HivesWorked: 6})
	s.run = add(0.1, &ledger.Run{Name: "this morning", FramesPerSide: 30})
	return s
}

// instrument adds a refractometer before those that are there.
func (s *shedNow) instrument(name, scale string) uuid.UUID {
	e := &ledger.Entry{ID: uuid.New(), Kind: ledger.KindInstrument, OccurredAt: s.entries[0].OccurredAt, Via: ledger.ViaImport,
		Body: &ledger.Instrument{Name: name, Scale: scale, Compensates: true, StdUncertainty: 0.0002}}
	s.entries = slices.Insert(s.entries, 0, e)
	return e.ID
}

func (s *shedNow) open(t testing.TB, units string) *pageHouse {
	t.Helper()
	return pagesOf(t, db.Outfit{Name: "Sedge Hollow Honey", TimeZone: "America/Winnipeg", Units: units}, s.entries)
}

// device is a phone or tablet of its own in a browser that others share: it has
// its own store, cookies and worker.
func (b *browser) device(t testing.TB, language string) *browser {
	t.Helper()
	return b.another(t, language, chromedp.WithNewBrowserContext())
}

// tab is another tab of the same device.
func (b *browser) tab(language string) *browser {
	b.t.Helper()
	return b.another(b.t, language)
}

func (b *browser) another(t testing.TB, language string, options ...chromedp.ContextOption) *browser {
	t.Helper()
	whole, cancel := chromedp.NewContext(b.whole, options...)
	t.Cleanup(cancel)
	d := &browser{t: t, whole: whole, axe: b.axe, origin: b.origin, cutOff: true}
	if err := chromedp.Listen(whole, d.listen); err != nil {
		t.Fatal(err)
	}
	d.ctx, cancel = context.WithTimeout(whole, 150*time.Second)
	t.Cleanup(cancel)
	d.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, cdplog.Enable, cdp.Empty{})
		_, err2 := cdp.Call(ctx, target, runtime.Enable, cdp.Empty{})
		_, err3 := cdp.Call(ctx, target, network.Enable, network.EnableParams{})
		_, err4 := cdp.Call(ctx, target, network.SetExtraHTTPHeaders, network.SetExtraHTTPHeadersParams{Headers: network.Headers{"Accept-Language": language}})
		_, err5 := cdp.Call(ctx, target, emulation.SetFocusEmulationEnabled, emulation.SetFocusEmulationEnabledParams{Enabled: true})
		return errors.Join(err, err2, err3, err4, err5)
	}))
	d.media()
	d.resize(390, 780)
	return d
}

// signInAs signs in by the form, as people do.
func (b *browser) signInAs(l *line, h *pageHouse, name, password string) {
	b.t.Helper()
	b.open(b.at(l) + recordSignIn)
	b.do(chromedp.SetValue(chromedp.CSS("#outfit"), h.name), chromedp.SetValue(chromedp.CSS("#name"), name), chromedp.SetValue(chromedp.CSS("#password"), password))
	evaluated[bool](b, `document.querySelector('.slip form button').click(), true`)
	b.until(`location.pathname === '/record' && document.documentElement.dataset.ready === 'true'`)
}

const recordSignIn = "/record/sign-in"

// record opens the recording page and waits until it knows the book.
func (b *browser) record(l *line) {
	b.t.Helper()
	b.open(b.at(l) + "/record")
	b.until(`document.documentElement.dataset.ready === 'true'`)
	b.until(`document.querySelector('.net.online') !== null`)
}

// recordOffline opens the recording page without network.
func (b *browser) recordOffline(l *line) {
	b.t.Helper()
	b.open(b.at(l) + "/record")
	b.until(`document.documentElement.dataset.ready === 'true'`)
}

// until waits for a condition in the page.
func (b *browser) until(condition string) {
	b.t.Helper()
	for deadline := time.Now().Add(40 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		got, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool]("Boolean("+condition+")"))
		if err == nil && got {
			return
		}
		if time.Now().After(deadline) {
			shown, _ := chromedp.Run(b.ctx, chromedp.Evaluate[string](`location.hash + ' at ' + scrollY + ', ' + document.activeElement?.id + '\n' + document.body.innerText.slice(0, 1500)`))
			b.t.Fatalf("it never came to: %s (%v)\nthe page reads:\n%s\nthe browser said: %s", condition, err, shown, strings.Join(b.said, "\n"))
		}
	}
}

// touch taps the middle of the first element that a selector finds, by a finger.
func (b *browser) touch(selector string) { b.t.Helper(); b.touchOf(selector, "") }

// touchOf takes the first whose words in bold are these, where some are given.
func (b *browser) touchOf(selector, words string) {
	b.t.Helper()
	b.touches++
	// On a busy machine half a second may pass between a touch and its end, and that
	// is a long press: whoever sees that nothing happened looks and touches again.
	for try := 1; ; try++ {
		point := evaluated[[]float64](b, fmt.Sprintf(middleOf, selector, words))
		if point[2] < 48 || point[3] < 48 {
			b.t.Errorf("%s is %.0f by %.0f px: too small for a finger in a glove", selector, point[2], point[3])
		}
		b.do(chromedp.TapXY(point[0], point[1]))
		came, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](`new Promise(done => {
			const until = performance.now() + 1500
			const look = () => !self.touched || self.touched.came ? done(true) : performance.now() > until ? done(false) : setTimeout(look, 10)
			look()
		})`, chromedp.EvalAwaitPromise))
		if came || err != nil { // an error is of a page that was left
			return
		}
		if try == 4 {
			b.t.Fatalf("%s was touched four times, and nothing came of it", selector)
		}
	}
}

// middleOf is where an element can be touched, once it stands still, and how large
// it is.
const middleOf = `new Promise(async (resolve, reject) => {
	const e = [...document.querySelectorAll(%[1]q)].find(e => e.checkVisibility() && (%[2]q === '' || e.querySelector('b')?.textContent === %[2]q))
	if (!e) return reject(new Error('nothing shown is ' + %[1]q))
	// A person scrolls only for what cannot be seen where it is.
	const open = r => document.elementFromPoint(r.left + r.width / 2, r.top + r.height / 2)
	const now = e.getBoundingClientRect(), seen = now.top >= 0 && now.bottom <= innerHeight && open(now)
	if (!(seen && (e.contains(seen) || seen.contains(e)))) e.scrollIntoView({block: 'center', behavior: 'instant'})
	for (let before = "", still = 0, r; ; await new Promise(f => requestAnimationFrame(() => requestAnimationFrame(f)))) {
		r = e.getBoundingClientRect()
		still = before === (before = r.top + ' ' + r.height) ? still + 1 : 0
		if (still < 3) continue
		const x = r.left + r.width / 2, y = r.top + r.height / 2
		const there = document.elementFromPoint(x, y)
		if (!e.contains(there) && !there?.contains(e)) return reject(new Error(%[1]q + ' is covered by ' + there?.outerHTML.slice(0, 120)))
		const touched = self.touched = {came: false}
		addEventListener('click', event => touched.came ||= e.contains(event.target) || event.target.contains(e), {capture: true, once: true})
		return resolve([x, y, r.width, r.height])
	}
})`

// tile goes to a kind's screen from the first one.
func (b *browser) tile(kind string) {
	b.t.Helper()
	b.until(`!document.getElementById('home').hidden && scrollY === 0`)
	b.touch(`#home .tile[href="#` + kind + `"]`)
	if kind == "run" {
		b.until(`!document.getElementById('run').hidden`)
		return
	}
	b.until(`document.getElementById('form').dataset.kind === '` + kind + `' && !document.getElementById('form').hidden`)
}

// choose touches a choice by its words.
func (b *browser) choose(field, label string) {
	b.t.Helper()
	b.touchOf(`[data-field="`+field+`"] .tab`, label)
}

// key touches keys of the pad.
func (b *browser) key(keys string) {
	b.t.Helper()
	for _, k := range keys {
		name := string(k)
		if k == '.' || k == ',' {
			name = "mark"
		}
		b.touch(`#pad button[data-key="` + name + `"]`)
	}
}

// aim touches a field, so that the pad writes in it.
func (b *browser) aim(field string) { b.t.Helper(); b.touch("#in-" + field) }

// retype writes over what stands in a field.
func (b *browser) retype(field, text string) {
	b.t.Helper()
	evaluated[bool](b, `(() => { const i = document.getElementById('in-`+field+`'); i.focus(); i.select(); return true })()`)
	b.do(chromedp.KeyEvent(text))
}

func (b *browser) save() {
	b.t.Helper()
	b.touch("#save")
}

// saved waits for the first screen after saving.
func (b *browser) saved() {
	b.t.Helper()
	b.save()
	b.until(`!document.getElementById('home').hidden`)
}

func (b *browser) text(selector string) string {
	b.t.Helper()
	return evaluated[string](b, fmt.Sprintf(`document.querySelector(%q)?.innerText ?? ''`, selector))
}

// line is a device's way to the book, which can be cut.
type line struct {
	front front
	cut   atomic.Bool
	// instead answers a request in the book's place, where it returns true.
	instead atomic.Pointer[func(http.ResponseWriter, *http.Request) bool]

	mu sync.Mutex
	// posts are the ids of entries in the order in which they came through.
	posts []string
}

func (h *pageHouse) line(t testing.TB) *line {
	t.Helper()
	to, err := url.Parse(h.url)
	if err != nil {
		t.Fatal(err)
	}
	l := &line{}
	proxy := &httputil.ReverseProxy{Rewrite: func(r *httputil.ProxyRequest) {
		r.SetURL(to)
		r.SetXForwarded()
		r.Out.Host = r.In.Host
	}, ErrorLog: quiet}
	l.front = newFront(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if l.cut.Load() {
			panic(http.ErrAbortHandler)
		}
		if f := l.instead.Load(); f != nil && (*f)(w, r) {
			return
		}
		if r.Method == http.MethodPost && strings.HasPrefix(r.URL.Path, "/v1/") {
			l.note(r)
		}
		proxy.ServeHTTP(w, r)
	}))
	return l
}

var quiet = log.New(io.Discard, "", 0)

func (l *line) note(r *http.Request) {
	body, _ := io.ReadAll(r.Body)
	r.Body = io.NopCloser(bytes.NewReader(body))
	var entry struct{ ID string }
	_ = json.Unmarshal(body, &entry)
	l.mu.Lock()
	defer l.mu.Unlock()
	l.posts = append(l.posts, entry.ID)
}

// noNetwork cuts a device off: its line, and what the browser says of it.
func (b *browser) noNetwork(l *line, off bool) {
	b.t.Helper()
	l.cut.Store(off)
	b.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, network.OverrideNetworkState, network.OverrideNetworkStateParams{Offline: off})
		return err
	}))
}

// loseCookies ends the device's sign-in, as time does.
func (b *browser) loseCookies() {
	b.t.Helper()
	b.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, network.ClearBrowserCookies, cdp.Empty{})
		return err
	}))
}

// waits waits until so many entries wait on the device, as the page says.
func (b *browser) waits(n int) {
	b.t.Helper()
	b.until(fmt.Sprintf(`(() => { const t = document.getElementById('waiting'); return %d === 0 ? t.hidden : !t.hidden && t.innerText.includes('%[1]d') })()`, n))
}

// look keeps a picture of the screen and complains about what is wrong with it.
func (b *browser) look(name string, sizes ...size) {
	b.t.Helper()
	for _, s := range sizes {
		b.resize(s.width, s.height)
		b.complain(s.name + " " + name)
		b.picture(filepath.Join(screenshots, "record-"+name+"-"+s.name+".png"), s.width, s.height)
	}
	b.resize(390, 780)
}

// crewMember is somebody more of the outfit.
func (h *pageHouse) crewMember(t testing.TB, name string) (password string) {
	t.Helper()
	if err := h.operator.CreatePerson(t.Context(), h.outfit, db.Person{ID: uuid.New(), Name: name, Role: db.Crew}); err != nil {
		t.Fatal(err)
	}
	return passwordFor(t, h.operator, h.outfit, name)
}

// booked are the entries that devices brought into the book, as a list of the
// interface gives them, in order of their numbers.
func (h *pageHouse) booked(t testing.TB, path string) (out []M) {
	t.Helper()
	for _, e := range h.ask(t, path+"?limit=1000") {
		if e["via"] == "device" {
			out = append(out, e)
		}
	}
	return out
}

func (h *pageHouse) ask(t testing.TB, path string) (out []M) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, h.url+"/v1/"+path, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+h.token)
	response, err := http.DefaultClient.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	if err := json.NewDecoder(response.Body).Decode(&out); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	return out
}

// one is the only entry that devices brought of a kind.
func (h *pageHouse) one(t testing.TB, path string) M {
	t.Helper()
	all := h.booked(t, path)
	if len(all) != 1 {
		t.Fatalf("%d %s came into the book, want one: %v", len(all), path, all)
	}
	return all[0]
}

// inBook waits until the first screen says that the last entry is in the book.
func (b *browser) inBook() {
	b.t.Helper()
	b.until(`[...document.querySelectorAll('#home-result .sent, #result .sent')].some(e => e.checkVisibility())`)
}

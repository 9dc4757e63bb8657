package api_test

import (
	"fmt"
	"net/http"
	"net/netip"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/dbtest"
)

// houseBehind serves a page house anew, with other settings.
func houseBehind(t *testing.T, h *apitest.House, change func(*request.Config)) *honeyHouse {
	t.Helper()
	service, err := db.Open(t.Context(), dbtest.As(h.Address, db.ServiceRole), db.ServiceRole, 4)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(service.Close)
	house := &honeyHouse{operator: h.Operator, service: service, books: h.Books}
	house.serve(t, change)
	h.URL = house.url
	return house
}

// guess tries a password that is wrong, or the right one, and gives the status.
func guess(t *testing.T, h *apitest.House, name, password string, header http.Header) int {
	t.Helper()
	r, _ := h.Send(t, http.MethodPost, "/sign-in", url.Values{"outfit": {h.Name}, "name": {name}, "password": {password}}, header)
	return r.StatusCode
}

// stopped stops the service's clock. Counts of tries ease with time, and a busy machine
// would give them that time.
func stopped(c *request.Config) {
	at := time.Now()
	c.Now = func() time.Time { return at }
}

// trustNobody serves without a proxy.
func trustNobody(c *request.Config) { c.TrustedProxies = nil }

const wrongPassword = "wrong-wrong-wrong"

func TestNoWayOfWritingANameGivesMoreTries(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil, stopped)
	for known, ways := range map[string][]string{
		"Tamsin":    {"Tamsin", "tamsin", "TAMSIN ", "  tamsin", "\ttAmSiN\n", "Tamsin\u00a0"},
		"Nobody At": {"Nobody At", "nobody at", " NOBODY  AT ", "Nobody\u00a0At", "Ｎobody At", "nobody\tat"},
	} {
		refused := 0
		for i := range 24 {
			name := ways[i%len(ways)]
			form := url.Values{"outfit": {[]string{h.Name, strings.ToUpper(h.Name), " " + h.Name + " "}[i%3]}, "name": {name}, "password": {wrongPassword}}
			if r, _ := h.Send(t, http.MethodPost, "/sign-in", form, nil); r.StatusCode == http.StatusTooManyRequests {
				refused++
			}
		}
		if refused != 14 {
			t.Errorf("of 24 guesses at %s written in other ways %d were refused", known, refused)
		}
	}
}

func TestForwardedAddressesAreBelievedOfTrustedProxiesOnly(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil, stopped, trustNobody)
	claims := func(address string) http.Header {
		return http.Header{"X-Forwarded-For": {address}, "Forwarded": {"for=" + address}, "X-Real-Ip": {address}}
	}
	for i := range 11 {
		want := http.StatusUnauthorized
		if i == 10 {
			want = http.StatusTooManyRequests
		}
		if got := guess(t, h, "Tamsin", wrongPassword, claims(fmt.Sprintf("198.51.100.%d", i))); got != want {
			t.Fatalf("guess %d, each from an address that the guesser made up: %d", i+1, got)
		}
	}
	houseBehind(t, h, func(c *request.Config) {
		c.TrustedProxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.0/8"), netip.MustParsePrefix("10.0.0.0/8")}
	})
	for i := range 11 { // what stands before the last address is the guesser's own
		guess(t, h, "Tamsin", wrongPassword, http.Header{"X-Forwarded-For": {fmt.Sprintf("198.51.100.%d, 203.0.113.9", i), "10.0.0.3"}})
	}
	if got := guess(t, h, "Tamsin", wrongPassword, claims("203.0.113.9")); got != http.StatusTooManyRequests {
		t.Errorf("behind the proxy the guesser answered %d", got)
	}
	if got := guess(t, h.Device(t), "Tamsin", h.Password, claims("203.0.113.77")); got != http.StatusOK {
		t.Errorf("behind the same proxy, from elsewhere, with the right password: %d", got)
	}
}

func TestAHouseholdsIPv6AddressesCountTogether(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	houseBehind(t, h, func(c *request.Config) { c.TrustedProxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32")} })
	var got int
	for i := range 11 {
		got = guess(t, h, "Tamsin", wrongPassword, http.Header{"X-Forwarded-For": {fmt.Sprintf("2001:db8:1:2:%x::%x", i+1, i)}})
	}
	if got != http.StatusTooManyRequests {
		t.Errorf("eleven addresses of one /64: %d", got)
	}
	if got := guess(t, h, "Tamsin", wrongPassword, http.Header{"X-Forwarded-For": {"2001:db8:1:3::1"}}); got != http.StatusUnauthorized {
		t.Errorf("another /64: %d", got)
	}
}

func TestADeviceThatSignedInBeforePassesTheQueue(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil, stopped)
	own, stranger := h.Device(t), h.Device(t)
	if own.SignIn(t); !isSignedIn(t, own) {
		t.Fatal("not signed in")
	}
	own.Send(t, http.MethodPost, "/sign-out", url.Values{}, nil)
	for i := range 200 { // of this person, then of whomever
		name := "Tamsin"
		if i > 20 {
			name = fmt.Sprint("somebody ", i)
		}
		guess(t, stranger, name, wrongPassword, nil)
	}
	if got := guess(t, stranger, "Tamsin", h.Password, nil); got != http.StatusTooManyRequests {
		t.Errorf("a stranger's right guess after 200 wrong ones: %d", got)
	}
	if got := guess(t, own, "Tamsin", h.Password, nil); got != http.StatusOK {
		t.Errorf("the own device, from the same address: %d", got)
	}
	// The device is known for one person, and has its own count.
	if got := guess(t, own, "Odell", wrongPassword, nil); got != http.StatusTooManyRequests {
		t.Errorf("somebody else's name on the device: %d", got)
	}
	var got int
	for range 11 {
		got = guess(t, own, "Tamsin", wrongPassword, nil)
	}
	if got != http.StatusTooManyRequests {
		t.Errorf("eleven wrong ones on the own device: %d", got)
	}
	if had := h.SQL(t, "SELECT count(*)::text FROM known_device"); had[0] != "1" {
		t.Errorf("%v devices are known", had)
	}
}

// tabletOf is a shed's tablet with one person's code on it, and how to type it.
func tabletOf(t *testing.T, h *apitest.House, name, code string) (tablet *apitest.House, person uuid.UUID, unlock func(code string) *http.Response) {
	t.Helper()
	who, err := h.Operator.PersonCalled(t.Context(), h.Outfit, name)
	if err != nil {
		t.Fatal(err)
	}
	if r, _ := h.Send(t, http.MethodPost, "/settings/people/"+who.ID.String(), url.Values{"do": {"code"}, "code": {code}}, nil); r.StatusCode != http.StatusOK {
		t.Fatalf("setting a code answered %s", r.Status)
	}
	tablet = h.Device(t)
	tablet.SignIn(t)
	tablet.Send(t, http.MethodPost, "/settings/tablets", url.Values{"name": {"By the extractor"}}, nil)
	return tablet, who.ID, func(code string) *http.Response {
		r, _ := tablet.Send(t, http.MethodPost, "/unlock", url.Values{"person": {who.ID.String()}, "code": {code}, "next": {"/calculators"}}, nil)
		return r
	}
}

func TestWaitsAfterWrongCodesGrowOutliveARestartAndAManagerEndsThem(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	tablet, person, unlock := tabletOf(t, h, "Tamsin", "4071")
	for i := range 5 {
		if r := unlock("7350"); r.StatusCode != http.StatusUnauthorized {
			t.Fatalf("wrong code %d: %s", i+1, r.Status)
		}
	}
	last := 0
	for range 4 {
		r := unlock("4071") // the right one has to wait as well
		wait, _ := strconv.Atoi(r.Header.Get("Retry-After"))
		if r.StatusCode != http.StatusTooManyRequests || wait < 20 || wait < last*3/2 {
			t.Fatalf("after a wait of %d s: %s, %d s", last, r.Status, wait)
		}
		last = wait
		h.SQL(t, "UPDATE wrong_code SET next_at = now() RETURNING ''")
		unlock("7350")
	}
	houseBehind(t, h, func(c *request.Config) { c.Now = time.Now }) // a restart
	tablet.URL = h.URL
	if r := unlock("4071"); r.StatusCode != http.StatusTooManyRequests {
		t.Errorf("after a restart: %s", r.Status)
	}
	if _, body := h.Get(t, "/settings/people"); !strings.Contains(body, "9 wrong codes in a row") {
		t.Error("a manager does not see the wrong codes")
	}
	h.Send(t, http.MethodPost, "/settings/people/"+person.String(), url.Values{"do": {"let-try"}}, nil)
	if r := unlock("4071"); r.StatusCode != http.StatusOK {
		t.Errorf("after the manager let the next be tried: %s", r.Status)
	}
	if had := h.SQL(t, "SELECT count(*)::text FROM wrong_code"); had[0] != "0" {
		t.Errorf("the right code leaves %v counts", had)
	}
}

func TestManyCodesAtOnceAreNoWayAroundTheWait(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	_, _, unlock := tabletOf(t, h, "Tamsin", "4071")
	tried := make(chan int)
	for i := range 20 {
		go func() { tried <- unlock(fmt.Sprintf("%04d", 5301+i)).StatusCode }()
	}
	looked := 0
	for range 20 {
		if <-tried == http.StatusUnauthorized {
			looked++
		}
	}
	if looked > 5 {
		t.Errorf("%d of 20 codes at once were looked at", looked)
	}
}

func TestATabletThatNobodyUsesLocksByItself(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	tablet, _, unlock := tabletOf(t, h, "Tamsin", "4071")
	idle := func(minutes int) {
		h.SQL(t, "UPDATE tablet SET used_at = now() - make_interval(mins => $1) RETURNING ''", minutes)
	}
	open := func() bool {
		r, _ := tablet.Send(t, http.MethodGet, "/v1/outfit", nil, http.Header{"Sec-Fetch-Site": {"same-origin"}})
		state := map[bool]string{true: "open", false: "locked"}[r.StatusCode == http.StatusOK]
		if r.Header.Get("Pullbook-Tablet") != state {
			t.Errorf("the scripts are told %q where the tablet is %s", r.Header.Get("Pullbook-Tablet"), state)
		}
		return r.StatusCode == http.StatusOK
	}
	unlock("4071")
	if idle(14); !open() {
		t.Error("locked after 14 minutes")
	}
	idle(14)
	for range 2 { // what scripts ask does not count as use
		if !open() {
			t.Error("locked after 14 minutes")
		}
	}
	if got := h.SQL(t, "SELECT (used_at < now() - interval '13 minutes')::text FROM tablet"); got[0] != "true" {
		t.Error("what a script asks by itself keeps the tablet open")
	}
	tablet.Get(t, "/calculators") // what a person opens does
	if got := h.SQL(t, "SELECT (used_at > now() - interval '1 minute')::text FROM tablet"); got[0] != "true" {
		t.Error("what a person opens does not keep the tablet open")
	}
	if idle(16); open() {
		t.Error("open after 16 minutes")
	}
	if r, body := tablet.Get(t, "/calculators"); r.StatusCode != http.StatusUnauthorized || !strings.Contains(body, "Who is there?") {
		t.Errorf("a page after 16 minutes: %s", r.Status)
	}
	if got := bookYard(t, tablet, "same-origin"); got != http.StatusUnauthorized {
		t.Errorf("an entry after 16 minutes: %d", got)
	}
	if r := unlock("4071"); r.StatusCode != http.StatusOK || !open() {
		t.Errorf("it cannot be unlocked again: %s", r.Status)
	}
}

func TestMetricsAreForWhomTheOperatorAllows(t *testing.T) {
	t.Parallel()
	const token = "a-token-of-the-monitoring"
	h := apitest.Open(t, apitest.MetricOutfit, nil, stopped, trustNobody)
	ask := func(header http.Header) int {
		r, _ := h.Send(t, http.MethodGet, "/metrics", nil, header)
		return r.StatusCode
	}
	if got := ask(nil); got != 200 {
		t.Errorf("this machine: %d", got)
	}
	// A proxy on this machine that the operator did not name brings strangers.
	for _, name := range []string{"X-Forwarded-For", "Forwarded", "X-Real-Ip", "X-Forwarded-Proto"} {
		if got := ask(http.Header{name: {"127.0.0.1"}}); got != 404 {
			t.Errorf("passed on with %s by a proxy that is not trusted: %d", name, got)
		}
	}
	houseBehind(t, h, func(c *request.Config) {
		c.TrustedProxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32")}
		c.MetricsFrom = []netip.Prefix{netip.MustParsePrefix("192.0.2.0/24")}
		c.MetricsToken = token
	})
	for _, c := range []struct {
		header http.Header
		want   int
	}{
		{http.Header{"X-Forwarded-For": {"192.0.2.9"}}, 200},
		{http.Header{"X-Forwarded-For": {"192.0.2.9, 198.51.100.1"}}, 404},
		{http.Header{"X-Forwarded-For": {"198.51.100.1"}}, 404},
		{http.Header{"X-Forwarded-For": {"198.51.100.1"}, "Authorization": {"Bearer " + token}}, 200},
		{http.Header{"X-Forwarded-For": {"198.51.100.1"}, "Authorization": {"Bearer " + token + "x"}}, 404},
		{http.Header{"X-Forwarded-For": {"198.51.100.1"}, "Authorization": {"Bearer "}}, 404},
		{nil, 404},
	} {
		if got := ask(c.header); got != c.want {
			t.Errorf("%v: %d", c.header, got)
		}
	}
	for _, path := range []string{"/livez", "/readyz"} {
		if r, _ := h.Send(t, http.MethodGet, path, nil, http.Header{"X-Forwarded-For": {"198.51.100.1"}}); r.StatusCode != 200 {
			t.Errorf("%s: %s", path, r.Status)
		}
	}
}

func TestOnlyHTTPSIsAskedForAgain(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil, stopped, trustNobody)
	hsts := func(proto string) (header string, secure bool) {
		r, _ := h.Device(t).Send(t, http.MethodPost, "/language", url.Values{"language": {"es"}, "back": {"/livez"}}, http.Header{"X-Forwarded-Proto": {proto}})
		before := r
		for before.Request.Response != nil {
			before = before.Request.Response
		}
		return before.Header.Get("Strict-Transport-Security"), strings.Contains(before.Header.Get("Set-Cookie"), "Secure")
	}
	for _, proto := range []string{"", "http", "https"} {
		if header, secure := hsts(proto); header != "" || secure {
			t.Errorf("over HTTP, claiming %q without a trusted proxy: %q, %v", proto, header, secure)
		}
	}
	houseBehind(t, h, func(c *request.Config) { c.TrustedProxies = []netip.Prefix{netip.MustParsePrefix("127.0.0.1/32")} })
	for proto, want := range map[string]string{"": "", "http": "", "https": "max-age=31536000", "https, http": ""} {
		if header, secure := hsts(proto); header != want || secure != (want != "") {
			t.Errorf("by a trusted proxy over %q: %q, %v", proto, header, secure)
		}
	}
}

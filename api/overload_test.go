package api_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"pullbook/api/apitest"
	"pullbook/api/request"
)

// from is a client whose requests come from another address of this machine.
func from(address string) *http.Client {
	dialer := &net.Dialer{LocalAddr: &net.TCPAddr{IP: net.ParseIP(address)}}
	return &http.Client{Timeout: 20 * time.Second, Transport: &http.Transport{DialContext: dialer.DialContext}}
}

// slowBodies opens so many requests from an address whose bodies do not come, and
// gives the connections.
func slowBodies(t *testing.T, address, service, head string, n int) (open []net.Conn) {
	t.Helper()
	dialer := &net.Dialer{LocalAddr: &net.TCPAddr{IP: net.ParseIP(address)}}
	for range n {
		c, err := dialer.DialContext(t.Context(), "tcp", strings.TrimPrefix(service, "http://"))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Close() })
		fmt.Fprintf(c, "%s\r\nHost: shed\r\nContent-Type: application/x-www-form-urlencoded\r\nContent-Length: 4000\r\n\r\nout", head)
		open = append(open, c)
	}
	time.Sleep(200 * time.Millisecond) // until the service has them
	return open
}

// answered asks as somebody else, and holds that the answer comes soon.
func answered(t *testing.T, client *http.Client, method, address, token, body string, want int) {
	t.Helper()
	began := time.Now()
	r, err := http.NewRequestWithContext(t.Context(), method, address, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	if token != "" {
		r.Header.Set("Authorization", "Bearer "+token)
		r.Header.Set("Content-Type", "application/json")
	} else {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Accept", "text/html")
	}
	response, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	raw, _ := io.ReadAll(response.Body)
	if took := time.Since(began); response.StatusCode != want || took > 6*time.Second {
		t.Errorf("%s %s answered %d after %v: %.200s", method, address, response.StatusCode, took, raw)
	}
}

func TestSlowBodiesOfStrangersKeepNobodyOut(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	form := url.Values{"outfit": {"Fern Gully Honey"}, "name": {"Ada"}, "password": {"wrong-wrong-wrong"}}.Encode()
	for _, head := range []string{"POST /v1/pulls HTTP/1.1", "POST /v1/imports HTTP/1.1", "POST /sign-in HTTP/1.1", "POST /import HTTP/1.1", "GET /sign-in HTTP/1.1", "GET /v1/changes?since=0&wait_seconds=25 HTTP/1.1"} {
		slow := slowBodies(t, "127.0.0.2", house.url, head, 300)
		began := time.Now()
		answered(t, from("127.0.0.2"), http.MethodGet, house.url+"/v1/outfit", s.reader, "", 200)
		pull, _ := json.Marshal(s.aPull())
		answered(t, from("127.0.0.2"), http.MethodPost, house.url+"/v1/pulls", s.manager, string(pull), 201)
		answered(t, from("127.0.0.2"), http.MethodGet, house.url+"/calculators", "", "", 401)
		answered(t, from("127.0.0.3"), http.MethodPost, house.url+"/sign-in", "", form, 401)
		if strings.Contains(head, "/v1/") { // told at once, before the body is there
			_ = slow[299].SetReadDeadline(began.Add(15 * time.Second))
			if line, err := bufio.NewReader(slow[299]).ReadString('\n'); err != nil || !strings.Contains(line, "401") {
				t.Errorf("%s without a token is answered %q, %v", head, line, err)
			}
		}
		for _, c := range slow {
			c.Close()
		}
	}
}

func TestSlowBodiesOfOneOutfitKeepNoOtherOut(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	bad, good := house.newShed(t, "Fern Gully Honey"), house.newShed(t, "Two Rivers Honey")
	for _, path := range []string{"/v1/pulls", "/v1/imports"} {
		slowBodies(t, "127.0.0.2", house.url, "POST "+path+" HTTP/1.1\r\nAuthorization: Bearer "+bad.manager, 300)
		pull, _ := json.Marshal(good.aPull())
		answered(t, from("127.0.0.2"), http.MethodPost, house.url+"/v1/pulls", good.manager, string(pull), 201)
		// Nor the same outfit at another address.
		pull, _ = json.Marshal(bad.aPull())
		answered(t, from("127.0.0.3"), http.MethodPost, house.url+"/v1/pulls", bad.manager, string(pull), 201)
	}
}

func TestABodyThatTricklesInIsEnded(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	c := slowBodies(t, "127.0.0.2", house.url, "POST /sign-in HTTP/1.1\r\nAccept: text/html", 1)[0]
	began := time.Now()
	go func() {
		for range 25 {
			if _, err := c.Write([]byte("x")); err != nil {
				return
			}
			time.Sleep(time.Second)
		}
	}()
	_ = c.SetReadDeadline(began.Add(25 * time.Second))
	if line, err := bufio.NewReader(c).ReadString('\n'); err != nil || !strings.Contains(line, "408") {
		t.Errorf("after %v: %q, %v", time.Since(began), line, err)
	}
}

func TestLongPollsOfOneReaderStarveNobodyElse(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	bad, good := house.newShed(t, "Fern Gully Honey"), house.newShed(t, "Two Rivers Honey")
	serving, stop := context.WithCancel(t.Context())
	house.serve(t, func(c *request.Config) { c.Serving = serving })
	poll := func(o *shed) string {
		return fmt.Sprintf("%s/v1/changes?since=%d&wait_seconds=25", house.url, o.head(t).LastEntry)
	}
	waits := poll(bad)
	var polls sync.WaitGroup
	refused := make(chan string, 600)
	client := from("127.0.0.2")
	client.Timeout = 40 * time.Second
	client.Transport.(*http.Transport).MaxIdleConnsPerHost = 300
	for range 300 {
		polls.Go(func() {
			r, _ := http.NewRequest(http.MethodGet, waits, nil)
			r.Header.Set("Authorization", "Bearer "+bad.reader)
			response, err := client.Do(r)
			if err != nil {
				return
			}
			defer response.Body.Close()
			raw, _ := io.ReadAll(response.Body)
			if response.StatusCode == http.StatusServiceUnavailable {
				refused <- response.Header.Get("Retry-After") + " " + string(raw)
			}
		})
	}
	for range 284 { // sixteen wait
		select {
		case why := <-refused:
			if !strings.HasPrefix(why, "5 ") || !strings.Contains(why, "wait for changes at once") {
				t.Fatalf("refused with %s", why)
			}
		case <-time.After(20 * time.Second):
			t.Fatal("more than sixteen polls of one reader wait")
		}
	}
	came := make(chan int)
	go func() {
		r := good.send(t, http.MethodGet, strings.TrimPrefix(poll(good), house.url), good.reader, nil)
		came <- len(as[followed](t, r).Entries)
	}()
	time.Sleep(300 * time.Millisecond)
	good.book(t, "pulls", good.aPull())
	select {
	case n := <-came:
		if n != 1 {
			t.Errorf("the other outfit's poll brought %d entries", n)
		}
	case <-time.After(15 * time.Second):
		t.Error("the other outfit's poll is not answered")
	}
	stop()
	polls.Wait()
}

// TestSignInTakesNoMoreThanAFormsWorth runs alone: it reads the memory of the whole
// process, in which other tests work too.
func TestSignInTakesNoMoreThanAFormsWorth(t *testing.T) {
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	runtime.GC()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for i := range 40 {
		form := url.Values{"outfit": {h.Name}, "name": {strings.Repeat("x", 4<<20-100) + fmt.Sprint(i)}, "password": {"wrong-wrong-wrong"}}
		r, _ := http.NewRequestWithContext(t.Context(), http.MethodPost, h.URL+"/sign-in", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		response, err := h.Client.Do(r)
		if err != nil { // the connection ended while it was still sending
			continue
		}
		response.Body.Close()
		if response.StatusCode != http.StatusRequestEntityTooLarge {
			t.Fatalf("a name of 4 MB answered %s", response.Status)
		}
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	if grown := int64(after.HeapAlloc) - int64(before.HeapAlloc); grown > 64<<20 {
		t.Errorf("40 names of 4 MB leave %d MB behind", grown>>20)
	}
}

func TestFormsWithTextThatCannotBeKeptAreExplained(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	for _, path := range []string{"/sign-in", "/unlock", "/account", "/language", "/sign-in?next=%00", "/settings/people", "/settings/tokens", "/settings/tablets"} {
		for what, body := range map[string]string{
			"a NUL":     "outfit=a%00b&name=%00&password=%00&person=%00&code=%00&language=%00&do=password&new=%00&role=crew",
			"bad UTF-8": "outfit=%ff&name=%ff%fe&password=%c3&person=%ff&code=%ff&language=%ff&do=code&role=crew", "a broken escape": "outfit=%zz&name=%", "a long name of a field": strings.Repeat("n", 10<<10) + "=%00",
		} {
			r, _ := http.NewRequestWithContext(t.Context(), http.MethodPost, h.URL+path, strings.NewReader(body))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Header.Set("Accept", "text/html")
			response, err := h.Client.Do(r)
			if err != nil {
				t.Fatal(err)
			}
			raw, _ := io.ReadAll(response.Body)
			response.Body.Close()
			clear := strings.Contains(string(raw), "The form cannot be read") || strings.Contains(string(raw), "is no text")
			if response.StatusCode != http.StatusBadRequest && response.StatusCode != http.StatusUnprocessableEntity || !clear {
				t.Errorf("%s with %s: %s", path, what, response.Status)
			}
		}
	}
	long := h.SignInForm()
	long.Set("name", strings.Repeat("é", 300))
	if response, body := h.Send(t, http.MethodPost, "/sign-in", long, nil); response.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, "300 characters") {
		t.Errorf("a name of 300 characters: %s", response.Status)
	}
}

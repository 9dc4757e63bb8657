package api_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/labstack/echo/v4"

	"pullbook/api"
)

// oddRequest is a request that nobody would send by hand.
type oddRequest struct {
	route                                    uint16
	how                                      uint8
	inPath, query, body, cookie, said, token string
}

// How a request is sent, as bits.
const (
	signedIn = 1 << iota
	withToken
	asJSON
	asParts
	fromElsewhere
	refreshing
)

// FuzzRequests sends whatever it is given to every route, pages and forms too: addresses,
// queries, forms, cookies, languages and tokens. Whatever comes, the service answers, and
// finds no fault with itself.
func FuzzRequests(f *testing.F) {
	routes, err := api.Routes()
	if err != nil {
		f.Fatal(err)
	}
	for i, r := range routes {
		how := uint8(signedIn)
		if strings.HasPrefix(r.Path, "/v1/") {
			how = withToken
		}
		f.Add(uint16(i), how, "@tank", "season=@lot&from=2026-07-01&to=x&as_of=99999999&known_at=-1", "name=%00&id=@yard&supers=1e999&at=2026-02-30", "pullbook_session=x", "es-419;q=x,en;q=-1,*", "pullbook_x")
		f.Add(uint16(i), how|asParts|refreshing, "@lot.csv", "format=xlsx&limit=-1&after=9223372036854775807", "--b\r\nContent-Disposition: form-data; name=\"id\"\r\n\r\nx\r\n--b--", "pullbook_device=\xff", "\xff", "")
		f.Add(uint16(i), how|asJSON|fromElsewhere, "%2e%2e%2f\x00", "%zz=%", `{"id":"x","occurred_at":"0000-00-00T00:00:00Z"}`, "=;,", strings.Repeat("a-", 2000), "pullbook_00000000-0000-0000-0000-000000000000_x")
	}
	h := openLookHouse(f, 400)
	f.Fuzz(func(t *testing.T, route uint16, how uint8, inPath, query, body, cookie, said, token string) {
		s := oddRequest{route, how, inPath, query, body, cookie, said, token}
		r := routes[int(route)%len(routes)]
		if r.Path == "/sign-out" || r.Path == "/lock" {
			return // the next ones are to be signed in
		}
		within, cancel := context.WithTimeout(t.Context(), time.Minute)
		if strings.HasPrefix(r.Path, "/v1/changes") {
			within, cancel = context.WithTimeout(t.Context(), 100*time.Millisecond)
		}
		defer cancel()
		request := s.request(within, h, r)
		if request == nil {
			return
		}
		w := httptest.NewRecorder()
		h.handler.ServeHTTP(w, request)
		if w.Code >= http.StatusInternalServerError && within.Err() == nil {
			t.Errorf("%s %s: %d %.500s", r.Method, request.URL, w.Code, w.Body)
		}
		if !strings.HasPrefix(r.Path, "/v1/changes") && within.Err() != nil {
			t.Errorf("%s %s is not answered within a minute", r.Method, request.URL)
		}
	})
}

// request is what is sent; nil where no client can send it.
func (s oddRequest) request(within context.Context, h *lookHouse, r *echo.Route) *http.Request {
	known := strings.NewReplacer("@tank", h.tank.String(), "@yard", h.yard.String(), "@lot", h.lot.String())
	path := strings.Split(r.Path, "/")
	for i, part := range path {
		if at := strings.IndexAny(part, ":*"); at >= 0 {
			path[i] = part[:at] + url.PathEscape(known.Replace(s.inPath))
		}
	}
	target, err := url.Parse("http://127.0.0.1" + strings.Join(path, "/"))
	if err != nil {
		return nil
	}
	target.RawQuery = known.Replace(s.query)
	request := httptest.NewRequestWithContext(within, r.Method, "/", strings.NewReader(known.Replace(s.body)))
	request.URL, request.RequestURI = target, target.RequestURI()
	header := request.Header
	header["Accept-Language"], header["Cookie"] = []string{s.said}, []string{s.cookie}
	switch {
	case s.how&asJSON > 0:
		header.Set("Content-Type", "application/json")
	case s.how&asParts > 0:
		header.Set("Content-Type", "multipart/form-data; boundary=b")
	default:
		header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	if s.how&signedIn > 0 {
		for _, c := range h.cookies {
			request.AddCookie(c)
		}
	}
	switch {
	case s.how&withToken > 0:
		header.Set("Authorization", "Bearer "+h.token)
	case s.token != "":
		header["Authorization"] = []string{"Bearer " + s.token}
	}
	if s.how&fromElsewhere > 0 {
		header.Set("Sec-Fetch-Site", "cross-site")
		header.Set("Origin", "http://[::1")
	}
	if s.how&refreshing > 0 {
		header["If-None-Match"], header["Range"] = []string{s.said}, []string{"bytes=" + s.query}
	}
	return request
}

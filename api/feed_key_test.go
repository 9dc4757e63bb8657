package api_test

import (
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"pullbook/api/request"
)

type madeKey struct {
	Key     string
	FeedKey struct {
		ID, Name, Feed string
		MadeBy         string `json:"made_by"`
		RevokedAt      string `json:"revoked_at"`
	} `json:"feed_key"`
}

func (o *outfit) makeKey(t *testing.T, feed string) madeKey {
	t.Helper()
	body := M{"name": "the office spreadsheet"}
	if feed != "" {
		body["feed"] = feed
	}
	r := o.post(t, "feed-keys", body)
	if r.status != http.StatusCreated || r.header.Get("Cache-Control") != "no-store" {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	return as[madeKey](t, r)
}

// open asks for a feed with nothing but its address.
func (h *honeyHouse) open(t *testing.T, address string) reply {
	t.Helper()
	return h.sendWith(t, http.MethodGet, address, http.Header{}, nil)
}

func TestAFeedKeyOpensFeedsAndNothingElse(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s, other := house.newShed(t, "Fern Gully Honey"), house.newShed(t, "Two Rivers Honey")
	all, pulls := s.makeKey(t, ""), s.makeKey(t, "pulls")
	basic := "Basic " + base64.StdEncoding.EncodeToString([]byte("x:"+all.Key))
	for _, row := range []struct {
		what, address, authorization string
		status                       int
	}{
		{"a key for all", "/feeds/pulls.csv?key=" + all.Key, "", 200},
		{"a key for all, on another feed", "/feeds/lots.jsonl?key=" + all.Key, "", 200},
		{"a key as the password of Basic", "/feeds/lots.csv", basic, 200},
		{"a key as a bearer token", "/feeds/lots.csv", "Bearer " + all.Key, 200},
		{"a key for one feed", "/feeds/pulls.xlsx?key=" + pulls.Key, "", 200},
		{"a key for another feed", "/feeds/lots.csv?key=" + pulls.Key, "", 403},
		{"a token in the address", "/feeds/pulls.csv?key=" + s.reader, "", 401},
		{"a key on the interface for programs", "/v1/outfit", "Bearer " + all.Key, 401},
		{"a key in an address of that", "/v1/outfit?key=" + all.Key, "Bearer " + s.reader, 422},
		{"a key twice", "/feeds/pulls.csv?key=" + all.Key + "&key=" + pulls.Key, "", 422},
		{"a key cut short", "/feeds/pulls.csv?key=" + all.Key[:len(all.Key)-1], "", 401},
		{"an empty key", "/feeds/pulls.csv?key=", "", 401},
	} {
		header := http.Header{}
		if row.authorization != "" {
			header.Set("Authorization", row.authorization)
		}
		r := s.sendWith(t, http.MethodGet, row.address, header, nil)
		if r.status != row.status {
			t.Errorf("%s: %d %.200s", row.what, r.status, r.raw)
		}
		for _, secret := range []string{all.Key, pulls.Key, s.reader} {
			if strings.Contains(string(r.raw)+fmt.Sprint(r.header), secret) {
				t.Errorf("%s: the answer shows the secret", row.what)
			}
		}
	}
	// It reads its own outfit's book.
	if rows := tableOf(t, s.open(t, "/feeds/lots.csv?key="+other.makeKey(t, "").Key).raw).rows; len(rows) != 1 || rows[0]["id"] != other.lot {
		t.Errorf("the other outfit's key reads %v", rows)
	}
}

func TestARevokedFeedKeyIsNoGoodAtOnce(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	key := s.makeKey(t, "lots")
	address := "/feeds/lots.csv?key=" + key.Key
	tag := s.open(t, address).header.Get("ETag")
	listed := read[[]struct{ ID, Feed, Name string }](t, &outfit{honeyHouse: s.honeyHouse, reader: s.manager}, "feed-keys")
	if len(listed) != 1 || listed[0].ID != key.FeedKey.ID || listed[0].Feed != "lots" || listed[0].Name != key.FeedKey.Name {
		t.Errorf("%+v", listed)
	}
	for _, token := range []string{s.crew, s.reader} {
		for _, ask := range []struct{ method, path string }{{http.MethodGet, "/v1/feed-keys"}, {http.MethodPost, "/v1/feed-keys"}, {http.MethodDelete, "/v1/feed-keys/" + key.FeedKey.ID}} {
			if r := s.send(t, ask.method, ask.path, token, []byte(`{"name":"mine"}`)); r.status != http.StatusForbidden {
				t.Errorf("%s %s: %d %s", ask.method, ask.path, r.status, r.raw)
			}
		}
	}
	r := s.send(t, http.MethodDelete, "/v1/feed-keys/"+key.FeedKey.ID, s.manager, nil)
	if r.status != http.StatusOK || as[M](t, r)["revoked_at"] == nil {
		t.Errorf("%d %s", r.status, r.raw)
	}
	if r := s.send(t, http.MethodDelete, "/v1/feed-keys/"+key.FeedKey.ID, s.manager, nil); r.status != http.StatusNotFound {
		t.Errorf("revoked twice: %d %s", r.status, r.raw)
	}
	for _, header := range []http.Header{{}, {"If-None-Match": {tag}}} {
		if r := s.sendWith(t, http.MethodGet, address, header, nil); r.status != http.StatusUnauthorized {
			t.Errorf("%d %s", r.status, r.raw)
		}
	}
	if r := s.post(t, "feed-keys", M{"name": "x", "feed": "drums"}); r.status != http.StatusUnprocessableEntity || !strings.Contains(string(r.raw), "containers") {
		t.Errorf("a key for no feed: %d %s", r.status, r.raw)
	}
}

func TestWrongFeedKeysAreSlowedDownAndGoodOnesAreNot(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	now := clock
	house.serve(t, func(c *request.Config) { c.Now = func() time.Time { return now } })
	working, other := s.makeKey(t, "").Key, s.makeKey(t, "").Key
	if r := s.open(t, "/feeds/lots.csv?key="+working); r.status != http.StatusOK {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	wrong := func(i int) string { return other[:len(other)-4] + fmt.Sprintf("%04d", i) }
	for i := range 10 {
		if r := s.open(t, "/feeds/lots.csv?key="+wrong(i)); r.status != http.StatusUnauthorized {
			t.Fatalf("wrong key %d: %d %s", i+1, r.status, r.raw)
		}
	}
	for what, key := range map[string]string{"another wrong key": wrong(11), "a key not seen before, though good": other} {
		r := s.open(t, "/feeds/lots.csv?key="+key)
		if r.status != http.StatusTooManyRequests || r.header.Get("Retry-After") != "6" || as[problem](t, r).Type != "/problems/too-often" {
			t.Errorf("%s: %d %s", what, r.status, r.raw)
		}
	}
	if r := s.open(t, "/feeds/lots.csv?key="+working); r.status != http.StatusOK {
		t.Errorf("the key that was good lately: %d %s", r.status, r.raw)
	}
	now = now.Add(61 * time.Second)
	if r := s.open(t, "/feeds/lots.csv?key="+other); r.status != http.StatusOK {
		t.Errorf("a minute later: %d %s", r.status, r.raw)
	}
}

func TestNoFeedKeyIsInTheLogNorInTheMetrics(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s := house.newShed(t, "Fern Gully Honey")
	key := s.makeKey(t, "").Key
	for _, address := range []string{
		"/feeds/lots.csv?key=" + key, "/feeds/lots.csv?key=" + key + "x", "/feeds/nothing.csv?key=" + key, "/nothing?key=" + key, "/v1/outfit?key=" + key,
		"/feeds/lots.csv?key=" + key + "&key=" + key, "/feeds/lots.csv?key=" + key + "&season=none", "/feeds/lots.pdf?key=" + key, "/?key=" + key,
	} {
		s.open(t, address)
	}
	house.service.Close() // what fails inside is logged too
	s.open(t, "/feeds/lots.csv?key="+key)
	secret := key[len(key)-32:]
	if strings.Contains(house.log.String(), secret) {
		t.Errorf("the log shows the key: %s", house.log.String())
	}
	if !strings.Contains(house.log.String(), `"route":"/feeds/lots.:format"`) {
		t.Errorf("the log does not tell of the feed: %.2000s", house.log.String())
	}
	if metrics := string(s.send(t, http.MethodGet, "/metrics", "", nil).raw); strings.Contains(metrics, secret) {
		t.Error("the metrics show the key")
	}
}

// lines reads JSON lines by the rows' ids.
func lines(t *testing.T, r reply) map[string]M {
	t.Helper()
	out := map[string]M{}
	for line := range strings.Lines(string(r.raw)) {
		var row M
		if err := json.Unmarshal([]byte(line), &row); err != nil {
			t.Fatal(err)
		}
		out[row["id"].(string)] = row
	}
	return out
}

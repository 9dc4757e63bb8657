package api_test

import (
	"bytes"
	"encoding/json"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/api/request"
)

// The pages say before the disk is full what will be, and say it again in other words
// when it is; a page that was made before does not hide that.
func TestThePagesSayThatRoomRunsOut(t *testing.T) {
	t.Parallel()
	var room atomic.Pointer[request.Room]
	room.Store(&request.Room{})
	h := apitest.Open(t, apitest.MetricOutfit, apitest.LongNames(), func(c *request.Config) { c.Room = func() request.Room { return *room.Load() } })
	h.SignIn(t)
	const folder = "/var/lib/pullbook"
	words := map[string]map[string]string{
		"low": {
			"en": "Little room is left on the disk of the book; when it is full, nothing more can be recorded. Free space on the disk of " + folder,
			"es": "Queda poco sitio en el disco del libro; cuando esté lleno, no se podrá anotar nada más. Liberar espacio en el disco de " + folder,
		},
		"full": {
			"en": "The disk of the book is full: everything can be read, and nothing more can be recorded until there is room. Free space on the disk of " + folder,
			"es": "El disco del libro está lleno: todo se puede leer, y no se puede anotar nada más hasta que haya sitio. Liberar espacio en el disco de " + folder,
		},
	}
	for _, now := range []struct {
		room request.Room
		says string
	}{
		{request.Room{Folder: folder, FreeBytes: 1 << 40}, ""},
		{request.Room{Folder: folder, FreeBytes: 500 << 20, Low: true}, "low"},
		{request.Room{Folder: folder, FreeBytes: 60 << 20, Low: true, Full: true}, "full"},
		{request.Room{Folder: folder, FreeBytes: 1 << 40}, ""},
	} {
		room.Store(&now.room)
		for _, path := range []string{"/", "/tanks"} {
			for _, language := range []string{"en", "es"} {
				response, page := h.Send(t, http.MethodGet, path, nil, http.Header{"Accept-Language": {language}})
				if response.StatusCode != http.StatusOK {
					t.Fatalf("%s answers %s", path, response.Status)
				}
				for state, in := range words {
					if says := in[language]; strings.Contains(page, says) != (state == now.says) {
						t.Errorf("%s in %s with room %q says %q: %v", path, language, now.says, says, state != now.says)
					}
				}
			}
		}
	}
	if _, page := h.Device(t).Get(t, "/"); strings.Contains(page, folder) {
		t.Error("who is not signed in is told where the book is kept")
	}
}

// diskFull has the database refuse entries as PostgreSQL does on a full disk, after the
// row was written, until it is called off.
func diskFull(t *testing.T, database string) (room func()) {
	t.Helper()
	asSuperuser(t, database, `CREATE FUNCTION no_room() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
RAISE EXCEPTION 'could not extend file "base/1/2": No space left on device' USING ERRCODE = '53100'; END $$`)
	asSuperuser(t, database, `CREATE TRIGGER no_room AFTER INSERT ON entry FOR EACH ROW EXECUTE FUNCTION no_room()`)
	return func() { t.Helper(); asSuperuser(t, database, `DROP TRIGGER no_room ON entry`) }
}

// Where the database has no room, an entry is refused with what to do, in the reader's
// language, and nothing of it is stored; sent again with the same id it is booked once.
func TestAnEntryThatTheDatabaseHasNoRoomForIsRefusedWhole(t *testing.T) {
	t.Parallel()
	h := apitest.Open(t, apitest.MetricOutfit, nil)
	h.SignIn(t)
	before := h.SQL(t, `SELECT number || ' ' || encode(digest, 'hex') FROM book`)
	room := diskFull(t, h.Address)
	body, err := json.Marshal(M{"id": uuid.NewString(), "occurred_at": time.Now().Add(-time.Hour).Format(time.RFC3339), "name": "Alder Bend"})
	if err != nil {
		t.Fatal(err)
	}
	post := func(header http.Header) (*http.Response, string) {
		t.Helper()
		header = header.Clone()
		header.Set("Content-Type", "application/json")
		return h.SendBody(t, http.MethodPost, "/v1/yards", bytes.NewReader(body), header)
	}
	byToken := http.Header{"Authorization": {"Bearer " + h.Token}}
	for who, says := range map[string]struct {
		header http.Header
		words  []string
	}{
		"a program":        {byToken, []string{"The disk is full", "nothing of this was stored", "Whoever runs the database has to make room", "with the same id"}},
		"a Spanish reader": {http.Header{"Accept-Language": {"es"}, "Sec-Fetch-Site": {"same-origin"}}, []string{"El disco está lleno", "no se guardó nada de esto", "con el mismo identificador"}},
	} {
		response, text := post(says.header)
		if response.StatusCode != http.StatusInsufficientStorage || response.Header.Get("Retry-After") != "60" {
			t.Errorf("%s is answered %s, again after %q", who, response.Status, response.Header.Get("Retry-After"))
		}
		for _, words := range says.words {
			if !strings.Contains(text, words) {
				t.Errorf("%s is not told %q: %s", who, words, text)
			}
		}
	}
	if after := h.SQL(t, `SELECT number || ' ' || encode(digest, 'hex') FROM book`); after[0] != before[0] {
		t.Errorf("the book ends %s, ended %s", after, before)
	}
	for _, table := range []string{"entry WHERE kind = 'yard'", "claim"} {
		if n := h.SQL(t, `SELECT count(*)::text FROM `+table); n[0] != "0" {
			t.Errorf("%s rows of %s are left", n[0], table)
		}
	}
	room()
	for _, want := range []int{http.StatusCreated, http.StatusOK} {
		if response, text := post(byToken); response.StatusCode != want {
			t.Errorf("with room again: %s %s", response.Status, text)
		}
	}
}

package api_test

import (
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/api"
	"pullbook/api/apitest"
	"pullbook/api/request"
	"pullbook/db"
	"pullbook/db/books"
	"pullbook/db/dbtest"
	"pullbook/domain/demo"
	"pullbook/domain/ledger"
)

// lookHouse is a service over a book of an invented season, and a manager's session.
type lookHouse struct {
	handler http.Handler
	books   *books.Books
	who     db.Principal
	cookies []*http.Cookie
	token   string
	tank    ledger.ID
	yard    ledger.ID
	lot     ledger.ID
	// drum is a kind of container.
	drum ledger.ID
}

func openLookHouse(b testing.TB, entries int) *lookHouse {
	b.Helper()
	h, outfit, address := newLookHouse(b)
	h.fill(b, entries)
	h.signIn(b, outfit.Name, apitest.PasswordFor(b, address, outfit.ID, "Mirren"))
	return h
}

// newLookHouse is a service over an empty book, and the address of its database.
func newLookHouse(b testing.TB) (h *lookHouse, outfit db.Outfit, address string) {
	b.Helper()
	address = dbtest.New(b)
	open := func(url, role string) *db.DB {
		d, err := db.Open(b.Context(), url, role, 4)
		if err != nil {
			b.Fatal(err)
		}
		b.Cleanup(d.Close)
		return d
	}
	operator, service := open(address, db.OperatorRole), open(dbtest.As(address, db.ServiceRole), db.ServiceRole)
	outfit = db.Outfit{ID: uuid.New(), Name: "Fern Gully Honey", TimeZone: "America/Winnipeg", Units: "metric"}
	must := func(err error) {
		if err != nil {
			b.Helper()
			b.Fatal(err)
		}
	}
	must(operator.CreateOutfit(b.Context(), outfit))
	must(operator.CreatePerson(b.Context(), outfit.ID, db.Person{ID: uuid.New(), Name: "Mirren", Role: db.Manager}))
	token, err := operator.CreateToken(b.Context(), outfit.ID, "Mirren", "bench")
	must(err)
	h = &lookHouse{books: books.Open(service, 4), token: token}
	b.Cleanup(h.books.Close)
	h.who, err = h.books.SignIn(b.Context(), token)
	must(err)
	config := request.DefaultConfig()
	config.Log = slog.New(slog.NewTextHandler(io.Discard, nil))
	h.handler, err = api.New(service, h.books, config)
	must(err)
	return h, outfit, address
}

// fill brings in an invented season, many at a time.
func (h *lookHouse) fill(b testing.TB, entries int) {
	b.Helper()
	loc, err := time.LoadLocation("America/Winnipeg")
	if err != nil {
		b.Fatal(err)
	}
	options := demo.Sized(5, entries)
	options.Location, options.FirstYear, options.Import = loc, 2026, true
	for _, e := range demo.Outfit(options).Entries {
		again := *e
		again.RecordedBy = ""
		if _, err := h.books.Append(b.Context(), h.who, &again); err != nil {
			b.Fatal(err)
		}
		switch e.Body.(type) {
		case *ledger.Tank:
			h.tank = e.ID
		case *ledger.Yard:
			h.yard = e.ID
		case *ledger.Lot:
			h.lot = e.ID
		case *ledger.ContainerKind:
			h.drum = e.ID
		}
	}
}

func (h *lookHouse) signIn(b testing.TB, outfit, password string) {
	b.Helper()
	form := url.Values{"outfit": {outfit}, "name": {"Mirren"}, "password": {password}}
	r := httptest.NewRequest(http.MethodPost, "/sign-in", strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	h.handler.ServeHTTP(w, r)
	if h.cookies = w.Result().Cookies(); len(h.cookies) == 0 {
		b.Fatalf("signing in answered %d", w.Code)
	}
}

func (h *lookHouse) get(b *testing.B, path string) {
	b.Helper()
	r := httptest.NewRequest(http.MethodGet, path, nil)
	if strings.HasPrefix(path, "/v1/") {
		r.Header.Set("Authorization", "Bearer "+h.token)
	} else {
		for _, c := range h.cookies {
			r.AddCookie(c)
		}
	}
	w := httptest.NewRecorder()
	h.handler.ServeHTTP(w, r)
	if w.Code != http.StatusOK {
		b.Fatalf("%s: %d %s", path, w.Code, w.Body)
	}
}

// BenchmarkScreens opens each screen of a season of 50,000 entries: with nothing
// recorded since the last time, and right after an entry.
func BenchmarkScreens(b *testing.B) {
	h := openLookHouse(b, 50_000)
	for _, screen := range []struct{ name, path string }{
		{"today", "/"}, {"season", "/season"}, {"map", "/charts/yards.svg"}, {"course", "/charts/course.svg"}, {"moisture", "/charts/moisture.svg"}, {"tanks", "/tanks"}, {"tank", "/tanks/" + h.tank.String()},
		{"plot", "/tanks/" + h.tank.String() + "/course.svg"}, {"yard", "/yards/" + h.yard.String()}, {"pulls", "/yards/" + h.yard.String() + "/pulls.svg"}, {"findings", "/findings"},
		{"balance", "/balance"}, {"drying", "/balance/drying"}, {"instruments", "/balance/instruments"},
		{"lots", "/lots"}, {"lot", "/lots/" + h.lot.String()}, {"labels", "/lots/" + h.lot.String() + "/labels"}, {"print", "/print"}, {"blank", "/print/blank/pull"},
	} {
		b.Run(screen.name+"/unchanged", func(b *testing.B) {
			h.get(b, screen.path)
			for b.Loop() {
				h.get(b, screen.path)
			}
		})
		b.Run(screen.name+"/changed", func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				e := &ledger.Entry{ID: uuid.New(), Kind: ledger.KindReading, OccurredAt: time.Now().Add(-time.Minute), Via: ledger.ViaImport,
					Body: &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceTank, ID: h.tank}, Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 17.4}}}
				if _, err := h.books.Append(b.Context(), h.who, e); err != nil {
					b.Fatal(err)
				}
				b.StartTimer()
				h.get(b, screen.path)
			}
		})
	}
}

package db_test

import (
	"context"
	"os"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/dbtest"
	"pullbook/domain/ledger"
	"pullbook/migrations"
)

func TestMain(m *testing.M) {
	os.Exit(dbtest.Main(m, func(_ context.Context, url string) error { return migrations.Up(url) }))
}

// honeyHouse is an outfit with a manager's principal.
type honeyHouse struct {
	url      string
	operator *db.DB
	service  *db.DB
	books    *db.Books
	outfit   uuid.UUID
	manager  db.Principal
}

func open(t testing.TB) *honeyHouse {
	t.Helper()
	ctx := t.Context()
	h := &honeyHouse{url: dbtest.New(t)}
	var err error
	if h.operator, err = db.Open(ctx, h.url, db.OperatorRole, 2); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(h.operator.Close)
	if h.service, err = db.Open(ctx, dbtest.As(h.url, db.ServiceRole), db.ServiceRole, 8); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(h.service.Close)
	h.books = db.OpenBooks(h.service, 8)
	t.Cleanup(h.books.Close)
	h.outfit, h.manager = h.newOutfit(t, "Fern Gully Honey")
	return h
}

// founded is how many entries newOutfit makes: of the outfit, its manager and a
// token.
const founded = 3

func (h *honeyHouse) newOutfit(t testing.TB, name string) (uuid.UUID, db.Principal) {
	t.Helper()
	ctx := t.Context()
	id := uuid.New()
	if err := h.operator.CreateOutfit(ctx, db.Outfit{ID: id, Name: name, TimeZone: "America/Winnipeg", Units: "metric"}); err != nil {
		t.Fatal(err)
	}
	if err := h.operator.CreatePerson(ctx, id, db.Person{ID: uuid.New(), Name: "Mirren", Role: db.Manager}); err != nil {
		t.Fatal(err)
	}
	secret, err := h.operator.CreateToken(ctx, id, "mirren", "test")
	if err != nil {
		t.Fatal(err)
	}
	p, err := h.books.SignIn(ctx, secret)
	if err != nil {
		t.Fatal(err)
	}
	return id, p
}

func entry(body ledger.Body) *ledger.Entry {
	return &ledger.Entry{ID: uuid.New(), Kind: body.Kind(), OccurredAt: time.Now().Add(-time.Hour), Body: body}
}

func TestASeasonIsStoredAndReadBack(t *testing.T) {
	t.Parallel()
	h := open(t)
	year := time.Now().Format("2006")
	season := entry(&ledger.Season{Name: year, First: ledger.Date(year + "-01-01"), Last: ledger.Date(year + "-12-31")})
	yard := entry(&ledger.Yard{Name: "Alder Bend"})
	for _, e := range []*ledger.Entry{season, yard} {
		got, err := h.books.Append(t.Context(), h.manager, e)
		if err != nil {
			t.Fatal(err)
		}
		if got.Again {
			t.Error("a first entry was taken for one sent again")
		}
	}
	again := *yard
	got, err := h.books.Append(t.Context(), h.manager, &again)
	if err != nil || !got.Again || got.Entry.Number != founded+2 {
		t.Errorf("the same yard sent again: %+v, %v", got, err)
	}
	entries, err := h.service.EntriesAfter(t.Context(), h.outfit, 0)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != founded+2 || entries[founded+1].Body.(*ledger.Yard).Name != "Alder Bend" {
		t.Fatalf("read back %d entries", len(entries))
	}
	var before [32]byte
	for _, e := range entries {
		content, err := e.Content()
		if err != nil {
			t.Fatal(err)
		}
		if before = ledger.Chain(before, e.Number, e.Canonical(content)); before != e.Digest {
			t.Errorf("entry %d: the digest in the database is not the one of its content", e.Number)
		}
	}
}

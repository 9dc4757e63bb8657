package books_test

import (
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/away"
	"pullbook/domain/ledger"
)

// reads looks at the book as a reader, and says as of when it was told of it.
func (h *honeyHouse) reads(t *testing.T, p db.Principal) (asOf time.Time, known bool, err error) {
	t.Helper()
	ctx, as := away.WithReader(t.Context())
	err = h.Books.Read(ctx, p, func(db.Outfit, *ledger.Book) error { return nil })
	asOf, known = as.AsOf()
	return asOf, known, err
}

func (h *honeyHouse) mustRead(t *testing.T, p db.Principal) {
	t.Helper()
	if _, known, err := h.reads(t, p); err != nil || known {
		t.Fatalf("while the database answers: as known %v, %v", known, err)
	}
}

// A reader goes on with what the process knows while the database is away, and is told
// how old that is; nobody else is answered from it, and not for ever.
func TestReadersGoOnWhileTheDatabaseIsAway(t *testing.T) {
	t.Parallel()
	h := open(t)
	now := time.Now()
	h.Service.Now = func() time.Time { return now }
	h.mustRead(t, h.Manager)
	h.Service.Close()
	looked := now
	now = now.Add(away.ReadOnFor - time.Second)
	asOf, known, err := h.reads(t, h.Manager)
	if err != nil || !known || !asOf.Equal(looked) || asOf.Location().String() != "America/Winnipeg" {
		t.Errorf("as of %v (%v), want %v on the outfit's clock; %v", asOf, known, looked, err)
	}
	if err := h.Books.Read(t.Context(), h.Manager, func(db.Outfit, *ledger.Book) error { return nil }); !away.Unavailable(err) {
		t.Errorf("who does not only read is answered without the database: %v", err)
	}
	now = now.Add(2 * time.Second)
	if _, _, err := h.reads(t, h.Manager); err == nil {
		t.Errorf("reading goes on %v after the database answered", now.Sub(looked))
	}
}

// What was ended before the database went away is no good while it is away, wherever it
// was ended.
func TestWhoWasSentAwayReadsNothingWhileTheDatabaseIsAway(t *testing.T) {
	t.Parallel()
	for name, end := range map[string]func(t *testing.T, h *honeyHouse, token uuid.UUID){
		"by this process": func(t *testing.T, h *honeyHouse, token uuid.UUID) {
			if _, err := h.Service.As(h.Manager).RevokeToken(t.Context(), h.Outfit, token); err != nil {
				t.Fatal(err)
			}
		},
		"by another process, seen with the next request": func(t *testing.T, h *honeyHouse, token uuid.UUID) {
			if _, err := h.Operator.RevokeToken(t.Context(), h.Outfit, token); err != nil {
				t.Fatal(err)
			}
			h.mustRead(t, h.Manager)
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			h := open(t)
			secret, err := h.Operator.CreateToken(t.Context(), h.Outfit, "mirren", "lost phone")
			if err != nil {
				t.Fatal(err)
			}
			lost, err := h.Books.SignIn(t.Context(), secret)
			if err != nil {
				t.Fatal(err)
			}
			h.mustRead(t, lost)
			tokens, err := h.Service.Tokens(t.Context(), h.Outfit)
			if err != nil {
				t.Fatal(err)
			}
			end(t, h, tokens[len(tokens)-1].ID)
			h.Service.Close()
			if _, _, err := h.reads(t, lost); err == nil {
				t.Error("a token that was revoked reads on")
			}
		})
	}
}

// A database that does not answer at all keeps readers waiting for a few seconds only.
func TestReadersGoOnWhileTheDatabaseIsSilent(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.mustRead(t, h.Manager)
	for range h.Service.Pool.Config().MaxConns {
		conn, err := h.Service.Pool.Acquire(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Release()
	}
	if _, known, err := h.reads(t, h.Manager); err != nil || !known {
		t.Errorf("as known %v, %v", known, err)
	}
}

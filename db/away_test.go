package db_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/ledger"
)

// reads looks at the book as a reader, and says as of when it was told of it.
func (h *honeyHouse) reads(t *testing.T, p db.Principal) (asOf time.Time, known bool, err error) {
	t.Helper()
	ctx, as := db.WithAsKnown(t.Context())
	err = h.books.Read(ctx, p, func(db.Outfit, *ledger.Book) error { return nil })
	asOf, known = as.At()
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
	h.service.Now = func() time.Time { return now }
	h.mustRead(t, h.manager)
	h.service.Close()
	looked := now
	now = now.Add(db.ReadOnFor - time.Second)
	asOf, known, err := h.reads(t, h.manager)
	if err != nil || !known || !asOf.Equal(looked) || asOf.Location().String() != "America/Winnipeg" {
		t.Errorf("as of %v (%v), want %v on the outfit's clock; %v", asOf, known, looked, err)
	}
	if err := h.books.Read(t.Context(), h.manager, func(db.Outfit, *ledger.Book) error { return nil }); !db.Unavailable(err) {
		t.Errorf("who does not only read is answered without the database: %v", err)
	}
	now = now.Add(2 * time.Second)
	if _, _, err := h.reads(t, h.manager); err == nil {
		t.Errorf("reading goes on %v after the database answered", now.Sub(looked))
	}
}

// What was ended before the database went away is no good while it is away, wherever it
// was ended.
func TestWhoWasSentAwayReadsNothingWhileTheDatabaseIsAway(t *testing.T) {
	t.Parallel()
	for name, end := range map[string]func(t *testing.T, h *honeyHouse, token uuid.UUID){
		"by this process": func(t *testing.T, h *honeyHouse, token uuid.UUID) {
			if _, err := h.service.As(h.manager).RevokeToken(t.Context(), h.outfit, token); err != nil {
				t.Fatal(err)
			}
		},
		"by another process, seen with the next request": func(t *testing.T, h *honeyHouse, token uuid.UUID) {
			if _, err := h.operator.RevokeToken(t.Context(), h.outfit, token); err != nil {
				t.Fatal(err)
			}
			h.mustRead(t, h.manager)
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			h := open(t)
			secret, err := h.operator.CreateToken(t.Context(), h.outfit, "mirren", "lost phone")
			if err != nil {
				t.Fatal(err)
			}
			lost, err := h.books.SignIn(t.Context(), secret)
			if err != nil {
				t.Fatal(err)
			}
			h.mustRead(t, lost)
			tokens, err := h.service.Tokens(t.Context(), h.outfit)
			if err != nil {
				t.Fatal(err)
			}
			end(t, h, tokens[len(tokens)-1].ID)
			h.service.Close()
			if _, _, err := h.reads(t, lost); err == nil {
				t.Error("a token that was revoked reads on")
			}
		})
	}
}

// Feed keys, sessions and tablets are asked of the database each time, and are known to
// readers while it is away.
func TestFeedKeysAndSessionsAreKnownWhileTheDatabaseIsAway(t *testing.T) {
	t.Parallel()
	h := open(t)
	tablet, err := h.service.As(h.manager).CreateTablet(t.Context(), h.outfit, "by the extractor")
	if err != nil {
		t.Fatal(err)
	}
	sessions := db.Sessions{DB: h.service}
	reader, _ := db.WithAsKnown(t.Context())
	mine := func(ctx context.Context) context.Context { return db.WithOutfit(ctx, h.outfit) }
	over := time.Now().Add(10 * time.Second)
	for token, until := range map[string]time.Time{"open": time.Now().Add(time.Hour), "ended": time.Now().Add(time.Hour), "short": over} {
		if err := sessions.CommitCtx(mine(reader), token, []byte(token), until); err != nil {
			t.Fatal(err)
		}
		if _, found, err := sessions.FindCtx(mine(reader), token); !found || err != nil {
			t.Fatalf("%s: %v, %v", token, found, err)
		}
	}
	_, key, err := h.operator.CreateFeedKey(t.Context(), h.outfit, "spreadsheet", "tanks", "the operator")
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := h.service.FeedPrincipal(reader, key); err != nil {
		t.Fatal(err)
	}
	now := time.Now()
	h.service.Now = func() time.Time { return now }
	h.service.Close()

	if data, found, err := sessions.FindCtx(mine(reader), "open"); string(data) != "open" || !found || err != nil {
		t.Errorf("an open session: %q, %v, %v", data, found, err)
	}
	if _, _, err := sessions.FindCtx(mine(t.Context()), "open"); !db.Unavailable(err) {
		t.Errorf("a session for more than reading: %v", err)
	}
	if _, found, err := sessions.FindCtx(db.WithOutfit(reader, uuid.New()), "open"); found || err == nil {
		t.Errorf("a session of another outfit: %v, %v", found, err)
	}
	_ = sessions.DeleteCtx(mine(t.Context()), "ended") // the database is away, and does not hear of it
	if _, found, err := sessions.FindCtx(mine(reader), "ended"); found || err == nil {
		t.Errorf("a session that was ended here: %v, %v", found, err)
	}
	time.Sleep(time.Until(over)) // the database would say so by its own clock, and is away
	if _, found, err := sessions.FindCtx(mine(reader), "short"); found || err != nil {
		t.Errorf("a session that is over: %v, %v", found, err)
	}
	if p, feed, err := h.service.FeedPrincipal(reader, key); p.Role != db.Reader || p.Name != "spreadsheet" || feed != "tanks" || err != nil {
		t.Errorf("a feed key: %+v, %q, %v", p, feed, err)
	}
	if _, _, err := h.service.FeedPrincipal(reader, key[:len(key)-2]+"xx"); err == nil {
		t.Error("a key that was never seen reads")
	}
	if open, err := h.service.TabletUsed(reader, tablet, true); open || err == nil {
		t.Errorf("a tablet at which this process saw nobody: %v, %v", open, err)
	}
}

// A tablet locks by itself while the database is away, too.
func TestATabletLocksWhileTheDatabaseIsAway(t *testing.T) {
	t.Parallel()
	h := open(t)
	now := time.Now()
	h.service.Now = func() time.Time { return now }
	h.service.GoOnReading(2 * time.Hour)
	person, err := h.operator.PersonCalled(t.Context(), h.outfit, "Mirren")
	if err != nil {
		t.Fatal(err)
	}
	if err := h.service.As(h.manager).SetUnlock(t.Context(), h.outfit, person.ID, "908172"); err != nil {
		t.Fatal(err)
	}
	tablet, err := h.service.As(h.manager).CreateTablet(t.Context(), h.outfit, "by the extractor")
	if err != nil {
		t.Fatal(err)
	}
	if tablet, err = h.service.Unlock(t.Context(), tablet, person.ID, "908172"); err != nil {
		t.Fatal(err)
	}
	reader, _ := db.WithAsKnown(t.Context())
	if open, err := h.service.TabletUsed(reader, tablet, true); !open || err != nil {
		t.Fatal(open, err)
	}
	h.service.Close()
	for _, step := range []struct {
		after     time.Duration
		byAPerson bool
		open      bool
	}{{14 * time.Minute, true, true}, {14 * time.Minute, false, true}, {2 * time.Minute, false, false}, {time.Second, true, false}} {
		now = now.Add(step.after)
		if open, err := h.service.TabletUsed(reader, tablet, step.byAPerson); open != step.open || err != nil {
			t.Errorf("%+v: open %v, %v", step, open, err)
		}
	}
}

// A database that does not answer at all keeps readers waiting for a few seconds only.
func TestReadersGoOnWhileTheDatabaseIsSilent(t *testing.T) {
	t.Parallel()
	h := open(t)
	h.mustRead(t, h.manager)
	for range h.service.Pool.Config().MaxConns {
		conn, err := h.service.Pool.Acquire(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Release()
	}
	if _, known, err := h.reads(t, h.manager); err != nil || !known {
		t.Errorf("as known %v, %v", known, err)
	}
}

package db_test

import (
	"context"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/db/away"
)

// Feed keys, sessions and tablets are asked of the database each time, and are known to
// readers while it is away.
func TestFeedKeysAndSessionsAreKnownWhileTheDatabaseIsAway(t *testing.T) {
	t.Parallel()
	h := open(t)
	tablet, err := h.Service.As(h.Manager).CreateTablet(t.Context(), h.Outfit, "by the extractor")
	if err != nil {
		t.Fatal(err)
	}
	sessions := db.Sessions{DB: h.Service}
	reader, _ := away.WithReader(t.Context())
	mine := func(ctx context.Context) context.Context { return db.WithOutfit(ctx, h.Outfit) }
	over := time.Now().Add(time.Minute)
	for token, until := range map[string]time.Time{"open": time.Now().Add(time.Hour), "ended": time.Now().Add(time.Hour), "short": over} {
		if err := sessions.CommitCtx(mine(reader), token, []byte(token), until); err != nil {
			t.Fatal(err)
		}
		if _, found, err := sessions.FindCtx(mine(reader), token); !found || err != nil {
			t.Fatalf("%s: %v, %v", token, found, err)
		}
	}
	_, key, err := h.Operator.CreateFeedKey(t.Context(), h.Outfit, "spreadsheet", "tanks", "the operator")
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := h.Service.FeedPrincipal(reader, key); err != nil {
		t.Fatal(err)
	}
	now := time.Now()
	h.Service.Now = func() time.Time { return now }
	h.Service.Close()

	if data, found, err := sessions.FindCtx(mine(reader), "open"); string(data) != "open" || !found || err != nil {
		t.Errorf("an open session: %q, %v, %v", data, found, err)
	}
	if _, _, err := sessions.FindCtx(mine(t.Context()), "open"); !away.Unavailable(err) {
		t.Errorf("a session for more than reading: %v", err)
	}
	if _, found, err := sessions.FindCtx(db.WithOutfit(reader, uuid.New()), "open"); found || err == nil {
		t.Errorf("a session of another outfit: %v, %v", found, err)
	}
	_ = sessions.DeleteCtx(mine(t.Context()), "ended") // the database is away, and does not hear of it
	if _, found, err := sessions.FindCtx(mine(reader), "ended"); found || err == nil {
		t.Errorf("a session that was ended here: %v, %v", found, err)
	}
	now = over.Add(time.Second) // the database would say so by its own clock, and is away
	if _, found, err := sessions.FindCtx(mine(reader), "short"); found || err != nil {
		t.Errorf("a session that is over: %v, %v", found, err)
	}
	if p, feed, err := h.Service.FeedPrincipal(reader, key); p.Role != db.Reader || p.Name != "spreadsheet" || feed != "tanks" || err != nil {
		t.Errorf("a feed key: %+v, %q, %v", p, feed, err)
	}
	if _, _, err := h.Service.FeedPrincipal(reader, key[:len(key)-2]+"xx"); err == nil {
		t.Error("a key that was never seen reads")
	}
	if open, err := h.Service.TabletUsed(reader, tablet, true); open || err == nil {
		t.Errorf("a tablet at which this process saw nobody: %v, %v", open, err)
	}
}

// A tablet locks by itself while the database is away, too.
func TestATabletLocksWhileTheDatabaseIsAway(t *testing.T) {
	t.Parallel()
	h := open(t)
	now := time.Now()
	h.Service.Now = func() time.Time { return now }
	h.Service.Away.ReadOnFor = 2 * time.Hour
	person, err := h.Operator.PersonCalled(t.Context(), h.Outfit, "Mirren")
	if err != nil {
		t.Fatal(err)
	}
	if err := h.Service.As(h.Manager).SetUnlock(t.Context(), h.Outfit, person.ID, "908172"); err != nil {
		t.Fatal(err)
	}
	tablet, err := h.Service.As(h.Manager).CreateTablet(t.Context(), h.Outfit, "by the extractor")
	if err != nil {
		t.Fatal(err)
	}
	if tablet, err = h.Service.Unlock(t.Context(), tablet, person.ID, "908172"); err != nil {
		t.Fatal(err)
	}
	reader, _ := away.WithReader(t.Context())
	if open, err := h.Service.TabletUsed(reader, tablet, true); !open || err != nil {
		t.Fatal(open, err)
	}
	h.Service.Close()
	for _, step := range []struct {
		after     time.Duration
		byAPerson bool
		open      bool
	}{{14 * time.Minute, true, true}, {14 * time.Minute, false, true}, {2 * time.Minute, false, false}, {time.Second, true, false}} {
		now = now.Add(step.after)
		if open, err := h.Service.TabletUsed(reader, tablet, step.byAPerson); open != step.open || err != nil {
			t.Errorf("%+v: open %v, %v", step, open, err)
		}
	}
}

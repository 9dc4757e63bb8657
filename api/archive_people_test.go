package api_test

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"pullbook/db"
	"pullbook/db/books"
	"pullbook/domain/ledger"
)

// People travel with what they may do and without what they sign in with. What is
// set for them there is a new entry, and the audit holds there as well.
func TestPeopleOfAnArchiveGetNewSecretsByNewEntries(t *testing.T) {
	t.Parallel()
	here, there := openHouse(t), openHouse(t)
	o := here.newOutfit(t, "Fern Gully Honey")
	tam, err := here.operator.PersonCalled(t.Context(), o.id, "Tam")
	if err != nil {
		t.Fatal(err)
	}
	for _, err := range []error{
		here.operator.SetPassword(t.Context(), o.id, tam.ID, "four words for it"),
		here.operator.SetUnlock(t.Context(), o.id, tam.ID, "4711"),
		here.operator.SetRole(t.Context(), o.id, tam.ID, db.Reader),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	data := o.archive(t)
	for _, secret := range []string{o.manager, o.crew, "four words for it", "argon2id"} {
		if bytes.Contains([]byte(part(t, data, "entries.jsonl")), []byte(secret)) {
			t.Errorf("the entries hold the secret %q", secret)
		}
	}
	r, err := there.restore(t, data)
	if err != nil {
		t.Fatal(err)
	}
	audit := func() error {
		_, err := books.Audit(t.Context(), there.operator, r.Outfit)
		return err
	}
	if err := audit(); err != nil {
		t.Fatal(err)
	}
	moved, err := there.operator.PersonCalled(t.Context(), o.id, "Tam")
	if err != nil || moved.ID != tam.ID || moved.Role != db.Reader || moved.HasPassword || moved.HasUnlock {
		t.Errorf("%+v, %v", moved, err)
	}
	if err := there.operator.SetPassword(t.Context(), o.id, tam.ID, "other words for it"); err != nil {
		t.Fatal(err)
	}
	if err := audit(); err != nil {
		t.Error(err)
	}
	head, err := there.operator.Head(t.Context(), o.id)
	if err != nil || head.Number != r.After+1 {
		t.Errorf("a new password made the book %d entries long, after %d: %v", head.Number, r.After, err)
	}
}

// A token, a feed key or a tablet that is no good here stays no good where an archive
// continues the book, and somebody who is called otherwise since is so here.
func TestAnArchiveThatContinuesABookMakesNothingGoodAgain(t *testing.T) {
	t.Parallel()
	here, there := openHouse(t), openHouse(t)
	o := here.newOutfit(t, "Fern Gully Honey")
	if _, err := there.restore(t, o.archive(t)); err != nil {
		t.Fatal(err)
	}
	mirren := here.service.As(db.Principal{Name: "Mirren"})
	_, tokenErr := mirren.CreateToken(t.Context(), o.id, "Tam", "the scale")
	_, _, keyErr := mirren.CreateFeedKey(t.Context(), o.id, "the office", "", "Mirren")
	_, tabletErr := mirren.CreateTablet(t.Context(), o.id, "by the extractor")
	hook := db.Outgoing{Delivery: db.Delivery{ID: uuid.New(), Way: db.ByHook, Name: "the office's program", Address: "https://office.example/hidden-room", Language: "en", MadeBy: "Mirren", NextAt: clock}, Secret: "whsec_bmVpdGhlciBzaG93biBub3IgZXhwb3J0ZWQ="}
	hookErr := mirren.CreateDelivery(t.Context(), o.id, hook)
	if err := errors.Join(tokenErr, keyErr, tabletErr, hookErr); err != nil {
		t.Fatal(err)
	}
	o.renameTam(t, "Tamsin")
	for table, from := range map[string]string{
		"token":    "SELECT format('INSERT INTO token (outfit_id, token_id, person_id, name, hash, created_at, revoked_at) VALUES (%L, %L, %L, %L, %L, %L, now())', outfit_id, token_id, person_id, name, hash, created_at) FROM token WHERE name = 'the scale'",
		"feed key": "SELECT format('INSERT INTO feed_key (outfit_id, feed_key_id, name, made_by, hash, created_at, revoked_at) VALUES (%L, %L, %L, %L, %L, %L, now())', outfit_id, feed_key_id, name, made_by, hash, created_at) FROM feed_key",
		"delivery": "SELECT format('INSERT INTO delivery (outfit_id, delivery_id, way, name, address, secret, at_minute, language, made_by, created_at, ended_at, next_at) VALUES (%L, %L, %L, %L, %L, %L, 0, ''en'', %L, %L, now(), now())', outfit_id, delivery_id, way, name, address, secret, made_by, created_at) FROM delivery",
		"tablet":   "SELECT format('INSERT INTO tablet (outfit_id, tablet_id, name, created_at, revoked_at) VALUES (%L, %L, %L, %L, now())', outfit_id, tablet_id, name, created_at) FROM tablet",
	} {
		if rows := here.rows(t, from); len(rows) == 1 {
			asSuperuser(t, there.database, rows[0])
		} else {
			t.Fatalf("%s: %q", table, rows)
		}
	}
	archive := o.archive(t)
	if told := part(t, archive, "entries.jsonl"); strings.Contains(told, hook.Secret) || strings.Contains(told, "hidden-room") || !strings.Contains(told, "https://office.example") {
		t.Errorf("the archive tells of a web hook what it must not, or nothing: %s", told)
	}
	if r, err := there.restore(t, archive); err != nil || r.After == r.Before {
		t.Fatalf("%+v, %v", r, err)
	}
	if good := there.rows(t, "SELECT name FROM delivery WHERE ended_at IS NULL"); len(good) > 0 {
		t.Errorf("these deliveries go on again: %q", good)
	}
	for _, table := range []string{"token", "feed_key", "tablet"} {
		if good := there.rows(t, "SELECT name FROM "+table+" WHERE revoked_at IS NULL"); len(good) > 0 {
			t.Errorf("of the table %s these are good again: %q", table, good)
		}
	}
	if moved, err := there.operator.PersonCalled(t.Context(), o.id, "Tamsin"); err != nil || moved.Role != db.Crew {
		t.Errorf("%+v, %v", moved, err)
	}
}

// rows are what a query of one column of text gives.
func (h *honeyHouse) rows(t *testing.T, query string) []string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), h.database)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	rows, err := conn.Query(t.Context(), query)
	if err != nil {
		t.Fatal(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// renameTam has the book say that Tam is called otherwise, as a later version may.
func (o *outfit) renameTam(t *testing.T, name string) {
	t.Helper()
	head, err := o.operator.Head(t.Context(), o.id)
	if err != nil {
		t.Fatal(err)
	}
	p := db.Principal{Outfit: o.id, Name: "Mirren", Role: db.Manager, Access: head.Access}
	var tam ledger.OperatorPerson
	if err := o.books.Read(t.Context(), p, func(_ db.Outfit, b *ledger.Book) error {
		for e := range b.RecordedOf(ledger.KindOperator, 0) {
			if is := e.Body.(*ledger.Operator).Person; is != nil && is.Name == "Tam" {
				tam = *is
			}
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	tam.Name = name
	e := &ledger.Entry{ID: uuid.New(), Kind: ledger.KindOperator, OccurredAt: clock, Body: &ledger.Operator{Person: &tam}}
	if _, err := o.books.Append(t.Context(), p, e); err != nil {
		t.Fatal(err)
	}
}

// An archive from before books told of people comes in: its book begins to tell of them
// as they are found, by entries that come after.
func TestAnArchiveFromBeforeBooksToldOfPeopleComesIn(t *testing.T) {
	t.Parallel()
	here, there := openHouse(t), openHouse(t)
	outfit, odell := uuid.New(), uuid.New()
	for _, sql := range []string{
		"INSERT INTO outfit (outfit_id, name, time_zone, units) VALUES ($1, 'Fern Gully Honey', 'America/Winnipeg', 'us')",
		"INSERT INTO book (outfit_id) VALUES ($1)",
		"INSERT INTO person (outfit_id, person_id, name, role, left_at) VALUES ($1, gen_random_uuid(), 'Tam', 'crew', now())",
	} {
		asSuperuser(t, here.database, sql, outfit)
	}
	asSuperuser(t, here.database, "INSERT INTO person (outfit_id, person_id, name, role) VALUES ($1, $2, 'Odell', 'manager')", outfit, odell)
	head, err := here.operator.Head(t.Context(), outfit)
	if err != nil {
		t.Fatal(err)
	}
	p := db.Principal{Outfit: outfit, Name: "Odell", Role: db.Manager, Access: head.Access}
	for _, name := range []string{"Alder Bend", "Dry Ford"} {
		if _, err := here.books.Append(t.Context(), p, &ledger.Entry{ID: uuid.New(), Kind: ledger.KindYard, OccurredAt: clock, Body: &ledger.Yard{Name: name}}); err != nil {
			t.Fatal(err)
		}
	}
	data := here.archived(t, outfit)
	if strings.Contains(part(t, data, "entries.jsonl"), `"operator"`) {
		t.Fatal("the archive tells of people")
	}
	r, err := there.restore(t, data)
	if err != nil || r.Before != 0 || r.After != 2+3 {
		t.Fatalf("%+v, %v", r, err)
	}
	audit := func() {
		t.Helper()
		book, err := books.Audit(t.Context(), there.operator, r.Outfit)
		if err != nil {
			t.Fatal(err)
		}
		for n := int64(3); n <= 5; n++ {
			if e := book.Numbered(n); e.Kind != ledger.KindOperator || e.Via != ledger.ViaFound {
				t.Errorf("entry %d is of kind %s, via %s", n, e.Kind, e.Via)
			}
		}
	}
	audit()
	if moved, err := there.operator.PersonCalled(t.Context(), outfit, "Odell"); err != nil || moved.ID != odell || moved.Role != db.Manager {
		t.Errorf("%+v, %v", moved, err)
	}
	if err := there.operator.SetPassword(t.Context(), outfit, odell, "four words for it"); err != nil {
		t.Fatal(err)
	}
	audit()
	if again, err := there.restore(t, data); err != nil || again.After != again.Before {
		t.Errorf("the same archive again: %+v, %v", again, err)
	}
	if again, err := openHouse(t).restore(t, there.archived(t, outfit)); err != nil || again.After != 6 {
		t.Errorf("its archive from there: %+v, %v", again, err)
	}
}

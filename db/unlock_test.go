package db_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/alexedwards/argon2id"
	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/fault"
)

// A code that was chosen before the commonest were refused lets nobody in, though it is
// the right one: whoever guesses begins with it.
func TestACommonCodeFromBeforeOpensNoTablet(t *testing.T) {
	t.Parallel()
	h := open(t)
	manager := h.Service.As(h.Manager)
	odell := db.Person{ID: uuid.New(), Name: "Odell", Role: db.Crew}
	tablet, err := manager.CreateTablet(t.Context(), h.Outfit, "by the extractor")
	if err := errors.Join(err, manager.CreatePersonWithPassword(t.Context(), h.Outfit, odell, "four words for it"),
		manager.SetUnlock(t.Context(), h.Outfit, odell.ID, "4711")); err != nil {
		t.Fatal(err)
	}
	unlock := func(code string) error {
		_, err := h.Service.Unlock(t.Context(), db.Session{Outfit: h.Outfit, Tablet: tablet.Tablet}, odell.ID, code)
		return err
	}
	if err := unlock("4711"); err != nil {
		t.Fatalf("with a code that can be chosen: %v", err)
	}
	hash, err := argon2id.CreateHash("1234", argon2id.DefaultParams)
	if err != nil {
		t.Fatal(err)
	}
	h.Superuser(t, "UPDATE person SET unlock_hash = '"+hash+"' WHERE name = 'Odell'")
	if err := unlock("1234"); fault.CodeOf(err) != fault.SignIn || !strings.Contains(err.Error(), "opens no tablet any more") {
		t.Errorf("with 1234: %v", err)
	}
}

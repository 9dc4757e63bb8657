package api_test

import (
	"bytes"
	"testing"

	"pullbook/db"
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
		_, err := there.operator.Audit(t.Context(), r.Outfit)
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

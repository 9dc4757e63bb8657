package books_test

import (
	"bytes"
	"testing"

	"github.com/google/uuid"

	"pullbook/db"
	"pullbook/domain/archive"
	"pullbook/domain/fault"
)

// With less room than PostgreSQL needs nothing new is stored, by whatever way it comes,
// and nothing half; rights are taken away all the same.
func TestOnAFullDiskNothingNewIsStoredByAnyWay(t *testing.T) {
	t.Parallel()
	h := open(t)
	o, err := h.Service.Outfit(t.Context(), h.Outfit)
	if err != nil {
		t.Fatal(err)
	}
	var file bytes.Buffer
	if _, err := h.Service.WriteArchive(t.Context(), o, &file, func(*archive.Writer) (string, error) { return "none", nil }); err != nil {
		t.Fatal(err)
	}
	a, err := archive.Open(bytes.NewReader(file.Bytes()), int64(file.Len()))
	if err != nil {
		t.Fatal(err)
	}
	elsewhere := open(t)
	before := h.head(t)
	left := 0
	room := func() error {
		if left--; left < 0 {
			return db.ErrFull("/var/lib/pullbook")
		}
		return nil
	}
	h.Service.Room, h.Operator.Room, elsewhere.Operator.Room = room, room, room
	service := h.Service.As(h.Manager)
	sheet := func() error {
		_, err := h.Books.Import(t.Context(), h.Manager, uuid.New(), yards(3000, "old yard"))
		return err
	}
	for _, way := range []struct {
		name string
		left int // how often there is room
		do   func() error
	}{
		{"an outfit", 0, func() error {
			return h.Operator.CreateOutfit(t.Context(), db.Outfit{ID: uuid.New(), Name: "Marsh Honey", TimeZone: "Europe/Madrid", Units: "metric"})
		}},
		{"a person", 0, func() error {
			return service.CreatePerson(t.Context(), h.Outfit, db.Person{ID: uuid.New(), Name: "Odell", Role: db.Crew})
		}},
		{"a token", 0, func() error { _, err := service.CreateToken(t.Context(), h.Outfit, "mirren", "phone"); return err }},
		{"a feed key", 0, func() error {
			_, _, err := service.CreateFeedKey(t.Context(), h.Outfit, "office", "", "Mirren")
			return err
		}},
		{"a tablet", 0, func() error { _, err := service.CreateTablet(t.Context(), h.Outfit, "by the extractor"); return err }},
		{"a sheet", 0, sheet},
		{"a sheet that fills the disk", 2, sheet},
		{"an archive", 0, func() error { _, err := elsewhere.Operator.RestoreArchive(t.Context(), a); return err }},
	} {
		left = way.left
		if err := way.do(); fault.CodeOf(err) != fault.Full {
			t.Errorf("%s: %v", way.name, err)
		}
	}
	if after := h.head(t); after != before {
		t.Errorf("the book ends with entry %d, ended with %d", after, before)
	}
	if _, err := elsewhere.Operator.Outfit(t.Context(), h.Outfit); fault.CodeOf(err) != fault.NotFound {
		t.Errorf("of the archive something was stored: %v", err)
	}
	tokens, err := service.Tokens(t.Context(), h.Outfit)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := service.RevokeToken(t.Context(), h.Outfit, tokens[0].ID); err != nil {
		t.Errorf("a token cannot be revoked on a full disk: %v", err)
	}
}

// head is the number of the book's last entry in the database.
func (h *honeyHouse) head(t *testing.T) int64 {
	t.Helper()
	head, err := h.Service.Head(t.Context(), h.Outfit)
	if err != nil {
		t.Fatal(err)
	}
	return head.Number
}

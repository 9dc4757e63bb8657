package api_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"image"
	"image/jpeg"
	"net/http"
	"strings"
	"testing"

	"pullbook/db/books"
)

// aPicture is a small photograph, another one for each shade.
func aPicture(t *testing.T, shade uint8) []byte {
	t.Helper()
	grey := image.NewGray(image.Rect(0, 0, 60, 80))
	for i := range grey.Pix {
		grey.Pix[i] = shade
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, grey, nil); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// photoOf is a picture as the interface tells of it.
type photoOf struct {
	Number    int64
	ID        string
	SHA256    string
	EntryID   string `json:"entry_id"`
	FileName  string `json:"file_name"`
	MediaType string `json:"media_type"`
	Bytes     int64
	Withdrawn bool
}

func (o *outfit) putPhoto(t *testing.T, token, photo, entry string, content []byte) reply {
	t.Helper()
	kind, body := uploadOf(t, formPart{field: "id", content: photo}, formPart{field: "entry_id", content: entry}, formPart{field: "file", file: "label.jpg", kind: "text/html", content: string(content)})
	return o.sendWith(t, http.MethodPost, "/v1/photos", http.Header{"Authorization": {"Bearer " + token}, "Content-Type": {kind}}, body)
}

// TestAPictureGoesWithItsEntry: crew put it in, it comes back byte for byte, and the book's
// digest covers it.
func TestAPictureGoesWithItsEntry(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	s := h.newShed(t, "Fern Gully Honey")
	picture, kept := aPicture(t, 90), id()
	before := s.head(t).LastEntry
	r := s.putPhoto(t, s.crew, kept, s.drum1, picture)
	digest := sha256.Sum256(picture)
	if got := as[photoOf](t, r); r.status != http.StatusCreated || got.SHA256 != hex.EncodeToString(digest[:]) || got.EntryID != s.drum1 || got.FileName != "label.jpg" || got.MediaType != "image/jpeg" || got.Bytes != int64(len(picture)) {
		t.Fatalf("a picture: %d %s", r.status, r.raw)
	}
	for what, again := range map[string]string{"sent again": kept, "the same bytes under another id": id()} {
		if r := s.putPhoto(t, s.crew, again, s.drum1, picture); r.status != http.StatusOK || as[photoOf](t, r).ID != kept {
			t.Errorf("%s: %d %s", what, r.status, r.raw)
		}
	}
	if n := s.head(t).LastEntry - before; n != 1 {
		t.Errorf("one picture made %d entries", n)
	}
	if r := s.sendWith(t, http.MethodGet, "/v1/photos/"+kept+"/file", http.Header{"Authorization": {"Bearer " + s.crew}}, nil); r.status != http.StatusOK || !bytes.Equal(r.raw, picture) {
		t.Errorf("the picture comes back as %d, %d bytes", r.status, len(r.raw))
	}
	if got := read[[]photoOf](t, s.outfit, "photos?entry="+s.drum1); len(got) != 1 || got[0].ID != kept {
		t.Errorf("the drum's pictures are %+v", got)
	}
	if got := read[[]photoOf](t, s.outfit, "photos?lot="+s.lot); len(got) != 1 {
		t.Errorf("the lot's pictures are %+v", got)
	}
	if r := s.sendWith(t, http.MethodGet, "/v1/laboratory-certificates/"+kept+"/file", http.Header{"Authorization": {"Bearer " + s.crew}}, nil); r.status != http.StatusNotFound {
		t.Errorf("as a certificate it is %d", r.status)
	}

	// It moves with the book, and the audit of each sees that it is there.
	there := openHouse(t)
	moved, err := there.restore(t, s.archive(t))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := books.Audit(t.Context(), there.operator, moved.Outfit); err != nil {
		t.Error(err)
	}
	asSuperuser(t, there.database, `ALTER TABLE certificate_file DROP CONSTRAINT content_has_its_digest`)
	asSuperuser(t, there.database, `UPDATE certificate_file SET content = set_byte(content, 30, 33)`)
	if _, err := books.Audit(t.Context(), there.operator, moved.Outfit); err == nil || !strings.Contains(err.Error(), "names the picture label.jpg, whose file was altered") {
		t.Errorf("the audit of an altered picture: %v", err)
	}
	asSuperuser(t, there.database, `DELETE FROM certificate_file`)
	if _, err := books.Audit(t.Context(), there.operator, moved.Outfit); err == nil || !strings.Contains(err.Error(), "is missing") {
		t.Errorf("the audit of a missing picture: %v", err)
	}
}

// TestWhatIsNoPictureOfAnEntryIsRefused, and nothing of it is stored.
func TestWhatIsNoPictureOfAnEntryIsRefused(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	s := h.newShed(t, "Fern Gully Honey")
	gone := s.book(t, "readings", s.aReading()).ID
	s.book(t, "withdrawals", M{"id": id(), "occurred_at": at(22, "9:00"), "replaces": gone, "reason": "misread"})
	result := s.aLaboratoryResult(t)
	paper := id()
	s.putCertificate(t, s.crew, paper, result, "26-1207.pdf", aPDF("17.1 %"))
	for shade := range uint8(3) {
		if r := s.putPhoto(t, s.crew, id(), s.run, aPicture(t, 40+shade)); r.status != http.StatusCreated {
			t.Fatalf("picture %d of a run: %d %s", shade+1, r.status, r.raw)
		}
	}
	good := aPicture(t, 90)
	for _, c := range []struct {
		what, entry, says string
		content           []byte
		status            int
	}{
		{"a PDF", s.drum1, "no JPEG or PNG picture", aPDF("a label"), http.StatusUnprocessableEntity},
		{"a page", s.drum1, "no JPEG or PNG picture", []byte("<html>"), http.StatusUnprocessableEntity},
		{"nothing", s.drum1, "The picture is empty", nil, http.StatusUnprocessableEntity},
		{"half a head", s.drum1, "damaged or was cut short", good[:20], http.StatusUnprocessableEntity},
		{"more than it may have", s.drum1, "may have 512 kB", append(bytes.Clone(good), make([]byte, 512<<10)...), http.StatusRequestEntityTooLarge},
		{"far more", s.drum1, "may have 512 kB", append(bytes.Clone(good), make([]byte, 2<<20)...), http.StatusRequestEntityTooLarge},
		{"one of no entry", never, "record the entry first", good, http.StatusUnprocessableEntity},
		{"one of a certificate", paper, "which has no pictures", good, http.StatusUnprocessableEntity},
		{"one of what was withdrawn", gone, "was withdrawn", good, http.StatusConflict},
		{"a fourth", s.run, "has 3 pictures", good, http.StatusUnprocessableEntity},
	} {
		before := s.head(t)
		if r := s.putPhoto(t, s.crew, id(), c.entry, c.content); r.status != c.status || !strings.Contains(string(r.raw), c.says) {
			t.Errorf("%s: %d %s", c.what, r.status, r.raw)
		}
		if s.head(t) != before {
			t.Errorf("%s: refused, and something stayed", c.what)
		}
	}
}

package api_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"image"
	"image/jpeg"
	"mime"
	"mime/multipart"
	"net/http"
	"net/textproto"
	"strings"
	"testing"

	"pullbook/api/apitest"
	"pullbook/db/books"
)

// aPDF is a PDF that says no more than some words.
func aPDF(words string) []byte { return []byte("%PDF-1.7\n% " + words + "\n%%EOF\n") }

func aPhotograph(t *testing.T) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := jpeg.Encode(&out, image.NewGray(image.Rect(0, 0, 60, 80)), nil); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// certificateOf is a laboratory's certificate as the interface tells of it.
type certificateOf struct {
	Number     int64
	ID, SHA256 string
	ReadingID  string `json:"reading_id"`
	FileName   string `json:"file_name"`
	MediaType  string `json:"media_type"`
	RecordedBy string `json:"recorded_by"`
	Bytes      int64
	Withdrawn  bool
}

// part is one of a form; it is a file where it has a name.
type formPart struct{ field, file, kind, content string }

func uploadOf(t *testing.T, parts ...formPart) (contentType string, body []byte) {
	t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for _, p := range parts {
		head := textproto.MIMEHeader{"Content-Disposition": {fmt.Sprintf("form-data; name=%q", p.field)}}
		if p.file != "" {
			head.Set("Content-Disposition", mime.FormatMediaType("form-data", map[string]string{"name": p.field, "filename": p.file}))
			head.Set("Content-Type", p.kind)
		}
		to, err := w.CreatePart(head)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := to.Write([]byte(p.content)); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return w.FormDataContentType(), b.Bytes()
}

func (o *outfit) putParts(t *testing.T, token string, parts ...formPart) reply {
	t.Helper()
	kind, body := uploadOf(t, parts...)
	return o.sendWith(t, http.MethodPost, "/v1/laboratory-certificates", http.Header{"Authorization": {"Bearer " + token}, "Content-Type": {kind}}, body)
}

// putCertificate sends a file under an id.
func (o *outfit) putCertificate(t *testing.T, token, entry, reading, name string, content []byte) reply {
	t.Helper()
	return o.putParts(t, token, formPart{field: "id", content: entry}, formPart{field: "reading_id", content: reading},
		formPart{field: "file", file: name, kind: "text/html", content: string(content)}) // what the sender says of it counts for nothing
}

// aLaboratoryResult is recorded on the shed's lot.
func (s *shed) aLaboratoryResult(t *testing.T) string {
	t.Helper()
	return s.book(t, "readings", M{"id": id(), "occurred_at": at(21, "16:00"), "on": M{"kind": "lot", "id": s.lot}, "laboratory": "Fern Valley",
		"certificate_number": "26-1207", "moisture_pct": 17.1}).ID
}

func TestALaboratorysCertificateIsKeptWithItsResult(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	result, file, entry := s.aLaboratoryResult(t), aPDF("26-1207"), id()
	r := s.putCertificate(t, s.crew, entry, result, `C:\Análisis "26-1207".exe`, file)
	if r.status != http.StatusCreated || r.header.Get("Location") != "/v1/laboratory-certificates/"+entry+"/file" {
		t.Fatalf("%d %s %s", r.status, r.header.Get("Location"), r.raw)
	}
	got, digest := as[certificateOf](t, r), sha256.Sum256(file)
	if got.ID != entry || got.ReadingID != result || got.FileName != "Análisis 26-1207.pdf" || got.MediaType != "application/pdf" || got.Bytes != int64(len(file)) || got.SHA256 != hex.EncodeToString(digest[:]) {
		t.Errorf("%+v", got)
	}
	// Whoever may read the result may read the certificate.
	for _, token := range []string{s.manager, s.crew, s.reader} {
		r := s.send(t, http.MethodGet, "/v1/laboratory-certificates/"+entry+"/file", token, nil)
		if r.status != http.StatusOK || !bytes.Equal(r.raw, file) {
			t.Fatalf("%d, %d bytes", r.status, len(r.raw))
		}
		_, disposition, err := mime.ParseMediaType(r.header.Get("Content-Disposition"))
		if err != nil || disposition["filename"] != got.FileName || !strings.HasPrefix(r.header.Get("Content-Disposition"), "attachment") ||
			r.header.Get("Content-Type") != "application/pdf" || r.header.Get("X-Content-Type-Options") != "nosniff" || r.header.Get("Content-Security-Policy") != "default-src 'none'; sandbox" {
			t.Errorf("%v", r.header)
		}
	}
	again := s.sendWith(t, http.MethodGet, "/v1/laboratory-certificates/"+entry+"/file", http.Header{"Authorization": {"Bearer " + s.reader}, "If-None-Match": {`"` + got.SHA256 + `"`}}, nil)
	if again.status != http.StatusNotModified || len(again.raw) > 0 {
		t.Errorf("the same file asked for again: %d, %d bytes", again.status, len(again.raw))
	}
	photograph := aPhotograph(t)
	if r := s.putCertificate(t, s.manager, id(), result, "IMG_0042", photograph); r.status != http.StatusCreated || as[certificateOf](t, r).FileName != "IMG_0042.jpg" {
		t.Errorf("a photograph: %d %s", r.status, r.raw)
	}
	for _, path := range []string{"laboratory-certificates", "laboratory-certificates?reading=" + result, "laboratory-certificates?lot=L26-001"} {
		if all := read[[]certificateOf](t, s.outfit, path); len(all) != 2 || all[0].ID != entry || all[1].MediaType != "image/jpeg" {
			t.Errorf("%s: %+v", path, all)
		}
	}
	if none := read[[]certificateOf](t, s.outfit, "laboratory-certificates?reading="+id()); len(none) != 0 {
		t.Errorf("of no result: %+v", none)
	}
	for _, e := range read[[]struct {
		ID           string
		Certificates []certificateOf
	}](t, s.outfit, "readings") {
		if want := map[string]int{result: 2}[e.ID]; len(e.Certificates) != want {
			t.Errorf("the reading %s lists %d certificates", e.ID, len(e.Certificates))
		}
	}
	// Withdrawn, it is no longer with the result; the paper is still there to be looked at.
	s.book(t, "withdrawals", M{"id": id(), "occurred_at": at(22, "9:00"), "replaces": entry, "reason": "the wrong paper"})
	if all := read[[]certificateOf](t, s.outfit, "laboratory-certificates"); len(all) != 2 || !all[0].Withdrawn || all[1].Withdrawn {
		t.Errorf("withdrawn: %+v", all)
	}
	if r := s.send(t, http.MethodGet, "/v1/laboratory-certificates/"+entry+"/file", s.reader, nil); r.status != http.StatusOK {
		t.Errorf("a withdrawn one: %d", r.status)
	}
	s.audited(t)
}

// sendAs sends an entry by a token.
func (o *outfit) sendAs(t *testing.T, token, path string, body M) reply {
	t.Helper()
	text, err := json.Marshal(body)
	if err != nil {
		t.Fatal(err)
	}
	return o.send(t, http.MethodPost, "/v1/"+path, token, text)
}

// audited fails where an audit finds something.
func (o *outfit) audited(t *testing.T) {
	t.Helper()
	found, err := o.operator.Outfit(t.Context(), o.id)
	if err == nil {
		_, err = books.Audit(t.Context(), o.operator, found)
	}
	if err != nil {
		t.Error(err)
	}
}

func TestACertificateThatIsSentAgainIsKeptOnce(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	result, other, entry := s.aLaboratoryResult(t), s.aLaboratoryResult(t), id()
	first := s.putCertificate(t, s.crew, entry, result, "26-1207.pdf", aPDF("26-1207"))
	head := s.head(t).LastEntry
	s.loseMemory(t)
	for what, r := range map[string]reply{
		"the same upload":           s.putCertificate(t, s.crew, entry, result, "26-1207.pdf", aPDF("26-1207")),
		"the same bytes, a new id":  s.putCertificate(t, s.manager, id(), result, "copy.pdf", aPDF("26-1207")),
		"the same bytes, unnamed":   s.putCertificate(t, s.crew, id(), result, "x", aPDF("26-1207")),
		"the same upload once more": s.putCertificate(t, s.manager, entry, result, "26-1207.pdf", aPDF("26-1207")),
	} {
		if r.status != http.StatusOK || !bytes.Equal(r.raw, first.raw) {
			t.Errorf("%s: %d %s", what, r.status, r.raw)
		}
	}
	for what, r := range map[string]reply{
		"another file under its id":   s.putCertificate(t, s.crew, entry, result, "26-1207.pdf", aPDF("26-1208")),
		"another result under its id": s.putCertificate(t, s.crew, entry, other, "26-1207.pdf", aPDF("26-1207")),
	} {
		if r.status != http.StatusConflict {
			t.Errorf("%s: %d %s", what, r.status, r.raw)
		}
	}
	if now := s.head(t).LastEntry; now != head {
		t.Errorf("%d entries more", now-head)
	}
	// One paper may tell of two results.
	if r := s.putCertificate(t, s.crew, id(), other, "26-1207.pdf", aPDF("26-1207")); r.status != http.StatusCreated {
		t.Errorf("%d %s", r.status, r.raw)
	}
	s.audited(t)
}

func TestWhatIsNoCertificateIsRefusedAndNothingOfItIsStored(t *testing.T) {
	t.Parallel()
	h := openHouse(t)
	s, o := h.newShed(t, "Fern Gully Honey"), h.newOutfit(t, "Two Rivers Honey")
	result, own := s.aLaboratoryResult(t), s.book(t, "readings", s.aReading("moisture_pct", 17.4)).ID
	kept := id()
	if r := s.putCertificate(t, s.crew, kept, result, "a.pdf", aPDF("a")); r.status != http.StatusCreated {
		t.Fatalf("%d %s", r.status, r.raw)
	}
	before := s.head(t).LastEntry
	head := append([]byte("IHDR"), binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, 60_000), 60_000)...)
	head = append(head, 8, 0, 0, 0, 0)
	huge := binary.BigEndian.AppendUint32(append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0d"), head...), crc32.ChecksumIEEE(head))
	part := func(field, content string) formPart { return formPart{field: field, content: content} }
	pdf := formPart{"file", "a.pdf", "application/pdf", string(aPDF("b"))}
	for _, c := range []struct {
		what, at, says string
		status         int
		r              reply
	}{
		{"a page of the web called a PDF", "/file", "no PDF", 422, s.putCertificate(t, s.crew, id(), result, "a.pdf", []byte("<html><script>1</script>"))},
		{"a picture of 3.6 thousand million pixels", "/file", "60000 by 60000 pixels", 422, s.putCertificate(t, s.crew, id(), result, "a.png", huge)},
		{"half a picture", "/file", "cut short", 422, s.putCertificate(t, s.crew, id(), result, "a.jpg", aPhotograph(t)[:30])},
		{"nothing", "/file", "empty", 422, s.putCertificate(t, s.crew, id(), result, "a.pdf", nil)},
		{"a byte too much", "/file", "5 MB", 413, s.putCertificate(t, s.crew, id(), result, "a.pdf", append(aPDF("x"), make([]byte, 5<<20)...))},
		{"far too much", "/file", "5 MB", 413, s.putCertificate(t, s.crew, id(), result, "a.pdf", make([]byte, 9<<20))},
		{"a reading of the house's own", "/reading_id", "no laboratory's result", 422, s.putCertificate(t, s.crew, id(), own, "a.pdf", aPDF("b"))},
		{"a lot", "/reading_id", "This is a lot", 422, s.putCertificate(t, s.crew, id(), s.lot, "a.pdf", aPDF("b"))},
		{"another outfit's result", "/reading_id", "no reading with this id", 422, o.putCertificate(t, o.crew, id(), result, "a.pdf", aPDF("b"))},
		{"the id of another entry", "/id", "with other content", 409, s.putCertificate(t, s.crew, own, result, "a.pdf", aPDF("b"))},
		{"no result", "/reading_id", "missing", 422, s.putParts(t, s.crew, part("id", id()), pdf)},
		{"no id", "/id", "missing", 422, s.putParts(t, s.crew, part("reading_id", result), pdf)},
		{"no file", "/file", "missing", 422, s.putParts(t, s.crew, part("id", id()), part("reading_id", result))},
		{"an id that is none", "/id", "UUID", 422, s.putParts(t, s.crew, part("id", "1"), part("reading_id", result), pdf)},
		{"a part that nobody knows", "/as", "no such part", 422, s.putParts(t, s.crew, part("as", "x"), pdf)},
		{"a part behind the file", "/file", "last part", 422, s.putParts(t, s.crew, part("id", id()), part("reading_id", result), pdf, pdf)},
	} {
		p := as[problem](t, c.r)
		if c.r.status != c.status || len(p.Errors) != 1 || p.Errors[0].Pointer != c.at || !strings.Contains(p.Errors[0].Detail, c.says) {
			t.Errorf("%s: %d %s", c.what, c.r.status, c.r.raw)
		}
	}
	kind, whole := uploadOf(t, part("id", id()), part("reading_id", result), pdf)
	for what, r := range map[string]reply{
		"a form cut short": s.sendWith(t, http.MethodPost, "/v1/laboratory-certificates", http.Header{"Authorization": {"Bearer " + s.crew}, "Content-Type": {kind}}, whole[:len(whole)-10]),
		"no form":          s.send(t, http.MethodPost, "/v1/laboratory-certificates", s.crew, []byte("{}")),
	} {
		if r.status != http.StatusBadRequest {
			t.Errorf("%s: %d %s", what, r.status, r.raw)
		}
	}
	for what, r := range map[string]reply{
		"a reader puts one in":   s.putCertificate(t, s.reader, id(), result, "a.pdf", aPDF("b")),
		"the crew withdraws one": s.sendAs(t, s.crew, "withdrawals", M{"id": id(), "occurred_at": at(22, "9:00"), "replaces": kept, "reason": "mine"}),
	} {
		if r.status != http.StatusForbidden {
			t.Errorf("%s: %d %s", what, r.status, r.raw)
		}
	}
	if r := s.putCertificate(t, "none", id(), result, "a.pdf", aPDF("b")); r.status != http.StatusUnauthorized {
		t.Errorf("somebody without a token: %d", r.status)
	}
	for what, path := range map[string]string{"another outfit's certificate": kept, "an entry that is none": own, "nothing": id()} {
		token := s.reader
		if path == kept {
			token = o.manager
		}
		if r := s.send(t, http.MethodGet, "/v1/laboratory-certificates/"+path+"/file", token, nil); r.status != http.StatusNotFound {
			t.Errorf("%s: %d", what, r.status)
		}
	}
	if now := s.head(t).LastEntry; now != before {
		t.Errorf("%d entries were stored", now-before)
	}
	s.audited(t)
	o.audited(t)
}

// A file that somebody altered in the database is not handed out as if it were the paper.
func TestAnAlteredCertificateIsNotHandedOut(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	entry := id()
	s.putCertificate(t, s.crew, entry, s.aLaboratoryResult(t), "a.pdf", aPDF("17.1 %"))
	asSuperuser(t, s.database, `ALTER TABLE certificate_file DROP CONSTRAINT content_has_its_digest`)
	asSuperuser(t, s.database, `UPDATE certificate_file SET content = convert_to(replace(convert_from(content, 'UTF8'), '17.1', '16.1'), 'UTF8')`)
	if r := s.send(t, http.MethodGet, "/v1/laboratory-certificates/"+entry+"/file", s.reader, nil); r.status != http.StatusInternalServerError || strings.Contains(string(r.raw), "16.1") {
		t.Errorf("%d %s", r.status, r.raw)
	}
	asSuperuser(t, s.database, `DELETE FROM certificate_file`)
	if r := s.send(t, http.MethodGet, "/v1/laboratory-certificates/"+entry+"/file", s.reader, nil); r.status != http.StatusNotFound || !strings.Contains(string(r.raw), "backup") {
		t.Errorf("%d %s", r.status, r.raw)
	}
	// The book itself opens as always.
	s.loseMemory(t)
	if n := len(read[[]certificateOf](t, s.outfit, "laboratory-certificates")); n != 1 {
		t.Errorf("%d certificates are listed", n)
	}
}

// TestARealPDFComesBackAsItWent: one written by hand, and one that a program made.
func TestARealPDFComesBackAsItWent(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	for what, pdf := range map[string][]byte{"written by hand": apitest.WrittenPDF("26-1207"), "made by a program": s.pdf(t)} {
		entry := id()
		if r := s.putCertificate(t, s.crew, entry, s.aLaboratoryResult(t), "report.pdf", pdf); r.status != http.StatusCreated || as[certificateOf](t, r).MediaType != "application/pdf" {
			t.Errorf("a PDF %s: %d %s", what, r.status, r.raw)
		}
		if r := s.send(t, http.MethodGet, "/v1/laboratory-certificates/"+entry+"/file", s.reader, nil); !bytes.Equal(r.raw, pdf) {
			t.Errorf("a PDF %s came back otherwise", what)
		}
	}
	s.audited(t)
}

package api_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"net/http"
	"strings"
	"testing"

	"pullbook/db/books"
	"pullbook/domain/archive"
)

// An outfit that moves takes its certificates along: each lies in the archive under its
// digest, and is there afterwards byte for byte. What was withdrawn is kept too, and a
// paper of two results once.
func TestAnArchiveCarriesTheCertificates(t *testing.T) {
	t.Parallel()
	here, there := openHouse(t), openHouse(t)
	s := here.newShed(t, "Fern Gully Honey")
	result, other, withdrawn, kept := s.aLaboratoryResult(t), s.aLaboratoryResult(t), id(), id()
	s.putCertificate(t, s.crew, withdrawn, result, "wrong.pdf", aPDF("of another lot"))
	s.book(t, "withdrawals", M{"id": id(), "occurred_at": at(22, "9:00"), "replaces": withdrawn, "reason": "the wrong paper"})
	early := s.archive(t)
	photograph := aPhotograph(t)
	s.putCertificate(t, s.crew, kept, result, "26-1207.jpg", photograph)
	s.putCertificate(t, s.crew, id(), other, "26-1207.jpg", photograph)
	data := s.archive(t)

	digest := sha256.Sum256(photograph)
	if name := "certificates/" + hex.EncodeToString(digest[:]) + ".jpg"; part(t, data, name) != string(photograph) || !strings.Contains(part(t, data, archive.ManifestFile), name) {
		t.Errorf("the archive has no %s, or its manifest does not list it", name)
	}
	if n := strings.Count(part(t, data, archive.ManifestFile), archive.CertificatesFolder); n != 2 {
		t.Errorf("the manifest lists %d certificates", n)
	}
	for _, d := range [][]byte{early, data, data, early} { // begun, continued, the same again, an older one
		r, err := there.restore(t, d)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := books.Audit(t.Context(), there.operator, r.Outfit); err != nil {
			t.Fatal(err)
		}
	}
	if back := there.archived(t, s.id); !bytes.Equal(back, data) {
		t.Errorf("the archive from there has %d bytes, and is another than that of %d bytes from here", len(back), len(data))
	}
	secret, err := there.operator.CreateToken(t.Context(), s.id, "Mirren", "after the move")
	if err != nil {
		t.Fatal(err)
	}
	if r := there.send(t, http.MethodGet, "/v1/laboratory-certificates/"+kept+"/file", secret, nil); r.status != http.StatusOK || !bytes.Equal(r.raw, photograph) {
		t.Errorf("there it is %d, %d bytes", r.status, len(r.raw))
	}
	// A file that the database lost comes back from an archive that is no newer.
	asSuperuser(t, there.database, `DELETE FROM certificate_file`)
	r, err := there.restore(t, data)
	if err == nil {
		_, err = books.Audit(t.Context(), there.operator, r.Outfit)
	}
	if err != nil {
		t.Errorf("brought back: %v", err)
	}
}

func TestAnArchiveWhoseCertificatesAreNotAsTheyWereIsRefusedWhole(t *testing.T) {
	t.Parallel()
	here, there := openHouse(t), openHouse(t)
	s := here.newShed(t, "Fern Gully Honey")
	content := aPDF("17.1 %")
	s.putCertificate(t, s.crew, id(), s.aLaboratoryResult(t), "26-1207.pdf", content)
	data, digest := s.archive(t), sha256.Sum256(content)
	name := "certificates/" + hex.EncodeToString(digest[:]) + ".pdf"
	more := "certificates/" + strings.Repeat("0", 64) + ".pdf"
	for _, row := range []struct {
		what, says string
		spoilt     []byte
	}{
		{"a letter of it", name + " was changed", repacked(t, data, name, strings.Replace(string(content), "17.1", "16.1", 1), false)},
		{"a letter of it and the checksum with it", "is not the file that entry", repacked(t, data, name, strings.Replace(string(content), "17.1", "16.1", 1), true)},
		{"left out", "lacks " + name, repacked(t, data, name, "", false)},
		{"left out and the listing with it", "lacks " + name, repacked(t, data, name, "", true)},
		{"one more", "does not list", repacked(t, data, more, "%PDF-1.7", false)},
		{"one more and the listing with it", "no entry names it", repacked(t, data, more, "%PDF-1.7", true)},
	} {
		_, err := there.restore(t, row.spoilt)
		if unsound := new(archive.Error); !errors.As(err, &unsound) || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%s: %v", row.what, err)
		}
	}
	if outfits, err := there.operator.Outfits(t.Context()); err != nil || len(outfits) != 0 {
		t.Errorf("%v, %v: something stayed", outfits, err)
	}
}

package ledger_test

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"pullbook/domain/document"
	"pullbook/domain/fault"
	"pullbook/domain/ledger"
	"pullbook/domain/ledger/ledgertest"
)

// analysed is an outfit with a laboratory's result and a reading of the house's own.
func analysed(t *testing.T) (o *ledgertest.Outfit, result, own ledger.ID) {
	t.Helper()
	o = ledgertest.NewOutfit()
	lot := o.Lot(10, "L26-001")
	laboratory := ledgertest.Moisture(ledger.PlaceLot, lot, 17.2)
	laboratory.Laboratory = "Fern Valley"
	return o, o.Write(11, laboratory), o.Write(12, ledgertest.Moisture(ledger.PlaceLot, lot, 17.4))
}

func certificate(of ledger.ID, words string, bytes int64) *ledger.LaboratoryCertificate {
	digest := sha256.Sum256([]byte(words))
	return &ledger.LaboratoryCertificate{ReadingID: of, SHA256: hex.EncodeToString(digest[:]), MediaType: document.PDF, Bytes: bytes, FileName: words + ".pdf"}
}

// refusal is the code, the field and the words with which a certificate is refused.
func refusal(t *testing.T, o *ledgertest.Outfit, at time.Time, c *ledger.LaboratoryCertificate, replaces ledger.ID) (fault.Code, string, string) {
	t.Helper()
	book, err := o.Open()
	if err != nil {
		t.Fatal(err)
	}
	e := &ledger.Entry{ID: uuid.New(), Kind: c.Kind(), OccurredAt: at, Body: c, Replaces: replaces}
	if replaces != (ledger.ID{}) {
		e.Reason = "the wrong file"
	}
	f := new(fault.Error)
	if err := book.Check(e, at); !errors.As(err, &f) || len(f.Fields) != 1 {
		if err != nil {
			t.Errorf("%v", err)
		}
		return "", "", ""
	}
	return f.Code, f.Fields[0].Pointer, f.Fields[0].Message.String()
}

func TestACertificateBelongsToALaboratorysResult(t *testing.T) {
	t.Parallel()
	o, result, own := analysed(t)
	first := o.Write(20, certificate(result, "first", 1000))
	gone := o.Write(13, func() *ledger.Reading {
		r := ledgertest.Moisture(ledger.PlaceLot, ledgertest.ID(12), 17.2)
		r.Laboratory = "x"
		return r
	}())
	o.Withdraw(gone)
	late := ledgertest.At(24 * 300) // past the season: a certificate may come whenever it comes
	for _, c := range []struct {
		what, field, says string
		code              fault.Code
		of                *ledger.LaboratoryCertificate
		replaces          ledger.ID
	}{
		{"a second file of the result", "", "", "", certificate(result, "second", 1000), ledger.ID{}},
		{"a reading of the house's own", "/reading_id", "no laboratory's result", fault.Invalid, certificate(own, "second", 1000), ledger.ID{}},
		{"a result that was withdrawn", "/reading_id", "was withdrawn", fault.Conflict, certificate(gone, "second", 1000), ledger.ID{}},
		{"a result that is none", "/reading_id", "no reading with this id", fault.Invalid, certificate(uuid.New(), "second", 1000), ledger.ID{}},
		{"a tank", "/reading_id", "This is a tank", fault.Invalid, certificate(o.Sump, "second", 1000), ledger.ID{}},
		{"the same file once more", "/file", "this very file", fault.Conflict, certificate(result, "first", 1000), ledger.ID{}},
		{"a correction", "/replaces", "neither corrected", fault.Conflict, certificate(result, "second", 1000), first},
		{"a file larger than any", "/file", "does not name a file", fault.Invalid, certificate(result, "second", document.MostBytes+1), ledger.ID{}},
		{"an empty file", "/file", "does not name a file", fault.Invalid, certificate(result, "second", 0), ledger.ID{}},
		{"a file with half a digest", "/file", "does not name a file", fault.Invalid, &ledger.LaboratoryCertificate{ReadingID: result, SHA256: "00ff", MediaType: document.PDF, Bytes: 9, FileName: "a.pdf"}, ledger.ID{}},
		{"a file without a digest", "/file", "does not name a file", fault.Invalid, &ledger.LaboratoryCertificate{ReadingID: result, SHA256: "0", MediaType: document.PDF, Bytes: 9, FileName: "a.pdf"}, ledger.ID{}},
	} {
		code, field, says := refusal(t, o, late, c.of, c.replaces)
		if code != c.code || field != c.field || !strings.Contains(says, c.says) {
			t.Errorf("%s: %s %s: %s", c.what, code, field, says)
		}
	}
}

func TestAResultHasAFewCertificatesAndAnOutfitNoMoreThanHaveRoom(t *testing.T) {
	t.Parallel()
	o, result, _ := analysed(t)
	var last ledger.ID
	for i := range ledger.MostCertificatesOfResult {
		last = o.Write(20, certificate(result, fmt.Sprint("page ", i), 1000))
	}
	if code, field, says := refusal(t, o, ledgertest.At(21), certificate(result, "one more", 1000), ledger.ID{}); code != fault.Invalid || field != "/file" || !strings.Contains(says, "has 5 certificates") {
		t.Errorf("one more: %s %s %s", code, field, says)
	}
	o.Withdraw(last)
	if code, _, says := refusal(t, o, ledgertest.At(21), certificate(result, "one more", 1000), ledger.ID{}); code != "" {
		t.Errorf("one was withdrawn, and then: %s", says)
	}

	// 20 files of the largest size fill a day; a file that is kept already takes no room,
	// and the next day there is room again. More results carry them.
	o, _, _ = analysed(t)
	other := func() ledger.ID {
		r := ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.2)
		r.Laboratory = "Fern Valley"
		return o.Write(15, r)
	}
	const fills = ledger.MostCertificateBytesOfDay / document.MostBytes
	for i := range fills {
		if code, _, says := refusal(t, o, ledgertest.At(20), certificate(other(), fmt.Sprint("scan ", i), document.MostBytes), ledger.ID{}); code != "" {
			t.Errorf("file %d of %d that fill a day: %s", i+1, fills, says)
		}
		// Each is of two results, and is kept once.
		o.Write(20, certificate(other(), fmt.Sprint("scan ", i), document.MostBytes))
		o.Write(20, certificate(other(), fmt.Sprint("scan ", i), document.MostBytes))
	}
	next := other()
	if code, field, says := refusal(t, o, ledgertest.At(21), certificate(next, "one more", 1), ledger.ID{}); code != fault.Invalid || field != "/file" || !strings.Contains(says, "24 hours would come to 101 MB with this one, and 100 MB are taken") {
		t.Errorf("beyond the day's: %s %s %s", code, field, says)
	}
	for what, c := range map[string]struct {
		at float64
		of *ledger.LaboratoryCertificate
	}{"the same file of another result": {21, certificate(next, "scan 3", document.MostBytes)}, "24 hours later": {44, certificate(next, "one more", document.MostBytes)}} {
		if code, _, says := refusal(t, o, ledgertest.At(c.at), c.of, ledger.ID{}); code != "" {
			t.Errorf("%s: %s", what, says)
		}
	}
}

func TestThereIsAnEndToWhatAnOutfitKeeps(t *testing.T) {
	t.Parallel()
	o, result, _ := analysed(t)
	const whole = ledger.MostCertificateBytes / document.MostBytes
	for i := range whole {
		o.Write(20, certificate(result, fmt.Sprint("scan ", i), document.MostBytes))
	}
	other := ledgertest.Moisture(ledger.PlaceTank, o.Settling, 17.2)
	other.Laboratory = "Fern Valley"
	next := o.Write(30, other)
	const rest = ledger.MostCertificateBytes - whole*document.MostBytes
	if code, _, says := refusal(t, o, ledgertest.At(24*40), certificate(next, "the last", rest), ledger.ID{}); code != "" {
		t.Errorf("what there is room for: %s", says)
	}
	if code, field, says := refusal(t, o, ledgertest.At(24*40), certificate(next, "one more", rest+1), ledger.ID{}); code != fault.Invalid || field != "/file" ||
		!strings.Contains(says, "keeps 819 certificates and pictures of 4095 MB together") || !strings.Contains(says, "Keep this one on paper") {
		t.Errorf("beyond all: %s %s %s", code, field, says)
	}

	o, result, _ = analysed(t)
	for i := range ledger.MostCertificates - 1 {
		o.Write(20, certificate(result, fmt.Sprint("page ", i), 1))
	}
	next = o.Write(30, other)
	if code, _, says := refusal(t, o, ledgertest.At(24*40), certificate(next, "the last", 1), ledger.ID{}); code != "" {
		t.Errorf("the last of 10,000 files: %s", says)
	}
	o.Write(31, certificate(next, "the last", 1))
	if code, _, says := refusal(t, o, ledgertest.At(24*40), certificate(next, "one more", 1), ledger.ID{}); code != fault.Invalid || !strings.Contains(says, "keeps 10000 certificates") {
		t.Errorf("beyond 10,000 files: %s %s", code, says)
	}
}

// The certificates of a result follow it through corrections, and a withdrawn one is not
// among them; nothing of the honey changes with any.
func TestCertificatesFollowTheirResult(t *testing.T) {
	t.Parallel()
	o, result, _ := analysed(t)
	first := o.Write(20, certificate(result, "first", 1000))
	o.Write(21, certificate(result, "second", 1000))
	corrected := ledgertest.Moisture(ledger.PlaceLot, ledgertest.ID(12), 17.3)
	corrected.Laboratory = "Fern Valley"
	tip := o.Correct(result, 11, corrected)
	names := func() (out []string) {
		book, err := o.Open()
		if err != nil {
			t.Fatal(err)
		}
		if len(book.State().Flags()) > 0 {
			t.Errorf("a paper makes something odd: %v", book.State().Flags())
		}
		for _, e := range book.CertificatesOf(tip) {
			out = append(out, e.Body.(*ledger.LaboratoryCertificate).FileName)
		}
		return out
	}
	if got := names(); len(got) != 2 || got[0] != "first.pdf" || got[1] != "second.pdf" {
		t.Errorf("the corrected result has %v", got)
	}
	o.Withdraw(first)
	if got := names(); len(got) != 1 || got[0] != "second.pdf" {
		t.Errorf("with one withdrawn it has %v", got)
	}
	// Once withdrawn, the same file may be put in anew.
	if code, _, says := refusal(t, o, ledgertest.At(30), certificate(tip, "first", 1000), ledger.ID{}); code != "" {
		t.Errorf("put in anew: %s", says)
	}
}

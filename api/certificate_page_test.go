package api_test

import (
	"bytes"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/db"
	"pullbook/domain/ledger"
)

// certificateForm sends what the form on a result's page holds, with a file.
func certificateForm(t *testing.T, h *apitest.House, body, result, name string, content []byte, language string) (*http.Response, string) {
	t.Helper()
	_, form, found := strings.Cut(body, `enctype="multipart/form-data">`)
	if !found {
		t.Fatalf("the page has no form for a file: %s", body)
	}
	fields := map[string]string{}
	for _, m := range regexp.MustCompile(`<input type="hidden" name="([a-z_]+)" value="([^"]*)">`).FindAllStringSubmatch(form[:strings.Index(form, "</form>")], -1) {
		fields[m[1]] = m[2]
	}
	kind, sent := uploadOf(t, formPart{field: "id", content: fields["id"]}, formPart{field: "reading_id", content: fields["reading_id"]}, formPart{"file", name, "application/octet-stream", string(content)})
	return h.SendBody(t, http.MethodPost, "/journal/"+result+"/certificates", bytes.NewReader(sent),
		http.Header{"Content-Type": {kind}, "Accept": {"text/html"}, "Accept-Language": {language}, "Origin": {h.URL}})
}

// Whoever records results puts their certificates with them on the result's page; whoever
// reads sees them there and on the lot's page, and can save them.
func TestACertificateIsPutWithItsResultOnThePage(t *testing.T) {
	t.Parallel()
	season := apitest.EntryAt(0, &ledger.Season{Name: "2026", First: "2026-01-01", Last: "2026-12-31"})
	drum := apitest.EntryAt(0, &ledger.ContainerKind{Name: "drum", VolumeML: 208_000, TareG: 18_000, UsualNetG: 290_000})
	tank := apitest.EntryAt(0, &ledger.Tank{Name: "large tank", Use: ledger.Settling, CapacityG: 1_000_000})
	lot := apitest.EntryAt(3, &ledger.Lot{Code: "26-001"})
	fill := apitest.EntryAt(3.1, &ledger.Fill{LotID: lot.ID, TankID: tank.ID, ContainerKindID: drum.ID, Container: "D-1", TareG: 18_000, GrossG: 308_000})
	onLot := func(day float64, laboratory string) *ledger.Entry {
		return apitest.EntryAt(day, &ledger.Reading{On: ledger.Place{Kind: ledger.PlaceLot, ID: lot.ID}, Laboratory: laboratory, Moisture: &ledger.MoistureReading{Scale: ledger.ScaleMoisture, AsRead: 17.2}})
	}
	result, own := onLot(4, "Fern Valley"), onLot(5, "")
	h := apitest.Open(t, apitest.MetricOutfit, []*ledger.Entry{season, drum, tank, lot, fill, result, own})
	page := "/journal/" + result.ID.String()
	crew, reader := h.Somebody(t, "Odell", db.Crew), h.Somebody(t, "Sorrel", db.Reader)
	if _, body := crew.Get(t, "/journal/"+own.ID.String()); strings.Contains(body, `type="file"`) {
		t.Error("a reading of the house's own asks for a certificate")
	}
	_, body := crew.Get(t, page)
	for _, want := range []string{"No certificate is with this result yet.", `accept="image/*,application/pdf"`, `<label for="certificate">`} {
		if !strings.Contains(body, want) {
			t.Errorf("the page lacks %s", want)
		}
	}
	// What is refused is said on the page, in the reader's language, and nothing is stored.
	before := h.Entries(t)
	for _, c := range []struct {
		what, language, says string
		status               int
		content              []byte
	}{
		{"a page of the web", "en", "no PDF and no JPEG or PNG", 422, []byte("<html>")},
		{"a page of the web, in Spanish", "es", "Esto no es un PDF ni una imagen JPEG o PNG", 422, []byte("<html>")},
		{"nothing", "en", "The file is empty", 422, nil},
		{"a file that is too large", "en", "file may have 5 MB", 413, append(aPDF("x"), make([]byte, 5<<20)...)},
		{"a file that is far too large", "es", "puede tener 5 MB", 413, make([]byte, 12<<20)},
	} {
		response, said := certificateForm(t, crew, body, result.ID.String(), "a.pdf", c.content, c.language)
		if response.StatusCode != c.status || !strings.Contains(said, c.says) {
			t.Errorf("%s: %d %s", c.what, response.StatusCode, said)
		}
	}
	if h.Entries(t) != before {
		t.Error("something was stored")
	}
	response, said := certificateForm(t, crew, body, result.ID.String(), "26-1207.pdf", aPDF("26-1207"), "en")
	if response.StatusCode != http.StatusOK || !strings.Contains(said, "26-1207.pdf") || strings.Contains(said, "No certificate is with") {
		t.Errorf("put in: %d %s", response.StatusCode, said)
	}
	// The form sent twice is one certificate.
	if response, _ := certificateForm(t, crew, body, result.ID.String(), "26-1207.pdf", aPDF("26-1207"), "en"); response.StatusCode != http.StatusOK || h.Entries(t) != before+1 {
		t.Errorf("sent twice: %d, %d entries more", response.StatusCode, h.Entries(t)-before)
	}
	_, seen := reader.Get(t, page)
	link := regexp.MustCompile(`/v1/laboratory-certificates/[0-9a-f-]{36}/file`).FindString(seen)
	if link == "" || strings.Contains(seen, `type="file"`) {
		t.Fatalf("a reader sees the link %q and may put one in: %v", link, strings.Contains(seen, `type="file"`))
	}
	if _, onItsLot := reader.Get(t, "/lots/"+lot.ID.String()); !strings.Contains(onItsLot, `<a href="`+link+`" download>certificate 26-1207.pdf</a>`) {
		t.Error("the lot's page does not lead to it")
	}
	if response, file := reader.Get(t, link); response.StatusCode != http.StatusOK || file != string(aPDF("26-1207")) || response.Header.Get("Content-Security-Policy") != "default-src 'none'; sandbox" {
		t.Errorf("the file: %d %q", response.StatusCode, file)
	}
	if response, said := certificateForm(t, reader, body, result.ID.String(), "b.pdf", aPDF("b"), "en"); response.StatusCode != http.StatusForbidden {
		t.Errorf("a reader puts one in: %d %s", response.StatusCode, said)
	}
	if response, _ := certificateForm(t, h.Device(t), body, result.ID.String(), "b.pdf", aPDF("b"), "en"); response.StatusCode != http.StatusUnauthorized {
		t.Errorf("somebody who is not signed in puts one in: %d", response.StatusCode)
	}
	if response, _ := certificateForm(t, crew, body, uuid.NewString(), "b.pdf", aPDF("b"), "en"); response.StatusCode != http.StatusNotFound {
		t.Errorf("sent to another result's page: %d", response.StatusCode)
	}
	// The certificate has a page of its own in the journal, which leads back to the result;
	// there a manager withdraws it, and nobody corrects it.
	itsEntry := regexp.MustCompile(`/journal/[0-9a-f-]{36}">entry`).FindString(seen)
	if itsEntry == "" {
		t.Fatal("the certificate's entry is not named")
	}
	h.SignIn(t)
	if _, itself := h.Get(t, strings.TrimSuffix(itsEntry, `">entry`)); !strings.Contains(itself, link) || !strings.Contains(itself, `href="`+page+`"`) || !strings.Contains(itself, "Withdraw it") || strings.Contains(itself, "/correct") {
		t.Errorf("its own page: %s", itself)
	}
}

package api_test

import (
	"bytes"
	"compress/zlib"
	"encoding/base64"
	"fmt"
	"html"
	"io"
	"iter"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"regexp"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/google/uuid"

	"pullbook/api/apitest"
)

// browsing is a browser that is signed in to the pages of an outfit.
func (s *outfit) browsing(t *testing.T) *http.Client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	client := &http.Client{Jar: jar}
	response, err := client.PostForm(s.url+"/sign-in", url.Values{
		"outfit": {s.name}, "name": {"Mirren"}, "password": {apitest.PasswordFor(t, s.database, s.id, "Mirren")}})
	if err != nil {
		t.Fatal(err)
	}
	response.Body.Close()
	return client
}

// fetch gets an address as a browser does, by a client.
func fetch(t *testing.T, client *http.Client, address string) (int, string) {
	t.Helper()
	r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	return fetchBy(t, client, r)
}

// fetchBy is fetch of a request that says more than an address.
func fetchBy(t *testing.T, client *http.Client, r *http.Request) (int, string) {
	t.Helper()
	response, err := client.Do(r)
	if err != nil {
		t.Fatal(err)
	}
	defer response.Body.Close()
	body, err := io.ReadAll(response.Body)
	if err != nil {
		t.Fatal(err)
	}
	return response.StatusCode, string(body)
}

var tag = regexp.MustCompile(`<[^>]*>`)

// sheet is the text of the lot's page.
func (s *shed) sheet(t *testing.T) string {
	t.Helper()
	status, body := fetch(t, s.browsing(t), s.url+"/lots/"+s.lot+"/sheet")
	if status != http.StatusOK {
		t.Fatalf("the sheet answered %d %s", status, body)
	}
	return html.UnescapeString(tag.ReplaceAllString(body, " "))
}

var verifyAddress = regexp.MustCompile(`https?://\S+/verify/([A-Za-z0-9_-]+)`)

func sealOn(t *testing.T, sheet string) string {
	t.Helper()
	m := verifyAddress.FindStringSubmatch(sheet)
	if m == nil {
		t.Fatalf("no address to verify on %s", sheet)
	}
	return m[1]
}

func (s *shed) ask(t *testing.T, seal string) string {
	t.Helper()
	status, body := fetch(t, http.DefaultClient, s.url+"/verify/"+seal)
	if status != http.StatusOK {
		t.Errorf("verifying answered %d", status)
	}
	return strings.TrimSuffix(body, "\n")
}

// pdfText is what a PDF shows, a piece a line.
func pdfText(t *testing.T, pdf []byte) string {
	t.Helper()
	var out strings.Builder
	for {
		_, rest, found := bytes.Cut(pdf, []byte("stream\n"))
		stream, after, ends := bytes.Cut(rest, []byte("\nendstream"))
		if !found || !ends {
			return out.String()
		}
		pdf = after
		z, err := zlib.NewReader(bytes.NewReader(stream))
		if err != nil {
			continue // an image or a font
		}
		content, err := io.ReadAll(z)
		if err != nil {
			continue
		}
		for piece := range shown(content) {
			var units []uint16
			for i := 0; i+1 < len(piece); i += 2 {
				units = append(units, uint16(piece[i])<<8|uint16(piece[i+1]))
			}
			out.WriteString(string(utf16.Decode(units)) + "\n")
		}
	}
}

// shown are the texts that a PDF's content shows: those in brackets before Tj. A regular
// expression took a tenth of the package's time for it.
func shown(content []byte) iter.Seq[[]byte] {
	return func(yield func([]byte) bool) {
		for at := bytes.IndexByte(content, '('); at >= 0; at = bytes.IndexByte(content, '(') {
			content = content[at+1:]
			var piece []byte
			end := 0
			for ; end < len(content) && content[end] != ')'; end++ {
				c := content[end]
				if c == '\\' && end+1 < len(content) {
					if end, c = end+1, content[end+1]; c == 'r' {
						c = '\r'
					}
				}
				piece = append(piece, c)
			}
			after := content[min(end+1, len(content)):]
			if !bytes.HasPrefix(bytes.TrimPrefix(after, []byte(" ")), []byte("Tj")) {
				continue
			}
			if content = after; !yield(piece) {
				return
			}
		}
	}
}

func (s *shed) pdf(t *testing.T) []byte {
	t.Helper()
	r := s.get(t, "lots/"+s.lot+"/certificate.pdf")
	if kind := r.header.Get("Content-Type"); kind != "application/pdf" || !bytes.HasPrefix(r.raw, []byte("%PDF-")) {
		t.Fatalf("the PDF is %s, %.20q", kind, r.raw)
	}
	return r.raw
}

func said(text string) string { return strings.Join(strings.Fields(text), " ") }

// Page and PDF say the same, and what the API says: 290 kg gross less 20 kg of
// drum are 270 kg net.
func TestALotsSheetSaysWhatTheAPISays(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	if text := said(s.sheet(t)); !strings.Contains(text, "No check recorded.") || !strings.Contains(text, "Status: open") {
		t.Errorf("before any check: %s", text)
	}
	s.analysed(t, 17.6, 8)
	check := s.book(t, "checks", s.aCheck())
	s.release(t, s.lot, at(21, "18:00"))
	lot := read[struct {
		NetKg      float64 `json:"net_kg"`
		Containers []struct {
			Container string
			NetKg     float64 `json:"net_kg"`
			TareKg    float64 `json:"tare_kg"`
			GrossKg   float64 `json:"gross_kg"`
		}
	}](t, s.outfit, "reports/lots/"+s.lot)
	if len(lot.Containers) != 1 || lot.NetKg != 270 {
		t.Fatalf("the API has %+v", lot)
	}
	c := lot.Containers[0]
	page, pdf := said(s.sheet(t)), said(pdfText(t, s.pdf(t)))
	head := s.head(t)
	for _, want := range []string{
		"Lot L26-001", "Fern Gully Honey", fmt.Sprintf("%s drum %.1f %.1f %.1f held", c.Container, c.TareKg, c.GrossKg, c.NetKg),
		"Alder Bend 20 Aug 2026 270.0 100.0", "blue refractometer", "Fern Valley", "21 Aug 2026", "17.6 %", "HPLC", "large tank",
		fmt.Sprintf("(entry %d, on 21 August 2026)", check.Number), "override: sold as it is", "not measured", "no laboratory certificate",
		"not for infants under one year", "Local rules prevail", "scalds", fmt.Sprintf("entry %d", head.LastEntry), "Risk of fermentation",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
		if !strings.Contains(pdf, want) {
			t.Errorf("the PDF lacks %q", want)
		}
	}
	if t.Failed() {
		t.Logf("page: %s\nPDF: %s", page, pdf)
	}
	for _, v := range read[struct{ Results []result }](t, s.outfit, "reports/verdicts/"+s.lot+"?rule_sets=eu-honey&on=2026-08-21").Results[0].Lines {
		if v.Outcome != "does not apply" && (!strings.Contains(page, said(v.Clause)) || !strings.Contains(pdf, said(v.Clause))) {
			t.Errorf("%s: the clause %q is not on the sheet", v.Parameter, v.Clause)
		}
	}
	if file := os.Getenv("PULLBOOK_KEEP_SHEET"); file != "" {
		if err := os.WriteFile(file, s.pdf(t), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func TestWhetherASheetStillStandsIsToldToWhoeverHoldsIt(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	s.analysed(t, 17.6, 8)
	seal := sealOn(t, s.sheet(t))
	if got := s.ask(t, seal); got != "stands" {
		t.Errorf("fresh: %q", got)
	}
	// Honey of another lot is no matter, nor that the drum is sent.
	other := s.book(t, "lots", s.aLot("code", "L26-002")).ID
	s.book(t, "fills", s.aFill("lot_id", other, "container", "D-2"))
	if got := s.ask(t, seal); got != "stands" {
		t.Errorf("after another lot was filled: %q", got)
	}
	s.release(t, s.lot, at(21, "18:00"))
	if got := s.ask(t, seal); got != "superseded since" {
		t.Errorf("printed before the release: %q", got)
	}
	seal = sealOn(t, said(s.sheet(t)))
	s.book(t, "dispatches", s.aDispatch("containers", []string{s.drum1}))
	if got := s.ask(t, seal); got != "stands" {
		t.Errorf("after the drum was sent: %q", got)
	}
	s.book(t, "readings", M{"id": id(), "occurred_at": at(21, "16:30"), "on": M{"kind": "container", "id": s.drum1}, "instrument_id": s.blue, "moisture_pct": 19.9})
	if got := s.ask(t, seal); got != "superseded since" {
		t.Errorf("after another reading: %q", got)
	}
	s.loseMemory(t)
	if got := s.ask(t, seal); got != "superseded since" {
		t.Errorf("after a restart: %q", got)
	}
}

// Nobody can make an address up: each byte of a seal counts.
func TestAnAddressThatNoBookGaveIsUnknown(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	seal := sealOn(t, s.sheet(t))
	raw, err := base64.RawURLEncoding.DecodeString(seal)
	if err != nil {
		t.Fatal(err)
	}
	for i := range raw {
		changed := bytes.Clone(raw)
		changed[i] ^= 1
		if got := s.ask(t, base64.RawURLEncoding.EncodeToString(changed)); got != "unknown" {
			t.Errorf("byte %d changed: %q", i, got)
		}
	}
	other := uuid.New()
	for _, token := range []string{"x", "none", seal[:len(seal)-1], seal + "A", base64.RawURLEncoding.EncodeToString(append(other[:], raw[16:]...))} {
		if got := s.ask(t, token); got != "unknown" {
			t.Errorf("%q: %q", token, got)
		}
	}
}

func TestASheetIsForWhoIsSignedIn(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	s, stranger := house.newShed(t, "Fern Gully Honey"), house.newShed(t, "Otter Creek Apiaries")
	for _, path := range []string{"sheet", "sheet.pdf", "heating.svg"} {
		if status, body := fetch(t, http.DefaultClient, s.url+"/lots/"+s.lot+"/"+path); status != http.StatusUnauthorized || strings.Contains(body, "L26-001") {
			t.Errorf("%s without a session: %d", path, status)
		}
		if status, body := fetch(t, stranger.browsing(t), s.url+"/lots/"+s.lot+"/"+path); status != http.StatusNotFound || strings.Contains(body, "L26-001") {
			t.Errorf("%s by another outfit: %d", path, status)
		}
		if status, _ := fetch(t, s.browsing(t), s.url+"/lots/"+s.lot+"/"+path); status != http.StatusOK {
			t.Errorf("%s: %d", path, status)
		}
	}
	if _, body := fetch(t, s.browsing(t), s.url+"/"); !strings.Contains(body, `href="/lots/`+s.lot+`/sheet"`) {
		t.Error("the season's page does not lead to the sheet")
	}
}

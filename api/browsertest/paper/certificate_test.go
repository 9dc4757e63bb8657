package paper_test

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/google/uuid"

	"pullbook/api/apitest"
	"pullbook/api/browsertest"
	"pullbook/domain/ledger"
)

// TestALotsCertificateFitsAPhone: a page that a browser printed is put with a laboratory's
// result, under a long name, comes back byte for byte, and the pages that link to it are as
// wide as the window.
func TestALotsCertificateFitsAPhone(t *testing.T) {
	t.Parallel()
	b := browsertest.Start(t)
	h := apitest.OpenLots(t, apitest.MetricOutfit)
	h.SignIn(t)
	lot := h.Path()
	var result string
	for _, e := range h.Written {
		if r, is := e.Body.(*ledger.Reading); is && r.Laboratory != "" {
			result = e.ID.String()
		}
	}
	d := b.Device(t, "en-CA")
	d.SignIn(h.House)
	d.Open(d.At(h.House) + lot)
	pdf, err := chromedp.Run(d.Ctx, chromedp.PrintToPDF())
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Fatalf("the browser printed %.20q", pdf)
	}
	const name = "Certificate_of_analysis_26-1207_honey_moisture_HMF_diastase_final_signed_copy_2.pdf"
	var body bytes.Buffer
	form := multipart.NewWriter(&body)
	for field, value := range map[string]string{"id": uuid.NewString(), "reading_id": result} {
		if err := form.WriteField(field, value); err != nil {
			t.Fatal(err)
		}
	}
	part, err := form.CreateFormFile("file", name)
	if err == nil {
		_, err = part.Write(pdf)
	}
	if err != nil {
		t.Fatal(err)
	}
	form.Close()
	if r, said := h.SendBody(t, http.MethodPost, "/journal/"+result+"/certificates", &body, http.Header{"Content-Type": {form.FormDataContentType()}, "Origin": {h.URL}}); r.StatusCode != http.StatusSeeOther && r.StatusCode != http.StatusOK {
		t.Fatalf("%d %s", r.StatusCode, said)
	}
	_, page := h.Get(t, lot)
	if !strings.Contains(page, name) {
		t.Fatalf("the lot's page does not name the certificate")
	}
	file := h.Link(t, lot, "/v1/laboratory-certificates/"+apitest.AnID+"/file")
	if r, got := h.Get(t, file); r.StatusCode != http.StatusOK || got != string(pdf) {
		t.Errorf("it came back as %d, %d bytes of %d", r.StatusCode, len(got), len(pdf))
	}
	phone := browsertest.Sizes[slices.IndexFunc(browsertest.Sizes, func(s browsertest.Size) bool { return s.Name == "phone" })]
	look := d.LookAt(phone)
	look("lot-certificate", h.House, lot)
	look("entry-certificate", h.House, "/journal/"+result)
}

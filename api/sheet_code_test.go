package api_test

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/png"
	"io"
	"net/http"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"

	"pullbook/api/request"
)

// scanned reads a picture of a code as a phone does.
func scanned(t *testing.T, picture []byte) string {
	t.Helper()
	img, err := png.Decode(bytes.NewReader(picture))
	if err != nil {
		t.Fatal(err)
	}
	return scannedImage(t, img)
}

func scannedImage(t *testing.T, img image.Image) string {
	t.Helper()
	bits, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	result, err := qrcode.NewQRCodeReader().Decode(bits, nil)
	if err != nil { // the library fails at a sound picture now and then: told that it is nothing but a code, it looks otherwise
		result, err = qrcode.NewQRCodeReader().Decode(bits, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_PURE_BARCODE: true})
	}
	if err != nil {
		t.Fatalf("the code cannot be read: %v", err)
	}
	return result.GetText()
}

var (
	codeOnPage = regexp.MustCompile(`src="data:image/png;base64,([^"]+)"`)
	imageInPDF = regexp.MustCompile(`(?s)/Subtype /Image\n/Width (\d+)\n/Height (\d+)\n/ColorSpace ([^\n]*)\n/BitsPerComponent (\d+)\n.*?/Length (\d+)>>\nstream\n`)
)

// codeInPDF is the first picture of a PDF that is as wide as high, as PNG: its
// stream is the data of one.
func codeInPDF(t *testing.T, pdf []byte) []byte {
	t.Helper()
	for _, at := range imageInPDF.FindAllSubmatchIndex(pdf, -1) {
		field := func(i int) int {
			n, err := strconv.Atoi(string(pdf[at[2*i]:at[2*i+1]]))
			if err != nil {
				t.Fatal(err)
			}
			return n
		}
		width, height, depth, length := field(1), field(2), field(4), field(5)
		if width != height {
			continue
		}
		colour := byte(2)
		if strings.Contains(string(pdf[at[6]:at[7]]), "Gray") {
			colour = 0
		}
		var out bytes.Buffer
		out.WriteString("\x89PNG\r\n\x1a\n")
		chunk := func(kind string, data []byte) {
			binary.Write(&out, binary.BigEndian, uint32(len(data)))
			body := append([]byte(kind), data...)
			out.Write(body)
			binary.Write(&out, binary.BigEndian, crc32.ChecksumIEEE(body))
		}
		head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, uint32(width)), uint32(height))
		chunk("IHDR", append(head, byte(depth), colour, 0, 0, 0))
		chunk("IDAT", pdf[at[1]:at[1]+length])
		chunk("IEND", nil)
		return out.Bytes()
	}
	t.Fatal("the PDF has no picture of a code")
	return nil
}

// TestTheCodeOnASheetLeadsToItsAddress, on the page and in the PDF, and the
// address answers for the sheet.
func TestTheCodeOnASheetLeadsToItsAddress(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	_, page := fetch(t, s.browsing(t), s.url+"/lots/"+s.lot+"/sheet")
	m := codeOnPage.FindStringSubmatch(page)
	if m == nil {
		t.Fatal("the page has no code")
	}
	picture, err := base64.StdEncoding.DecodeString(strings.ReplaceAll(m[1], "&#43;", "+"))
	if err != nil {
		t.Fatal(err)
	}
	for where, code := range map[string][]byte{"page": picture, "PDF": codeInPDF(t, s.pdf(t))} {
		address := scanned(t, code)
		if seal := sealOn(t, page); address != s.url+"/verify/"+seal {
			t.Errorf("the code of the %s leads to %s, the sheet to %s", where, address, seal)
		}
		if got := s.ask(t, sealOn(t, address)); got != "stands" {
			t.Errorf("the address in the code of the %s answers %q", where, got)
		}
	}
}

// TestASheetIsPrintedWithTheAddressThatWasSet, whatever address the request for
// it came to.
func TestASheetIsPrintedWithTheAddressThatWasSet(t *testing.T) {
	t.Parallel()
	house := openHouse(t)
	house.serve(t, func(c *request.Config) { c.PublicURL = "https://book.example" })
	s := house.newShed(t, "Fern Gully Honey")
	if text := s.sheet(t); !strings.Contains(text, "https://book.example/verify/") {
		t.Errorf("the page has another address: %s", text)
	}
	if address := scanned(t, codeInPDF(t, s.pdf(t))); !strings.HasPrefix(address, "https://book.example/verify/") {
		t.Errorf("the code leads to %s", address)
	}
}

// TestALotOfFourHundredContainersPrintsOnTwoSheets: what would fill pages is drawn
// together, and the sums are those of the lot.
func TestALotOfFourHundredContainersPrintsOnTwoSheets(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	for n := 2; n <= 400; n++ {
		fill := s.book(t, "fills", s.aFill("container", fmt.Sprintf("D-%d", n))).ID
		s.book(t, "readings", M{"id": id(), "occurred_at": at(21, "15:00"), "on": M{"kind": "container", "id": fill}, "instrument_id": s.blue, "moisture_pct": 16.5 + float64(n%20)/10})
	}
	s.analysed(t, 17.6, 8)
	s.book(t, "checks", s.aCheck("rule_sets", []M{{"standard": "eu-honey"}}))
	pdf := s.pdf(t)
	if pages := bytes.Count(pdf, []byte("/Type /Page\n")); pages < 1 || pages > 2 {
		t.Errorf("it prints on %d sheets", pages)
	}
	page, text := said(s.sheet(t)), said(pdfText(t, pdf))
	for _, want := range []string{
		"Containers: 400", "400: D-1 to D-400", "108,000.0", // 400 of 270 kg
		"400 readings", "16.5 %", "18.4 %",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %q", want)
		}
		if !strings.Contains(text, want) {
			t.Errorf("the PDF lacks %q", want)
		}
	}
	if strings.Contains(text, "D-77") {
		t.Error("the PDF lists each container")
	}
	if t.Failed() {
		t.Logf("page: %s\nPDF: %s", page, text)
	}
	if file := os.Getenv("PULLBOOK_KEEP_SHEET"); file != "" {
		if err := os.WriteFile(file+".400.pdf", pdf, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// TestALotThatEverythingIsKnownOfPrintsOnTwoSheets: forty yards, fifty readings and
// rule sets from three to all there are. What does not fit is told more briefly, and
// nothing is left out silently.
func TestALotThatEverythingIsKnownOfPrintsOnTwoSheets(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	for n := range 40 {
		yard := s.book(t, "yards", M{"id": id(), "occurred_at": at(1, "09:00"), "name": fmt.Sprintf("The yard behind hill %d", n)}).ID
		pull := s.book(t, "pulls", s.aPull("yard_id", yard, "supers", []M{{"super_kind_id": s.deep, "supers": 10}})).ID
		s.book(t, "run-supers", s.someSupers("pull_id", pull, "supers", 10))
	}
	for n := range 25 {
		fill := s.book(t, "fills", s.aFill("container", fmt.Sprintf("D-%d", n+2))).ID
		for k := range 2 {
			s.book(t, "readings", M{"id": id(), "occurred_at": at(21, fmt.Sprintf("15:0%d", k)), "on": M{"kind": "container", "id": fill}, "instrument_id": s.blue, "moisture_pct": 17 + float64(n%7)/10})
		}
	}
	s.analysed(t, 17.6, 8)
	var all []M
	for _, set := range read[struct {
		RuleSets []struct{ ID string } `json:"rule_sets"`
	}](t, s.outfit, "reports/verdicts?on=2026-08-21").RuleSets {
		all = append(all, M{"standard": set.ID})
	}
	for _, sets := range [][]M{{{"standard": "eu-honey"}, {"standard": "codex-honey"}, {"standard": "ca-grade-compendium-6"}}, all} {
		s.book(t, "checks", s.aCheck("rule_sets", sets))
		pdf := s.pdf(t)
		if pages := bytes.Count(pdf, []byte("/Type /Page\n")); pages < 1 || pages > 2 {
			t.Errorf("checked by %d rule sets it prints on %d sheets", len(sets), pages)
		}
		page, text := said(s.sheet(t)), said(pdfText(t, pdf))
		for where, what := range map[string]string{"page": page, "PDF": text} {
			for _, want := range []string{"more yards", "51 readings", "2001/110/EC", "moisture"} {
				if !strings.Contains(what, want) {
					t.Errorf("checked by %d rule sets, the %s lacks %q", len(sets), where, want)
				}
			}
			if elsewhere := strings.Contains(what, "The book has the limits one by one"); elsewhere != (len(sets) > 3) {
				t.Errorf("checked by %d rule sets, the %s says that their lines are elsewhere: %t", len(sets), where, elsewhere)
			}
		}
		if t.Failed() {
			t.Logf("page: %s\nPDF: %s", page, text)
		}
	}
}

// TestWhatIsKeptForOneAddressIsNotGivenForAnother: a sheet as PDF, and what a program
// asks about it by its tag, hang on the address that is printed.
func TestWhatIsKeptForOneAddressIsNotGivenForAnother(t *testing.T) {
	t.Parallel()
	s := openHouse(t).newShed(t, "Fern Gully Honey")
	port := s.url[strings.LastIndex(s.url, ":"):]
	name, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	tags := map[string]string{}
	for range 2 {
		for _, host := range []string{"127.0.0.1" + port, "evil.example", "evil.example" + port, name + ".evil.example" + port} {
			r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, s.url+"/v1/lots/"+s.lot+"/certificate.pdf", nil)
			if err != nil {
				t.Fatal(err)
			}
			r.Host = host
			r.Header.Set("Authorization", "Bearer "+s.manager)
			response, err := http.DefaultClient.Do(r)
			if err != nil {
				t.Fatal(err)
			}
			pdf, err := io.ReadAll(response.Body)
			response.Body.Close()
			if err != nil || response.StatusCode != http.StatusOK {
				t.Fatalf("%s: %s, %v", host, response.Status, err)
			}
			if address := scanned(t, codeInPDF(t, pdf)); !strings.HasPrefix(address, s.url+"/verify/") {
				t.Errorf("asked for as %s, the code leads to %s", host, address)
			}
			if text := said(pdfText(t, pdf)); !strings.Contains(text, "this machine alone") || !strings.Contains(text, "--public-url") || strings.Contains(text, "evil") {
				t.Errorf("asked for as %s, the sheet reads %s", host, text)
			}
			tags[response.Header.Get("ETag")] = host
		}
	}
	if len(tags) != 1 {
		t.Errorf("one address has the tags %v", tags)
	}
}

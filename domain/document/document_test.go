package document_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/jpeg"
	"image/png"
	"strings"
	"testing"
	"unicode/utf8"

	"pullbook/domain/document"
	"pullbook/domain/fault"
)

func jpegOf(t testing.TB, width, height int) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := jpeg.Encode(&out, image.NewGray(image.Rect(0, 0, width, height)), nil); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func pngOf(t testing.TB, width, height int) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := png.Encode(&out, image.NewGray(image.Rect(0, 0, width, height))); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// pngSaying is the head of a PNG that says how large it is, with nothing behind it.
func pngSaying(width, height uint32) []byte {
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32([]byte("IHDR"), width), height)
	head = append(head, 8, 0, 0, 0, 0)
	out := append([]byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0d"), head...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(head))
}

func TestAFileIsWhatItsBytesSay(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what string
		data []byte
		want document.Type
	}{
		{"a PDF of the first kind", []byte("%PDF-1.4\n%%EOF\n"), document.PDF},
		{"a PDF of the second", []byte("%PDF-2.0\n%%EOF\n"), document.PDF},
		{"a photograph", jpegOf(t, 40, 30), document.JPEG},
		{"a scan", pngOf(t, 40, 30), document.PNG},
		{"a picture as large as they come", pngSaying(document.MostAcross, document.MostPixels/document.MostAcross), document.PNG},
	} {
		if got, err := document.Read(c.data); err != nil || got != c.want {
			t.Errorf("%s is taken for %q, %v", c.what, got, err)
		}
	}
}

func TestWhatIsNoCertificateIsRefusedWithWhatCameAndWhatWouldDo(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		what, says string
		data       []byte
		code       fault.Code
	}{
		{"nothing", "is empty", nil, fault.Invalid},
		{"a page of the web called .pdf", "no PDF", []byte("<!doctype html><script>alert(1)</script>"), fault.Invalid},
		{"a page of the web with a PDF further down", "no PDF", []byte("<html>%PDF-1.7"), fault.Invalid},
		{"a drawing that can hold scripts", "no PDF", []byte(`<svg xmlns="http://www.w3.org/2000/svg"/>`), fault.Invalid},
		{"a PDF of no version", "no PDF", []byte("%PDF-9.9"), fault.Invalid},
		{"a workbook", "no PDF", []byte("PK\x03\x04 and so on"), fault.Invalid},
		{"another sort of picture", "no PDF", []byte("GIF89a and so on"), fault.Invalid},
		{"a telephone's own sort of picture", "HEIC", []byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00"), fault.Invalid},
		{"the head of a photograph", "damaged", []byte("\xff\xd8\xff\xe0"), fault.Invalid},
		{"a scan cut short in its head", "damaged", pngOf(t, 40, 30)[:20], fault.Invalid},
		{"a scan whose head was altered", "damaged", append([]byte("\x89PNG\r\n\x1a\n"), bytes.Repeat([]byte{7}, 40)...), fault.Invalid},
		{"a picture too wide", "pixels", pngSaying(document.MostAcross+1, 1), fault.Invalid},
		{"a picture too high", "pixels", pngSaying(1, document.MostAcross+1), fault.Invalid},
		{"a picture of too many pixels", "pixels", pngSaying(document.MostAcross, document.MostPixels/document.MostAcross+1), fault.Invalid},
		{"a file too large", "5 MB", append([]byte("%PDF-1.7"), make([]byte, document.MostBytes)...), fault.TooLarge},
	} {
		_, err := document.Read(c.data)
		f := new(fault.Error)
		if !errors.As(err, &f) || f.Code != c.code || len(f.Fields) != 1 || f.Fields[0].Pointer != "/file" {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		if said := f.Fields[0].Message.String(); !strings.Contains(said, c.says) {
			t.Errorf("%s is refused with %q", c.what, said)
		}
		if f.Fields[0].Sent == nil && len(c.data) > 0 {
			t.Errorf("%s is refused without a word of what came", c.what)
		}
	}
}

func TestTheNameOfAFileCanBeSavedAnywhere(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		came string
		of   document.Type
		want string
	}{
		{"26-1207.pdf", document.PDF, "26-1207.pdf"},
		{"Análisis de miel.PDF", document.PDF, "Análisis de miel.pdf"},
		{`C:\papers\26-1207.pdf`, document.PDF, "26-1207.pdf"},
		{"../../etc/passwd", document.PNG, "passwd.png"},
		{"honey.pdf.exe", document.PDF, "honey-pdf.pdf"},
		{"a\"; filename=\"b.html", document.JPEG, "a filename b.jpg"},
		{"two\r\nlines.jpg", document.JPEG, "twolines.jpg"},
		{"\u202egpj.fdp", document.PDF, "gpj.pdf"},
		{".pdf", document.PDF, "pdf.pdf"},
		{"", document.JPEG, "certificate.jpg"},
		{"///", document.PDF, "certificate.pdf"},
		{"con.pdf", document.PDF, "certificate con.pdf"},
		{strings.Repeat("x", 400) + ".pdf", document.PDF, strings.Repeat("x", 80) + ".pdf"},
	} {
		if got := document.SafeName(c.came, c.of); got != c.want {
			t.Errorf("%q becomes %q, want %q", c.came, got, c.want)
		}
	}
}

// Whatever comes is taken for one of the three or refused with the field, and what is
// taken begins as it must, so that no browser can see anything else in it.
func FuzzWhatAFileIs(f *testing.F) {
	f.Add([]byte("%PDF-1.7\n"), "a.pdf")
	f.Add(jpegOf(f, 8, 8), "a.jpg")
	f.Add(pngOf(f, 8, 8), `..\a.png`)
	f.Add([]byte("\x00\x00\x00\x18ftypheic"), "IMG.HEIC")
	f.Add([]byte("<html>"), "\u202e")
	f.Fuzz(func(t *testing.T, data []byte, name string) {
		got, err := document.Read(data)
		if err != nil {
			if f := new(fault.Error); !errors.As(err, &f) || len(f.Fields) != 1 || f.Fields[0].Pointer != "/file" || got != "" {
				t.Fatalf("%q, %v", got, err)
			}
			return
		}
		begins := map[document.Type]string{document.PDF: "%PDF-", document.JPEG: "\xff\xd8\xff", document.PNG: "\x89PNG\r\n\x1a\n"}[got]
		if begins == "" || !bytes.HasPrefix(data, []byte(begins)) {
			t.Fatalf("%.20q is taken for %q", data, got)
		}
		safe := document.SafeName(name, got)
		if !utf8.ValidString(safe) || strings.ContainsAny(safe, "/\\\"'<>:;\x00\r\n") || !strings.HasSuffix(safe, got.Ending()) ||
			utf8.RuneCountInString(safe) > 100 || strings.HasPrefix(safe, ".") || document.SafeName(safe, got) != safe {
			t.Fatalf("%q becomes %q, and that %q", name, safe, document.SafeName(safe, got))
		}
	})
}

// A picture that is taken with an entry is a JPEG or PNG, and smaller than a certificate may be.
func TestAPictureOfAnEntryIsSmallAndNoPaper(t *testing.T) {
	t.Parallel()
	padded := func(n int) []byte { return append(jpegOf(t, 60, 80), make([]byte, n)...) }
	whole := len(jpegOf(t, 60, 80))
	for _, c := range []struct {
		what string
		data []byte
		is   document.Type
		code fault.Code
	}{
		{"a JPEG", jpegOf(t, 60, 80), document.JPEG, ""},
		{"a PNG", pngOf(t, 60, 80), document.PNG, ""},
		{"as many bytes as it may have", padded(document.MostPictureBytes - whole), document.JPEG, ""},
		{"one more", padded(document.MostPictureBytes - whole + 1), "", fault.TooLarge},
		{"none", nil, "", fault.Invalid},
		{"a PDF", []byte("%PDF-1.7\n"), "", fault.Invalid},
		{"a vast PNG", pngSaying(1<<30, 1<<30), "", fault.Invalid},
	} {
		is, err := document.ReadPicture(c.data)
		var f *fault.Error
		if is != c.is || (err != nil) != (c.code != "") || errors.As(err, &f) && (f.Code != c.code || f.Fields[0].Pointer != "/file") {
			t.Errorf("%s is %q: %v", c.what, is, err)
		}
	}
}

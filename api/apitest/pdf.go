package apitest

import (
	"bytes"
	"fmt"
)

// WrittenPDF is a PDF of one page as its specification has it, written by hand: bytes that
// are no text behind the header, objects, and a table of where each begins (ISO 32000-1, 7.5).
func WrittenPDF(words string) []byte {
	var out bytes.Buffer
	out.WriteString("%PDF-1.7\n%\xe2\xe3\xcf\xd3\r\n")
	page := fmt.Sprintf("BT /F1 12 Tf 72 770 Td (%s) Tj ET", words)
	var at []int
	for i, object := range []string{
		"<< /Type /Catalog /Pages 2 0 R >>",
		"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
		"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] /Contents 4 0 R /Resources << /Font << /F1 5 0 R >> >> >>",
		fmt.Sprintf("<< /Length %d >>\nstream\n%s\nendstream", len(page), page),
		"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>",
	} {
		at = append(at, out.Len())
		fmt.Fprintf(&out, "%d 0 obj\n%s\nendobj\n", i+1, object)
	}
	table := out.Len()
	fmt.Fprintf(&out, "xref\n0 %d\n0000000000 65535 f \n", len(at)+1)
	for _, from := range at {
		fmt.Fprintf(&out, "%010d 00000 n \n", from)
	}
	fmt.Fprintf(&out, "trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n", len(at)+1, table)
	return out.Bytes()
}

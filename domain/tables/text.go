package tables

import (
	"bytes"
	"errors"
	"fmt"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
)

// The encodings that are told apart.
const (
	UTF8        = "UTF-8"
	UTF16LE     = "UTF-16, little end first"
	UTF16BE     = "UTF-16, big end first"
	Windows1252 = "Windows-1252"
)

// ErrNoText says that bytes are no text in any encoding that is told apart.
var ErrNoText = errors.New("this is no text")

// MostConverted is the most that is turned into UTF-8 from another encoding, which may
// take three times the room.
const MostConverted = 64 << 20

// ErrTooMuchToConvert says that a file that is no UTF-8 is larger than that.
var ErrTooMuchToConvert = errors.New("too much to be converted")

// ZeroBytesError says that a text has zero bytes in it, as where a logger lost its
// power while it wrote.
type ZeroBytesError struct{ Line int }

func (e *ZeroBytesError) Error() string { return fmt.Sprintf("line %d holds zero bytes", e.Line) }

// Text turns a text file's bytes into UTF-8 without its byte order mark, and says
// which encoding they were in. What is no UTF-8 and has no mark is taken for
// Windows-1252, in which older spreadsheet programs write. The error is ErrNoText,
// ErrTooMuchToConvert or a *ZeroBytesError.
func Text(data []byte) (text []byte, encoding string, err error) {
	encoding = encodingOf(data)
	if encoding != UTF8 && len(data) > MostConverted {
		return nil, encoding, ErrTooMuchToConvert
	}
	switch encoding {
	case UTF16LE, UTF16BE:
		order := unicode.LittleEndian
		if encoding == UTF16BE {
			order = unicode.BigEndian
		}
		text, err = unicode.UTF16(order, unicode.UseBOM).NewDecoder().Bytes(data)
	case Windows1252:
		text, err = charmap.Windows1252.NewDecoder().Bytes(data)
	default:
		text = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	}
	zero := bytes.IndexByte(text, 0)
	switch {
	case err != nil, zero >= 0 && encoding != UTF8:
		return nil, encoding, ErrNoText
	case zero >= 0:
		return nil, encoding, &ZeroBytesError{1 + bytes.Count(text[:zero], []byte("\n"))}
	}
	return text, encoding, nil
}

func encodingOf(data []byte) string {
	switch {
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		return UTF16LE
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		return UTF16BE
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		return UTF8
	}
	// Latin text in UTF-16 has a zero in every second byte.
	const sample = 4096
	var zeroBytes [2]int
	head := data[:min(len(data), sample)]
	for i, b := range head {
		if b == 0 {
			zeroBytes[i%2]++
		}
	}
	switch half := len(head) / 2; {
	case zeroBytes[1] > half*7/10 && zeroBytes[0] < half/10:
		return UTF16LE
	case zeroBytes[0] > half*7/10 && zeroBytes[1] < half/10:
		return UTF16BE
	case utf8.Valid(data):
		return UTF8
	}
	return Windows1252
}

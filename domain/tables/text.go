package tables

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
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

// ZeroBytesError says that a text has zero bytes in it, as where a logger lost its
// power while it wrote.
type ZeroBytesError struct{ Line int }

func (e *ZeroBytesError) Error() string { return fmt.Sprintf("line %d holds zero bytes", e.Line) }

// text is what a text file holds. It is read anew each time, part by part, so that a file
// of any size takes little memory.
type text struct {
	in       io.ReaderAt
	size     int64
	encoding string
	// hasLines is false where no line ends as lines do today: an old Macintosh ended them
	// otherwise.
	hasLines bool
}

// textOf looks through a text file and says what it is. What is no UTF-8 and has no byte
// order mark is taken for Windows-1252, in which older spreadsheet programs write. The
// error is ErrNoText, a *ZeroBytesError, or that of the file.
func textOf(in io.ReaderAt, size int64) (t *text, err error) {
	t = &text{in: in, size: size}
	if t.encoding, err = encodingOf(t.bytes); err != nil {
		return t, err
	}
	zero, lines := int64(-1), 0
	err = chunks(t.reader(), func(some []byte) bool {
		end := bytes.IndexByte(some, 0)
		if end >= 0 {
			some = some[:end]
		}
		lines += bytes.Count(some, []byte("\n"))
		if end >= 0 {
			zero = int64(lines)
		}
		return end < 0
	})
	t.hasLines = lines > 0
	switch {
	case err != nil:
		return t, err
	case zero >= 0 && t.encoding != UTF8:
		return t, ErrNoText
	case zero >= 0:
		return t, &ZeroBytesError{1 + int(zero)}
	}
	return t, nil
}

// bytes reads the file as it is.
func (t *text) bytes() io.Reader { return io.NewSectionReader(t.in, 0, t.size) }

// reader reads the file from its beginning as UTF-8, without its byte order mark, with
// lines that end as they do today.
func (t *text) reader() *bufio.Reader {
	const room = 1 << 16
	in := bufio.NewReaderSize(t.bytes(), room)
	switch t.encoding {
	case UTF16LE:
		in = bufio.NewReaderSize(unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Reader(in), room)
	case UTF16BE:
		in = bufio.NewReaderSize(unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewDecoder().Reader(in), room)
	case Windows1252:
		in = bufio.NewReaderSize(transform.NewReader(in, fromWindows1252{}), room)
	default:
		const mark = "\xef\xbb\xbf"
		if head, _ := in.Peek(len(mark)); string(head) == mark { // what is wrong comes again below
			_, _ = in.Discard(len(mark))
		}
	}
	return in
}

// fromWindows1252 turns that encoding into UTF-8, byte by byte. Nearly all of them stay as
// they are, which the general decoder does not make use of.
type fromWindows1252 struct{ transform.NopResetter }

var windows1252 = func() (letters [256]rune) {
	for b := range letters {
		letters[b] = charmap.Windows1252.DecodeByte(byte(b))
	}
	return letters
}()

func (fromWindows1252) Transform(into, from []byte, _ bool) (wrote, read int, err error) {
	for _, b := range from {
		if b < utf8.RuneSelf && wrote < len(into) {
			into[wrote] = b
			wrote++
			read++
			continue
		}
		letter := windows1252[b]
		if wrote+utf8.RuneLen(letter) > len(into) {
			return wrote, read, transform.ErrShortDst
		}
		wrote += utf8.EncodeRune(into[wrote:], letter)
		read++
	}
	return wrote, read, nil
}

// chunks hands a text on, some bytes at a time, until it is told to stop.
func chunks(in io.Reader, look func(some []byte) (more bool)) error {
	some := make([]byte, 1<<16)
	for {
		n, err := in.Read(some)
		if n > 0 && !look(some[:n]) || errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

// encodingOf tells the encoding of a file by its bytes, which it may read twice.
func encodingOf(read func() io.Reader) (string, error) {
	const sample = 4096
	head := make([]byte, sample)
	n, err := io.ReadFull(read(), head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return "", err
	}
	head = head[:n]
	switch {
	case bytes.HasPrefix(head, []byte("\xff\xfe")):
		return UTF16LE, nil
	case bytes.HasPrefix(head, []byte("\xfe\xff")):
		return UTF16BE, nil
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		return UTF8, nil
	}
	// Latin text in UTF-16 has a zero in every second byte.
	var zeroBytes [2]int
	for i, b := range head {
		if b == 0 {
			zeroBytes[i%2]++
		}
	}
	switch half := len(head) / 2; {
	case zeroBytes[1] > half*7/10 && zeroBytes[0] < half/10:
		return UTF16LE, nil
	case zeroBytes[0] > half*7/10 && zeroBytes[1] < half/10:
		return UTF16BE, nil
	}
	valid, err := isUTF8(read())
	if valid {
		return UTF8, err
	}
	return Windows1252, err
}

// isUTF8 reports whether all of a file is UTF-8. A letter may stand across two reads.
func isUTF8(in io.Reader) (bool, error) {
	some, held := make([]byte, 1<<16), 0
	for {
		n, err := in.Read(some[held:])
		ended := errors.Is(err, io.EOF)
		if err != nil && !ended {
			return false, err
		}
		read := some[:held+n]
		whole := len(read)
		if !ended {
			whole -= unfinished(read)
		}
		if !utf8.Valid(read[:whole]) {
			return false, nil
		}
		if ended {
			return true, nil
		}
		held = copy(some, read[whole:])
	}
}

// unfinished is how many bytes at the end begin a letter that goes on.
func unfinished(text []byte) int {
	for n := 1; n < utf8.UTFMax && n <= len(text); n++ {
		if last := text[len(text)-n:]; utf8.RuneStart(last[0]) {
			if utf8.FullRune(last) {
				return 0
			}
			return n
		}
	}
	return 0
}
